"""Gels: what they do to a light's colour and what they take."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.findings import Finding, Weight
from falloff.spectrum.shifts import (
    ColourShift,
    LightColour,
    assumed_spectrum,
    colour_shift,
    full_green_duv,
    light_of_spectrum,
    shifted_kelvin,
    warmed,
)
from falloff.spectrum.spectra import (
    Spectrum,
    checked_points,
    natural_spectrum,
    through,
    xyz_of_spectrum,
)
from falloff.spectrum.steering import steering_curve
from falloff.spectrum.tables import on_grid
from falloff.spectrum.temperature import xy_of_cct_duv
from falloff.units import mired_from_kelvin

Floats = NDArray[np.float64]

# The lights at which a gel's figures are taken to be stated: common practice.
_COOLED_KELVIN: Final = 3200.0
_WARMED_KELVIN: Final = 5600.0


@dataclass(frozen=True, slots=True)
class GelFigures:
    """What a gel's data sheet says, or a meter.

    shift_mired: -400 to 400, above nought warms; green_share: in full green gels, -3 to 3,
    negative magenta; loss_stops: 0 to 20 (`stops_lost` turns a transmittance into it); spread_*:
    how far makers and batches stray to either side.
    """

    shift_mired: float = 0.0
    green_share: float = 0.0
    loss_stops: float = 0.0
    spread_mired: float = 0.0
    spread_stops: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Gel:
    """A gel known by its figures or by its curve; made by `gel_of_figures` and `gel_of_curve`.

    transmittance: (471,) or None where only figures are known. The figures of a gel with a curve
    are worked from it, on the light that it is made for; shift and green are nought where it
    leaves no colour temperature.
    """

    name: str
    figures: GelFigures
    source: str
    family: str = ""
    transmittance: Floats | None = field(default=None, repr=False)


@dataclass(frozen=True, slots=True, eq=False)
class GelledLight:
    """A light after gels: its colour, stops lost with their spread, the shift, what to know.

    shift: None where there is no colour temperature after (or before). findings: approximations.
    """

    light: LightColour
    loss_stops: float
    spread_stops: float
    shift: ColourShift | None
    findings: tuple[Finding, ...]


def gel_of_figures(
    name: str, figures: GelFigures, *, source: str = "as given", family: str = ""
) -> Gel:
    """A gel known by its shift and loss. Raises FalloffError for figures that no gel has."""
    for value, least, most, what in (
        (figures.shift_mired, -400.0, 400.0, "mired"),
        (figures.green_share, -3.0, 3.0, "full green gels"),
        (figures.loss_stops, 0.0, 20.0, "stops lost"),
    ):
        if not least <= value <= most:
            expected = f"{least:g} to {most:g} {what}"
            raise _bad_gel(name, "no gel is like that", expected, f"{value:g}")
    return Gel(name, figures, source, family)


def stops_lost(transmittance_share: float) -> float:
    """Stops that a gel takes which passes this share of the light, above 0 to 1; FalloffError."""
    if not 0.0 < transmittance_share <= 1.0:
        found = f"{transmittance_share:g}"
        raise _bad_gel("transmittance", "a gel passes some light, and not more", "0 to 1", found)
    return -math.log2(transmittance_share)


def gel_of_curve(
    name: str,
    wavelength_nm: ArrayLike,
    *,
    transmittance: ArrayLike,
    spread_stops: float = 0.0,
    source: str = "as given",
    family: str = "",
) -> Gel:
    """A gel known by points (n,) of wavelength, nm, and transmittance, 0 to 1, straight between.

    Beyond the points the last value is held. Raises FalloffError for points that make no curve
    over the visible light and for a transmittance outside 0 to 1.
    """
    waves = np.asarray(wavelength_nm, dtype=np.float64)
    shares = np.asarray(transmittance, dtype=np.float64)
    checked_points(waves, shares, name)
    if not (np.all(shares >= 0.0) and np.all(shares <= 1.0) and shares.max() > 0.0):
        found = f"{shares.min():g} to {shares.max():g}"
        raise _bad_gel(name, "a gel passes between nothing and all", "0 to 1", found)
    curve = on_grid(waves, shares, beyond_is_nought=False)
    curve.setflags(write=False)
    bare = Gel(name, GelFigures(spread_stops=spread_stops), source, family, curve)
    after = _apply_curve(light_of_spectrum(_reference(bare)), bare)
    figures = GelFigures(
        shift_mired=float(after.shift.shift_mired) if after.shift else 0.0,
        green_share=after.shift.green_share if after.shift else 0.0,
        loss_stops=after.loss_stops,
        spread_stops=spread_stops,
    )
    return Gel(name, figures, source, family, curve)


def gel_curve(gel: Gel) -> Floats:
    """A gel's transmittance (471,): its own, or a smooth one that does what its figures say.

    The smooth one is exact in colour and loss on the light that the gel is made for, 3200 K for
    cooling ones and 5600 K daylight for all others; at the ends of the spectrum it may pass 1.
    """
    if gel.transmittance is not None:
        return gel.transmittance
    figures = gel.figures
    return _smooth_curve(figures.shift_mired, figures.green_share, figures.loss_stops)


def apply_gel(light: LightColour, gel: Gel) -> GelledLight:
    """A light after one gel; see `apply_gels`."""
    return apply_gels(light, (gel,))


def apply_gels(light: LightColour, gels: Sequence[Gel]) -> GelledLight:
    """A light after gels in turn: spectra where known, else mired arithmetic, and told so.

    A light known by kelvin or x and y takes a gel's mired as they are, and meets a gel's curve or
    green as a hot body or CIE daylight steered to that colour would. Raises
    FalloffError where a light without spectrum and without colour temperature meets a gel.
    """
    now, lost, spread = light, 0.0, 0.0
    findings: dict[str, Finding] = {}
    for gel in gels:
        step = _apply_one(now, gel)
        now, lost = step.light, lost + step.loss_stops
        spread = math.hypot(spread, step.spread_stops)
        findings |= {one.says: one for one in step.findings}
    return GelledLight(now, lost, spread, _shift_or_none(light, now), tuple(findings.values()))


def _apply_one(light: LightColour, gel: Gel) -> GelledLight:
    findings = () if gel.transmittance is not None else (_smooth_finding(gel),)
    if light.spectrum is not None:
        return _apply_curve(light, gel, findings)
    if gel.transmittance is None and gel.figures.green_share == 0.0:
        return _apply_figures(light, gel)
    # Green and magenta act on the spectrum: on tungsten they shift the mired too.
    assumed = light_of_spectrum(assumed_spectrum(light))
    return _apply_curve(assumed, gel, (*findings, _assumed_finding(gel)))


def _apply_figures(light: LightColour, gel: Gel) -> GelledLight:
    """Mired arithmetic; Duv as before."""
    figures, after = gel.figures, light
    findings: tuple[Finding, ...] = ()
    if figures.shift_mired:
        after = warmed(light, figures.shift_mired)
        findings = (_arithmetic_finding(gel),)
    return GelledLight(
        light=after,
        loss_stops=figures.loss_stops,
        spread_stops=figures.spread_stops,
        shift=_shift_or_none(light, after),
        findings=findings,
    )


def _apply_curve(light: LightColour, gel: Gel, findings: tuple[Finding, ...] = ()) -> GelledLight:
    assert light.spectrum is not None
    passed = through(light.spectrum, gel_curve(gel), name=f"{light.spectrum.name}, {gel.name}")
    after = light_of_spectrum(passed)
    before_y, after_y = xyz_of_spectrum(light.spectrum)[1], xyz_of_spectrum(passed)[1]
    return GelledLight(
        light=after,
        loss_stops=float(np.log2(before_y / after_y)),
        spread_stops=gel.figures.spread_stops,
        shift=_shift_or_none(light, after),
        findings=findings,
    )


@functools.lru_cache(maxsize=256)
def _smooth_curve(shift_mired: float, green_share: float, loss_stops: float) -> Floats:
    kelvin = _COOLED_KELVIN if shift_mired < 0.0 else _WARMED_KELVIN
    reference = natural_spectrum(kelvin)
    curve = np.ones_like(reference.relative)
    if shift_mired or green_share:
        start = light_of_spectrum(reference).temperature
        assert start.cct_kelvin is not None
        wanted = shifted_kelvin(start.cct_kelvin, shift_mired)
        duv = start.duv + green_share * full_green_duv(mired_from_kelvin(wanted))
        curve = steering_curve(reference, xy_of_cct_duv(wanted, duv))
    passed = xyz_of_spectrum(through(reference, curve))[1] / xyz_of_spectrum(reference)[1]
    curve = np.asarray(curve * (2.0**-loss_stops / passed))
    curve.setflags(write=False)
    return curve


def _reference(gel: Gel) -> Spectrum:
    """The light that a gel is made for: tungsten where it cools, else daylight."""
    day = light_of_spectrum(natural_spectrum(_WARMED_KELVIN))
    shift = _apply_curve(day, gel).shift
    cools = shift is not None and shift.shift_mired < 0.0
    return natural_spectrum(_COOLED_KELVIN if cools else _WARMED_KELVIN)


def _shift_or_none(before: LightColour, after: LightColour) -> ColourShift | None:
    if before.temperature.cct_kelvin is None or after.temperature.cct_kelvin is None:
        return None
    return colour_shift(before, after)


def _smooth_finding(gel: Gel) -> Finding:
    return _note(gel, "its curve is not known; a smooth one with its shift and loss stands for it")


def _assumed_finding(gel: Gel) -> Finding:
    return _note(
        gel, "the light is known by its kelvin only; it was taken as a hot body or daylight"
    )


def _arithmetic_finding(gel: Gel) -> Finding:
    return _note(gel, "neither spectrum is known; mireds were added up, which is approximate")


def _note(gel: Gel, says: str) -> Finding:
    return Finding(
        weight=Weight.NOTE, about=gel.name, says=says, do="measure the light through the gel"
    )


def _bad_gel(name: str, what: str, expected: str, found: str) -> FalloffError:
    return FalloffError(Fault(what, where=name, expected=expected, found=found))
