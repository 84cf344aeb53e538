"""The bars of the day: one trace, then a day, an hour's picture; medians, in one run.

Run: python bench/day_bench.py [SCENE], a scene with a location and an hour.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

from falloff.day import through_day
from falloff.document import arranged, instant_of
from falloff.layers import hour_glance, keep_hours, open_passes, take_hours, trace_layers
from falloff.session import location_file
from falloff.session.day import dated
from falloff.session.scene import known_names, read_document, setup_light
from falloff.stage import build_stage, skies_by_hour
from falloff.transport import Budget, keep_view, trace, trace_probes, trace_view

TIMES = 5


def median_s(work: object, times: int = TIMES) -> float:
    work()  # compiled and warm
    took = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        took.append(time.perf_counter() - began)
    return statistics.median(took)


def main(path: Path) -> None:
    document = dated(read_document(path, known=known_names()), ())
    name = next(iter(document.setups))
    standing = arranged(document, name)
    stage, light = build_stage(standing), setup_light(standing, name)
    camera, budget = light.camera, Budget()
    layers = trace_layers(stage, budget, sizes={})

    def plain() -> None:
        trace_probes(trace(stage, budget), stage.probes)

    trace_s = median_s(plain)
    keep_s = median_s(lambda: keep_hours(layers))
    print(f"trace and readings       {trace_s:7.3f} s")
    print(f"kept for hours, besides  {keep_s:7.3f} s   {(trace_s + keep_s) / trace_s:.2f} x plain")
    view = stage.views[camera]
    traced = trace_view(layers.solution, view, width=640, height=360)
    view_s = median_s(lambda: trace_view(layers.solution, view, width=640, height=360), 3)
    kept_view_s = median_s(lambda: keep_view(layers.solution, traced), 3)
    print(f"picture, 640 x 360       {view_s:7.3f} s")
    ratio = (view_s + kept_view_s) / view_s
    print(f"kept for hours, besides  {kept_view_s:7.3f} s   {ratio:.2f} x plain")
    kept = keep_hours(layers)
    count = len(through_day(kept, standing, light).moments)
    day_s = median_s(lambda: through_day(kept, standing, light), 3)
    print(f"a day, {count} moments       {day_s:7.3f} s   {1000 * day_s / count:.1f} ms each")
    last = None
    for shown in open_passes(replace(stage), camera, size=(640, 360)):
        last = shown.live or last
    assert last is not None
    hours = take_hours(last, camera)
    at, hour = skies_by_hour(standing), instant_of(standing)
    assert hour is not None
    glance_s = median_s(lambda: hour_glance(hours, at(hour, None).sources).probes())
    print(f"an hour's coarse picture {glance_s:7.3f} s   {1 / glance_s:.1f} a second")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else location_file("workshop"))
