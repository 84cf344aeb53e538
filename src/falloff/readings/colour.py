"""The colour of light at a reading: as u'v', as a colour temperature with green, as a hue."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.errors import FalloffError
from falloff.spectrum import (
    XYZ_FROM_WORKING,
    colour_shift,
    light_of_kelvin,
    light_of_xy,
    uv_1976_from_xy,
    xy_from_uv_1976,
)
from falloff.types import Float64Array
from falloff.units import mired_from_kelvin

UV = tuple[float, float]
USUAL_BALANCE_KELVIN: Final = 5600.0  # where a setup has no white balance of its own
_SATURATION: Final = 13.0  # CIE 015:2018, section 8.2.2: s_uv is 13 times the distance in u'v'


@dataclass(frozen=True, slots=True)
class WhiteTold:
    """A light told as white: kelvin, mired, and CC of green off the line, magenta below nought."""

    kelvin: float
    mired: float
    green_cc: float


def uv_of(rgb: Float64Array) -> UV | None:
    """CIE 1976 u'v' of light (3,) in the working space; None without light."""
    x, y, z = (float(one) for one in np.asarray(XYZ_FROM_WORKING) @ rgb)
    below = x + 15.0 * y + 3.0 * z
    if not (y > 0.0 and below > 0.0 and math.isfinite(below)):
        return None
    return (4.0 * x / below, 9.0 * y / below)


def white_of(uv: UV) -> WhiteTold | None:
    """A colour u'v' as white light; None where it is too strongly coloured for that.

    Valid from 1000 to 25000 K and to 0.05 in Duv. The line that green is told off is Planck's up
    to 4000 K and daylight's from 5000 K; a full green gel is 30 CC.
    """
    try:
        light = light_of_xy(xy_from_uv_1976(uv))
        kelvin = light.temperature.cct_kelvin
        if kelvin is None:
            return None
        green = colour_shift(light_of_kelvin(kelvin), light).green_cc
    except FalloffError:
        return None
    return WhiteTold(float(kelvin), float(mired_from_kelvin(kelvin)), green)


def white_uv(balance_kelvin: float | None) -> Float64Array:
    """The u'v' (2,) of the white that hues are told about; None: of no balance of its own."""
    return np.asarray(uv_1976_from_xy(light_of_kelvin(balance_kelvin or USUAL_BALANCE_KELVIN).xy))


def hue_of(uv: UV, balance_kelvin: float | None) -> tuple[float, float]:
    """Hue h_uv (rad, 0 to 2π) and saturation s_uv about a white balance (CIE 015:2018, 8.2.2)."""
    white = white_uv(balance_kelvin)
    across, up = uv[0] - float(white[0]), uv[1] - float(white[1])
    return math.atan2(up, across) % math.tau, _SATURATION * math.hypot(across, up)
