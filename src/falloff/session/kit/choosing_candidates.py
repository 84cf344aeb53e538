"""What of an offer may stand at a place: heads and modifiers of a like form and colour."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from falloff.document import (
    BookLight,
    FresnelLight,
    KitLight,
    LightPanel,
    OpenFace,
    Quantity,
    SceneDocument,
    SoftBox,
)
from falloff.document import Fixture as SceneFixture
from falloff.errors import FalloffError
from falloff.kit import Fixture, Gel, Modifier
from falloff.session.kit.choosing_hues import hues_wanted
from falloff.session.kit.choosing_likes import LIKE_SIZE, Look, look_of, near_mired
from falloff.session.kit.choosing_stock import Offer, Offers
from falloff.session.kit.showing import fits_on
from falloff.stage import LightNow, kelvin_of, light_now

_MOST_OWN: Final = 12
_ON_STAND: Final = "stand"  # the mount of a frame or a board on a stand of its own
_WHITE_GELS: Final = ("warming", "cooling")
_SOFTENERS: Final = (
    "soft box", "dish", "umbrella", "lantern", "diffusion front", "frame of diffusion",
    "book light", "bounce",
)  # fmt: skip
_SHAPERS: Final = ("open reflector", "Fresnel attachment", "snoot")


@dataclass(frozen=True, slots=True)
class Fit:
    """One light that may stand at a place: as the scene would have it, and the stock it takes.

    heads, then modifiers and gels, in `parts`; stands: loads (kg) on each stand that it needs.
    """

    name: str
    fixture: SceneFixture
    item: Fixture
    light: LightNow
    parts: tuple[int, ...]
    loads_kg: tuple[float, ...]
    own: bool


@dataclass(frozen=True, slots=True)
class _Written:
    """What is written at a place: the scene, the fixture's name, its light and its form."""

    document: SceneDocument
    name: str
    light: LightNow
    look: Look

    @property
    def fixture(self) -> SceneFixture:
        """Its record."""
        return self.document.fixtures[self.name]


def fits_at(document: SceneDocument, name: str, offers: Offers) -> tuple[Fit, ...]:
    """Everything that may stand where a fixture stands, one's own first.

    Of the catalogue one or two of each strength. None where the form of what is written cannot be
    told.
    """
    light = light_now(document, name)
    look = look_of(document, light)
    if look is None:
        return ()
    written = _Written(document, name, light, look)
    kelvin = kelvin_of(document, name)
    hues = hues_wanted(document)
    found: dict[tuple[float, float] | None, list[Fit]] = {}
    for head in offers.heads:
        assert isinstance(head.item, Fixture)
        ways = list(_colour_ways(written.fixture, head.item, kelvin, offers))[:1]
        if head.item.mixes_colours and not written.fixture.gels:
            ways += [({"colour": None, "duv": None, "xy": xy}, None) for xy in hues]
        for way in ways:
            for chain in _chains(written, head, offers):
                fit = _fit(written, (head, *chain), *way)
                if fit is not None:
                    found.setdefault(fit.fixture.xy, []).append(fit)
    kept = [one for alike in found.values() for one in _fewer(alike, light.flux_lm, offers)]
    return tuple(sorted(kept, key=lambda one: not one.own))


def _fit(
    written: _Written, chain: tuple[Offer, ...], fields: dict[str, Any], gel: Offer | None
) -> Fit | None:
    """A head with its modifiers in the place of what stands there; None where it is not alike."""
    head, *rest = chain
    assert isinstance(head.item, Fixture)
    now, look = written.fixture, written.look
    was = now.light
    crated = any(isinstance(one.item, Modifier) and one.item.form == "egg crate" for one in rest)
    light = KitLight(
        kit=head.name,
        modifier=tuple(one.name for one in rest),
        beam=None if rest else _beam(head.item, look),
        crate=None if crated else getattr(was, "crate", None),
        edge=getattr(was, "edge", None) if look.kind == "cut" else None,
        shutters=getattr(was, "shutters", None) if look.kind == "cut" else None,
        barndoors=getattr(was, "barndoors", None),
    )
    fixture = msgspec.structs.replace(
        now, light=light, output=None, power=None, dimming=None, warms=None, **fields
    )
    try:
        stands = with_fixture(written.document, written.name, fixture)
        shines = light_now(stands, written.name)
    except FalloffError:  # it cannot be used like that
        return None
    mine = look_of(stands, shines)
    if mine is None or not look.like(mine) or not _cuts_alike(written.light, shines, light):
        return None
    pieces = (*chain, *((gel,) if gel else ()))
    on_head = sum(_weight(one) for one in rest if _mount(one) != _ON_STAND)
    apart = [_weight(one) for one in rest if _mount(one) == _ON_STAND]
    told = " and ".join(one.name for one in pieces[1:])
    xy = fixture.xy if fixture.xy is not None and fixture.xy != now.xy else None
    colour = "" if xy is None else f", set to xy {xy[0]:.3f}, {xy[1]:.3f}"
    return Fit(
        name=head.name + (f" with {told}" if told else "") + colour,
        fixture=fixture,
        item=head.item,
        light=shines,
        parts=tuple(one.stock for one in pieces),
        loads_kg=(head.item.weight_kg + on_head, *apart),
        own=head.owned,
    )


def _cuts_alike(written: LightNow, shines: LightNow, light: KitLight) -> bool:
    """Whether what cuts the light that is written, an egg crate or barndoors, cuts this one too."""
    if light.barndoors is not None and not isinstance(shines.form, OpenFace | FresnelLight):
        return False
    return _crate(written) is None or _crate(shines) is not None


def _crate(light: LightNow) -> Quantity | float | None:
    """The egg crate of an even front."""
    return light.form.crate if isinstance(light.form, SoftBox | LightPanel) else None


def with_fixture(document: SceneDocument, name: str, fixture: SceneFixture) -> SceneDocument:
    """The document with another fixture in the place of one."""
    return msgspec.structs.replace(document, fixtures={**document.fixtures, name: fixture})


def _weight(one: Offer) -> float:
    return one.item.weight_kg if isinstance(one.item, Modifier) else 0.0


def _mount(one: Offer) -> str:
    return one.item.mount if isinstance(one.item, Modifier) else ""


# Form ------------------------------------------------------------------------------------


def _beam(item: Fixture, look: Look) -> str | Quantity | None:
    """How a bare head is set to come nearest to a beam; None: as it is at first."""
    if look.beam_rad <= 0.0 or len(item.beams) < 2:
        return None
    angles = [one.beam_angle_rad for one in item.beams]
    if item.form == "Fresnel" and min(angles) <= look.beam_rad <= max(angles):
        degrees = math.degrees(look.beam_rad)
        lowest, highest = math.degrees(min(angles)), math.degrees(max(angles))
        whole = min(max(round(degrees), math.ceil(lowest - 1e-9)), math.floor(highest + 1e-9))
        return Quantity(math.radians(whole), f"{whole} deg")
    nearest = min(item.beams, key=lambda one: abs(math.log(one.beam_angle_rad / look.beam_rad)))
    return None if nearest is item.beams[0] else nearest.name


def _chains(written: _Written, head: Offer, offers: Offers) -> Iterator[tuple[Offer, ...]]:
    """The modifiers that a head may be used with at a place, none among them."""
    assert isinstance(head.item, Fixture)
    crate = _crate(written.light)
    for chain in _plain_chains(written.fixture.light, written.look, head, offers):
        crated = any(_mod(one).form == "egg crate" for one in chain)
        if crate is None or crated:
            yield chain
            continue
        fitting = _crate_for(crate, chain, head.item, offers)
        yield chain if fitting is None else (*chain, fitting)


def _plain_chains(
    was: object, look: Look, head: Offer, offers: Offers
) -> Iterator[tuple[Offer, ...]]:
    """The same, without an egg crate but one that is written by name."""
    assert isinstance(head.item, Fixture)
    yield ()
    if isinstance(was, KitLight):
        chain = _named(was.modifier, head.item, offers)
        if chain:
            yield chain
    if look.kind == "cut":
        return
    able = [one for one in offers.modifiers if _able(one, head.item, look)]
    able.sort(key=lambda one: _unlike(one, look, was))
    own = [one for one in able if offers.stock[one.stock].count is not None]
    hired = [one for one in able if offers.stock[one.stock].count is None]
    if look.kind == "hard":
        hired = []
    chosen = own[:4] + hired[:1] if head.owned else own[:1] + hired[:1]
    for one in chosen:
        yield (one,)


def _named(names: tuple[str, ...], head: Fixture, offers: Offers) -> tuple[Offer, ...]:
    """The very modifiers that are written, where they are offered and fit; else none."""
    found: list[Offer] = []
    for name in names:
        one = next((one for one in offers.modifiers if one.name.lower() == name.lower()), None)
        if one is None or not isinstance(one.item, Modifier):
            return ()
        if not found and not fits_on(head, one.item):
            return ()
        found.append(one)
    return tuple(found)


def _able(one: Offer, head: Fixture, look: Look) -> bool:
    """Whether a modifier may make a head's light what is looked for."""
    item = one.item
    assert isinstance(item, Modifier)
    if not fits_on(head, item):
        return False
    if look.kind == "hard":
        return item.form in _SHAPERS
    if item.form not in _SOFTENERS or item.opening is None:
        return False
    if (item.opening.shape == "ball") != (look.kind == "ball"):
        return False
    width = math.sqrt(item.opening.width_m * item.opening.height_m)
    return max(width, look.width_m) <= LIKE_SIZE * min(width, look.width_m) * (1.0 + 1e-9)


def _unlike(one: Offer, look: Look, was: object) -> tuple[bool, float]:
    """How far a modifier is from what stands there: another form first, then its size."""
    item = one.item
    assert isinstance(item, Modifier)
    form = item.form
    if isinstance(was, BookLight | SoftBox):
        form = "book light" if isinstance(was, BookLight) else "soft box"
    if item.opening is None:
        return item.form != form, 0.0
    width = math.sqrt(item.opening.width_m * item.opening.height_m)
    return item.form != form, abs(math.log(width / look.width_m))


def _crate_for(
    crate: Quantity | float, chain: tuple[Offer, ...], head: Fixture, offers: Offers
) -> Offer | None:
    """The egg crate, of those that fit the front, that cuts off most nearly as what is written."""
    cutoff = 2.0 * (math.atan(1.0 / crate) if isinstance(crate, float) else crate.si)
    front = _mod(chain[-1]).form if chain else ""
    mounts = ("soft box front",) if front == "soft box" else () if chain else head.accepts
    fitting = [
        one
        for one in offers.modifiers
        if _mod(one).form == "egg crate" and _mod(one).mount in mounts and _mod(one).cutoff_rad
    ]
    return min(fitting, key=lambda one: abs((_mod(one).cutoff_rad or 0.0) - cutoff), default=None)


def _mod(one: Offer) -> Modifier:
    assert isinstance(one.item, Modifier)
    return one.item


# Colour ----------------------------------------------------------------------------------


def _colour_ways(
    now: SceneFixture, head: Fixture, kelvin: float | None, offers: Offers
) -> Iterator[tuple[dict[str, Any], Offer | None]]:
    """How a head gets the colour that is written: fields of its record, and a gel if it needs one.

    As it is, else by its knob, else by one gel of the kit; nothing where none comes near.
    """
    if now.xy is not None or kelvin is None:
        if now.xy is None or head.mixes_colours:
            yield {}, None
        return
    plain: dict[str, Any] = {"colour": None, "duv": None, "xy": None}
    if head.kelvin_low < head.kelvin_high and head.kelvin_low <= kelvin <= head.kelvin_high:
        yield plain | {"colour": Quantity(kelvin, f"{kelvin:.0f} K")}, None
        return
    if near_mired(head.kelvin, kelvin):
        yield plain, None
        return
    able = [
        one
        for one in offers.gels
        if isinstance(one.item, Gel)
        and one.item.family in _WHITE_GELS
        and near_mired(1e6 / max(1.0, 1e6 / head.kelvin + one.item.shift_mired), kelvin)
    ]
    able.sort(key=lambda one: offers.stock[one.stock].day_rate)
    for one in able[:1]:
        yield plain | {"gels": (one.name, *now.gels)}, one


# How many --------------------------------------------------------------------------------


def _fewer(found: list[Fit], written_lm: float, offers: Offers) -> tuple[Fit, ...]:
    """One's own that are nearest in light to what is written; of the catalogue one of a strength.

    None of the catalogue's that another is better than in every way.
    """

    def far(one: Fit) -> float:
        return abs(math.log2(max(one.light.flux_lm, 1e-9) / max(written_lm, 1e-9)))

    own = sorted((one for one in found if one.own), key=far)[:_MOST_OWN]
    hired = _worth_hiring([one for one in found if not one.own], offers)
    return (*own, *sorted(_one_of_each(hired, offers), key=far))


def _one_of_each(found: list[Fit], offers: Offers) -> list[Fit]:
    """Of those as strong as each other to half a stop, the cheapest and what draws least.

    What is not to be had without end is kept beside them.
    """
    bins: dict[int, list[Fit]] = {}
    kept = []
    for one in found:
        if any(offers.stock[part].count is not None for part in one.parts):
            kept.append(one)
        else:
            bins.setdefault(round(2.0 * math.log2(one.light.flux_lm)), []).append(one)
    for alike in bins.values():
        cheapest = min(alike, key=lambda one: _rate(one, offers))
        thriftiest = min(alike, key=lambda one: (one.item.power_w, _rate(one, offers)))
        kept += [cheapest, *([thriftiest] if thriftiest is not cheapest else [])]
    return kept


def _rate(one: Fit, offers: Offers) -> float:
    return sum(offers.stock[part].day_rate for part in one.parts)


def _worth_hiring(found: list[Fit], offers: Offers) -> list[Fit]:
    """Those that no other undercuts: as cheap, as light, as few, drawing as little, and as strong.

    What undercuts another is to be had without end.
    """

    def costs(one: Fit) -> tuple[float, ...]:
        stock = [offers.stock[part] for part in one.parts]
        return (
            sum(part.day_rate for part in stock),
            sum(part.weight_kg for part in stock),
            float(len(stock)),
            one.item.power_w / max(0.1, one.item.power_factor),
            -one.light.flux_lm,
            one.light.flux_lm * one.item.lowest_steady_share,
        )

    told = [(one, costs(one)) for one in found]
    endless = [
        (one, cost)
        for one, cost in told
        if all(offers.stock[part].count is None for part in one.parts)
    ]
    return [
        one
        for one, cost in told
        if not any(
            other is not one
            and better != cost
            and all(a <= b for a, b in zip(better, cost, strict=True))
            for other, better in endless
        )
    ]
