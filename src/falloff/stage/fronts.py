"""A light's front in place, and the faces, rims and bodies that lights are made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.document import Barndoors
from falloff.sources import ellipse_outline, regular_outline
from falloff.stage.dice import PieceBuilder
from falloff.stage.solids import add_box, add_cylinder
from falloff.types import Float32Array, Float64Array

FRONT_GAP_M = 0.002  # an emitting face stands this far before the body that carries it
_RIM_CORNERS = 24
_TUBE_SIDES = 24
_LEAF_THICKNESS_M = 0.003
_LEAF_OF_MOUTH = 0.9  # a leaf's length over the mouth's width: common practice, no source
_UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True, slots=True)
class Front:
    """A light's front: its middle, the way it looks, two ways square to that, and its light.

    level × rise = axis; seen from behind the light, level points left.
    """

    name: str
    middle: Float64Array
    axis: Float64Array
    level: Float64Array
    rise: Float64Array
    flux_lm: float
    colour: Float32Array
    power_w: float | None


def frame_of(axis: Float64Array, roll_rad: float = 0.0) -> tuple[Float64Array, Float64Array]:
    """Level and rising unit vectors square to an axis, then rolled; level × rise = axis.

    roll_rad: clockwise as seen from behind, looking along the axis.
    """
    helper = _UP if abs(axis[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    level = np.cross(helper, axis)
    level /= np.linalg.norm(level)
    rise = np.cross(axis, level)
    if roll_rad == 0.0:
        return level, rise
    cosine, sine = math.cos(roll_rad), math.sin(roll_rad)
    return cosine * level + sine * rise, cosine * rise - sine * level


def outline_of(shape: str, width_m: float, height_m: float) -> Float64Array:
    """Corners (n, 2) of a round or octagonal front about its middle, metres."""
    if shape == "round":
        return ellipse_outline(width_m, height_m)
    return regular_outline(8, between_sides_m=1.0) * (width_m, height_m)


# Faces that shine ------------------------------------------------------------------------


def add_disc(builder: PieceBuilder, front: Front, radius_m: float) -> None:
    """A round mouth."""
    angle = np.linspace(0.0, 2.0 * math.pi, _RIM_CORNERS + 1)[:-1]
    rim = radius_m * np.stack([np.cos(angle), np.sin(angle)], 1)
    add_outline(builder, front, rim, "black metal")


def add_outline(
    builder: PieceBuilder, front: Front, outline_m: Float64Array, material: str
) -> None:
    """A flat front with any convex rim, (n, 2) about its middle along level and rise."""
    rim = front.middle + outline_m[:, :1] * front.level + outline_m[:, 1:] * front.rise
    onward = np.roll(rim, -1, axis=0)
    corners = np.stack([np.broadcast_to(front.middle, rim.shape), rim, onward], 1)
    builder.add_mesh(
        corners,
        normals=np.broadcast_to(front.axis, corners.shape),
        material=material,
        name="front",
        source=front.name,
    )


def add_ball(
    builder: PieceBuilder, centre: Float64Array, *, radius_m: float, material: str, source: str
) -> None:
    """A ball that shines from all of its surface."""
    corners, normals = _ball_mesh(centre, radius_m)
    builder.add_mesh(corners, normals=normals, material=material, source=source)


def add_tube(builder: PieceBuilder, front: Front, length_m: float, radius_m: float) -> None:
    """A tube along the front's level way that shines from its side, with dark ends."""
    angle = np.linspace(0.0, 2.0 * math.pi, _TUBE_SIDES + 1)
    way = np.cos(angle)[:, None] * front.rise + np.sin(angle)[:, None] * front.axis
    half = 0.5 * length_m * front.level
    low, high = front.middle - half + radius_m * way, front.middle + half + radius_m * way
    corners = np.concatenate(
        [
            np.stack([low[:-1], low[1:], high[1:]], 1),
            np.stack([low[:-1], high[1:], high[:-1]], 1),
        ]
    )
    first, second = way[:-1], way[1:]
    normals = np.concatenate(
        [np.stack([first, second, second], 1), np.stack([first, second, first], 1)]
    )
    builder.add_mesh(corners, normals=normals, material="opal glass", source=front.name)
    for rim, facing in ((low[::-1], -front.level), (high, front.level)):
        centre = np.broadcast_to(rim[:-1].mean(0), rim[:-1].shape)
        cap = np.stack([centre, rim[:-1], rim[1:]], 1)
        builder.add_mesh(cap, normals=np.broadcast_to(facing, cap.shape), material="black metal")


# Bodies ----------------------------------------------------------------------------------


def add_case(
    builder: PieceBuilder, front: Front, size_m: tuple[float, float], depth_m: float
) -> None:
    """A closed box behind a rectangular front."""
    middle = front.middle - (0.5 * depth_m + FRONT_GAP_M) * front.axis
    axes = (front.level, front.rise, front.axis)
    add_box(builder, middle, axes, (*size_m, depth_m), "black metal", "body")


def add_can(builder: PieceBuilder, front: Front, radius_m: float, depth_m: float) -> None:
    """A closed cylinder behind a round mouth."""
    low = front.middle - depth_m * front.axis
    high = front.middle - FRONT_GAP_M * front.axis
    add_cylinder(builder, low, high, radius_m, "black metal")


def add_prism(builder: PieceBuilder, front: Front, outline_m: Float64Array, depth_m: float) -> None:
    """A closed body behind a front with any convex rim, (n, 2) about its middle."""
    rim = front.middle + outline_m[:, :1] * front.level + outline_m[:, 1:] * front.rise
    near, far = rim - FRONT_GAP_M * front.axis, rim - (FRONT_GAP_M + depth_m) * front.axis
    near_on, far_on = np.roll(near, -1, axis=0), np.roll(far, -1, axis=0)
    sides = np.concatenate([np.stack([near, far, far_on], 1), np.stack([near, far_on, near_on], 1)])
    facing = np.cross(sides[:, 1] - sides[:, 0], sides[:, 2] - sides[:, 0])
    facing /= np.linalg.norm(facing, axis=1, keepdims=True)
    builder.add_mesh(
        sides, normals=facing[:, None].repeat(3, 1), material="black metal", name="body"
    )
    for one, onward, way in ((near, near_on, front.axis), (far_on, far, -front.axis)):
        cap = np.stack([np.broadcast_to(one.mean(0), one.shape), one, onward], 1)
        builder.add_mesh(
            cap, normals=np.broadcast_to(way, cap.shape), material="black metal", name="body"
        )


def add_barndoors(builder: PieceBuilder, front: Front, mouth_m: float, doors: Barndoors) -> None:
    """The opaque leaves round a mouth, each hinged just outside it."""
    length = _LEAF_OF_MOUTH * mouth_m if doors.length is None else doors.length.si
    hinge = 0.5 * mouth_m + FRONT_GAP_M + _LEAF_THICKNESS_M
    for leaf, out in (
        (doors.left, front.level),
        (doors.right, -front.level),
        (doors.top, front.rise),
        (doors.bottom, -front.rise),
    ):
        if leaf is None:
            continue
        along = math.cos(leaf.si) * front.axis + math.sin(leaf.si) * out
        across = np.cross(front.axis, out)
        middle = front.middle + hinge * out + (FRONT_GAP_M + 0.5 * length) * along
        axes = (across, along, np.cross(across, along))
        size = (1.1 * mouth_m, length, _LEAF_THICKNESS_M)
        add_box(builder, middle, axes, size, "black metal", "barndoor")


_USUAL_POLE_M: Final = 1.8  # stands are cut as if so high, so that a raised one is cut alike
_USUAL_FOOT_M: Final = 0.6


def add_stand(builder: PieceBuilder, top: Float64Array, drop_m: float) -> None:
    """A pole from the floor to the underside of what it holds, on three feet."""
    foot = np.array([top[0], top[1], 0.004])
    high = np.array([top[0], top[1], max(0.1, top[2] - drop_m)])
    usual = (np.zeros(3), np.array([0.0, 0.0, _USUAL_POLE_M]))
    add_cylinder(builder, foot, high, 0.0125, "black metal", cut_as=usual)
    for k in range(3):
        angle = 0.4 + k * 2.0 * math.pi / 3.0
        out = np.array([math.cos(angle), math.sin(angle), 0.0])
        knee = foot + np.array([0.0, 0.0, min(0.45, 0.5 * high[2])])
        ends = (foot + 0.42 * out + 0.01 * _UP, knee)
        usual = (np.zeros(3), np.array([0.0, 0.0, _USUAL_FOOT_M]))
        add_cylinder(builder, *ends, 0.009, "black metal", cut_as=usual)


def _ball_mesh(centre: Float64Array, radius_m: float) -> tuple[Float64Array, Float64Array]:
    """A ball as an octahedron halved four times: (2048, 3, 3) corners and normals."""
    x, y, z = np.eye(3)
    triangles = np.array(
        [
            [sx * x, sy * y, sz * z] if sx * sy * sz > 0 else [sy * y, sx * x, sz * z]
            for sx in (1, -1)
            for sy in (1, -1)
            for sz in (1, -1)
        ]
    )
    for _ in range(4):
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        ab, bc, ca = (_unit(p + q) for p, q in ((a, b), (b, c), (c, a)))
        triangles = np.concatenate(
            [np.stack(t, 1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )
    return centre + radius_m * triangles, triangles


def _unit(vectors: Float64Array) -> Float64Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))
