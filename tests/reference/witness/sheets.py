"""Rooms with sheets, panes, a blind and a mirror, in the renderer's own scene language.

Written by hand from the numbers below, which `test_witness_sheets.py` and `sheets_radiance.py`
each write again in a language of their own. Metres; x right on the plan, y up the plan, z up.

The room is 6 x 5 x 2.7 m: floor 0.20, ceiling 0.85, walls 0.70, a chest 0.35. A window of
1.2 x 1.5 m in the wall y = 5 is an even matte light of 1000 cd/m2, black to light from the room.

A sheet has no plugin of its own in the renderer. It is built of three:

    mask (opacity 1 - T)                                  T goes on unturned
      blendbsdf (weight S / (S + R))
        twosided diffuse ((S + R) / (1 - T))              R / (S + R) of what lands and is not lost
        principledthin ((S + R) / (1 - T), diff_trans 2)  the rest goes through

so that T passes straight, S is scattered through and R is sent back, both matte and from either
side. `principledthin` at diff_trans 2 is an even matte transmitter: its diffuse lobes alone are
left, and all of them behind; the checks hold that against a closed form.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass
from typing import Any

import mitsuba as mi
from tests.reference.witness import sources
from tests.reference.witness.surfaces import Scene, Vector, matte, rectangle

FLOOR, CEILING, WALL, CHEST, SLAT = 0.20, 0.85, 0.70, 0.35, 0.60
WINDOW_X, WINDOW_Z = (2.4, 3.6), (0.9, 2.4)
LUMINANCE_CD_M2 = 1000.0
REVEAL_M = 0.05  # of the window with panes
BLIND_WALL_M = 0.20  # thickness of the wall with the blind
SPOT_AT: Vector = (3.0, 0.6, 2.0)
SPOT_AIM: Vector = (3.0, 4.0, 1.35)
SPOT_EVEN_DEG, SPOT_END_DEG, SPOT_PEAK_CD = 9.0, 12.0, 20000.0
MIRROR_REFLECTANCE = 0.85
MIRROR_X, MIRROR_Y = 0.005, (1.5, 3.5)
MIRROR_Z = {"mirror": (0.6, 2.2), "mirror_bounce": (0.3, 1.7)}
LAMP_CD_M2 = 4000.0
LAMP: Vector = (4.6, 1.0, 1.7)  # its middle; 0.6 m upward and 0.9 m along y
LAMP_UP: Vector = (4.6, 1.0, 2.0)  # 0.6 m along x and 0.9 m along y


@dataclass(frozen=True, slots=True)
class Sheet:
    """Middle of an upright sheet across y, its sides, and what it does with light."""

    middle: Vector
    width: float
    height: float
    straight: float
    scattered: float
    reflected: float


@dataclass(frozen=True, slots=True)
class Place:
    """A flat receptor: its point on a surface and the outward unit normal."""

    name: str
    surface_point: Vector
    normal: Vector


def _by_window(straight: float, scattered: float, reflected: float, gap: float = 0.094) -> Sheet:
    return Sheet((3.0, 5.0 - gap, 1.65), 1.6, 1.75, straight, scattered, reflected)


FRAME_MIDDLE: Vector = (3.0, 2.2, 1.70)
SHEETS: dict[str, tuple[Sheet, ...]] = {
    "bare": (),
    "sheet": (_by_window(0.25, 0.35, 0.30),),
    "straight": (_by_window(0.25, 0.0, 0.0),),
    "scatter": (_by_window(0.0, 0.35, 0.0),),
    "opaque": (_by_window(0.0, 0.0, 0.30),),
    "two": (_by_window(0.25, 0.35, 0.30), _by_window(0.40, 0.30, 0.20, gap=0.30)),
    "frame": (Sheet(FRAME_MIDDLE, 1.2, 1.2, 0.25, 0.35, 0.30),),
    "frame_scatter": (Sheet(FRAME_MIDDLE, 1.2, 1.2, 0.0, 0.35, 0.30),),
}
PANES = {"reveal": 0, "pane": 1, "panes": 2}
# What `path` cannot do: a point source's light straight through a sheet.
NOT_BY_PATH = "frame"
CASES = (*SHEETS, *PANES, "blind", "mirror", "no_mirror", "mirror_bounce")

ROOM_PLACES = (
    Place("floor_by_window", (3.0, 4.5, 0.0), (0, 0, 1)),
    Place("floor_middle", (2.5, 2.5, 0.0), (0, 0, 1)),
    Place("chest_top", (4.5, 3.0, 0.9), (0, 0, 1)),
    Place("chest_to_window", (4.5, 3.3, 0.5), (0, 1, 0)),
    Place("chest_from_window", (4.5, 2.7, 0.45), (0, -1, 0)),
    Place("ceiling_middle", (3.0, 2.5, 2.7), (0, 0, -1)),
    Place("ceiling_by_window", (3.0, 4.6, 2.7), (0, 0, -1)),
    Place("wall_left", (0.0, 3.5, 1.5), (1, 0, 0)),
    Place("wall_left_glancing", (0.0, 4.6, 1.6), (1, 0, 0)),
    Place("wall_near", (3.0, 0.0, 1.5), (0, 1, 0)),
    Place("wall_right", (6.0, 1.5, 1.2), (-1, 0, 0)),
    Place("wall_beside_window", (1.2, 5.0, 1.5), (0, -1, 0)),
)
FRAME_PLACES = (
    Place("spot_middle", (3.0, 5.0, 1.16), (0, -1, 0)),
    Place("spot_inside", (3.4, 5.0, 1.16), (0, -1, 0)),
    Place("spot_edge", (3.0, 5.0, 2.00), (0, -1, 0)),
    Place("wall_beside_spot", (1.2, 5.0, 1.5), (0, -1, 0)),
    Place("floor_behind", (3.0, 3.2, 0.0), (0, 0, 1)),
    Place("floor_before", (3.0, 1.4, 0.0), (0, 0, 1)),
    Place("ceiling_behind", (3.0, 3.2, 2.7), (0, 0, -1)),
    Place("ceiling_before", (3.0, 1.4, 2.7), (0, 0, -1)),
    Place("chest_top", (4.5, 3.0, 0.9), (0, 0, 1)),
    Place("wall_left_behind", (0.0, 3.5, 1.5), (1, 0, 0)),
    Place("wall_left_before", (0.0, 1.0, 1.5), (1, 0, 0)),
    Place("wall_near", (4.5, 0.0, 1.5), (0, 1, 0)),
)


def places(case: str) -> tuple[Place, ...]:
    """The twelve receptors of a case."""
    return FRAME_PLACES if case.startswith("frame") else ROOM_PLACES


def checksum() -> str:
    """Of every number of these rooms."""
    numbers: dict[str, Any] = {
        "room": (FLOOR, CEILING, WALL, CHEST, SLAT, WINDOW_X, WINDOW_Z, LUMINANCE_CD_M2),
        "sheets": {name: [_numbers(one) for one in sheets] for name, sheets in SHEETS.items()},
        "panes": (PANES, REVEAL_M),
        "spot": (SPOT_AT, SPOT_AIM, SPOT_EVEN_DEG, SPOT_END_DEG, SPOT_PEAK_CD),
        "blind": (BLIND_WALL_M, slat_heights(), sources.SKY_HORIZONTAL_ILLUMINANCE_LX),
        "mirror": (MIRROR_REFLECTANCE, MIRROR_X, MIRROR_Y, MIRROR_Z, LAMP_CD_M2, LAMP, LAMP_UP),
        "places": [(p.name, p.surface_point, p.normal) for p in ROOM_PLACES + FRAME_PLACES],
    }
    return hashlib.sha256(json.dumps(numbers).encode()).hexdigest()


def _numbers(sheet: Sheet) -> list[Any]:
    return [
        sheet.middle,
        sheet.width,
        sheet.height,
        sheet.straight,
        sheet.scattered,
        sheet.reflected,
    ]


# Scenes ----------------------------------------------------------------------------------


def sheet_room(case: str) -> Scene:
    """The whole scene of a case, without receptors."""
    scene: Scene = {"type": "scene"}
    for name, shape, reflectance in _shell():
        scene[name] = {**shape, "bsdf": matte(reflectance)}
    scene["chest"] = {
        "type": "cube",
        "to_world": mi.ScalarTransform4f().translate([4.5, 3.0, 0.45]).scale([0.4, 0.3, 0.45]),
        "bsdf": matte(CHEST),
    }
    if case.startswith("frame"):
        return scene | far_wall(hole=False) | _spot() | _sheets(case)
    if case == "blind":
        sky = sources.sky(towards_window_only=True)
        return scene | far_wall(hole=True) | _reveals(BLIND_WALL_M) | _blind() | sky
    if case == "mirror_bounce":
        return scene | far_wall(hole=False) | _lamp_up() | _mirror(case)
    if case in ("mirror", "no_mirror"):
        mirror = _mirror(case) if case == "mirror" else {}
        return scene | far_wall(hole=False) | _lamp() | mirror
    depth = REVEAL_M if case in PANES else 0.0
    scene |= far_wall(hole=True) | _window(5.0 + depth)
    return scene | _panes(case) if case in PANES else scene | _sheets(case)


def _shell() -> tuple[tuple[str, Scene, float], ...]:
    """Floor, ceiling and the three walls without a window, 0.3 m longer at either end."""
    return (
        ("floor", rectangle((3, 2.5, 0), (3.3, 0, 0), (0, 2.8, 0)), FLOOR),
        ("ceiling", rectangle((3, 2.5, 2.7), (0, 2.8, 0), (3.3, 0, 0)), CEILING),
        ("wall_left", rectangle((0, 2.5, 1.35), (0, 2.8, 0), (0, 0, 1.65)), WALL),
        ("wall_right", rectangle((6, 2.5, 1.35), (0, 0, 1.65), (0, 2.8, 0)), WALL),
        ("wall_near", rectangle((3, 0, 1.35), (0, 0, 1.65), (3.3, 0, 0)), WALL),
    )


def far_wall(*, hole: bool) -> Scene:
    """The wall y = 5, whole or in four pieces about the window."""
    if not hole:
        return {"wall_far": _upright(5.0, (-0.3, 6.3), (-0.3, 3.0), WALL)}
    (left, right), (low, high) = WINDOW_X, WINDOW_Z
    return {
        "wall_far_left": _upright(5.0, (-0.3, left), (-0.3, 3.0), WALL),
        "wall_far_right": _upright(5.0, (right, 6.3), (-0.3, 3.0), WALL),
        "wall_far_under": _upright(5.0, (left, right), (-0.3, low), WALL),
        "wall_far_over": _upright(5.0, (left, right), (high, 3.0), WALL),
    }


def _upright(y: float, x: tuple[float, float], z: tuple[float, float], reflectance: float) -> Scene:
    """A rectangle across y that looks towards y < 0."""
    return {**_flat_across(y, x, z), "bsdf": matte(reflectance)}


def _flat_across(y: float, x: tuple[float, float], z: tuple[float, float]) -> Scene:
    middle = ((x[0] + x[1]) / 2, y, (z[0] + z[1]) / 2)
    return rectangle(middle, ((x[1] - x[0]) / 2, 0, 0), (0, 0, (z[1] - z[0]) / 2))


def _window(y: float) -> Scene:
    light = _flat_across(y, WINDOW_X, WINDOW_Z)  # x cross z looks into the room
    return {"window": {**light, "bsdf": _black(), "emitter": _even(LUMINANCE_CD_M2)}} | (
        _reveals(y - 5.0) if y > 5.0 else {}
    )


def _reveals(depth: float) -> Scene:
    (left, right), (low, high) = WINDOW_X, WINDOW_Z
    x, y, z = (left + right) / 2, 5.0 + depth / 2, (low + high) / 2
    u, v, w = (right - left) / 2, depth / 2, (high - low) / 2
    flat = {
        "reveal_left": rectangle((left, y, z), (0, v, 0), (0, 0, w)),
        "reveal_right": rectangle((right, y, z), (0, 0, w), (0, v, 0)),
        "reveal_sill": rectangle((x, y, low), (u, 0, 0), (0, v, 0)),
        "reveal_head": rectangle((x, y, high), (0, v, 0), (u, 0, 0)),
    }
    return {name: {**shape, "bsdf": matte(WALL)} for name, shape in flat.items()}


def _sheets(case: str) -> Scene:
    return {f"sheet_{k}": sheet_shape(sheet) for k, sheet in enumerate(SHEETS[case])}


def sheet_shape(sheet: Sheet) -> Scene:
    """A rectangle with the three plugins of this module's first lines."""
    shape = rectangle(sheet.middle, (sheet.width / 2, 0, 0), (0, 0, sheet.height / 2))
    return {**shape, "bsdf": sheet_coat(sheet.straight, sheet.scattered, sheet.reflected)}


def sheet_coat(straight: float, scattered: float, reflected: float) -> Scene:
    """Straight through, scattered through and sent back, shares of what falls on it."""
    lands, lives = 1.0 - straight, scattered + reflected
    through = {
        "type": "principledthin",
        "base_color": _grey(lives / lands),
        "roughness": 0.5,
        "diff_trans": 2.0,
        "spec_trans": 0.0,
    }
    back, share = matte(lives / lands), scattered / lives if lives > 0.0 else 0.0
    blend = {"type": "blendbsdf", "weight": share, "back": back, "through": through}
    coat = back if share == 0.0 else through if share == 1.0 else blend
    return coat if straight == 0.0 else {"type": "mask", "opacity": lands, "coat": coat}


def _panes(case: str) -> Scene:
    """Clear glass, n = 1.52, over the whole opening; two panes stand 2 cm apart."""
    at = {0: (), 1: (5.025,), 2: (5.015, 5.035)}[PANES[case]]
    glass = {"type": "thindielectric", "int_ior": 1.52, "ext_ior": 1.0}
    return {
        f"pane_{k}": {**_flat_across(y, WINDOW_X, WINDOW_Z), "bsdf": glass}
        for k, y in enumerate(at)
    }


def slat_heights() -> tuple[float, ...]:
    """Middles of the blind's slats: the first 1 mm under the rail, then every 4.5 cm.

    A slat is 5 cm deep and 2 mm thick, its room side 30 degrees down; the rail is 4 cm high.
    """
    half = 0.5 * (0.05 * math.sin(math.radians(30.0)) + 0.002)
    under_rail, sill = WINDOW_Z[1] - 0.04, WINDOW_Z[0]
    first = under_rail - half - 0.001
    count = math.floor((first - half - sill) / 0.045 + 1e-9) + 1
    return tuple(first - 0.045 * k for k in range(count))


def _blind() -> Scene:
    """Rail and slats, 5 mm short of the reveals, in the middle of the wall."""
    width, y = WINDOW_X[1] - WINDOW_X[0] - 0.01, 5.0 + BLIND_WALL_M / 2
    rail = mi.ScalarTransform4f().translate([3.0, y, WINDOW_Z[1] - 0.02])
    parts = {"rail": rail.scale([width / 2, 0.025, 0.02])}
    for k, z in enumerate(slat_heights()):
        turned = mi.ScalarTransform4f().translate([3.0, y, z]).rotate([1, 0, 0], 30.0)
        parts[f"slat_{k}"] = turned.scale([width / 2, 0.025, 0.001])
    return {
        name: {"type": "cube", "to_world": to_world, "bsdf": matte(SLAT)}
        for name, to_world in parts.items()
    }


def _spot() -> Scene:
    return {
        "spot": {
            "type": "spot",
            "to_world": mi.ScalarTransform4f().look_at(SPOT_AT, SPOT_AIM, [0, 0, 1]),
            "intensity": _grey(SPOT_PEAK_CD),
            "cutoff_angle": SPOT_END_DEG,
            "beam_width": SPOT_EVEN_DEG,
        }
    }


def _lamp() -> Scene:
    """An even front of 0.9 x 0.6 m at x = 4.6 that looks towards the mirror, black behind."""
    front = rectangle(LAMP, (0, 0, 0.3), (0, 0.45, 0))  # z cross y = -x
    return {"lamp": {**front, "bsdf": _black(), "emitter": _even(LAMP_CD_M2)}}


def _lamp_up() -> Scene:
    """The same front at a height of 2 m, looking up: the mirror under it has none of it direct."""
    front = rectangle(LAMP_UP, (0.3, 0, 0), (0, 0.45, 0))
    return {"lamp": {**front, "bsdf": _black(), "emitter": _even(LAMP_CD_M2)}}


def _mirror(case: str) -> Scene:
    """2 m wide, 5 mm off the wall x = 0; both sides mirror."""
    (near, far), (low, high) = MIRROR_Y, MIRROR_Z[case]
    middle = (MIRROR_X, (near + far) / 2, (low + high) / 2)
    shape = rectangle(middle, (0, (far - near) / 2, 0), (0, 0, (high - low) / 2))
    metal = {
        "type": "conductor",
        "material": "none",
        "specular_reflectance": _grey(MIRROR_REFLECTANCE),
    }
    return {"mirror": {**shape, "bsdf": {"type": "twosided", "bsdf": metal}}}


def _even(luminance: float) -> Scene:
    return {"type": "area", "radiance": _grey(luminance)}


def _black() -> Scene:
    return {"type": "diffuse", "reflectance": _grey(0.0)}


def _grey(value: float) -> Scene:
    return {"type": "rgb", "value": [value] * 3}
