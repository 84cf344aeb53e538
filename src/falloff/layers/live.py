"""Layers of a scene that is being worked on: what a hand changes comes in passes, coarse first.

Every pass is exact in its own light; a coarse one has fewer pixels and rays, and while a fixture
is dragged the bounce and the other sources follow when it rests.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from falloff.layers.records import LightLayers, ViewLayers
from falloff.layers.store import keep_layers, kept_layers, warm_up
from falloff.layers.trace import develop_view
from falloff.stage import Stage, View
from falloff.transport import (
    Budget,
    Grasp,
    ProbeTrace,
    Progress,
    Settled,
    Solution,
    ViewTrace,
    drag_view,
    held_solution,
    picture_bounced,
    picture_direct,
    relight_view,
    retrace_view,
    seen_reflectance,
    settle_again,
    settle_dragged,
    silent,
    take_hold,
    trace,
    trace_probes,
    trace_view,
)
from falloff.types import Float32Array

Size = tuple[int, int]
Pass = Literal["coarse", "full"]
# The demo's too, so that what it has traced is found again.
LIVE_BUDGET: Final = Budget(view_rays=4, gather_rays=16, shadow_rays=2)
DRAG_SHADOW_RAYS: Final = 1  # for each of a pixel's rays while a unit is dragged
# A glance has a quarter of the pixels, one ray each, and readings with fewer rays.
GLANCE: Final = {
    "view_rays": 1,
    "shadow_rays": 2,
    "reading_shadow_rays": 16,
    "reading_gather_rays": 128,
    "hot_reading_rays": 16,
}


@dataclass(frozen=True, slots=True)
class LiveView:
    """One camera's rays, coarse and full, and its full pictures; None where not traced yet."""

    view: View
    size: Size
    coarse: ViewTrace | None
    full: ViewLayers | None


@dataclass(frozen=True, slots=True)
class Live:
    """A settled stage with its readings and the cameras that are looked through."""

    solution: Solution
    probes: ProbeTrace
    views: Mapping[str, LiveView]

    @property
    def stage(self) -> Stage:
        """The stage whose light it is."""
        return self.solution.stage

    @property
    def names(self) -> tuple[str, ...]:
        """Of the sources, in the order of every array."""
        return tuple(source.name for source in self.stage.sources)

    def layers(self) -> LightLayers:
        """The layers with those views whose full pictures are there."""
        return LightLayers(
            names=self.names,
            colours=np.array([s.colour for s in self.stage.sources], np.float64).reshape(-1, 3),
            solution=self.solution,
            probes=self.probes,
            views={name: one.full for name, one in self.views.items() if one.full is not None},
        )


@dataclass(frozen=True, slots=True)
class Shown:
    """One pass of one camera: pictures (n, h, w, 3) of some sources, readings, what is live now.

    sources: indices of the n sources; whole: these are all, and all are exact; direct, bounced:
    cd/m² at 100 % and white; ground: (h, w) luminous reflectance, None where it has not changed;
    probes: asks for the light of these sources at the readings; live: to go on from, or None.
    """

    view: str
    told: Pass
    sources: tuple[int, ...]
    whole: bool
    direct: Float32Array
    bounced: Float32Array
    ground: Float32Array | None
    probes: Callable[[], ProbeTrace]
    live: Live | None


def open_passes(
    stage: Stage,
    view: str,
    *,
    size: Size,
    before: Live | None = None,
    progress: Progress = silent,
) -> Iterator[Shown]:
    """A stage seen through a camera for the first time: from the cache, or coarse and then full.

    before: of the very same stage, whose solution is kept; None for a stage that is new.
    """
    sizes = {view: size}
    kept = None if before else kept_layers(stage, LIVE_BUDGET, sizes=sizes)
    if kept is not None:
        pictures = kept.views[view]
        held = LiveView(stage.views[view], size, None, pictures)
        live = Live(kept.solution, kept.probes, {view: held})
        yield _whole(live, view, "full", pictures, None)
        yield from _with_rays(live, view)
        return
    if before is None:
        warm_up()
        solution = trace(stage, LIVE_BUDGET, progress=progress)
        before = Live(solution, trace_probes(solution, stage.probes), {})
    yield from _seen_anew(before, view, size, progress)


def settle_passes(
    before: Live, stage: Stage, view: str, *, size: Size, progress: Progress = silent
) -> Iterator[Shown]:
    """A stage after a change, by the cheapest exact way; other cameras are traced when asked for.

    before: of the stage as it was. Equal to a trace from nothing.
    """
    settled = settle_again(before.solution, stage)
    probes = trace_probes(settled.solution, stage.probes)
    others: dict[str, LiveView] = {}
    if settled.way == "same":
        others = {
            name: one
            for name, one in before.views.items()
            if name != view and name in stage.views and _same_view(one.view, stage.views[name])
        }
    live = Live(settled.solution, probes, others)
    held = before.views.get(view)
    if (
        held is None
        or held.full is None
        or held.full.trace is None
        or held.coarse is None
        or held.size != size
        or settled.way == "anew"
        or not _same_view(held.view, stage.views[view])
    ):
        yield from _seen_anew(live, view, size, progress)
        return
    coarse, full = held.coarse, held.full
    if settled.way == "same":
        seen = held
    else:
        pictures = develop_view(_again(full.trace, before.solution, settled), settled.solution)
        seen = replace(held, coarse=_again(coarse, before.solution, settled), full=pictures)
    live = replace(live, views={**others, view: seen})
    assert seen.full is not None
    yield _whole(live, view, "full", seen.full, _ground(seen.full, stage))


def drag_passes(
    before: Live, stage: Stage, moved: str, *, view: str, grasp: Grasp | None = None
) -> Iterator[Shown]:
    """A source's own light while it is dragged: a glance, then full with its bounce.

    In the glance only its direct light has moved, and it has no bounce of its own: the last one
    is to be kept. Every other source's light is pending until the hand rests. grasp: by
    `take_hold` of this stage or of the one before, kept from move to move.
    """
    held = before.views[view]
    assert held.coarse is not None
    assert held.full is not None
    assert held.full.trace is not None
    s = before.names.index(moved)
    aside = held_solution(before.solution, stage, grasp or take_hold(stage, moved))
    glance = replace(aside, budget=replace(aside.budget, **GLANCE))
    seen = drag_view(held.coarse, glance, s)
    yield Shown(
        view,
        "coarse",
        (s,),
        whole=False,
        direct=picture_direct(seen, stage, s)[None],
        bounced=np.zeros((0, 0, 0, 3), np.float32),
        ground=None,
        probes=lambda: trace_probes(glance, stage.probes, only=(s,)),
        live=None,
    )
    quick = replace(aside, budget=replace(aside.budget, shadow_rays=DRAG_SHADOW_RAYS))
    solution = settle_dragged(quick, s)
    seen = drag_view(held.full.trace, solution, s)
    bounced = picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s])
    yield Shown(
        view,
        "full",
        (s,),
        whole=False,
        direct=picture_direct(seen, stage, s)[None],
        bounced=bounced[None],
        ground=None,
        probes=lambda: trace_probes(solution, stage.probes, only=(s,)),
        live=None,
    )


# Parts -----------------------------------------------------------------------------------


def _seen_anew(live: Live, view: str, size: Size, progress: Progress) -> Iterator[Shown]:
    """A camera's rays traced over a solution: coarse, then full, which is kept in the cache."""
    solution, stage = live.solution, live.stage
    coarse = _coarse_view(solution, stage.views[view], size)
    pictures = develop_view(coarse, solution)
    half = replace(
        live, views={**live.views, view: LiveView(stage.views[view], size, coarse, None)}
    )
    yield _whole(half, view, "coarse", pictures, seen_reflectance(coarse, stage))
    width, height = size
    traced = trace_view(solution, stage.views[view], width=width, height=height, progress=progress)
    full = develop_view(traced, solution)
    seen = LiveView(stage.views[view], size, coarse, full)
    done = replace(live, views={**live.views, view: seen})
    yield _whole(done, view, "full", full, _ground(full, stage))
    alone = replace(done, views={view: seen})
    keep_layers(alone.layers(), sizes={view: size})


def _with_rays(live: Live, view: str) -> Iterator[Shown]:
    """Layers from the cache get the rays that a drag needs; the pictures stay as they are."""
    held = live.views[view]
    assert held.full is not None
    width, height = held.size
    coarse = _coarse_view(live.solution, held.view, held.size)
    traced = trace_view(live.solution, held.view, width=width, height=height)
    full = replace(held.full, trace=traced)
    ready = replace(live, views={view: replace(held, coarse=coarse, full=full)})
    yield _whole(ready, view, "full", full, _ground(full, live.stage))


def _coarse_view(solution: Solution, view: View, size: Size) -> ViewTrace:
    glance = replace(solution, budget=replace(solution.budget, **GLANCE))
    return trace_view(glance, view, width=max(1, size[0] // 2), height=max(1, size[1] // 2))


def _again(seen: ViewTrace | None, old: Solution, settled: Settled) -> ViewTrace:
    """A view's rays after a change that left its camera where it was."""
    assert seen is not None
    rays = len(seen.sights.points) // (seen.width * seen.height)
    new = settled.solution
    if rays != new.budget.view_rays:
        new = replace(new, budget=replace(new.budget, **GLANCE))
    if settled.way == "moved":
        assert settled.moved is not None
        return retrace_view(seen, old, new, settled.moved)
    return relight_view(seen, old, new)


def _whole(
    live: Live, view: str, told: Pass, pictures: ViewLayers, ground: Float32Array | None
) -> Shown:
    every = tuple(range(len(live.names)))
    return Shown(
        view,
        told,
        every,
        whole=True,
        direct=pictures.direct,
        bounced=pictures.bounced,
        ground=ground,
        probes=lambda: live.probes,
        live=live,
    )


def _ground(full: ViewLayers, stage: Stage) -> Float32Array:
    assert full.trace is not None
    return seen_reflectance(full.trace, stage)


def _same_view(a: View, b: View) -> bool:
    return (
        a.tan_half_width == b.tan_half_width
        and a.tan_half_height == b.tan_half_height
        and np.array_equal(a.eye, b.eye)
        and np.array_equal(a.forward, b.forward)
    )
