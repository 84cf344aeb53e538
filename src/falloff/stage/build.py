"""build_stage(document) -> Stage: every surface cut and placed, every source in its place."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from typing import Final

import numpy as np

from falloff.document import SceneDocument
from falloff.errors import Fault, GeometryError
from falloff.findings import Finding, Weight
from falloff.sources import Source
from falloff.stage.assemble import join_pieces
from falloff.stage.dressing import blind_findings
from falloff.stage.fixtures import build_fixture, build_practical
from falloff.stage.grain import Grain, coarse_things
from falloff.stage.grip import build_grip, grip_findings
from falloff.stage.guard import impossible, suspicious
from falloff.stage.lights import light_findings
from falloff.stage.people import build_subject
from falloff.stage.places import Placer
from falloff.stage.probes import place_probes
from falloff.stage.props import build_prop
from falloff.stage.records import Piece, Stage, View
from falloff.stage.rooms import build_room, fitting_grain
from falloff.stage.shapes import shape_in
from falloff.stage.skies import build_skies, sky_findings


def build_stage(
    document: SceneDocument, *, grain: Grain | None = None, guarded: bool = True
) -> Stage:
    """The scene in SI: surfaces cut into patches and elements, sources, views and probes.

    guarded: whether things that stand in one another, in walls or out of the room are faults; if
    not, nothing is found out about them either. Raises GeometryError where things cannot stand
    as written.
    """
    placer = Placer(document)
    fine = fitting_grain(placer, grain)
    pieces, sources = build_pieces(placer, fine)
    crowded = is_crowded(pieces)
    if crowded:
        pieces, sources = build_pieces(placer, coarse_things(fine))
    if guarded:
        faults = impossible(placer, pieces, place_probes(placer))
        if faults:
            raise GeometryError(*faults)
    stage = finish_stage(placer, pieces, sources)
    if not guarded:
        return stage
    return replace(stage, findings=(*stage_findings(placer), *((CROWDED,) if crowded else ())))


def build_pieces(
    placer: Placer,
    grain: Grain,
    *,
    kept: Mapping[str, tuple[Piece, Source | None]] | None = None,
    skies: tuple[Source, ...] | None = None,
) -> tuple[list[Piece], list[Source]]:
    """Each thing's surfaces, in a fixed order, and every source.

    kept: pieces and sources by name that are as they were and are not built again, the room's
    piece under ""; skies: those that are as they were.
    """
    document = placer.document
    known = kept or {}
    room = known.get("") or (build_room(placer, grain), None)
    pieces = [room[0]]
    sources = list(build_skies(placer) if skies is None else skies)
    faults: list[Fault] = []
    for build, names in (
        (build_prop, document.props),
        (build_subject, document.subjects),
        (build_fixture, document.fixtures),
        (build_practical, document.practicals),
        (build_grip, document.grip),
    ):
        for name in names:
            with _gathering(faults):
                made = known.get(name) or build(placer, name, grain)
                piece, source = made if isinstance(made, tuple) else (made, None)
                pieces.append(piece)
                if source is not None:
                    sources.append(source)
    if faults:
        raise GeometryError(*faults)
    return pieces, sources


@contextmanager
def _gathering(faults: list[Fault]) -> Iterator[None]:
    """What is wrong with one thing is told with what is wrong with the next."""
    try:
        yield
    except GeometryError as error:
        faults += error.faults


def finish_stage(placer: Placer, pieces: list[Piece], sources: list[Source]) -> Stage:
    """Join pieces and sources to a stage, with its views, probes and places."""
    document = placer.document
    surfaces, bodies, materials = join_pieces(pieces, [source.name for source in sources], document)
    return Stage(
        title=document.title,
        surfaces=surfaces,
        material_names=materials,
        sources=tuple(sources),
        bodies=bodies,
        views={name: build_view(placer, name) for name in document.cameras},
        probes=place_probes(placer),
        subjects={name: placer.subject(name) for name in document.subjects},
        findings=(),
    )


def build_view(placer: Placer, name: str) -> View:
    """A camera in place; its frame is cut from the gate to the wanted aspect."""
    camera = placer.document.cameras[name]
    eye = placer.origin(name)
    forward = placer.aim_direction(eye, camera.aim, ("cameras", name, "aim"))
    if abs(forward[2]) > 0.999:
        raise placer.fault(
            ("cameras", name, "aim"),
            what=f"{name} looks straight up or down, so its frame has no top",
            fix="aim it a little off the vertical",
        )
    right = np.cross(forward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    width, height = camera.gate[0].si, camera.gate[1].si
    if camera.aspect is not None:
        width, height = (
            (width, width / camera.aspect.si)
            if width / camera.aspect.si <= height
            else (height * camera.aspect.si, height)
        )
    return View(
        name=name,
        eye=eye,
        forward=forward,
        right=right,
        up=np.cross(right, forward),
        tan_half_width=width / (2.0 * camera.lens.si),
        tan_half_height=height / (2.0 * camera.lens.si),
    )


_GAZE_SHORT_DEG = 5.0
_FINE_ELEMENTS_MOST: Final = 55_000  # of the 65,533 that there may be
CROWDED: Final = Finding(
    weight=Weight.NOTE,
    about="props",
    says="there are too many things to cut them all finely: bounce off small ones is told coarsely",
    do="leave out what stands far from people and lights; half a stop may be off beside small ones",
)


def is_crowded(pieces: list[Piece]) -> bool:
    """Whether things are too many to be cut finely."""
    return sum(piece.element_area_m2.size for piece in pieces) > _FINE_ELEMENTS_MOST


def stage_findings(placer: Placer) -> tuple[Finding, ...]:
    """What a person should know of the scene before trusting its light."""
    document = placer.document
    found = [*suspicious(placer), *sky_findings(placer), *light_findings(placer)]
    found += [*grip_findings(placer), *blind_findings(placer)]
    for name in document.props:
        found += shape_in(document, name).findings
    for name in document.subjects:
        short = math.degrees(placer.gazing(name).short_by_rad)
        if short > _GAZE_SHORT_DEG:
            found.append(
                Finding(
                    weight=Weight.NOTE,
                    about=name,
                    says=f"{name} cannot look that far round: the gaze falls short by {short:.0f}°",
                    do="turn the body by facing:, or give a nearer gaze",
                )
            )
    if document.subjects:
        found.append(
            Finding(
                weight=Weight.NOTE,
                about="sheen",
                says="sheen is of direct light alone: walls are not mirrored, and metals are matte",
                do="trust faces and edges; judge shine on metal and dark varnish on the day",
            )
        )
    return tuple(found)
