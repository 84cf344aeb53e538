"""The witness room in numbers, and the same room in the renderer's own scene language.

Everything here is written by hand from the room's drawing; nothing comes from Falloff's
scene format or from an exporter. Lengths in metres, angles in degrees where the renderer
wants degrees. x runs to the right of the plan, y up the plan, z up.

Bodies of all sources stand in the room whichever source is lit.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass

import mitsuba as mi
from tests.reference.witness import sources
from tests.reference.witness.sources import SOURCES
from tests.reference.witness.surfaces import Scene, Vector, film, matte, rectangle

ROOM = (6.0, 5.0, 2.7)
SHELL_REFLECTANCE = {
    "floor": 0.20,
    "ceiling": 0.85,
    "wall_left": 0.70,  # x = 0
    "wall_right": 0.50,  # x = 6
    "wall_near": 0.70,  # y = 0
    "wall_far": 0.70,  # y = 5, the wall with the window
}


@dataclass(frozen=True, slots=True)
class Opening:
    """A bare opening in the far wall, through a wall of some thickness."""

    x_m: tuple[float, float]
    z_m: tuple[float, float]
    wall_thickness_m: float
    reveal_reflectance: float


@dataclass(frozen=True, slots=True)
class View:
    """Where the camera stands, what it looks at, how wide it sees, and its pixels."""

    origin_m: Vector
    target_m: Vector
    horizontal_field_deg: float
    width: int
    height: int


WINDOW = Opening((1.0, 2.6), (0.9, 2.2), 0.2, 0.70)
CAMERA = View((3.6, 0.35, 1.5), (2.3, 3.2, 1.15), 62.0, 480, 270)
OVERLAP = 0.3  # walls run on past their corners, outside the room, so that no edge leaks

# name: (centre, full size, reflectance per channel)
TABLE_TOP_Z = 0.75
BOXES: dict[str, tuple[Vector, Vector, Vector]] = {
    "table_top": ((2.5, 2.0, TABLE_TOP_Z - 0.025), (1.6, 0.8, 0.05), (0.35, 0.35, 0.35)),
    "cupboard": ((0.02 + 0.225, 1.2, 0.95), (0.45, 1.0, 1.9), (0.45, 0.30, 0.18)),
    "solid": ((1.7, 2.9, 1.3), (0.006, 1.2, 0.9), (0.03, 0.03, 0.03)),
    "stand_in_body": ((2.5, 2.6, 0.74), (0.40, 0.25, 0.58), (0.25, 0.25, 0.25)),
}
# Legs 5 cm square; their outer faces stand 5 cm inside the edges of the table top.
for _i, _x in enumerate((2.5 - 0.725, 2.5 + 0.725)):
    for _j, _y in enumerate((2.0 - 0.325, 2.0 + 0.325)):
        BOXES[f"table_leg_{_i}{_j}"] = ((_x, _y, 0.35), (0.05, 0.05, 0.70), (0.35, 0.35, 0.35))

BALL_CENTRE: Vector = (2.5, 2.6, 1.2)
BALL_RADIUS = 0.12
BALL_REFLECTANCE = 0.36


def room_scene(lit: str) -> Scene:
    """Whole room with one source lit.

    lit: a name of SOURCES, or "" for a dark room. Raises KeyError for any other name.
    """
    if lit and lit not in SOURCES:
        raise KeyError(f"no source called {lit!r}; expected one of {', '.join(SOURCES)}")
    scene: Scene = {"type": "scene"}
    scene |= _shell()
    scene |= _window_wall()
    scene |= {name: _box(*numbers) for name, numbers in BOXES.items()}
    scene["ball"] = {
        "type": "sphere",
        "center": list(BALL_CENTRE),
        "radius": BALL_RADIUS,
        "bsdf": matte(BALL_REFLECTANCE),
    }
    scene |= sources.soft_box(lit == "SOFTBOX")
    scene |= sources.globe(lit == "GLOBE")
    if lit == "BEAM":
        scene |= sources.beam()
    if lit == "WINDOW":
        scene |= sources.sky(towards_window_only=True)
    return scene


def camera(sampler: Scene) -> Scene:
    """The one camera: 480 x 270 square pixels, box pixel filter, everything sharp."""
    return {
        "type": "perspective",
        "fov": CAMERA.horizontal_field_deg,
        "fov_axis": "x",
        "near_clip": 0.01,
        "far_clip": 100.0,
        "to_world": mi.ScalarTransform4f().look_at(
            origin=list(CAMERA.origin_m),
            target=list(CAMERA.target_m),
            up=[0, 0, 1],
        ),
        "film": film(CAMERA.width, CAMERA.height),
        "sampler": sampler,
    }


def description() -> str:
    """The room, its sources and its camera as canonical text; its checksum dates stored data."""
    numbers = {
        "room": ROOM,
        "shell": SHELL_REFLECTANCE,
        "window": {
            "x": WINDOW.x_m,
            "z": WINDOW.z_m,
            "wall_thickness": WINDOW.wall_thickness_m,
            "reveal_reflectance": WINDOW.reveal_reflectance,
        },
        "boxes": BOXES,
        "ball": (BALL_CENTRE, BALL_RADIUS, BALL_REFLECTANCE),
        "camera": {
            "origin": CAMERA.origin_m,
            "target": CAMERA.target_m,
            "horizontal_field_deg": CAMERA.horizontal_field_deg,
            "width": CAMERA.width,
            "height": CAMERA.height,
        },
        "sources": sources.numbers(),
    }
    return json.dumps(numbers, sort_keys=True, separators=(",", ":"))


def checksum() -> str:
    """SHA-256 of description()."""
    return hashlib.sha256(description().encode()).hexdigest()


def _shell() -> Scene:
    x, y, z = ROOM
    rho = SHELL_REFLECTANCE
    middle = (x / 2, y / 2, z / 2)
    half_x, half_y, half_z = ((side / 2 + OVERLAP) for side in ROOM)
    flat = {
        "floor": rectangle((middle[0], middle[1], 0.0), (half_x, 0, 0), (0, half_y, 0)),
        "ceiling": rectangle((middle[0], middle[1], z), (0, half_y, 0), (half_x, 0, 0)),
        "wall_left": rectangle((0.0, middle[1], middle[2]), (0, half_y, 0), (0, 0, half_z)),
        "wall_right": rectangle((x, middle[1], middle[2]), (0, 0, half_z), (0, half_y, 0)),
        "wall_near": rectangle((middle[0], 0.0, middle[2]), (0, 0, half_z), (half_x, 0, 0)),
    }
    return {name: {**shape, "bsdf": matte(rho[name])} for name, shape in flat.items()}


def _window_wall() -> Scene:
    """Four pieces of the far wall round the opening, the four reveals, and a black outer face."""
    x, y, z = ROOM
    x0, x1 = WINDOW.x_m
    z0, z1 = WINDOW.z_m
    depth = WINDOW.wall_thickness_m
    inside = matte(SHELL_REFLECTANCE["wall_far"])
    outside = matte(0.0)
    pieces = {
        "left": ((-OVERLAP, x0), (-OVERLAP, z + OVERLAP)),
        "right": ((x1, x + OVERLAP), (-OVERLAP, z + OVERLAP)),
        "below": ((x0, x1), (-OVERLAP, z0)),
        "above": ((x0, x1), (z1, z + OVERLAP)),
    }
    scene: Scene = {}
    for name, (along, up) in pieces.items():
        half_u = ((along[1] - along[0]) / 2, 0, 0)
        half_v = (0, 0, (up[1] - up[0]) / 2)
        middle_x, middle_z = sum(along) / 2, sum(up) / 2
        scene[f"wall_far_{name}"] = {
            **rectangle((middle_x, y, middle_z), half_u, half_v),
            "bsdf": inside,
        }
        scene[f"outer_face_{name}"] = {
            **rectangle((middle_x, y + depth, middle_z), half_u, half_v),
            "bsdf": outside,
        }
    return scene | _reveals((x0, x1), (z0, z1), y, depth)


def _reveals(along: tuple[float, float], up: tuple[float, float], y: float, depth: float) -> Scene:
    bsdf = matte(WINDOW.reveal_reflectance)
    middle_x, middle_y, middle_z = sum(along) / 2, y + depth / 2, sum(up) / 2
    half_x, half_y, half_z = (along[1] - along[0]) / 2, depth / 2, (up[1] - up[0]) / 2
    flat = {
        "reveal_left": rectangle((along[0], middle_y, middle_z), (0, half_y, 0), (0, 0, half_z)),
        "reveal_right": rectangle((along[1], middle_y, middle_z), (0, 0, half_z), (0, half_y, 0)),
        "reveal_sill": rectangle((middle_x, middle_y, up[0]), (half_x, 0, 0), (0, half_y, 0)),
        "reveal_head": rectangle((middle_x, middle_y, up[1]), (0, half_y, 0), (half_x, 0, 0)),
    }
    return {name: {**shape, "bsdf": bsdf} for name, shape in flat.items()}


def _box(centre: Vector, size: Vector, reflectance: Vector) -> Scene:
    to_world = mi.ScalarTransform4f().translate(list(centre)).scale([s / 2 for s in size])
    return {"type": "cube", "to_world": to_world, "bsdf": matte(reflectance)}
