"""The waveform: every level at its row, every column under its own, nothing lost at the ends."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings, draw_waveform, mid_grey_luminance_nit
from falloff.camera.stops_scale import StopsScale, per_cent, signed, stops_scale, whole
from falloff.camera.waveform import WaveformPlan, column_shares, waveform_plan
from falloff.errors import FalloffError
from falloff.types import Float32Array, Float64Array

SETTINGS = CameraSettings(2.8, 800, 1 / 48, highlight_stops=6.0, shadow_stops=6.0)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)
HEIGHT, WIDTH = 90, 640


def lit(stops: Float64Array) -> Float32Array:
    """A neutral picture at these stops over middle grey."""
    return np.repeat((GREY_NIT * 2.0**stops)[..., np.newaxis], 3, axis=2).astype(np.float32)


def patches(*levels: float) -> Float64Array:
    """Patches of one level each, as wide as one another, from left to right."""
    return np.tile(np.repeat(levels, WIDTH // len(levels)), (HEIGHT, 1))


def scale_of(drawing: np.ndarray, plan: WaveformPlan) -> np.ndarray:
    """The part of the drawing between the scale's ends."""
    rows = slice(plan.top_px, plan.bottom_px + 1)
    return np.asarray(drawing[rows, plan.left_px : plan.left_px + plan.columns, 0].astype(int))


@pytest.mark.parametrize("limit_stops", [6.0, 5.5, 3.0, 12.0])
def test_a_patch_stands_at_its_level(limit_stops: float) -> None:
    """pencil: +2 is two stops' pixels above 0 and -1 1/3 one and a third below, within a pixel."""
    settings = CameraSettings(
        2.8, 800, 1 / 48, highlight_stops=limit_stops, shadow_stops=limit_stops
    )
    plan = waveform_plan((HEIGHT, WIDTH), settings)
    drawing = scale_of(draw_waveform(lit(patches(0.0, 2.0, -4 / 3, 0.0)), settings), plan)
    brightest = drawing.argmax(axis=0)
    stop_px = plan.scale.stop_px
    zero = brightest[80]
    assert_allclose(zero - brightest[240], 2.0 * stop_px, atol=1.0)
    assert_allclose(brightest[400] - zero, 4 / 3 * stop_px, atol=1.0)
    # The scale ends two whole stops over the limit, where 0 is that many stops below.
    assert_allclose(zero, (np.ceil(limit_stops) + 2) * stop_px, atol=1.0)


def test_middle_grey_and_limits_are_lines_at_their_levels() -> None:
    """pencil: beside a patch of 0 the line of middle grey goes on in the same row."""
    plan = waveform_plan((HEIGHT, WIDTH), SETTINGS)
    drawing = scale_of(draw_waveform(lit(patches(0.0, -3.5)), SETTINGS), plan)
    row = drawing[:, 100].argmax()
    bare = drawing[:, 500]
    assert bare[row] > bare[row - 1] + 60
    assert bare[row] > bare[row + 1] + 60
    for limit in (row - 6 * plan.scale.stop_px, row + 6 * plan.scale.stop_px):
        assert bare[limit] > bare[row]


def test_past_the_limits_is_hatched_and_nothing_else() -> None:
    """pencil: scale lines lie at whole stops; between two of them only hatching is lighter."""
    plan = waveform_plan((HEIGHT, WIDTH), SETTINGS)
    drawing = scale_of(draw_waveform(lit(patches(0.0)), SETTINGS), plan)
    middle = plan.scale.stop_px // 2
    for stops_from_top, hatched in ((0, True), (1, True), (2, False), (13, False), (14, True)):
        row = drawing[stops_from_top * plan.scale.stop_px + middle, 5:150]
        assert (np.ptp(row) > 0) == hatched


def test_columns_stand_under_the_picture_s_own() -> None:
    """pencil: columns 200 to 219 of 640 are drawn from 200 columns right of the first."""
    stops = np.zeros((HEIGHT, WIDTH))
    stops[:, 200:220] = 3.0
    plan = waveform_plan(stops.shape, SETTINGS)
    drawing = draw_waveform(lit(stops), SETTINGS)
    assert plan.columns == WIDTH
    at_three = drawing[plan.row_of(3.0), plan.left_px : plan.left_px + WIDTH, 0] > 200
    np.testing.assert_array_equal(np.flatnonzero(at_three), np.arange(200, 220))
    strip = drawing[plan.strip_px + 5, plan.left_px : plan.left_px + WIDTH, 1].astype(int)
    np.testing.assert_array_equal(np.flatnonzero(strip > 150), np.arange(200, 220))


def test_shares_of_a_column() -> None:
    """pencil: of four pixels two at +1, one without light, one past +8; each column sums to 1."""
    stops = np.array([[1.0], [1.0], [-np.inf], [40.0]]).repeat(5, axis=1)
    plan = waveform_plan((4, 5), SETTINGS)
    share = column_shares(stops, plan)
    rows = plan.scale.length_px + 1
    assert share.shape == (rows + 2, plan.columns)
    expected = np.zeros(rows + 2)
    expected[[0, 7 * plan.scale.stop_px + 1, rows + 1]] = 0.25, 0.5, 0.25
    for column in (0, plan.columns // 2, plan.columns - 1):
        np.testing.assert_array_equal(share[:, column], expected)


@pytest.mark.parametrize("width", [1, 7, 481, 1921, 5000])
def test_every_width(width: int) -> None:
    """pencil: shares sum to 1 whether columns are drawn broader or some together."""
    stops = np.random.default_rng(1).normal(0.0, 5.0, (30, width))
    plan = waveform_plan(stops.shape, SETTINGS)
    assert_allclose(column_shares(stops, plan).sum(axis=0), 1.0, rtol=1e-12)
    drawing = draw_waveform(lit(stops), SETTINGS)
    assert drawing.dtype == np.uint8
    assert drawing.shape[1] == plan.left_px + plan.columns + plan.right_px


def test_wide_pictures_keep_every_pixel() -> None:
    """pencil: one bright column of 5000 lies in the drawn column 2500·1920/5000 = 960."""
    stops = np.zeros((10, 5000))
    stops[:, 2500] = 4.0
    plan = waveform_plan(stops.shape, SETTINGS)
    row = 1 + plan.scale.from_high_px(4.0)
    assert np.flatnonzero(column_shares(stops, plan)[row]).tolist() == [960]


def test_one_pixel_of_a_thousand_is_seen() -> None:
    """pencil: 1 of 1080 in a column, drawn a fifth of the way from paper to white at the least."""
    stops = np.zeros((1080, 480))
    stops[500] = -3.5
    plan = waveform_plan(stops.shape, SETTINGS)
    drawing = draw_waveform(lit(stops), SETTINGS)
    assert drawing[plan.row_of(-3.5), plan.left_px + 50, 0] >= 24 + (255 - 24) // 5


def test_more_is_lighter() -> None:
    """pencil: a half of a column is drawn lighter than a tenth, and that than a hundredth."""
    stops = np.full((100, 480), -20.0)
    stops[:50], stops[50:60], stops[60] = 1.5, 2.5, 3.5
    stops += np.random.default_rng(3).uniform(-0.4, 0.4, stops.shape)
    plan = waveform_plan(stops.shape, SETTINGS)
    drawing = scale_of(draw_waveform(lit(stops), SETTINGS), plan)
    means = []
    for level in (1.5, 2.5, 3.5):
        row = plan.scale.from_high_px(level)
        reach = round(0.4 * plan.scale.stop_px)
        means.append(drawing[row - reach : row + reach].mean())
    assert means[0] > means[1] > means[2]


def test_no_light_and_very_much() -> None:
    """pencil: black lies in the band below the scale, a lamp of 1e30 cd/m² in the one above."""
    picture = lit(patches(0.0, 0.0))
    picture[:, :320] = 0.0
    picture[:, 320:] = 1e30
    plan = waveform_plan((HEIGHT, WIDTH), SETTINGS)
    drawing = draw_waveform(picture, SETTINGS)
    above = drawing[plan.top_px - 2 - plan.band_px // 2, plan.left_px : plan.left_px + WIDTH, 0]
    below = drawing[plan.bottom_px + 3 + plan.band_px // 2, plan.left_px : plan.left_px + WIDTH, 0]
    np.testing.assert_array_equal(above > 60, np.arange(WIDTH) >= 320)
    np.testing.assert_array_equal(below > 60, np.arange(WIDTH) < 320)
    strip = drawing[plan.strip_px + 3, plan.left_px : plan.left_px + WIDTH, 0]
    assert strip[:318].max() == 0
    assert strip[322:].min() == 255


def test_plain_grey_ink() -> None:
    """pencil: below the picture's strip the three channels are equal."""
    picture = lit(patches(-7.0, 0.0, 7.0, 30.0))
    picture[..., 2] *= 0.3
    plan = waveform_plan((HEIGHT, WIDTH), SETTINGS)
    below = draw_waveform(picture, SETTINGS)[plan.strip_px + plan.strip_height_px :].astype(int)
    assert np.ptp(below, axis=2).max() == 0


def test_same_picture_same_drawing_and_picture_kept() -> None:
    """pencil: nothing is left to chance, and the picture is only looked at."""
    picture = lit(np.random.default_rng(2).normal(0.0, 3.0, (40, 300)))
    before = picture.copy()
    np.testing.assert_array_equal(
        draw_waveform(picture, SETTINGS), draw_waveform(picture, SETTINGS)
    )
    np.testing.assert_array_equal(picture, before)


@pytest.mark.parametrize(
    ("picture", "message"),
    [
        (np.zeros((4, 4)), "three channels"),
        (np.zeros((0, 4, 3)), "three channels"),
        (np.full((4, 4, 3), -1.0), "negative"),
        (np.full((4, 4, 3), np.nan), "is a number"),
        (np.full((4, 4, 3), np.inf), "is a number"),
    ],
)
def test_bad_input(picture: np.ndarray, message: str) -> None:
    """Each refusal says what is expected."""
    with pytest.raises(FalloffError, match=message):
        draw_waveform(picture, SETTINGS)


def test_scale_by_hand() -> None:
    """pencil: limits of 5.5 and 6 give -8 to +8, 16 stops of 40 pixels in 650."""
    settings = CameraSettings(2.8, 800, 1 / 48, highlight_stops=5.5, shadow_stops=6.0)
    scale = stops_scale(settings, room_px=650, smallest_stop_px=10)
    assert scale == StopsScale(-8, 8, 40)
    assert scale.length_px == 640
    assert scale.from_low_px(-8.0) == scale.from_high_px(8.0) == 0
    assert scale.from_low_px(1.5) == 380
    assert scale.marked(40.0) == list(range(-8, 9))
    assert scale.marked(41.0) == [-8, -6, -4, -2, 0, 2, 4, 6, 8]


def test_words_for_numbers() -> None:
    """pencil: a true minus; a share that is not nought is never told as nought."""
    assert [whole(n) for n in (-2, 0, 3)] == ["−2", "0", "+3"]
    assert [signed(s) for s in (-1.26, 0.04, 0.26, None)] == ["−1.3", "0.0", "+0.3", "no light"]
    shares = (0.0, 1e-7, 0.0014, 0.0994, 0.0996, 1.0)
    told = [per_cent(share).replace("\u00a0", " ") for share in shares]
    assert told == ["none", "under 0.1 %", "0.1 %", "9.9 %", "10 %", "100 %"]
