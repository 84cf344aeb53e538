"""What cupboards are made of: carcasses, doors, drawer fronts and handles."""

from __future__ import annotations

import math

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Joiner, Order, Span, about_z

HANDLE_M = 0.030  # how far a handle stands out
BOARD_M = 0.018
DOOR_GAP_M = 0.003
SQUARE_RAD = 0.5 * math.pi


def carcass(
    made: Joiner, part: str, x: Span, *, y: Span, z: Span, shelves: tuple[float, ...]
) -> None:
    """An open-fronted box of boards with shelves at these heights (their upper faces)."""
    t, g = BOARD_M, GAP_M
    made.box(part, (x[0], x[0] + t), y, z)
    made.box(part, (x[1] - t, x[1]), y, z)
    inner = (x[0] + t + g, x[1] - t - g)
    made.box(part, inner, y, (z[0], z[0] + t))
    made.box(part, inner, y, (z[1] - t, z[1]))
    made.box(part, inner, (y[1] - 0.006, y[1]), (z[0] + t + g, z[1] - t - g))
    for top in shelves:
        made.box(part, inner, (y[0] + 0.02, y[1] - 0.006 - g), (top - t, top))


def door_face(order: Order) -> float:
    """Where the faces of doors lie, so that their handles end at the front of the piece."""
    return order.y[0] + HANDLE_M


def doors(
    made: Joiner,
    order: Order,
    *,
    spans: list[Span],
    z: Span,
    handle_at: float,
    panelled: bool = False,
) -> None:
    """A row of doors that stand open as ordered; all but the last are hinged on their left.

    handle_at: height of the handles' middles.
    """
    front, open_rad = door_face(order), order.open_rad
    for k, x in enumerate(spans):
        since = len(made.solids)
        right = k == len(spans) - 1
        made.box("doors", x, (front, front + BOARD_M), z)
        if panelled:
            _panel(made, x, z, front)
        free = x[0] + 0.035 if right else x[1] - 0.035
        pull(made, (free, front, handle_at), length=min(0.16, 0.4 * (z[1] - z[0])), level=False)
        if open_rad > 0.0:
            hinge = x[1] if right else x[0]
            angle = open_rad if right else -open_rad
            made.turn(since, pivot=(hinge, front, 0.0), turn=about_z(angle))


def drawer_front(made: Joiner, x: Span, *, z: Span, front: float, handle: float = 0.16) -> None:
    """A drawer's face with a level handle in its middle."""
    made.box("doors", x, (front, front + BOARD_M), z)
    middle = (0.5 * (x[0] + x[1]), front, 0.5 * (z[0] + z[1]))
    pull(made, middle, length=min(handle, 0.5 * (x[1] - x[0])), level=True)


def pull(
    made: Joiner,
    at: tuple[float, float, float],
    *,
    length: float,
    level: bool,
    thick: float = 0.005,
) -> None:
    """A round bar on two feet, HANDLE_M proud of the face it is screwed to, about a point of it."""
    along = np.array([1.0, 0.0, 0.0]) if level else np.array([0.0, 0.0, 1.0])
    face = np.array(at)
    out = np.array([0.0, -1.0, 0.0])
    middle = face + (HANDLE_M - thick) * out
    made.rod("handles", middle - 0.5 * length * along, middle + 0.5 * length * along, thick)
    for s in (-1.0, 1.0):
        foot = face + s * 0.36 * length * along
        made.rod("handles", foot + 0.0005 * out, foot + (HANDLE_M - thick) * out, 0.8 * thick)


def knob(made: Joiner, at: tuple[float, float, float], *, radius: float = 0.016) -> None:
    """A turned knob, HANDLE_M proud of the face it is screwed to."""
    r = radius
    profile = [
        (0.0, 0.0005), (0.55 * r, 0.0005), (0.42 * r, 0.009), (0.55 * r, 0.013), (r, 0.019),
        (0.92 * r, HANDLE_M - 0.004), (0.5 * r, HANDLE_M - 0.0006), (0.0, HANDLE_M),
    ]  # fmt: skip
    corners, normals = meshes.lathe(profile, sides=20)
    # Its axis laid down: up becomes the front.
    turn = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    made.mesh("handles", (corners @ turn.T, normals @ turn.T), at=at)


def _panel(made: Joiner, x: Span, z: Span, front: float) -> None:
    """A frame that stands proud of a door's panel."""
    proud, wide = 0.007, 0.07
    profile = [(0.0, 0.0), (0.0, proud), (wide, proud), (wide + 0.006, 0.0)]
    size = (x[1] - x[0], z[1] - z[0])
    frame = meshes.surround(size, profile)
    at = (0.5 * (x[0] + x[1]), front - 0.0004, 0.5 * (z[0] + z[1]))
    made.mesh("doors", frame, at=at)
