"""What lights look like: points around their faces and housings, and the angles of their beams."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.document import (
    BookLight,
    Candle,
    FresnelLight,
    Globe,
    Lantern,
    LightPanel,
    OpenFace,
    ProfileSpotLight,
    Quantity,
    Screen,
    ShadedBulb,
    SoftBox,
    TubeLight,
)
from falloff.drawing.plan_outlines import circle
from falloff.photometry import NAMED_PROFILES, beam_angle_rad, round_beam, web_beam_angle_rad
from falloff.stage.fronts import outline_of
from falloff.stage.kit_lights import WebMouth, crate_of
from falloff.stage.lights import AnyForm
from falloff.stage.places import Placer
from falloff.types import Float64Array

ROUND: Final = (Globe, Lantern, ShadedBulb, Candle, TubeLight)
_SOFT_HALF_RAD: Final = math.radians(60.0)  # where a cosine is at half
_NARROWEST_RAD: Final = math.radians(0.5)  # of a file whose peak is not ahead
_EDGE_M: Final = 0.02  # a face seen on its edge is drawn this thick


@dataclass(frozen=True, slots=True)
class Front:
    """A light in place: middle (3,), axis, level and rise as of its front."""

    middle: Float64Array
    axis: Float64Array
    level: Float64Array
    rise: Float64Array


def size_of(form: AnyForm) -> tuple[float, float]:
    """Width and height of what shines, or its diameter twice; length and diameter of a tube (m)."""
    match form:
        case SoftBox() | LightPanel() | BookLight() | Screen():
            return form.size[0].si, form.size[1].si
        case OpenFace() | FresnelLight() | ProfileSpotLight():
            return form.aperture.si, form.aperture.si
        case TubeLight():
            return form.length.si, form.diameter.si
        case WebMouth():
            return form.mouth_m
        case ShadedBulb(shade=shade):
            wide = max(shade.top.si, shade.bottom.si)
            return wide, wide
        case _:
            return form.diameter.si, form.diameter.si


def width_on_plan(front: Front, size: tuple[float, float]) -> float:
    """How wide a face is across its own aim, as the plan sees it (m)."""
    flat = math.hypot(front.axis[0], front.axis[1])
    if flat < 1e-3:
        return max(size)
    across = np.array([-front.axis[1], front.axis[0], 0.0]) / flat
    spans = abs(float(front.level @ across)) * size[0], abs(float(front.rise @ across)) * size[1]
    return math.hypot(*spans) if front.level[2] else sum(spans)


def face_points(front: Front, form: AnyForm) -> Float64Array:
    """Points (n, 3) around what shines."""
    width, height = size_of(form)
    if isinstance(form, Globe | Lantern | Candle):
        return _ball(front.middle, 0.5 * width)
    if isinstance(form, ShadedBulb):
        return _ball(front.middle, 0.5 * form.diameter.si)
    if isinstance(form, TubeLight):
        along = 0.5 * width * front.level
        rim = 0.5 * height * circle(np.zeros(2), 1.0)
        around = rim[:, :1] * front.axis + rim[:, 1:] * front.rise
        return np.concatenate([front.middle + along + around, front.middle - along + around])
    corners = _rim(front, form)
    return np.concatenate([corners, corners - _EDGE_M * front.axis])


def _rim(front: Front, form: AnyForm) -> Float64Array:
    width, height = size_of(form)
    shape = getattr(form, "shape", "rectangle")
    if isinstance(form, OpenFace | FresnelLight | ProfileSpotLight):
        shape = "round"
    if isinstance(form, WebMouth) and not form.square:
        shape = "round"
    if shape == "rectangle":
        rim = 0.5 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (width, height)
    else:
        rim = outline_of(shape, width, height)
    return np.asarray(front.middle + rim[:, :1] * front.level + rim[:, 1:] * front.rise)


def body_points(front: Front, form: AnyForm) -> Float64Array | None:
    """Points (n, 3) around the housing; None where all of it shines."""
    match form:
        case BookLight():
            return _book(front, form)
        case OpenFace() | FresnelLight() | ProfileSpotLight():
            rim = front.middle + 1.12 * (_rim(front, form) - front.middle)
            return np.concatenate([rim, rim - 1.2 * form.aperture.si * front.axis])
        case SoftBox() | LightPanel() | Screen() | WebMouth():
            rim = _rim(front, form)
            depth = form.depth_m if isinstance(form, WebMouth) else form.depth.si
            return np.concatenate([rim, rim - depth * front.axis])
        case ShadedBulb(shade=shade):
            half = np.array([0.0, 0.0, 0.5 * shade.height.si])
            top, low = (
                circle(front.middle[:2], 0.5 * shade.top.si),
                circle(front.middle[:2], 0.5 * shade.bottom.si),
            )
            z = np.full((len(top), 1), front.middle[2])
            return np.concatenate([np.hstack([top, z]) + half, np.hstack([low, z]) - half])
        case _:
            return None


def _book(front: Front, form: BookLight) -> Float64Array:
    """The cloth, the board that leans from its far edge, and the head between them."""
    width, opening = form.size[0].si, form.opening.si
    lean = math.asin(min(0.95, opening / width))
    away = math.cos(lean) * front.level - math.sin(lean) * front.axis
    board = (_rim(front, form) - front.middle) @ np.stack([front.level, front.rise]).T
    spine = front.middle - 0.5 * width * front.level
    leaned = spine + (board[:, :1] + 0.5 * width) * away + board[:, 1:] * front.rise
    head = front.middle + 0.5 * width * front.level - 0.45 * opening * front.axis
    return np.concatenate([_rim(front, form), leaned, _ball(head, 0.1)])


def _ball(middle: Float64Array, radius_m: float) -> Float64Array:
    rim = circle(np.zeros(2), radius_m)
    flat, none = rim, np.zeros((len(rim), 1))
    rings = (np.hstack([flat, none]), np.hstack([flat[:, :1], none, flat[:, 1:]]),
             np.hstack([none, flat]))  # fmt: skip
    return np.asarray(middle + np.concatenate(rings))


# Beams -------------------------------------------------------------------------------------


def half_angle_rad(placer: Placer, form: AnyForm) -> float | None:
    """Half the angle at half the peak; None for what shines all round."""
    if isinstance(form, ROUND):
        return None
    match form:
        case OpenFace(beam=None, profile=str(profile)):
            return _half_of_profile(placer, profile)
        case (
            OpenFace(beam=Quantity() as beam)
            | FresnelLight(beam=beam)
            | ProfileSpotLight(beam=beam)
        ):
            return 0.5 * beam.si
        case WebMouth(web=web):
            return max(0.5 * float(web_beam_angle_rad(web)), _NARROWEST_RAD)
        case SoftBox() | LightPanel():
            return _behind_crate(form)
        case _:
            return _SOFT_HALF_RAD


def _half_of_profile(placer: Placer, name: str) -> float:
    own = placer.document.profiles.get(name)
    if own is None:
        table = np.array(NAMED_PROFILES[name])
        beam = round_beam(np.radians(table[:, 0]), table[:, 1])
    else:
        beam = round_beam(np.array([a.si for a in own.angles]), np.array(own.relative))
    return 0.5 * float(beam_angle_rad(beam))


def _behind_crate(form: SoftBox | LightPanel) -> float:
    """Half the angle at half the peak of an even face: of cos θ (1 - depth/width · tan θ)."""
    crate = crate_of(form.crate)
    if crate is None:
        return _SOFT_HALF_RAD
    low, high = 0.0, _SOFT_HALF_RAD
    for _ in range(30):
        middle = 0.5 * (low + high)
        over = math.cos(middle) * (1.0 - crate.across * math.tan(middle)) > 0.5
        low, high = (middle, high) if over else (low, middle)
    return low
