"""Levels and histogram: shares to the pixel, bars as high as their share."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import (
    CameraSettings,
    Levels,
    draw_histogram,
    expose,
    levels_of,
    mid_grey_luminance_nit,
)
from falloff.camera.histogram import _BAR, _plan, histogram_shares
from falloff.camera.stops_scale import StopsScale
from falloff.errors import FalloffError
from falloff.types import Float32Array, Float64Array

SETTINGS = CameraSettings(2.8, 800, 1 / 48, highlight_stops=6.0, shadow_stops=6.0)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)


def lit(stops: Float64Array) -> Float32Array:
    """A neutral picture at these stops over middle grey."""
    return np.repeat((GREY_NIT * 2.0**stops)[..., np.newaxis], 3, axis=2).astype(np.float32)


def mixed() -> Float64Array:
    """Of 100 pixels 10 at -7, 34 at -1, 50 at +1 and 6 at +7."""
    return np.repeat([-7.0, -1.0, 1.0, 7.0], [10, 34, 50, 6]).reshape(10, 10)


def test_levels_by_hand() -> None:
    """pencil: 44 are under +1 and 94 under +7, so the 5th lies at -7, the 50th at +1, the 95th at
    +7; 6 of 100 are over +6, 10 under -6.
    """
    levels = levels_of(lit(mixed()), SETTINGS)
    assert levels.clipped_share == 0.06
    assert levels.dark_share == 0.10
    found = [levels.p5_stops, levels.median_stops, levels.p95_stops]
    assert_allclose(np.array(found, dtype=np.float64), (-7.0, 1.0, 7.0), atol=1e-5)


def test_levels_agree_with_the_exposed_frame() -> None:
    """pencil: the same limits on the same luminance."""
    picture = lit(np.random.default_rng(4).normal(0.0, 5.0, (40, 70)))
    frame, levels = expose({"ONLY": picture}, {}, SETTINGS), levels_of(picture, SETTINGS)
    assert levels.clipped_share == frame.highlights_clipped.mean()
    assert levels.dark_share == frame.shadows_clipped.mean()


def test_levels_without_light_can_be_sent() -> None:
    """pencil: of 10 pixels 6 are black: no median, no 5 %, and JSON that reads back."""
    picture = lit(np.full((1, 10), 2.0))
    picture[0, :6] = 0.0
    levels = levels_of(picture, SETTINGS)
    assert levels.median_stops is None
    assert levels.p5_stops is None
    assert_allclose(levels.p95_stops or 0.0, 2.0, atol=1e-5)
    assert levels.dark_share == 0.6
    assert msgspec.json.decode(msgspec.json.encode(levels), type=Levels) == levels


def test_bars_by_hand() -> None:
    """pencil: on -8 to +8 the bar of level n is the 6(n + 8)th; it reaches a twelfth either way."""
    scale = StopsScale(-8, 8, 60)
    stops = np.array([0.0, 0.08, -0.08, 0.09, 1.0, 9.0, 40.0, -8.2, -np.inf, -7.9])
    shares = histogram_shares(stops, scale)
    assert len(shares) == 97
    expected = np.zeros(97)
    # -7.9 is the bar of -7 5/6: 0.6 of a bar from the first.
    expected[[48, 49, 54, 96, 0, 1]] = 0.3, 0.1, 0.1, 0.2, 0.2, 0.1
    assert_allclose(shares, expected, atol=1e-15)


def test_bars_are_as_high_as_their_share() -> None:
    """pencil: a quarter at -2 and three at +1.5 on a scale to 80 %: 125 and 375 of 400 rows."""
    stops = np.repeat([-2.0, 1.5], [25, 75]).reshape(10, 10)
    plan, _ = _plan(stops, SETTINGS)
    assert plan.height_px == 400
    assert_allclose([plan.step_share, plan.most_share], (0.2, 0.8), rtol=1e-12)
    drawing = draw_histogram(lit(stops), SETTINGS)
    # Beside the middle of the bar, where a mark may stand.
    for level, rows in ((-2.0, 125), (1.5, 375)):
        column = drawing[plan.top_px : plan.bottom_px, plan.column_of(level) + 2, 0]
        assert np.count_nonzero(column == _BAR) == rows
        assert np.all(column[-rows:] == _BAR)
    empty = drawing[plan.top_px : plan.bottom_px, plan.column_of(0.5) + 3, 0]
    assert not np.any(empty == _BAR)


def test_a_single_pixel_of_many_is_seen() -> None:
    """pencil: 1 of 40000 has less than a row, and gets one."""
    stops = np.zeros((200, 200))
    stops[0, 0] = 4.0
    plan, _ = _plan(stops, SETTINGS)
    drawing = draw_histogram(lit(stops), SETTINGS)
    assert drawing[plan.bottom_px - 1, plan.column_of(4.0) + 2, 0] == _BAR
    assert drawing[plan.bottom_px - 2, plan.column_of(4.0) + 2, 0] != _BAR


def test_marks_stand_at_their_levels() -> None:
    """pencil: median +1, 5 % at -7, 95 % at +7: a line of its own in the gaps above the bars."""
    plan, _ = _plan(mixed(), SETTINGS)
    drawing = draw_histogram(lit(mixed()), SETTINGS)[..., 0].astype(int)
    # Above the scale nothing but words and these lines; the row just above it is free of words.
    row = drawing[plan.top_px - 2, plan.left_px - 2 :] > 60
    expected = [plan.column_of(level) - plan.left_px + 2 for level in (-7.0, 1.0, 7.0)]
    assert np.flatnonzero(row).tolist() == expected


@pytest.mark.parametrize("share", [0.0, 0.4, 0.95, 1.0])
def test_much_black(share: float) -> None:
    """pencil: black is told at the low end, however much; grey ink throughout."""
    picture = lit(np.full((20, 50), 1.0))
    picture.reshape(-1, 3)[: round(share * 1000)] = 0.0
    drawing = draw_histogram(picture, SETTINGS).astype(int)
    assert np.ptp(drawing, axis=2).max() == 0
    assert levels_of(picture, SETTINGS).dark_share == share


@pytest.mark.parametrize("shape", [(1, 1), (1, 900), (1000, 1)])
def test_every_size(shape: tuple[int, int]) -> None:
    """pencil: the drawing's size depends on the camera's limits alone."""
    small = draw_histogram(lit(np.full(shape, 0.3)), SETTINGS)
    assert small.shape == draw_histogram(lit(np.zeros((9, 9))), SETTINGS).shape


def test_very_much_light() -> None:
    """pencil: 1e30 cd/m² is past every limit; all of it in the last bar."""
    picture = np.full((3, 3, 3), 1e30, dtype=np.float32)
    levels = levels_of(picture, SETTINGS)
    assert levels.clipped_share == 1.0
    assert levels.median_stops is not None
    assert levels.median_stops > 80.0
    drawing = draw_histogram(picture, SETTINGS)
    plan, shares = _plan(np.full((3, 3), 90.0), SETTINGS)
    assert shares[-1] == 1.0
    assert drawing[plan.top_px + 5, plan.column_of(8.0) + 2, 0] == _BAR


def test_bad_input() -> None:
    """Each refusal says where."""
    with pytest.raises(FalloffError, match="levels_of: a picture has three channels"):
        levels_of(np.zeros((3, 3)), SETTINGS)
    with pytest.raises(FalloffError, match="draw_histogram: a picture's light is a number"):
        draw_histogram(np.full((3, 3, 3), np.nan), SETTINGS)
    with pytest.raises(FalloffError, match="cannot be negative"):
        levels_of(np.full((3, 3, 3), -0.1), SETTINGS)
