"""Poses that several figures share: turns to start from, and goals for hands and feet."""

from __future__ import annotations

import math

from figure_parts.pose import Turn
from figure_parts.reach import At, Goal, SoleHeight, Way
from figure_parts.recipes import curled

Direction = tuple[float, float, float]

WORKING_HAND = curled(
    "R", {"2": (14, 18, 10), "3": (18, 22, 12), "4": (22, 24, 14), "5": (24, 24, 14)}
)
LOOSE_HAND = curled(
    "R",
    {"1": (2, 4, 6), "2": (2, 8, 6), "3": (6, 10, 8), "4": (9, 12, 8), "5": (11, 13, 8)},
)
FLAT_HAND = curled("R", {"2": (4, 8, 5), "3": (6, 9, 6), "4": (8, 10, 6), "5": (9, 11, 7)})

AT_A_BENCH: tuple[Turn, ...] = (
    ("root", "x", 6.0),
    ("spine05", "x", -6.0),
    ("spine04", "x", -5.0),
    ("spine03", "x", -4.0),
    ("spine02", "x", -3.0),
    ("spine01", "x", -2.0),
    ("neck01", "x", 3.0),
    ("neck02", "x", 3.0),
    ("neck03", "x", 3.0),
    ("head", "x", 5.0),
    ("upperleg01.R", "x", 80.0),
    ("upperleg01.R", "z", -5.0),
    ("lowerleg01.R", "x", -87.0),
    ("foot.R", "x", 1.0),
    ("clavicle.R", "y", 4.0),
    ("upperarm01.R", "y", 36.0),
    ("upperarm01.R", "x", 30.0),
    ("upperarm02.R", "along", -14.0),
    ("lowerarm01.R", "hinge", 39.0),
    ("lowerarm02.R", "along", -45.0),
    ("wrist.R", "along", -15.0),
    ("wrist.R", "curl", -14.0),
    *WORKING_HAND,
)
UPRIGHT: tuple[Turn, ...] = (
    ("clavicle.R", "y", 4.0),
    ("upperarm01.R", "y", 36.0),
    ("lowerarm02.R", "along", -30.0),
    ("lowerleg01.R", "x", -4.0),
    *LOOSE_HAND,
)
ON_ONE_LEG: tuple[Turn, ...] = (
    ("root", "y", 2.5),
    ("spine04", "y", -2.0),
    ("spine02", "y", -2.0),
    ("lowerleg01.L", "x", -6.0),
    ("head", "z", 3.0),
)
ON_A_CHAIR: tuple[Turn, ...] = (
    ("root", "x", 12.0),
    ("spine05", "x", -5.0),
    ("spine04", "x", -4.0),
    ("spine02", "x", -3.0),
    ("upperleg01.R", "x", 76.0),
    ("upperleg01.R", "z", -6.0),
    ("lowerleg01.R", "x", -86.0),
    ("clavicle.R", "y", 4.0),
    ("upperarm01.R", "y", 36.0),
    ("upperarm01.R", "x", 20.0),
    ("lowerarm01.R", "hinge", 20.0),
    ("lowerarm02.R", "along", -40.0),
    *FLAT_HAND,
)
LEGS = tuple(
    (f"{bone}.{side}", axis)
    for side in "LR"
    for bone, axis in (
        ("upperleg01", "x"),
        ("upperleg01", "y"),
        ("upperleg01", "z"),
        ("lowerleg01", "x"),
        ("foot", "x"),
        ("foot", "y"),
    )
)
ARMS = tuple(
    (f"{bone}.{side}", axis)
    for side in "LR"
    for bone, axis in (
        ("upperarm01", "x"),
        ("upperarm01", "y"),
        ("upperarm01", "z"),
        ("lowerarm01", "hinge"),
        ("lowerarm02", "along"),
        ("wrist", "along"),
        ("wrist", "curl"),
        ("wrist", "spread"),
    )
)
NECK = tuple(("neck02" if n == 0 else "head", axis) for n in (0, 1) for axis in "xyz")
LEVEL_HEAD: tuple[Goal, ...] = (
    Way("head", "up", (0.0, 0.0, 1.0)),
    Way("head", "ahead", (0.0, 1.0, 0.0)),
)


def feet(apart_m: float, ahead_m: float, out_deg: float) -> tuple[Goal, ...]:
    """Both feet flat: half their distance (m), right ahead of left by twice ahead_m, toes out."""
    goals: list[Goal] = []
    for side, sign in (("L", -1), ("R", 1)):
        turn = math.radians(out_deg)
        goals += [
            At(f"foot.{side}", sign * apart_m, sign * ahead_m, None),
            SoleHeight(side),
            Way(f"foot.{side}", "up", (0.0, 0.0, 1.0), 0.01),
            Way(f"foot.{side}", "ahead", (sign * math.sin(turn), math.cos(turn), 0.0)),
        ]
    return tuple(goals)


def arms(
    side: str,
    upper: Direction,
    lower: Direction,
    *,
    palm: Direction | None = None,
    hand: Direction | None = None,
) -> tuple[Goal, ...]:
    """Where one arm's parts point, told for the right side and mirrored for the left."""
    sign = 1.0 if side == "R" else -1.0
    wanted = [(f"upperarm01.{side}", "along", upper), (f"lowerarm01.{side}", "along", lower)]
    if palm is not None:
        wanted.append((f"wrist.{side}", "palm", palm))
    if hand is not None:
        wanted.append((f"wrist.{side}", "along", hand))
    return tuple(Way(b, axis, (sign * x, y, z), 0.06) for b, axis, (x, y, z) in wanted)


def hanging(out: float = 0.16, ahead: float = 0.0) -> tuple[Goal, ...]:
    """Both arms at the sides, elbows a little bent, palms towards the thighs."""
    upper, lower = (out, -0.06 + ahead, -1.0), (out - 0.10, 0.22 + ahead, -1.0)
    both: list[Goal] = []
    for side in "LR":
        both += arms(side, upper, lower, palm=(-1.0, -0.45, 0.0), hand=(-0.02, 0.15, -1.0))
    return tuple(both)


def on_thighs(up_m: float, ahead_m: float, in_m: float) -> tuple[Goal, ...]:
    """Both hands flat on the thighs: wrists from the hips."""
    both: list[Goal] = []
    for side, sign in (("L", -1.0), ("R", 1.0)):
        shift = 0.0 if side == "R" else 0.025
        both += [
            At(f"wrist.{side}", -sign * in_m, ahead_m + shift, up_m, f"upperleg01.{side}", 0.01),
            Way(f"wrist.{side}", "palm", (-sign * 0.1, -0.12, -1.0), 0.08),
            Way(f"wrist.{side}", "along", (-sign * 0.3, 1.0, -0.2), 0.1),
        ]
    return tuple(both)
