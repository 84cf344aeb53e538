"""Viewing curves of stills by open standards, and our own picture's, with the way back to light.

A curve takes encoded values, 0 black to 1 white, to linear channels. What the light is told in is
the curve's own: a share of white, or for our own picture middle grey or cd/m². Makers' log curves
are left out: they are no open standards.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from falloff.camera.exposure import mid_grey_luminance_nit
from falloff.camera.settings import CameraSettings
from falloff.camera.view import (
    decode_srgb,
    display_matrix,
    encode_srgb,
    encoded_of_stops,
    stops_of_encoded,
    view_curve,
)
from falloff.constants import (
    GREY_CARD_REFLECTANCE,
    USUAL_HIGHLIGHT_STOPS,
    USUAL_SHADOW_STOPS,
)
from falloff.errors import FalloffError, Fault
from falloff.spectrum import (
    BT709_PRIMARIES_XY,
    BT2020_PRIMARIES_XY,
    D65_XY,
    xyz_from_primaries,
)
from falloff.types import Float64Array

Channels = Callable[[Float64Array], Float64Array]
Primaries = tuple[tuple[float, float], tuple[float, float], tuple[float, float]]

# SMPTE EG 432-1, the primaries of digital cinema projection, here with D65 (from memory).
_P3_PRIMARIES_XY: Final = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
PRIMARIES: Final[dict[str, Primaries]] = {
    "bt709": BT709_PRIMARIES_XY,
    "bt2020": BT2020_PRIMARIES_XY,
    "p3": _P3_PRIMARIES_XY,
}
_TINY: Final = 1e-12

# ITU-R BT.2408, table 1 (from memory): HDR reference white is 203 cd/m², 75 % of HLG; an 18 % card
# is shown at 26 cd/m².
_REFERENCE_WHITE_NIT: Final = 203.0
_REFERENCE_WHITE_HLG: Final = 0.75
_GREY_CARD_PQ_NIT: Final = 26.0


@dataclass(frozen=True, slots=True)
class StillCurve:
    """A viewing curve: what its standard is, and the way back to linear light.

    decode: encoded (..., 3), 0 to 1, to linear channels (..., 3); encode: luminance (...) in the
    same unit to the encoded grey. middle_grey_share: the luminance of middle grey in that unit.
    graded: whether pictures on this curve have, as a rule, had a look put on them. primaries: the
    usual ones, a key of PRIMARIES. says: the standard and which way it is turned back.
    """

    name: str
    says: str
    decode: Channels
    encode: Channels
    middle_grey_share: float = GREY_CARD_REFLECTANCE
    primaries: str = "bt709"
    graded: bool = True


def still_curve(name: str, *, settings: CameraSettings | None = None) -> StillCurve:
    """A curve by its name, one of STILL_CURVES.

    settings: for "picture" alone, those it was exposed with: its limits make the curve, its white
    balance is taken out again, and the light comes in cd/m². Without them the usual limits are
    taken, and light comes with middle grey as 1. Raises FalloffError for another name.
    """
    if name == "picture":
        return _picture_curve(settings)
    if name not in _CURVES:
        raise FalloffError(
            Fault(
                "no viewing curve is called so",
                where="curve",
                expected="one of " + ", ".join(STILL_CURVES),
                found=repr(name),
                fix="a maker's log picture has to be turned into one of these first",
            )
        )
    return _CURVES[name]


# Our own picture -------------------------------------------------------------------------


def _picture_curve(settings: CameraSettings | None) -> StillCurve:
    """The view curve read backwards on luminance, the colour carried with it."""
    limits = settings or CameraSettings(
        2.8, 800.0, 1 / 48,
        highlight_stops=USUAL_HIGHLIGHT_STOPS, shadow_stops=USUAL_SHADOW_STOPS,
    )  # fmt: skip
    curve = view_curve(limits)
    weights = xyz_from_primaries(BT709_PRIMARIES_XY, D65_XY)[1]
    back = None if settings is None else np.linalg.inv(display_matrix(settings).astype(np.float64))
    grey = 1.0 if settings is None else float(mid_grey_luminance_nit(settings))

    def decode(encoded: Float64Array) -> Float64Array:
        shown = decode_srgb(np.clip(encoded, 0.0, 1.0))
        light = np.asarray(shown @ weights)
        wanted = np.exp2(stops_of_encoded(encode_srgb(light), curve))
        balanced = shown * (wanted / np.maximum(light, _TINY))[..., np.newaxis]
        return np.asarray(balanced if back is None else balanced @ back.T)

    def encode(luminance: Float64Array) -> Float64Array:
        return encoded_of_stops(np.log2(np.maximum(luminance, _TINY) / grey), curve)

    return StillCurve(
        "picture",
        "this project's own view curve, turned back to scene light by its formula",
        decode,
        encode,
        middle_grey_share=grey,
        primaries="bt709" if settings is None else "bt2020",
        graded=False,
    )


# Standards -------------------------------------------------------------------------------


def _power(exponent: float) -> tuple[Channels, Channels]:
    def decode(encoded: Float64Array) -> Float64Array:
        return np.asarray(np.maximum(encoded, 0.0) ** exponent)

    def encode(luminance: Float64Array) -> Float64Array:
        return np.asarray(np.maximum(luminance, 0.0) ** (1.0 / exponent))

    return decode, encode


def bt709_from_light(light: ArrayLike) -> Float64Array:
    """The encoded value of camera light, 1 at white. Source: ITU-R BT.709-6, item 1.2."""
    scene = np.maximum(np.asarray(light, dtype=np.float64), 0.0)
    return np.asarray(np.where(scene < 0.018, 4.5 * scene, 1.099 * scene**0.45 - 0.099))


def light_from_bt709(encoded: ArrayLike) -> Float64Array:
    """Camera light of an encoded value: the OETF of ITU-R BT.709-6, item 1.2, read backwards."""
    value = np.asarray(encoded, dtype=np.float64)
    bent = (np.maximum(value, 0.0) + 0.099) / 1.099
    return np.asarray(np.where(value < 0.081, value / 4.5, bent ** (1.0 / 0.45)))


# ITU-R BT.2100-2, table 4: the constants of PQ.
_M1, _M2 = 2610.0 / 16384.0, 2523.0 / 4096.0 * 128.0
_C1, _C2, _C3 = 3424.0 / 4096.0, 2413.0 / 4096.0 * 32.0, 2392.0 / 4096.0 * 32.0


def nits_from_pq(encoded: ArrayLike) -> Float64Array:
    """Display light in cd/m², 0 to 10 000. Source: ITU-R BT.2100-2, table 4, reference EOTF."""
    bent = np.clip(np.asarray(encoded, dtype=np.float64), 0.0, 1.0) ** (1.0 / _M2)
    return np.asarray(1e4 * (np.maximum(bent - _C1, 0.0) / (_C2 - _C3 * bent)) ** (1.0 / _M1))


def pq_from_nits(luminance_nit: ArrayLike) -> Float64Array:
    """The encoded value of display light. Source: ITU-R BT.2100-2, table 4, the EOTF's inverse."""
    bent = (np.clip(np.asarray(luminance_nit, dtype=np.float64), 0.0, 1e4) / 1e4) ** _M1
    return np.asarray(((_C1 + _C2 * bent) / (1.0 + _C3 * bent)) ** _M2)


# ITU-R BT.2100-2, table 5: the constants of HLG.
_A: Final = 0.17883277
_B: Final = 1.0 - 4.0 * _A
_C: Final = 0.5 - _A * float(np.log(4.0 * _A))


def light_from_hlg(encoded: ArrayLike) -> Float64Array:
    """Camera light, 0 to 1 at the peak. Source: ITU-R BT.2100-2, table 5, the OETF's inverse."""
    value = np.maximum(np.asarray(encoded, dtype=np.float64), 0.0)
    bent = (np.exp((np.minimum(value, 2.0) - _C) / _A) + _B) / 12.0
    return np.asarray(np.where(value <= 0.5, value * value / 3.0, bent))


def hlg_from_light(light: ArrayLike) -> Float64Array:
    """The encoded value of camera light. Source: ITU-R BT.2100-2, table 5, reference OETF."""
    scene = np.maximum(np.asarray(light, dtype=np.float64), 0.0)
    bent = _A * np.log(np.maximum(12.0 * scene - _B, _TINY)) + _C
    return np.asarray(np.where(scene <= 1.0 / 12.0, np.sqrt(3.0 * scene), bent))


_WHITE_HLG: Final = float(light_from_hlg(_REFERENCE_WHITE_HLG))


def _same(values: Float64Array) -> Float64Array:
    return np.asarray(values, dtype=np.float64)


_DISPLAY: Final = "light of the display, white as 1"
_SDR: Final = (
    StillCurve(
        "srgb", f"sRGB (IEC 61966-2-1), turned back to {_DISPLAY}", decode_srgb, encode_srgb
    ),
    StillCurve(
        "bt709",
        "the camera curve of BT.709 (OETF), turned back to the camera's own light, white as 1",
        light_from_bt709,
        bt709_from_light,
    ),
    StillCurve(
        "bt1886",
        f"a BT.1886 display with no black of its own (power 2.4), turned back to {_DISPLAY}",
        *_power(2.4),
    ),
    StillCurve("gamma22", f"a power of 2.2, turned back to {_DISPLAY}", *_power(2.2)),
    StillCurve("gamma24", f"a power of 2.4, turned back to {_DISPLAY}", *_power(2.4)),
    StillCurve("linear", "linear light, white as 1", _same, _same, graded=False),
)
_HDR: Final = (
    StillCurve(
        "pq",
        "PQ of BT.2100 (EOTF), turned back to light of the display, 203 cd/m² as 1",
        lambda encoded: nits_from_pq(encoded) / _REFERENCE_WHITE_NIT,
        lambda luminance: pq_from_nits(luminance * _REFERENCE_WHITE_NIT),
        middle_grey_share=_GREY_CARD_PQ_NIT / _REFERENCE_WHITE_NIT,
        primaries="bt2020",
    ),
    StillCurve(
        "hlg",
        "HLG of BT.2100 (OETF), turned back to the camera's own light, a signal of 75 % as 1",
        lambda encoded: light_from_hlg(encoded) / _WHITE_HLG,
        lambda luminance: hlg_from_light(luminance * _WHITE_HLG),
        primaries="bt2020",
    ),
)
_CURVES: Final = {curve.name: curve for curve in (*_SDR, *_HDR)}
STILL_CURVES: Final = (*_CURVES, "picture")
