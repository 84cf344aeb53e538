"""Layers at any hour: readings without a trace, and a glance at the picture, against new traces."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.unit.transport.hour_rooms import (
    SMALL,
    WITHOUT_MIRROR,
    daylight_in,
    document_at,
    instant,
    luminous,
    stage_at,
)

from falloff.layers import (
    HourLayers,
    LightLayers,
    Live,
    LiveHours,
    Shown,
    hour_glance,
    keep_hours,
    live,
    open_passes,
    read_hour,
    read_sky,
    settle_passes,
    store,
    take_hours,
    trace_layers,
)
from falloff.layers.live import GLANCE
from falloff.sources import SKY
from falloff.stage import SUN_NAME, Stage, skies_by_hour
from falloff.transport import (
    behind_skyline,
    hour_in_shade,
    hour_light,
    picture_bounced,
    picture_direct,
    trace,
    trace_probes,
    trace_view,
)
from falloff.types import Float32Array, Float64Array

BAR_STOPS = 0.03
SIZE, SIDE = (48, 36), 6
OUTSIDE = skies_by_hour(document_at(text=WITHOUT_MIRROR))
HOURS = [
    ("06:30", "clear"),
    ("12:00", "clear"),
    ("12:00", "overcast"),
    ("16:30", "broken cloud"),
    ("21:10", "clear"),
]


@pytest.fixture(scope="module", autouse=True)
def small(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Few rays, and a cache of our own."""
    folder = tmp_path_factory.mktemp("layers")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(live, "LIVE_BUDGET", SMALL)
        patch.setattr(store, "_cache_folder", lambda: folder)
        yield


@pytest.fixture(scope="module")
def layers() -> LightLayers:
    return trace_layers(stage_at(text=WITHOUT_MIRROR), SMALL, sizes={})


@pytest.fixture(scope="module")
def kept(layers: LightLayers) -> HourLayers:
    return keep_hours(layers)


# Readings --------------------------------------------------------------------------------


@pytest.mark.parametrize(("clock", "word"), HOURS)
def test_readings_of_an_hour_equal_a_new_trace(kept: HourLayers, clock: str, word: str) -> None:
    """Consistency: over all daylight, the bar or four standard errors of both where more."""
    stage = stage_at(clock, word, WITHOUT_MIRROR)
    now = kept.layers.solution.stage
    read = read_hour(kept, hour_light(now, OUTSIDE(instant(clock), word).sources))
    fresh = trace(stage, SMALL)
    found = trace_probes(fresh, stage.probes)
    names = kept.layers.names
    mine = np.zeros(len(stage.probes))
    theirs = np.zeros((len(stage.probes), SMALL.reading_replicates))
    for s in daylight_in(stage):
        k = names.index(stage.sources[s].name)
        mine += luminous(read.direct[k] + read.bounced[k], stage, s)
        theirs += luminous(np.moveaxis(found.direct[s] + found.bounced[s], 1, -1), stage, s)
    error = theirs.std(-1, ddof=1) / math.sqrt(theirs.shape[-1])
    bar = np.maximum((2.0**BAR_STOPS - 1.0) * theirs.mean(-1), 4.0 * math.sqrt(2.0) * error)
    assert (np.abs(mine - theirs.mean(-1)) <= bar).all(), (mine, theirs.mean(-1), error)
    sun = read.direct[names.index(SUN_NAME)]  # told under every sky, so that none is left over
    assert word != "overcast" or not sun.any()


def test_the_sun_on_the_elements_is_that_of_the_trace(kept: HourLayers) -> None:
    """At the very hour that was traced it is the same rays."""
    hour = hour_light(kept.layers.solution.stage, OUTSIDE(instant("12:00"), None).sources)
    sun = kept.layers.names.index(SUN_NAME)
    assert_array_equal(read_hour(kept, hour).sun, kept.layers.solution.direct[sun])


def test_no_sun_at_night(kept: HourLayers) -> None:
    hour = hour_light(kept.layers.solution.stage, OUTSIDE(instant("03:00"), None).sources)
    read = read_hour(kept, hour)
    sun = kept.layers.names.index(SUN_NAME)
    assert not read.sun.any()
    assert not read.direct[sun].any()
    assert not read.bounced[sun].any()


def test_what_the_sky_alone_gives(kept: HourLayers) -> None:
    """Direct and bounced of the openings together; in the shade of a cloud no more than in sun.

    With the sun hidden the ground and the house outside are darker, the sky is as it was.
    """
    stage = kept.layers.solution.stage
    out = OUTSIDE(instant("16:30"), "clear")
    hour = hour_light(stage, out.sources)
    read, whole = read_hour(kept, hour), read_sky(kept, hour.luminance)
    behind = behind_skyline(out.sources[0])
    shaded = read_sky(kept, hour_in_shade(hour, stage, out.in_shade, behind).luminance)
    for s in (k for k, one in enumerate(stage.sources) if one.kind == SKY):
        assert_allclose(whole[s], read.direct[s] + read.bounced[s], rtol=1e-6)
        assert (shaded[s] < whole[s]).all()
        assert (shaded[s] > 0.2 * whole[s]).all()


def test_light_of_the_sky_is_straight_in_its_luminance(kept: HourLayers) -> None:
    """pencil: twice as bright everywhere gives twice the light, nothing gives none."""
    stage = kept.layers.solution.stage
    hour = hour_light(stage, OUTSIDE(instant("12:00"), "overcast").sources)
    once = read_sky(kept, hour.luminance)
    twice = read_sky(kept, {s: 2.0 * cells for s, cells in hour.luminance.items()})
    none = read_sky(kept, {s: 0.0 * cells for s, cells in hour.luminance.items()})
    for s, light in once.items():
        assert_allclose(twice[s], 2.0 * light, rtol=1e-5)
        assert not none[s].any()


# A glance --------------------------------------------------------------------------------


def opened(clock: str = "12:00") -> Live:
    *_, shown = open_passes(stage_at(clock, text=WITHOUT_MIRROR), "OUT", size=SIZE)
    assert shown.live is not None
    return shown.live


@pytest.fixture(scope="module")
def before() -> Live:
    return opened()


@pytest.fixture(scope="module")
def held(before: Live) -> LiveHours:
    return take_hours(before, "OUT")


def seen(shown: Shown, now: Live) -> Float64Array:
    """Daylight of a pass as a picture, by the colours that the scene has now."""
    picture = np.zeros(shown.direct.shape[1:3])
    for k, s in enumerate(shown.sources):
        if now.names[s] == "LAMP":
            continue
        white = (shown.direct[k] + shown.bounced[k]).astype(np.float64)
        picture += luminous(white, now.stage, s)
    return picture


def by_blocks(picture: Float64Array, side: int) -> Float64Array:
    rows, columns = picture.shape[0] // side, picture.shape[1] // side
    return np.asarray(picture.reshape(rows, side, columns, side).mean((1, 3)))


def coarse_layers(stage: Stage) -> dict[int, tuple[Float32Array, Float32Array]]:
    """Direct and bounced daylight of a coarse picture of a new trace."""
    glance = replace(trace(stage, SMALL), budget=replace(SMALL, **GLANCE))
    view = trace_view(glance, stage.views["OUT"], width=SIZE[0] // 2, height=SIZE[1] // 2)
    return {
        s: (
            picture_direct(view, stage, s),
            picture_bounced(view, glance, glance.radiosity[s], glance.hot[s]),
        )
        for s in daylight_in(stage)
    }


@pytest.mark.parametrize(("clock", "word"), [one for one in HOURS if one[1] == "clear"])
def test_a_glance_is_a_coarse_picture_of_that_hour(
    before: Live, held: LiveHours, clock: str, word: str
) -> None:
    """Against a coarse picture of a new trace, whose rays are the same: blocks within the bar."""
    shown = hour_glance(held, OUTSIDE(instant(clock), None).sources)
    assert (shown.view, shown.told, shown.whole, shown.live) == ("OUT", "coarse", False, None)
    assert before.names.index("LAMP") not in shown.sources
    stage = stage_at(clock, word, WITHOUT_MIRROR)
    wanted = np.zeros((SIZE[1] // 2, SIZE[0] // 2))
    for s, (direct, bounced) in coarse_layers(stage).items():
        wanted += luminous((direct + bounced).astype(np.float64), stage, s)
    mine = seen(shown, before)
    assert mine.shape == wanted.shape
    assert_allclose(np.log2(by_blocks(mine, SIDE) / by_blocks(wanted, SIDE)), 0.0, atol=BAR_STOPS)


@pytest.mark.parametrize("clock", ["06:30", "16:30", "21:10"])
def test_a_glance_is_what_it_settles_to(before: Live, held: LiveHours, clock: str) -> None:
    """Let go, the scene is settled with four times the pixels: as bright, by larger blocks.

    It has one ray a pixel, 432 in all, which is its noise: a quarter of a stop in the mean. Of each
    reading by each window a tenth, five standard errors or a hundredth of the largest.
    """
    shown = hour_glance(held, OUTSIDE(instant(clock), None).sources)
    stage = stage_at(clock, text=WITHOUT_MIRROR)
    *_, settled = settle_passes(before, stage, "OUT", size=SIZE)
    assert settled.live is not None
    mine = by_blocks(seen(shown, before), 6)
    theirs = by_blocks(seen(settled, settled.live), 12)
    off = np.log2(mine / theirs)
    assert abs(math.log2(mine.mean() / theirs.mean())) < 0.25
    assert np.median(np.abs(off)) < 0.15
    read = shown.probes()
    found = settled.probes()
    for s in shown.sources:
        a, b = (part.direct[s].mean(-1) + part.bounced[s].mean(-1) for part in (read, found))
        a = a * before.stage.sources[s].colour
        b = b * stage.sources[s].colour
        spread = (found.direct[s] + found.bounced[s]).std(-1, ddof=1) / math.sqrt(8.0)
        bar = np.maximum(0.1 * b, 5.0 * spread * stage.sources[s].colour)
        assert (np.abs(a - b) <= np.maximum(bar, 0.01 * b.max())).all(), stage.sources[s].name


@pytest.mark.parametrize(("taken", "then"), [("12:00", "20:00"), ("21:10", "12:00")])
def test_a_glance_has_the_colours_of_its_hour(taken: str, then: str) -> None:
    """pencil: weighed by the colours of now its light has those of then, at sunset's hour too."""
    scene = opened(taken)
    glance = hour_glance(take_hours(scene, "OUT"), OUTSIDE(instant(then), None).sources)
    stage = stage_at(then, text=WITHOUT_MIRROR)
    wanted = coarse_layers(stage)
    for k, s in enumerate(glance.sources):
        mine = (glance.direct[k] * scene.stage.sources[s].colour).astype(np.float64).sum((0, 1))
        theirs = (wanted[s][0] * stage.sources[s].colour).astype(np.float64).sum((0, 1))
        if theirs.any():
            assert_allclose(mine / theirs, 1.0, rtol=0.03, err_msg=scene.names[s])


def test_hours_that_were_taken_fit_their_scene_and_camera_alone(
    before: Live, held: LiveHours
) -> None:
    assert held.fits(before, "OUT")
    assert not held.fits(before, "WIDE")
    stage = stage_at("12:00", text=WITHOUT_MIRROR.replace("output: 1500 lm", "output: 900 lm"))
    *_, shown = settle_passes(before, stage, "OUT", size=SIZE)
    assert shown.live is not None
    assert not held.fits(shown.live, "OUT")
