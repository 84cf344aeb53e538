"""kit list: what there is, by kind or by a word; surfaces that a scene may name too."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Final

import msgspec

from falloff.errors import GeometryError
from falloff.kit import Fixture, Item, Lens, Modifier, find_material, list_items, material_names
from falloff.kit.catalogue import KINDS, kind_of
from falloff.kit.unknown import unknown_name
from falloff.session.kit.figures import degrees, three_figures
from falloff.session.kit.find import Shelf, open_shelf
from falloff.units import format_stops_tenths

_TOLD: Final = {
    "fabric": ("loss_stops", "{:.1f} stops"),
    "gel": ("loss_stops", "{:.1f} stops"),
    "filter": ("loss_stops", "{:.1f} stops"),
    "stand": ("highest_m", "{:.1f} m high"),
    "cable": ("rating_amps", "{:g} A"),
    "battery": ("greatest_power_w", "{:g} W"),
    "haze machine": ("power_w", "{:g} W"),
}


SURFACE: Final = "surface"  # the kind of what walls, things and clothes are made of
_GREY_SHARE: Final = 0.18


class ListedItem(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the list: says is what one looks for first; count only of one's own."""

    name: str
    kind: str
    says: str
    also: tuple[str, ...]
    own: bool
    count: int | None


class KitList(msgspec.Struct, frozen=True, kw_only=True):
    """The items asked for, one's own first."""

    items: tuple[ListedItem, ...]


def run_kit_list(kind: str = "", *, search: str = "", own: Path | None = None) -> KitList:
    """What the catalogue has, and one's own kit before it.

    kind: one of `falloff.kit.catalogue.KINDS`, "surface", a plural of those, or "" for all that is
    packed; search: words that a name must hold, all of them, of surfaces too. Raises GeometryError
    on a kind that there is not.
    """
    shelf, wanted = open_shelf(own), _kind(kind)
    words = search.lower().replace("×", "x").replace(",", " ").split()
    everything = _all(shelf)
    if wanted == SURFACE or (words and not wanted):
        everything += _surfaces()
    found = [one for one in everything if wanted in ("", one.kind) and _has(one, words)]
    return KitList(items=tuple(found))


def _kind(word: str) -> str:
    plain = " ".join(word.lower().replace("_", " ").split())
    if plain in (SURFACE, "surfaces", "material", "materials"):
        return SURFACE
    for kind in KINDS:
        if plain in (kind, f"{kind}s", kind.removesuffix("y") + "ies"):
            return kind
    if not plain:
        return ""
    raise _no_kind(plain)


def _no_kind(word: str) -> GeometryError:
    return unknown_name("kind of item", word, (*KINDS, SURFACE))


def _all(shelf: Shelf) -> list[ListedItem]:
    own = [
        ListedItem(
            name=one.name,
            kind=kind_of(one.item),
            says=_says(one.item),
            also=() if one.name == one.item.name else (one.item.name,),
            own=True,
            count=one.count,
        )
        for one in (shelf.kit.items if shelf.kit else ())
    ]
    return own + [
        ListedItem(
            name=one.name, kind=kind_of(one), says=_says(one), also=one.also, own=False, count=None
        )
        for one in list_items()
    ]


def _surfaces() -> list[ListedItem]:
    """What a scene's surfaces may be called, by their names."""
    return [
        ListedItem(name=name, kind=SURFACE, says=surface_says(name), also=(), own=False, count=None)
        for name in material_names()
    ]


def surface_says(name: str) -> str:
    """What a surface gives back, how that lands from middle grey at key, and whether it shines."""
    found = find_material(name)
    stops = format_stops_tenths(math.log2(found.reflectance / _GREY_SHARE))
    coat = ", with a sheen" if found.sheen else ""
    return f"{100.0 * found.reflectance:.2g} %, {stops} stops{coat}"


def _has(item: ListedItem, words: list[str]) -> bool:
    text = " ".join([item.name, *item.also, item.kind]).lower()
    return all(word in text for word in words)


def _says(item: Item) -> str:
    """The one or two figures that tell items of a kind apart."""
    if isinstance(item, Fixture):
        beam = item.beams[0]
        return f"{three_figures(beam.axis_cd)} lx at 1 m, {degrees(beam.beam_angle_rad)}"
    if isinstance(item, Modifier):
        loss = "" if item.loss_stops is None else f", {item.loss_stops:+.1f} stops lost"
        return f"{item.form}{loss}"
    if isinstance(item, Lens):
        return f"T{item.t_number:g}" if item.t_number else f"f/{item.f_number:g}"
    field, shown = _TOLD.get(kind_of(item), ("form", "{}"))
    return shown.format(getattr(item, field))
