"""Bodies and sources of what the crew brings, of lights in shot, and of flags and boards."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from falloff.document import BookLight, Fixture, LightPanel, OpenFace, Practical, SoftBox
from falloff.photometry import NAMED_PROFILES, IntensityDistribution, round_beam
from falloff.sources import Source, ball, beam, panel
from falloff.spectrum import colour_of_kelvin
from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder
from falloff.types import Float32Array, Float64Array

_FRONT_GAP_M = 0.002  # an emitting face stands this far before the body that carries it
_PANEL_THICKNESS_M = 0.006
_GRIP_POLE_M = 0.03  # the stand's pole stands this far behind a flag or board
_UP = np.array([0.0, 0.0, 1.0])


def frame_of(axis: Float64Array) -> tuple[Float64Array, Float64Array]:
    """Level and rising unit vectors square to an axis; level × rise = axis."""
    helper = _UP if abs(axis[2]) < 0.99 else np.array([0.0, 1.0, 0.0])
    level = np.cross(helper, axis)
    level /= np.linalg.norm(level)
    return level, np.cross(axis, level)


@dataclass(frozen=True, slots=True)
class _Front:
    """A light's front in place: its middle, the way it looks, and two ways square to that."""

    name: str
    middle: Float64Array
    axis: Float64Array
    level: Float64Array
    rise: Float64Array
    flux_lm: float
    colour: Float32Array
    power_w: float | None


def build_fixture(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A fixture's body, opaque at the back, and the light that leaves its front."""
    fixture = placer.document.fixtures[name]
    front = _front(placer, "fixtures", name, fixture)
    builder = PieceBuilder(name, grain)
    source = _shine(builder, placer, front, fixture.light)
    if fixture.stand:
        back = _depth_m(fixture.light)
        _add_stand(builder, front.middle - 0.5 * back * front.axis, 0.5 * _drop_m(fixture.light))
    return builder.build(), source


def build_practical(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A light in shot: a globe that shines from all of its surface, or a panel from its front."""
    practical = placer.document.practicals[name]
    builder = PieceBuilder(name, grain)
    if isinstance(practical.light, LightPanel):
        front = _front(placer, "practicals", name, practical)
        source = _shine(builder, placer, front, practical.light)
        return builder.build(), source
    centre, radius = placer.origin(name), 0.5 * practical.light.diameter.si
    corners, normals = _ball_mesh(centre, radius)
    builder.add_mesh(corners, normals=normals, material="opal glass", source=name)
    source = ball(
        name,
        centre,
        radius_m=radius,
        flux_lm=practical.output.si,
        colour=colour_of_kelvin(practical.colour.si).astype(np.float32),
        power_w=practical.power.si if practical.power else None,
    )
    return builder.build(), source


def _front(placer: Placer, kind: str, name: str, light: Fixture | Practical) -> _Front:
    assert light.aim is not None  # the reader asks a panel for its aim
    middle = placer.origin(name)
    axis = placer.aim_direction(middle, light.aim, (kind, name, "aim"))
    level, rise = frame_of(axis)
    return _Front(
        name=name,
        middle=middle,
        axis=axis,
        level=level,
        rise=rise,
        flux_lm=light.output.si,
        colour=colour_of_kelvin(light.colour.si).astype(np.float32),
        power_w=light.power.si if light.power else None,
    )


def _shine(
    builder: PieceBuilder,
    placer: Placer,
    front: _Front,
    light: SoftBox | LightPanel | BookLight | OpenFace,
) -> Source:
    """Add a light's body to the builder; the source that leaves its front."""
    match light:
        case (
            SoftBox(size=(width, height), depth=depth)
            | LightPanel(size=(width, height), depth=depth)
        ):
            back = depth.si
            middle = front.middle - (0.5 * back + _FRONT_GAP_M) * front.axis
            size = (width.si, height.si, back)
            axes = (front.level, front.rise, front.axis)
            add_box(builder, middle, axes, size, "black metal", "body")
            return _cloth(builder, front, width.si, height.si)
        case BookLight(size=(width, height), opening=opening):
            _add_book(builder, front, width.si, height.si, opening.si)
            return _cloth(builder, front, width.si, height.si)
        case OpenFace(profile=profile, aperture=aperture):
            radius = 0.5 * aperture.si
            back = 1.2 * aperture.si
            low, high = front.middle - back * front.axis, front.middle - _FRONT_GAP_M * front.axis
            add_cylinder(builder, low, high, 1.12 * radius, "black metal")
            _add_disc(builder, front, radius)
            return beam(
                front.name,
                front.middle,
                axis=front.axis,
                aperture_m=aperture.si,
                profile=_profile(placer, profile),
                flux_lm=front.flux_lm,
                colour=front.colour,
                power_w=front.power_w,
            )


def _cloth(builder: PieceBuilder, front: _Front, width: float, height: float) -> Source:
    """An evenly lit rectangle as the builder's front face and as a source."""
    edge_u, edge_v = width * front.level, height * front.rise
    corner = front.middle - 0.5 * (edge_u + edge_v)
    builder.add_rectangle(
        corner,
        edge_u=edge_u,
        edge_v=edge_v,
        material="diffusion cloth",
        name="front",
        source=front.name,
    )
    return panel(
        front.name,
        corner,
        edge_u=edge_u,
        edge_v=edge_v,
        flux_lm=front.flux_lm,
        colour=front.colour,
        power_w=front.power_w,
    )


def _add_book(
    builder: PieceBuilder, front: _Front, width: float, height: float, opening: float
) -> None:
    """The back of the cloth, a board that leans from its far edge, and the head between them.

    Seen from the front the book opens to the right; what the head spills past the cloth is not
    light of this source, so the side it opens to is taken as flagged off.
    """
    lean = math.asin(min(0.95, opening / width))
    spine = front.middle - 0.5 * width * front.level
    away = math.cos(lean) * front.level - math.sin(lean) * front.axis
    out = np.cross(away, front.rise)  # from the board into the book
    out *= 1.0 if float(out @ front.axis) > 0.0 else -1.0
    cloth = front.middle - (_FRONT_GAP_M + 0.5 * _PANEL_THICKNESS_M) * front.axis
    thin = (width, height, _PANEL_THICKNESS_M)
    add_box(builder, cloth, (front.level, front.rise, front.axis), thin, "black cloth", "frame")
    board = spine + 0.5 * width * away - 0.05 * front.axis
    axes = (away, np.cross(out, away), out)
    add_box(builder, board, axes, thin, "black cloth", "board")
    head = front.middle + 0.5 * width * front.level - 0.45 * opening * front.axis
    toward = spine - head
    toward /= np.linalg.norm(toward)
    add_cylinder(builder, head - 0.1 * toward, head + 0.1 * toward, 0.08, "black metal")


def _depth_m(light: SoftBox | LightPanel | BookLight | OpenFace) -> float:
    """How far a light's body reaches behind its front."""
    match light:
        case BookLight():
            return 0.08
        case OpenFace(aperture=aperture):
            return 1.2 * aperture.si
        case _:
            return light.depth.si


def _drop_m(light: SoftBox | LightPanel | BookLight | OpenFace) -> float:
    """How far a light's body hangs under its middle, along the vertical."""
    return 1.1 * light.aperture.si if isinstance(light, OpenFace) else light.size[1].si


def build_grip(placer: Placer, name: str, grain: Grain) -> Piece:
    """A flag or a board: a thin box whose face looks at its aim."""
    grip = placer.document.grip[name]
    centre = placer.origin(name)
    axis = placer.aim_direction(centre, grip.aim, ("grip", name, "aim"))
    level, rise = frame_of(axis)
    builder = PieceBuilder(name, grain)
    size = (grip.size[0].si, grip.size[1].si, _PANEL_THICKNESS_M)
    add_box(builder, centre, (level, rise, axis), size, grip.surface, "")
    if grip.stand:
        _add_stand(builder, centre - _GRIP_POLE_M * axis, -0.35 * size[1])
    return builder.build()


def _profile(placer: Placer, name: str) -> IntensityDistribution:
    own = placer.document.profiles.get(name)
    if own is not None:
        return round_beam(np.array([a.si for a in own.angles]), np.array(own.relative))
    table = np.array(NAMED_PROFILES[name])
    return round_beam(np.radians(table[:, 0]), table[:, 1])


def _add_stand(builder: PieceBuilder, top: Float64Array, drop: float) -> None:
    """A pole from the floor to the underside of a fixture, on three feet."""
    foot = np.array([top[0], top[1], 0.004])
    high = np.array([top[0], top[1], max(0.1, top[2] - drop)])
    add_cylinder(builder, foot, high, 0.0125, "black metal")
    for k in range(3):
        angle = 0.4 + k * 2.0 * math.pi / 3.0
        out = np.array([math.cos(angle), math.sin(angle), 0.0])
        knee = foot + np.array([0.0, 0.0, min(0.45, 0.5 * high[2])])
        add_cylinder(builder, foot + 0.42 * out + 0.01 * _UP, knee, 0.009, "black metal")


def _add_disc(builder: PieceBuilder, front: _Front, radius: float) -> None:
    angle = np.linspace(0.0, 2.0 * math.pi, 25)
    across = np.cos(angle)[:, None] * front.level + np.sin(angle)[:, None] * front.rise
    rim = front.middle + radius * across
    corners = np.stack([np.broadcast_to(front.middle, rim[:-1].shape), rim[:-1], rim[1:]], 1)
    builder.add_mesh(
        corners,
        normals=np.broadcast_to(front.axis, corners.shape),
        material="black metal",
        name="front",
        source=front.name,
    )


def _ball_mesh(centre: Float64Array, radius: float) -> tuple[Float64Array, Float64Array]:
    """A ball as an octahedron halved four times: (2048, 3, 3) corners and normals."""
    x, y, z = np.eye(3)
    triangles = np.array(
        [
            [sx * x, sy * y, sz * z] if sx * sy * sz > 0 else [sy * y, sx * x, sz * z]
            for sx in (1, -1)
            for sy in (1, -1)
            for sz in (1, -1)
        ]
    )
    for _ in range(4):
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        ab, bc, ca = (_unit(p + q) for p, q in ((a, b), (b, c), (c, a)))
        triangles = np.concatenate(
            [np.stack(t, 1) for t in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )
    return centre + radius * triangles, triangles


def _unit(vectors: Float64Array) -> Float64Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))
