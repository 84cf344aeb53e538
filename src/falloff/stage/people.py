"""Surfaces of the people in a scene."""

from __future__ import annotations

import functools
import math

import numpy as np

from falloff.document import Subject
from falloff.errors import GeometryError
from falloff.kit import dressed_head, find_figure, look
from falloff.stage.dice import PieceBuilder
from falloff.stage.grain import Grain
from falloff.stage.places import Placer, direction, figure_turn
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder

_UP = np.array([0.0, 0.0, 1.0])


def build_subject(placer: Placer, name: str, grain: Grain) -> Piece:
    """A person's skin, hair and clothes, what is worn on the head, and a seated one's stool."""
    subject = placer.document.subjects[name]
    try:
        own = _own_piece(name, _Worn(subject), placer.gaze_way(name), grain)
    except GeometryError as error:
        fault = error.faults[0]
        raise placer.fault(
            ("subjects", name),
            what=fault.what,
            expected=fault.expected,
            found=fault.found,
            fix=fault.fix,
        ) from error
    return own.placed(placer.origin(name), figure_turn(placer.facing(name)))


class _Worn:
    """A subject as a key: all of it but where it stands, what it faces and how its skin shines."""

    __slots__ = ("_key", "subject")

    def __init__(self, subject: Subject) -> None:
        self.subject = subject
        covering = subject.covering
        self._key = (
            subject.figure,
            subject.hair,
            subject.hair_style,
            None if covering is None else (covering.kind, covering.surface),
            subject.spectacles,
            subject.top,
            subject.trousers,
            subject.shoes,
            subject.seat,
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Worn) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


@functools.lru_cache(maxsize=32)
def _own_piece(name: str, worn: _Worn, way: tuple[float, ...] | None, grain: Grain) -> Piece:
    """A person in the figure's own frame; kept, since cutting one up takes as long as a trace."""
    subject = worn.subject
    figure = look(find_figure(subject.figure), None if way is None else np.array(way)).figure
    covering = subject.covering
    dress = dressed_head(
        figure,
        hair_style=subject.hair_style,
        covering=None if covering is None else covering.kind,
        spectacles=subject.spectacles is not None,
    )
    builder = PieceBuilder(name, grain)
    corners = figure.vertices[figure.triangles].astype(np.float64)
    normals = figure.vertex_normals[figure.triangles].astype(np.float64)
    wear = _wear(name, subject)
    for region, label in enumerate(figure.region_names):
        mine = figure.triangle_region == region
        if mine.any() and label not in dress.drop_regions:
            builder.add_mesh(corners[mine], normals=normals[mine], material=wear[label], name=label)
    for part in dress.parts:
        role = part.material_role
        builder.add_mesh(part.corners, normals=part.normals, material=wear[role], name=role)
    if subject.seat is not None and figure.seat_height_m > 0.0:
        _add_stool(builder, figure.seat_height_m - 0.001, subject.seat)
    return builder.build()


def _wear(name: str, subject: Subject) -> dict[str, str]:
    """The material of each region of a figure and of each role of what is worn."""
    return {
        "skin": f"skin of {name}",
        "lips": f"lips of {name}",
        "hair": subject.hair,
        "brows": subject.hair,
        "sclera": "eye white",
        "iris": "eye iris",
        "top": subject.top,
        "trousers": subject.trousers,
        "shoes": subject.shoes,
        "covering": "" if subject.covering is None else subject.covering.surface,
        "spectacles": subject.spectacles or "",
    }


def _add_stool(builder: PieceBuilder, height: float, material: str) -> None:
    """A round seat on four legs, in the middle of its own frame."""
    add_cylinder(builder, (height - 0.045) * _UP, height * _UP, 0.17, material)
    for k in range(4):
        foot = 0.135 * direction(math.pi / 4 + k * math.pi / 2)
        add_box(
            builder,
            foot + 0.5 * (height - 0.045) * _UP,
            (direction(0.0), direction(math.pi / 2), _UP),
            (0.032, 0.032, height - 0.046),
            material,
            "",
        )
