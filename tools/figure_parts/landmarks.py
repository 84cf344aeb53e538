"""Named places and what the head turns by, on the finished mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from figure_parts.body import Body, mask_picture, sampled
from figure_parts.clothes import BROWS, HAIR, SKIN, TOP, below_bone
from figure_parts.head import Hair, hair_field_m, head_centre
from figure_parts.pose import moved_point
from figure_parts.surface import Array, Indices, Surface, edges_of

Place = tuple[Array, Array]
# Where the drawn hairline turns down beside the brow, seen from inside the head.
TEMPLE_ROUND_RAD, TEMPLE_RISE = np.radians(50.0), np.tan(np.radians(28.0))
NECK_SHARES = {"neck03": 0.7, "neck02": 0.4, "neck01": 0.12}


@dataclass(frozen=True, slots=True)
class Posed:
    """Where bones went and where the floor's origin is, in the body's resting frame."""

    body: Body
    motions: Array
    floor: Array

    def carry(self, bone: str, point: Array) -> Array:
        """A resting point carried by a bone, from the floor's origin."""
        motion = self.motions[self.body.bones.index(bone)]
        return moved_point(np.asarray(point), motion) - self.floor

    def turn(self, bone: str) -> Array:
        """How a bone turned, (3, 3)."""
        turn: Array = self.motions[self.body.bones.index(bone)][:3, :3]
        return turn


def head_weight(body: Body, surface: Surface) -> Array:
    """How much each resting point follows the head: 1 on it, smooth over the neck, 0 below."""
    weights = surface.point_data["weights"]
    follow = weights[:, below_bone(body, "head")].sum(axis=1)
    for bone, share in NECK_SHARES.items():
        follow = follow + share * weights[:, body.bones.index(bone)]
    over_neckline = np.maximum(surface.point_data["neck"], 0.0)
    from_hair = np.maximum(-surface.point_data["hair"], 0.0)
    share = over_neckline / np.maximum(over_neckline + from_hair, 1e-9)
    near_hair = _eased(share) * _eased(1 - from_hair / 0.03)
    taper = _eased(over_neckline / (0.035 * body.head_scale()))
    return np.clip(np.maximum(follow * taper, near_hair), 0, 1)


def named_places(posed: Posed, mesh: tuple[Array, Array, Indices, Indices]) -> dict[str, Place]:
    """Named points on the surface with outward normals; mesh: points, normals, corners, region."""
    points, normals, triangles, region = mesh
    body, scale = posed.body, posed.body.head_scale()
    eye = body.eyes_m[:, :3].mean(axis=0)
    apart = np.ptp(body.eyes_m[:, 0]) / 0.060

    def on(bone: str, point: tuple[float, float, float], regions: set[int]) -> Place:
        mine = triangles[np.isin(region, list(regions))]
        ahead = posed.turn(bone)[:, 1]
        return _nearest(posed.carry(bone, np.asarray(point)), ahead, mine, points, normals)

    def by_eyes(aside: float, ahead: float, up: float) -> tuple[float, float, float]:
        return (aside * apart, eye[1] + ahead * scale, eye[2] + up * scale)

    skin = {SKIN, BROWS}
    places = {
        "face": on("head", by_eyes(0.0, 0.04, -0.008), skin),
        "forehead": on("head", by_eyes(0.0, 0.02, 0.050), skin),
        "chin": on("jaw", by_eyes(0.0, 0.03, -0.108), skin),
        "cheek_left": on("head", by_eyes(-0.040, 0.004, -0.034), skin),
        "cheek_right": on("head", by_eyes(0.040, 0.004, -0.034), skin),
        "hair_edge_left": on("head", by_eyes(-0.062, -0.03, 0.055), {HAIR}),
        "hair_edge_right": on("head", by_eyes(0.062, -0.03, 0.055), {HAIR}),
        "chest": on("spine01", (0.0, 0.15, body.head_of("spine01")[2] - 0.05), {TOP}),
    }
    ahead = posed.turn("head")[:, 1]
    places["face"] = (places["face"][0], ahead)
    for name, ball in zip(("eye_left", "eye_right"), body.eyes_m, strict=True):
        places[name] = (posed.carry("head", ball[:3]) + ahead * ball[3], ahead)
    return places


def hand_middles(posed: Posed) -> Array:
    """Middles of the left and the right hand (2, 3)."""
    body = posed.body
    ends = ("wrist", "finger3-1")
    return np.stack(
        [
            np.mean([posed.carry(f"{e}.{s}", body.head_of(f"{e}.{s}")) for e in ends], axis=0)
            for s in "LR"
        ]
    )


def head_marks(posed: Posed, hair: Hair) -> dict[str, Array]:
    """Points on the skin of the head for what is worn on it (left is the figure's own)."""
    body, scale = posed.body, posed.body.head_scale()
    points = body.surface.points
    eye = body.eyes_m[:, :3].mean(axis=0)
    field = np.abs(hair_field_m(body, body.surface, hair))
    near_middle = 50 * np.abs(points[:, 0]) + 1e3 * (points[:, 2] < eye[2] - 0.15 * scale)
    front, behind = points[:, 1] > eye[1] - 0.06, points[:, 1] < eye[1] - 0.09
    far = 1e3

    def least(cost: Array) -> Array:
        spot: Array = points[np.argmin(cost)].copy()
        return spot

    ear = sampled(mask_picture("mpfb_ears.jpg"), body.surface.point_data["texture"]) > 0.5
    edges, _ = edges_of(body.surface.triangles)
    rim = np.zeros(len(points), bool)
    rim[edges[ear[edges].sum(axis=1) == 1].ravel()] = True
    marks = {
        "crown": least(near_middle - points[:, 2]),
        "nape": least(near_middle + 20 * field + far * ~behind),
        "hairline_front": least(near_middle + 20 * field + far * ~front),
    }
    for name, up in (("brow_middle", 0.020), ("nose_bridge", 0.002)):
        level = 20 * np.abs(points[:, 2] - eye[2] - up * scale)
        marks[name] = least(near_middle + level - points[:, 1] + far * ~front)
        marks[name][0] = 0.0
    for name in ("crown", "nape", "hairline_front"):
        marks[name][0] = 0.0
    for sign, side in ((-1, "left"), (1, "right")):
        away = far * (sign * points[:, 0] <= 0)
        marks[f"ear_{side}"] = least(away + far * ~(rim & ear) - points[:, 2])
        offset = points - head_centre(body)
        way = np.array([sign * np.sin(TEMPLE_ROUND_RAD), np.cos(TEMPLE_ROUND_RAD), TEMPLE_RISE])
        beside = np.linalg.norm(np.cross(offset, way), axis=1)
        marks[f"temple_{side}"] = least(beside + far * (offset @ way < 0))
        corner = np.array([sign * 0.056, -0.066, -0.078]) * scale + eye
        marks[f"jaw_{side}"] = least(np.linalg.norm(points - corner, axis=1))
    return {name: posed.carry("head", point) for name, point in marks.items()}


def _eased(share: Array) -> Array:
    x = np.clip(share, 0, 1)
    eased: Array = x * x * (3 - 2 * x)
    return eased


def _nearest(
    target: Array, ahead: Array, triangles: Indices, points: Array, normals: Array
) -> Place:
    """The surface point nearest to a target that faces ahead, with its smooth normal."""
    corners = points[triangles]
    near = np.linalg.norm(corners.mean(axis=1) - target, axis=1) < 0.05
    near &= (normals[triangles] @ ahead).min(axis=1) > 0.0
    steps = np.arange(9)
    share = np.array([(i, j, 8 - i - j) for i in steps for j in steps if i + j <= 8]) / 8
    spots = np.einsum("sk,tkd->tsd", share, corners[near]).reshape(-1, 3)
    facing = np.einsum("sk,tkd->tsd", share, normals[triangles[near]]).reshape(-1, 3)
    best = np.argmin(np.linalg.norm(spots - target, axis=1))
    return spots[best], facing[best] / np.linalg.norm(facing[best])
