"""A plain room as text, to which tests add what they want to look at."""

from __future__ import annotations

from pathlib import Path

from falloff.document import SceneDocument, parse_document
from falloff.sources import Source
from falloff.stage import Stage, build_stage

ROOM = """
falloff: 2
title: Plain room
units: metric
room:
  floor: [[0 m, 0 m], [6 m, 0 m], [6 m, 5 m], [0 m, 5 m]]
  height: 3 m
  floor_surface: SURFACE
  ceiling_surface: SURFACE
  wall_surface: SURFACE
materials:
  pitch: {reflectance: 0}
"""


def document_of(
    sections: str, *, surface: str = "plaster", path: Path | None = None
) -> SceneDocument:
    """The room with these sections; a path gives it a folder of its own."""
    text = ROOM.replace("SURFACE", surface) + sections
    return parse_document(text, str(path or "plain.scene.yaml"))


def stage_of(sections: str, *, surface: str = "plaster", path: Path | None = None) -> Stage:
    """The stage of the room with these sections."""
    return build_stage(document_of(sections, surface=surface, path=path))


def fixture(form: str, **more: str) -> str:
    """A section with one fixture, LIGHT, at 2 m before the middle of the room."""
    said = {"output": "1000 lm", "colour": "6504 K", "at": "[3 m, 1 m, 1.5 m]"}
    said |= {"aim": "[3 m, 4 m, 1.5 m]"} | more
    keys = ", ".join(f"{key}: {value}" for key, value in said.items() if value)
    return f"fixtures:\n  LIGHT: {{{form}, {keys}}}\n"


def source_of(sections: str, name: str = "LIGHT", *, path: Path | None = None) -> Source:
    """One source of the room with these sections."""
    stage = stage_of(sections, path=path)
    return next(one for one in stage.sources if one.name == name)


def told_of(stage: Stage, about: str) -> str:
    """All findings about one thing, in one text."""
    return "\n".join(one.says for one in stage.findings if one.about == about)
