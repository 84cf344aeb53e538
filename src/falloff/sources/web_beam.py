"""Beams with an intensity of their own in every direction, over a round or a square mouth."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np

from falloff.photometry.web import IntensityWeb, web_flux_lm
from falloff.sources.records import BEAM, SHAPE_SIZE, Source
from falloff.types import Float32Array, Float64Array

_FINEST_RAD: Final = math.radians(0.5)  # between angles within which flux is even in solid angle


def web_beam(
    name: str,
    centre: Float64Array,
    *,
    axis: Float64Array,
    azimuth_zero: Float64Array,
    web: IntensityWeb,
    mouth_m: tuple[float, float],
    square_mouth: bool,
    colour: Float32Array,
    power_w: float | None = None,
    flux_lm: float | None = None,
) -> Source:
    """A web's light leaving every point of a mouth alike.

    axis: unit, the web's z; azimuth_zero: its x, unit, square to the axis, so that a quarter turn
    of azimuth is axis × azimuth_zero. mouth_m: width along azimuth_zero and along a quarter turn,
    of an ellipse or, square_mouth, of a rectangle. flux_lm: the web's own where None.
    """
    own = float(web_flux_lm(web))
    quarter = np.cross(axis, azimuth_zero)
    shape = np.zeros(SHAPE_SIZE)
    shape[0:3], shape[3:6] = centre, axis
    shape[6:9], shape[9:12] = 0.5 * mouth_m[0] * azimuth_zero, 0.5 * mouth_m[1] * quarter
    shape[12] = mouth_m[0] * mouth_m[1] * (1.0 if square_mouth else 0.25 * math.pi)
    shape[13] = own if flux_lm is None else flux_lm
    shape[14], shape[15] = web.angle_rad[-1], web.angle_rad.size
    shape[16], shape[17] = web.azimuth_rad.size, float(square_mouth)
    shape[18:21], shape[21:24] = azimuth_zero, quarter
    table = np.concatenate([web.angle_rad, web.azimuth_rad, web.candela.ravel() / own])
    return Source(name, BEAM, shape, table, shares_of_web(web), colour, float(shape[13]), power_w)


def shares_of_web(web: IntensityWeb) -> Float64Array:
    """How a web's flux is shot: an array for `beam_rays`.

    It holds: how many angles s and planes p; s angles (rad), the web's own and more between; p
    azimuths, the gap before each and after each; p running shares of flux by plane, each plane
    standing for the tent between its neighbours; p times s running shares of flux within a plane.
    """
    angle = _refined(web.angle_rad)
    azimuth = web.azimuth_rad[:-1]
    after = np.diff(web.azimuth_rad)
    before = np.roll(after, 1)
    # The last plane is the first one again, at 2π; where they differ each counts for its side.
    planes = web.candela[:-1].copy()
    if not np.array_equal(web.candela[0], web.candela[-1]):
        raise ValueError("a web's first and last planes are one plane and must be equal")
    fine = np.stack([np.interp(angle, web.angle_rad, plane) for plane in planes])
    cells = _cell_flux(angle, fine)
    running = np.concatenate([np.zeros((len(planes), 1)), np.cumsum(cells, axis=1)], axis=1)
    flux = running[:, -1] * 0.5 * (before + after)
    total = np.cumsum(flux)
    within = running / np.maximum(running[:, -1:], np.finfo(float).tiny)
    return np.concatenate(
        [
            [float(angle.size), float(azimuth.size)],
            angle,
            azimuth,
            before,
            after,
            total / total[-1],
            within.ravel(),
        ]
    )


def _refined(angle: Float64Array) -> Float64Array:
    """The angles and enough between them that no gap is wider than the finest."""
    parts = [
        np.linspace(low, high, 1 + max(1, math.ceil((high - low) / _FINEST_RAD)))[:-1]
        for low, high in pairwise(angle)
    ]
    return np.concatenate([*parts, angle[-1:]])


def _cell_flux(angle: Float64Array, candela: Float64Array) -> Float64Array:
    """∫ I sinθ dθ between angles, (p, s − 1), exact for I linear between them."""
    half = 0.5 * np.diff(angle)
    middle = 0.5 * (angle[:-1] + angle[1:])
    whole = 2.0 * np.sin(middle) * np.sin(half)
    lean = 2.0 * np.cos(middle) * (np.sin(half) - half * np.cos(half)) / (2.0 * half)
    low, high = candela[:, :-1], candela[:, 1:]
    return np.maximum(0.0, 0.5 * (low + high) * whole + (high - low) * lean)
