"""Flags, boards, frames of fabric, nets and mirrors, and what fabrics do with light."""

from __future__ import annotations

import numpy as np

from falloff.document import GivenFabric
from falloff.findings import Finding, Weight
from falloff.kit import Fabric
from falloff.spectrum import D65_XY, cct_duv, colour_of_kelvin, shifted_kelvin
from falloff.stage.dice import PieceBuilder
from falloff.stage.fronts import add_stand, frame_of
from falloff.stage.grain import Grain
from falloff.stage.own_kit import kit_item
from falloff.stage.places import Placer
from falloff.stage.records import Cloth, Piece
from falloff.stage.solids import add_box
from falloff.types import Float64Array

_PANEL_THICKNESS_M = 0.006
_POLE_M = 0.03  # the stand's pole stands this far behind a flag or board
_BAR_M = 0.025  # of a frame round its cloth: common practice, no source
_GIVEN_BACK = 0.75  # of what a fabric does not let through: common practice, no source
_NET_GIVES_BACK = 0.05  # of what a black net stops: common practice, no source
_CLOTH_GRAIN = Grain(patch_m=0.25, element_m=0.25)
_BAR_GRAIN = Grain(patch_m=1.0, element_m=1.0)


def build_grip(placer: Placer, name: str, grain: Grain) -> Piece:
    """A flag, board, frame, net or mirror: flat, its face looks at its aim."""
    grip = placer.document.grip[name]
    centre = placer.origin(name)
    axis = placer.aim_direction(centre, grip.aim, ("grip", name, "aim"))
    level, rise = frame_of(axis)
    builder = PieceBuilder(name, grain)
    width, height = grip.size[0].si, grip.size[1].si
    if grip.kind in ("frame", "net"):
        cloth = net_of(grip.loss.si) if grip.loss is not None else _cloth(placer, name)
        _add_framed(builder, centre, (level, rise, axis), (width, height), cloth)
    elif grip.kind == "mirror":
        behind = centre - (0.5 * _PANEL_THICKNESS_M + 0.001) * axis
        size = (width, height, _PANEL_THICKNESS_M)
        add_box(builder, behind, (level, rise, axis), size, "black metal", "back")
        corner = centre - 0.5 * (width * level + height * rise)
        builder.add_mirror(
            corner,
            edge_u=width * level,
            edge_v=height * rise,
            reflectance=grip.reflectance if grip.reflectance is not None else 0.0,
        )
    else:
        size = (width, height, _PANEL_THICKNESS_M)
        add_box(builder, centre, (level, rise, axis), size, grip.surface, "")
    if grip.stand:
        add_stand(builder, centre - _POLE_M * axis, -0.35 * height)
    return builder.build()


def grip_findings(placer: Placer) -> list[Finding]:
    """What the kit's figures stand for, of fabrics that are named."""
    found = []
    for name, grip in placer.document.grip.items():
        if isinstance(grip.fabric, str):
            found.append(fabric_finding(placer, ("grip", name, "fabric"), grip.fabric))
    return found


def _cloth(placer: Placer, name: str) -> Cloth:
    fabric = placer.document.grip[name].fabric
    assert fabric is not None  # the reader asks a frame for its fabric
    return cloth_of(placer, ("grip", name, "fabric"), fabric)


def _add_framed(
    builder: PieceBuilder,
    centre: Float64Array,
    axes: tuple[Float64Array, Float64Array, Float64Array],
    size_m: tuple[float, float],
    cloth: Cloth,
) -> None:
    """Cloth with a bar along each of its four sides, outside it."""
    level, rise, _ = axes
    width, height = size_m
    corner = centre - 0.5 * (width * level + height * rise)
    with builder.cut_by(_CLOTH_GRAIN):
        builder.add_fabric(
            corner,
            edge_u=width * level,
            edge_v=height * rise,
            fabric=cloth,
            name=f"{builder.name} cloth",
        )
    out_u, out_v = 0.5 * (width + _BAR_M), 0.5 * (height + _BAR_M)
    with builder.cut_by(_BAR_GRAIN):
        for side in (-1.0, 1.0):
            upright = (_BAR_M, height + 2.0 * _BAR_M, _BAR_M)
            add_box(builder, centre + side * out_u * level, axes, upright, "black metal", "frame")
            flat = (width, _BAR_M, _BAR_M)
            add_box(builder, centre + side * out_v * rise, axes, flat, "black metal", "frame")


# Fabrics ---------------------------------------------------------------------------------


def net_of(loss_stops: float) -> Cloth:
    """A black net that takes so many stops of what passes it straight."""
    straight = 2.0**-loss_stops
    return Cloth(straight, np.zeros(3), np.full(3, _NET_GIVES_BACK * (1.0 - straight)))


def cloth_of(placer: Placer, path: tuple[str, ...], fabric: str | GivenFabric) -> Cloth:
    """What a fabric does with light, by the kit's name or as given."""
    if isinstance(fabric, str):
        item = kit_fabric(placer, path, fabric)
        tint = _tint_of_shift(item.shift_mired)
        scattered, reflected = item.scattered_share * tint, item.reflected_share * tint
        most = (scattered + reflected).max()
        room = 1.0 - item.straight_share
        scale = 1.0 if most <= room else room / most
        return Cloth(item.straight_share, scale * scattered, scale * reflected)
    rest = 1.0 - fabric.straight - fabric.scattered
    reflected_share = _GIVEN_BACK * rest if fabric.reflected is None else fabric.reflected
    return Cloth(fabric.straight, np.full(3, fabric.scattered), np.full(3, reflected_share))


def kit_fabric(placer: Placer, path: tuple[str, ...], name: str) -> Fabric:
    """A fabric of the kit; a fault at its place in the file where there is none."""
    return kit_item(placer, path, Fabric, name)


def fabric_finding(placer: Placer, path: tuple[str, ...], name: str) -> Finding:
    """Shares of a fabric of the kit, and how far they may be off."""
    item = kit_fabric(placer, path, name)
    says = (
        f"{item.name} is taken to pass {100.0 * item.straight_share:.0f} % straight and "
        f"{100.0 * item.scattered_share:.0f} % scattered, and to give back "
        f"{100.0 * item.reflected_share:.0f} % ({item.provenance}; give or take "
        f"{item.spread_stops:.1f} stop)"
    )
    do = "write its own shares: {straight: ..., scattered: ..., reflected: ...}"
    return Finding(weight=Weight.NOTE, about=path[1], says=says, do=do)


def _tint_of_shift(shift_mired: float) -> Float64Array:
    """What a shift of white does to its three channels, luminance kept."""
    if shift_mired == 0.0:
        return np.ones(3)
    white = cct_duv(D65_XY).cct_kelvin
    assert white is not None
    shifted = colour_of_kelvin(float(shifted_kelvin(white, shift_mired)))
    return np.asarray(shifted / colour_of_kelvin(float(white)), np.float64)
