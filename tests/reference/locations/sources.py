"""The sources of the three locations by hand, in the other renderer's own scene language.

Lengths in metres; x right, y up the plan, z up. Numbers are copied from the scene files by hand;
how they are meant is in docs/physics/sources.md and docs/physics/outside.md. Nothing here comes
from our source records. All sources are white: a radiance of (L, L, L) stands for L cd/m².

- Panel: an even matte front, L = Φ/(π w h), that gives light from one side; its width is level.
- Ball: a true sphere, L = Φ/(π · 4πr²).
- Head: a round mouth that throws the profile from every point alike: 64 projectors on a sunflower
  over the mouth, a millimetre before it, each with a 64th of the flux.
- Hole: an overcast sky over an even ground as an environment picture, and the buildings outside as
  blocks of even luminance; the other holes of the room are closed by black plates.

Fronts reflect what their material does, lit or not, as the stage has them.
"""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray
from tests.reference.witness.surfaces import Scene, Vector, rectangle

MOUTH_POINTS = 64
AHEAD_M = 0.001
PROFILE_PIXELS = 1024
SKY_ROWS, SKY_COLUMNS = 1024, 512
SKY_MARGIN = 0.02
# source: "open-face spot" of docs/physics/sources.md and the catalogue: degrees, share of the axis
OPEN_FACE_SPOT = ((0, 1), (5, 0.93), (10, 0.62), (15, 0.3), (20, 0.12), (30, 0.04), (45, 0))
FACES: dict[str, str] = {
    "workshop": "MAKER",
    "kitchen": "SLEEPLESS",
    "stairwell": "LATE",
}


@dataclass(frozen=True, slots=True)
class Panel:
    """aim: "face", the subject's, or "down", which has its width along x."""

    flux_lm: float
    centre_m: Vector
    size_m: tuple[float, float]
    aim: str
    material: str = "diffusion cloth"


@dataclass(frozen=True, slots=True)
class Ball:
    """A globe of opal glass."""

    flux_lm: float
    centre_m: Vector
    diameter_m: float
    material: str = "opal glass"


@dataclass(frozen=True, slots=True)
class Head:
    """An open-face head with the profile above."""

    flux_lm: float
    centre_m: Vector
    aim_m: Vector
    mouth_m: float
    material: str = "black metal"


@dataclass(frozen=True, slots=True)
class Hole:
    """The outer rectangle of a window: corner, edges whose product points into the room."""

    corner_m: Vector
    edge_u_m: Vector
    edge_v_m: Vector
    outside_lx: float
    ground: float


@dataclass(frozen=True, slots=True)
class Block:
    """A building: its middle, size and luminous reflectance."""

    centre_m: Vector
    size_m: Vector
    reflectance: float


BOOK_TURN = math.radians(-84.0 - 30.0 * (7.0 + 40.0 / 60.0 - 6.0))  # 7:40, six o'clock being −84°
LIGHTS: dict[str, dict[str, Panel | Ball | Head | Hole]] = {
    "workshop": {
        # wall 4 runs from (0, 4.6) down, 0.3 m thick; wall 3 from (5.4, 4.6) to the left
        "WINDOW": Hole((-0.3, 1.9, 0.95), (0, 1.7, 0), (0, 0, 1.35), 11_000.0, 0.2),
        "BACK WINDOW": Hole((2.1, 4.9, 1.05), (0.95, 0, 0), (0, 0, 1.2), 11_000.0, 0.2),
        "BOOK": Panel(
            7600.0,
            (2.42 + 2.1 * math.cos(BOOK_TURN), 2.62 + 2.1 * math.sin(BOOK_TURN), 1.85),
            (1.2, 1.2),
            "face",
        ),
        "WALL HEAD": Head(2600.0, (4.75, 2.95, 2.4), (3.6, 4.6, 1.5), 0.12),
        "GLOBE": Ball(450.0, (3.4, 3.0, 1.92), 0.14),
    },
    "kitchen": {
        "MOON": Head(1400.0, (3.5, 7.6, 4.4), (2.35, 2.1, 0.95), 0.20),
        "HOOD LAMP": Panel(110.0, (1.06, 3.3, 1.535), (0.30, 0.06), "down"),
        "REFRIGERATOR LAMP": Panel(160.0, (0.36, 2.05, 1.655), (0.26, 0.05), "down"),
        "PHONE": Panel(24.0, (2.27, 1.53, 0.82), (0.07, 0.145), "face"),
    },
    "stairwell": {
        "SHAFT": Head(1900.0, (1.7, 2.9, 9.4), (1.75, 2.7, 0.0), 0.20),
        "WALL LAMP": Ball(420.0, (2.83, 1.75, 2.15), 0.16),
        "HALL LAMP": Ball(500.0, (1.55, 6.6, 2.2), 0.20),
    },
}
# at: the middle on the plan; they stand on −0.3 m; red brick reflects 0.2, plaster 0.6
BUILDINGS: dict[str, tuple[Block, ...]] = {
    "workshop": (
        Block((-7.0, 2.0, -0.3 + 1.3), (0.4, 16.0, 2.6), 0.2),
        Block((3.0, 17.0, -0.3 + 3.5), (14.0, 8.0, 7.0), 0.6),
    ),
}


def numbers(location: str) -> str:
    """The location's sources as canonical text, for its checksum."""
    told = {
        "lights": {
            name: (type(one).__name__, asdict(one)) for name, one in LIGHTS[location].items()
        },
        "buildings": [asdict(one) for one in BUILDINGS.get(location, ())],
        "profile": OPEN_FACE_SPOT,
        "mouth": (MOUTH_POINTS, AHEAD_M, PROFILE_PIXELS),
        "sky": (SKY_ROWS, SKY_COLUMNS, SKY_MARGIN),
    }
    return json.dumps(_rounded(told), sort_keys=True, separators=(",", ":"))


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, dict):
        return {key: _rounded(one) for key, one in value.items()}
    return [_rounded(one) for one in value] if isinstance(value, list | tuple) else value


def sources(
    location: str, lit: str, face_m: NDArray[np.float64], albedo: dict[str, list[float]]
) -> Scene:
    """Fronts of all lights, and the light of one of them, "" for none.

    face_m: where a front with the aim "face" looks; albedo: linear reflectance by material.
    """
    scene: Scene = {}
    for name, light in LIGHTS[location].items():
        key = name.replace(" ", "_").lower()
        match light:
            case Panel():
                scene[key] = _panel(light, lit == name, face_m, albedo[light.material])
            case Ball():
                scene[key] = _ball(light, lit == name, albedo[light.material])
            case Head():
                scene[f"{key}_mouth"] = _mouth(light, albedo[light.material])
                if lit == name:
                    scene |= _beam(light)
            case Hole() if lit == name:
                scene |= _sky(light, BUILDINGS.get(location, ()))
            case Hole():
                scene[f"{key}_shut"] = _plate(light)
    return scene


def _panel(light: Panel, lit: bool, face_m: NDArray[np.float64], albedo: list[float]) -> Scene:
    centre, (width, height) = np.array(light.centre_m), light.size_m
    if light.aim == "down":
        half_u, half_v = np.array([-0.5 * width, 0, 0]), np.array([0, 0.5 * height, 0])
    else:
        _, level, rise = frame(np.asarray(face_m) - centre)
        half_u, half_v = 0.5 * width * level, 0.5 * height * rise
    front = {**rectangle(centre, half_u, half_v), "bsdf": _matte(albedo)}
    if lit:
        front["emitter"] = _shine(light.flux_lm / (math.pi * width * height))
    return front


def _ball(light: Ball, lit: bool, albedo: list[float]) -> Scene:
    radius = 0.5 * light.diameter_m
    sphere: Scene = {
        "type": "sphere",
        "center": list(light.centre_m),
        "radius": radius,
        "bsdf": _matte(albedo),
    }
    if lit:
        sphere["emitter"] = _shine(light.flux_lm / (4.0 * math.pi**2 * radius**2))
    return sphere


def _mouth(light: Head, albedo: list[float]) -> Scene:
    to = mi.ScalarTransform4f().look_at(
        origin=list(light.centre_m), target=list(light.aim_m), up=[0, 1, 0.1]
    )
    return {"type": "disk", "to_world": to.scale(0.5 * light.mouth_m), "bsdf": _matte(albedo)}


def _beam(light: Head) -> Scene:
    """64 pinholes, a sunflower over the mouth; each throws the same picture of the profile."""
    centre = np.array(light.centre_m)
    axis, level, rise = frame(np.array(light.aim_m) - centre)
    thrown = mi.load_dict({"type": "bitmap", "bitmap": _profile(light.flux_lm), "raw": True})
    made: Scene = {}
    for k in range(MOUTH_POINTS):
        ring = 0.5 * light.mouth_m * math.sqrt((k + 0.5) / MOUTH_POINTS)
        turn = k * math.pi * (3.0 - math.sqrt(5.0))
        way = math.cos(turn) * level + math.sin(turn) * rise
        spot = centre + AHEAD_M * axis + ring * way
        made[f"beam_{k}"] = {
            "type": "projector",
            "to_world": mi.ScalarTransform4f().look_at(
                origin=spot.tolist(), target=(spot + axis).tolist(), up=rise.tolist()
            ),
            "fov": 90.0,
            "irradiance": thrown,
        }
    return made


@lru_cache(maxsize=8)
def _profile(flux_lm: float) -> Any:
    """Picture of a 64th of the profile out to 45°; pixel × π is illuminance a metre ahead.

    Φ = 2π ∫ I sinθ dθ; of I = p + m θ between two angles the integral is [−I cosθ + m sinθ].
    """
    angle = np.radians([float(row[0]) for row in OPEN_FACE_SPOT])
    share = np.array([float(row[1]) for row in OPEN_FACE_SPOT])
    slope = np.diff(share) / np.diff(angle)
    parts = -share[1:] * np.cos(angle[1:]) + slope * np.sin(angle[1:])
    parts += share[:-1] * np.cos(angle[:-1]) - slope * np.sin(angle[:-1])
    peak_cd = flux_lm / (2.0 * math.pi * float(parts.sum()))
    at = (np.arange(PROFILE_PIXELS) + 0.5) / PROFILE_PIXELS * 2.0 - 1.0
    away = np.arctan(np.hypot(at[:, None], at[None, :]))
    candela = peak_cd * np.interp(away, angle, share, right=0.0)
    lux = candela * np.cos(away) ** 3 / MOUTH_POINTS
    return mi.Bitmap(np.repeat((lux / math.pi)[:, :, None], 3, axis=2).astype(np.float32))


def frame(toward: Any) -> tuple[NDArray[np.float64], ...]:
    """Unit axis, level way and rising way of a front; level × rise = axis."""
    axis = np.asarray(toward, float) / np.linalg.norm(toward)
    level = np.cross([0.0, 0.0, 1.0], axis)
    level /= np.linalg.norm(level)
    return axis, level, np.cross(axis, level)


def _sky(hole: Hole, buildings: tuple[Block, ...]) -> Scene:
    """L = Lz (1 + 2 sin γ)/3, E = 7π/9 Lz; ground ρE/π; façades ρ_b/π (0.3962 E + ρE/2)."""
    zenith = hole.outside_lx * 9.0 / (7.0 * math.pi)
    earth = hole.ground * hole.outside_lx / math.pi
    polar = (np.arange(SKY_ROWS) / (SKY_ROWS - 1) * math.pi)[:, None]
    turn = ((np.arange(SKY_COLUMNS) + 0.5) / SKY_COLUMNS * 2.0 * math.pi)[None, :]
    x, y = np.sin(polar) * np.sin(turn), np.sin(polar) * np.cos(turn)
    z = np.broadcast_to(np.cos(polar), x.shape)
    nit = np.where(z >= 0.0, zenith * (1.0 + 2.0 * z) / 3.0, earth)
    # Ways that no ray can leave by through this hole: black, so that no samples go there.
    out = -np.cross(hole.edge_u_m, hole.edge_v_m)
    out /= np.linalg.norm(out)
    nit = np.where(x * out[0] + y * out[1] + z * out[2] > -SKY_MARGIN, nit, 0.0)
    picture = np.repeat(nit[:, :, None], 3, axis=2).astype(np.float32)
    upright = mi.ScalarTransform4f().rotate(axis=[1, 0, 0], angle=90)  # up of the picture is y
    scene: Scene = {
        "sky": {"type": "envmap", "bitmap": mi.Bitmap(picture), "to_world": upright},
    }
    facade = (math.pi / 6.0 + 4.0 / 9.0) / (7.0 * math.pi / 9.0)  # of E, on an upright wall
    for k, one in enumerate(buildings):
        to = mi.ScalarTransform4f().translate(list(one.centre_m))
        level = one.reflectance / math.pi * hole.outside_lx * (facade + 0.5 * hole.ground)
        scene[f"building_{k}"] = {
            "type": "cube",
            "to_world": to.scale([0.5 * side for side in one.size_m]),
            "bsdf": _matte([0.0] * 3),
            # found by rays that leave the room; few are sent there on purpose
            "emitter": {**_shine(level), "sampling_weight": 0.1},
        }
    return scene


def _plate(hole: Hole) -> Scene:
    """A black plate over a hole, 2 cm wider all round."""
    u, v = np.array(hole.edge_u_m), np.array(hole.edge_v_m)
    middle = np.array(hole.corner_m) + 0.5 * (u + v)
    half_u, half_v = (0.5 * e * (1.0 + 0.04 / np.linalg.norm(e)) for e in (u, v))
    return {**rectangle(middle, half_u, half_v), "bsdf": _matte([0.0] * 3)}


def _matte(albedo: list[float]) -> Scene:
    """Matte on the side that the normal is on, black behind."""
    return {"type": "diffuse", "reflectance": {"type": "rgb", "value": albedo}}


def _shine(nit: float) -> Scene:
    return {"type": "area", "radiance": {"type": "rgb", "value": [nit] * 3}}
