"""Finished pictures and points of the frame, over what the worker has traced."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any, Final

import numpy as np

from falloff.camera import develop, expose
from falloff.layers import LightLayers, Live, open_passes, settle_passes
from falloff.layers.trace import develop_view
from falloff.page.tasks import PictureTask
from falloff.session.scene import setup_light
from falloff.stage import OFFSET_M, stand
from falloff.transport import Progress, trace_view

_RAYS_IN_MEMORY: Final = 5_000_000  # of a view at once


def write_picture(task: PictureTask, live: Live | None, progress: Progress) -> bytes:
    """A setup's finished picture as PNG; raises FalloffError for a scene that cannot be built."""
    if task.kind == "earlier":
        layers = _earlier(task, live, progress)
    else:
        layers = _full(task, live, progress)
    setup = setup_light(task.standing, task.setup)
    own = setup.coloured(layers)
    frame = expose(own.pictures(setup.camera), setup.dims, setup.settings)
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


def _full(task: PictureTask, live: Live | None, progress: Progress) -> LightLayers:
    """The scene now, its camera's rays traced at the width asked for."""
    assert live is not None, "a picture is asked for once the scene has been traced"
    stage = live.stage
    view = stage.views[task.sight.camera]
    high = max(1, round(task.width * view.tan_half_height / view.tan_half_width))
    rays = live.solution.budget.view_rays
    while rays > 1 and rays * task.width * high > _RAYS_IN_MEMORY:
        rays //= 2
    solution = replace(live.solution, budget=replace(live.solution.budget, view_rays=rays))
    traced = trace_view(solution, view, width=task.width, height=high, progress=progress)
    pictures = develop_view(traced, solution)
    return replace(live.layers(), views={task.sight.camera: pictures})


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
