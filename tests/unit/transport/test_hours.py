"""Daylight re-mixed from kept rays is the daylight that a trace at that hour finds.

All here are tests of consistency: one way of our own against another. What the light itself is
worth is checked where hours are read.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.unit.transport.hour_rooms import (
    SMALL,
    TEXT,
    WITHOUT_MIRROR,
    blocks,
    daylight_in,
    document_at,
    instant,
    landed,
    luminous,
    stage_at,
)

from falloff.sources import SKY
from falloff.stage import skies_by_hour
from falloff.transport import (
    HourLight,
    Importance,
    KeptElements,
    KeptProbes,
    KeptView,
    SkyWorth,
    Solution,
    hour_light,
    importance_of,
    keep_elements,
    keep_probes,
    keep_view,
    openings_in,
    sky_worths,
    solution_at,
    sun_direct,
    sun_on_elements,
    trace,
    trace_probes,
    trace_view,
    view_at,
)
from falloff.types import Float64Array

BAR_STOPS = 0.03
SIZE, SIDE = (48, 36), 6
CLOCKS = ("06:30", "12:00", "16:30", "21:10")  # low in the east, high, in the west, at sunset
WORDS = ("clear", "overcast", "broken cloud")
HOURS = [(clock, word) for clock in CLOCKS for word in WORDS]


@dataclass(frozen=True, slots=True)
class Kept:
    """A trace at noon with all that is kept of it."""

    solution: Solution
    elements: KeptElements
    probes: tuple[KeptProbes, ...]
    importance: Importance
    worths: dict[int, SkyWorth]
    views: dict[str, KeptView]

    def hour(self, clock: str, word: str) -> HourLight:
        return hour_light(self.solution.stage, OUTSIDE(instant(clock), word).sources)


OUTSIDE = skies_by_hour(document_at())


def kept_of(seed: int = SMALL.seed, *, text: str | None = None, views: bool = False) -> Kept:
    stage = stage_at() if text is None else stage_at(text=text)
    solution = trace(stage, replace(SMALL, seed=seed))
    elements, probes = keep_elements(solution), keep_probes(solution, stage.probes)
    importance = importance_of(solution, stage.probes)
    worths = sky_worths(solution, elements, probes, importance)
    width, height = SIZE
    seen = {
        name: keep_view(solution, trace_view(solution, view, width=width, height=height))
        for name, view in stage.views.items()
        if views
    }
    return Kept(solution, elements, probes, importance, worths, seen)


def readings(kept: Kept, hour: HourLight) -> tuple[Float64Array, Float64Array]:
    """Direct and bounced daylight (p,) at the probes at an hour, by what was kept."""
    solution, count = kept.solution, len(kept.solution.stage.probes)
    stage = replace(
        solution.stage,
        sources=tuple(hour.sources.get(s, one) for s, one in enumerate(solution.stage.sources)),
    )
    direct, bounced = np.zeros(count), np.zeros(count)
    for s, source in hour.sources.items():
        if source.kind == SKY:
            straight, round_ = kept.worths[s].light(hour.luminance[s])
        else:
            straight = sun_direct(solution, kept.probes, source, count)
            round_ = kept.importance.bounced(sun_on_elements(solution, source))
        direct += luminous(straight, stage, s)
        bounced += luminous(round_, stage, s)
    return direct, bounced


def traced(solution: Solution) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Direct and bounced daylight (p,) at the probes by a trace, and the standard error of both."""
    stage = solution.stage
    found = trace_probes(solution, stage.probes)
    direct, bounced = (
        sum(luminous(np.moveaxis(part[s], 1, -1), stage, s) for s in daylight_in(stage))
        for part in (found.direct, found.bounced)
    )
    assert isinstance(direct, np.ndarray)
    assert isinstance(bounced, np.ndarray)
    each = direct + bounced
    error = each.std(-1, ddof=1) / np.sqrt(each.shape[-1])
    return direct.mean(-1), bounced.mean(-1), error


@pytest.fixture(scope="module")
def kept() -> Kept:
    return kept_of(views=True)


@pytest.fixture(scope="module")
def kept_without_mirror() -> Kept:
    return kept_of(text=WITHOUT_MIRROR, views=True)


def test_the_hour_of_the_trace_is_given_back(kept: Kept) -> None:
    """Same rays, same sky: within what cells take away, and lamps not touched at all."""
    hour = kept.hour("12:00", "clear")
    again = solution_at(kept.solution, kept.elements, hour)
    names = [one.name for one in kept.solution.stage.sources]
    for s in openings_in(kept.solution.stage):
        mine, theirs = (
            float(one.direct[s].astype(np.float64).sum()) for one in (again, kept.solution)
        )
        assert abs(np.log2(mine / theirs)) < BAR_STOPS, names[s]
    lamp, sun = names.index("LAMP"), names.index("sun")
    for s in (lamp, sun):
        assert_array_equal(again.direct[s], kept.solution.direct[s])
    assert_array_equal(again.radiosity[lamp], kept.solution.radiosity[lamp])


@pytest.mark.parametrize(("clock", "word"), HOURS)
def test_light_on_surfaces_equals_a_new_trace(kept: Kept, clock: str, word: str) -> None:
    """Sums over every named surface, straight and with all bounce, within the bar."""
    again = solution_at(kept.solution, kept.elements, kept.hour(clock, word))
    mine = landed(again, sunny=word != "overcast")
    theirs = landed(trace(stage_at(clock, word), SMALL))
    whole = sum(theirs.values())
    for name, wanted in theirs.items():
        if (wanted > 2e-3 * whole).all():  # else it is a handful of rays
            assert_allclose(np.log2(mine[name] / wanted), 0.0, atol=BAR_STOPS, err_msg=name)
    assert_allclose(np.log2(sum(mine.values()) / whole), 0.0, atol=0.005)


@pytest.mark.parametrize(("clock", "word"), HOURS)
def test_readings_equal_a_new_trace(kept: Kept, clock: str, word: str) -> None:
    """Flat, dome and spot: the bar, or four standard errors where these are more.

    Rays of a reading's own view of the room are as many on either side, so its error counts twice.
    """
    stage = stage_at(clock, word)
    direct, bounced = readings(kept, kept.hour(clock, word))
    straight, round_, error = traced(trace(stage, SMALL))
    off = np.abs(direct + bounced - straight - round_)
    bar = np.maximum((2.0**BAR_STOPS - 1.0) * (straight + round_), 4.0 * math.sqrt(2.0) * error)
    for k, probe in enumerate(stage.probes):
        assert off[k] <= bar[k], (probe.name, direct[k], bounced[k], straight[k], round_[k])


def shown(kept: Kept, name: str, clock: str, word: str, text: str) -> tuple[Float64Array, ...]:
    """Blocks of a picture re-mixed and traced, and the share of each that is the outside itself."""
    hour = kept.hour(clock, word)
    mine = solution_at(kept.solution, kept.elements, hour)
    fresh = stage_at(clock, word, text)
    theirs = trace(fresh, SMALL)
    width, height = SIZE
    seen = trace_view(theirs, fresh.views[name], width=width, height=height)
    view = kept.views[name]
    looking = np.zeros(len(seen.sights.points), np.float32)
    looking[view.outward] = 1.0
    bare = replace(seen, direct=looking[None])
    outside = (bare.direct[0] * seen.sights.weight).reshape(-1, SMALL.view_rays).mean(1)
    picture = np.zeros(width * height)
    picture[seen.order] = outside
    share = picture.reshape(height // SIDE, SIDE, width // SIDE, SIDE).mean((1, 3))
    return (
        blocks(view_at(view, mine, hour), mine, SIDE, sunny=word != "overcast"),
        blocks(seen, theirs, SIDE),
        share,
    )


@pytest.mark.parametrize("name", ["WIDE", "OUT"])
@pytest.mark.parametrize(("clock", "word"), HOURS)
def test_a_picture_of_the_room_equals_a_new_trace(
    kept_without_mirror: Kept, name: str, clock: str, word: str
) -> None:
    """Blocks of 6 × 6 pixels in which the outside itself is not seen."""
    mine, theirs, share = shown(kept_without_mirror, name, clock, word, WITHOUT_MIRROR)
    room = share < 0.01
    assert room.sum() >= 20
    assert_allclose(np.log2(mine / theirs)[room], 0.0, atol=BAR_STOPS)


@pytest.mark.parametrize(("clock", "word"), [("12:00", "overcast"), ("21:10", "clear")])
def test_a_picture_with_a_mirror_in_the_room_equals_a_new_trace(
    kept: Kept, clock: str, word: str
) -> None:
    """As above; light comes to the wall opposite by way of the mirror too."""
    mine, theirs, share = shown(kept, "WIDE", clock, word, TEXT)
    assert_allclose(np.log2(mine / theirs)[share < 0.01], 0.0, atol=BAR_STOPS)


@pytest.mark.parametrize(("clock", "word"), [("12:00", "overcast"), ("21:10", "clear")])
def test_a_picture_out_of_the_window_equals_a_new_trace(
    kept_without_mirror: Kept, clock: str, word: str
) -> None:
    """The same where the sky is seen over the roof and the hills, whose edges cross cells."""
    mine, theirs, share = shown(kept_without_mirror, "OUT", clock, word, WITHOUT_MIRROR)
    assert (share > 0.3).sum() >= 4
    assert_allclose(np.log2(mine / theirs)[share >= 0.01], 0.0, atol=BAR_STOPS)


@pytest.mark.parametrize(
    ("clock", "word"), [("12:00", "clear"), ("16:30", "broken cloud"), ("21:10", "clear")]
)
def test_other_rays_find_the_same(clock: str, word: str) -> None:
    """Seeds of their own on either side, so that it is not merely the same rays: by statistics.

    Five traces each; the means of sums over surfaces and of readings within 3.5 standard errors of
    both together, or within the bar where cells weigh more than chance.
    """
    mine: list[dict[str, Float64Array]] = []
    theirs: list[dict[str, Float64Array]] = []
    stage = stage_at(clock, word)
    for seed in range(101, 106):
        one = kept_with(seed)
        hour = one.hour(clock, word)
        mine.append(whole_and_parts(solution_at(one.solution, one.elements, hour)))
        mine[-1]["readings"] = np.add(*readings(one, hour))
        fresh = trace(stage, replace(SMALL, seed=seed + 50))
        theirs.append(whole_and_parts(fresh))
        theirs[-1]["readings"] = np.add(*traced(fresh)[:2])
    for name, light in theirs[0].items():
        if name != "readings" and not (light > 0.02 * theirs[0]["all"]).all():
            continue
        a, b = (np.array([each[name] for each in side]) for side in (mine, theirs))
        error = np.hypot(a.std(0, ddof=1), b.std(0, ddof=1)) / np.sqrt(len(a))
        off = np.abs(a.mean(0) - b.mean(0))
        bar = np.maximum(3.5 * error, (2.0**BAR_STOPS - 1.0) * b.mean(0))
        assert (off <= bar).all(), (name, off / b.mean(0), error / b.mean(0))


def whole_and_parts(solution: Solution) -> dict[str, Float64Array]:
    found = landed(solution)
    return {"all": np.sum(list(found.values()), axis=0)} | found


@functools.cache
def kept_with(seed: int) -> Kept:
    return kept_of(seed)
