"""Trace every source once, and again only where a moved body can matter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from falloff.layers.records import Dragged, LightLayers, ViewLayers
from falloff.stage import Stage
from falloff.transport import (
    Budget,
    Progress,
    Solution,
    ViewTrace,
    drag_solution,
    drag_view,
    picture_bounced,
    picture_direct,
    retrace,
    retrace_view,
    silent,
    trace,
    trace_probes,
    trace_view,
)


def trace_layers(
    stage: Stage,
    budget: Budget | None = None,
    *,
    sizes: Mapping[str, tuple[int, int]],
    progress: Progress = silent,
) -> LightLayers:
    """Light layers of a stage: probes, and the views named in `sizes` at (width, height) pixels."""
    solution = trace(stage, budget or Budget(), progress=progress)
    views = {}
    for name, (width, height) in sizes.items():
        traced = trace_view(
            solution, stage.views[name], width=width, height=height, progress=progress
        )
        views[name] = develop_view(traced, solution)
    return LightLayers(
        names=tuple(source.name for source in stage.sources),
        colours=np.array([source.colour for source in stage.sources], np.float64).reshape(-1, 3),
        solution=solution,
        probes=trace_probes(solution, stage.probes),
        views=views,
    )


def move_body(layers: LightLayers, stage: Stage, moved: str) -> LightLayers:
    """The layers once `moved` stands where `stage` has it; equal to a trace from nothing."""
    old = layers.solution
    solution = retrace(old, stage, moved)
    views = {}
    for name, view in layers.views.items():
        assert view.trace is not None, "a view read from the cache keeps no rays to move by"
        views[name] = develop_view(retrace_view(view.trace, old, solution, moved), solution)
    return replace(
        layers, solution=solution, probes=trace_probes(solution, stage.probes), views=views
    )


def drag_fixture(layers: LightLayers, stage: Stage, moved: str, *, view: str) -> Dragged:
    """The moved fixture's own layer while it is dragged; the others are pending."""
    traced = layers.views[view].trace
    assert traced is not None
    s = layers.names.index(moved)
    solution = drag_solution(layers.solution, stage, s)
    seen = drag_view(traced, solution, s)
    return Dragged(
        source=s,
        direct=picture_direct(seen, stage, s),
        bounced=picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s]),
        probes=trace_probes(solution, stage.probes, only=(s,)),
    )


def develop_view(traced: ViewTrace, solution: Solution) -> ViewLayers:
    """A view's rays as pictures, source by source."""
    count = len(solution.stage.sources)
    shape = (count, traced.height, traced.width, 3)
    direct, bounced = np.empty(shape, np.float32), np.empty(shape, np.float32)
    for s in range(count):
        direct[s] = picture_direct(traced, solution.stage, s)
        bounced[s] = picture_bounced(traced, solution, solution.radiosity[s], solution.hot[s])
    for array in (direct, bounced):
        array.setflags(write=False)
    return ViewLayers(direct, bounced, traced)
