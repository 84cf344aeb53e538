"""Hair, brows, lips, lashes and eyes."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from figure_parts.body import Body, mask_picture, sampled
from figure_parts.clothes import BROWS, HAIR, IRIS, LIPS, SCLERA, SKIN, head_share
from figure_parts.noise import smooth_noise
from figure_parts.surface import (
    Array,
    Mask,
    Surface,
    cut_along_zero,
    refine,
    side_of,
)

# The hairline seen from inside the head: degrees round from straight ahead, degrees up.
HAIRLINE_DEG = np.array(
    [
        [0, 43],
        [18, 43],
        [34, 41],
        [46, 33],
        [56, 20],
        [63, 6],
        [70, -16],
        [80, -23],
        [100, -27],
        [122, -34],
        [150, -42],
        [180, -45],
    ],
    dtype=float,
)
# An eyebrow in front view, from the eye's centre: outward, up, half width (m).
BROW_M = np.array(
    [
        [-0.0175, 0.0195, 0.0022],
        [-0.0095, 0.0215, 0.0034],
        [0.0020, 0.0240, 0.0033],
        [0.0130, 0.0250, 0.0024],
        [0.0220, 0.0225, 0.0016],
        [0.0275, 0.0185, 0.0006],
    ]
)


@dataclass(frozen=True, slots=True)
class Hair:
    """What changes on a head of hair: 0 and 1 are a plain short cut.

    temples_deg: how far the line recedes at the temples; fringe_deg, nape_deg: how far it comes
    down over the forehead and the nape; fullness: of its depth; back_m: more depth behind; locks:
    share of the depth that varies; curl: 0 combed to 1 curly; bun_m: half width of a bun, 0 none,
    that stands at bun_up_deg behind the head; brows: width of the eyebrows.
    """

    temples_deg: float = 0.0
    fringe_deg: float = 0.0
    nape_deg: float = 0.0
    fullness: float = 1.0
    back_m: float = 0.0
    locks: float = 0.11
    curl: float = 0.0
    bun_m: float = 0.0
    bun_up_deg: float = 10.0
    brows: float = 1.0


def with_head_regions(body: Body, surface: Surface, hair: Hair) -> Surface:
    """The head refined where it is coarse, cut along hairline, brows and lips, and labelled."""
    surface.point_data["hair"] = hair_field_m(body, surface, hair)
    for _ in range(2):
        near = surface.point_data["hair"][surface.triangles].max(axis=1) > -0.012
        surface = refine(surface, near & _coarse(surface, 0.0095))
        surface.point_data["hair"] = hair_field_m(body, surface, hair)
    near = np.abs(surface.point_data["hair"][surface.triangles]).min(axis=1) < 0.003
    surface = refine(surface, near & _coarse(surface, 0.006))
    surface.point_data["hair"] = hair_field_m(body, surface, hair)
    surface.point_data["brow"] = brow_field_m(body, surface, hair.brows)
    near = surface.point_data["brow"][surface.triangles].max(axis=1) > -0.004
    surface = refine(surface, near)
    surface.point_data["brow"] = brow_field_m(body, surface, hair.brows)
    texture = surface.point_data["texture"]
    inside = sampled(mask_picture("mpfb_inside-mouth.jpg"), texture)
    surface.point_data["lip"] = sampled(mask_picture("mpfb_lips.jpg"), texture) - 0.5
    eye, scale = body.eyes_m[:, :3].mean(axis=0), body.head_scale()
    mouth = surface.points[:, 1] > eye[1] - 0.04 * scale
    mouth &= np.abs(surface.points[:, 2] - eye[2] + 0.07 * scale) < 0.05 * scale
    surface.point_data["lip"][(inside > 0.5) | ~mouth] = -0.5
    for name, label in (("hair", HAIR), ("brow", BROWS), ("lip", LIPS)):
        surface = cut_along_zero(surface, name)
        region = surface.triangle_data["region"].copy()
        region[side_of(surface, name) & (region == SKIN)] = label
        surface = surface.labelled("region", region)
    return surface


def _coarse(surface: Surface, edge_m: float) -> Mask:
    corners = surface.points[surface.triangles]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    coarse: Mask = longest > edge_m
    return coarse


def head_centre(body: Body) -> Array:
    """The point that the hairline is told from: inside the head, a little above the eyes."""
    eyes = body.eyes_m[:, :3].mean(axis=0)
    return eyes + body.head_scale() * np.array([0.0, -0.078, 0.014])


def hair_field_m(body: Body, surface: Surface, hair: Hair) -> Array:
    """Positive where hair grows: distance inside the hairline and clear of the ears."""
    offset = surface.points - head_centre(body)
    round_deg = np.degrees(np.arctan2(np.abs(offset[:, 0]), offset[:, 1]))
    up_deg = np.degrees(np.arctan2(offset[:, 2], np.hypot(offset[:, 0], offset[:, 1])))
    line_deg = np.interp(round_deg, HAIRLINE_DEG[:, 0], HAIRLINE_DEG[:, 1])
    line_deg = line_deg + _hairline_change_deg(round_deg, hair)
    line_deg = line_deg + 1.6 * smooth_noise(surface.points, 0.007, seed=3)
    field = np.radians(up_deg - line_deg) * 0.095 * body.head_scale()
    field = np.minimum(field, _ear_distance_m(surface) - 0.0045)
    head = head_share(body, surface) > 0.2
    behind = round_deg > 120
    return np.where(head | behind, np.clip(field, -0.1, 0.1), -0.1)


def _ear_distance_m(surface: Surface) -> Array:
    from scipy.spatial import cKDTree

    ear = sampled(mask_picture("mpfb_ears.jpg"), surface.point_data["texture"]) > 0.5
    distance: Array = cKDTree(surface.points[ear]).query(surface.points)[0]
    return distance


def _hairline_change_deg(round_deg: Array, hair: Hair) -> Array:
    """The line raised at the temples, lowered over the forehead and at the nape."""
    temples = np.exp(-(((round_deg - 36) / 16) ** 2))
    forehead = np.clip(1 - round_deg / 50, 0, 1)
    nape = np.clip((round_deg - 110) / 50, 0, 1)
    change: Array = hair.temples_deg * temples - hair.fringe_deg * forehead - hair.nape_deg * nape
    return change


def hair_depth_m(body: Body, surface: Surface, hair: Hair) -> Array:
    """How far the hair stands off the scalp: thin at its line, full on top, in soft locks."""
    offset = (surface.points - head_centre(body)) / body.head_scale()
    up = np.clip(offset[:, 2] / np.linalg.norm(offset, axis=1), -1, 1)
    front = np.clip(offset[:, 1] / 0.08, -1, 1)
    full = np.interp(up, [-0.6, -0.2, 0.3, 0.75, 1.0], [0.002, 0.0035, 0.007, 0.013, 0.015])
    full = hair.fullness * (full + 0.004 * np.clip(front, 0, 1) * np.clip(up, 0, 1))
    back = np.clip(-offset[:, 1] / 0.08, 0, 1) * np.clip(1 - np.abs(up - 0.1), 0, 1)
    full = full + hair.back_m * back
    inside = np.clip(surface.point_data["hair"] / 0.028, 0, 1)
    ramp = inside * (2 - inside)
    combed = surface.points * np.array([1.0, 0.28, 0.6])
    locks = smooth_noise(combed, 0.0065, seed=5) + 0.4 * smooth_noise(combed, 0.016, seed=6)
    curls = smooth_noise(surface.points, 0.009, seed=21)
    locks = (1 - hair.curl) * locks + hair.curl * 1.6 * curls
    return 0.0006 + full * ramp * (1 + hair.locks * locks)


def bun(body: Body, hair: Hair) -> Surface:
    """Hair wound up behind the head: a closed, flattened ball with a spiral groove."""
    ball = eye_ball(np.zeros(3), 1.0, 0.3, 0.0)
    unit = ball.points / np.linalg.norm(ball.points, axis=1, keepdims=True)
    turn = np.arctan2(unit[:, 2], unit[:, 0])
    out = np.arccos(np.clip(-unit[:, 1], -1, 1))
    groove = 1 + 0.045 * np.cos(turn + 5.0 * out) * np.sin(out)
    size = hair.bun_m * body.head_scale() * np.array([1.0, 0.72, 0.92])
    rise = np.radians(hair.bun_up_deg)
    way = np.array([0.0, -np.cos(rise), np.sin(rise)])
    lift = np.array([[1, 0, 0], [0, np.cos(rise), np.sin(rise)], [0, -np.sin(rise), np.cos(rise)]])
    spot = _scalp_along(body, way) + (hair.back_m + 0.45 * size[1]) * way
    points = (unit * groove[:, None] * size) @ lift + spot
    count = len(ball.triangles)
    data = {"region": np.full(count, HAIR), "crease": np.zeros(count, int)}
    return Surface(points, ball.triangles, {}, data)


def _scalp_along(body: Body, way: Array) -> Array:
    """The spot of the resting skin that lies farthest that way from within the head."""
    offset = body.surface.points - head_centre(body)
    reach = np.linalg.norm(offset, axis=1)
    near = (offset @ way > 0.97 * reach) & (reach < 0.16)
    spot: Array = head_centre(body) + np.median(reach[near]) * way
    return spot


def brow_field_m(body: Body, surface: Surface, width: float) -> Array:
    """Positive inside either eyebrow."""
    field = np.full(len(surface.points), -0.1)
    scale = body.head_scale()
    for eye in body.eyes_m:
        side = np.sign(eye[0])
        across = side * (surface.points[:, 0] - eye[0]) / scale
        up = (surface.points[:, 2] - eye[2]) / scale
        ahead = surface.points[:, 1] > eye[1] - 0.01
        rough = 0.0005 * smooth_noise(surface.points, 0.003, seed=8)
        inside = np.where(ahead, _inside_stroke(across, up, width) + rough, -0.1)
        field = np.maximum(field, inside)
    return field


def _inside_stroke(across: Array, up: Array, wide: float) -> Array:
    """Half width less distance, largest over a stroke's segments."""
    best = np.full(len(across), -0.1)
    place = np.stack([across, up], axis=1)
    for first, last in itertools.pairwise(BROW_M):
        run = last[:2] - first[:2]
        share = np.clip(((place - first[:2]) @ run) / (run @ run), 0, 1)
        nearest = first[:2] + share[:, None] * run
        width = wide * (first[2] + share * (last[2] - first[2]))
        best = np.maximum(best, width - np.linalg.norm(place - nearest, axis=1))
    return best


def eye_ball(centre: Array, radius_m: float, iris_m: float, down_rad: float) -> Surface:
    """A glossy ball looking along +y and a little down, its front cap the iris, slightly domed."""
    rings, around = 14, 28
    iris_rad = np.arcsin(min(iris_m / radius_m, 0.9))
    polar = np.concatenate(
        [np.linspace(0, iris_rad, 5)[1:], np.linspace(iris_rad, np.pi, rings - 3)[1:-1]]
    )
    turn = np.linspace(0, 2 * np.pi, around, endpoint=False)
    p, t = np.meshgrid(polar, turn, indexing="ij")
    ball = np.stack([np.sin(p) * np.cos(t), np.cos(p), np.sin(p) * np.sin(t)], axis=2)
    ball = np.concatenate([[[0.0, 1.0, 0.0]], ball.reshape(-1, 3), [[0.0, -1.0, 0.0]]])
    angle = np.arccos(np.clip(ball[:, 1], -1, 1))
    dome = 0.0006 * np.clip(1 - (angle / (1.15 * iris_rad)) ** 2, 0, 1)
    c, s = np.cos(down_rad), np.sin(down_rad)
    turned = ball @ np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    points = centre + turned * (radius_m + dome)[:, None]
    triangles = _ball_triangles(len(polar), around)
    middle = angle[triangles].max(axis=1)
    region = np.where(middle <= iris_rad + 1e-9, IRIS, SCLERA)
    return Surface(points, triangles, {}, {"region": region, "crease": np.zeros(len(region), int)})


def _ball_triangles(rings: int, around: int) -> Array:
    step = np.arange(around)
    following = (step + 1) % around
    parts = [np.stack([np.zeros(around, int), 1 + following, 1 + step], axis=1)]
    for ring in range(rings - 1):
        near, far = 1 + ring * around, 1 + (ring + 1) * around
        parts.append(np.stack([near + step, near + following, far + step], axis=1))
        parts.append(np.stack([near + following, far + following, far + step], axis=1))
    last = 1 + (rings - 1) * around
    end = np.full(around, 1 + rings * around)
    parts.append(np.stack([last + step, last + following, end], axis=1))
    return np.concatenate(parts)
