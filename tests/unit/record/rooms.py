"""A small room with two units, a window and three paints, traced coarsely; readings in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np

from falloff.document import parse_document
from falloff.layers import trace_layers
from falloff.record import Compared, Corrected, Corrections, Stood, Taken, compare, daylight_said
from falloff.record.room import Room, lit_of
from falloff.session.scene import known_names, setup_light
from falloff.stage import Grain, build_stage
from falloff.transport import Budget
from falloff.types import Float64Array

ROOM = """
falloff: 2
title: Small room
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
openings:
  WINDOW: {wall: 4, along: 0.9 m, width: 1.2 m, sill: 0.9 m, height: 1.2 m}
sky: {type: overcast, outside: 9000 lx}
fixtures:
  PANEL: {light: panel, size: [60 cm, 30 cm], output: 5000 lm, colour: 5600 K,
    at: [3.5 m, 0.6 m, 1.9 m], aim: [1.5 m, 1.8 m, 1.1 m]}
  HEAD: {light: open face, profile: open-face spot, aperture: 12 cm, output: 1500 lm,
    colour: 3200 K, at: [0.5 m, 0.4 m, 2.1 m], aim: [2.6 m, 3 m, 1.3 m]}
cameras:
  CAM: {at: [2 m, 0.3 m, 1.4 m], aim: [2 m, 3 m, 1.2 m], lens: 25 mm}
setups:
  WIDE: {camera: CAM, stop: T2.8, iso: 800, shutter: 180 deg, key: key side}
readings:
  key side: {at: [1.6 m, 1.8 m, 1.1 m], normal: [0.8, -0.6, 0.1]}
  shadow side: {at: [1.6 m, 1.8 m, 1.1 m], normal: [-0.6, -0.8, 0]}
  up: {at: [2.2 m, 1.6 m, 0.8 m], normal: [0, 0, 1]}
  back wall: {at: {wall: 3, along: 1.4 m, height: 1.3 m}}
  away: {at: [2.6 m, 1 m, 1.2 m], normal: [0, -1, 0]}
  the wall: {at: [2.9 m, 3 m, 1.8 m], instrument: spot}
"""

BUDGET = Budget(
    row_rays=32, element_points=2, element_rays=2, opening_rays=4, beam_rays=2048,
    reading_replicates=2, reading_shadow_rays=64, reading_gather_rays=256, hot_reading_rays=16,
)  # fmt: skip
GRAIN = Grain(patch_m=0.5, element_m=0.25)


@cache
def small_room(text: str = ROOM) -> Stood:
    """The room as it is written, traced."""
    document = parse_document(text, "small.scene.yaml", known=known_names())
    stage = build_stage(document, grain=GRAIN)
    layers = trace_layers(stage, BUDGET, sizes={})
    return Stood(document, {name: setup_light(document, name) for name in document.setups}, layers)


def taken(reading: str, value: float, *lit: str, name: str = "", text: str = "") -> Taken:
    """A reading with these on, all where none is named."""
    return Taken(
        name=name or reading, reading=reading, value=value, text=text or f"{value:.6g} lx",
        setup="WIDE", lit=lit or None, on=" and ".join(lit) or "all on",
    )  # fmt: skip


def compared(stood: Stood, read: Sequence[Taken], believed: Sequence[str] = ()) -> Compared:
    """The comparison of one room with readings."""
    return compare(
        [stood], read, daylight=daylight_said(stood.document), believed=frozenset(believed)
    )


def correction_of(found: Corrections, kind: str, name: str) -> Corrected | None:
    """The correction of one thing; None where it is not among them."""
    return next((one for one in found.corrected if (one.kind, one.name) == (kind, name)), None)


def room_of(stood: Stood, found: Compared) -> Room:
    """The room with the unknowns that a comparison had."""
    return Room([stood], found.unknowns, daylight_said(stood.document))


def read_at(room: Room, read: Sequence[Taken], x: Float64Array) -> list[float]:
    """What a meter without error says where the room is at x: all light settled for it."""
    return [float(v) for v in room.levels([lit_of(room.stood, one) for one in read], x)]


def with_values(read: Sequence[Taken], values: Sequence[float]) -> list[Taken]:
    """The readings with these values."""
    return [
        taken(one.reading, value, *(one.lit or ()), name=one.name)
        for one, value in zip(read, values, strict=True)
    ]


def x_of(found: Compared, told: Mapping[str, float]) -> Float64Array:
    """The unknowns at stops (or stops of odds) by name, the others as assumed."""
    return np.array([told.get(one.name, 0.0) for one in found.unknowns])
