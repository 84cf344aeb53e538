"""What there is to choose a package from: one's own kit, then the catalogue as hire."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from falloff.balance import Stock
from falloff.kit import Fixture, Gel, Modifier, OwnKit, list_items
from falloff.kit.catalogue import Item, Stand, kind_of

# A day of one, by what it draws, in any currency: common practice, no source. A hire house's list
# is worth more, and is written as day_rate.
_A_WATT: Final = {
    "tungsten": 0.03,
    "daylight discharge": 0.08,
    "fluorescent": 0.12,
}
_A_WATT_OF_LED: Final = 0.12
_LEAST_RATE: Final = 8.0
_MODIFIER_RATE: Final = 8.0
_GEL_RATE: Final = 4.0
_BROUGHT: Final = ("spigot", "tube clip")  # mounts of what stands on a stand or hangs by a clip
_GEL_KG: Final = 0.1


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing that may be packed: its item, the name a scene has for it, its stock's number."""

    item: Item
    name: str
    stock: int
    owned: bool


@dataclass(frozen=True, slots=True)
class Offers:
    """All that may be packed, by kind, one's own before the catalogue's; the stock they are of."""

    heads: tuple[Offer, ...]
    modifiers: tuple[Offer, ...]
    gels: tuple[Offer, ...]
    stock: tuple[Stock, ...]
    stands_known: bool
    currency: str


def offers_of(own: OwnKit | None, *, kit_only: bool) -> Offers:
    """What one's own kit has, owned and hired, and unless kit_only what the catalogue has for hire.

    Stands are those of one's own kit alone.
    """
    found: list[Offer] = []
    stock: list[Stock] = []
    for one in own.items if own else ():
        if not isinstance(one.item, Fixture | Modifier | Gel | Stand):
            continue
        rate = 0.0 if one.owned else one.day_rate
        item = one.item
        stock.append(
            Stock(
                name=one.name,
                kind=kind_of(item),
                count=one.count,
                owned=one.owned,
                day_rate=assumed_rate(item) if rate is None else rate,
                assumed=rate is None,
                weight_kg=_GEL_KG if isinstance(item, Gel) else item.weight_kg,
                holds=(item.lowest_m, item.highest_m, item.load_kg)
                if isinstance(item, Stand)
                else None,
            )
        )
        found.append(Offer(item, one.name, len(stock) - 1, one.owned))
    for item in () if kit_only else _for_hire():
        rate = item.day_rate
        stock.append(
            Stock(
                name=item.name,
                kind=kind_of(item),
                count=None,
                owned=False,
                day_rate=assumed_rate(item) if rate is None else rate,
                assumed=rate is None,
                weight_kg=item.weight_kg if isinstance(item, Fixture | Modifier) else _GEL_KG,
            )
        )
        found.append(Offer(item, item.name, len(stock) - 1, owned=False))
    return Offers(
        heads=tuple(one for one in found if isinstance(one.item, Fixture)),
        modifiers=tuple(one for one in found if isinstance(one.item, Modifier)),
        gels=tuple(one for one in found if isinstance(one.item, Gel)),
        stock=tuple(stock),
        stands_known=any(one.holds for one in stock),
        currency=own.currency if own else "",
    )


def assumed_rate(item: Item) -> float:
    """A day's hire that is taken where none is known, in whole units of any currency."""
    if isinstance(item, Fixture):
        a_watt = _A_WATT.get(item.family, _A_WATT_OF_LED)
        return float(max(_LEAST_RATE, round(a_watt * item.power_w)))
    return _GEL_RATE if isinstance(item, Gel) else _MODIFIER_RATE


def used_stock(stock: Sequence[Stock], used: set[int]) -> tuple[tuple[Stock, ...], dict[int, int]]:
    """The stock that anything uses, stands always; and each old number's new one."""
    keep = [i for i, one in enumerate(stock) if i in used or one.holds is not None]
    return tuple(stock[i] for i in keep), {i: k for k, i in enumerate(keep)}


def _for_hire() -> list[Fixture | Modifier | Gel]:
    """What of the catalogue a hire house has for a crew: no bulbs, screens or flames."""
    return [
        item
        for item in list_items()
        if (isinstance(item, Fixture) and item.mount.startswith(_BROUGHT))
        or isinstance(item, Modifier | Gel)
    ]
