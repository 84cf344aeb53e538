"""Things added from the kit, and things made twice."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np

from falloff.document import (
    Add,
    Edit,
    Node,
    OnPlace,
    Place,
    SceneDocument,
    WallPlace,
    compose_text,
    quoted,
)
from falloff.document.taking import line_start, value_end
from falloff.kit import FURNITURE_KINDS, figure_names, find_figure, list_items
from falloff.page.told import cannot
from falloff.page.worked import Worked
from falloff.stage.moving import length, moved_edits, where
from falloff.stage.places import Placer

Made = tuple[list[Edit], str]

_HEIGHT_M: Final = {"fixtures": 1.9, "practicals": 1.2, "grip": 1.5, "cameras": 1.5}
_NEW_GRIP: Final[Mapping[str, str]] = {
    "solid": "kind: solid, size: [{a}, {b}], surface: black cloth",
    "bounce": "kind: bounce, size: [{a}, {b}], surface: white paint",
    "frame": "kind: frame, size: [{a}, {b}], fabric: full white diffusion",
    "net": "kind: net, size: [{a}, {b}], loss: 1 stop",
}
_GRIP_SAYS: Final[Mapping[str, str]] = {
    "solid": "a black flag or board: cuts light, takes bounce away",
    "bounce": "a white board: gives light back, fills",
    "frame": "a frame of diffusion before a light or a window",
    "net": "a wire or net: a stop less, no softer",
}
_NEW_SUBJECT: Final = (
    "facing: 270 deg, skin: 0.35, hair: dark hair, top: grey cotton, trousers: dark denim"
)
_ASIDE_M: Final = 0.4  # how far the second of two stands from the first; on a prop half of it
_PRACTICALS: Final[Mapping[str, str]] = {
    "globe": "light: globe, diameter: {c}, output: 450 lm, colour: 2700 K, power: 6 W",
    "candle": "light: candle",
}


def kit_choices() -> dict[str, list[dict[str, str]]]:
    """What can be added, by section: the name that `added` takes, and what it is."""
    fixtures = [{"what": item.name, "says": ""} for item in list_items("fixture")]
    return {
        "fixtures": fixtures,
        "practicals": [{"what": what, "says": ""} for what in _PRACTICALS],
        "grip": [{"what": what, "says": _GRIP_SAYS[what]} for what in _NEW_GRIP],
        "props": [{"what": kind, "says": ""} for kind in FURNITURE_KINDS],
        "subjects": [{"what": figure, "says": ""} for figure in figure_names()],
    }


def added(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A light, grip, a prop or a camera at a point of the plan, aimed at the first subject."""
    section, what = str(change["section"]), str(change["what"])
    name = worked.free_name(str(change.get("name") or _called(what)))
    x, y = (length(float(change[key]), worked.document) for key in ("x_m", "y_m"))
    high = change.get("z_m")
    z = length(_HEIGHT_M.get(section, 0.0) if high is None else float(high), worked.document)
    parts = [*_form(worked, section, what)]
    on_floor = section in {"props", "subjects"} and high is None
    parts.append(f"at: [{x}, {y}]" if on_floor else f"at: [{x}, {y}, {z}]")
    aim = _aim(worked)
    if section in {"fixtures", "grip", "cameras"}:
        parts.append(f"aim: {aim}")
    if section in {"fixtures", "grip"}:
        parts.append("stand: true")
    return [Add((section, name), f"{{{', '.join(parts)}}}")], f"{name} added"


def _form(worked: Worked, section: str, what: str) -> list[str]:
    document = worked.document
    sizes = {
        "a": length(0.9, document),
        "b": length(0.6, document),
        "c": length(0.12, document),
    }
    if section == "fixtures":
        if what not in {item.name for item in list_items("fixture")}:
            raise cannot(f"the kit has no fixture called {what!r}")
        return [f"kit: {quoted(what)}"]
    if section == "practicals" and what in _PRACTICALS:
        return [_PRACTICALS[what].format(**sizes)]
    if section == "grip" and what in _NEW_GRIP:
        return [_NEW_GRIP[what].format(**sizes)]
    if section == "props" and what in FURNITURE_KINDS:
        return [f"shape: {what}", f"surface: {_wood(document)}"]
    if section == "subjects" and what in figure_names():
        seat = ", seat: oak" if find_figure(what).pose == "seated" else ""
        return [f"figure: {what}", f"{_NEW_SUBJECT}{seat}"]
    if section == "cameras":
        return ["lens: 35 mm", "gate: super 35", "aspect: 16:9"]
    raise cannot(f"{what!r} cannot be added to {section}")


def _wood(document: SceneDocument) -> str:
    """A surface for new furniture: what most of the scene's furniture has, or oak."""
    seen = [prop.surface for prop in document.props.values()]
    return max(set(seen), key=seen.count) if seen else "oak"


def _aim(worked: Worked) -> str:
    subject = next(iter(worked.standing.subjects), None)
    if subject is not None:
        return f"{quoted(subject)}.face" if quoted(subject) == subject else f'"{subject}.face"'
    return "[" + ", ".join([length(1.0, worked.document)] * 3) + "]"


def _called(what: str) -> str:
    """A short name in capitals, as crews write on tape."""
    word = what.split(",", maxsplit=1)[0]
    return word.upper().replace(".", " ").strip()[:24] or "NEW"


def duplicated(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A thing once more, as its file says it, a step to the side."""
    name = str(change["name"])
    section, _ = worked.record(name)
    one = getattr(worked.document, section)[name]
    if section in {"openings", "readings", "setups", "targets"}:
        raise cannot(f"{name} cannot be made twice here", "write it in the file")
    text = worked.text()
    root = compose_text(text, "scene")
    node = _entry(root, section, name)
    start = node.start
    block = text[start : value_end(text, node)]
    if not block.startswith("{"):
        block = " " * (start - line_start(text, start)) + block
    copy = worked.free_name(str(change.get("to") or name))
    aside = [_renamed(edit, copy) for edit in _aside(worked.document, section, name, one.at)]
    return [Add((section, copy), block), *aside], f"{copy} like {name}"


def _aside(document: SceneDocument, section: str, name: str, at: Place) -> list[Edit]:
    """The edits that would put a thing a step to the side, towards the middle of the room."""
    placer = Placer(document)
    here = placer.point(at)
    if isinstance(at, WallPlace):
        step, floor = placer.wall_frame(at.wall, at.room)[1], placer.room(at.room).floor
    else:
        step, floor = np.array([1.0, 0.0, 0.0]), document.room.floor
    middle = np.array([*np.mean([[q.si for q in corner] for corner in floor], axis=0), here[2]])
    far = _ASIDE_M * (0.5 if isinstance(at, OnPlace) else 1.0)
    x, y, z = here + math.copysign(far, float((middle - here) @ step)) * step
    return moved_edits(placer, where(document, at, (section, name, "at")), (x, y, z))


def _renamed(edit: Edit, name: str) -> Edit:
    """The same edit of another thing of its section."""
    return replace(edit, key_path=(edit.key_path[0], name, *edit.key_path[2:]))


def _entry(root: Node, section: str, name: str) -> Node:
    group = next(value for key, value in root.entries if key.value == section)
    return next(value for key, value in group.entries if key.value == name)
