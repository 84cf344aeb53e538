"""What the worker keeps of one arrangement, and the passes by which its light comes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from falloff.layers import Live, Shown, drag_passes, open_passes, settle_passes
from falloff.page.at_hours import Hours, has_hour
from falloff.page.tasks import SceneTask, Sight
from falloff.readings import ReadingsMatrix
from falloff.stage import Standing
from falloff.transport import Grasp, Progress, take_hold
from falloff.types import Float32Array


@dataclass(slots=True)
class Place:
    """One arrangement as it is traced: how it stands, its light, its readings, the last bounce."""

    standing: Standing
    live: Live
    matrix: ReadingsMatrix | None
    bounced: dict[tuple[str, int], Float32Array] = field(default_factory=dict)
    grasp: Grasp | None = None
    hours: Hours | None = None


def passes_of(
    scene: SceneTask,
    sight: Sight,
    standing: Standing,
    before: Place | None,
    *,
    progress: Progress,
) -> Iterator[Shown]:
    """What is to be shown of a sight, coarse first; before: the place as it was, None if new."""
    stage = standing.stage
    view = stage.views[sight.camera]
    high = max(1, round(scene.width * view.tan_half_height / view.tan_half_width))
    size = (scene.width, high)
    if before is None:
        return open_passes(stage, sight.camera, size=size, progress=progress)
    held = before.live.views.get(sight.camera)
    if scene.moving is not None and held is not None:
        return _while_moving(scene.moving, sight, standing, before, progress=progress)
    return settle_passes(before.live, stage, sight.camera, size=size, progress=progress)


def _while_moving(
    moving: str, sight: Sight, standing: Standing, before: Place, *, progress: Progress
) -> Iterator[Shown]:
    """What can be shown at once: a light's own layer, or what a moved camera sees."""
    old, new = before.live.stage, standing.stage
    held = before.live.views[sight.camera]
    if moving == sight.camera:
        return settle_passes(before.live, new, sight.camera, size=held.size, progress=progress)
    alike = (
        moving in before.live.names
        and moving in old.bodies
        and list(old.bodies) == list(new.bodies)
        and all(old.bodies[n].elements == new.bodies[n].elements for n in old.bodies)
    )
    if not alike or held.coarse is None or held.full is None or held.full.trace is None:
        return iter(())
    if before.grasp is None or not before.grasp.fits(new, moving):
        before.grasp = take_hold(new, moving)
    return drag_passes(before.live, new, moving, view=sight.camera, grasp=before.grasp)


def make_ready(place: Place | None, name: str) -> None:
    """Make ready to drag what a hand has chosen, if it is a light of the place."""
    if place is None or name not in place.live.stage.bodies or name not in place.live.names:
        return
    stage = place.live.stage
    if place.grasp is None or not place.grasp.fits(stage, name):
        place.grasp = take_hold(stage, name)


def hours_of(place: Place | None, standing: Standing, live: Live) -> Hours | None:
    """What a place needs to be shown at any hour; None where its scene has no hour."""
    if not has_hour(standing.document, live):
        return None
    known = None if place is None else place.hours
    return (
        Hours(standing.document, live) if known is None else known.follow(standing.document, live)
    )


def reduced(picture: Float32Array, shape: tuple[int, ...]) -> Float32Array:
    """A picture (h, w, 3) at about half its size: means of two by two; itself where it fits."""
    height, width = shape[0], shape[1]
    if picture.shape[:2] == (height, width):
        return picture
    cut = picture[: 2 * height, : 2 * width]
    if cut.shape[:2] != (2 * height, 2 * width):
        rows = np.arange(height) * picture.shape[0] // height
        columns = np.arange(width) * picture.shape[1] // width
        return np.asarray(picture[rows][:, columns])
    return np.asarray(cut.reshape(height, 2, width, 2, 3).mean((1, 3), dtype=np.float32))
