"""The pixels of a linear OpenEXR still, with what its header says of primaries and middle grey."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any, Final

import numpy as np

from falloff.camera.still_file import LARGEST_PIXELS, StillPixels, check_size, refused
from falloff.errors import FalloffError
from falloff.findings import Finding, Weight
from falloff.types import Float32Array

EXR_MAGIC: Final = b"\x76\x2f\x31\x01"  # OpenEXR file layout, "magic number"
_MOST_CHANNELS: Final = 4  # of the largest picture: what may be in memory at once
_CHROMATICITY_NUMBERS: Final = 8


def read_exr_pixels(data: bytes, name: str) -> StillPixels:
    """Red, green and blue of an OpenEXR, linear, or its luminance alone.

    Raises FalloffError for a damaged file, one of other channels, and one that is too large.
    """
    handle, written = tempfile.mkstemp(suffix=".exr")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        return _read(written, name)
    except FalloffError:
        raise
    except Exception as error:  # the library tells damage by errors of many kinds
        raise refused(
            name,
            "the picture is damaged or cut short",
            found=str(error).replace(written, name)[:120],
            fix="copy or export it again",
        ) from error
    finally:
        Path(written).unlink(missing_ok=True)


def _read(path: str, name: str) -> StillPixels:
    import OpenEXR

    with OpenEXR.File(path, separate_channels=True, header_only=True) as file:
        header = dict(file.header())
        held = len(file.channels())
    low, high = (np.asarray(corner, dtype=np.int64) for corner in header["dataWindow"])
    width, height = (int(n) for n in high - low + 1)
    check_size(width, height, name)
    if held * width * height > _MOST_CHANNELS * LARGEST_PIXELS:
        fix = "export red, green and blue alone, or a smaller picture"
        raise refused(name, "the file holds too many layers", found=f"{held} channels", fix=fix)
    with OpenEXR.File(path, separate_channels=True) as file:
        pixels = {key: channel.pixels for key, channel in file.channels().items()}
    codes = _picture(pixels, name)
    primaries = _primaries(header)
    grey = header.get("middleGreyNit")
    return StillPixels(
        codes,
        None,
        primaries_xy=primaries,
        middle_grey_nit=float(grey) if isinstance(grey, float) and grey > 0.0 else None,
        findings=_told_of(header, codes),
    )


def _picture(pixels: dict[str, Any], name: str) -> Float32Array:
    if all(channel in pixels for channel in "RGB"):
        planes = [np.asarray(pixels[channel], dtype=np.float32) for channel in "RGB"]
        return np.stack(planes, axis=-1)
    if "Y" in pixels:
        plane = np.asarray(pixels["Y"], dtype=np.float32)
        return np.asarray(np.broadcast_to(plane[..., np.newaxis], (*plane.shape, 3)))
    raise refused(
        name,
        "the file has no picture of its own",
        expected="channels R, G and B, or Y",
        found=", ".join(sorted(pixels)[:8]),
        fix="export the sum of its layers",
    )


def _primaries(header: dict[str, Any]) -> tuple[tuple[float, float], ...] | None:
    told = header.get("chromaticities")
    if told is None or len(told) != _CHROMATICITY_NUMBERS:
        return None
    numbers = [float(n) for n in told]
    if not all(np.isfinite(numbers)) or 0.0 in numbers[1::2]:
        return None
    return tuple(zip(numbers[0::2], numbers[1::2], strict=True))


def _told_of(header: dict[str, Any], codes: Float32Array) -> tuple[Finding, ...]:
    findings = []
    if [tuple(c) for c in header["dataWindow"]] != [tuple(c) for c in header["displayWindow"]]:
        says = "the picture and its frame differ in size; places are told in the picture"
        findings.append(Finding(weight=Weight.NOTE, about="the still", says=says))
    if not np.isfinite(codes).all():
        says = "some values are no numbers: they count as black, those without end as clipped"
        findings.append(Finding(weight=Weight.NOTE, about="the still", says=says))
    return tuple(findings)
