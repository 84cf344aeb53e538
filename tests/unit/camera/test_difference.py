"""Before and after: a stop is a stop, grain is no change, and sizes must agree."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import (
    CameraSettings,
    Change,
    ExposedFrame,
    before_after,
    change_between,
    expose,
    mid_grey_luminance_nit,
)
from falloff.camera.difference import _sentences, difference_stops, hundredths
from falloff.errors import FalloffError
from falloff.types import Float64Array

SETTINGS = CameraSettings(4.0, 800, 1 / 48, highlight_stops=6.0, shadow_stops=6.0)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)
HEIGHT, WIDTH = 135, 240


def framed(stops: Float64Array, settings: CameraSettings = SETTINGS) -> ExposedFrame:
    """A neutral picture at these stops over the first camera's middle grey."""
    picture = np.repeat((GREY_NIT * 2.0**stops)[..., np.newaxis], 3, axis=2).astype(np.float32)
    return expose({"ONLY": picture}, {}, settings)


def ramp(low_stops: float, high_stops: float) -> Float64Array:
    """Stops rising evenly from left to right."""
    return np.tile(np.linspace(low_stops, high_stops, WIDTH), (HEIGHT, 1))


def map_of(drawing: np.ndarray) -> np.ndarray:
    """The map: the last rows of the left half that are no paper, as many as a picture has."""
    inked = np.flatnonzero(drawing[:, 13, 0] != 24)
    return np.asarray(drawing[inked[-HEIGHT:], 12 : 12 + WIDTH].astype(int))


def told(change: Change) -> str:
    """All that is said of a change, with plain spaces."""
    return " / ".join(text for text, _ in _sentences(change)).replace("\u00a0", " ")


def test_one_stop_everywhere() -> None:
    """pencil: twice the light is +1.00 in every pixel, half of it -1.00."""
    dark, light = framed(ramp(-5.0, 5.0)), framed(ramp(-4.0, 6.0))
    assert_allclose(difference_stops(dark, light), 1.0, atol=1e-5)
    up, down = change_between(dark, light), change_between(light, dark)
    assert (up.changed_share, up.brighter_share, up.darker_share) == (1.0, 1.0, 0.0)
    assert (down.changed_share, down.brighter_share, down.darker_share) == (1.0, 0.0, 1.0)
    assert_allclose([up.median_stops, up.p5_stops, up.p95_stops], 1.0, atol=1e-5)
    assert_allclose(down.median_stops, -1.0, atol=1e-5)
    assert "median change +1.00" in told(up)
    assert "100 % of the frame (none up, 100 % down)" in told(down)


def test_half_of_the_frame() -> None:
    """pencil: 120 of 240 columns two stops up: half the frame, to the pixel."""
    after = np.zeros((HEIGHT, WIDTH))
    after[:, :120] = 2.0
    change = change_between(framed(np.zeros((HEIGHT, WIDTH))), framed(after))
    assert change.changed_share == change.brighter_share == 0.5
    assert change.darker_share == 0.0


@pytest.mark.parametrize(("change_stops", "share"), [(1 / 3, 0.0), (-1 / 3, 0.0), (0.34, 1.0)])
def test_a_third_is_not_more_than_a_third(change_stops: float, share: float) -> None:
    """pencil: the threshold itself is no more than itself."""
    zero = np.zeros((HEIGHT, WIDTH))
    change = change_between(framed(zero), framed(zero + change_stops))
    assert change.changed_share == share


def test_grain_is_no_change() -> None:
    """pencil: two pictures with 0.15 stop of grain each differ by 0.21 a pixel, so that a pixel in
    nine passes a third; the middle of nine has 1.25·0.21/3 = 0.09 (from memory: the median's
    spread is 1.25 times the mean's), so that one in ten thousand does.
    """
    rng = np.random.default_rng(6)
    first, second = (rng.normal(0.0, 0.15, (HEIGHT, WIDTH)) for _ in range(2))
    assert np.mean(np.abs(second - first) > 1 / 3) > 0.08
    assert change_between(framed(first), framed(second)).changed_share < 0.002


def test_black_has_not_changed() -> None:
    """pencil: black shows from -8 down: none to none, and -20 to -9, are nought; black to -6 is 2,
    since what is under black counts as black.
    """
    shape = (HEIGHT, WIDTH)
    none, deep = framed(np.full(shape, -np.inf)), framed(np.full(shape, -20.0))
    assert_allclose(difference_stops(none, none), 0.0, atol=1e-12)
    assert_allclose(difference_stops(deep, framed(np.full(shape, -9.0))), 0.0, atol=1e-12)
    assert_allclose(difference_stops(none, framed(np.full(shape, -6.0))), 2.0, atol=1e-5)
    assert change_between(none, deep).changed_share == 0.0


def test_light_is_compared_and_exposure_is_told() -> None:
    """pencil: the same light at T4 and T2.8 has not changed; 2·log2(4/2.8) = 1.03 stops more."""
    wide_open = msgspec.structs.replace(SETTINGS, t_number=2.8)
    stops = ramp(-3.0, 3.0)
    change = change_between(framed(stops), framed(stops, wide_open))
    assert change.changed_share == 0.0
    assert_allclose(change.median_stops, 0.0, atol=1e-6)
    assert_allclose(change.exposure_stops, 1.0291, atol=1e-4)
    assert "the second camera exposes 1 stop more" in told(change)
    assert "exposes" not in told(change_between(framed(stops), framed(stops)))


def test_the_drawing_is_two_pictures_and_a_grey_map() -> None:
    """pencil: wider than two pictures; the map is grey, lighter for more and darker for less."""
    zero = np.zeros((HEIGHT, WIDTH))
    same, more, less = (
        before_after(framed(zero), framed(zero + change), labels=("before", "after"))
        for change in (0.0, 1.5, -1.5)
    )
    assert same.dtype == np.uint8
    assert same.shape[1] > 2 * WIDTH
    # The upper left corner is off lines and numbers, which keep from the border.
    corner = [int(map_of(drawing)[2, 2, 0]) for drawing in (less, same, more)]
    assert corner[0] < corner[1] - 30
    assert corner[1] < corner[2] - 30
    assert np.ptp(map_of(more), axis=2).max() == 0


def test_lines_of_change_stand_at_whole_stops() -> None:
    """pencil: on a change of -1.5 to 1.5 over 239 steps, level n is at column (n + 1.5)·239/3."""
    drawing = before_after(
        framed(np.zeros((HEIGHT, WIDTH))), framed(ramp(-1.5, 1.5)), labels=("A", "B")
    )
    # Most rows cross a line, some a number: how far the three quarters' row is from the ground.
    rows = map_of(drawing)[..., 0]
    ground = 116 + 84 * np.tanh(np.linspace(-1.5, 1.5, WIDTH) / 2)
    away = np.abs(np.percentile(rows, 75, axis=0) - ground)
    lines = [round((level + 1.5) * 239 / 3) for level in (-1, 0, 1)]
    for column in lines:
        assert away[column - 1 : column + 2].max() > 20
    beside = [c for c in range(WIDTH) if min(abs(c - line) for line in lines) > 5]
    assert np.median(away[beside]) < 1.5
    assert np.mean(away[beside] > 20) < 0.02


@pytest.mark.parametrize("shape", [(1, 1), (400, 1), (1, 400), (20, 300), (3, 3)])
def test_every_size(shape: tuple[int, int]) -> None:
    """pencil: a picture too small for lines still has its map and its words."""
    first, second = framed(np.zeros(shape)), framed(np.ones(shape))
    assert change_between(first, second).changed_share == 1.0
    drawing = before_after(first, second, labels=("before", "after"))
    assert drawing.max() > 200


def test_very_much_light_and_long_labels() -> None:
    """pencil: 95 stops more is finite; a name of 400 letters keeps the drawing's width."""
    bright = np.zeros((HEIGHT, WIDTH))
    bright[40:60, 100:120] = 95.0
    first, second = framed(np.zeros((HEIGHT, WIDTH))), framed(bright)
    assert np.isfinite(difference_stops(first, second)).all()
    short = before_after(first, second, labels=("A", "B"))
    long = before_after(first, second, labels=("A" * 400, "ЛАМПА " * 60))
    assert long.shape[1] == short.shape[1]
    assert long.shape[0] > short.shape[0]


def test_sizes_must_agree() -> None:
    """Both sizes are told."""
    with pytest.raises(FalloffError, match=r"240 × 135 pixels; found 120 × 135 pixels"):
        before_after(
            framed(np.zeros((HEIGHT, WIDTH))), framed(np.zeros((HEIGHT, 120))), labels=("A", "B")
        )


def test_changes_to_the_hundredth() -> None:
    """pencil: a true minus, and no sign on nought."""
    assert [hundredths(s) for s in (1.0, -0.254, 0.004, -0.004)] == [
        "+1.00",
        "−0.25",
        "0.00",
        "0.00",
    ]
