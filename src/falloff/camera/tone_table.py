"""The view curve as a table that a page can look up without a logarithm.

A float32 keeps the logarithm of its value in its upper bits: eight of them for the stop, the next
eight for the place in it. A table by these has 256 entries a stop. docs/physics/view-curve.md has
the curve.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.camera.settings import CameraSettings
from falloff.camera.view import decode_srgb, encoded_of_stops, view_curve
from falloff.types import Float32Array

# Bits of a float32 below those that the table is entered by: 23 of the number less 8.
_BITS_LEFT_OUT: Final = 15


def tone_table(highlight_stops: float, shadow_stops: float) -> tuple[Float32Array, int]:
    """Displayed luminance (0 to 1) by the upper bits of scene luminance, and the first entry's.

    highlight_stops, shadow_stops: the camera's limits, over and under middle grey, 1 to 16.
    Returns (table, first): luminance x, middle grey = 1, shows as `table[(bits >> 15) - first]`,
    the index held to the table. An entry is the curve at the middle of its bin, so that between
    the middles a straight line may be drawn: then the curve is met within 1/30 of a step of 8
    bits, without it within 1/8. The first entry is black, the last white.
    Raises FalloffError for limits that no camera has.
    """
    # The limits are all that the curve knows of a camera.
    curve = view_curve(
        CameraSettings(
            2.8, 800.0, 1 / 48, highlight_stops=highlight_stops, shadow_stops=shadow_stops
        )
    )
    ends = np.exp2(np.array([-curve.black_stops, curve.white_stops])).astype(np.float32)
    low, high = (int(bits) >> _BITS_LEFT_OUT for bits in ends.view(np.int32))
    # One bin more at either end, so that all beyond reads black and white to the last bit.
    bins = np.arange(low - 1, high + 2, dtype=np.int32)
    middles = ((bins << _BITS_LEFT_OUT) + (1 << (_BITS_LEFT_OUT - 1))).view(np.float32)
    encoded = encoded_of_stops(np.log2(middles.astype(np.float64)), curve)
    return decode_srgb(encoded).astype(np.float32), int(bins[0])
