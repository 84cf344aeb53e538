"""From the planes that a file stores to a whole web: symmetry undone, types A and B turned.

Directions of a web: x photometric horizontal (C 0), y at C 90, z photometric zero (γ 0).

    C:  d = sinγ (cosC x + sinC y) + cosγ z
    B:  d = cosH (cosV z + sinV x) + sinH y            floodlights: H across, V along
    A:  d = cosV (cosH x + sinH y) − sinV z            headlamps: the aim is along x

Source: LM-63-2002, definitions of the three types, by public transcriptions.
"""

from __future__ import annotations

import math
from typing import Final, Literal

import numpy as np

from falloff.photometry.web import (
    IntensityWeb,
    between_points,
    intensity_web,
    over_azimuth,
    polar_weights,
    web_flux_lm,
)
from falloff.types import Float64Array
from falloff.units import Lumen

PhotometricType = Literal["A", "B", "C"]
Symmetry = Literal["round", "four quarters", "about C0-C180", "about C90-C270", "none"]

EDGE_DEG: Final = 1e-6  # over this, light that ends at once falls from its value to nothing
CLOSE_ENOUGH: Final = 5e-4  # of the flux: when a grid turned from type B is fine enough
FINEST: Final = (640, 1280)  # steps in γ and C at which a finer grid is no longer tried


def web_of_planes(
    azimuth_deg: Float64Array, angle_deg: Float64Array, *, candela: Float64Array, symmetry: Symmetry
) -> IntensityWeb:
    """The web of type C planes as stored: azimuth_deg (p,), angle_deg (g,), candela (p, g).

    Stored planes: one if round; C0 to C90 for four quarters; C0 to C180; C-90 or 90 to 90 or 270;
    else all, from C0. The angles start at 0, or at 90 with nothing below.
    """
    azimuth, table = _all_round(azimuth_deg, candela, symmetry)
    angle, table = _from_the_axis(angle_deg, table)
    azimuth_rad, angle_rad = np.radians(azimuth), np.radians(angle)
    azimuth_rad[-1] = 2.0 * math.pi
    return intensity_web(azimuth_rad, angle_rad, candela=table)


def web_of_type_a(
    horizontal_deg: Float64Array, vertical_deg: Float64Array, *, candela: Float64Array
) -> IntensityWeb:
    """The web of type A planes, candela (h, v): H is azimuth and V is γ less 90, so it is exact."""
    h, v, table = mirrored(horizontal_deg, vertical_deg, candela)
    if not np.any(h == 0.0):
        k = int(np.searchsorted(h, 0.0))
        share = (0.0 - h[k - 1]) / (h[k] - h[k - 1])
        row = (1.0 - share) * table[k - 1] + share * table[k]
        h, table = np.insert(h, k, 0.0), np.insert(table, k, row, axis=0)
    h = np.concatenate([[h[0] - EDGE_DEG], h, [h[-1] + EDGE_DEG]])
    table = np.pad(table, ((1, 1), (0, 0)))
    zero = int(np.flatnonzero(h == 0.0)[0])
    azimuth = np.concatenate([h[zero:], h[:zero] + 360.0, [360.0]])
    table = np.concatenate([table[zero:], table[:zero], table[zero : zero + 1]])
    return web_of_planes(azimuth, v + 90.0, candela=table, symmetry="none")


def web_of_type_b(
    horizontal_deg: Float64Array, vertical_deg: Float64Array, *, candela: Float64Array
) -> IntensityWeb:
    """The web of type B planes, candela (h, v), read off on an even grid of γ and C.

    The grid is made finer until it has eight steps for each of the planes' own and its flux is
    within 0.05 % of theirs; at the finest that is tried what flux is amiss is scaled away.
    """
    h, v, table = mirrored(horizontal_deg, vertical_deg, candela)
    flux_lm = type_b_flux_lm(horizontal_deg, vertical_deg, candela=candela)
    last_rad = _widest_b(h, v, table)
    step_rad = math.radians(min(float(np.diff(h).min()), float(np.diff(v).min())))
    angles, turns = 160, 320
    while angles < FINEST[0] and last_rad / angles > step_rad / 8.0:
        angles, turns = 2 * angles, 2 * turns
    while True:
        web = _grid_of_b(h, v, table, grid=(np.linspace(0.0, last_rad, angles + 1), turns))
        read_lm = web_flux_lm(web)
        finest = (angles, turns) == FINEST
        if finest or abs(read_lm - flux_lm) <= CLOSE_ENOUGH * flux_lm:
            scale = flux_lm / read_lm if finest and read_lm > 0.0 else 1.0
            return intensity_web(web.azimuth_rad, web.angle_rad, candela=web.candela * scale)
        angles, turns = 2 * angles, 2 * turns


def type_b_flux_lm(
    horizontal_deg: Float64Array, vertical_deg: Float64Array, *, candela: Float64Array
) -> Lumen:
    """∫ I cosH dH dV of type B planes (h, v), exact for intensity linear in both angles."""
    h, v, table = mirrored(horizontal_deg, vertical_deg, candela)
    rows = over_azimuth(np.radians(v), table.T)
    return Lumen(float(polar_weights(np.radians(h + 90.0)) @ rows))


def mirrored(
    horizontal_deg: Float64Array, vertical_deg: Float64Array, candela: Float64Array
) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Planes of types A and B with the half that a start at 0 leaves out, on either angle."""
    h, v, table = horizontal_deg, vertical_deg, candela
    if h[0] == 0.0:
        h, table = np.concatenate([-h[:0:-1], h]), np.concatenate([table[:0:-1], table])
    if v[0] == 0.0:
        v, table = np.concatenate([-v[:0:-1], v]), np.concatenate([table[:, :0:-1], table], axis=1)
    return h, v, table


def direction_of_b(horizontal_deg: float, vertical_deg: float) -> tuple[float, float, float]:
    """The direction (x, y, z) in the web's frame of type B angles."""
    h, v = math.radians(horizontal_deg), math.radians(vertical_deg)
    return math.cos(h) * math.sin(v), math.sin(h), math.cos(h) * math.cos(v)


def direction_of_a(horizontal_deg: float, vertical_deg: float) -> tuple[float, float, float]:
    """The direction (x, y, z) in the web's frame of type A angles."""
    h, v = math.radians(horizontal_deg), math.radians(vertical_deg)
    return math.cos(v) * math.cos(h), math.cos(v) * math.sin(h), -math.sin(v)


# Parts -----------------------------------------------------------------------------------


def _all_round(
    azimuth_deg: Float64Array, candela: Float64Array, symmetry: Symmetry
) -> tuple[Float64Array, Float64Array]:
    """Planes from C0 to C360, the last as the first."""
    azimuth, table = azimuth_deg, candela
    if symmetry == "round":
        return np.array([0.0, 360.0]), np.repeat(table[:1], 2, axis=0)
    if symmetry == "none":
        if azimuth[-1] == 360.0:
            return azimuth.copy(), table
        return np.append(azimuth, 360.0), np.concatenate([table, table[:1]])
    if symmetry in {"four quarters", "about C90-C270"}:
        azimuth, table = np.concatenate([azimuth, 180.0 - azimuth]), np.concatenate([table, table])
    if symmetry in {"four quarters", "about C0-C180"}:
        azimuth, table = np.concatenate([azimuth, -azimuth]), np.concatenate([table, table])
    azimuth, first = np.unique(np.round(azimuth % 360.0, 9) % 360.0, return_index=True)
    return np.append(azimuth, 360.0), np.concatenate([table[first], table[first[:1]]])


def _from_the_axis(
    angle_deg: Float64Array, table: Float64Array
) -> tuple[Float64Array, Float64Array]:
    """Angles that start at 0, with nothing below where the planes start later."""
    if angle_deg[0] == 0.0:
        return angle_deg, table
    angle = np.concatenate([[0.0, angle_deg[0] - EDGE_DEG], angle_deg])
    return angle, np.pad(table, ((0, 0), (2, 0)))


def _grid_of_b(
    h: Float64Array, v: Float64Array, table: Float64Array, *, grid: tuple[Float64Array, int]
) -> IntensityWeb:
    """Type B planes read at even C and the given γ; nothing beyond their edges."""
    angle, turns = grid
    azimuth = np.linspace(0.0, 2.0 * math.pi, turns + 1)
    c, g = np.meshgrid(azimuth, angle, indexing="ij")
    x, y, z = np.sin(g) * np.cos(c), np.sin(g) * np.sin(c), np.cos(g)
    across = np.degrees(np.arcsin(np.clip(y, -1.0, 1.0))).ravel()
    along = np.degrees(np.arctan2(x, np.maximum(z, 0.0))).ravel()
    found = between_points(h, v, table=table, at=(across, along))
    slack = 1e-7
    inside = (across >= h[0] - slack) & (across <= h[-1] + slack)
    inside &= (along >= v[0] - slack) & (along <= v[-1] + slack)
    candela = np.where(inside, found, 0.0).reshape(c.shape)
    candela[:, 0] = candela[0, 0]  # on the axis every plane is the same place
    candela[-1] = candela[0]
    return IntensityWeb(azimuth, angle, candela)


def _widest_b(h: Float64Array, v: Float64Array, table: Float64Array) -> float:
    """The greatest γ that light reaches; between points, one point beyond the last with any."""
    lit = np.zeros(table.shape, np.bool_)
    some = table > 0.0
    lit |= some
    lit[1:] |= some[:-1]
    lit[:-1] |= some[1:]
    lit[:, 1:] |= lit[:, :-1].copy()
    lit[:, :-1] |= lit[:, 1:].copy()
    cosine = np.outer(np.cos(np.radians(h)), np.cos(np.radians(v)))
    widest = math.acos(max(0.0, min(1.0, float(cosine[lit].min()))))
    return min(math.pi / 2.0, max(widest, math.radians(1.0)))
