"""The pixels of a still's file as they are encoded: JPEG, PNG and TIFF by what they hold, not name.

Nothing is turned into light here. Sixteen bits a channel, which the decoder cuts to eight, are read
twice: once its upper and once its lower bytes.
"""

from __future__ import annotations

import io
import sys
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from falloff.errors import FalloffError, Fault
from falloff.findings import Finding, Weight
from falloff.types import BoolArray, Float64Array

if TYPE_CHECKING:
    from PIL.Image import Image

Codes = NDArray[np.uint8] | NDArray[np.uint16] | NDArray[np.float32]

LARGEST_PIXELS: Final = 64_000_000  # a still of the largest usual cameras; half a gigabyte at most
_LARGEST_BYTES: Final = 1_000_000_000
_FORMATS: Final = ("JPEG", "PNG", "TIFF")
_READ_AS: Final = "a JPEG, a PNG, a TIFF of 8 or 16 bits, or an OpenEXR"
# Widths that are kept in sixteen bits, and how many tones a bit makes.
_NARROWER_BITS: Final = (8, 10, 12)
_TOP_16: Final = 65535
_BITS_PER_SAMPLE: Final = 258  # TIFF 6.0
_PLANAR: Final = 284  # TIFF 6.0: PlanarConfiguration, 2 where each channel lies apart
_PHOTOMETRIC: Final = 262  # TIFF 6.0: PhotometricInterpretation, 0 where white is nought


@dataclass(frozen=True, slots=True)
class JpegSteps:
    """Steps of a JPEG's lowest frequencies (3, 3), of luma and of colour difference, unscaled.

    Source: ISO/IEC 10918-1, annex F: a coefficient is a multiple of its step; the first is eight
    times the mean of a block of 8 × 8 pixels.
    """

    luma: Float64Array
    colour: Float64Array | None


@dataclass(frozen=True, slots=True)
class StillPixels:
    """A file's values (h, w, 3) as encoded, top row first, turned the right way up.

    bits: how many are in use, None where values are linear light as they are. jpeg: its steps;
    see_through: (h, w) where a picture is not whole; tones: how many a palette has.
    primaries_xy (red, green, blue, white), middle_grey_nit: what an OpenEXR says of itself.
    """

    codes: Codes
    bits: int | None
    jpeg: JpegSteps | None = None
    see_through: BoolArray | None = None
    tones: int | None = None
    primaries_xy: tuple[tuple[float, float], ...] | None = None
    middle_grey_nit: float | None = None
    findings: tuple[Finding, ...] = ()


def still_bytes(source: str | Path | bytes) -> tuple[bytes, str]:
    """A still's bytes, and what it is called; FalloffError where it cannot be opened."""
    if isinstance(source, bytes):
        return source, "the still"
    path = Path(source)
    try:
        size = path.stat().st_size
        data = path.read_bytes() if size <= _LARGEST_BYTES else b""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refused(str(path), "the still cannot be opened", found=reason) from error
    if size > _LARGEST_BYTES:
        found = f"{size / 1e6:.0f} MB"
        raise refused(str(path), "the file is too large", found=found, expected="at most 1000 MB")
    return data, str(path)


def read_pixels(data: bytes, name: str) -> StillPixels:
    """The pixels of a JPEG, PNG or TIFF. Raises FalloffError with the reason for any other."""
    image = _opened(data, name)
    _check_kind(image, name)
    try:
        return _pixels(image, data)
    except FalloffError:
        raise
    except Exception as error:  # a damaged file may fail anywhere in its decoder
        raise refused(
            name,
            "the picture is damaged or cut short",
            found=str(error)[:120] or type(error).__name__,
            fix="copy or export it again",
        ) from error


def refused(
    where: str, what: str, *, expected: str = "", found: str = "", fix: str = ""
) -> FalloffError:
    """The error of a still that cannot be read."""
    return FalloffError(Fault(what, where, expected, found, fix))


def check_size(width: int, height: int, name: str) -> None:
    """FalloffError for a picture of more pixels than are read."""
    if width * height > LARGEST_PIXELS:
        raise refused(
            name,
            "the picture has too many pixels",
            expected=f"at most {LARGEST_PIXELS // 10**6} million",
            found=f"{width} × {height}",
            fix="export it smaller: stops are read from places, not from detail",
        )


def _opened(data: bytes, name: str) -> Image:
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what is told of damaged notes in a file is not ours
        try:
            image = Image.open(io.BytesIO(data), formats=_FORMATS)
        except Image.DecompressionBombError as error:
            raise refused(
                name,
                "the picture has too many pixels",
                expected=f"at most {LARGEST_PIXELS // 10**6} million",
                fix="export it smaller: stops are read from places, not from detail",
            ) from error
        except Exception as error:  # as above
            found = "an empty file" if not data else _begins(data)
            fix = "export the still as one of these"
            what = "this is no picture that can be read"
            raise refused(name, what, expected=_READ_AS, found=found, fix=fix) from error
    check_size(*image.size, name)
    return image


def _begins(data: bytes) -> str:
    """What bytes look like, for whoever sent the wrong file."""
    head = data[:24]
    if all(32 <= byte < 127 or byte in b"\r\n\t" for byte in head):
        return f"text that begins {head.decode('ascii').split()[:3]}"
    return f"bytes that begin {head[:8].hex(' ')}"


_INKS: Final = {
    "CMYK": "the picture is in printing inks, which say nothing of light",
    "1": "the picture has black and white only, and no tones between",
    "LAB": "the picture is in CIE L*a*b*, not in red, green and blue",
    "F": "the picture is a TIFF of floating-point numbers",
    "I": "the picture is a TIFF of 32-bit or signed whole numbers",
}


def _check_kind(image: Image, name: str) -> None:
    if image.mode in _INKS:
        fix = "export it as OpenEXR" if image.mode == "F" else "export it as RGB, with its curve"
        raise refused(name, _INKS[image.mode], expected="RGB or grey", found=image.mode, fix=fix)
    tags = getattr(image, "tag_v2", {})
    deep = max(tags.get(_BITS_PER_SAMPLE, (8,))) > 8
    if deep and tags.get(_PLANAR) == 2:
        what = "this TIFF of 16 bits keeps each channel apart, which cannot be read"
        raise refused(name, what, fix="export it with its channels interleaved, or as PNG")
    if deep and tags.get(_PHOTOMETRIC) == 0:
        what = "this TIFF of 16 bits has nought as white, which cannot be read"
        raise refused(name, what, fix="export it with nought as black, or as PNG")


def _raw_mode(image: Image) -> str:
    """How the decoder was told that the file keeps its values."""
    tiles = getattr(image, "tile", None)
    args = tiles[0].args if tiles else ""
    return str(args[0] if isinstance(args, tuple) and args else args)


def _is_deep(image: Image) -> bool:
    return ";16" in _raw_mode(image) or image.mode.startswith("I;16")


def _pixels(image: Image, data: bytes) -> StillPixels:
    findings = _told_of(image)
    jpeg = _jpeg_steps(image)
    if image.mode.startswith("I;16"):
        values = np.asarray(_upright(image, findings)).astype(np.uint16)
        codes, bits = bits_in_use(values)
        grey = np.broadcast_to(codes[..., np.newaxis], (*codes.shape, 3))
        return StillPixels(grey, bits, findings=tuple(findings))
    if _is_deep(image) and (raw := _raw_mode(image)).startswith(("RGB;", "RGBA;", "RGBX;")):
        upper = np.asarray(_upright(image, findings))
        lower = np.asarray(_upright(_lower_bytes(data, raw), []))
        whole = upper.astype(np.uint16) << 8 | lower
        codes, bits = bits_in_use(whole[..., :3])
        clear = whole[..., 3] < _TOP_16 if whole.shape[2] == 4 else None
        return StillPixels(codes, bits, see_through=_any(clear), findings=tuple(findings))
    if _is_deep(image):
        findings.append(
            still_note("its 16 bits are read as 8", "export it as RGB for the finer steps")
        )
    see_through = image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info
    palette = image.mode in {"P", "PA"}
    upright = _upright(image, findings)
    tones = len(upright.getcolors(1 << 24) or ()) if palette else None
    codes = np.asarray(upright.convert("RGBA" if see_through else "RGB"))
    if tones is not None:
        says = f"the picture is on a palette of {tones} colours: fine differences are not in it"
        findings.append(still_note(says, "use the picture before it was put on a palette"))
    clear = codes[..., 3] < 255 if see_through else None
    return StillPixels(codes[..., :3], 8, jpeg, _any(clear), tones, findings=tuple(findings))


def _any(clear: BoolArray | None) -> BoolArray | None:
    return clear if clear is not None and clear.any() else None


def _lower_bytes(data: bytes, raw: str) -> Image:
    """The picture decoded as if its numbers were written the other way round: their lower bytes."""
    from PIL import Image

    native = "B" if sys.byteorder == "little" else "L"
    other = raw[:-1] + {"B": "L", "L": "B", "N": native}[raw[-1]]
    image = Image.open(io.BytesIO(data), formats=_FORMATS)
    image.tile = [
        tile._replace(args=(other, *tile.args[1:]) if isinstance(tile.args, tuple) else other)
        for tile in image.tile
    ]
    return image


def _upright(image: Image, findings: list[Finding]) -> Image:
    """The picture the way up that its camera noted (Exif 2.3, tag Orientation)."""
    from PIL import ImageOps

    image.load()
    try:
        return ImageOps.exif_transpose(image)
    except Exception:  # noqa: BLE001 - the note is damaged, the picture is not
        findings.append(
            still_note(
                "its note of which way up it was held cannot be read", "look whether it is so"
            )
        )
        return image


def bits_in_use(codes: NDArray[np.uint16]) -> tuple[NDArray[np.uint16], int]:
    """Values as their own width of bits, and that width: 8, 10 or 12 are often kept in sixteen.

    A narrower width is found where every value is one of it, moved up, repeated or spread.
    """
    seen = np.zeros(_TOP_16 + 1, dtype=bool)
    for row in codes:  # by rows: an index of the whole picture would be four times its size
        seen[row] = True
    found = np.flatnonzero(seen)
    for bits in _NARROWER_BITS:
        moved = 16 - bits
        upper, top = found >> moved, (1 << bits) - 1
        spread = np.rint(found * top / _TOP_16).astype(np.int64)
        if (upper << moved == found).all() or (
            upper << moved | upper >> max(0, 2 * bits - 16) == found
        ).all():
            return codes >> np.uint16(moved), bits
        if (np.rint(spread * _TOP_16 / top) == found).all():
            narrower = np.rint(np.arange(_TOP_16 + 1) * (top / _TOP_16)).astype(np.uint16)
            return narrower[codes], bits
    return codes, 16


def _jpeg_steps(image: Image) -> JpegSteps | None:
    tables = getattr(image, "quantization", None)
    if not tables:
        return None
    parts = getattr(image, "layer", None) or [(1, 1, 1, min(tables))]
    steps = [
        np.asarray(tables[part[3] if part[3] in tables else min(tables)], dtype=np.float64)
        .reshape(8, 8)[:3, :3]
        .copy()
        for part in parts[:2]
    ]
    return JpegSteps(steps[0], steps[1] if len(steps) > 1 else None)


def _told_of(image: Image) -> list[Finding]:
    """What a file carries that is not used, and must be said."""
    findings = []
    if image.info.get("icc_profile"):
        called = _profile_name(image.info["icc_profile"])
        findings.append(
            still_note(
                f"the file carries a colour profile{called}; it was not used: the curve and the "
                "primaries are those that were stated",
                "state the curve and primaries that the profile stands for",
            )
        )
    if getattr(image, "n_frames", 1) > 1 and image.format != "MPO":
        findings.append(still_note("the file holds several pictures; the first was read", ""))
    return findings


def _profile_name(profile: bytes) -> str:
    from PIL import ImageCms

    try:
        name = ImageCms.getProfileDescription(io.BytesIO(profile))
    except Exception:  # noqa: BLE001 - a damaged profile is only not named
        return ""
    shown = " ".join(name.split())[:60]
    return f" ({shown})" if shown else ""


def still_note(says: str, do: str) -> Finding:
    """A note about the still: what is assumed or lost, and what one may do."""
    return Finding(weight=Weight.NOTE, about="the still", says=says, do=do)
