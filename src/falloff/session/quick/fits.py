"""What cannot be put as it was answered, told in the words of its question; and what fits."""

from __future__ import annotations

import math
from typing import Final

from msgspec.structs import replace

from falloff.errors import Fault
from falloff.session.quick.plan import Plan, WindowPlan
from falloff.session.quick.room import (
    NEAREST_M,
    farthest_key_m,
    half_body_m,
    highest_key_m,
    lay_out,
)
from falloff.units import format_length

_SMALLEST_M: Final = {
    "window": (1.8, 1.8),
    "table": (2.8, 2.8),
    "interview": (1.8, 1.9),
    "kitchen": (1.9, 2.3),
}
_BEFORE_WINDOW_M: Final = 1.3  # for the camera, where the window is behind the person
_FEET_M: Final = 0.3048
# Less than this nobody means by a number that is too large for metres and may be feet.
_LIKELY_M: Final = {
    ("room", "width"): 2.0,
    ("room", "depth"): 2.0,
    ("ceiling", "height"): 2.0,
    ("window", "width"): 0.5,
    ("window", "height"): 0.5,
    ("window", "distance"): 0.8,
    ("place", "distance"): 0.6,
    ("place", "height"): 1.2,
}


def impossible(plan: Plan) -> list[Fault]:
    """Faults of answers that do not fit one another, each in the words of its question."""
    width, depth = _SMALLEST_M[plan.situation]
    whole = "give the inside of the whole room, which holds a person, a camera and a light"
    low = "give the height from floor to ceiling"
    faults = [
        _between(plan, name, what, value, span, fix)
        for name, what, value, span, fix in (
            ("room", "width", plan.width_m, (width, 60.0), whole),
            ("room", "depth", plan.depth_m, (depth, 60.0), whole),
            ("ceiling", "height", plan.ceiling_m, (1.9, 25.0), low),
        )
        if not span[0] <= value <= span[1]
    ]
    if not faults and plan.window is not None:
        faults += _impossible_window(plan, plan.window)
    if not faults and plan.key is not None:
        faults += _impossible_key(plan)
    if not faults and plan.fill != "none":
        most = (plan.width_m - 0.2, plan.ceiling_m - 0.1)
        faults += [
            _between(plan, "fill", what, side, (0.2, far), "give a smaller one, or none")
            for what, side, far in zip(("width", "height"), plan.fill_size_m, most, strict=True)
            if not 0.2 <= side <= far
        ]
    return faults


def fitted_window(plan: Plan) -> WindowPlan | None:
    """The plan's window, smaller or elsewhere where its room does not take it as it is."""
    window = plan.window
    if window is None:
        return None
    widest, tallest, (near, far) = _window_limits(plan, window)
    return replace(
        window,
        width_m=_down(window.width_m, widest),
        height_m=_down(window.height_m, tallest),
        distance_m=max(near, _down(window.distance_m, far)),
    )


def _down(usual_m: float, most_m: float) -> float:
    return usual_m if usual_m <= most_m else math.floor(20.0 * most_m) / 20.0


def _window_limits(plan: Plan, window: WindowPlan) -> tuple[float, float, tuple[float, float]]:
    """Greatest width and height of a window, and how near and far the person may be (m)."""
    behind = window.clock_hour == 12
    wall = plan.width_m if behind else plan.depth_m
    across = plan.depth_m if behind else plan.width_m
    near = NEAREST_M[plan.situation]
    far = across - (_BEFORE_WINDOW_M if behind else near)
    return wall - 0.1, plan.ceiling_m - 0.15, (near, far)


def _impossible_window(plan: Plan, window: WindowPlan) -> list[Fault]:
    widest, tallest, (near, far) = _window_limits(plan, window)
    wall = "the wall behind" if window.clock_hour == 12 else "the wall that it is in"
    faults = []
    for what, value, span, fix in (
        ("width", window.width_m, (0.2, widest), f"{wall} is not wider: give the window alone"),
        ("height", window.height_m, (0.2, tallest), "it stops short of the ceiling"),
        ("distance", window.distance_m, (near, far), "give another, or another hour, or none"),
    ):
        if not span[0] <= value <= span[1]:
            faults.append(_between(plan, "window", what, value, span, fix))
    return faults


def _impossible_key(plan: Plan) -> list[Fault]:
    key, layout = plan.key, lay_out(plan)
    assert key is not None
    assert layout.key is not None
    faults = []
    if not 0.3 <= plan.key_distance_m <= 40.0:
        fix = "give how far its front is from the face"
        faults.append(_between(plan, "place", "distance", plan.key_distance_m, (0.3, 40.0), fix))
    highest = highest_key_m(plan)
    if not 0.2 <= plan.key_height_m <= highest:
        front, ceiling = _said(plan, key.size_m[1]), _said(plan, plan.ceiling_m)
        fix = f"the middle of a front {front} tall goes no higher under a ceiling of {ceiling}"
        if plan.key_height_m < 0.2:
            fix = "give the height of the middle of its front above the floor"
        faults.append(_between(plan, "place", "height", plan.key_height_m, (0.2, highest), fix))
    near_m = math.dist(layout.key, layout.camera)
    tall = 0.5 * key.size_m[1] + 0.15
    if near_m < half_body_m(plan) and abs(plan.key_height_m - layout.camera_height_m) < tall:
        fix = "give another hour, or another height"
        faults.append(Fault(what="the fixture would stand in the camera", where="place", fix=fix))
    room = farthest_key_m(plan)
    if plan.key_distance_m > room:
        hint = _feet_hint(plan, "place", "distance", plan.key_distance_m, (0.3, room))
        faults.append(
            Fault(
                what="the fixture would stand in the wall",
                where="place",
                expected=f"at most {_said(plan, room)} away at that hour",
                found=_said(plan, plan.key_distance_m),
                fix=f"bring it nearer, or give another hour{hint}",
            )
        )
    return faults


def _between(
    plan: Plan, name: str, what: str, value: float, span: tuple[float, float], fix: str
) -> Fault:
    low, high = span
    hint = _feet_hint(plan, name, what, value, span)
    if high < low:
        return Fault(
            what=f"the {name} has no room in this room",
            where=name,
            expected=f"{_said(plan, low)} and more for its {what}",
            found=_said(plan, max(0.0, high)),
            fix="give a larger room, or none",
        )
    return Fault(
        what=f"the {name}'s {what} does not fit"
        if name != "place"
        else f"the key's {what} does not fit",
        where=name,
        expected=f"{_said(plan, low)} to {_said(plan, high)}",
        found=_said(plan, value),
        fix=f"{fix}{hint}",
    )


def _feet_hint(plan: Plan, name: str, what: str, value: float, span: tuple[float, float]) -> str:
    """The question whether feet were meant, only where so many feet would fit and are likely."""
    feet_m = value * _FEET_M
    likely = max(span[0], _LIKELY_M.get((name, what), math.inf))
    if plan.units == "metric" and value > span[1] and likely <= feet_m <= span[1]:
        return "; were those feet? write ft"
    return ""


def _said(plan: Plan, length_m: float) -> str:
    return format_length(length_m, units=plan.units)
