"""The view: from scene-linear light to a picture for a display.

The curve works on stops over middle grey s and gives the sRGB-encoded value v, 0 to 1:

    over grey    v = g + (1 - g)·(1 - (1 - s/H)^p),   p = m·H/(1 - g),   white at s = H
    under grey   v = g·(1 + s/B)^q,                   q = m·B/g,         black at s = -B

g is the encoded value of an 18 % display; m, its slope a stop at grey, is 1.15 times that of a
display that shows light unaltered; H is the camera's highlight limit; B its shadow limit and two
stops more, so that what lies past the limit is seen going. docs/physics/view-curve.md has the
reasons. Colour keeps the ratios of its channels and gives way towards white only as the display
runs out of room.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.camera.exposure import mid_grey_luminance_nit
from falloff.camera.settings import CameraSettings
from falloff.constants import GREY_CARD_REFLECTANCE
from falloff.errors import FalloffError, Fault
from falloff.spectrum import SRGB_LINEAR_FROM_WORKING, white_balance
from falloff.types import Float32Array, Float64Array

Srgb8 = NDArray[np.uint8]
Floats = NDArray[np.floating]

# Contrast at middle grey against a display that shows light unaltered: our choice, by eye.
MID_CONTRAST: Final = 1.15
# Stops shown below the camera's shadow limit before black: our choice.
STOPS_BELOW_SHADOW_LIMIT: Final = 2.0
_TABLE_SIZE: Final = 1 << 18
# Rows developed at a time, so that what is in work stays in the processor's cache.
_ROWS_PER_STRIP: Final = 16


@dataclass(frozen=True, slots=True)
class ViewCurve:
    """The curve's numbers; `encoded_of_stops` and `stops_of_encoded` are the curve."""

    white_stops: float
    black_stops: float
    grey_encoded: float
    shoulder_power: float
    toe_power: float


def develop(picture: Floats, settings: CameraSettings) -> Srgb8:
    """The picture as a display should show it: (h, w, 3) sRGB, 8 bits.

    picture: (h, w, 3) linear working space, cd/m². White balance, the view curve on luminance,
    and the colour fitted to the display with hue kept. Raises FalloffError for another shape.
    """
    if picture.ndim != 3 or picture.shape[2] != 3:
        raise FalloffError(
            Fault(
                "a picture has three channels",
                where="develop",
                expected="(height, width, 3)",
                found=str(picture.shape),
            )
        )
    matrix, curve = display_matrix(settings), view_curve(settings)
    shown = np.empty(picture.shape, dtype=np.uint8)
    for start in range(0, len(picture), _ROWS_PER_STRIP):
        strip = np.asarray(picture[start : start + _ROWS_PER_STRIP], dtype=np.float32)
        planes = srgb8_from_linear(tone(matrix @ strip.reshape(-1, 3).T, curve))
        shown[start : start + _ROWS_PER_STRIP] = planes.T.reshape(strip.shape)
    return shown


def display_matrix(settings: CameraSettings) -> Float32Array:
    """The (3, 3) matrix from working space in cd/m² to balanced sRGB channels, middle grey = 1."""
    matrix = SRGB_LINEAR_FROM_WORKING / mid_grey_luminance_nit(settings)
    if settings.balance_kelvin is not None:
        matrix = matrix @ white_balance(settings.balance_kelvin)
    return matrix.astype(np.float32)


def view_curve(settings: CameraSettings) -> ViewCurve:
    """The view curve of a camera with these highlight and shadow limits."""
    grey = float(encode_srgb(GREY_CARD_REFLECTANCE))
    # The slope of sRGB encoding over log2 of light at 18 %, in encoded value a stop.
    unaltered = 1.055 / 2.4 * GREY_CARD_REFLECTANCE ** (1.0 / 2.4) * math.log(2.0)
    slope = MID_CONTRAST * unaltered
    black_stops = settings.shadow_stops + STOPS_BELOW_SHADOW_LIMIT
    # A power under 1 would end in a corner at white; a camera with so little room gets a straight
    # line instead, flatter or steeper than the slope at grey.
    shoulder = max(1.0, slope * settings.highlight_stops / (1.0 - grey))
    toe = max(1.0, slope * black_stops / grey)
    return ViewCurve(settings.highlight_stops, black_stops, grey, shoulder, toe)


def encoded_of_stops(stops: ArrayLike, curve: ViewCurve) -> Float64Array:
    """The sRGB-encoded value, 0 to 1, of stops over middle grey; any shape, any real number."""
    s = np.asarray(stops, dtype=np.float64)
    over = np.clip(s / curve.white_stops, 0.0, 1.0)
    under = np.clip(-s / curve.black_stops, 0.0, 1.0)
    shoulder = (1.0 - curve.grey_encoded) * (1.0 - (1.0 - over) ** curve.shoulder_power)
    toe = curve.grey_encoded * (1.0 - under) ** curve.toe_power
    return np.asarray(toe + shoulder)


def stops_of_encoded(encoded: ArrayLike, curve: ViewCurve) -> Float64Array:
    """Stops over middle grey of an sRGB-encoded grey, 0 to 1: the curve read backwards.

    What was at or past white reads as the white limit, what was black as the black one.
    """
    v = np.clip(np.asarray(encoded, dtype=np.float64), 0.0, 1.0)
    grey = curve.grey_encoded
    left = np.clip((1.0 - v) / (1.0 - grey), 0.0, 1.0)
    over = curve.white_stops * (1.0 - left ** (1.0 / curve.shoulder_power))
    under = curve.black_stops * (np.clip(v / grey, 0.0, 1.0) ** (1.0 / curve.toe_power) - 1.0)
    return np.asarray(np.where(v >= grey, over, under))


def tone(linear: Float32Array, curve: ViewCurve) -> Float32Array:
    """Display-linear sRGB channels (3, ...), each 0 to 1, of balanced ones with middle grey = 1.

    Channels come first, since sums over a last axis of three are slow.
    """
    light = np.asarray(np.tensordot(_LUMINANCE_ROW, linear, axes=1), dtype=np.float32)
    shown = _shown_luminance(light, curve)
    gain = shown / np.maximum(light, np.float32(1e-30))
    return fit_to_display(np.asarray(linear * gain, dtype=np.float32), shown)


def fit_to_display(channels: Float32Array, luminance: Float32Array) -> Float32Array:
    """Draw channels (3, ...) towards their grey (...) until each lies in 0 to 1, luminance kept.

    With t how far the colour could go before a channel leaves the display, as a multiple of how
    far it goes, it keeps t/(1 + t⁴)^(1/4) of its distance from grey: all of it well inside, less
    near the edge, never past it. Source: our own, in docs/physics/view-curve.md.
    """
    offset = channels - luminance
    tiny = np.float32(1e-12)
    over = offset.max(axis=0) / np.maximum(np.float32(1.0) - luminance, tiny)
    under = -offset.min(axis=0) / np.maximum(luminance, tiny)
    # demand = 1/t; kept = t/(1 + t⁴)^(1/4) = 1/(1 + demand⁴)^(1/4), safe where demand is nought.
    demand = np.minimum(np.maximum(over, under), np.float32(1e6))
    squared = demand * demand
    offset /= np.sqrt(np.sqrt(np.float32(1.0) + squared * squared))
    offset += luminance
    return np.asarray(np.clip(offset, 0.0, 1.0, out=offset))


def encode_srgb(linear: ArrayLike) -> Float64Array:
    """sRGB-encoded values of display-linear ones, 0 to 1. Source: IEC 61966-2-1:1999, 5.2."""
    y = np.asarray(linear, dtype=np.float64)
    return np.asarray(
        np.where(y <= 0.0031308, 12.92 * y, 1.055 * np.maximum(y, 1e-9) ** (1 / 2.4) - 0.055)
    )


def decode_srgb(encoded: ArrayLike) -> Float64Array:
    """Display-linear values of sRGB-encoded ones, 0 to 1. Source: IEC 61966-2-1:1999, 5.2."""
    v = np.asarray(encoded, dtype=np.float64)
    return np.asarray(np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4))


def srgb8_from_linear(linear: Float32Array) -> Srgb8:
    """8-bit sRGB of display-linear channels of any shape, 0 to 1, rounded to nearest."""
    # The table is in the square root of light: fine steps where encoding is steep.
    index = np.sqrt(linear)
    index *= np.float32(_ENCODE_STEPS)
    index += np.float32(0.5)
    return _encode_table()[index.astype(np.uint16)]


_ENCODE_STEPS: Final = 16384
# ITU-R BT.709-6, item 3.2: luminance of linear red, green and blue.
_LUMINANCE_ROW: Final = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)


@functools.cache
def _encode_table() -> Srgb8:
    root = np.arange(_ENCODE_STEPS + 1) / _ENCODE_STEPS
    return np.rint(255.0 * encode_srgb(root * root)).astype(np.uint8)


def _shown_luminance(light: Float32Array, curve: ViewCurve) -> Float32Array:
    """Display luminance (0 to 1) of scene luminance (middle grey = 1), by table over stops."""
    table = _curve_table(curve)
    stops = np.log2(np.maximum(light, np.float32(2.0**-curve.black_stops)))
    steps = (stops + np.float32(curve.black_stops)) * np.float32(
        (_TABLE_SIZE - 1) / (curve.black_stops + curve.white_stops)
    )
    return np.asarray(table[np.clip(np.rint(steps), 0, _TABLE_SIZE - 1).astype(np.int32)])


@functools.lru_cache(maxsize=16)
def _curve_table(curve: ViewCurve) -> Float32Array:
    """Display luminance at even steps of stops, fine enough to be 1/20 of an 8-bit step apart."""
    stops = np.linspace(-curve.black_stops, curve.white_stops, _TABLE_SIZE)
    return decode_srgb(encoded_of_stops(stops, curve)).astype(np.float32)
