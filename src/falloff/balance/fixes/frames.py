"""Whether something would stand in a frame, and where somebody would put it instead."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np

from falloff.balance.fixes.start import Start
from falloff.balance.fixes.trials import Board
from falloff.stage import Probe, View
from falloff.types import Float64Array

_STEPS: Final = 7
MID_AIR: Final = "a point of the room"  # as a probe's place names it
_FAR_M: Final = 20.0  # along a camera's way


def frames_of(start: Start) -> tuple[View, ...]:
    """The cameras of these setups."""
    views = start.solution.stage.views
    names = dict.fromkeys(one.light.camera for one in start.case.posed)
    return tuple(views[name] for name in names if name in views)


def seen_by(start: Start, points: Float64Array) -> str:
    """The first camera of these setups that has any of the points in frame; "" for none."""
    views = frames_of(start)
    return next((view.name for view in views if view.in_frame(points).any()), "")


def on_something(probe: Probe) -> bool:
    """Whether a reading is taken on somebody or something, not at a point in mid-air."""
    return bool(probe.subject) or probe.place not in {"", MID_AIR}


def in_sight(start: Start, board: Board) -> bool:
    """Whether a flat thing is in a camera's way, or a spot meter's to what a target asks for."""
    lines = [
        (one.eye, one.point)
        for one in start.solution.stage.probes
        if one.eye is not None and one.name in start.asked
    ]
    lines += [(view.eye, view.eye + _FAR_M * view.forward) for view in frames_of(start)]
    return any(board.hides(eye, point) for eye, point in lines)


def box_points(low: Float64Array, high: Float64Array) -> Float64Array:
    """Points all through a box (n, 3)."""
    at = [np.linspace(low[k], high[k], _STEPS) for k in range(3)]
    return np.stack(np.meshgrid(*at), -1).reshape(-1, 3)


def sheet_points(corners: Float64Array) -> Float64Array:
    """Points all over a flat four-cornered thing (n, 3)."""
    a, b, _, d = corners
    at = np.linspace(0.0, 1.0, _STEPS)
    whole = a + at[:, None, None] * (b - a) + at[None, :, None] * (d - a)
    return np.asarray(whole.reshape(-1, 3))


def free_name(start: Start, wanted: str, *, taken: Iterable[str] = ()) -> str:
    """The name, or with a number behind it where it is taken."""
    document = start.case.document
    sections = (
        "openings", "props", "subjects", "fixtures", "practicals", "grip", "cameras", "readings",
        "targets", "setups",
    )  # fmt: skip
    used = {one for section in sections for one in getattr(document, section)} | set(taken)
    name, count = wanted, 1
    while name in used:
        count += 1
        name = f"{wanted} {count}"
    return name
