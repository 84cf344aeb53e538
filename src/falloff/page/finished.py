"""Finished pictures and points of the frame, over what the worker has traced."""

from __future__ import annotations

import io
from typing import Any, Final

import numpy as np

from falloff.camera import develop, expose
from falloff.layers import LightLayers, Live, open_passes, settle_passes
from falloff.page.tasks import PictureTask
from falloff.page.told import cannot
from falloff.readings import SetupLight
from falloff.session.scene import setup_light
from falloff.stage import OFFSET_M, stand
from falloff.transport import (
    Progress,
    morton_order,
    picture_bounced,
    picture_direct,
    trace_view,
)
from falloff.types import Float32Array

_PIXELS_AT_ONCE: Final = 240_000  # of a finished picture: what a pause of some seconds makes


def write_picture(task: PictureTask, live: Live | None, progress: Progress) -> bytes:
    """A setup's finished picture as PNG; raises FalloffError for a scene that cannot be built."""
    setup = setup_light(task.standing, task.setup)
    if task.kind == "earlier":
        layers = setup.coloured(_earlier(task, live, progress))
        frame = expose(layers.pictures(setup.camera), setup.dims, setup.settings)
    else:
        frame = expose({"all": _full(task, live, setup, progress)}, {}, setup.settings)
    progress("picture", 0.98)
    from PIL import Image

    held = io.BytesIO()
    Image.fromarray(develop(frame.picture, setup.settings)).save(held, "PNG", compress_level=4)
    return held.getvalue()


def _earlier(task: PictureTask, live: Live | None, progress: Progress) -> LightLayers:
    """Layers of another state of the scene, from those of this one where they are near."""
    stage = stand(task.standing).stage
    view = stage.views[task.sight.camera]
    high = max(1, round(task.width * view.tan_half_height / view.tan_half_width))
    size = (task.width, high)
    if live is not None and task.sight.camera in live.views:
        passes = settle_passes(live, stage, task.sight.camera, size=size, progress=progress)
    else:
        passes = open_passes(stage, task.sight.camera, size=size, progress=progress)
    last: Live | None = None
    for shown in passes:
        progress("picture", 0.5)
        if shown.live is not None and shown.told == "full":
            last = shown.live
            break
    assert last is not None
    return last.layers()


def _full(
    task: PictureTask, live: Live | None, setup: SetupLight, progress: Progress
) -> Float32Array:
    """The scene now (h, w, 3) at the setup's dims, cd/m², a part of its pixels at a time."""
    if live is None:
        raise cannot("nothing is traced yet", "wait for the first picture")
    solution, stage = live.solution, live.stage
    view = stage.views[task.sight.camera]
    high = max(1, round(task.width * view.tan_half_height / view.tan_half_width))
    gains = setup.gains({one.name: np.asarray(one.colour, np.float64) for one in stage.sources})
    order = morton_order(task.width, high)
    picture = np.zeros((high, task.width, 3), np.float32)
    for first in range(0, len(order), _PIXELS_AT_ONCE):
        part = order[first : first + _PIXELS_AT_ONCE]
        done, more = first / len(order), len(part) / len(order)

        def told(name: str, share: float, done: float = done, more: float = more) -> None:
            progress(name, 0.97 * (done + more * share))

        traced = trace_view(solution, view, width=task.width, height=high, part=part, progress=told)
        for s, source in enumerate(stage.sources):
            light = picture_direct(traced, stage, s)
            light += picture_bounced(traced, solution, solution.radiosity[s], solution.hot[s])
            picture += light * gains[source.name].astype(np.float32)
    return picture


def point_at(live: Live, camera: str, x: float, y: float) -> dict[str, Any] | None:
    """The surface at a place in the frame (shares from its upper left): point and normal.

    None where no surface is seen there or the camera's rays are not traced yet.
    """
    held = live.views.get(camera)
    if held is None or held.full is None or held.full.trace is None:
        return None
    trace = held.full.trace
    column = min(trace.width - 1, max(0, int(x * trace.width)))
    row = min(trace.height - 1, max(0, int(y * trace.height)))
    pixel = np.flatnonzero(trace.order == row * trace.width + column)
    rays = len(trace.sights.points) // (trace.width * trace.height)
    first = int(pixel[0]) * rays
    materials = live.stage.material_names
    for ray in range(first, first + rays):
        material = int(trace.sights.material[ray])
        if material < len(materials) and trace.sights.seen[ray] < 0:
            normal = trace.sights.normals[ray].astype(np.float64)
            point = trace.sights.points[ray] - OFFSET_M * normal
            return {
                "x_m": round(float(point[0]), 3),
                "y_m": round(float(point[1]), 3),
                "z_m": round(float(point[2]), 3),
                "normal": [round(float(one), 4) for one in normal],
                "surface": materials[material],
            }
    return None
