"""What the quick start's camera frames: whole heads with room over them; and whether the window."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.kit import find_figure
from falloff.session.quick.plan import Plan
from falloff.session.quick.room import (
    FACES_AT_TABLE_DEG,
    FIGURES,
    SEAT_OFF_M,
    Layout,
    facing_deg,
    lay_out,
)
from falloff.types import Float64Array

# Super 35 cut to 16:9 (m), as the scene file has it.
GATE_M: Final = (0.02489, 0.02489 * 9.0 / 16.0)
_HEADROOM: Final = 0.16  # over a head, of half the frame's height (common practice, no source)
_UNDER_CHIN: Final = 0.10
_BESIDE: Final = 0.06
_SHORTEST_LENS_M: Final = 0.008
_LOW_AIM_M: Final = {"table": 1.1, "kitchen": 1.1}


@dataclass(frozen=True, slots=True)
class Framing:
    """Where the camera is aimed (m), its lens (m), and whether that is at the one person's face."""

    aim: tuple[float, float, float]
    lens_m: float
    at_face: bool = False


def framing(plan: Plan, layout: Layout) -> Framing:
    """The usual aim and lens, raised and widened as far as whole heads need it."""
    heads = _heads(plan, layout)
    low, high = float(heads[:, 2].min()), float(heads[:, 2].max())
    usual = _LOW_AIM_M.get(plan.situation) or _face_height(plan)
    aims = np.linspace(usual, max(usual, 0.5 * (low + high)), 12)
    lens = layout.lens_m
    while lens > _SHORTEST_LENS_M:
        for height in aims:
            aim = (*layout.person, float(height))
            if _holds(_seen(layout, aim, lens, heads)):
                at_face = height == usual and plan.situation not in _LOW_AIM_M
                return Framing(aim, lens, at_face=at_face)
        lens = round(lens - 0.001, 3)
    return Framing((*layout.person, float(aims[-1])), _SHORTEST_LENS_M)


def window_in_frame(plan: Plan) -> bool:
    """Whether any of the window's opening is in the frame, whoever may stand before it."""
    layout = lay_out(plan)
    if plan.window is None or layout.window_wall is None:
        return False
    along = layout.window_along_m + np.linspace(0.0, 1.0, 25) * plan.window.width_m
    up = layout.sill_m + np.linspace(0.0, 1.0, 15) * plan.window.height_m
    a, z = (part.ravel() for part in np.meshgrid(along, up))
    flat = {
        2: (np.full_like(a, plan.width_m), a),
        3: (plan.width_m - a, np.full_like(a, plan.depth_m)),
        4: (np.zeros_like(a), plan.depth_m - a),
    }[layout.window_wall]
    camera = framing(plan, layout)
    seen = _seen(layout, camera.aim, camera.lens_m, np.stack([*flat, z], axis=1))
    return bool((np.abs(seen) < 1.0).all(1).any())


def _holds(seen: Float64Array) -> bool:
    across, up = np.abs(seen[:, 0]), seen[:, 1]
    low = -1.0 + _UNDER_CHIN
    return bool((across <= 1.0 - _BESIDE).all() and up.max() <= 1.0 - _HEADROOM and up.min() >= low)


def _seen(
    layout: Layout, aim: tuple[float, float, float], lens_m: float, points: Float64Array
) -> Float64Array:
    """Points (n, 3) in the frame: across and up (n, 2), its edges at ±1; inf behind the camera."""
    eye = np.array([*layout.camera, layout.camera_height_m])
    forward = np.asarray(aim) - eye
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    axes = np.stack([right, np.cross(right, forward), forward])
    x, y, ahead = axes @ (points - eye).T
    half = 0.5 * np.asarray(GATE_M) / lens_m
    with np.errstate(divide="ignore", invalid="ignore"):
        seen = np.stack([x / ahead / half[0], y / ahead / half[1]], axis=1)
    seen[ahead <= 0.0] = np.inf
    return np.asarray(seen)


def _heads(plan: Plan, layout: Layout) -> Float64Array:
    """Some points (n, 3) all over every head in the scene, hair and chin with it."""
    x, y = layout.person
    who: tuple[tuple[str, float, float], ...]
    if plan.situation == "table":
        who = (
            ("woman seated", x - SEAT_OFF_M, FACES_AT_TABLE_DEG[0]),
            ("man seated", x + SEAT_OFF_M, FACES_AT_TABLE_DEG[1]),
        )
    else:
        who = ((FIGURES[plan.situation], x, facing_deg(plan, layout)),)
    return np.vstack([_head(name, (at, y), way) for name, at, way in who])


def _head(figure_name: str, at: tuple[float, float], facing: float) -> Float64Array:
    figure = find_figure(figure_name)
    own = figure.vertices[figure.head_weight > 0.9].astype(np.float64)
    cos, sin = math.cos(math.radians(facing)), math.sin(math.radians(facing))
    turn = np.array([[sin, cos], [-cos, sin]])  # columns: its right, ahead
    return np.column_stack([own[:, :2] @ turn.T + np.asarray(at), own[:, 2]])


def _face_height(plan: Plan) -> float:
    return float(find_figure(FIGURES[plan.situation]).places["face"][2])
