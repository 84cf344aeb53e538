"""Checks of the witness itself: the renderer, used as here, against closed forms.

Each case is read with the same white square and the same settings as the twelve receptors.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import mitsuba as mi
import numpy as np
from tests.reference.witness import sources
from tests.reference.witness.receptors import OFFSET_M, Estimate, Receptor, read, white_square
from tests.reference.witness.surfaces import rectangle

SAMPLES_PER_BATCH = 64


@dataclass(frozen=True, slots=True)
class Check:
    """An irradiance known beforehand, lx, where it comes from, and what the renderer gave."""

    name: str
    expected_lx: float
    source: str
    found: Estimate


def run_checks() -> list[Check]:
    """All checks, a few seconds each."""
    e_h = sources.SKY_HORIZONTAL_ILLUMINANCE_LX
    open_sky = sources.sky(towards_window_only=False)
    ground_part = 0.5 * sources.GROUND_REFLECTANCE * e_h
    return [
        _check("sky_up", e_h, "pencil: E_h as given", open_sky, _at_origin((0, 0, 1))),
        _check(
            "sky_sideways",
            (math.pi / 6 + 4 / 9) / (7 * math.pi / 9) * e_h + ground_part,
            "pencil: 0.396177 E_h of sky, half the even ground",
            open_sky,
            _at_origin((0, 1, 0)),
        ),
        _check(
            "sky_towards_window_only",
            (math.pi / 6 + 4 / 9) / (7 * math.pi / 9) * e_h + ground_part,
            "pencil: as sky_sideways, facing out of the window",
            sources.sky(towards_window_only=True),
            _at_origin((0, 1, 0)),
        ),
        _soft_box_check(),
        _globe_check(),
        *(_beam_check(angle) for angle in (0.0, 14.0, 20.0, 23.0)),
        _furnace_check(),
        *_furnished_room_checks(),
    ]


def _check(
    name: str, expected: float, source: str, scene: dict[str, Any], receptor: Receptor
) -> Check:
    built = mi.load_dict({"type": "scene", **scene, "receptor": white_square(receptor)})
    found = read(built, receptor, samples_per_batch=SAMPLES_PER_BATCH, direct_only=False, seed=77)
    return Check(name, expected, source, found)


def _at_origin(normal: tuple[float, float, float]) -> Receptor:
    return Receptor("origin", (0.0, 0.0, 0.0), normal)


def _facing(point: Any, normal: Any) -> Receptor:
    """Receptor whose reading point, 1 mm off its surface, is the given one."""
    unit = np.asarray(normal, float) / np.linalg.norm(normal)
    surface = np.asarray(point, float) - OFFSET_M * unit
    return Receptor("free", tuple(surface.tolist()), tuple(unit.tolist()))


def _soft_box_check() -> Check:
    centre, forward, _, _ = sources.soft_box_frame()
    a, b, d = sources.SOFT_BOX.width_m / 2, sources.SOFT_BOX.height_m / 2, 1.5
    quarter = (
        a / math.hypot(a, d) * math.atan(b / math.hypot(a, d))
        + b / math.hypot(b, d) * math.atan(a / math.hypot(b, d))
    ) / (2 * math.pi)
    expected = math.pi * sources.soft_box_luminance_cd_m2() * 4 * quarter
    text = "pencil: element parallel to a rectangle, four corners, 1.5 m on the axis"
    receptor = _facing(centre + d * forward, -forward)
    return _check("soft_box_axis", expected, text, sources.soft_box(True), receptor)


def _globe_check() -> Check:
    centre, d = np.array(sources.GLOBE.centre_m), 1.0
    expected = sources.GLOBE.flux_lm / (4 * math.pi * d * d)
    receptor = _facing(centre + np.array((0.0, d, 0.0)), (0, -1, 0))
    text = "pencil: flux / 4 pi d^2, exact at any distance for a matte sphere"
    return _check("globe_1_m", expected, text, sources.globe(True), receptor)


def _beam_check(angle_deg: float) -> Check:
    position = np.array(sources.BEAM.position_m)
    axis = np.array(sources.BEAM.aim_m) - position
    axis /= np.linalg.norm(axis)
    aside = np.cross(axis, (0, 0, 1))
    aside /= np.linalg.norm(aside)
    angle, d = math.radians(angle_deg), 2.0
    way = math.cos(angle) * axis + math.sin(angle) * aside
    expected = sources.beam_intensity_cd(angle) / d**2
    receptor = _facing(position + d * way, -way)
    text = "pencil: intensity / d^2, peak to 15 degrees, then linear in angle to nothing at 25"
    return _check(f"beam_{angle_deg:.0f}_deg", expected, text, sources.beam(), receptor)


def _furnace_check() -> Check:
    """A closed box, every face of reflectance 0.5 giving 100 lm/m2."""
    receptor = Receptor("floor", (1.1, 0.8, 0.0), (0, 0, 1))
    faces = {
        name: {
            **shape,
            "bsdf": _grey(0.5),
            "emitter": {"type": "area", "radiance": {"type": "rgb", "value": [100 / math.pi] * 3}},
        }
        for name, shape in _inward_faces((2.0, 3.0, 2.5)).items()
    }
    return _check("furnace", 200.0, "pencil: M / (1 - reflectance)", faces, receptor)


def _furnished_room_checks() -> list[Check]:
    """Floor centre of a 4 x 5 x 2.7 m room with 10 000 lm from a point at its centre."""
    receptor = Receptor("floor", (2.0, 2.5, 0.0), (0, 0, 1))
    reflectance = {"floor": 0.2, "ceiling": 0.8}
    faces = {
        name: {**shape, "bsdf": _grey(reflectance.get(name, 0.5))}
        for name, shape in _inward_faces((4.0, 5.0, 2.7)).items()
    }
    point = {
        "type": "point",
        "position": [2.0, 2.5, 1.35],
        "intensity": {"type": "rgb", "value": [10000 / (4 * math.pi)] * 3},
    }
    text = "source: mesh radiosity of that room, known to 0.3 %; 1 mm nearer the point: + 0.65 lx"
    return [_check("plain_room_floor", 590.9 + 0.65, text, {**faces, "point": point}, receptor)]


def _grey(reflectance: float) -> dict[str, Any]:
    return {"type": "diffuse", "reflectance": {"type": "rgb", "value": [reflectance] * 3}}


def _inward_faces(size: tuple[float, float, float]) -> dict[str, Any]:
    x, y, z = (side / 2 for side in size)
    return {
        "floor": rectangle((x, y, 0), (x, 0, 0), (0, y, 0)),
        "ceiling": rectangle((x, y, 2 * z), (0, y, 0), (x, 0, 0)),
        "left": rectangle((0, y, z), (0, y, 0), (0, 0, z)),
        "right": rectangle((2 * x, y, z), (0, 0, z), (0, y, 0)),
        "near": rectangle((x, 0, z), (0, 0, z), (x, 0, 0)),
        "far": rectangle((x, 2 * y, z), (x, 0, 0), (0, 0, z)),
    }
