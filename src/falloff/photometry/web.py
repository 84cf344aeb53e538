"""Intensity webs: candela in every direction round a light, and what follows from them.

A web is linear in both of its angles between points, so its flux is exact for its own numbers:
over azimuth the trapezoid rule has no error, and over the polar angle the integral of a straight
line times a sine has a closed form.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from falloff.errors import Fault, PhotometricFileError
from falloff.photometry.profile import IntensityDistribution, round_beam
from falloff.types import Float64Array, IntArray
from falloff.units import Candela, Lumen, Radian

TURN_RAD = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class IntensityWeb:
    """Absolute luminous intensity by direction, in the light's own frame.

    azimuth_rad: (a,) ascending from 0 to 2π, two or more; angle_rad: (g,) ascending from 0 (the
    axis) to at most π; candela: (a, g). z is the photometric zero, x lies at azimuth 0, y at a
    quarter turn. Linear in both angles between points, zero beyond the last of angle_rad.
    """

    azimuth_rad: Float64Array
    angle_rad: Float64Array
    candela: Float64Array


def intensity_web(
    azimuth_rad: Float64Array, angle_rad: Float64Array, *, candela: Float64Array
) -> IntensityWeb:
    """A web through the given points, its arrays read-only.

    Shapes and ranges as in IntensityWeb; candela not negative and not all zero. Raises
    PhotometricFileError where they are not.
    """
    azimuth, angle, table = (np.array(one, np.float64) for one in (azimuth_rad, angle_rad, candela))
    _check_angles(azimuth, angle)
    if table.shape != (azimuth.size, angle.size):
        expected = f"{azimuth.size} planes of {angle.size} angles"
        raise _refused("the web's intensities do not fit its angles", expected, str(table.shape))
    if not bool(np.all(np.isfinite(table))) or table.min() < 0.0 or table.max() <= 0.0:
        expected = "numbers that are not negative, at least one above zero"
        found = f"{np.min(table):g} to {np.max(table):g} cd"
        raise _refused("the web's intensities cannot be light", expected, found)
    for array in (azimuth, angle, table):
        array.flags.writeable = False
    return IntensityWeb(azimuth, angle, table)


def round_web(beam: IntensityDistribution, flux_lm: float) -> IntensityWeb:
    """The web of a round beam of a given flux, above 0 lm: two equal planes."""
    candela = beam.candela_per_lumen * flux_lm
    return intensity_web(
        np.array([0.0, TURN_RAD]), beam.angle_rad, candela=np.stack([candela, candela])
    )


def round_profile_of_web(web: IntensityWeb) -> IntensityDistribution:
    """The round beam of one lumen that has, at each angle, the web's mean over azimuth."""
    return round_beam(web.angle_rad, over_azimuth(web.azimuth_rad, web.candela) / TURN_RAD)


def web_flux_lm(web: IntensityWeb) -> Lumen:
    """All light of a web in lumens, exact for intensity linear in both angles."""
    rings = over_azimuth(web.azimuth_rad, web.candela)
    return Lumen(float(polar_weights(web.angle_rad) @ rings))


def web_zones(web: IntensityWeb, edges_rad: Float64Array) -> Float64Array:
    """Zonal lumens: the light between each two of the polar angles, (k-1,), exact.

    edges_rad: (k,) ascending within 0 to π, two or more.
    """
    rings = over_azimuth(web.azimuth_rad, web.candela)
    last = float(web.angle_rad[-1])
    zones = []
    for low, high in zip(edges_rad[:-1], np.minimum(edges_rad[1:], last), strict=True):
        if high <= low:
            zones.append(0.0)  # past the last angle there is no light
            continue
        inside = web.angle_rad[(web.angle_rad > low) & (web.angle_rad < high)]
        angle = np.concatenate([[low], inside, [high]])
        zones.append(float(polar_weights(angle) @ np.interp(angle, web.angle_rad, rings)))
    return np.array(zones)


def web_intensity(web: IntensityWeb, directions: Float64Array) -> Float64Array:
    """Candela (n,) towards directions (n, 3) of any length but zero, in the web's frame."""
    x, y, z = np.asarray(directions, np.float64).T
    angle = np.arctan2(np.hypot(x, y), z)
    azimuth = np.arctan2(y, x) % TURN_RAD
    inside = angle <= web.angle_rad[-1] + 1e-12
    found = between_points(web.azimuth_rad, web.angle_rad, table=web.candela, at=(azimuth, angle))
    return np.where(inside, found, 0.0)


def web_peak_cd(web: IntensityWeb) -> Candela:
    """The greatest intensity of a web."""
    return Candela(float(web.candela.max()))


def web_beam_angle_rad(web: IntensityWeb, azimuth_rad: float = 0.0) -> Radian:
    """Full angle at half of the web's greatest intensity, in the plane of an azimuth.

    From the outermost place where half is still reached on one side of the axis to the outermost
    on the other; 0 if the plane never reaches it. Valid for 0 to 2π. Source: IES definition.
    """
    return Radian(_full_angle(web, azimuth_rad, 0.5))


def web_field_angle_rad(web: IntensityWeb, azimuth_rad: float = 0.0) -> Radian:
    """Full angle at a tenth of the web's greatest intensity; else as web_beam_angle_rad."""
    return Radian(_full_angle(web, azimuth_rad, 0.1))


# Integrals and interpolation -------------------------------------------------------------


def over_azimuth(azimuth_rad: Float64Array, candela: Float64Array) -> Float64Array:
    """∫ I dC at each polar angle, (g,): trapezoids, exact for straight lines."""
    steps = np.diff(azimuth_rad)
    ends = np.concatenate([[0.0], steps]) + np.concatenate([steps, [0.0]])
    return np.asarray(0.5 * ends @ candela, np.float64)


def polar_weights(angle_rad: Float64Array) -> Float64Array:
    """Weights w with w·J = ∫ J(γ) sinγ dγ, exact for J linear between the (g,) angles."""
    half = np.diff(angle_rad) / 2.0
    middle = (angle_rad[:-1] + angle_rad[1:]) / 2.0
    # u = γ − middle: ∫ sinγ = 2 sin(middle) sin(half); ∫ u sinγ = 2 cos(middle) (sin − half cos)
    whole = 2.0 * np.sin(middle) * np.sin(half)
    moment = 2.0 * np.cos(middle) * (np.sin(half) - half * np.cos(half))
    lean = moment / (2.0 * half)
    low, high = whole / 2.0 - lean, whole / 2.0 + lean
    return np.asarray(np.concatenate([low, [0.0]]) + np.concatenate([[0.0], high]), np.float64)


def between_points(
    rows: Float64Array,
    columns: Float64Array,
    *,
    table: Float64Array,
    at: tuple[Float64Array, Float64Array],
) -> Float64Array:
    """A table (r, c) read between its rows and columns, held at its edges; `at` is (n,), (n,)."""
    i, s = _place(rows, at[0])
    j, t = _place(columns, at[1])
    near = (1.0 - t) * table[i, j] + t * table[i, j + 1]
    far = (1.0 - t) * table[i + 1, j] + t * table[i + 1, j + 1]
    return np.asarray((1.0 - s) * near + s * far, np.float64)


def _place(points: Float64Array, at: Float64Array) -> tuple[IntArray, Float64Array]:
    """Index of the interval and the share of it that lies before each value."""
    index = np.clip(np.searchsorted(points, at, side="right") - 1, 0, points.size - 2)
    share = (at - points[index]) / (points[index + 1] - points[index])
    return index, np.clip(share, 0.0, 1.0)


def _full_angle(web: IntensityWeb, azimuth_rad: float, share: float) -> float:
    """From the first to the last place at a share of the greatest, through the axis."""
    angle = web.angle_rad
    here, across = (
        between_points(
            web.azimuth_rad,
            angle,
            table=web.candela,
            at=(np.full(angle.size, one % TURN_RAD), angle),
        )
        for one in (azimuth_rad, azimuth_rad + math.pi)
    )
    signed = np.concatenate([-angle[::-1], angle])
    intensity = np.concatenate([across[::-1], here])
    level = share * float(web.candela.max())
    if float(intensity.max()) < level:
        return 0.0
    right = _outermost(signed, intensity, level)
    left = _outermost(-signed[::-1], intensity[::-1], level)
    return right + left


def _outermost(angle: Float64Array, intensity: Float64Array, level: float) -> float:
    """The last angle at which intensity still reaches a level."""
    k = int(np.flatnonzero(intensity >= level)[-1])
    if k + 1 == angle.size:
        return float(angle[-1])
    high, low = intensity[k], intensity[k + 1]
    return float(angle[k] + (high - level) / (high - low) * (angle[k + 1] - angle[k]))


def _check_angles(azimuth: Float64Array, angle: Float64Array) -> None:
    for found, what, last in ((azimuth, "azimuths", TURN_RAD), (angle, "angles", math.pi)):
        if (
            found.ndim != 1
            or found.size < 2
            or found[0] != 0.0
            or not found[-1] <= last
            or not bool(np.all(np.diff(found) > 0.0))
        ):
            expected = f"two or more, ascending from 0 to {math.degrees(last):g} deg"
            shown = str(np.degrees(found).round(3).tolist())[:80]
            raise _refused(f"the web's {what} cannot be read", expected, shown)
    if not math.isclose(azimuth[-1], TURN_RAD, abs_tol=1e-9):
        found_deg = f"{math.degrees(azimuth[-1]):g} deg"
        raise _refused(
            "the web does not go all the way round", "a last plane at 360 deg", found_deg
        )


def _refused(what: str, expected: str, found: str) -> PhotometricFileError:
    return PhotometricFileError(Fault(what, expected=expected, found=found))
