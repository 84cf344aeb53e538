"""Rooms with a person, made so that what is wrong in them is known."""

from __future__ import annotations

from collections.abc import Mapping

from falloff.balance.why.scene import TracedSetup, traced_setup
from falloff.document import arranged, parse_document
from falloff.layers import trace_layers
from falloff.session.scene import setup_light
from falloff.stage import build_stage
from falloff.transport import Budget

BUDGET = Budget(reading_replicates=4, reading_gather_rays=256, row_rays=64)

# She looks down the plan, into the camera; wall 3 is behind her, 4 on the camera's left.
ROOM = """\
falloff: 2
title: A room
units: metric
room:
  floor: [[0 m, 0 m], [{width} m, 0 m], [{width} m, {depth} m], [0 m, {depth} m]]
  height: {height} m
  floor_surface: surface
  ceiling_surface: surface
  wall_surface: surface
  wall_surfaces: {{{dressed}}}
materials: {{surface: {{reflectance: {walls}}}, black: {{reflectance: 0.0}}}}
subjects:
  ANNA:
    figure: woman standing
    at: [{x} m, {y} m]
    facing: -90 deg
    skin: 0.36
    hair: dark hair
    top: grey cotton
    trousers: dark denim
cameras:
  A: {{at: [{x} m, 0.4 m, 1.5 m], aim: ANNA.face, lens: 35 mm}}
{more}
setups:
  WIDE: {{camera: A, stop: T2.8, iso: 800, shutter: 180 deg}}
{setups}
"""


HALL = {"width": 5.0, "depth": 5.0, "height": 2.8, "x": 2.5, "y": 3.0}


def traced(
    more: str,
    *,
    walls: float = 0.0,
    dressed: str = "",
    setups: str = "",
    setup: str = "WIDE",
    room: Mapping[str, float] = HALL,
) -> TracedSetup:
    """The room with lights and grip in words, traced, in one of its setups.

    walls: their reflectance; dressed: walls of other materials, "2: black"; room: its size and
    where she stands (m).
    """
    text = ROOM.format(walls=walls, more=more, setups=setups, dressed=dressed, **room)
    document = arranged(parse_document(text), setup)
    layers = trace_layers(build_stage(document), BUDGET, sizes={})
    return traced_setup(document, layers, setup_light(document, setup))


def panel(name: str, at: str, *, aim: str = "ANNA.face", lumens: float = 4000.0) -> str:
    """A panel of 40 cm."""
    return (
        f"  {name}: {{light: panel, size: [40 cm, 40 cm], output: {lumens} lm, colour: 5600 K, "
        f"at: {at}, aim: {aim}}}\n"
    )
