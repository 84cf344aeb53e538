"""Bodies and sources of what the crew brings, of lights in shot, and of flags and boards."""

from __future__ import annotations

import math

import numpy as np

from falloff.document import Globe, OpenFace, SoftBox
from falloff.photometry import NAMED_PROFILES, IntensityDistribution, round_beam
from falloff.sources import Source, ball, beam, panel
from falloff.spectrum import colour_of_kelvin
from falloff.stage.dice import Grain, PieceBuilder
from falloff.stage.places import Placer
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder
from falloff.types import Float64Array

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


def build_fixture(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A fixture's body, opaque at the back, and the light that leaves its front."""
    fixture = placer.document.fixtures[name]
    front = placer.origin(name)
    axis = placer.aim_direction(front, fixture.aim, ("fixtures", name, "aim"))
    colour = colour_of_kelvin(fixture.colour.si).astype(np.float32)
    builder = PieceBuilder(name, grain)
    level, rise = frame_of(axis)
    power = fixture.power.si if fixture.power else None
    match fixture.light:
        case SoftBox(size=(width, height), depth=depth):
            back = depth.si
            middle = front - (0.5 * back + _FRONT_GAP_M) * axis
            size = (width.si, height.si, back)
            add_box(builder, middle, (level, rise, axis), size, "black metal", "body")
            edge_u, edge_v = width.si * level, height.si * rise
            corner = front - 0.5 * (edge_u + edge_v)
            builder.add_rectangle(
                corner,
                edge_u=edge_u,
                edge_v=edge_v,
                material="diffusion cloth",
                name="front",
                source=name,
            )
            source = panel(
                name,
                corner,
                edge_u=edge_u,
                edge_v=edge_v,
                flux_lm=fixture.output.si,
                colour=colour,
                power_w=power,
            )
        case OpenFace(profile=profile, aperture=aperture):
            back = 1.2 * aperture.si
            radius = 0.5 * aperture.si
            add_cylinder(
                builder,
                front - back * axis,
                front - _FRONT_GAP_M * axis,
                1.12 * radius,
                "black metal",
            )
            _add_disc(builder, front, axis, radius, name)
            source = beam(
                name,
                front,
                axis=axis,
                aperture_m=aperture.si,
                profile=_profile(placer, profile),
                flux_lm=fixture.output.si,
                colour=colour,
                power_w=power,
            )
    if fixture.stand:
        _add_stand(builder, front - 0.5 * back * axis, 0.5 * (fixture_drop_m(placer, name)))
    return builder.build(), source


def fixture_drop_m(placer: Placer, name: str) -> float:
    """How far a fixture's body hangs under its middle, along the vertical (m)."""
    light = placer.document.fixtures[name].light
    return light.size[1].si if isinstance(light, SoftBox) else 1.1 * light.aperture.si


def build_practical(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A light in shot: a globe that shines from all of its surface."""
    practical = placer.document.practicals[name]
    light: Globe = practical.light
    centre, radius = placer.origin(name), 0.5 * light.diameter.si
    builder = PieceBuilder(name, grain)
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


def _add_disc(
    builder: PieceBuilder, centre: Float64Array, axis: Float64Array, radius: float, source: str
) -> None:
    level, rise = frame_of(axis)
    angle = np.linspace(0.0, 2.0 * math.pi, 25)
    rim = centre + radius * (np.cos(angle)[:, None] * level + np.sin(angle)[:, None] * rise)
    corners = np.stack([np.broadcast_to(centre, rim[:-1].shape), rim[:-1], rim[1:]], 1)
    builder.add_mesh(
        corners,
        normals=np.broadcast_to(axis, corners.shape),
        material="black metal",
        name="front",
        source=source,
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
