"""build_stage(document) -> Stage: every surface cut and placed, every source in its place."""

from __future__ import annotations

import math

import numpy as np

from falloff.daylight import overcast_sky
from falloff.document import (
    CameraAim,
    NamedPlace,
    ReadingWanted,
    SceneDocument,
    SquareAim,
    WallPlace,
)
from falloff.findings import Finding, Weight
from falloff.sources import Source, sky_opening
from falloff.spectrum import colour_of_kelvin
from falloff.stage.assemble import join_pieces
from falloff.stage.dice import Grain
from falloff.stage.fixtures import build_fixture, build_grip, build_practical
from falloff.stage.furnish import build_prop, build_room, build_subject
from falloff.stage.guard import refuse_impossible
from falloff.stage.places import Placer
from falloff.stage.records import OFFSET_M, Piece, Probe, Stage, View
from falloff.types import Float64Array
from falloff.units import Lux


def build_stage(document: SceneDocument, *, grain: Grain | None = None) -> Stage:
    """The scene in SI: surfaces cut into patches and elements, sources, views and probes.

    Raises GeometryError where things cannot stand as written.
    """
    placer = Placer(document)
    refuse_impossible(placer)
    pieces, sources = build_pieces(placer, grain or Grain())
    return finish_stage(placer, pieces, sources)


def build_pieces(placer: Placer, grain: Grain) -> tuple[list[Piece], list[Source]]:
    """Each thing's surfaces, in a fixed order, and every source."""
    document = placer.document
    pieces = [build_room(placer, grain)]
    sources = list(_windows(placer))
    pieces += [build_prop(placer, name, grain) for name in document.props]
    pieces += [build_subject(placer, name, grain) for name in document.subjects]
    for name in document.fixtures:
        piece, source = build_fixture(placer, name, grain)
        pieces.append(piece)
        sources.append(source)
    for name in document.practicals:
        piece, source = build_practical(placer, name, grain)
        pieces.append(piece)
        sources.append(source)
    pieces += [build_grip(placer, name, grain) for name in document.grip]
    return pieces, sources


def finish_stage(placer: Placer, pieces: list[Piece], sources: list[Source]) -> Stage:
    """Join pieces and sources to a stage, with its views, probes and places."""
    document = placer.document
    surfaces, bodies = join_pieces(pieces, [source.name for source in sources], document)
    return Stage(
        title=document.title,
        surfaces=surfaces,
        sources=tuple(sources),
        bodies=bodies,
        views={name: build_view(placer, name) for name in document.cameras},
        probes=tuple(
            probe
            for name, wanted in document.readings.items()
            for probe in _probes(placer, name, wanted)
        ),
        subjects={name: placer.subject(name) for name in document.subjects},
        findings=_findings(document),
    )


def _windows(placer: Placer) -> list[Source]:
    document = placer.document
    found = []
    for name, opening in document.openings.items():
        sky = document.sky
        if sky is None:
            raise placer.fault(
                ("openings", name),
                what=f"{name} looks out on nothing",
                expected="a sky, since there is a window",
                fix="add sky: {type: overcast, outside: 12000 lx}",
            )
        _, _, inward = placer.wall_frame(opening.wall)
        low, along, up = placer.opening_frame(name)
        outer = low - document.room.wall_thickness.si * inward
        # edge_u × edge_v must point into the room.
        found.append(
            sky_opening(
                name,
                outer + along,
                edge_u=-along,
                edge_v=up,
                daylight=overcast_sky(Lux(sky.outside.si), ground_reflectance=sky.ground),
                colour=colour_of_kelvin(sky.colour.si).astype(np.float32),
            )
        )
    return found


def build_view(placer: Placer, name: str) -> View:
    """A camera in place; its frame is cut from the gate to the wanted aspect."""
    camera = placer.document.cameras[name]
    eye = placer.origin(name)
    forward = placer.aim_direction(eye, camera.aim)
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


def _probes(placer: Placer, name: str, wanted: ReadingWanted) -> list[Probe]:
    """One probe, or one for each camera where the reading looks at or from the camera."""
    point = placer.point(wanted.at)
    square, on = _surface_normal(placer, wanted)
    if wanted.instrument == "spot" or isinstance(wanted.aim, CameraAim):
        found = []
        for view in placer.document.cameras:
            eye = placer.origin(view)
            toward = eye - point
            normal = toward / np.linalg.norm(toward)
            found.append(Probe(name, wanted.instrument, point, normal, on, eye=eye, view=view))
        return found
    if wanted.normal is not None:
        normal = np.asarray(wanted.normal, np.float64)
        normal = normal / np.linalg.norm(normal)
    elif isinstance(wanted.aim, SquareAim):
        if square is None:
            raise placer.fault(
                ("readings", name),
                what=f"{name} has no surface to be square to",
                expected="an aim or a normal",
                fix="add normal: [0, 0, 1] for a meter that faces up, or aim: KEY",
            )
        normal = square
    else:
        assert wanted.aim is not None
        normal = placer.aim_direction(point, wanted.aim)
    return [Probe(name, wanted.instrument, point + OFFSET_M * normal, normal, on)]


def _surface_normal(placer: Placer, wanted: ReadingWanted) -> tuple[Float64Array | None, str]:
    match wanted.at:
        case WallPlace(wall=wall):
            return placer.wall_frame(wall)[2], f"wall {wall}"
        case NamedPlace(name=name, place=str(spot)):
            return placer.subject(name).normals[spot], f"{name}.{spot}"
        case NamedPlace(name=name):
            return None, name
        case _:
            return None, ""


def _findings(document: SceneDocument) -> tuple[Finding, ...]:
    found = []
    if document.subjects:
        found.append(
            Finding(
                weight=Weight.NOTE,
                about="sheen",
                says="skin, hair and varnish are taken as matte: edge and back light read low",
                do="trust the level of the fill and the key; judge the edge light on the day",
            )
        )
    widest = max(
        math.hypot(a[0].si - b[0].si, a[1].si - b[1].si)
        for a in document.room.floor
        for b in document.room.floor
    )
    if widest > 60.0 or document.room.height.si > 20.0:
        found.append(
            Finding(
                weight=Weight.WARNING,
                about="room",
                says=f"the room is {widest:.0f} m across and {document.room.height.si:.0f} m high",
                do="feet written as metres? check the units",
            )
        )
    return tuple(found)


