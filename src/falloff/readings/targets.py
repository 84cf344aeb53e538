"""Whether a target holds: one rule for readings, for a balance and for a day."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

import msgspec

from falloff.document import (
    AnyTarget,
    ColourTarget,
    EvenTarget,
    HueTarget,
    KeepTarget,
    Limit,
    Target,
    ValueTarget,
)
from falloff.readings import target_words as words
from falloff.readings.colour import UV, WhiteTold, hue_of, white_of
from falloff.readings.records import Readings

Unit: TypeAlias = Literal["stops", "mired", "CC", "degrees"]

# What is as bad as a stop, to rank misses of unlike kinds: common practice, no source.
AS_A_STOP: Final[Mapping[Unit, float]] = {"stops": 1.0, "mired": 60.0, "CC": 20.0, "degrees": 30.0}
_NO_LIGHT_STOPS: Final = 40.0  # so far from everything is what has no light
_ROUNDING: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Metered:
    """What was metered at one point: lx or, for a spot, cd/m²; its colour u'v' of CIE 1976.

    uv: None without light.
    """

    value: float
    uv: UV | None
    spot: bool


class Judged(msgspec.Struct, frozen=True, kw_only=True):
    """A target against what is there, in the target's own unit.

    asks, got: in words; miss: by how much it is missed, in words, "" where it holds. off: what is
    there less what is wanted: above nought too bright, too warm, too green, or farther round the
    hues; for an even target the most over the least. margin: how far it is to the nearest end of
    the tolerance, below nought where it is missed. Both are None where there is no colour to tell.
    unit: of a colour target that has two, the one that is nearer to being missed.
    """

    target: str
    asks: str
    got: str
    miss: str = ""
    off: float | None
    margin: float | None
    unit: Unit
    holds: bool


def margin_of(off: float, *, tolerance: float, limit: Limit = "equal") -> float:
    """How far within its tolerance something is that is off by so much; below 0 where missed."""
    if limit == "at most":
        return tolerance - off
    if limit == "at least":
        return tolerance + off
    return tolerance - abs(off)


def judge(  # noqa: PLR0913  what a target is judged by, each by its name
    name: str,
    target: AnyTarget,
    metered: Mapping[str, Metered],
    *,
    key_lux: float,
    grey_nit: float,
    balance_kelvin: float | None,
    kept: Mapping[str, float] | None,
    points: Mapping[str, tuple[str, ...]],
) -> Judged | None:
    """A target judged by what was metered; None where its reading was not taken.

    metered: by point; points: of each reading by name, itself alone where it is not there; kept:
    values by point as the scene is written. At several points the worst is told. Without light
    nothing is met but "at most".
    """
    taken = _Taken(metered, key_lux, grey_nit, balance_kelvin, kept or {}, points)
    match target:
        case Target():
            found = _levels(target, taken)
        case ValueTarget():
            found = _values(target, taken)
        case EvenTarget():
            found = _evenness(target, taken)
        case ColourTarget():
            found = _colours(target, taken)
        case HueTarget():
            found = _hues(target, taken)
        case _:
            found = _kept(target, taken)
    if not found:
        return None
    worst = min(found, key=lambda one: one.rank)
    holds = worst.margin is not None and worst.margin >= -_ROUNDING
    return Judged(
        target=name,
        asks=words.asks(target, spot=taken.spot(target), several=taken.several(target)),
        got=worst.got,
        miss="" if holds else worst.miss,
        off=worst.off,
        margin=worst.margin,
        unit=worst.unit,
        holds=holds,
    )


def judge_all(
    targets: Mapping[str, AnyTarget],
    readings: Readings,
    *,
    balance_kelvin: float | None = None,
    kept: Mapping[str, float] | None = None,
    points: Mapping[str, tuple[str, ...]] | None = None,
) -> dict[str, Judged]:
    """Those targets, by name, that are wanted in the setup of some readings and are read there.

    balance_kelvin, kept, points: as for `judge`; kept: the readings themselves where None.
    """
    metered = {
        one.name: Metered(one.value, one.uv, one.instrument == "spot") for one in readings.readings
    }
    known = kept if kept is not None else {name: one.value for name, one in metered.items()}
    found: dict[str, Judged] = {}
    for name, target in targets.items():
        if target.setups and readings.setup not in target.setups:
            continue
        one = judge(
            name,
            target,
            metered,
            key_lux=readings.key_lux,
            grey_nit=readings.mid_grey_nit,
            balance_kelvin=balance_kelvin,
            kept=known,
            points=points or {},
        )
        if one is not None:
            found[name] = one
    return found


# What was taken --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Found:
    """One point judged, or one of the ways in which it is."""

    got: str
    miss: str
    off: float | None
    margin: float | None
    unit: Unit = "stops"

    @property
    def rank(self) -> float:
        """The less, the worse."""
        return -math.inf if self.margin is None else self.margin / AS_A_STOP[self.unit]


@dataclass(frozen=True, slots=True)
class _Taken:
    """The readings, and what they are told against."""

    metered: Mapping[str, Metered]
    key_lux: float
    grey_nit: float
    balance_kelvin: float | None
    kept: Mapping[str, float]
    points: Mapping[str, tuple[str, ...]]

    def of(self, reading: str) -> dict[str, Metered]:
        """The points of a reading that were taken."""
        names = self.points.get(reading, (reading,))
        return {name: self.metered[name] for name in names if name in self.metered}

    def level(self, one: Metered) -> float | None:
        """Stops over key, of a spot over middle grey; None without light."""
        return _stops(one.value, self.grey_nit if one.spot else self.key_lux)

    def several(self, target: AnyTarget) -> bool:
        """Whether a target's reading is taken at several points."""
        reading = target.readings[0] if isinstance(target, EvenTarget) else target.reading
        return len(self.points.get(reading, ())) > 1

    def spot(self, target: AnyTarget) -> bool:
        """Whether a target's first reading is taken with a spot meter."""
        reading = target.readings[0] if isinstance(target, EvenTarget) else target.reading
        return any(one.spot for one in self.of(reading).values())


def _called(reading: str, point: str) -> str:
    """What is said before what there is: the point, where a reading has several."""
    return "" if point == reading else f"{point} "


def _stops(value: float, against: float) -> float | None:
    return math.log2(value / against) if value > 0.0 and against > 0.0 else None


# Light -----------------------------------------------------------------------------------


def _levels(target: Target, taken: _Taken) -> list[_Found]:
    overs: Mapping[str, Metered | None] = {"": None}
    if target.over is not None:
        overs = taken.of(target.over)
    return [
        _level(target, taken, (point, one), (over, other))
        for point, one in taken.of(target.reading).items()
        for over, other in overs.items()
    ]


def _level(
    target: Target, taken: _Taken, of: tuple[str, Metered], over: tuple[str, Metered | None]
) -> _Found:
    """A level at one point, over key or over another point, each by its own instrument."""
    stops = taken.level(of[1])
    against = 0.0 if over[1] is None else taken.level(over[1])
    called = _called(target.reading, of[0])
    beside = over[0] or ("middle grey" if of[1].spot else "key")
    if stops is None:
        return _dark(called, target.level.si, target.tolerance.si, target.limit)
    if against is None:
        margin = margin_of(_NO_LIGHT_STOPS, tolerance=target.tolerance.si, limit=target.limit)
        said = f"no light at {over[0]}"
        return _Found(f"{called}{said}", said, _NO_LIGHT_STOPS, margin)
    off = stops - against - target.level.si
    margin = margin_of(off, tolerance=target.tolerance.si, limit=target.limit)
    got = f"{called}{words.beside(stops - against, beside)}"
    return _Found(got, words.too(off), off, margin)


def _dark(called: str, wanted: float, tolerance: float, limit: Limit) -> _Found:
    off = -_NO_LIGHT_STOPS - wanted
    margin = margin_of(off, tolerance=tolerance, limit=limit)
    return _Found(f"{called}no light", "no light", off, margin)


def _values(target: ValueTarget, taken: _Taken) -> list[_Found]:
    found = []
    for point, one in taken.of(target.reading).items():
        off = _stops(one.value, target.value.si)
        called = _called(target.reading, point)
        if off is None:
            found.append(_dark(called, 0.0, target.tolerance.si, target.limit))
            continue
        margin = margin_of(off, tolerance=target.tolerance.si, limit=target.limit)
        got = f"{called}{words.amount(one.value, target.value.text, spot=one.spot)}"
        found.append(_Found(got, words.too(off), off, margin))
    return found


def _evenness(target: EvenTarget, taken: _Taken) -> list[_Found]:
    """The most over the least; every reading that is named is to be there."""
    each = [taken.of(reading) for reading in target.readings]
    if not all(each):
        return []
    values = {point: one.value for points in each for point, one in points.items()}
    most, least = max(values, key=values.__getitem__), min(values, key=values.__getitem__)
    apart = _stops(values[most], values[least])
    if apart is None:
        where = "no light" if values[most] <= 0.0 else f"no light at {least}"
        margin = target.within.si - _NO_LIGHT_STOPS
        return [_Found(where, where, _NO_LIGHT_STOPS, margin)]
    said = words.span(apart)
    got = f"{said} apart, {most} the brightest and {least} the darkest"
    miss = f"{words.span(apart - target.within.si)} too far apart"
    return [
        _Found(got if apart > _ROUNDING else "all alike", miss, apart, target.within.si - apart)
    ]


def _kept(target: KeepTarget, taken: _Taken) -> list[_Found]:
    found = []
    for point, one in taken.of(target.reading).items():
        if point not in taken.kept:
            continue
        called, before = _called(target.reading, point), taken.kept[point]
        off, got = _changed(one.value, before)
        miss = "no light" if got == "no light" else words.too(off)
        margin = margin_of(off, tolerance=target.tolerance.si)
        found.append(_Found(f"{called}{got}", miss, off, margin))
    return found


def _changed(value: float, before: float) -> tuple[float, str]:
    """Stops that a reading is over what it was, and that in words."""
    off = _stops(value, before)
    if off is not None:
        return off, words.beside(off, "what it was", level="as it was")
    if value > 0.0:
        return _NO_LIGHT_STOPS, "no light before"
    return (-_NO_LIGHT_STOPS, "no light") if before > 0.0 else (0.0, "no light, as it was")


# Colour ----------------------------------------------------------------------------------


def _colours(target: ColourTarget, taken: _Taken) -> list[_Found]:
    overs: Sequence[Metered | None] = [None]
    if target.over is not None:
        overs = list(taken.of(target.over).values())
    return [
        one
        for point, metered in taken.of(target.reading).items()
        for other in overs
        for one in _colour(target, _called(target.reading, point), metered, other)
    ]


def _colour(
    target: ColourTarget, called: str, metered: Metered, other: Metered | None
) -> list[_Found]:
    """A colour along the line of whites and off it, each with its own tolerance."""
    white = None if metered.uv is None else white_of(metered.uv)
    if white is None:
        said = "no light" if metered.uv is None else "too strong a colour for a temperature"
        return [_Found(f"{called}{said}", said, None, None, "mired")]
    if other is None:
        against = 0.0 if target.colour is None else 1e6 / target.colour.si
        got = words.white(white.kelvin, white.green_cc)
    else:
        beside = None if other.uv is None else white_of(other.uv)
        if beside is None:
            said = f"no colour temperature at {target.over}"
            return [_Found(f"{called}{said}", said, None, None, "mired")]
        against = beside.mired
        got = words.warmer(white.mired - beside.mired)
    off = white.mired - against - (target.mired or 0.0)
    mired = words.off_white(off, "mired")
    found = [
        _Found(f"{called}{got}", mired, off, margin_of(off, tolerance=target.tolerance), "mired")
    ]
    if target.green is not None:
        found.append(_green(target, f"{called}{got}", white, target.green))
    return found


def _green(target: ColourTarget, got: str, white: WhiteTold, wanted: float) -> _Found:
    off = white.green_cc - wanted
    margin = margin_of(off, tolerance=target.green_tolerance)
    told = got if target.over is None else words.greens(white.green_cc)
    return _Found(told, words.off_white(off, "CC"), off, margin, "CC")


def _hues(target: HueTarget, taken: _Taken) -> list[_Found]:
    """The angle, and a colour that is too pale as an angle: what it lacks, seen from the white."""
    found = []
    for point, one in taken.of(target.reading).items():
        called = _called(target.reading, point)
        if one.uv is None:
            found.append(_Found(f"{called}no light", "no light", None, None, "degrees"))
            continue
        hue, saturation = hue_of(one.uv, taken.balance_kelvin)
        turned = (hue - target.hue.si + math.pi) % math.tau - math.pi
        off, spare = math.degrees(turned), math.degrees(target.tolerance.si - abs(turned))
        miss = f"{abs(off):.0f}° {'past' if off > 0.0 else 'short of'} it"
        if target.saturation > 0.0:
            full = math.degrees((saturation - target.saturation) / target.saturation)
            miss = miss if spare <= full else "too pale"
            spare = min(spare, full)
        got = f"{called}hue {math.degrees(hue):.0f}°, saturation {saturation:.2g}"
        found.append(_Found(got, miss, off, spare, "degrees"))
    return found
