"""Lumens from each watt of sun and sky, by the state of the sky.

Eight states of the sky, by its clearness ε, from overcast (1) to clear (8); W: water in the air
above, as centimetres of rain; Z: angle of the sun from the zenith; Δ: the sky's horizontal
irradiance times the air mass over the sun's irradiance outside the air.
Source: Perez, Ineichen, Seals, Michalsky and Stewart (1990), Solar Energy 44(5), 271-289, tables 1
and 4, from public transcriptions that agree with the project's check rows.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from falloff.errors import DaylightError, Fault
from falloff.types import Float64Array

# Rows a, b, c, d; one column for each state of the sky.
_DIFFUSE: Final = np.array([
    [97.24, 107.22, 104.97, 102.39, 100.71, 106.42, 141.88, 152.23],
    [-0.46, 1.15, 2.96, 5.59, 5.94, 3.83, 1.90, 0.35],
    [12.00, 0.59, -5.53, -13.95, -22.75, -36.15, -53.24, -45.27],
    [-8.91, -3.95, -8.77, -13.90, -23.74, -28.83, -14.03, -7.98],
])  # fmt: skip
_DIRECT: Final = np.array([
    [57.20, 98.99, 109.83, 110.34, 106.36, 107.19, 105.75, 101.18],
    [-4.55, -3.46, -4.90, -5.84, -3.97, -1.25, 0.77, 1.58],
    [-2.98, -1.21, -1.71, -1.99, -1.75, -1.51, -1.26, -1.10],
    [117.12, 12.38, -8.81, -4.56, -6.16, -26.73, -34.44, -8.29],
])  # fmt: skip
_EDGES: Final = (1.0, 1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2)
_STATES: Final = 8
_KAPPA: Final = 1.041


class Efficacy(NamedTuple):
    """Of the sky's light alone on open ground, and of the sun's alone, lm/W."""

    diffuse_lm_per_w: float
    direct_lm_per_w: float


def perez_efficacy(state: int, *, water_m: float, zenith_rad: float, delta: float) -> Efficacy:
    """Efficacies in one of the eight states of the sky.

    state: 1 overcast to 8 clear; water_m: precipitable water, 0 to 0.07 m;
    zenith_rad: of the sun, 0 to π/2; delta: above 0. Raises DaylightError for no such state.
    Source: Perez et al. (1990), see the module.
    """
    if not 1 <= state <= _STATES:
        raise DaylightError(
            Fault(what="there is no such state of the sky", expected="1 to 8", found=str(state))
        )
    every = _all_states(100.0 * water_m, zenith_rad, delta)
    return Efficacy(*(float(value) for value in every[:, state - 1]))


def between_states(
    clearness: float, *, water_m: float, zenith_rad: float, delta: float
) -> Efficacy:
    """Efficacies at a clearness ε ≥ 1, drawn from the middle of one state to that of the next.

    As `perez_efficacy`, whose steps of up to 15 % would be seen as jumps while the sun sinks. The
    straight lines between states, over the logarithm of ε, are ours.
    """
    every = _all_states(100.0 * water_m, zenith_rad, delta)
    edges = np.log(np.array([*_EDGES, 12.0]))  # 12: about the clearest sky met
    middles = 0.5 * (edges[:-1] + edges[1:])
    at = math.log(max(1.0, clearness))
    return Efficacy(*(float(np.interp(at, middles, row)) for row in every))


def sky_clearness(diffuse_w_m2: float, direct_w_m2: float, *, zenith_rad: float) -> float:
    """Clearness ε, 1 or more, of the sky's horizontal and the sun's normal irradiance, W/m².

    Source: Perez et al. (1990): ((Dh + I)/Dh + κZ³)/(1 + κZ³), κ = 1.041.
    """
    cube = _KAPPA * zenith_rad**3
    return (1.0 + direct_w_m2 / diffuse_w_m2 + cube) / (1.0 + cube)


def _all_states(water_cm: float, zenith_rad: float, delta: float) -> Float64Array:
    """Diffuse and direct efficacy, (2, 8); none negative."""
    cosine = math.cos(zenith_rad)
    smooth = np.array([1.0, water_cm, cosine, math.log(delta)])
    beam = np.array([1.0, water_cm, math.exp(5.73 * zenith_rad - 5.0), delta])
    return np.asarray(np.maximum(0.0, np.array([smooth @ _DIFFUSE, beam @ _DIRECT])))
