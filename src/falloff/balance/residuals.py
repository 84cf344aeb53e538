"""Terms as residuals in log light, with their slopes by every source's stops."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.balance.problem import WEIGHTS, Problem
from falloff.balance.terms import ColourTerm, HueTerm, LevelTerm, Term
from falloff.spectrum import XYZ_FROM_WORKING
from falloff.types import Float64Array

_SATURATION_SCALE: Final = 0.1
_LOG2: Final = math.log(2.0)
_DARK: Final = 1e-12
_PULL: Final = 0.03  # towards the middle of a band
_BEYOND: Final = 3.0  # back from past its edge, a hundred times as hard


@dataclass(frozen=True, slots=True)
class Light:
    """Light (p, 3) at a table's readings and what of it each source gives (s, p, 3), by stops.

    slope: (s, p, 3) of the light by each source's stops.
    """

    total: Float64Array
    slope: Float64Array


def light_at(problem: Problem, colours: list[Float64Array], shares: Float64Array) -> list[Light]:
    """Every table's light and its slope at shares of full (s,); colours: as `coloured` tells."""
    by, slope = np.empty((len(shares), 3)), np.empty((len(shares), 3))
    for s, lever in enumerate(problem.levers):
        if lever.warming is None:
            by[s], slope[s] = shares[s], _LOG2 * shares[s]
        else:
            tint, turns = lever.warming.at(float(shares[s]))
            by[s] = shares[s] * tint
            slope[s] = _LOG2 * by[s] + shares[s] * turns
    return [Light(np.einsum("sc,spc->pc", by, rgb), slope[:, None, :] * rgb) for rgb in colours]


def residuals(
    terms: tuple[Term, ...], lights: list[Light], exposure_stops: tuple[float, ...]
) -> tuple[Float64Array, Float64Array]:
    """Residuals (r,) of every term and their slopes (r, s) by each source's stops.

    exposure_stops: how much more light key is in each table than as written.
    """
    rows: list[tuple[float, Float64Array]] = []
    for term in terms:
        light = lights[term.table]
        if isinstance(term, LevelTerm):
            off, slope = _level(term, light, exposure_stops[term.table])
            rows += _banded(off - term.wanted, slope, term)
        elif isinstance(term, ColourTerm):
            value, slope = _along(term, light)
            off = (value - term.wanted) / term.half
            rows += _edged(off, slope / term.half, term.weight)
        else:
            rows += _hued(term, light)
    if not rows:
        return np.zeros(0), np.zeros((0, lights[0].slope.shape[0] if lights else 0))
    return np.array([row[0] for row in rows]), np.stack([row[1] for row in rows])


def _level(term: LevelTerm, light: Light, exposure: float) -> tuple[float, Float64Array]:
    """Stops of a term and their slope."""
    stops, slope = _stops_of(light, term.reading)
    if term.over is not None:
        other, other_slope = _stops_of(light, term.over)
        stops, slope = stops - other, slope - other_slope
    return stops - term.reference - (exposure if term.keyed else 0.0), slope


def _stops_of(light: Light, k: int) -> tuple[float, Float64Array]:
    value = max(float(light.total[k] @ WEIGHTS), _DARK)
    return math.log2(value), (light.slope[:, k] @ WEIGHTS) / (value * _LOG2)


def _banded(off: float, slope: Float64Array, term: LevelTerm) -> list[tuple[float, Float64Array]]:
    """The pull to the middle of the band, or to its open side, and what lies beyond its edge."""
    root, scale = math.sqrt(term.weight), term.scale
    one_sided = max(0.0, off) if term.low == -math.inf else min(0.0, off)
    pull = off if term.pull else one_sided
    beyond = off - term.high if off > term.high else min(0.0, off - term.low)
    return [
        (root * _PULL * pull / scale, root * _PULL * slope / scale * (pull != 0.0)),
        (_BEYOND * root * beyond / scale, _BEYOND * root * slope / scale * (beyond != 0.0)),
    ]


def _edged(off: float, slope: Float64Array, weight: float) -> list[tuple[float, Float64Array]]:
    """As `_banded`, of a value in half-widths of its band."""
    root = math.sqrt(weight)
    beyond = off - math.copysign(1.0, off) if abs(off) > 1.0 else 0.0
    return [
        (root * _PULL * off, root * _PULL * slope),
        (_BEYOND * root * beyond, _BEYOND * root * slope * (beyond != 0.0)),
    ]


def _along(term: ColourTerm, light: Light) -> tuple[float, Float64Array]:
    uv, slope = _uv_slope(light, term.reading)
    if term.over is not None:
        other, other_slope = _uv_slope(light, term.over)
        uv, slope = uv - other, slope - other_slope
    return float(uv @ term.direction), slope @ term.direction


def _uv_slope(light: Light, k: int) -> tuple[Float64Array, Float64Array]:
    """U'v' (2,) of a reading and its slope (s, 2)."""
    to_xyz = np.asarray(XYZ_FROM_WORKING).T
    xyz, slope = light.total[k] @ to_xyz, light.slope[:, k] @ to_xyz
    below, below_slope = float(xyz @ (1.0, 15.0, 3.0)), slope @ (1.0, 15.0, 3.0)
    below = max(below, _DARK)
    uv = np.array([4.0 * xyz[0], 9.0 * xyz[1]]) / below
    top = np.stack([4.0 * slope[:, 0], 9.0 * slope[:, 1]], -1)
    return uv, (top - below_slope[:, None] * uv) / below


def _hued(term: HueTerm, light: Light) -> list[tuple[float, Float64Array]]:
    uv, slope = _uv_slope(light, term.reading)
    away = uv - term.white
    radius = max(float(np.hypot(*away)), 1e-9)
    turn = (math.atan2(away[1], away[0]) - term.hue_rad + math.pi) % (2.0 * math.pi) - math.pi
    turning = (slope @ (-away[1], away[0])) / radius**2
    rows = _edged(turn / term.half_rad, turning / term.half_rad, term.weight)
    lacks = max(0.0, term.saturation - 13.0 * radius)
    root = _BEYOND * math.sqrt(term.weight) / _SATURATION_SCALE
    out = -13.0 * (slope @ away) / radius
    rows.append((root * lacks, root * out * (lacks > 0.0)))
    return rows
