"""OpenEXR and PNG: what is written is read back, and a failure leaves nothing behind."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import (
    CameraSettings,
    describe_settings,
    mid_grey_luminance_nit,
    write_exr,
    write_png,
)
from falloff.errors import FalloffError, OutputError
from falloff.types import Float32Array

SETTINGS = CameraSettings(2.8, 800, 1 / 48, nd_stops=1.0)


def layers() -> dict[str, Float32Array]:
    """Two small layers, one with a lamp in shot."""
    rng = np.random.default_rng(3)
    key, window = (rng.random((6, 9, 3), dtype=np.float32) for _ in range(2))
    key[0, 0] = 1e6
    return {"KEY": key, "WINDOW 2": window}


def read_exr(path: Path) -> tuple[dict[str, Any], dict[str, np.ndarray]]:
    """Header and channels, each channel apart."""
    import OpenEXR

    with OpenEXR.File(str(path), separate_channels=True) as file:
        channels = {name: np.array(ch.pixels) for name, ch in file.channels().items()}
        return dict(file.header()), channels


def test_layers_sum_to_the_picture(tmp_path: Path) -> None:
    """pencil: R, G, B are the sum of the layers as dimmed; float32 comes back to the bit."""
    path = write_exr(tmp_path / "shot.exr", layers(), dims={"KEY": 0.5}, settings=SETTINGS)
    _, channels = read_exr(path)
    assert set(channels) == {f"{p}{c}" for p in ("", "KEY.", "WINDOW 2.") for c in "RGB"}
    for index, c in enumerate("RGB"):
        np.testing.assert_array_equal(channels[f"KEY.{c}"], layers()["KEY"][..., index] * 0.5)
        np.testing.assert_array_equal(channels[f"WINDOW 2.{c}"], layers()["WINDOW 2"][..., index])
        assert_allclose(channels[c], channels[f"KEY.{c}"] + channels[f"WINDOW 2.{c}"], rtol=1e-6)


def test_header_tells_the_colour_space_and_the_exposure(tmp_path: Path) -> None:
    """source: ITU-R BT.2020-2 primaries and D65; whiteLuminance 1 makes a unit one cd/m2."""
    import OpenEXR

    path = write_exr(tmp_path / "a.exr", layers(), settings=SETTINGS, comments="wide")
    header, _ = read_exr(path)
    expected = (0.708, 0.292, 0.170, 0.797, 0.131, 0.046, 0.3127, 0.3290)
    assert_allclose(header["chromaticities"], expected, rtol=1e-6)
    assert header["whiteLuminance"] == 1.0
    assert header["compression"] == OpenEXR.ZIP_COMPRESSION
    assert header["comments"] == "wide"
    assert header["exposure"].startswith(describe_settings(SETTINGS))
    assert "meter constant C 250" in header["exposure"]
    assert_allclose(header["middleGreyNit"], mid_grey_luminance_nit(SETTINGS), rtol=1e-6)


def test_half_floats_stay_half_unless_they_overflow(tmp_path: Path) -> None:
    """pencil: 65504 is the greatest half; a dim may carry a layer past it."""
    half = {"A": np.full((2, 2, 3), 40000, np.float16), "B": np.full((2, 2, 3), 2, np.float16)}
    _, channels = read_exr(write_exr(tmp_path / "h.exr", half, dims={"A": 3.0}))
    assert channels["A.R"].dtype == np.float32
    assert channels["B.R"].dtype == np.float16
    assert_allclose(channels["R"], 120002.0, rtol=1e-6)


@pytest.mark.parametrize("name", ["", ".KEY", "KEY.", " KEY", "KEY\n", "K" * 300])
def test_names_that_cannot_be_layers(tmp_path: Path, name: str) -> None:
    """Refused before anything is written."""
    with pytest.raises(OutputError, match="cannot have this name"):
        write_exr(tmp_path / "n.exr", {name: layers()["KEY"]})
    assert list(tmp_path.iterdir()) == []


def test_bad_dims_write_nothing(tmp_path: Path) -> None:
    """An unknown source is as much a fault here as in an exposure."""
    with pytest.raises(FalloffError, match="no layer"):
        write_exr(tmp_path / "n.exr", layers(), dims={"KEYS": 1.0})
    assert list(tmp_path.iterdir()) == []


def test_missing_folder(tmp_path: Path) -> None:
    """The folder is named."""
    with pytest.raises(OutputError, match="no such folder"):
        write_exr(tmp_path / "gone" / "a.exr", layers())
    with pytest.raises(OutputError, match="a folder stands"):
        write_png(tmp_path, np.zeros((2, 2, 3), np.uint8))


def test_a_refusal_of_the_system(tmp_path: Path) -> None:
    """A name longer than any file system takes: the system's own reason is passed on."""
    with pytest.raises(OutputError, match="the file cannot be written"):
        write_png(tmp_path / ("a" * 300 + ".png"), np.zeros((2, 2, 3), np.uint8))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("error", [PermissionError(13, "Permission denied"), RuntimeError("full")])
def test_a_failure_half_way_keeps_the_old_file(tmp_path: Path, error: Exception) -> None:
    """The writer fails after some bytes; the file that stood there is whole, and alone."""
    from falloff.camera.atomic_write import write_whole

    target = tmp_path / "a.exr"
    target.write_bytes(b"old")

    def fail(part: Path) -> None:
        part.write_bytes(b"half of it")
        raise error

    with pytest.raises(OutputError, match=r"a\.exr: the file cannot be written.*(denied|full)"):
        write_whole(target, fail)
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_png_says_srgb_and_what_it_shows(tmp_path: Path) -> None:
    """source: ISO/IEC 15948:2004, 11.3.3.5 (sRGB, intent 0) and 5.6 (it stands before IDAT)."""
    from PIL import Image

    picture = np.random.default_rng(2).integers(0, 256, (5, 7, 3), dtype=np.uint8)
    path = write_png(tmp_path / "p.png", picture, text={"Exposure": "T2.8, C 250, é"})
    with Image.open(path) as image:
        image.load()
        assert image.info["srgb"] == 0
        assert image.info["Exposure"] == "T2.8, C 250, é"
        np.testing.assert_array_equal(np.asarray(image), picture)
    data = path.read_bytes()
    assert data.index(b"sRGB") < data.index(b"IDAT")


def test_png_of_a_drawn_image(tmp_path: Path) -> None:
    """A Pillow image goes the same way, over an older file."""
    from PIL import Image

    target = tmp_path / "p.png"
    target.write_bytes(b"older")
    write_png(target, Image.new("RGB", (4, 3), (9, 8, 7)))
    with Image.open(target) as image:
        assert image.size == (4, 3)
        assert image.getpixel((1, 1)) == (9, 8, 7)
