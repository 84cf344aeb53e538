"""A small room with every sort of daylight in it, at hours and under skies that tests ask for."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from falloff.clock import local_instant, read_clock
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import SceneDocument, parse_document
from falloff.stage import Stage, build_stage
from falloff.transport import Budget, Solution, ViewTrace, picture_bounced, picture_direct
from falloff.types import Float64Array

ZONE = "Europe/London"
# Small, and yet with all that rays of the outside may meet on their way in: panes with bars, a
# sheer, a blind, a mirror, a house across, hills, and a sheet of cloth in the room.
TEXT = """
falloff: 2
title: Hours
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
openings:
  SOUTH: {wall: 1, along: 0.5 m, width: 1.2 m, sill: 0.8 m, height: 1.3 m, glass: 0.85,
          bars: [2, 1]}
  BLIND: {wall: 1, along: 2.3 m, width: 1 m, sill: 0.9 m, height: 1.1 m,
          dressing: [{kind: blind, slat: 10 cm, pitch: 12 cm, tilt: 20 deg}]}
  WEST: {wall: 4, along: 0.8 m, width: 1.1 m, sill: 0.9 m, height: 1.2 m, glass: 0.9,
         dressing: [{kind: sheer, straight: 0.4, scattered: 0.35}]}
location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London, height: 20 m}
sky: {type: clear, at: 2026-05-20 12:00, north: 80 deg}
outside:
  buildings:
    HOUSE: {at: [1 m, -12 m], size: [9 m, 5 m, 7 m], turn: 12 deg, surface: red brick}
  skyline: [{azimuth: 0 deg, altitude: 3 deg}, {azimuth: 160 deg, altitude: 12 deg},
            {azimuth: 280 deg, altitude: 5 deg}]
props:
  TABLE: {shape: box, size: [0.9 m, 0.6 m, 0.7 m], at: [2.4 m, 1.8 m], surface: oak}
grip:
  MIRROR: {kind: mirror, reflectance: 0.85, size: [0.8 m, 0.8 m], at: [3.7 m, 2.3 m, 1.3 m],
           aim: [1.2 m, 0.6 m, 1.2 m]}
  NET: {kind: frame, size: [0.9 m, 0.9 m], fabric: full white diffusion, at: [0.8 m, 1.9 m, 1.3 m],
        aim: [1.2 m, 0.2 m, 1.3 m]}
fixtures:
  LAMP: {light: lantern, diameter: 20 cm, output: 1500 lm, colour: 5600 K,
         at: [2.2 m, 0.8 m, 2.1 m]}
cameras:
  WIDE: {at: [3.5 m, 0.4 m, 1.5 m], aim: [1 m, 2.4 m, 1 m], lens: 18 mm, aspect: 4:3}
  OUT: {at: [3.2 m, 2.7 m, 1.4 m], aim: [1.2 m, 0.2 m, 1.4 m], lens: 18 mm, aspect: 4:3}
setups:
  WIDE: {camera: WIDE, stop: T4, iso: 400, shutter: 180 deg}
readings:
  toward: {at: [1.2 m, 1.3 m, 1.2 m], normal: [0, -1, 0]}
  away: {at: [1.2 m, 1.3 m, 1.2 m], normal: [0, 1, 0]}
  table: {at: {on: TABLE}}
  dome: {at: [2.6 m, 1.2 m, 1.4 m], normal: [-0.5, -0.8, 0.2], instrument: dome}
  spot: {at: {wall: 3, along: 1.6 m, height: 1.2 m}, instrument: spot}
"""
SMALL = Budget(
    row_rays=64, element_points=2, element_rays=2, opening_rays=8, view_rays=4, gather_rays=8,
    shadow_rays=4, beam_rays=1024, reading_replicates=8, reading_shadow_rays=64,
    reading_gather_rays=256,
)  # fmt: skip
_MIRROR = TEXT[TEXT.index("  MIRROR:") : TEXT.index("  NET:")]
WITHOUT_MIRROR = TEXT.replace(_MIRROR, "")
_SAID = "type: clear, at: 2026-05-20 12:00"


def document_at(clock: str = "12:00", word: str = "clear", text: str = TEXT) -> SceneDocument:
    """The room's document at an hour of 20 May, under a sky of a word."""
    assert text.count(_SAID) == 1
    said = text.replace(_SAID, f"type: {word}, at: 2026-05-20 {clock}")
    return parse_document(said, "hours.scene.yaml")


def stage_at(clock: str = "12:00", word: str = "clear", text: str = TEXT) -> Stage:
    """Its stage."""
    return build_stage(document_at(clock, word, text), guarded=False)


def instant(clock: str) -> datetime:
    """An hour of 20 May by the clocks of the place."""
    return local_instant(read_clock(f"2026-05-20 {clock}"), ZONE)


def daylight_in(stage: Stage, *, sunny: bool = True) -> list[int]:
    """Which of its sources are daylight: openings, and the sun where the sky shows it."""
    without = {"LAMP"} if sunny else {"LAMP", "sun"}
    return [s for s, one in enumerate(stage.sources) if one.name not in without]


def luminous(light: Float64Array, stage: Stage, s: int) -> Float64Array:
    """White light (..., 3) of a source as light that is seen, by the source's colour (...)."""
    return np.asarray(light @ (np.array(LUMINANCE_WEIGHTS) * stage.sources[s].colour), np.float64)


def landed(solution: Solution, *, sunny: bool = True) -> dict[str, Float64Array]:
    """Daylight that falls on each named surface straight, and that leaves it: (2,) lm each."""
    surfaces, found = solution.stage.surfaces, np.zeros((2, solution.direct.shape[1]))
    for s in daylight_in(solution.stage, sunny=sunny):
        white = np.repeat(solution.direct[s][:, None], 3, axis=1).astype(np.float64)
        found[0] += luminous(white, solution.stage, s)
        found[1] += luminous(solution.radiosity[s][:, :-2].T.astype(np.float64), solution.stage, s)
    found *= surfaces.element_area_m2
    names = surfaces.face_name[surfaces.element_face]
    sums = np.stack([np.bincount(names, one, len(surfaces.names)) for one in found])
    return {
        name: np.asarray(sums[:, k], np.float64)
        for k, name in enumerate(surfaces.names)
        if sums[0, k] > 0.0
    }


def blocks(seen: ViewTrace, solution: Solution, side: int, *, sunny: bool = True) -> Float64Array:
    """Daylight in a picture, as means over square blocks of so many pixels."""
    stage = solution.stage
    picture = np.zeros((seen.height, seen.width))
    for s in daylight_in(stage, sunny=sunny):
        white = picture_direct(seen, stage, s) + picture_bounced(
            seen, solution, solution.radiosity[s], solution.hot[s]
        )
        picture += luminous(white.astype(np.float64), stage, s)
    rows, columns = seen.height // side, seen.width // side
    return np.asarray(picture.reshape(rows, side, columns, side).mean((1, 3)))
