"""Bodies and sources of what the crew brings and of lights in shot."""

from __future__ import annotations

import math

import numpy as np

from falloff.document import (
    BookLight,
    Candle,
    Fixture,
    FresnelLight,
    Globe,
    Lantern,
    LightPanel,
    OpenFace,
    Practical,
    ProfileSpotLight,
    Screen,
    ShadedBulb,
    SoftBox,
    TubeLight,
)
from falloff.kit.catalogue.beams import distribution
from falloff.photometry import NAMED_PROFILES, IntensityDistribution, round_beam, web_flux_lm
from falloff.sources import (
    Source,
    ball,
    beam,
    fresnel_beam,
    panel,
    polygon,
    tube,
    web_beam,
)
from falloff.stage.dice import PieceBuilder
from falloff.stage.fronts import (
    FRONT_GAP_M,
    Front,
    add_ball,
    add_barndoors,
    add_can,
    add_case,
    add_disc,
    add_outline,
    add_prism,
    add_stand,
    add_tube,
    frame_of,
    outline_of,
)
from falloff.stage.grain import Grain
from falloff.stage.grip import cloth_of
from falloff.stage.kit_lights import WebMouth, crate_of
from falloff.stage.lights import AnyForm, LightNow, light_of, spot_web
from falloff.stage.places import DOWN, Placer
from falloff.stage.records import Piece
from falloff.stage.shades import add_shade
from falloff.stage.solids import add_box, add_cylinder
from falloff.types import Float64Array

_BOARD_THICKNESS_M = 0.006
_CAN_OVER_MOUTH = 1.12  # width of a head over that of its mouth
_CAN_DEPTH = 1.2  # depth of a head over the width of its mouth
_CORNERS = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
_ALL_ROUND = Globe | Lantern | ShadedBulb | Candle


def build_fixture(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A fixture's body, opaque at the back, and the light that leaves its front."""
    fixture = placer.document.fixtures[name]
    light = light_of(placer, name)
    front = _front(placer, "fixtures", name, light)
    builder = PieceBuilder(name, grain, own_axes=_own_axes(front))
    source = _shine(builder, placer, front, light.form)
    if fixture.stand:
        back = _depth_m(light.form)
        add_stand(builder, front.middle - 0.5 * back * front.axis, 0.5 * _drop_m(light.form))
    return builder.build(), source


def build_practical(placer: Placer, name: str, grain: Grain) -> tuple[Piece, Source]:
    """A light in shot, and what it shines with."""
    light = light_of(placer, name)
    front = _front(placer, "practicals", name, light)
    builder = PieceBuilder(name, grain, own_axes=_own_axes(front))
    source = _shine(builder, placer, front, light.form)
    return builder.build(), source


def _own_axes(front: Front) -> tuple[Float64Array, Float64Array]:
    return front.middle, np.array([front.level, front.rise, front.axis])


def _front(placer: Placer, section: str, name: str, light: LightNow) -> Front:
    """Where a light's front is and the way it looks; one that shines all round looks down."""
    thing: Fixture | Practical = getattr(placer.document, section)[name]
    middle = placer.origin(name)
    if thing.aim is not None:
        axis = placer.aim_direction(middle, thing.aim, (section, name, "aim"))
    elif isinstance(light.form, _ALL_ROUND):
        axis = DOWN
    else:
        raise placer.fault(
            (section, name),
            what=f"{name} needs an aim: it does not shine all round",
            fix=f"add `aim: ...` to {name}",
        )
    level, rise = frame_of(axis, thing.roll.si)
    return Front(
        name=name,
        middle=middle,
        axis=axis,
        level=level,
        rise=rise,
        flux_lm=light.flux_lm,
        colour=light.colour,
        power_w=light.power_w,
    )


def _shine(builder: PieceBuilder, placer: Placer, front: Front, form: AnyForm) -> Source:
    """Add a light's body to the builder; the source that leaves its front."""
    match form:
        case SoftBox() | LightPanel() | BookLight() | Screen():
            return _flat(builder, front, form)
        case OpenFace() | FresnelLight():
            return _round_beam(builder, placer, front, form)
        case ProfileSpotLight() | WebMouth():
            return _web(builder, front, form)
        case TubeLight():
            return _tube(builder, front, form)
        case ShadedBulb(shade=shade):
            path = ("practicals", front.name, "shade", "fabric")
            add_shade(builder, front.middle, shade, cloth_of(placer, path, shade.fabric))
        case _:
            pass
    material = "diffusion cloth" if isinstance(form, Lantern) else "opal glass"
    return _ball(builder, front, form.diameter.si, material)


# Kinds of fronts -------------------------------------------------------------------------


def _flat(
    builder: PieceBuilder, front: Front, form: SoftBox | LightPanel | BookLight | Screen
) -> Source:
    """An evenly lit front on its body."""
    width, height = form.size[0].si, form.size[1].si
    crate = crate_of(form.crate) if isinstance(form, SoftBox | LightPanel) else None
    if isinstance(form, SoftBox | LightPanel) and form.shape != "rectangle":
        rim = outline_of(form.shape, width, height)
        add_prism(builder, front, rim, form.depth.si)
        add_outline(builder, front, rim, "diffusion cloth")
        return polygon(
            front.name,
            front.middle,
            across=front.level,
            upward=front.rise,
            outline_m=rim,
            flux_lm=front.flux_lm,
            colour=front.colour,
            power_w=front.power_w,
            crate=crate,
        )
    if isinstance(form, BookLight):
        _add_book(builder, front, width, height, form.opening.si)
    else:
        add_case(builder, front, (width, height), form.depth.si)
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
        crate=crate,
    )


def _round_beam(
    builder: PieceBuilder, placer: Placer, front: Front, form: OpenFace | FresnelLight
) -> Source:
    """A round mouth that throws a round beam, and the leaves round it."""
    mouth = form.aperture.si
    add_can(builder, front, *_can_m(mouth))
    add_disc(builder, front, 0.5 * mouth)
    if form.barndoors is not None:
        add_barndoors(builder, front, mouth, form.barndoors)
    return beam(
        front.name,
        front.middle,
        axis=front.axis,
        aperture_m=mouth,
        profile=_distribution(placer, form),
        flux_lm=front.flux_lm,
        colour=front.colour,
        power_w=front.power_w,
    )


def _web(builder: PieceBuilder, front: Front, form: ProfileSpotLight | WebMouth) -> Source:
    """A mouth that throws a beam with an intensity of its own in every direction."""
    if isinstance(form, ProfileSpotLight):
        mouth = form.aperture.si
        add_can(builder, front, *_can_m(mouth))
        add_disc(builder, front, 0.5 * mouth)
        web = spot_web(form, front.flux_lm)
        lens = WebMouth(web, (mouth, mouth), square=False, depth_m=0.0)
        return _web_source(front, lens, float(web_flux_lm(web)))
    if form.square:
        add_case(builder, front, form.mouth_m, form.depth_m)
        rim = 0.5 * np.array(form.mouth_m) * _CORNERS
    else:
        rim = outline_of("round", *form.mouth_m)
        add_prism(builder, front, rim, form.depth_m)
    add_outline(builder, front, rim, "black metal")
    return _web_source(front, form, front.flux_lm)


def _tube(builder: PieceBuilder, front: Front, form: TubeLight) -> Source:
    add_tube(builder, front, form.length.si, 0.5 * form.diameter.si)
    return tube(
        front.name,
        front.middle,
        axis=front.level,
        length_m=form.length.si,
        radius_m=0.5 * form.diameter.si,
        flux_lm=front.flux_lm,
        colour=front.colour,
        power_w=front.power_w,
    )


def _ball(builder: PieceBuilder, front: Front, diameter: float, material: str) -> Source:
    add_ball(builder, front.middle, radius_m=0.5 * diameter, material=material, source=front.name)
    return ball(
        front.name,
        front.middle,
        radius_m=0.5 * diameter,
        flux_lm=front.flux_lm,
        colour=front.colour,
        power_w=front.power_w,
    )


def _web_source(front: Front, mouth: WebMouth, flux_lm: float) -> Source:
    return web_beam(
        front.name,
        front.middle,
        axis=front.axis,
        azimuth_zero=front.level,
        web=mouth.web,
        mouth_m=mouth.mouth_m,
        square_mouth=mouth.square,
        colour=front.colour,
        power_w=front.power_w,
        flux_lm=flux_lm,
    )


def _add_book(
    builder: PieceBuilder, front: Front, width: float, height: float, opening: float
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
    cloth = front.middle - (FRONT_GAP_M + 0.5 * _BOARD_THICKNESS_M) * front.axis
    thin = (width, height, _BOARD_THICKNESS_M)
    add_box(builder, cloth, (front.level, front.rise, front.axis), thin, "black cloth", "frame")
    board = spine + 0.5 * width * away - 0.05 * front.axis
    axes = (away, np.cross(out, away), out)
    add_box(builder, board, axes, thin, "black cloth", "board")
    head = front.middle + 0.5 * width * front.level - 0.45 * opening * front.axis
    toward = spine - head
    toward /= np.linalg.norm(toward)
    add_cylinder(builder, head - 0.1 * toward, head + 0.1 * toward, 0.08, "black metal")


# Beams and sizes -------------------------------------------------------------------------


def _distribution(placer: Placer, form: OpenFace | FresnelLight) -> IntensityDistribution:
    if isinstance(form, FresnelLight):
        low, high = form.spot.si, form.flood.si
        wanted = min(max(form.beam.si, low), high)  # the reader has checked it
        return fresnel_beam(wanted, spot_rad=low, flood_rad=high)
    if form.beam is not None:
        return distribution("focused", form.beam.si)
    assert form.profile is not None
    own = placer.document.profiles.get(form.profile)
    if own is not None:
        return round_beam(np.array([a.si for a in own.angles]), np.array(own.relative))
    table = np.array(NAMED_PROFILES[form.profile])
    return round_beam(np.radians(table[:, 0]), table[:, 1])


def _can_m(aperture_m: float) -> tuple[float, float]:
    """Radius and depth of the head behind a round mouth."""
    return 0.5 * _CAN_OVER_MOUTH * aperture_m, _CAN_DEPTH * aperture_m


def _depth_m(form: AnyForm) -> float:
    """How far a light's body reaches behind its front."""
    match form:
        case BookLight():
            return 0.08
        case OpenFace() | FresnelLight() | ProfileSpotLight():
            return _CAN_DEPTH * form.aperture.si
        case SoftBox() | LightPanel() | Screen():
            return form.depth.si
        case WebMouth():
            return form.depth_m
        case _:
            return 0.0


def _drop_m(form: AnyForm) -> float:
    """How far a light's body hangs under its middle, along the vertical, twice."""
    match form:
        case OpenFace() | FresnelLight() | ProfileSpotLight():
            return 1.1 * form.aperture.si
        case SoftBox() | LightPanel() | BookLight() | Screen():
            return form.size[1].si
        case WebMouth():
            return form.mouth_m[1]
        case _:
            return form.diameter.si
