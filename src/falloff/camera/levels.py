"""How light a picture is: its luminance in stops over middle grey, and the shares of the frame."""

from __future__ import annotations

import math
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from falloff.camera.exposure import stops_over_grey
from falloff.camera.settings import CameraSettings
from falloff.camera.view import Srgb8, develop
from falloff.errors import FalloffError, Fault
from falloff.spectrum import luminance
from falloff.types import Float64Array

Floats = NDArray[np.floating]

# A channel over this is as good as this: white on any display, and safe to reckon with.
_BRIGHTEST_NIT: Final = 1e12
_LOW_PERCENT: Final = 5.0
_HIGH_PERCENT: Final = 95.0


class Levels(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How light a picture is, in stops over middle grey of luminance, and the shares past limits.

    median_stops: as much of the frame is darker as is lighter; p5_stops, p95_stops: a twentieth of
    the frame is at most so light, a twentieth at least so light (each the level of one pixel, none
    between two). None where there is no light at all. clipped_share,
    dark_share: 0 to 1 of the frame, over the camera's highlight and under its shadow limit.
    """

    median_stops: float | None
    p5_stops: float | None
    p95_stops: float | None
    clipped_share: float
    dark_share: float


def levels_of(picture: Floats, settings: CameraSettings) -> Levels:
    """The levels of a picture (h, w, 3), linear working space, cd/m², of any size but none.

    Raises FalloffError for another shape and for light that is negative or not finite.
    """
    stops = picture_stops(picture, settings, where="levels_of")
    return levels_of_stops(stops, settings)


def levels_of_stops(stops: Float64Array, settings: CameraSettings) -> Levels:
    """The levels of stops over middle grey, any shape, minus infinity for no light."""
    percents = (50.0, _LOW_PERCENT, _HIGH_PERCENT)
    # Of the pixels' own values: between no light and some there is no middle.
    median, low, high = np.percentile(stops, percents, method="inverted_cdf")
    return Levels(
        median_stops=_finite(median),
        p5_stops=_finite(low),
        p95_stops=_finite(high),
        clipped_share=float(np.mean(stops > settings.highlight_stops)),
        dark_share=float(np.mean(stops < -settings.shadow_stops)),
    )


def picture_stops(picture: Floats, settings: CameraSettings, *, where: str) -> Float64Array:
    """Stops over middle grey (h, w) of a picture's luminance; no light is minus infinity.

    where: the caller's name, for the error. Raises FalloffError as `levels_of`.
    """
    if picture.ndim != 3 or picture.shape[2] != 3 or not picture.size:
        raise FalloffError(
            Fault(
                "a picture has three channels and some size",
                where=where,
                expected="(height, width, 3)",
                found=str(picture.shape),
            )
        )
    light = luminance(np.asarray(picture, dtype=np.float64))
    if not math.isfinite(light.max()):
        raise FalloffError(
            Fault(
                "a picture's light is a number",
                where=where,
                expected="finite cd/m² in every pixel",
                found=str(light.max()),
                fix="trace the picture again, or look for what was divided by nought",
            )
        )
    return np.asarray(stops_over_grey(light, settings), dtype=np.float64)


def shown(picture: Floats, settings: CameraSettings) -> Srgb8:
    """The picture as `develop` shows it, however bright its brightest pixels are."""
    held = np.clip(np.asarray(picture, dtype=np.float64), -_BRIGHTEST_NIT, _BRIGHTEST_NIT)
    return develop(held, settings)


def _finite(stops: float) -> float | None:
    return float(stops) if math.isfinite(stops) else None
