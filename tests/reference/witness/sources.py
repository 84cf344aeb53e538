"""The four sources of the witness room in the renderer's own scene language.

Emission is photometric and grey: a radiance of (L, L, L) stands for a luminance of L cd/m2,
so a picture's channels are luminances and differ only where a surface is coloured.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray
from tests.reference.witness.surfaces import Scene, Vector, matte, rectangle

SOURCES = ("WINDOW", "SOFTBOX", "BEAM", "GLOBE")

SKY_HORIZONTAL_ILLUMINANCE_LX = 12000.0
GROUND_REFLECTANCE = 0.2
SKY_ROWS, SKY_COLUMNS = 1024, 64
SKY_BEHIND_SINE = -0.2  # directions with y below this, and a margin, never meet the window


@dataclass(frozen=True, slots=True)
class SoftBox:
    """An even matte front, and behind it a body open at the front."""

    flux_lm: float
    centre_m: Vector
    aim_m: Vector
    width_m: float
    height_m: float
    body_depth_m: float
    body_reflectance: float
    front_ahead_of_body_m: float


@dataclass(frozen=True, slots=True)
class Beam:
    """A point; peak intensity to the even half angle, then linear in angle to the cutoff."""

    flux_lm: float
    position_m: Vector
    aim_m: Vector
    even_half_angle_deg: float
    cutoff_half_angle_deg: float


@dataclass(frozen=True, slots=True)
class Globe:
    """A matte luminous sphere."""

    flux_lm: float
    centre_m: Vector
    radius_m: float


SOFT_BOX = SoftBox(6200.0, (4.6, 1.2, 1.9), (2.5, 2.6, 1.2), 0.9, 0.6, 0.45, 0.05, 0.002)
BEAM = Beam(5000.0, (5.4, 4.2, 2.2), (1.2, 3.4, 2.7), 15.0, 25.0)
GLOBE = Globe(600.0, (1.5, 1.0, 1.25), 0.06)


def numbers() -> dict[str, Any]:
    """All numbers of the sources, for the checksum of the room's description."""
    box, spot, ball = SOFT_BOX, BEAM, GLOBE
    return {
        "sky": (SKY_HORIZONTAL_ILLUMINANCE_LX, GROUND_REFLECTANCE, "traditional overcast"),
        "soft_box": {
            "flux_lm": box.flux_lm,
            "centre": box.centre_m,
            "aim": box.aim_m,
            "width": box.width_m,
            "height": box.height_m,
            "body_depth": box.body_depth_m,
            "body_reflectance": box.body_reflectance,
            "emitter_ahead_of_body": box.front_ahead_of_body_m,
        },
        "beam": {
            "flux_lm": spot.flux_lm,
            "position": spot.position_m,
            "aim": spot.aim_m,
            "even_half_angle_deg": spot.even_half_angle_deg,
            "cutoff_half_angle_deg": spot.cutoff_half_angle_deg,
        },
        "globe": {"flux_lm": ball.flux_lm, "centre": ball.centre_m, "radius": ball.radius_m},
    }


def zenith_luminance_cd_m2() -> float:
    """Zenith luminance of the traditional overcast sky, from E_h = 7 pi / 9 L_z."""
    return SKY_HORIZONTAL_ILLUMINANCE_LX * 9.0 / (7.0 * math.pi)


def ground_luminance_cd_m2() -> float:
    """Luminance of the even ground below the horizon, 0.2 E_h / pi."""
    return GROUND_REFLECTANCE * SKY_HORIZONTAL_ILLUMINANCE_LX / math.pi


def soft_box_luminance_cd_m2() -> float:
    """Luminance of the soft box's even matte front, flux / (pi area)."""
    return SOFT_BOX.flux_lm / (math.pi * SOFT_BOX.width_m * SOFT_BOX.height_m)


def globe_luminance_cd_m2() -> float:
    """Luminance of the globe, flux / (pi 4 pi r^2)."""
    return GLOBE.flux_lm / (4.0 * math.pi**2 * GLOBE.radius_m**2)


def beam_peak_intensity_cd() -> float:
    """Peak intensity for the beam's flux.

    The renderer's spot holds its peak out to the half angle b and then falls linearly *in angle*
    to nothing at the half angle c: I(t) = I0 for t <= b, I0 (c - t) / (c - b) for b < t < c.
    So flux = 2 pi I0 (1 - (sin c - sin b) / (c - b)).
    """
    b = math.radians(BEAM.even_half_angle_deg)
    c = math.radians(BEAM.cutoff_half_angle_deg)
    flux_per_candela = 2.0 * math.pi * (1.0 - (math.sin(c) - math.sin(b)) / (c - b))
    return BEAM.flux_lm / flux_per_candela


def beam_intensity_cd(angle_rad: float) -> float:
    """Intensity of the beam at an angle from its axis, by the law of beam_peak_intensity_cd."""
    b = math.radians(BEAM.even_half_angle_deg)
    c = math.radians(BEAM.cutoff_half_angle_deg)
    share = min(1.0, max(0.0, (c - angle_rad) / (c - b)))
    return beam_peak_intensity_cd() * share


def soft_box(lit: bool) -> Scene:
    """Front of the soft box, black as a reflector, and the five other faces of its body.

    The front stands 2 mm ahead of the body; the body has no front face of its own.
    """
    centre, forward, right, up = soft_box_frame()
    half_u = right * SOFT_BOX.width_m / 2
    half_v = up * SOFT_BOX.height_m / 2
    half_w = forward * SOFT_BOX.body_depth_m / 2
    front_of_body = centre - forward * SOFT_BOX.front_ahead_of_body_m
    middle = front_of_body - half_w
    front = rectangle(centre, half_v, half_u)  # up x right = forward: that side gives light
    front["bsdf"] = {"type": "diffuse", "reflectance": {"type": "rgb", "value": [0.0] * 3}}
    if lit:
        front["emitter"] = _area_emitter(soft_box_luminance_cd_m2())
    body = {
        "back": rectangle(front_of_body - 2 * half_w, half_u, half_v),
        "right": rectangle(middle + half_u, half_v, half_w),
        "left": rectangle(middle - half_u, half_v, half_w),
        "top": rectangle(middle + half_v, half_u, half_w),
        "bottom": rectangle(middle - half_v, half_u, half_w),
    }
    bsdf = matte(SOFT_BOX.body_reflectance)
    sides = {f"soft_box_body_{name}": {**shape, "bsdf": bsdf} for name, shape in body.items()}
    return {"soft_box_front": front, **sides}


def soft_box_frame() -> tuple[NDArray[np.float64], ...]:
    """Centre, forward, right (horizontal) and up of the soft box's front."""
    centre, aim = np.array(SOFT_BOX.centre_m), np.array(SOFT_BOX.aim_m)
    forward = (aim - centre) / np.linalg.norm(aim - centre)
    right = np.cross(forward, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    return centre, forward, right, np.cross(right, forward)


def globe(lit: bool) -> Scene:
    """Bare globe: a black sphere that gives light evenly from its whole surface."""
    sphere: Scene = {
        "type": "sphere",
        "center": list(GLOBE.centre_m),
        "radius": GLOBE.radius_m,
        "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": [0.0] * 3}},
    }
    if lit:
        sphere["emitter"] = _area_emitter(globe_luminance_cd_m2())
    return {"globe": sphere}


def beam() -> Scene:
    """Open-face light as a point with the renderer's own spot law; nothing of it can be seen."""
    return {
        "beam": {
            "type": "spot",
            "to_world": mi.ScalarTransform4f().look_at(
                origin=list(BEAM.position_m),
                target=list(BEAM.aim_m),
                up=[0, 0, 1],
            ),
            "intensity": {"type": "rgb", "value": [beam_peak_intensity_cd()] * 3},
            "cutoff_angle": BEAM.cutoff_half_angle_deg,
            "beam_width": BEAM.even_half_angle_deg,
        }
    }


def sky(*, towards_window_only: bool) -> Scene:
    """Traditional overcast sky over an even ground, as an environment picture with z up.

    towards_window_only: black for directions that face away from the window wall. The room is
    shut, so they carry no light; leaving them out halves the samples that find nothing.
    """
    turn = mi.ScalarTransform4f().rotate(axis=[1, 0, 0], angle=90)  # picture's up (y) becomes z
    return {
        "sky": {
            "type": "envmap",
            "bitmap": mi.Bitmap(_sky_picture(towards_window_only)),
            "to_world": turn,
        }
    }


def sky_luminance_cd_m2(sine_of_elevation: Any) -> Any:
    """L_z (1 + 2 sin g) / 3 above the horizon, the ground's luminance below it."""
    sine = np.asarray(sine_of_elevation, float)
    above = zenith_luminance_cd_m2() * (1.0 + 2.0 * sine) / 3.0
    return np.where(sine >= 0.0, above, ground_luminance_cd_m2())


def _sky_picture(towards_window_only: bool) -> NDArray[np.float32]:
    """Rows from zenith to nadir, both included; the horizon falls midway between two rows.

    The plugin puts row i at polar angle pi i / (rows - 1). Its picture's azimuth t, once turned
    to z up, runs as y = sin(polar) cos(t); half a column either way is within the margin.
    """
    polar = np.arange(SKY_ROWS) / (SKY_ROWS - 1) * math.pi
    turn = (np.arange(SKY_COLUMNS) + 0.5) / SKY_COLUMNS * 2.0 * math.pi
    luminance = np.repeat(sky_luminance_cd_m2(np.cos(polar))[:, None], SKY_COLUMNS, axis=1)
    if towards_window_only:
        world_y = np.sin(polar)[:, None] * np.cos(turn)[None, :]
        luminance = np.where(world_y > SKY_BEHIND_SINE, luminance, 0.0)
    return np.repeat(luminance[:, :, None], 3, axis=2).astype(np.float32)


def _area_emitter(luminance_cd_m2: float) -> Scene:
    return {"type": "area", "radiance": {"type": "rgb", "value": [luminance_cd_m2] * 3}}
