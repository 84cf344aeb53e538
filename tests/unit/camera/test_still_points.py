"""Places of stills: what they read, and that the stated error is as large as the error is.

The stills are made by colour-science's encoding from known light, with grain and steps put on here;
the file is written by a general library. Nothing of the project's own picture is in them.
"""

from __future__ import annotations

import io
import math
import warnings
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from PIL import Image

from falloff.camera import (
    CameraSettings,
    Still,
    StillPoint,
    develop,
    encoded_of_stops,
    mid_grey_luminance_nit,
    read_still,
    sample_still,
    still_curve,
    still_difference,
    view_curve,
)
from falloff.errors import FalloffError

from .made_stills import png16

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

SIDE = 48  # pixels of a patch


def encoded(light: NDArray[np.float64], curve: str) -> NDArray[np.float64]:
    """Light, white as 1, as a still on this curve has it, by colour-science."""
    by: dict[str, Any] = {
        "srgb": lambda x: colour.eotf_inverse(x, "sRGB"),
        "bt709": lambda x: colour.oetf(x, "ITU-R BT.709"),
        "bt1886": lambda x: colour.eotf_inverse(x, "ITU-R BT.1886"),
        "hlg": lambda x: colour.oetf(x * 0.26496256, "ITU-R BT.2100 HLG"),
    }
    with np.errstate(invalid="ignore"):  # both branches are worked out, one is taken
        return np.asarray(by[curve](np.clip(light, 0.0, None)))


def file_of(values: NDArray[np.float64], kind: str = "PNG", **options: Any) -> bytes:
    """Encoded values as a file of 8 bits."""
    file = io.BytesIO()
    rounded = np.rint(255.0 * np.clip(values, 0.0, 1.0)).astype(np.uint8)
    Image.fromarray(rounded).save(file, kind, **options)
    return file.getvalue()


def two_patches(
    rng: np.random.Generator, curve: str, *, grain: float
) -> tuple[NDArray[np.float64], float]:
    """Two patches of skin-like colours with grain of light (root of it), and their true stops."""
    levels = 0.18 * 2.0 ** rng.uniform(-3.0, 1.6, 2)
    hues = 1.0 + rng.uniform(-0.3, 0.3, (2, 3))
    weights = colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_RGB_to_XYZ[1]
    hues /= (hues @ weights)[:, None]
    light = np.repeat(np.repeat((levels[:, None] * hues)[None], SIDE, axis=1), SIDE, axis=0)
    noisy = light + grain * np.sqrt(light) * rng.normal(size=light.shape)
    return encoded(noisy, curve), math.log2(levels[0] / levels[1])


def difference(still: Still, across_share: float) -> Any:
    both = sample_still(still, {"a": (0.25, 0.5), "b": (0.75, 0.5)}, across_share=across_share)
    return still_difference(*both)


@pytest.mark.parametrize(
    ("curve", "grain", "quality", "across_share"),
    [
        ("srgb", 0.01, None, 0.25),
        ("srgb", 0.0, None, 0.25),
        ("bt709", 0.02, None, 0.1),
        ("bt1886", 0.005, None, 0.06),
        ("srgb", 0.01, 90, 0.25),
        ("srgb", 0.005, 60, 0.25),
        ("srgb", 0.02, 75, 0.06),
    ],
)
def test_the_stated_error_covers_the_true_difference(
    curve: str, grain: float, quality: int | None, across_share: float
) -> None:
    """200 draws: nineteen of twenty lie within, and the error is not a barn door either."""
    rng = np.random.default_rng(20)
    errors, stated = [], []
    for _ in range(200):
        values, true = two_patches(rng, curve, grain=grain)
        options = {} if quality is None else {"quality": quality}
        data = file_of(values, "PNG" if quality is None else "JPEG", **options)
        told = difference(read_still(data, curve, graded=False), across_share)
        assert told.limit == "equal"
        errors.append(abs(told.stops - true))
        stated.append(told.error_stops)
    covered = np.mean(np.array(errors) <= np.array(stated))
    # 200 draws of 0.95 fall under 0.91 once in a hundred (binomial, pencil)
    assert covered >= 0.91, covered
    # half of the errors are more than a fifteenth of what is stated
    assert np.median(np.array(errors) / np.array(stated)) > 1.0 / 15.0
    assert np.median(stated) < 0.25


def test_hlg_is_the_camera_s_own_light() -> None:
    rng = np.random.default_rng(3)
    values, true = two_patches(rng, "hlg", grain=0.0)
    ten = np.rint(1023 * values).astype(np.uint16) << np.uint16(6)
    still = read_still(png16(ten), "hlg", primaries="bt709", graded=False)
    assert still.bits == 10
    told = difference(still, 0.2)
    assert abs(told.stops - true) <= told.error_stops < 0.03


@pytest.mark.parametrize(("highlight", "shadow"), [(6, 6), (5, 6), (6, 8)])
def test_the_look_s_error_takes_in_our_own_view_curve(highlight: float, shadow: float) -> None:
    """A still on a look, read as bare sRGB: the scene's stops lie within the stated error."""
    settings = CameraSettings(2.8, 800, 1 / 48, highlight_stops=highlight, shadow_stops=shadow)
    stops = np.arange(-5.0, highlight - 0.4, 0.5)
    values = encoded_of_stops(stops, view_curve(settings))
    still = read_still(strip(values), "srgb")
    points = sample_still(still, places(len(stops)))
    grey = next(p for p, s in zip(points, stops, strict=True) if s == 0.0)
    for point, true in zip(points, stops, strict=True):
        told = still_difference(point, grey)
        assert abs(told.stops - true) <= told.error_stops + 0.02, (true, told)


def test_the_look_s_error_takes_in_a_camera_s_curve_read_as_a_display_s() -> None:
    """source: ITU-R BT.709-6 OETF shown by BT.1886, which is steeper than the scene."""
    stops = np.arange(-3.0, 2.4, 0.5)
    still = read_still(strip(encoded(0.18 * 2.0**stops, "bt709")), "bt1886")
    points = sample_still(still, places(len(stops)))
    grey = next(p for p, s in zip(points, stops, strict=True) if s == 0.0)
    for point, true in zip(points, stops, strict=True):
        told = still_difference(point, grey)
        assert abs(told.stops - true) <= told.error_stops + 0.02, (true, told)


def test_the_look_s_error_grows_towards_white_and_black() -> None:
    still = read_still(strip(np.array([0.03, 0.2, 0.46, 0.75, 0.97])), "srgb")
    black, low, grey, high, white = sample_still(still, places(5))
    per_stop = [
        still_difference(a, b).error_stops / abs(still_difference(a, b).stops)
        for a, b in ((black, low), (low, grey), (grey, high), (high, white))
    ]
    assert per_stop[0] > per_stop[1]
    assert per_stop[3] > 3 * per_stop[2]
    assert still_difference(low, low).error_stops < 0.05  # alike: the look is in both


def test_a_clipped_place_of_a_graded_still_is_a_useful_bound() -> None:
    """A look's shoulder hides light, never adds any: the bound errs by the middle's slope alone."""
    still = read_still(strip(np.array([0.46, 1.0])), "srgb")
    grey, white = sample_still(still, places(2))
    told = still_difference(white, grey)
    assert told.limit == "at least"
    assert_allclose(told.stops, 2.48, atol=0.02)  # pencil: log2(1/0.179)
    assert_allclose(told.error_stops, 0.3 * 2.48, atol=0.02)  # our own figure, 0.3 a stop


def strip(values: NDArray[np.float64]) -> bytes:
    """Flat grey patches side by side."""
    row = np.repeat(values, 32)
    return file_of(np.repeat(np.tile(row, (32, 1))[..., None], 3, axis=2))


def places(count: int) -> dict[str, tuple[float, float]]:
    return {str(n): ((n + 0.5) / count, 0.5) for n in range(count)}


# Ends of the range -----------------------------------------------------------------------


def ends() -> list[StillPoint]:
    values = np.full((40, 160, 3), 0.0)
    values[:, 40:80], values[:, 80:120], values[:, 120:] = 0.5, 1.0, [1.0, 0.6, 0.4]
    still = read_still(file_of(values), "srgb", graded=False)
    return list(sample_still(still, places(4)))


def test_clipped_and_crushed_places_are_bounds() -> None:
    black, grey, white, warm = ends()
    assert [p.limit for p in (black, grey, white, warm)] == [
        "at most", "equal", "at least", "at least"
    ]  # fmt: skip
    assert (white.clipped_share, black.crushed_share) == (1.0, 1.0)
    assert "clipped in 100 %" in white.notes[0]
    assert "black in 100 %" in black.notes[0]
    assert math.isfinite(black.stops_over_grey)
    # pencil: half a step of 255 is 0.5/255/12.92 of white, 10.2 stops under 18 %
    assert_allclose(black.stops_over_grey, -10.2, atol=0.05)


def test_differences_of_bounds_are_bounds_or_nothing() -> None:
    black, grey, white, _ = ends()
    assert still_difference(white, grey).limit == "at least"
    assert still_difference(grey, white).limit == "at most"
    assert still_difference(black, grey).limit == "at most"
    assert still_difference(grey, black).limit == "at least"
    assert still_difference(white, black).limit == "at least"
    assert still_difference(white, white).limit is None


def test_a_jpeg_s_white_is_white_a_step_below() -> None:
    values = np.full((64, 64, 3), 254.0 / 255.0)
    data = file_of(values, "JPEG", quality=80)
    (point,) = sample_still(read_still(data, "srgb"), {"a": (0.5, 0.5)}, across_share=0.5)
    assert point.limit == "at least"


def test_a_limit_below_white_is_suspected() -> None:
    rng = np.random.default_rng(1)
    values = 0.3 + 0.02 * rng.normal(size=(60, 60, 3))
    values[:20, :20] = 0.92
    still = read_still(file_of(values), "srgb")
    light, dark = sample_still(still, {"a": (0.1, 0.1), "b": (0.7, 0.7)}, across_share=0.1)
    assert any("may have been clipped" in note for note in light.notes)
    assert dark.notes == ()


def test_an_edge_is_told() -> None:
    values = np.full((40, 80, 3), 0.2)
    values[:, 40:] = 0.8
    still = read_still(file_of(values), "srgb")
    across, within = sample_still(still, {"a": (0.5, 0.5), "b": (0.8, 0.5)}, across_share=0.2)
    assert any("across an edge" in note for note in across.notes)
    assert across.error_stops > 1.0
    assert within.errors.spread_stops == 0.0


def test_the_disc_is_averaged_in_light_not_in_code() -> None:
    """pencil: half 0.04 and half 0.64 of light are 0.34; the mean of their codes is 0.26."""
    values = np.zeros((64, 64, 3))
    values[::2] = colour.eotf_inverse(0.04, "sRGB")
    values[1::2] = colour.eotf_inverse(0.64, "sRGB")
    still = read_still(file_of(values), "srgb")
    (point,) = sample_still(still, {"a": (0.5, 0.5)}, across_share=0.4)
    assert_allclose(point.luminance, 0.34, rtol=0.02)


def test_a_place_by_shares_is_the_place_by_pixels() -> None:
    rng = np.random.default_rng(9)
    still = read_still(file_of(rng.random((30, 50, 3))), "srgb")
    by_share = sample_still(still, {"a": (0.25, 0.55)}, across_share=0.2)
    by_pixel = sample_still(still, {"a": (12, 16)}, across_share=0.2, in_pixels=True)
    assert by_share == by_pixel  # pencil: 0.25 · 50 = 12.5, 0.55 · 30 = 16.5, middles of pixels
    (corner,) = sample_still(still, {"a": (49, 29)}, across_share=0.0, in_pixels=True)
    assert corner.pixels == 1


def test_places_outside_are_all_told() -> None:
    still = read_still(file_of(np.full((4, 4, 3), 0.5)), "srgb")
    with pytest.raises(FalloffError) as caught:
        sample_still(still, {"a": (1.2, 0.5), "b": (0.5, 0.5), "c": (0.5, math.nan)})
    assert [fault.where for fault in caught.value.faults] == ["a", "c"]
    with pytest.raises(FalloffError, match="0 to 3 across"):
        sample_still(still, {"a": (4, 0)}, in_pixels=True)
    with pytest.raises(FalloffError, match="within the picture"):
        sample_still(still, {"a": (0.5, 0.5)}, across_share=math.nan)


def test_chroma_is_that_of_colour_science() -> None:
    rgb = np.array([0.35, 0.2, 0.12])
    values = np.full((8, 8, 3), 1.0) * colour.eotf_inverse(rgb, "sRGB")
    (point,) = sample_still(read_still(file_of(values), "srgb"), {"a": (0.5, 0.5)})
    xyz = colour.RGB_COLOURSPACES["ITU-R BT.709"].matrix_RGB_to_XYZ @ rgb
    uv = colour.Luv_to_uv(colour.XYZ_to_Luv(xyz))
    assert point.uv is not None
    assert_allclose(point.uv, uv, atol=2e-3)


def test_our_own_picture_reads_as_the_stops_it_was_made_of() -> None:
    """The view curve read backwards: coloured light under a warm balance, eight bits."""
    settings = CameraSettings(2.8, 800, 1 / 48, balance_kelvin=3200)
    grey = mid_grey_luminance_nit(settings)
    stops = np.arange(-4.0, 4.1, 1.0)
    colours = np.array([1.25, 0.95, 0.5])  # warm
    colours /= colours @ (0.2627, 0.6780, 0.0593)
    light = grey * 2.0 ** stops[:, None] * colours
    picture = np.repeat(np.repeat(light[None], 32, axis=0), 32, axis=1).astype(np.float32)
    file = io.BytesIO()
    Image.fromarray(develop(picture, settings)).save(file, "PNG")
    still = read_still(file.getvalue(), still_curve("picture", settings=settings))
    for point, true in zip(sample_still(still, places(len(stops))), stops, strict=True):
        assert abs(point.stops_over_grey - true) <= point.error_stops + 0.01
        assert point.error_stops < 0.25
