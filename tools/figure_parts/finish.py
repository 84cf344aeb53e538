"""From a recipe to the arrays that are shipped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from figure_parts.body import Body, make_body
from figure_parts.clothes import (
    BROWS,
    FOOT,
    HAIR,
    LIPS,
    SKIN,
    TOP,
    TROUSERS,
    Cloth,
    Hem,
    collar_rows,
    dressed,
    plain_rows,
    with_lines,
)
from figure_parts.head import eye_ball, hair_depth_m, with_head_regions
from figure_parts.noise import smooth_noise
from figure_parts.pose import bone_motions, carried, mirrored, moved_point
from figure_parts.recipes import Recipe
from figure_parts.shoes import make_shoe
from figure_parts.surface import Array, Indices, Surface, capped, joined, point_normals

REGIONS = (
    "skin",
    "lips",
    "hair",
    "brows",
    "sclera",
    "iris",
    "top",
    "trousers",
    "shoes",
)
NEVER_CREASED = {LIPS: SKIN, BROWS: SKIN}


@dataclass(frozen=True, slots=True)
class Finished:
    """A figure on its floor: split points with normals, triangles, regions, places."""

    points: Array
    normals: Array
    triangles: Indices
    region: Indices
    places: dict[str, tuple[Array, Array]]
    hands: Array
    seat_height_m: float
    stature_m: float


def finished(recipe: Recipe) -> Finished:
    """The dressed and posed figure of a recipe."""
    body = make_body(recipe.phenotype, recipe.changes, recipe.actions)
    rest = with_head_regions(body, with_lines(body))
    rest = rest.labelled("crease", np.zeros(len(rest.triangles), np.int64))
    motions = bone_motions(body, mirrored(recipe.turns) + recipe.uneven)
    posed = rest.moved(carried(rest.points, rest.point_data["weights"], motions))
    whole = joined([_clothed(body, rest, posed, motions), *_extras(body, rest, motions, recipe)])
    floor = _floor_point(body, whole, motions)
    whole = whole.moved(whole.points - floor)
    whole, seat_height_m = _seated(whole)
    points, normals, triangles, region = _split(whole)
    places, hands = _places(body, motions, floor, points, normals, triangles, region)
    return Finished(
        points=points,
        normals=normals,
        triangles=triangles,
        region=region,
        places=places,
        hands=hands,
        seat_height_m=seat_height_m,
        stature_m=float(np.ptp(body.surface.points[:, 2])),
    )


def packed(figure: Finished) -> dict[str, NDArray[np.generic]]:
    """The arrays of the shipped file, in its types."""
    names = sorted(figure.places)
    return {
        "vertices": figure.points.astype(np.float32),
        "vertex_normals": figure.normals.astype(np.float32),
        "triangles": figure.triangles.astype(np.int32),
        "triangle_region": figure.region.astype(np.uint8),
        "region_names": np.asarray(REGIONS),
        "place_names": np.asarray(names),
        "place_points": np.stack([figure.places[n][0] for n in names]).astype(np.float32),
        "place_normals": np.stack([figure.places[n][1] for n in names]).astype(np.float32),
        "hand_points": figure.hands.astype(np.float32),
        "seat_height_m": np.float32(figure.seat_height_m),
        "stature_m": np.float32(figure.stature_m),
    }


def _clothed(body: Body, rest: Surface, posed: Surface, motions: Array) -> Surface:
    """Trousers, top and hair in place of the skin below them; feet taken off and closed."""
    ends = {
        "trousers": (
            Hem("waist", plain_rows((0.006, 0.0), (0.008, -0.004))),
            Hem("ankle", plain_rows((0.016, 0.001), (0.018, -0.004))),
        ),
        "top": (
            Hem("neck", collar_rows(body, motions)),
            Hem("cuff", plain_rows((0.006, 0.001), (0.008, -0.003))),
            Hem("waist", plain_rows((0.010, 0.002), (0.012, -0.002))),
        ),
    }
    kept = posed.only(posed.triangle_data["region"] != FOOT)
    layers = (
        Cloth(
            TROUSERS,
            0.008,
            _trouser_slack(body, rest),
            _trouser_folds(body, rest),
            80,
            ends["trousers"],
        ),
        Cloth(TOP, 0.010, _top_slack(body, rest), _top_folds(body, rest), 50, ends["top"]),
        Cloth(
            HAIR,
            0.0,
            hair_depth_m(body, rest),
            np.zeros(len(rest.points)),
            3,
            (Hem("hair", plain_rows()),),
        ),
    )
    for cloth in layers:
        kept = dressed(kept, cloth)
    return capped(kept, {"region": SKIN})


def _trouser_slack(body: Body, rest: Surface) -> Array:
    hip, ankle = body.head_of("upperleg01.R")[2], body.head_of("foot.R")[2]
    down = np.clip((hip - rest.points[:, 2]) / (hip - ankle), 0, 1)
    slack: Array = 0.011 * down**1.5 + 0.002
    return slack


def _trouser_folds(body: Body, rest: Surface) -> Array:
    """Rings about hip, knee and above the shoe, faint elsewhere."""
    height = rest.points[:, 2]
    joints = [body.head_of(bone)[2] for bone in ("upperleg01.R", "lowerleg01.R", "foot.R")]
    near = sum(np.exp(-(((height - joint - 0.02) / 0.07) ** 2)) for joint in joints)
    rings = smooth_noise(rest.points * np.array([0.45, 0.45, 1.0]), 0.032, seed=11)
    return (0.0012 + 0.0028 * near) * rings


def _top_slack(body: Body, rest: Surface) -> Array:
    """Room at the elbows and above the shirt's end."""
    points = rest.points
    elbow = np.abs(points[:, 0]) - np.abs(body.head_of("lowerarm01.R")[0])
    belt = body.head_of("spine05")[2] + 0.028
    blouse = 0.010 * np.exp(-(((points[:, 2] - belt - 0.06) / 0.06) ** 2))
    slack: Array = 0.003 * np.exp(-((elbow / 0.05) ** 2)) + blouse * (np.abs(points[:, 0]) < 0.2)
    return slack + 0.002


def _top_folds(body: Body, rest: Surface) -> Array:
    """Rings about the elbows and cuffs, long upright folds low on the trunk."""
    points = rest.points
    elbow, wrist = body.head_of("lowerarm01.R"), body.head_of("wrist.R")
    way = wrist - body.head_of("upperarm01.R")
    way /= np.linalg.norm(way)
    mirrored_points = points * np.sign(points[:, :1] + 1e-12) ** np.array([1, 0, 0])
    along = mirrored_points @ way
    arm = np.clip((np.abs(points[:, 0]) - 0.19) / 0.04, 0, 1)
    near = np.exp(-(((along - elbow @ way) / 0.06) ** 2))
    near = near + 0.6 * np.exp(-(((along - wrist @ way) / 0.06) ** 2))
    across = points - along[:, None] * way
    rings = smooth_noise(along[:, None] * way + 0.35 * across, 0.03, seed=12)
    upright = smooth_noise(points * np.array([1.0, 1.0, 0.3]), 0.045, seed=13)
    low = np.clip((body.head_of("spine01")[2] - points[:, 2]) / 0.25, 0.15, 1)
    folds: Array = arm * (0.001 + 0.0035 * near) * rings + (1 - arm) * 0.0035 * low * upright
    return folds


def _extras(body: Body, rest: Surface, motions: Array, recipe: Recipe) -> list[Surface]:
    """Eyes and shoes, each a closed surface of its own."""
    parts = []
    for eye in body.eyes_m:
        ball = eye_ball(eye[:3], eye[3], recipe.iris_m, np.radians(recipe.gaze_down_deg))
        parts.append(_rigid(ball, motions[body.bones.index("head")]))
    for side in "LR":
        sign = 1 if side == "R" else -1
        feet = body.surface.points
        mine = (feet[:, 0] * sign > 0) & (feet[:, 2] < body.head_of("foot.R")[2] + 0.012)
        shoe = make_shoe(feet[mine])
        parts.append(_rigid(shoe, motions[body.bones.index(f"foot.{side}")]))
    return parts


def _rigid(surface: Surface, motion: Array) -> Surface:
    return surface.moved(surface.points @ motion[:3, :3].T + motion[:3, 3])


def _floor_point(body: Body, whole: Surface, motions: Array) -> Array:
    """On the floor under the middle of the seat: midway between the hips."""
    hips = [
        moved_point(
            body.head_of(f"upperleg01.{s}"),
            motions[body.bones.index(f"upperleg01.{s}")],
        )
        for s in "LR"
    ]
    middle = np.mean(hips, axis=0)
    return np.array([middle[0], middle[1], whole.points[:, 2].min()])


def _seated(whole: Surface) -> tuple[Surface, float]:
    """Press what would sink into a flat seat onto it; returns the seat's height."""
    points = whole.points.copy()
    over_seat = (np.hypot(points[:, 0], points[:, 1]) < 0.22) & (points[:, 2] < 0.7)
    over_seat &= points[:, 2] > 0.25
    seat = float(points[over_seat, 2].min()) + 0.018
    points[over_seat, 2] = np.maximum(points[over_seat, 2], seat)
    return whole.moved(points), seat


def _split(whole: Surface) -> tuple[Array, Array, Indices, Indices]:
    """Points doubled where a crease is wanted, with their normals; unused points dropped."""
    region = whole.triangle_data["region"]
    group = np.asarray([NEVER_CREASED.get(int(r), int(r)) for r in region])
    group = group * 8 + whole.triangle_data["crease"]
    keys = np.stack([whole.triangles.ravel(), np.repeat(group, 3)], axis=1)
    unique, inverse = np.unique(keys, axis=0, return_inverse=True)
    triangles = inverse.reshape(-1, 3)
    points = whole.points[unique[:, 0]]
    return points, point_normals(points, triangles), triangles, region


def _places(
    body: Body,
    motions: Array,
    floor: Array,
    points: Array,
    normals: Array,
    triangles: Indices,
    region: Indices,
) -> tuple[dict[str, tuple[Array, Array]], Array]:
    """Named points on the surface with outward normals, and the middles of both hands."""

    def carry(bone: str, point: Array) -> Array:
        return moved_point(np.asarray(point), motions[body.bones.index(bone)]) - floor

    def on(bone: str, point: tuple[float, float, float], regions: set[int]) -> tuple[Array, Array]:
        mine = triangles[np.isin(region, list(regions))]
        return _nearest(carry(bone, np.asarray(point)), mine, points, normals)

    eye = body.eyes_m[:, :3].mean(axis=0)
    skin = {SKIN, BROWS}
    places = {
        "face": on("head", (0.0, eye[1] + 0.04, eye[2] - 0.008), skin),
        "forehead": on("head", (0.0, eye[1] + 0.02, eye[2] + 0.050), skin),
        "chin": on("jaw", (0.0, eye[1] + 0.03, eye[2] - 0.108), skin),
        "cheek_left": on("head", (-0.040, eye[1] + 0.004, eye[2] - 0.034), skin),
        "cheek_right": on("head", (0.040, eye[1] + 0.004, eye[2] - 0.034), skin),
        "hair_edge_left": on("head", (-0.062, eye[1] - 0.03, eye[2] + 0.055), {HAIR}),
        "hair_edge_right": on("head", (0.062, eye[1] - 0.03, eye[2] + 0.055), {HAIR}),
        "chest": on("spine01", (0.0, 0.15, body.head_of("spine01")[2] - 0.05), {TOP}),
    }
    ahead = motions[body.bones.index("head")][:3, 1]
    places["face"] = (places["face"][0], ahead)
    for name, ball in zip(("eye_left", "eye_right"), body.eyes_m, strict=True):
        front = carry("head", ball[:3]) + ahead * ball[3]
        places[name] = (front, ahead)
    hands = np.stack(
        [
            0.5
            * (
                carry(f"wrist.{s}", body.head_of(f"wrist.{s}"))
                + carry(f"finger3-1.{s}", body.head_of(f"finger3-1.{s}"))
            )
            for s in "LR"
        ]
    )
    return places, hands


def _nearest(
    target: Array, triangles: Indices, points: Array, normals: Array
) -> tuple[Array, Array]:
    """The forward-facing surface point nearest to a target, with its smooth normal."""
    corners = points[triangles]
    near = np.linalg.norm(corners.mean(axis=1) - target, axis=1) < 0.05
    near &= normals[triangles][:, :, 1].min(axis=1) > 0.0
    steps = np.arange(9)
    share = np.array([(i, j, 8 - i - j) for i in steps for j in steps if i + j <= 8]) / 8
    spots = np.einsum("sk,tkd->tsd", share, corners[near]).reshape(-1, 3)
    facing = np.einsum("sk,tkd->tsd", share, normals[triangles[near]]).reshape(-1, 3)
    best = np.argmin(np.linalg.norm(spots - target, axis=1))
    return spots[best], facing[best] / np.linalg.norm(facing[best])
