"""Coloured cloth, walls and floors: what a light becomes through them or off them."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.findings import Finding, Weight
from falloff.spectrum.chromaticity import xy_from_xyz
from falloff.spectrum.shifts import (
    ColourShift,
    LightColour,
    assumed_spectrum,
    colour_shift,
    light_of_spectrum,
    light_of_xy,
)
from falloff.spectrum.spectra import checked_points, colour_of_xy, through, xyz_of_spectrum
from falloff.spectrum.tables import on_grid, shipped_toml
from falloff.spectrum.working_space import luminance, tint_to_reflectance, xyz_from_working

Floats = NDArray[np.float64]

_MOST_TIMES = 8


@dataclass(frozen=True, slots=True, eq=False)
class TintedSurface:
    """Something that passes or returns a share of light by its colour.

    factors: (471,) by wavelength, 360 to 830 nm, or (3,) in working-space channels where no curve
    is known; source: where they are from. Made by `surface_of_curve` and `surface_of_tint`.
    """

    name: str
    factors: Floats = field(repr=False)
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class TintedLight:
    """A light after a tinted surface: its colour, the share of light left, the shift.

    shift: None where there is no colour temperature before or after; findings: approximations.
    """

    light: LightColour
    light_share: float
    shift: ColourShift | None
    findings: tuple[Finding, ...]


def surface_of_curve(
    name: str, wavelength_nm: ArrayLike, *, reflectance: ArrayLike, source: str = "as given"
) -> TintedSurface:
    """A surface or cloth from points (n,) of wavelength, nm, and the share returned or passed.

    Shares 0 to 1; beyond the points the last is held. Raises FalloffError for points that make no
    curve over the visible light.
    """
    waves = np.asarray(wavelength_nm, dtype=np.float64)
    shares = np.asarray(reflectance, dtype=np.float64)
    checked_points(waves, shares, name)
    if not (np.all(shares >= 0.0) and np.all(shares <= 1.0) and shares.max() > 0.0):
        raise FalloffError(
            Fault(
                "no surface returns more light than it gets, or less than none",
                where=name,
                expected="0 to 1, some above nought",
                found=f"{shares.min():g} to {shares.max():g}",
            )
        )
    factors = on_grid(waves, shares, beyond_is_nought=False)
    factors.setflags(write=False)
    return TintedSurface(name, factors, source)


def surface_of_tint(name: str, reflectance: float, *, tint: ArrayLike) -> TintedSurface:
    """A surface known by its luminous reflectance, 0 to 1, and a tint (3,) in working space.

    Raises FalloffError as `tint_to_reflectance` does.
    """
    factors = tint_to_reflectance(reflectance, tint)
    factors.setflags(write=False)
    return TintedSurface(name, factors, "reflectance and tint as given")


@functools.cache
def generic_surfaces() -> dict[str, TintedSurface]:
    """Shipped cloths and surfaces by name: unbleached muslin, grass, brick, pine ...

    Source: from memory, generic.
    """
    data = shipped_toml("surfaces.toml")
    made = {}
    for name, part in data["surfaces"].items():
        waves, shares = zip(*part["points"], strict=True)
        made[name] = surface_of_curve(name, waves, reflectance=shares, source=data["source"])
    return made


def patchwork(name: str, parts: list[tuple[TintedSurface, float]]) -> TintedSurface:
    """A cloth sewn from others, each with its share of the area (any scale).

    Raises FalloffError where shares are negative or all nought, or curves meet plain tints.
    """
    shares = np.array([share for _, share in parts], dtype=np.float64)
    alike = len({one.factors.shape for one, _ in parts}) == 1
    if not alike or not np.all(shares >= 0.0) or not shares.sum() > 0.0:
        raise FalloffError(
            Fault(
                "these cloths cannot be sewn together",
                where=name,
                expected="shares of the area, none negative, all known by curves or all by tints",
                found=str([(one.name, share) for one, share in parts]),
            )
        )
    factors = shares @ np.array([one.factors for one, _ in parts]) / shares.sum()
    return TintedSurface(name, factors, "; ".join(one.source for one, _ in parts[:1]))


def after_surface(light: LightColour, surface: TintedSurface, *, times: int = 1) -> TintedLight:
    """A light after it passed a cloth, or came off a surface, so many times (1 to 8).

    A curve works on the light's spectrum, or on one assumed for its kelvin, and that is told; a
    tint of three channels works on the light's colour, and the spectrum is not known after.
    Raises FalloffError for other times, and for a light that cannot be assumed.
    """
    if not 1 <= times <= _MOST_TIMES:
        raise FalloffError(
            Fault("light comes off a surface once or a few times", where=surface.name,
                  expected=f"1 to {_MOST_TIMES}", found=str(times))
        )  # fmt: skip
    if surface.factors.shape == (3,):
        return _by_channels(light, surface, times)
    findings = () if light.spectrum is not None else (
        _note(surface, "the light is known by its kelvin only; taken as a hot body or daylight"),
    )  # fmt: skip
    before = assumed_spectrum(light)
    passed = through(before, surface.factors**times, name=f"{before.name}, {surface.name}")
    after = light_of_spectrum(passed)
    share = float(xyz_of_spectrum(passed)[1] / xyz_of_spectrum(before)[1])
    return TintedLight(after, share, _shift(light, after), findings)


def _by_channels(light: LightColour, surface: TintedSurface, times: int) -> TintedLight:
    rgb = colour_of_xy(light.xy) * surface.factors**times
    after = light_of_xy(xy_from_xyz(xyz_from_working(rgb)))
    finding = _note(surface, "its tint is three channels, no curve; the shift is approximate")
    return TintedLight(after, float(luminance(rgb)), _shift(light, after), (finding,))


def _shift(before: LightColour, after: LightColour) -> ColourShift | None:
    if before.temperature.cct_kelvin is None or after.temperature.cct_kelvin is None:
        return None
    return colour_shift(before, after)


def _note(surface: TintedSurface, says: str) -> Finding:
    do = "measure the light off it, or through it"
    return Finding(weight=Weight.NOTE, about=surface.name, says=says, do=do)
