"""A live scene at another hour: a coarse picture of its daylight at once, while a hand drags time.

Nothing but the sun is traced: openings are re-mixed from rays that were kept when the hour was
first taken hold of. Let go, the scene is settled as after any other change.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from falloff.layers.hours import HourLayers, keep_hours, read_hour
from falloff.layers.live import GLANCE, Live, Shown
from falloff.sources import Source
from falloff.transport import (
    HourLight,
    KeptView,
    ProbeTrace,
    Solution,
    hour_light,
    keep_view,
    picture_bounced,
    picture_direct,
    solution_at,
    view_at,
)
from falloff.types import Float32Array


@dataclass(frozen=True, slots=True)
class LiveHours:
    """What a camera of a live scene needs to be shown at any hour."""

    live: Live
    view: str
    coarse: KeptView
    kept: HourLayers

    def fits(self, live: Live, view: str) -> bool:
        """Whether it is of this very light, seen through this camera."""
        return live.solution is self.live.solution and view == self.view


def take_hours(live: Live, view: str) -> LiveHours:
    """Keep the rays that go outside, of a scene whose coarse picture has been traced."""
    held = live.views[view]
    assert held.coarse is not None
    glance = replace(live.solution, budget=replace(live.solution.budget, **GLANCE))
    layers = replace(live, views={}).layers()
    return LiveHours(live, view, keep_view(glance, held.coarse), keep_hours(layers))


def hour_glance(hours: LiveHours, sources: tuple[Source, ...]) -> Shown:
    """A coarse picture of a scene's daylight at another hour, with its bounce and its readings.

    sources: its daylight then, under the names that it has; all else keeps its light. Layers are
    white times what each colour is over the one that the scene has now, so that they are weighed
    by the colours of now.
    """
    stage = hours.live.stage
    hour = hour_light(stage, sources)
    glance = replace(hours.live.solution, budget=replace(hours.live.solution.budget, **GLANCE))
    solution = solution_at(glance, hours.kept.elements, hour)
    seen = view_at(hours.coarse, solution, hour)
    which = tuple(sorted(hour.sources))
    tints = {s: _tint(stage.sources[s], hour.sources[s]) for s in which}
    direct = [tints[s] * picture_direct(seen, solution.stage, s) for s in which]
    bounced = [
        tints[s] * picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s])
        for s in which
    ]
    return Shown(
        hours.view,
        "coarse",
        which,
        whole=False,
        direct=np.stack(direct),
        bounced=np.stack(bounced),
        ground=None,
        probes=lambda: _probes(hours, hour, solution, tints),
        live=None,
    )


def _probes(
    hours: LiveHours, hour: HourLight, solution: Solution, tints: dict[int, Float32Array]
) -> ProbeTrace:
    """The readings' daylight as a trace of one replicate, with the gather lists of the scene."""
    read = read_hour(hours.kept, hour)
    probes = hours.live.probes
    shape = (len(solution.stage.sources), len(probes.probes), 3, 1)
    direct, bounced = np.zeros(shape), np.zeros(shape)
    for s in hour.sources:
        direct[s, :, :, 0] = read.direct[s] * tints[s]
        bounced[s, :, :, 0] = read.bounced[s] * tints[s]
    return ProbeTrace(probes.probes, direct, bounced, probes.ids)


def _tint(now: Source, then: Source) -> Float32Array:
    return np.asarray(then.colour / np.maximum(now.colour, 1e-6), np.float32)
