"""Stills as they come: every kind of file is read or refused in words, none ends the program."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from PIL import Image

from falloff.camera import CameraSettings, read_still, sample_still, write_exr
from falloff.camera.still_file import bits_in_use
from falloff.errors import FalloffError

from .made_stills import png16, tiff16

RNG = np.random.default_rng(11)
NOISE_16 = RNG.integers(0, 65536, (9, 14, 4)).astype(np.uint16)


def saved(image: Image.Image, kind: str, **options: Any) -> bytes:
    file = io.BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def picture(height: int = 12, width: int = 20) -> Image.Image:
    return Image.fromarray(RNG.integers(0, 256, (height, width, 3)).astype(np.uint8))


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_eight_bits_come_as_they_are(kind: str, tmp_path: Path) -> None:
    image = picture()
    path = tmp_path / "still.dat"  # what it holds decides, not its name
    path.write_bytes(saved(image, kind))
    for still in (read_still(path, "srgb"), read_still(path.read_bytes(), "srgb")):
        assert (still.width_px, still.height_px, still.bits) == (20, 12, 8)
        assert_array_equal(still.codes, np.asarray(image))


@pytest.mark.parametrize(
    "data",
    [
        png16(NOISE_16[..., :3]),
        png16(NOISE_16),
        tiff16(NOISE_16[..., :3]),
        tiff16(NOISE_16[..., :3], order=">"),
        tiff16(NOISE_16[..., :3], deflate=True),
        tiff16(NOISE_16[..., :3], order=">", deflate=True),
    ],
    ids=["png", "png alpha", "tiff", "tiff big-endian", "deflated", "deflated big-endian"],
)
def test_sixteen_bits_keep_their_lower_bytes(data: bytes) -> None:
    """pencil: random numbers of sixteen bits, written byte by byte, come back one and all."""
    still = read_still(data, "linear")
    assert still.bits == 16
    assert_array_equal(still.codes, NOISE_16[..., :3])


def test_sixteen_bits_of_grey() -> None:
    for data in (png16(NOISE_16[..., :1]), tiff16(NOISE_16[..., :1], order=">")):
        still = read_still(data, "linear")
        assert_array_equal(still.codes[..., 1], NOISE_16[..., 0])


def test_grey_with_alpha_of_sixteen_bits_is_read_as_eight_and_says_so() -> None:
    still = read_still(png16(NOISE_16[..., :2]), "linear")
    assert still.bits == 8
    assert_array_equal(still.codes[..., 0], NOISE_16[..., 0] >> 8)
    assert any("16 bits are read as 8" in one.says for one in still.findings)


@pytest.mark.parametrize(("bits", "how"), [(b, h) for b in (8, 10, 12) for h in "msr"])
def test_fewer_bits_in_sixteen_are_found(bits: int, how: str) -> None:
    """pencil: moved up, spread over the range, or repeated below themselves."""
    values = np.arange(1 << bits).reshape(2, -1)
    top = (1 << bits) - 1
    kept = {
        "m": values << (16 - bits),
        "s": np.rint(values * 65535 / top).astype(np.int64),
        "r": values << (16 - bits) | values >> (2 * bits - 16),
    }[how]
    codes, found = bits_in_use(kept.astype(np.uint16))
    assert found == bits
    assert_array_equal(codes, values)


def test_narrow_range_has_black_and_white_where_the_standard_has_them() -> None:
    """source: ITU-R BT.709-6, item 3.4 (8 bits: 16, 235; 10 bits: 64, 940; grey 106 and 422)."""
    eight = np.array([[[16] * 3, [106] * 3, [235] * 3]], dtype=np.uint8)
    ten = (np.array([[[64] * 3, [422] * 3, [940] * 3]]) << 6).astype(np.uint16)
    for data in (saved(Image.fromarray(eight), "PNG"), png16(ten)):
        still = read_still(data, "bt709", narrow=True)
        light = still.curve.decode(still.signals(slice(0, 1), slice(0, 3)))
        assert_allclose(light[0, :, 1], [0.0, 0.18, 1.0], atol=1.6e-3)  # half of 1/219


@pytest.mark.parametrize("kind", ["JPEG", "TIFF", "PNG"])
def test_a_picture_held_sideways_is_turned(kind: str) -> None:
    """source: Exif 2.3, Orientation 6: the first row is the right side, so turn it clockwise."""
    values = np.full((24, 40, 3), 30, dtype=np.uint8)
    values[:8, :8] = 220  # top left as kept; top right as meant
    exif = Image.Exif()
    exif[0x0112] = 6
    still = read_still(saved(Image.fromarray(values), kind, exif=exif), "srgb")
    assert (still.width_px, still.height_px) == (24, 40)
    assert still.codes[2, -3, 0] > 200
    assert still.codes[2, 2, 0] < 60


def test_sixteen_bits_held_sideways_are_turned() -> None:
    still = read_still(tiff16(NOISE_16[..., :3], tags={274: 6}), "linear")
    assert_array_equal(still.codes, np.rot90(NOISE_16[..., :3], k=-1))


def test_a_palette_says_so_and_errs_by_its_own_steps() -> None:
    grey = Image.fromarray(np.tile(np.linspace(40, 200, 64).astype(np.uint8), (16, 1)))
    few = grey.convert("RGB").quantize(8)
    still = read_still(saved(few, "PNG"), "srgb", graded=False)
    assert still.tones == 8
    assert any("palette of 8 colours" in one.says for one in still.findings)
    (coarse,) = sample_still(still, {"a": (0.5, 0.5)}, across_share=0.02)
    (fine,) = sample_still(
        read_still(saved(grey, "PNG"), "srgb", graded=False), {"a": (0.5, 0.5)}, across_share=0.02
    )
    assert coarse.errors.quantisation_stops > 5 * fine.errors.quantisation_stops


def test_alpha_is_told_where_it_is() -> None:
    values = np.full((10, 10, 4), 255, dtype=np.uint8)
    values[:, :5, 3] = 128
    still = read_still(saved(Image.fromarray(values), "PNG"), "srgb")
    left, right = sample_still(still, {"left": (0.1, 0.5), "right": (0.9, 0.5)})
    assert any("see-through" in note for note in left.notes)
    assert not any("see-through" in note for note in right.notes)


def test_a_colour_profile_is_named_and_not_used() -> None:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    still = read_still(saved(picture(), "PNG", icc_profile=profile), "srgb")
    assert any("colour profile (sRGB" in one.says for one in still.findings)
    still = read_still(saved(picture(), "PNG", icc_profile=b"damaged"), "srgb")
    assert any("carries a colour profile; it was not" in one.says for one in still.findings)


def test_one_pixel_is_a_picture() -> None:
    still = read_still(saved(Image.new("RGB", (1, 1), (118, 118, 118)), "PNG"), "srgb")
    (point,) = sample_still(still, {"grey": (1.0, 1.0)})
    assert point.pixels == 1
    assert abs(point.stops_over_grey) < 0.02  # pencil: 118 of 255 is 18.1 %
    assert any("one pixel" in note for note in point.notes)


def test_an_open_exr_is_linear_light_with_its_own_grey(tmp_path: Path) -> None:
    """pencil: 2^n times the middle grey that its header tells reads as n stops over."""
    settings = CameraSettings(2.8, 800, 1 / 48)
    from falloff.camera import mid_grey_luminance_nit

    grey = mid_grey_luminance_nit(settings)
    light = np.full((8, 30, 3), grey, dtype=np.float32)
    light[:, 10:20] *= 8.0
    light[:, 20:] *= 0.25
    still = read_still(write_exr(tmp_path / "a.exr", {"ALL": light}, settings=settings))
    points = sample_still(still, {"a": (0.1, 0.5), "b": (0.5, 0.5), "c": (0.9, 0.5)})
    assert_allclose([point.stops_over_grey for point in points], [0.0, 3.0, -2.0], atol=1e-3)
    assert all(point.error_stops < 0.01 for point in points)
    again = read_still((tmp_path / "a.exr").read_bytes())
    assert_array_equal(again.codes, still.codes)


def test_an_open_exr_of_other_primaries_and_makers(tmp_path: Path) -> None:
    """source: SMPTE ST 2065-1's primaries, whose blue lies below y = 0; Y as colour-science has."""
    import OpenEXR

    values = np.array([[[0.1, 0.2, 0.3]]], dtype=np.float32)
    path = tmp_path / "aces.exr"
    primaries = (0.7347, 0.2653, 0.0, 1.0, 0.0001, -0.077, 0.32168, 0.33767)
    with OpenEXR.File({"chromaticities": primaries}, {"RGB": values}) as file:
        file.write(str(path))
    (point,) = sample_still(read_still(path), {"a": (0.5, 0.5)})
    # 0.3439664·R + 0.7281661·G − 0.0721325·B, the standard's own weights
    assert_allclose(point.luminance, 0.03439664 + 0.14563322 - 0.02163975, rtol=1e-4)


def test_numbers_that_are_none_and_light_without_end(tmp_path: Path) -> None:
    light = np.ones((4, 12, 3), dtype=np.float32)
    light[:, :4], light[:, 8:] = np.nan, np.inf
    import OpenEXR

    path = tmp_path / "odd.exr"
    with OpenEXR.File({}, {"RGB": light}) as file:
        file.write(str(path))
    still = read_still(path)
    low, middle, high = sample_still(
        still, {"a": (0.1, 0.5), "b": (0.5, 0.5), "c": (0.9, 0.5)}, across_share=0.1
    )
    assert (low.limit, middle.limit, high.limit) == ("at most", "equal", "at least")
    assert any("no numbers" in one.says for one in still.findings)


REFUSED: dict[str, tuple[bytes, str]] = {
    "cmyk": (saved(Image.new("CMYK", (9, 9)), "JPEG"), "printing inks"),
    "black and white": (saved(Image.new("1", (9, 9)), "PNG"), "no tones between"),
    "float tiff": (saved(Image.new("F", (9, 9)), "TIFF"), "export it as OpenEXR"),
    "text": (b"this is no picture, it is a letter", "text that begins"),
    "empty": (b"", "an empty file"),
    "half a jpeg": (saved(picture(200, 200), "JPEG")[:3000], "damaged or cut short"),
    "half a png": (saved(picture(200, 200), "PNG")[:3000], "damaged or cut short"),
    "half a 16-bit png": (png16(NOISE_16[..., :3])[:300], "damaged or cut short"),
    "half a tiff": (tiff16(NOISE_16[..., :3])[:300], "damaged or cut short"),
    "no exr": (b"\x76\x2f\x31\x01" + b"abc" * 40, "damaged or cut short"),
    "planar": (tiff16(NOISE_16[..., :3], tags={284: 2}), "interleaved"),
    "white as nought": (tiff16(NOISE_16[..., :1], tags={262: 0}), "nought as black"),
    "gif": (saved(picture().quantize(16), "GIF"), "a JPEG, a PNG"),
}


@pytest.mark.parametrize("kind", REFUSED)
def test_what_cannot_be_read_is_refused_in_words(kind: str, tmp_path: Path) -> None:
    data, words = REFUSED[kind]
    path = tmp_path / "still.jpg"
    path.write_bytes(data)
    for source in (path, data):
        with pytest.raises(FalloffError) as caught:
            read_still(source)
        assert words in str(caught.value)
    assert str(path) in caught.value.faults[0].where or caught.value.faults[0].where == "the still"


def test_half_an_open_exr_is_refused(tmp_path: Path) -> None:
    noise = RNG.random((64, 64, 3)).astype(np.float32)
    path = write_exr(tmp_path / "a.exr", {"ALL": noise})
    path.write_bytes(path.read_bytes()[:20_000])
    with pytest.raises(FalloffError, match="damaged or cut short"):
        read_still(path)


def test_an_open_exr_without_a_picture_is_refused(tmp_path: Path) -> None:
    import OpenEXR

    path = tmp_path / "depth.exr"
    with OpenEXR.File({}, {"Z": np.ones((4, 4), dtype=np.float32)}) as file:
        file.write(str(path))
    with pytest.raises(FalloffError, match="no picture of its own"):
        read_still(path)


@pytest.mark.parametrize("size", [(20_000, 4_000), (60_000, 60_000)])
def test_a_huge_picture_is_refused_before_it_is_unpacked(size: tuple[int, int]) -> None:
    """pencil: a PNG's head alone tells its size; 80 and 3600 million are more than 64."""
    data = bytearray(png16(NOISE_16[..., :3]))
    data[16:24] = b"".join(side.to_bytes(4, "big") for side in size)
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    with pytest.raises(FalloffError, match=r"too many pixels .*at most 64 million"):
        read_still(bytes(data))


def test_a_path_that_leads_nowhere(tmp_path: Path) -> None:
    for path in (tmp_path / "none.png", tmp_path):
        with pytest.raises(FalloffError, match="cannot be opened"):
            read_still(path)


def test_what_is_stated_wrongly_is_told_at_once(tmp_path: Path) -> None:
    path = write_exr(tmp_path / "a.exr", {"ALL": np.ones((2, 2, 3), dtype=np.float32)})
    with pytest.raises(FalloffError) as caught:
        read_still(path, "srgb", primaries="wide")
    assert len(caught.value.faults) == 2


@pytest.mark.parametrize("seed", range(3))
def test_damaged_files_are_read_or_refused(seed: int) -> None:
    """Bytes changed at random: words or a picture, nothing else."""
    rng = np.random.default_rng(seed)
    good = [
        saved(picture(), "PNG"),
        saved(picture(), "JPEG"),
        saved(picture(), "TIFF"),
        saved(picture().quantize(32), "PNG"),
        png16(NOISE_16),
        tiff16(NOISE_16[..., :3], deflate=True),
    ]
    read = 0
    for data in good:
        for _ in range(60):
            bad = np.frombuffer(data, dtype=np.uint8).copy()
            at = rng.integers(0, min(len(bad), 400), rng.integers(1, 6))
            bad[at] = rng.integers(0, 256, len(at))
            try:
                still = read_still(bad.tobytes())
            except FalloffError:
                continue
            sample_still(still, {"a": (0.5, 0.5), "b": (1.0, 1.0)})
            read += 1
    assert read > 20
