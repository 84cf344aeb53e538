"""Finding the turns that put hands, feet and head where a pose wants them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

from figure_parts.body import Body
from figure_parts.pose import Turn, bone_motions, moved_point
from figure_parts.surface import Array

SOLE_M = 0.022
STIFFNESS_DEG = 40.0


@dataclass(frozen=True, slots=True)
class At:
    """A bone's beginning at a point (m); None leaves a way free.

    Told from the origin on the floor between the feet, or from where another bone begins.
    """

    bone: str
    x: float | None
    y: float | None
    z: float | None
    from_bone: str = ""
    near_m: float = 0.003


@dataclass(frozen=True, slots=True)
class Way:
    """One of a bone's axes, as it lies at rest in the figure's frame, turned to a direction.

    axis: "right", "ahead", "up" of the resting figure, "along" the bone, or "palm", out of it.
    """

    bone: str
    axis: str
    to: tuple[float, float, float]
    near_rad: float = 0.03


@dataclass(frozen=True, slots=True)
class SoleHeight:
    """A foot flat on the floor at its own height."""

    side: str


Goal = At | Way | SoleHeight


def solved_turns(
    body: Body, turns: tuple[Turn, ...], free: tuple[tuple[str, str], ...], goals: tuple[Goal, ...]
) -> tuple[Turn, ...]:
    """The turns given, with further ones of the free bones that come nearest to the goals."""
    if not goals:
        return turns

    def all_turns(angles: Array) -> tuple[Turn, ...]:
        more = zip(free, angles, strict=True)
        return turns + tuple((bone, axis, float(deg)) for (bone, axis), deg in more)

    def misses(angles: Array) -> Array:
        motions = bone_motions(body, all_turns(angles))
        origin = origin_of(body, motions)
        parts = [_miss(body, motions, origin, goal) for goal in goals]
        return np.concatenate([*parts, angles / STIFFNESS_DEG])

    answer = least_squares(misses, np.zeros(len(free)), x_scale=10.0, diff_step=1e-3, max_nfev=60)
    return all_turns(np.round(answer.x, 3))


def origin_of(body: Body, motions: Array) -> Array:
    """On the floor between the feet."""
    feet = np.stack([_place(body, motions, f"foot.{s}") for s in "LR"])
    rest = body.head_of("foot.R")[2] - body.surface.points[:, 2].min() + SOLE_M
    return np.array([*feet[:, :2].mean(axis=0), feet[:, 2].min() - rest])


def _place(body: Body, motions: Array, bone: str) -> Array:
    return moved_point(body.head_of(bone), motions[body.bones.index(bone)])


def _miss(body: Body, motions: Array, origin: Array, goal: Goal) -> Array:
    if isinstance(goal, SoleHeight):
        height = _place(body, motions, f"foot.{goal.side}")[2] - origin[2]
        rest = body.head_of("foot.R")[2] - body.surface.points[:, 2].min() + SOLE_M
        return np.array([(height - rest) / 0.001])
    if isinstance(goal, At):
        start = _place(body, motions, goal.from_bone) if goal.from_bone else origin
        place = _place(body, motions, goal.bone) - start
        pairs = zip(place, (goal.x, goal.y, goal.z), strict=True)
        return np.array([(p - w) / goal.near_m for p, w in pairs if w is not None])
    wanted = np.asarray(goal.to) / np.linalg.norm(goal.to)
    turned = motions[body.bones.index(goal.bone)][:3, :3] @ rest_axis(body, goal.bone, goal.axis)
    miss: Array = (turned - wanted) / goal.near_rad
    return miss


def rest_axis(body: Body, bone: str, axis: str) -> Array:
    """A unit axis of a bone at rest."""
    if axis in ("right", "ahead", "up"):
        return np.eye(3)[("right", "ahead", "up").index(axis)]
    along = body.tail_of(bone) - body.head_of(bone)
    along /= np.linalg.norm(along)
    if axis == "along":
        return along
    side = bone[-1]
    across = body.head_of(f"finger5-1.{side}") - body.head_of(f"finger2-1.{side}")
    palm = np.cross(across, along) * (1.0 if side == "L" else -1.0)
    return palm / np.linalg.norm(palm)
