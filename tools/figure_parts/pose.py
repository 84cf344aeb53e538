"""Turning bones and carrying the skin along."""

from __future__ import annotations

import numpy as np

from figure_parts.body import Body
from figure_parts.surface import Array

# One turn: bone, axis, degrees. Axis "x", "y", "z" is the figure's own at rest (right, forward,
# up); "along" is the bone itself; "hinge" the axis square to the bone and its parent; "curl" runs
# across the palm, so that a positive turn closes the hand; "spread" stands on the palm.
Turn = tuple[str, str, float]


def bone_motions(body: Body, turns: tuple[Turn, ...]) -> Array:
    """Rigid motions (bones, 4, 4) from rest to the pose, parents first."""
    local = {name: np.eye(3) for name in body.bones}
    for bone, axis, degrees in turns:
        local[bone] = _turn(_axis(body, bone, axis), np.radians(degrees)) @ local[bone]
    motions = np.zeros((len(body.bones), 4, 4))
    for k, name in enumerate(body.bones):
        motion = np.eye(4)
        motion[:3, :3] = local[name]
        motion[:3, 3] = body.heads_m[k] - local[name] @ body.heads_m[k]
        parent = body.parents[k]
        motions[k] = motion if parent < 0 else motions[parent] @ motion
    return motions


def mirrored(turns: tuple[Turn, ...]) -> tuple[Turn, ...]:
    """The turns given for the right side (.R), with their mirror images on the left."""
    both = []
    for bone, axis, degrees in turns:
        both.append((bone, axis, degrees))
        if bone.endswith(".R"):
            sign = 1.0 if axis in ("x", "hinge", "curl") else -1.0
            both.append((bone[:-2] + ".L", axis, sign * degrees))
    return tuple(both)


def carried(points: Array, weights: Array, motions: Array) -> Array:
    """Points (n, 3) carried by the bones with the weights (n, bones) given."""
    blended = np.tensordot(weights, motions, axes=1)
    return np.einsum("nij,nj->ni", blended[:, :3, :3], points) + blended[:, :3, 3]


def moved_point(point: Array, motion: Array) -> Array:
    """One point carried rigidly."""
    return motion[:3, :3] @ point + motion[:3, 3]


def _axis(body: Body, bone: str, axis: str) -> Array:
    if axis in "xyz":
        return np.eye(3)["xyz".index(axis)]
    along = body.tail_of(bone) - body.head_of(bone)
    if axis in ("curl", "spread"):
        curl = _across_palm(body, bone[-1])
        return curl if axis == "curl" else np.cross(curl, along / np.linalg.norm(along))
    if axis == "along":
        return along / np.linalg.norm(along)
    parent = body.parents[body.bones.index(bone)]
    hinge = np.cross(body.tails_m[parent] - body.heads_m[parent], along)
    return hinge / np.linalg.norm(hinge)


def _across_palm(body: Body, side: str) -> Array:
    across = body.head_of(f"finger5-1.{side}") - body.head_of(f"finger2-1.{side}")
    first = body.tail_of(f"finger3-1.{side}") - body.head_of(f"finger3-1.{side}")
    last = body.tail_of(f"finger3-3.{side}") - body.head_of(f"finger3-3.{side}")
    across *= np.sign(across @ np.cross(first, last))
    unit: Array = across / np.linalg.norm(across)
    return unit


def _turn(axis: Array, angle_rad: float) -> Array:
    """Rotation by the right hand about a unit axis (Rodrigues' formula)."""
    x, y, z = axis
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    turn: Array = np.eye(3) + np.sin(angle_rad) * skew + (1 - np.cos(angle_rad)) * skew @ skew
    return turn
