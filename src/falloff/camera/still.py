"""A still that a person owns, read as linear light: a frame grab, a photograph, our own picture.

What the file says of its light is taken from the viewing curve that the person states; what the
file cannot say is told as findings. Places are sampled by `sample_still`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from falloff.camera.still_curves import PRIMARIES, StillCurve, still_curve
from falloff.camera.still_exr import EXR_MAGIC, read_exr_pixels
from falloff.camera.still_file import (
    Codes,
    JpegSteps,
    StillPixels,
    read_pixels,
    still_bytes,
    still_note,
)
from falloff.errors import FalloffError, Fault
from falloff.findings import Finding
from falloff.spectrum import D65_XY
from falloff.types import BoolArray, Float64Array

# ITU-R BT.709-6, item 3.4, BT.2100-2, table 9: black and white of narrow range, in 8 bits.
_NARROW_BLACK: Final = 16
_NARROW_WHITE: Final = 235
_HALF_MAX: Final = 65504.0  # IEEE 754-2008, binary16: what an OpenEXR of half floats ends at
_LOOK: Final = (
    "the picture has, as a rule, had a look put on it: differences between places carry an error "
    "of 0.3 stop a stop in the middle tones and more towards white and black"
)


@dataclass(frozen=True, slots=True)
class Still:
    """A still as encoded, and how its values become light.

    codes: (h, w, 3), top row first; bits: how many are in use, None where they are linear light;
    xyz: (3, 3) from linear channels to CIE XYZ, its second row their luminance; middle_grey_share:
    luminance of middle grey in the curve's unit. graded: whether a look is reckoned with; narrow:
    whether black and white are at 16 and 235 of 255. see_through: (h, w) where it is not whole;
    tones: how many colours a palette has. findings: what is assumed.
    """

    name: str
    codes: Codes
    bits: int | None
    curve: StillCurve
    xyz: Float64Array
    middle_grey_share: float
    graded: bool
    narrow: bool = False
    jpeg: JpegSteps | None = None
    see_through: BoolArray | None = None
    tones: int | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def width_px(self) -> int:
        """Columns."""
        return int(self.codes.shape[1])

    @property
    def height_px(self) -> int:
        """Rows."""
        return int(self.codes.shape[0])

    @property
    def step_share(self) -> float:
        """The least difference of encoded values, white as 1; nought for floating point."""
        if self.bits is None:
            return 0.0
        if self.narrow:
            return 1.0 / ((_NARROW_WHITE - _NARROW_BLACK) << (self.bits - 8))
        return 1.0 / ((1 << self.bits) - 1)

    def signals(self, rows: slice, columns: slice) -> Float64Array:
        """Encoded values (r, c, 3) of a window, black 0 and white 1; of linear light itself."""
        codes = np.asarray(self.codes[rows, columns], dtype=np.float64)
        if self.bits is None:
            return np.nan_to_num(codes, nan=0.0, posinf=_HALF_MAX, neginf=0.0)
        black = _NARROW_BLACK << (self.bits - 8) if self.narrow else 0
        return np.asarray((codes - black) * self.step_share)

    def clipped(self, encoded: Float64Array) -> BoolArray:
        """Which pixels (...) of encoded values (..., 3) have a channel that had no more room."""
        top = _HALF_MAX if self.bits is None else 1.0 - self._margin
        return np.asarray((encoded >= top).any(axis=-1))

    def crushed(self, encoded: Float64Array) -> BoolArray:
        """Which pixels (...) of encoded values (..., 3) are black in all channels."""
        return np.asarray((encoded <= (0.0 if self.bits is None else self._margin)).all(axis=-1))

    @property
    def _margin(self) -> float:
        """How near to white or black counts as there: a JPEG's own rounding moves them a step."""
        return (1.5 if self.jpeg else 0.5) * self.step_share


def read_still(
    source: str | Path | bytes,
    curve: str | StillCurve | None = None,
    *,
    primaries: str | None = None,
    graded: bool | None = None,
    narrow: bool = False,
) -> Still:
    """Read a JPEG, PNG, TIFF (8 or 16 bits) or linear OpenEXR by what it holds, not by its name.

    source: a path, or the file's bytes. curve: one of STILL_CURVES or `still_curve(...)`; left
    out, sRGB, and linear for an OpenEXR. primaries: "bt709", "bt2020" or "p3", left out the
    curve's usual ones, or those that an OpenEXR names. graded: whether a look was put on it, left
    out as is usual for the curve. narrow: black at 16 and white at 235 of 255. At most 64 million
    pixels. Raises FalloffError for a file that cannot be read as light, and says why.
    """
    data, name = still_bytes(source)
    linear = data.startswith(EXR_MAGIC)
    findings: list[Finding] = []
    if curve is None:
        curve = "linear" if linear else "srgb"
        if not linear:
            findings.append(
                still_note("no viewing curve was stated: sRGB was taken", "state the curve")
            )
    told = curve if isinstance(curve, StillCurve) else still_curve(curve)
    _check_stated(told, primaries, linear=linear, name=name)
    pixels = read_exr_pixels(data, name) if linear else read_pixels(data, name)
    xyz = _xyz_of(pixels, told, primaries)
    looked = told.graded if graded is None else graded
    findings += pixels.findings
    if looked:
        findings.append(
            still_note(_LOOK, "say that it is not graded, if the bare curve was put on it")
        )
    return Still(
        name,
        pixels.codes,
        pixels.bits,
        told,
        xyz,
        pixels.middle_grey_nit or told.middle_grey_share,
        looked,
        narrow and not linear,
        pixels.jpeg,
        pixels.see_through,
        pixels.tones,
        tuple(findings),
    )


def _check_stated(curve: StillCurve, primaries: str | None, *, linear: bool, name: str) -> None:
    faults = []
    if primaries is not None and primaries not in PRIMARIES:
        expected = "one of " + ", ".join(PRIMARIES)
        faults.append(Fault("no primaries are called so", "primaries", expected, repr(primaries)))
    if curve.name == "picture" and primaries not in {None, curve.primaries}:
        what = "this project's own picture has its own primaries"
        faults.append(Fault(what, "primaries", found=repr(primaries), fix="leave them out"))
    if linear and curve.name != "linear":
        what = "an OpenEXR holds linear light, not light on a viewing curve"
        faults.append(Fault(what, name, "linear", curve.name, "leave the curve out"))
    if faults:
        raise FalloffError(*faults)


def _xyz_of(pixels: StillPixels, curve: StillCurve, primaries: str | None) -> Float64Array:
    """(3, 3) from channels to XYZ: as stated, as the file says, or as usual for the curve."""
    if primaries is None and pixels.primaries_xy is not None:
        red, green, blue, white = pixels.primaries_xy
    else:
        red, green, blue = PRIMARIES[primaries or curve.primaries]
        white = D65_XY
    # SMPTE RP 177:1993, section 3.3 (from memory); blue may lie below y = 0 (SMPTE ST 2065-1).
    columns = np.array([(x / y, 1.0, (1.0 - x - y) / y) for x, y in (red, green, blue)]).T
    x, y = white
    scale = np.linalg.solve(columns, np.array([x / y, 1.0, (1.0 - x - y) / y]))
    return np.asarray(columns * scale)
