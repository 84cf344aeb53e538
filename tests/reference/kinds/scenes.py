"""One room and a scene for each kind of source, in the other renderer's own language.

Metres; x right, y up the plan, z up. The room is 4 × 3 × 2.5 m: floor 0.3, walls 0.6, ceiling 0.8;
its wall y = 0 has an open window, 1 × 1.2 m, and a block of reflectance 0.5 stands on the floor.
Written by hand: nothing here comes from our scene files, our stage or an exporter. Sources:

- DISC: a true disc, 0.9 m, 2.3 m up, facing down; black behind.
- TUBE: a cylinder that shines, 1.2 m long, 4 cm thick, open ends.
- CRATE: a square of 0.6 m behind an egg crate of real black sheets, cells 3 × 3 × 3 cm.
- WEB: a web without symmetry through a pinhole: the renderer's projector, whose picture holds the
  illuminance that the web gives a plane a metre before it.
- SPOT: a profile spot with a hard edge, top and left shutters, by the same projector; the picture
  is drawn as the beam, not as the gate.
- SUN: a disc that shines, ten kilometres away, of the sun's angular radius.
- SKY: the CIE's clear sky, type 12, over a matte ground, as an environment picture.
"""

from __future__ import annotations

import hashlib
import math
from pathlib import Path
from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray
from tests.reference.witness.receptors import Receptor
from tests.reference.witness.surfaces import Scene, matte, rectangle

KINDS = ("DISC", "TUBE", "CRATE", "WEB", "SPOT", "SUN", "SKY")
FAR_M = 10_000.0
SUN_RADIUS_DEG = 0.2666
SUN_ALTITUDE_DEG, SUN_EAST_OF_DEG = 40.0, -10.0  # from −y, towards +x
SUN_LX, SKY_LX, GROUND = 90_000.0, 14_000.0, 0.2
SKY_ROWS, SKY_COLUMNS = 1024, 2048
PROJECTED = 2048


def receptors() -> tuple[Receptor, ...]:
    """Seven flat receptors."""
    return (
        Receptor("floor_patch", (2.1, 1.55, 0.0), (0, 0, 1)),
        Receptor("floor_left", (1.0, 2.0, 0.0), (0, 0, 1)),
        Receptor("block_top", (3.2, 2.0, 0.9), (0, 0, 1)),
        Receptor("block_front", (3.2, 1.7, 0.5), (0, -1, 0)),
        Receptor("wall_left", (0.0, 1.6, 1.2), (1, 0, 0)),
        Receptor("wall_far", (1.6, 3.0, 1.3), (0, -1, 0)),
        Receptor("ceiling", (2.0, 1.2, 2.5), (0, 0, -1)),
    )


def scene(kind: str) -> Scene:
    """The room with one source."""
    return {"type": "scene", **_room(), **_SOURCES[kind]()}


def checksum() -> str:
    """Of this description, so that stored readings of another one are refused."""
    return hashlib.sha256(Path(__file__).read_bytes()).hexdigest()


def _room() -> Scene:
    sheets = {
        "floor": ((2.0, 1.5, 0.0), (2.0, 0, 0), (0, 1.5, 0), 0.3),
        "ceiling": ((2.0, 1.5, 2.5), (2.0, 0, 0), (0, 1.5, 0), 0.8),
        "left": ((0.0, 1.5, 1.25), (0, 1.5, 0), (0, 0, 1.25), 0.6),
        "right": ((4.0, 1.5, 1.25), (0, 1.5, 0), (0, 0, 1.25), 0.6),
        "far": ((2.0, 3.0, 1.25), (2.0, 0, 0), (0, 0, 1.25), 0.6),
        "near_left": ((0.75, 0.0, 1.25), (0.75, 0, 0), (0, 0, 1.25), 0.6),
        "near_right": ((3.25, 0.0, 1.25), (0.75, 0, 0), (0, 0, 1.25), 0.6),
        "near_under": ((2.0, 0.0, 0.4), (0.5, 0, 0), (0, 0, 0.4), 0.6),
        "near_over": ((2.0, 0.0, 2.25), (0.5, 0, 0), (0, 0, 0.25), 0.6),
    }
    room: Scene = {
        name: {**rectangle(centre, u, v), "bsdf": matte(reflectance)}
        for name, (centre, u, v, reflectance) in sheets.items()
    }
    room["block"] = {
        "type": "cube",
        "to_world": mi.ScalarTransform4f().translate([3.2, 2.0, 0.45]).scale([0.3, 0.3, 0.45]),
        "bsdf": matte(0.5),
    }
    return room


def _disc() -> Scene:
    to = mi.ScalarTransform4f().translate([1.4, 1.7, 2.3]).rotate([1, 0, 0], 180).scale(0.45)
    back = mi.ScalarTransform4f().translate([1.4, 1.7, 2.302]).scale(0.45)
    nit = 3000.0 / (math.pi * math.pi * 0.45**2)
    return {
        "lamp": {"type": "disk", "to_world": to, "bsdf": _black(), "emitter": _shine(nit)},
        "back": {"type": "disk", "to_world": back, "bsdf": _black()},
    }


def _tube() -> Scene:
    nit = 2500.0 / (math.pi * 2.0 * math.pi * 0.02 * 1.2)
    return {
        "lamp": {
            "type": "cylinder",
            "p0": [1.2, 1.4, 1.9],
            "p1": [2.4, 1.4, 1.9],
            "radius": 0.02,
            "bsdf": matte(0.0),
            "emitter": _shine(nit),
        }
    }


def _crate() -> Scene:
    """The even face stands 12 mm behind the cells and 12 mm wider all round, in a black tray.

    No ray through a cell is flatter than 45°, so through the cells all is as if the face lay on
    them. Flush with them, shadow rays, which end about a thousandth of their length before a face,
    would miss the last 2 mm of the cells' walls: found by trial, 6 % too much light. The tray is
    wider still, by another 12 mm, for the same reason.
    """
    centre, half, cell, gap = np.array([1.5, 1.3, 2.4]), 0.3, 0.03, 0.012
    nit = 6000.0 / (math.pi * (2.0 * half) ** 2)
    wide, tray, rise = half + gap, half + 2.0 * gap, np.array([0.0, 0.0, gap])
    made: Scene = {
        "lamp": {
            **rectangle(centre + rise, (0, wide, 0), (wide, 0, 0)),
            "bsdf": _black(),
            "emitter": _shine(nit),
        },
        "back": {
            **rectangle(centre + 1.2 * rise, (tray, 0, 0), (0, tray, 0)),
            "bsdf": _black(),
        },
    }
    for k, (x, y) in enumerate(((1, 0), (-1, 0), (0, 1), (0, -1))):
        out, along = np.array([x, y, 0.0]), np.array([y, x, 0.0])
        made[f"rim_{k}"] = {
            **rectangle(centre + (half + gap) * out, gap * out, tray * along),
            "bsdf": matte(0.0),
        }
        made[f"side_{k}"] = {
            **rectangle(centre + tray * out + 0.6 * rise, tray * along, 0.6 * rise),
            "bsdf": matte(0.0),
        }
    for k in range(21):
        at = -half + k * cell
        low = centre + np.array([at, 0.0, -0.5 * cell])
        made[f"along_{k}"] = {
            **rectangle(low, (0, half, 0), (0, 0, 0.5 * cell)),
            "bsdf": matte(0.0),
        }
        low = centre + np.array([0.0, at, -0.5 * cell])
        made[f"across_{k}"] = {
            **rectangle(low, (half, 0, 0), (0, 0, 0.5 * cell)),
            "bsdf": matte(0.0),
        }
    return made


def _web() -> Scene:
    """I = 2500 cos²γ (1 + 0.6 cos(C − 0.5) sin 2γ + 0.3 cos 2C sin²γ) cd to γ = 50°.

    C = 0 is left as seen from behind the lamp, a quarter turn is up.
    """
    left, up = _slopes(1.25)
    angle, turn = np.arctan(np.hypot(left, up)), np.arctan2(up, left)
    lean = 0.6 * np.cos(turn - 0.5) * np.sin(2.0 * angle)
    candela = 2500.0 * np.cos(angle) ** 2
    candela *= 1.0 + lean + 0.3 * np.cos(2.0 * turn) * np.sin(angle) ** 2
    candela[angle > math.radians(50.0)] = 0.0
    return _projector((1.0, 1.5, 2.4), (2.2, 1.4, 0.0), candela, 1.25)


def _spot() -> Scene:
    """An even cone of 36°, 3,000 lm with its gate open, cut at the bottom and at the right.

    The bottom cut is 0.4 half widths below the axis and rises 10° to the right; the right cut is
    upright, 0.6 half widths out. (At the gate: the top shutter 30 % in, the left one 20 %.)
    """
    rim = math.tan(math.radians(18.0))
    left, up = _slopes(0.4)
    right, up = -left / rim, up / rim
    candela = np.full_like(right, 3000.0 / (2.0 * math.pi * (1.0 - math.cos(math.radians(18.0)))))
    open_part = (np.hypot(right, up) <= 1.0) & (right <= 0.6)
    open_part &= up >= -0.4 + right * math.tan(math.radians(10.0))
    return _projector((0.5, 0.4, 2.2), (1.9, 1.8, 0.0), np.where(open_part, candela, 0.0), 0.4)


def _slopes(half: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Slopes to the left and up of the pixels of a picture that reaches `half` from its middle."""
    at = ((np.arange(PROJECTED) + 0.5) / PROJECTED * 2.0 - 1.0) * half
    right, down = np.meshgrid(at, at)
    return -right, -down


def _projector(
    origin: tuple[float, float, float],
    target: tuple[float, float, float],
    candela: NDArray[np.float64],
    half: float,
) -> Scene:
    """A pinhole that sends a picture; pixel value times π is illuminance a metre ahead.

    Found by trial: quadrants of known value on a plane a metre before it.
    """
    left, up = _slopes(half)
    lux = candela * np.cos(np.arctan(np.hypot(left, up))) ** 3
    picture = np.repeat((lux / math.pi)[:, :, None], 3, axis=2).astype(np.float32)
    return {
        "lamp": {
            "type": "projector",
            "to_world": mi.ScalarTransform4f().look_at(
                origin=list(origin), target=list(target), up=[0, 0, 1]
            ),
            "fov": 2.0 * math.degrees(math.atan(half)),
            "irradiance": {"type": "bitmap", "bitmap": mi.Bitmap(picture), "raw": True},
        }
    }


def sun_way() -> NDArray[np.float64]:
    """Unit way to the sun."""
    up, aside = math.radians(SUN_ALTITUDE_DEG), math.radians(SUN_EAST_OF_DEG)
    flat = math.cos(up)
    return np.array([flat * math.sin(aside), -flat * math.cos(aside), math.sin(up)])


def _sun() -> Scene:
    way = sun_way()
    radius = FAR_M * math.tan(math.radians(SUN_RADIUS_DEG))
    middle = np.array([2.0, 1.0, 0.5]) + FAR_M * way
    to = mi.ScalarTransform4f().look_at(
        origin=middle.tolist(), target=[2.0, 1.0, 0.5], up=[0, 0, 1]
    )
    nit = SUN_LX / (math.pi * math.sin(math.radians(SUN_RADIUS_DEG)) ** 2)
    return {
        "lamp": {
            "type": "disk",
            "to_world": to.scale(radius),
            "bsdf": _black(),
            "emitter": _shine(nit),
        }
    }


def _sky() -> Scene:
    """L ∝ (1 − exp(−0.32/cos Z)) (1 + 10 (exp(−3χ) − exp(−3π/2)) + 0.45 cos²χ), ground 0.2."""
    polar = (np.arange(SKY_ROWS) / (SKY_ROWS - 1) * math.pi)[:, None]
    turn = ((np.arange(SKY_COLUMNS) + 0.5) / SKY_COLUMNS * 2.0 * math.pi)[None, :]
    x, y = np.sin(polar) * np.sin(turn), np.sin(polar) * np.cos(turn)
    z = np.broadcast_to(np.cos(polar), x.shape)
    way = sun_way()
    near = np.arccos(np.clip(x * way[0] + y * way[1] + z * way[2], -1.0, 1.0))
    with np.errstate(divide="ignore", over="ignore"):
        level = 1.0 - np.exp(-0.32 / np.maximum(z, 1e-9))
    level = level * (
        1.0 + 10.0 * (np.exp(-3.0 * near) - math.exp(-1.5 * math.pi)) + 0.45 * np.cos(near) ** 2
    )
    cell = np.sin(polar) * (math.pi / (SKY_ROWS - 1)) * (2.0 * math.pi / SKY_COLUMNS)
    falling = float((np.where(z > 0.0, level * z, 0.0) * cell).sum())
    nit = np.where(z >= 0.0, level * SKY_LX / falling, GROUND * SKY_LX / math.pi)
    # Ways that face into the room can reach no window: black, so that no samples go there.
    nit = np.where(y < 0.02, nit, 0.0)
    turned = mi.ScalarTransform4f().rotate(axis=[1, 0, 0], angle=90)  # up of the picture is y
    picture = np.repeat(nit[:, :, None], 3, axis=2).astype(np.float32)
    return {"sky": {"type": "envmap", "bitmap": mi.Bitmap(picture), "to_world": turned}}


def _black() -> Scene:
    return {"type": "diffuse", "reflectance": {"type": "rgb", "value": [0.0] * 3}}


def _shine(nit: float) -> Scene:
    return {"type": "area", "radiance": {"type": "rgb", "value": [nit] * 3}}


_SOURCES: dict[str, Any] = {
    "DISC": _disc,
    "TUBE": _tube,
    "CRATE": _crate,
    "WEB": _web,
    "SPOT": _spot,
    "SUN": _sun,
    "SKY": _sky,
}
