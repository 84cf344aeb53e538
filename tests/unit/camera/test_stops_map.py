"""The stops map: lines where the light is, numbers apart, tint only where it is due."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings, draw_stops_map, mid_grey_luminance_nit
from falloff.camera.stops_field import level_lines, local_range, smooth_stops, without_specks
from falloff.camera.stops_labels import Box, Sheet, line_mask, place_on_line, place_spots
from falloff.camera.stops_legend import HIGHLIGHTS, MISSED, SHADOWS, Area, hatching, legend_entries
from falloff.camera.stops_text import StopsText, text_size, thirds_text, whole_text
from falloff.errors import FalloffError
from falloff.types import Float32Array, Float64Array

SETTINGS = CameraSettings(2.8, 800, 1 / 48, highlight_stops=6.0, shadow_stops=6.0)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)
HEIGHT, WIDTH = 135, 240


def ramp(low_stops: float, high_stops: float) -> Float64Array:
    """Stops rising evenly from left to right."""
    return np.tile(np.linspace(low_stops, high_stops, WIDTH), (HEIGHT, 1))


def lit(stops: Float64Array) -> Float32Array:
    """A neutral picture at these stops over middle grey."""
    return np.repeat((GREY_NIT * 2.0**stops)[..., np.newaxis], 3, axis=2).astype(np.float32)


def grained(stops: Float64Array, sigma_stops: float) -> Float64Array:
    """The same with sampling noise."""
    return stops + np.random.default_rng(5).normal(0.0, sigma_stops, stops.shape)


def is_grey(picture: np.ndarray) -> np.ndarray:
    """Where the three channels are equal."""
    return np.asarray(np.ptp(picture.astype(int), axis=-1) == 0)


def test_lines_stand_where_the_level_is() -> None:
    """pencil: on a ramp of -3.5 to 3.5 over 239 steps, level n is at column (n + 3.5)·239/7."""
    lines = level_lines(smooth_stops(ramp(-3.5, 3.5), lowest=-9.0), -6, 6)
    assert sorted(line.level for line in lines) == [-3, -2, -1, 0, 1, 2, 3]
    for line in lines:
        assert_allclose(line.points[:, 0], (line.level + 3.5) * 239 / 7, atol=0.3)
        assert_allclose(line.length_px, HEIGHT - 1, rtol=0.01)


def test_grain_does_not_break_or_breed_lines() -> None:
    """pencil: as above with 0.17 stop of noise a pixel; a slope of 0.03 stop a pixel moves a line
    by some pixels, which is what the smoothing must hold down to two.
    """
    lines = level_lines(smooth_stops(grained(ramp(-3.5, 3.5), 0.17), lowest=-9.0), -6, 6)
    assert sorted(line.level for line in lines) == [-3, -2, -1, 0, 1, 2, 3]
    for line in lines:
        offset = line.points[:, 0] - (line.level + 3.5) * 239 / 7
        assert np.sqrt(np.mean(offset**2)) < 2.0


def test_one_hot_pixel_is_no_line() -> None:
    """pencil: the middle of nine values of which one is high is one of the low ones."""
    stops = np.zeros((HEIGHT, WIDTH)) + 0.4
    stops[60, 100] = 12.0
    field = smooth_stops(stops, lowest=-9.0)
    assert_allclose(field, 0.4, atol=1e-9)
    assert level_lines(field, -6, 6) == []


def test_edges_stay_sharp_and_carry_no_bundle() -> None:
    """pencil: a step of four stops crosses four levels within a few pixels, so no line is drawn;
    a step over one level is one line.
    """
    step = np.where(np.arange(WIDTH) < 120, -1.5, 2.5) * np.ones((HEIGHT, 1))
    field = smooth_stops(step, lowest=-9.0)
    assert level_lines(field, -6, 6) == []
    # The edge is kept: five pixels off, less than a sixth of a stop has crossed it.
    assert_allclose(field[:, [114, 125]], [[-1.5, 2.5]] * HEIGHT, atol=1 / 6)
    small = np.where(np.arange(WIDTH) < 120, 0.6, 1.4) * np.ones((HEIGHT, 1))
    assert [line.level for line in level_lines(smooth_stops(small, lowest=-9.0), -6, 6)] == [1]


def test_small_islands_are_dropped_and_large_ones_kept() -> None:
    """pencil: a round patch of radius r has a line of 2πr; 0.12 of the width is 29 pixels."""
    row, column = np.mgrid[:HEIGHT, :WIDTH]
    apart = np.hypot(row - 60, column - 100)
    for radius, kept in ((3.0, 0), (30.0, 1)):
        lines = level_lines(0.4 + 0.8 / (1.0 + (apart / radius) ** 2) - 0.0, 0, 1)
        # Level 1 at 0.8/(1 + a²/r²) = 0.6, a = 0.577 r.
        assert len([line for line in lines if line.level == 1]) == kept


def test_local_range_by_hand() -> None:
    """pencil: within two pixels of a ramp of one a pixel, the range is four, less at the border."""
    field = np.tile(np.arange(9.0), (7, 1))
    assert local_range(field, 2)[3].tolist() == [2, 3, 4, 4, 4, 4, 4, 3, 2]


def test_specks_go_and_patches_stay() -> None:
    """pencil: one pixel of nine is less than half; the inside of a block is all."""
    mask = np.zeros((40, 60), dtype=np.bool_)
    mask[5, 5] = True
    mask[20:30, 20:40] = True
    kept = without_specks(mask)
    assert not kept[5, 5]
    assert kept[21:29, 21:39].all()


def test_no_tint_without_cause() -> None:
    """pencil: -3.5 to 3.5 is inside the limits of six, so that the whole picture is grey."""
    image = np.asarray(draw_stops_map(lit(ramp(-3.5, 3.5)), SETTINGS))
    assert image.shape[1] == WIDTH
    assert image.shape[0] > HEIGHT
    assert is_grey(image).all()


def test_tint_past_the_limits_only() -> None:
    """pencil: on a ramp of -8 to 8 the limits of ±6 are at columns 29.9 and 209.1."""
    image = np.asarray(draw_stops_map(lit(ramp(-8.0, 8.0)), SETTINGS, labels=False))[:HEIGHT]
    coloured = ~is_grey(image)
    assert coloured[:, :27].mean() > 0.9
    assert coloured[:, 213:].mean() > 0.9
    assert not coloured[:, 33:206].any()
    # Warm where too bright, cool where too dark.
    assert np.all(image[60, 215:235, 0] > image[60, 215:235, 2])
    assert np.all(image[60, 3:25, 0] < image[60, 3:25, 2])
    # Hatched as well: two levels of tint, not one.
    assert np.ptp(image[30:100, 220, 2].astype(int)) > 30
    assert np.ptp(image[30:100, 10, 1].astype(int)) > 30


def test_missed_target_is_tinted_in_its_mask() -> None:
    """pencil: the mask and nothing else."""
    missed = np.zeros((HEIGHT, WIDTH), dtype=np.bool_)
    missed[40:80, 90:150] = True
    picture = lit(np.full((HEIGHT, WIDTH), 0.4))
    image = np.asarray(draw_stops_map(picture, SETTINGS, missed=missed, labels=False))[:HEIGHT]
    np.testing.assert_array_equal(~is_grey(image), missed)


def test_hatchings_differ() -> None:
    """Each kind can be told without its colour."""
    patterns = [hatching(kind, (60, 60), 9) for kind in (HIGHLIGHTS, SHADOWS, MISSED)]
    for one, other in combinations(patterns, 2):
        assert np.mean(one != other) > 0.1
    for pattern in patterns:
        assert 0.05 < pattern.mean() < 0.5


def test_numbers_do_not_touch_one_another() -> None:
    """pencil: every two boxes are apart, inside the picture, and of few foreign line pixels."""
    row, column = np.mgrid[:HEIGHT, :WIDTH]
    field = 3.0 * np.sin(column / 30.0) * np.cos(row / 24.0) + 0.01 * column
    lines = level_lines(field, -6, 6)
    sheet = Sheet(line_mask(lines, field.shape))
    for line in lines:
        place_on_line(line, (16.0, 11.0), sheet, spacing_px=100.0)
    place_spots(field, np.zeros(field.shape, dtype=np.bool_), (22.0, 11.0), sheet)
    assert len(sheet.taken) >= 6
    for one, other in combinations(sheet.taken, 2):
        assert not one.meets(other, gap=0.0)
    for box in sheet.taken:
        assert box.inside(WIDTH, HEIGHT)


def test_numbers_stand_on_their_lines() -> None:
    """pencil: the middle of a box is a point of its line."""
    lines = level_lines(ramp(-2.5, 2.5), -6, 6)
    sheet = Sheet(line_mask(lines, (HEIGHT, WIDTH)))
    for line in lines:
        boxes = place_on_line(line, (16.0, 11.0), sheet, spacing_px=100.0)
        assert boxes
        for box in boxes:
            assert_allclose(box.x, (line.level + 2.5) * 239 / 5, atol=0.01)


def test_spots_speak_for_flat_ground() -> None:
    """pencil: one even picture has no line, so numbers stand apart from one another on it."""
    sheet = Sheet(np.zeros((HEIGHT, WIDTH), dtype=np.bool_))
    barred = np.zeros((HEIGHT, WIDTH), dtype=np.bool_)
    barred[:, 120:] = True
    spots = place_spots(np.zeros((HEIGHT, WIDTH)), barred, (22.0, 11.0), sheet)
    assert len(spots) >= 2
    assert all(box.x < 120 for box in spots)
    assert all(np.hypot(a.x - b.x, a.y - b.y) > 30.0 for a, b in combinations(spots, 2))


@pytest.mark.parametrize(
    ("stops", "sign", "whole", "third"),
    [
        (0.0, "", "0", ""),
        (0.16, "", "0", ""),
        (-0.16, "", "0", ""),
        (0.34, "+", "", "1/3"),
        (-0.7, "−", "", "2/3"),
        (1.01, "+", "1", ""),
        (-1.6, "−", "1", "2/3"),
        (2.9, "+", "3", ""),
    ],
)
def test_thirds(stops: float, sign: str, whole: str, third: str) -> None:
    """pencil: to the nearest third, no sign on nought."""
    assert thirds_text(stops) == StopsText("", sign, whole, third)


def test_whole_levels_are_signed() -> None:
    """pencil: over is +, under a true minus, the reference bare."""
    assert [whole_text(n).sign + whole_text(n).whole for n in (-2, 0, 3)] == ["−2", "0", "+3"]
    # A longer text takes more room, and the minus as much as the plus.
    assert text_size(whole_text(-2), 14) == text_size(whole_text(2), 14)
    assert text_size(thirds_text(-1.34), 14)[0] > text_size(whole_text(-1), 14)[0]


def words(reference: str, areas: list[Area]) -> str:
    """All that the legend says."""
    groups = legend_entries(SETTINGS, reference, areas, [], spots=False)
    return " / ".join(text for group in groups for _, text, _ in group)


def test_legend_names_reference_constant_and_exposure() -> None:
    """pencil: key is 117.6 lx; only what is shown is named."""
    plain = words("grey", [])
    assert "0 = middle grey" in plain
    assert "T2.8, ISO 800, 1/48 s" in plain
    assert "key 118 lx (10.9 fc), meter constant C 250" in plain
    assert "limit" not in plain
    assert "0 = key" in words("key", [])
    everywhere = np.ones((2, 2), dtype=np.bool_)
    assert "past highlight limit, 6 over" in words("grey", [Area(HIGHLIGHTS, everywhere)])
    assert "past shadow limit, 6 under" in words("grey", [Area(SHADOWS, everywhere)])


@pytest.mark.parametrize("width", [160, 240, 480, 960])
def test_legend_fits_every_width(width: int) -> None:
    """pencil: no word runs over the right border, where the strip's own grey must be left."""
    picture = lit(np.tile(np.linspace(-8.0, 8.0, width), (64, 1)))
    image = np.asarray(draw_stops_map(picture, SETTINGS))
    strip = image[64:]
    assert strip.shape[1] == width
    assert np.all(strip[:, -2:] == strip[0, -1])
    assert strip.max() > 200


def test_marks_are_drawn_where_they_are_asked_for() -> None:
    """pencil: the same map with and without a mark differs at the mark, and not far away."""
    picture = lit(ramp(-2.2, 2.3))
    bare = np.asarray(draw_stops_map(picture, SETTINGS, labels=False))[:HEIGHT].astype(int)
    marked = draw_stops_map(picture, SETTINGS, marks={"COOK": (70.0, 60.0)})
    drawn = np.asarray(marked)[:HEIGHT].astype(int)
    assert drawn[60, 70].min() > bare[60, 70].max() + 60


def test_same_picture_same_map() -> None:
    """pencil: nothing is left to chance."""
    picture = lit(grained(ramp(-5.0, 7.0), 0.1))
    first, second = (np.asarray(draw_stops_map(picture, SETTINGS)) for _ in range(2))
    np.testing.assert_array_equal(first, second)


def test_no_light_at_all() -> None:
    """pencil: black is past the shadow limit everywhere."""
    image = np.asarray(draw_stops_map(np.zeros((HEIGHT, WIDTH, 3), np.float32), SETTINGS))
    assert not is_grey(image[:HEIGHT]).any()


def test_box_geometry() -> None:
    """pencil: two boxes of 10 × 4, 12 apart across, have a gap of 2."""
    one, other = Box(0, 0, 10, 4), Box(12, 1, 10, 4)
    assert not one.meets(other, gap=1.9)
    assert one.meets(other, gap=2.1)
    assert not one.inside(100, 100)
    assert Box(50, 50, 10, 4).inside(100, 100)


def test_bad_input() -> None:
    """Each refusal says what is expected."""
    good = lit(ramp(-1.0, 1.0))
    with pytest.raises(FalloffError, match="three channels and some size"):
        draw_stops_map(good[:8], SETTINGS)
    with pytest.raises(FalloffError, match="key or grey"):
        draw_stops_map(good, SETTINGS, reference="white")  # type: ignore[arg-type]
    with pytest.raises(FalloffError, match="missed targets"):
        draw_stops_map(good, SETTINGS, missed=np.zeros((3, 3), dtype=np.bool_))
    with pytest.raises(FalloffError, match="luminance cannot be negative"):
        draw_stops_map(-good, SETTINGS)
