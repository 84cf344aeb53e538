"""From one stage's solution to the next one's by the cheapest way that is exact."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from falloff.sources import Source
from falloff.stage import Stage, Surfaces
from falloff.transport.trace import Solution, light_factor, retrace, revise, trace
from falloff.types import BoolArray

Way = Literal["same", "moved", "relit", "anew"]
# Per triangle, per element and per patch: what may differ within the range of a body that moved.
_OF_TRIANGLES: Final = ("corners", "corner_normals", "triangle_element")
_OF_ELEMENTS: Final = ("element_patch", "element_area_m2", "element_points", "element_normals")
_OF_FACES: Final = ("face_frame",)
_OF_PATCHES: Final = ("patch_first",)
_FIXED: Final = (
    "triangle_face", "face_grid", "face_step_m", "cell_element", "face_material", "face_source",
    "face_name", "element_face", "sheet_faces", "element_partner", "names",
)  # fmt: skip
_CUT: Final = (*_FIXED, *_OF_TRIANGLES, *_OF_ELEMENTS, *_OF_FACES, *_OF_PATCHES, "sheets")
_SHINING: Final = ("albedo", "through", "landing", "coats")


@dataclass(frozen=True, slots=True)
class Settled:
    """A solution, how it came from the one before, and the body that moved."""

    solution: Solution
    way: Way
    moved: str | None = None


def settle_again(before: Solution, stage: Stage) -> Settled:
    """The solution of a stage from that of an earlier one; equal to a trace from nothing.

    same: nothing that bears on light differs; moved: one body stands elsewhere; relit: surfaces
    stand as they did; anew: anything else.
    """
    old = before.stage
    if not _same_names(old, stage):
        return Settled(trace(stage, before.budget), "anew")
    shining = _alike(old.surfaces, stage.surfaces, _SHINING)
    if _alike(old.surfaces, stage.surfaces, _CUT):
        if shining and all(map(same_light, old.sources, stage.sources)):
            return Settled(replace(before, stage=stage), "same")
        return Settled(revise(before, stage), "relit")
    moved = _moved_body(old, stage) if shining else None
    if moved is None:
        return Settled(trace(stage, before.budget), "anew")
    return Settled(retrace(before, stage, moved), "moved", moved)


def same_light(a: Source, b: Source) -> bool:
    """Whether two sources shine alike, colours apart."""
    return light_factor(a, b) == 1.0


def _same_names(a: Stage, b: Stage) -> bool:
    return [s.name for s in a.sources] == [s.name for s in b.sources] and list(a.bodies) == list(
        b.bodies
    )


def _alike(a: Surfaces, b: Surfaces, fields: tuple[str, ...]) -> bool:
    return all(_equal(getattr(a, name), getattr(b, name)) for name in fields)


def _equal(x: object, y: object) -> bool:
    if isinstance(x, np.ndarray) and isinstance(y, np.ndarray):
        return x is y or np.array_equal(x, y)
    return x == y


def _moved_body(old: Stage, new: Stage) -> str | None:
    """The one body that stands elsewhere, all else as it was, in ranges as they were; else None.

    Its own elements and patches may lie otherwise in its ranges: none of their rays is kept.
    """
    a, b = old.surfaces, new.surfaces
    if a.element_points.shape != b.element_points.shape or not _alike(a, b, _FIXED):
        return None
    elements = np.flatnonzero((a.element_points != b.element_points).any((1, 2)))
    if elements.size == 0:
        return None
    body = next(n for n in new.bodies.values() if n.elements[0] <= elements[0] < n.elements[1])
    before = old.bodies[body.name]
    if (before.elements, before.faces, before.patches) != (body.elements, body.faces, body.patches):
        return None
    faces = np.arange(len(b.face_frame))
    outside = {
        _OF_TRIANGLES: _out_of(b.triangle_face, body.faces),
        _OF_ELEMENTS: _out_of(np.arange(b.element_count), body.elements),
        _OF_FACES: _out_of(faces, body.faces),
        _OF_PATCHES: _out_of(np.arange(b.patch_count + 1), body.patches),
    }
    for fields, marks in outside.items():
        for name in fields:
            if not np.array_equal(getattr(a, name)[marks], getattr(b, name)[marks]):
                return None
    others = zip(old.sources, new.sources, strict=True)
    still = all(same_light(one, two) for one, two in others if one.name != body.name)
    return body.name if still else None


def _out_of(indices: np.ndarray, span: tuple[int, int]) -> BoolArray:
    return np.asarray((indices < span[0]) | (indices >= span[1]))
