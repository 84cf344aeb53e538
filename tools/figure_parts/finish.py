"""From a recipe to the arrays that are shipped."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from figure_parts.body import Body, make_body
from figure_parts.clothes import (
    BROWS,
    FOOT,
    HAIR,
    IRIS,
    LIPS,
    SCLERA,
    SKIN,
    TOP,
    TROUSERS,
    Cloth,
    Hem,
    collar_rows,
    dressed,
    grown_over,
    plain_rows,
    with_lines,
)
from figure_parts.head import bun, eye_ball, hair_depth_m, with_head_regions
from figure_parts.landmarks import (
    Place,
    Posed,
    hand_middles,
    head_marks,
    head_weight,
    named_places,
)
from figure_parts.noise import smooth_noise
from figure_parts.pose import bone_motions, carried, mirrored, moved_point
from figure_parts.reach import origin_of, solved_turns
from figure_parts.recipes import Recipe
from figure_parts.rest import rest_words
from figure_parts.shoes import make_shoe
from figure_parts.surface import (
    Array,
    Indices,
    Surface,
    averaging,
    capped,
    joined,
    point_normals,
    smoothed,
)

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
ROUND_NECK_M = ((-0.004, 0.004), (0.004, 0.006), (0.010, 0.003), (0.010, -0.002))
NEVER_CREASED = {LIPS: SKIN, BROWS: SKIN}


@dataclass(frozen=True, slots=True)
class Finished:
    """A figure on its floor: split points with normals, triangles, regions, places."""

    points: Array
    normals: Array
    triangles: Indices
    region: Indices
    head_weight: Array
    scalp_m: Array
    places: dict[str, Place]
    marks: dict[str, Array]
    hands: Array
    head_pivot: Array
    head_axes: Array
    eyes: Array
    seat_height_m: float
    stature_m: float
    pose: str
    rest: str


def finished(recipe: Recipe) -> Finished:
    """The dressed and posed figure of a recipe."""
    body = make_body(recipe.phenotype, recipe.changes, recipe.actions)
    rest = with_head_regions(body, with_lines(body), recipe.hair)
    rest = _eased_lap(body, rest.labelled("crease", np.zeros(len(rest.triangles), np.int64)))
    rest.point_data["head"] = head_weight(body, rest)
    turns = solved_turns(body, mirrored(recipe.turns) + recipe.uneven, recipe.free, recipe.goals)
    motions = bone_motions(body, turns)
    posed = rest.moved(carried(rest.points, rest.point_data["weights"], motions))
    parts = [*_clothed(body, rest, posed, motions, recipe), *_extras(body, rest, motions, recipe)]
    whole = joined(parts)
    floor = _floor_point(body, whole, motions, recipe)
    whole = whole.moved(whole.points - floor)
    whole, seat_height_m, rise = _supported(whole, recipe)
    at = Posed(body, motions, floor - np.array([0.0, 0.0, rise]))
    points, normals, triangles, region, numbers = _split(whole)
    in_sight = np.where((region == HAIR) & (whole.triangle_data["crease"] > 0), FOOT, region)
    axes = at.turn("head").T
    return Finished(
        points=points,
        normals=normals,
        triangles=triangles,
        region=region,
        head_weight=numbers["head"],
        scalp_m=numbers["hair"],
        places=named_places(at, (points, normals, triangles, in_sight)),
        marks=head_marks(at, recipe.hair),
        hands=hand_middles(at),
        head_pivot=at.carry("head", body.head_of("head")),
        head_axes=axes,
        eyes=np.stack([[*at.carry("head", eye[:3]), eye[3]] for eye in body.eyes_m]),
        seat_height_m=seat_height_m,
        stature_m=float(np.ptp(body.surface.points[:, 2])),
        pose=recipe.pose,
        rest=rest_words(recipe, points, triangles, region, np.round(numbers["head"], 2)),
    )


def _clothed(
    body: Body, rest: Surface, posed: Surface, motions: Array, recipe: Recipe
) -> list[Surface]:
    """Trousers and top in place of the skin below them, feet taken off and closed; the hair."""
    neck = collar_rows(body, motions) if recipe.collar else plain_rows(*ROUND_NECK_M)
    ends = {
        "trousers": (
            Hem("waist", plain_rows((0.006, 0.0), (0.008, -0.004))),
            Hem("ankle", plain_rows((0.016, 0.001), (0.018, -0.004))),
        ),
        "top": (
            Hem("neck", neck),
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
    )
    depth = hair_depth_m(body, rest, recipe.hair)
    hair = grown_over(posed, Cloth(HAIR, 0.0, depth, np.zeros(len(depth)), 3, ()))
    label = kept.triangle_data["region"]
    kept = kept.labelled("region", np.where(label == HAIR, SKIN, label))
    for cloth in layers:
        kept = dressed(kept, cloth)
    return [capped(kept, {"region": SKIN}), hair]


def _eased_lap(body: Body, rest: Surface) -> Surface:
    """The body below the front of the trousers made smooth, as cloth there hangs over it."""
    hip = body.head_of("upperleg01.R")
    points = rest.points
    near = (np.abs(points[:, 0]) < 0.55 * hip[0]) & (points[:, 1] > hip[1] - 0.02)
    near &= np.abs(points[:, 2] - hip[2] + 0.07) < 0.10
    near[rest.triangles[rest.triangle_data["region"] != TROUSERS].ravel()] = False
    mean = averaging(len(points), rest.triangles)
    return rest.moved(smoothed(points, mean, rounds=60, free=near))


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
        parts.append(_following(_rigid(ball, motions[body.bones.index("head")]), 1.0))
    if recipe.hair.bun_m:
        knot = bun(body, recipe.hair)
        parts.append(_following(_rigid(knot, motions[body.bones.index("head")]), 1.0))
    for side in "LR":
        sign = 1 if side == "R" else -1
        feet = body.surface.points
        mine = (feet[:, 0] * sign > 0) & (feet[:, 2] < body.head_of("foot.R")[2] + 0.012)
        shoe = make_shoe(feet[mine])
        parts.append(_following(_rigid(shoe, motions[body.bones.index(f"foot.{side}")]), 0.0))
    return parts


def _following(surface: Surface, head: float) -> Surface:
    """With what every part carries: how much it follows the head, and no scalp."""
    count = len(surface.points)
    return replace(surface, point_data={"head": np.full(count, head), "hair": np.zeros(count)})


def _rigid(surface: Surface, motion: Array) -> Surface:
    return surface.moved(surface.points @ motion[:3, :3].T + motion[:3, 3])


def _floor_point(body: Body, whole: Surface, motions: Array, recipe: Recipe) -> Array:
    """On the floor between the feet; for who sits or lies, under the middle of the hips."""
    middle = origin_of(body, motions)
    if recipe.pose in ("seated", "lying"):
        hips = ("upperleg01.L", "upperleg01.R")
        ends = [moved_point(body.head_of(b), motions[body.bones.index(b)]) for b in hips]
        middle = np.mean(ends, axis=0)
    return np.array([middle[0], middle[1], whole.points[:, 2].min()])


def _supported(whole: Surface, recipe: Recipe) -> tuple[Surface, float, float]:
    """Press what would sink into what carries the figure onto it, flat.

    Returns the surface, the seat's height (0 where none) and how far the whole was lifted.
    """
    points = whole.points.copy()
    if recipe.pose == "lying":
        points[:, 2] = np.maximum(points[:, 2] - recipe.sink_m, 0.0)
        return whole.moved(points), 0.0, -recipe.sink_m
    if recipe.pose != "seated":
        return whole, 0.0, 0.0
    over_seat = (np.hypot(points[:, 0], points[:, 1]) < 0.22) & (points[:, 2] < 0.7)
    over_seat &= (points[:, 2] > 0.25) & (whole.point_data["head"] == 0)
    seat = float(points[over_seat, 2].min()) + recipe.sink_m
    points[over_seat, 2] = np.maximum(points[over_seat, 2], seat)
    rise = max(recipe.seat_at_m - seat, 0.0)
    points[:, 2] += rise
    return whole.moved(points), seat + rise, rise


def _split(whole: Surface) -> tuple[Array, Array, Indices, Indices, dict[str, Array]]:
    """Points doubled where a crease is wanted, with normals and numbers; unused ones dropped."""
    region = whole.triangle_data["region"]
    group = np.asarray([NEVER_CREASED.get(int(r), int(r)) for r in region])
    group = group * 8 + whole.triangle_data["crease"]
    keys = np.stack([whole.triangles.ravel(), np.repeat(group, 3)], axis=1)
    unique, inverse = np.unique(keys, axis=0, return_inverse=True)
    triangles = inverse.reshape(-1, 3)
    points = whole.points[unique[:, 0]]
    part = unique[:, 1] // 8
    on_head = np.isin(part, [SKIN, HAIR, SCLERA, IRIS])
    numbers = {
        "head": np.where(on_head, whole.point_data["head"][unique[:, 0]], 0.0),
        "hair": np.where(part == SKIN, np.maximum(whole.point_data["hair"][unique[:, 0]], 0), 0.0),
    }
    return points, point_normals(points, triangles), triangles, region, numbers
