"""A round beam from a data sheet: what a few numbers say, and how far the fit is from each.

    I(θ) = I0 · 2^−(u^q),   u = ln cosθ / ln cos(beam/2)      θ from the axis, below 90°

At half the beam angle u is 1 and intensity is half, whatever q. q = 1 is the cosine to a power (a
matte panel at 120°); a field angle or the lumens give q. The axis intensity is the mean, in stops,
of what the sheet's readings say. A reading near a wide opening is undone by the closed form for a
matte disc or rectangle, never by the inverse square.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.errors import Fault, PhotometricFileError
from falloff.findings import Finding, Weight
from falloff.photometry.opening import Opening
from falloff.photometry.profile import (
    IntensityDistribution,
    beam_angle_rad,
    field_angle_rad,
    flux_of,
    round_beam,
)
from falloff.units import Candela, Lumen, Lux, Metre, Stops, stops_from_factor

ABOUT: Final = "data sheet"
NEAR_OPENINGS: Final = 5.0  # common practice: past five times the opening inverse square is in 1 %
CLOSE_M: Final = 1.0  # a reading nearer than this wants to know the opening
FAR_FROM_DATUM_STOPS: Final = 1.0 / 3.0
STEEPEST: Final = 12.0
SHALLOWEST: Final = 0.35
_DIMMEST_STOPS: Final = 13.3  # below the axis by 1e-4: where a beam is cut
_TENTH_STOPS: Final = math.log2(10.0)


@dataclass(frozen=True, slots=True)
class SheetReading:
    """What a sheet says of the axis at a distance from the opening: lux, both above 0."""

    distance_m: Metre
    illuminance_lux: Lux


@dataclass(frozen=True, slots=True)
class DataSheet:
    """What a person has of one light in one state; give what is printed and leave out the rest.

    readings: lux on the axis; axis_cd: candela on the axis; beam_rad, field_rad: full angles at
    half and a tenth of it; flux_lm: all light that leaves; opening: the shining front (None if
    unknown), of which only its size square to the axis is used. All above 0; angles below π.
    """

    readings: tuple[SheetReading, ...] = ()
    axis_cd: float | None = None
    beam_rad: float | None = None
    field_rad: float | None = None
    flux_lm: float | None = None
    opening: Opening | None = None


@dataclass(frozen=True, slots=True)
class SheetMiss:
    """How far the fit is from one datum of the sheet.

    datum: what it is; given, fitted: both in the datum's own unit, which `datum` names; stops:
    log2 of fitted over given; of angles too, by their ratio.
    """

    datum: str
    given: float
    fitted: float
    stops: Stops


@dataclass(frozen=True, slots=True)
class SheetFit:
    """A round beam that fits a sheet: its shape, its axis intensity, its lumens, what it misses."""

    distribution: IntensityDistribution
    axis_cd: Candela
    flux_lm: Lumen
    misses: tuple[SheetMiss, ...]
    findings: tuple[Finding, ...]


def fit_sheet(sheet: DataSheet) -> SheetFit:
    """The round beam that a data sheet describes.

    Needs a beam angle or lumens, and readings, candela or lumens. Raises PhotometricFileError for
    numbers that cannot be or too few of them. Valid for beams that end within 90 degrees of the
    axis, off the axis only as far as the sheet says anything of it.
    """
    _check(sheet)
    findings: list[Finding] = []
    said = _axis_estimates(sheet, findings)
    axis = 2.0 ** float(np.mean(np.log2(said))) if said else None
    beam = _shape(sheet, axis, findings)
    if axis is None:
        assert sheet.flux_lm is not None
        axis = sheet.flux_lm * float(beam.candela_per_lumen[0])
    flux = flux_of(beam, Candela(axis))
    misses = _misses(sheet, beam, axis)
    findings += _told(misses)
    return SheetFit(beam, Candela(axis), flux, misses, tuple(findings))


def axis_illuminance_lux(axis_cd: float, distance_m: float, *, opening: Opening | None) -> Lux:
    """Lux on the axis at a distance from a light of so many candela on its far axis.

    With an opening it is a matte, evenly lit disc or rectangle, E = I / (r² + d²) for a disc of
    radius r (an ellipse as a disc of its area); without, a point. Valid for any distance above 0.
    Source: closed forms of the view factor from a small patch to a disc and to a rectangle.
    """
    return Lux(axis_cd / _square_of_distance(distance_m, opening))


# The axis --------------------------------------------------------------------------------


def _square_of_distance(distance_m: float, opening: Opening | None) -> float:
    """I/E on the axis, m²: the distance squared, more where the opening is wide."""
    if opening is None or max(opening.x_m, opening.y_m) == 0.0:
        return distance_m**2
    x, y = opening.x_m or opening.height_m, opening.y_m or opening.height_m
    if opening.shape in {"rectangle", "box"}:
        return _rectangle(opening.x_m, opening.y_m, distance_m)
    return distance_m**2 + x * y / 4.0


def _rectangle(x_m: float, y_m: float, distance_m: float) -> float:
    """I/E of a matte rectangle, or of a line where one side is 0.

    With a = x/2d and b = y/2d, E/(πL) = (2/π) [a/√(1+a²) atan(b/√(1+a²)) + the same, a and b
    changed about], and I = L x y.
    """
    long, short = max(x_m, y_m), max(min(x_m, y_m), 1e-6 * max(x_m, y_m))
    a, b = long / (2.0 * distance_m), short / (2.0 * distance_m)
    root_a, root_b = math.hypot(1.0, a), math.hypot(1.0, b)
    share = a / root_a * math.atan(b / root_a) + b / root_b * math.atan(a / root_b)
    return long * short / (2.0 * share)


def _axis_estimates(sheet: DataSheet, findings: list[Finding]) -> list[float]:
    """Candela on the far axis, by each reading and by what the sheet says of it."""
    said = [] if sheet.axis_cd is None else [sheet.axis_cd]
    for reading in sheet.readings:
        said.append(
            reading.illuminance_lux * _square_of_distance(reading.distance_m, sheet.opening)
        )
        findings += _near_findings(reading, sheet.opening)
    return said


def _near_findings(reading: SheetReading, opening: Opening | None) -> list[Finding]:
    where = f"the reading at {reading.distance_m:g} m"
    if opening is None:
        if reading.distance_m >= CLOSE_M:
            return []
        says = f"{where} is near, and how wide the light is is not said: taken as a point's"
        return [_finding(Weight.WARNING, says, "give the opening, or a reading farther off")]
    wide = max(opening.x_m, opening.y_m, opening.height_m)
    if wide == 0.0 or reading.distance_m >= NEAR_OPENINGS * wide:
        return []
    off = stops_from_factor(
        _square_of_distance(reading.distance_m, opening) / reading.distance_m**2
    )
    says = (
        f"{where} is nearer than five times the {wide:g} m opening: not scaled by the inverse "
        f"square, which is {off:.2f} stop off, but as a matte, even opening falls off"
    )
    do = "a lens or an egg crate falls off otherwise; a reading farther off is worth more"
    return [_finding(Weight.NOTE, says, do)]


# The shape -------------------------------------------------------------------------------


def _shape(sheet: DataSheet, axis: float | None, findings: list[Finding]) -> IntensityDistribution:
    """The beam through the beam angle, its q from the field angle or else from the lumens."""
    per_cd = sheet.flux_lm / axis if sheet.flux_lm is not None and axis is not None else None
    if sheet.beam_rad is None:
        if per_cd is None:
            raise _fault(
                "nothing says how wide the beam is",
                "a beam angle, or lumens with candela or lux on the axis",
                "neither",
                "give the beam angle, at half of the greatest intensity",
            )
        return _cosine_power(per_cd, findings)
    half = sheet.beam_rad / 2.0
    if sheet.field_rad is not None:
        u = math.log(math.cos(sheet.field_rad / 2.0)) / math.log(math.cos(half))
        return _beam(half, _held(math.log(_TENTH_STOPS) / math.log(u)))
    if per_cd is not None:
        return _beam(half, _solve(lambda q: flux_of(_beam(half, q), Candela(1.0)), per_cd))
    findings.append(
        _finding(
            Weight.NOTE,
            "its field angle and lumens are not said: outside half intensity it falls off as the "
            "cosine to a power",
            "a field angle or the lumens would tell how sharp its edge is",
        )
    )
    return _beam(half, 1.0)


def _beam(half_rad: float, q: float) -> IntensityDistribution:
    """The beam of the formula above, cut where it is 1e-4 of the axis."""
    log_half = math.log(math.cos(half_rad))
    widest = math.acos(math.exp(log_half * _DIMMEST_STOPS ** (1.0 / q)))
    angle = np.linspace(0.0, min(widest, math.pi / 2.0 - 1e-9), 513)
    u = np.log(np.cos(angle)) / log_half
    return round_beam(angle, np.exp2(-(u**q)))


def _cosine_power(per_cd: float, findings: list[Finding]) -> IntensityDistribution:
    """The cosine to a power that makes so many lumens for each candela: Φ = 2π I0 / (n + 1)."""
    power = 2.0 * math.pi / per_cd - 1.0
    if power <= 0.05:
        raise _fault(
            "the lumens are more than a beam of that axis holds",
            f"less than {2.0 * math.pi / 1.05:.2f} lm for each candela on the axis",
            f"{per_cd:.3g} lm",
            "if it shines all round it is no beam; else give its beam angle",
        )
    says = "its beam angle is not said: taken as a cosine to a power of the same lumens"
    findings.append(_finding(Weight.WARNING, says, "give the beam angle if you have it"))
    return _beam(math.acos(0.5 ** (1.0 / power)), 1.0)


def _solve(flux_at: Callable[[float], float], wanted: float) -> float:
    """The q whose flux is nearest to what is wanted; flux falls as q rises."""
    low, high = SHALLOWEST, STEEPEST
    for _ in range(50):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if flux_at(middle) > wanted else (low, middle)
    return math.sqrt(low * high)


def _held(q: float) -> float:
    return min(STEEPEST, max(SHALLOWEST, q))


# What the fit misses ---------------------------------------------------------------------


def _misses(sheet: DataSheet, beam: IntensityDistribution, axis: float) -> tuple[SheetMiss, ...]:
    found = [
        _miss(
            f"lux at {reading.distance_m:g} m",
            reading.illuminance_lux,
            axis_illuminance_lux(axis, reading.distance_m, opening=sheet.opening),
        )
        for reading in sheet.readings
    ]
    fitted = (
        ("candela on the axis", sheet.axis_cd, axis),
        ("beam angle, deg", _degrees(sheet.beam_rad), math.degrees(beam_angle_rad(beam))),
        ("field angle, deg", _degrees(sheet.field_rad), math.degrees(field_angle_rad(beam))),
        ("lumens", sheet.flux_lm, flux_of(beam, Candela(axis))),
    )
    found += [_miss(datum, given, got) for datum, given, got in fitted if given is not None]
    return tuple(found)


def _miss(datum: str, given: float, fitted: float) -> SheetMiss:
    return SheetMiss(datum, given, fitted, stops_from_factor(fitted / given))


def _told(misses: tuple[SheetMiss, ...]) -> list[Finding]:
    return [
        _finding(
            Weight.WARNING,
            f"the fit is {miss.stops:+.1f} stop from its {miss.datum}: {miss.given:.4g} given, "
            f"{miss.fitted:.4g} fitted",
            "its data do not agree with one another; one meter reading would settle it",
        )
        for miss in misses
        if abs(miss.stops) > FAR_FROM_DATUM_STOPS
    ]


# What is refused -------------------------------------------------------------------------


def _check(sheet: DataSheet) -> None:
    numbers = [
        ("candela on the axis", sheet.axis_cd, math.inf),
        ("beam angle", sheet.beam_rad, math.pi),
        ("field angle", sheet.field_rad, math.pi),
        ("lumens", sheet.flux_lm, math.inf),
    ]
    for one in sheet.readings:
        numbers += [("a distance", one.distance_m, math.inf)]
        numbers += [("a reading", one.illuminance_lux, math.inf)]
    for what, value, most in numbers:
        if value is not None and not 0.0 < value < most:
            limit = " and below 180 deg" if most == math.pi else ""
            raise _fault(f"{what} cannot be", f"more than 0{limit}", f"{value:g}")
    if sheet.beam_rad and sheet.field_rad and sheet.field_rad <= sheet.beam_rad:
        found = f"{math.degrees(sheet.field_rad):g} for {math.degrees(sheet.beam_rad):g} deg"
        raise _fault(
            "the field angle is no wider than the beam angle",
            "a tenth of the intensity farther out than half of it",
            found,
            "some sheets call the tenth 'beam': look which is which",
        )
    if not sheet.readings and sheet.axis_cd is None and sheet.flux_lm is None:
        expected = "lux at a distance, candela on the axis, or lumens"
        raise _fault("nothing says how much light there is", expected, "none")


def _degrees(angle_rad: float | None) -> float | None:
    return None if angle_rad is None else math.degrees(angle_rad)


def _finding(weight: Weight, says: str, do: str = "") -> Finding:
    return Finding(weight=weight, about=ABOUT, says=says, do=do)


def _fault(what: str, expected: str, found: str, fix: str = "") -> PhotometricFileError:
    return PhotometricFileError(Fault(what, ABOUT, expected, found, fix))
