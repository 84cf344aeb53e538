"""Where a quick start puts person, camera, key and window.

The plan's x runs to the camera's right, y away from it: the camera stands at 6 o'clock.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from falloff.kit import find_figure
from falloff.session.quick.plan import Plan

_CAMERA_ROOM_M = 0.35
_SILL_M = {"window": 0.85, "table": 0.9, "interview": 0.85, "kitchen": 1.1}
NEAREST_M = {"window": 0.45, "table": 1.4, "interview": 0.6, "kitchen": 0.95}
_WALL_OF_HOUR = {3: 2, 12: 3, 9: 4}
_LENS_M = {"window": 0.040, "table": 0.028, "interview": 0.050, "kitchen": 0.032}
_CAMERA_BACK_M = {"window": 1.9, "table": 2.6, "interview": 2.3, "kitchen": 2.3}
FIGURES: Final = {
    "window": "woman seated",
    "interview": "man standing",
    "kitchen": "woman standing",
}
_FEET_M = 0.47  # of a stand, from its pole
_FILL_MIDDLE_M: Final = 1.3  # how high the middle of a board or black is, if it has room
SEAT_OFF_M: Final = 0.88  # of the two at a table, from its middle
FACES_AT_TABLE_DEG: Final = (-8.0, 188.0)
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Layout:
    """Places on the plan (m): of the person (at a table: the table), camera, key, and window.

    window_along: from the wall's first corner to the near side; wall numbers as in a scene file
    (1 behind the camera, 2 right, 3 behind the person, 4 left).
    """

    person: Point
    camera: Point
    camera_height_m: float
    lens_m: float
    key: Point | None
    window_wall: int | None
    window_along_m: float
    sill_m: float


def lay_out(plan: Plan) -> Layout:
    """Everything in its place; call `impossible` first."""
    person = person_point(plan)
    key = None
    if plan.key is not None:
        way = clock_way(plan.key_clock)
        key = (
            person[0] + plan.key_distance_m * way[0],
            person[1] + plan.key_distance_m * way[1],
        )
    wall, along, sill = None, 0.0, 0.0
    if plan.window is not None:
        wall = _WALL_OF_HOUR[plan.window.clock_hour]
        sill = min(_SILL_M[plan.situation], plan.ceiling_m - plan.window.height_m - 0.1)
        middle = {2: person[1], 3: plan.width_m - person[0], 4: plan.depth_m - person[1]}[wall]
        length = plan.width_m if wall == 3 else plan.depth_m
        along = min(
            max(middle - 0.5 * plan.window.width_m, 0.05), length - plan.window.width_m - 0.05
        )
    back = min(_CAMERA_BACK_M[plan.situation], person[1] - _CAMERA_ROOM_M)
    return Layout(
        person=person,
        camera=(person[0], person[1] - back),
        camera_height_m=_eye_height_m(plan),
        # Nearer than planned, the lens is wider, so that the frame holds the same.
        lens_m=round(
            max(0.008, _LENS_M[plan.situation] * back / _CAMERA_BACK_M[plan.situation]), 3
        ),
        key=key,
        window_wall=wall,
        window_along_m=along,
        sill_m=sill,
    )


def clock_way(hour: float) -> Point:
    """The unit way on the plan to a clock hour, the camera at 6."""
    angle = math.radians(-90.0 - 30.0 * (hour - 6.0))
    return math.cos(angle), math.sin(angle)


def person_point(plan: Plan) -> Point:
    """Where the person stands or sits; at a table, its middle."""
    x, y = 0.5 * plan.width_m, 0.6 * plan.depth_m
    keep = NEAREST_M[plan.situation]
    y = min(max(y, 1.3), plan.depth_m - keep)
    if plan.window is not None:
        match plan.window.clock_hour:
            case 9:
                x = plan.window.distance_m
            case 3:
                x = plan.width_m - plan.window.distance_m
            case _:
                y = plan.depth_m - plan.window.distance_m
    return x, y


def _eye_height_m(plan: Plan) -> float:
    return {"window": 1.2, "table": 1.25, "interview": 1.55, "kitchen": 1.5}[plan.situation]


def highest_key_m(plan: Plan) -> float:
    """How high the middle of the key's front may be for all of it to stay under the ceiling."""
    assert plan.key is not None
    low, high = 0.2, plan.ceiling_m
    for _ in range(30):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if _top_m(plan, middle) < plan.ceiling_m - 0.02 else (low, middle)
        )
    return low


def _top_m(plan: Plan, height_m: float) -> float:
    """The highest corner of a key that is tilted towards the face from a height."""
    key = plan.key
    assert key is not None
    tilt = math.atan2(height_m - face_height_m(plan), max(0.1, plan.key_distance_m))
    flat_m, share = _DEPTHS[key.form]
    depth = flat_m + share * max(key.size_m)
    rise = max(0.0, math.sin(tilt)) * depth
    return height_m + 0.5 * key.size_m[1] * math.cos(tilt) + rise


# How far a key's body reaches behind its front: so much, and so much of its size besides (m).
_DEPTHS: Final[Mapping[str, tuple[float, float]]] = {
    "soft box": (0.0, 0.45),
    "book light": (0.9, 0.0),
    "panel": (0.05, 0.0),
    "open face": (0.0, 1.3),
    "fresnel": (0.0, 1.3),
}


def face_height_m(plan: Plan) -> float:
    """How high the face is that the key is aimed at."""
    if plan.situation == "table":
        return 1.15
    return float(find_figure(FIGURES[plan.situation]).places["face"][2])


def half_body_m(plan: Plan) -> float:
    """How far round the middle of its front a key's body may reach."""
    assert plan.key is not None
    flat_m, share = _DEPTHS[plan.key.form]
    return 0.15 + max(0.5 * max(plan.key.size_m), flat_m + share * max(plan.key.size_m))


def farthest_key_m(plan: Plan) -> float:
    """How far from the person the key may stand at its hour, clear of the walls."""
    return _farthest_m(plan, person_point(plan), plan.key_clock, key_clear_m(plan))


def key_clear_m(plan: Plan) -> float:
    """How far off a wall the key's front must stay, for its body and its stand's feet."""
    assert plan.key is not None
    flat_m, share = _DEPTHS[plan.key.form]
    depth, half = flat_m + share * max(plan.key.size_m), 0.5 * max(plan.key.size_m)
    return max(0.5 * depth + _FEET_M, depth + 0.06, half + 0.06, half + 0.7 * flat_m)


def fill_distance_m(plan: Plan) -> float:
    """How far from the person (from the middle of a table) the fill stands, clear of the walls."""
    wanted = 1.5 if plan.situation == "table" else 0.9
    room = _farthest_m(plan, person_point(plan), fill_hour(plan), 0.5 * plan.fill_size_m[0] + 0.05)
    return max(0.45, min(wanted, room))


def fill_height_m(plan: Plan) -> float:
    """How high the middle of the fill is: off the floor and under the ceiling."""
    half = 0.5 * plan.fill_size_m[1] + 0.05
    return max(half, min(_FILL_MIDDLE_M, plan.ceiling_m - half))


def _farthest_m(plan: Plan, start: Point, hour: float, clear_m: float) -> float:
    """How far from a point something may stand at an hour, `clear_m` off every wall."""
    way = clock_way(hour)
    room = math.inf
    for at, along, size in (
        (start[0], way[0], plan.width_m),
        (start[1], way[1], plan.depth_m),
    ):
        if abs(along) > 1e-6:
            end = size - clear_m if along > 0.0 else clear_m
            room = min(room, (end - at) / along)
    return max(0.0, room)


def facing_deg(plan: Plan, layout: Layout) -> float:
    """The way that the person faces (degrees): the camera, or half way to the worktop."""
    if plan.situation != "kitchen":
        return -90.0
    return {4: -150.0, 2: -30.0, 3: -90.0}[layout.window_wall or 4]


def scene_hour(plan: Plan, hour: float) -> float:
    """An hour told with the camera at 6 as a scene tells it: with what the person faces at 6.

    At a table hours are told from the table, which faces the camera.
    """
    facing = -90.0 if plan.situation == "table" else facing_deg(plan, lay_out(plan))
    minutes = round(60.0 * (hour + (facing + 90.0) / 30.0)) % 720
    return minutes / 60.0 or 12.0


def fill_hour(plan: Plan) -> float:
    """Where the fill stands: across from the key, or from the window where there is no key."""
    hour = plan.key_clock
    if plan.key is None:
        hour = float(plan.window.clock_hour) if plan.window is not None else 9.0
    return (12.0 - hour) % 12.0 or 12.0


def clock_text(hour: float) -> str:
    """A clock hour as hours and minutes: 4.5 is "4:30", 0 and 12 are "12:00"."""
    minutes = round(hour * 60.0) % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"
