"""Props, grip and people on the plan and from the sides."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.document import Box, Cylinder, Furniture, Grip, MeshFile
from falloff.drawing.plan_kept import kept
from falloff.drawing.plan_outlines import (
    circle,
    degrees,
    figure_outline,
    hull,
    number,
    prop_outline,
    rounded,
    shifted,
    silhouette,
)
from falloff.drawing.plan_places import aimed, carrier, distance_of, spot, written_sizes
from falloff.drawing.plan_rays import Blocker
from falloff.drawing.plan_records import Distance, PlanBody, PlanSubject, Side, Sides
from falloff.drawing.plan_units import size_words
from falloff.kit import find_figure
from falloff.stage.fronts import frame_of
from falloff.stage.places import Placer, figure_turn
from falloff.stage.shapes import shape_in
from falloff.types import Float64Array

_PANEL_M: Final = 0.012  # a panel is drawn this thick where it is seen on its edge
_POLE_M: Final = 0.02
_OPEN_KINDS: Final = ("stairs", "handrail")  # what is mostly air within its outline
_SHORTEST_M: Final = 0.2  # of what stands in a beam's way
_LOWEST_M: Final = 0.1
_LETS_THROUGH: Final = ("frame", "net")


def plan_prop(placer: Placer, name: str) -> tuple[PlanBody, tuple[Blocker, ...]]:
    """A prop, and what of it stands in the way of beams."""
    document = placer.document
    prop = document.props[name]
    stamp = id(shape_in(document, name).mesh) if isinstance(prop.shape, MeshFile) else 0
    x, y, z = placer.origin(name).tolist()
    place = (number(x, 4), number(y, 4), number(z, 4))
    shown = (prop.turn.si, prop.surface, carrier(prop.at), document.units)
    key = (document.path, name, prop.shape, stamp, place, shown)
    return kept(key, lambda: _new_prop(placer, name))


def _new_prop(placer: Placer, name: str) -> tuple[PlanBody, tuple[Blocker, ...]]:
    prop = placer.document.props[name]
    shape = shape_in(placer.document, name)
    outline = prop_outline(shape, prop.turn.si)
    x, y, z = placer.origin(name).tolist()
    here = np.array([x, y])
    low, high = z + outline.low_m, z + outline.high_m
    body = PlanBody(
        name=name,
        section="props",
        form=_form(prop.shape),
        at=(number(x), number(y)),
        z_m=number(z),
        outline=rounded(outline.plan + here),
        low_m=number(low),
        high_m=number(high),
        turn_deg=degrees(prop.turn.si),
        size_m=tuple(number(side) for side in shape.size_m),
        sizes=written_sizes(placer.document, "props", name),
        aim=None,
        aim_z_m=None,
        aims_at=None,
        on=carrier(prop.at),
        stand=False,
        says=_prop_words(placer, name, shape.size_m),
        distance=None,
        sides=Sides(
            front=Side(outlines=shifted(outline.front, (x, z))),
            right=Side(outlines=shifted(outline.right, (y, z))),
        ),
    )
    if isinstance(prop.shape, Furniture) and prop.shape.kind in _OPEN_KINDS:
        parts = [(one + here, z + a, z + b) for one, a, b in outline.parts]
    else:
        parts = [(outline.around + here, low, high)]
    return body, tuple(_blocker(*part) for part in parts if _counts(*part))


def _counts(outline: Float64Array, low: float, high: float) -> bool:
    """Whether a part is large enough to stand in a beam's way on the plan."""
    if high - low < _LOWEST_M or len(outline) < 3:
        return False
    return float((outline.max(0) - outline.min(0)).max()) >= _SHORTEST_M


def _blocker(outline: Float64Array, low: float, high: float) -> Blocker:
    kept = outline if len(outline) <= 12 else outline[:: 1 + len(outline) // 12]
    return rounded(kept), number(low), number(high)


def _prop_words(placer: Placer, name: str, size_m: tuple[float, float, float]) -> str:
    prop = placer.document.props[name]
    told = size_words(size_m, placer.document.units)
    return f"{_form(prop.shape)} {told}, {prop.surface}"


def _form(shape: Box | Cylinder | MeshFile | Furniture) -> str:
    match shape:
        case Furniture(kind=kind):
            return kind
        case MeshFile(file=file):
            return file
        case Box():
            return "box"
        case Cylinder():
            return "cylinder"


# Grip ------------------------------------------------------------------------------------


def plan_grip(placer: Placer, name: str) -> tuple[PlanBody, tuple[Blocker, ...]]:
    """A panel of grip to scale, as it is turned and tilted."""
    grip = placer.document.grip[name]
    centre = placer.origin(name)
    seen = placer.aim_point(grip.aim)
    place = (tuple(centre.tolist()), None if seen is None else tuple(seen.tolist()))
    far = distance_of(placer, centre, place=grip.at, aim=grip.aim)
    key = ("grip", name, grip, place, far, placer.document.units)
    return kept(key, lambda: _new_grip(placer, name, far))


def _new_grip(
    placer: Placer, name: str, far: Distance | None
) -> tuple[PlanBody, tuple[Blocker, ...]]:
    grip = placer.document.grip[name]
    centre = placer.origin(name)
    axis = placer.aim_direction(centre, grip.aim, ("grip", name, "aim"))
    level, rise = frame_of(axis)
    width, height = grip.size[0].si, grip.size[1].si
    corners = np.array(
        [
            centre + 0.5 * (i * width * level + j * height * rise + k * _PANEL_M * axis)
            for i in (-1, 1)
            for j in (-1, 1)
            for k in (-1, 1)
        ]
    )
    found = aimed(placer, grip.aim, axis)
    outline = hull(corners[:, :2])
    low, high = float(corners[:, 2].min()), float(corners[:, 2].max())
    body = PlanBody(
        name=name,
        section="grip",
        form=grip.kind,
        at=spot(centre),
        z_m=number(centre[2]),
        outline=rounded(outline),
        low_m=number(low),
        high_m=number(high),
        turn_deg=None,
        size_m=(number(width), number(height)),
        sizes=written_sizes(placer.document, "grip", name),
        aim=found.at,
        aim_z_m=found.z_m,
        aims_at=found.name,
        on=carrier(grip.at),
        stand=grip.stand,
        says=_grip_words(placer, grip),
        distance=far,
        sides=Sides(
            front=_panel_side(corners, centre, 0, stand=grip.stand),
            right=_panel_side(corners, centre, 1, stand=grip.stand),
        ),
    )
    if grip.kind in _LETS_THROUGH or not _counts(outline, low, high):
        return body, ()
    return body, (_blocker(outline, low, high),)


def _panel_side(corners: Float64Array, centre: Float64Array, side: int, *, stand: bool) -> Side:
    outlines = [rounded(hull(corners[:, [side, 2]]))]
    if stand:
        at, edge = float(centre[side]), 0.5 * _POLE_M
        top = float(centre[2])
        pole = np.array([[at - edge, 0.0], [at + edge, 0.0], [at + edge, top], [at - edge, top]])
        outlines.append(rounded(pole))
    return Side(outlines=tuple(outlines))


def _grip_words(placer: Placer, grip: Grip) -> str:
    told = f"{grip.kind} {size_words((grip.size[0].si, grip.size[1].si), placer.document.units)}"
    if isinstance(grip.fabric, str):
        return f"{told}, {grip.fabric}"
    if grip.loss is not None:
        return f"{told}, {grip.loss.text}"
    return f"{told}, {grip.surface}" if grip.surface else told


# People ----------------------------------------------------------------------------------


def plan_subject(placer: Placer, name: str) -> tuple[PlanSubject, tuple[Blocker, ...]]:
    """A person on the mark, head and shoulders, and from the sides."""
    place = tuple(placer.origin(name).tolist())
    facing = tuple(placer.subject_facing(name).tolist())
    key = (name, placer.document.subjects[name].figure, place, facing, placer.gaze_way(name))
    return kept(key, lambda: _new_subject(placer, name))


def _new_subject(placer: Placer, name: str) -> tuple[PlanSubject, tuple[Blocker, ...]]:
    subject = placer.document.subjects[name]
    own = figure_outline(subject.figure)
    mark = placer.origin(name)
    facing = placer.subject_facing(name)
    turn = figure_turn(facing)[:2, :2]
    places = placer.subject(name)
    gazing = placer.gazing(name).figure
    ahead = turn @ gazing.head_axes[1][:2].astype(np.float64)
    pivot = gazing.head_pivot_m[:2].astype(np.float64)
    straight = find_figure(subject.figure).head_axes[:2, :2].astype(np.float64)
    arm = straight @ (own.head_middle - pivot)
    turned = gazing.head_axes[:2, :2].astype(np.float64).T @ arm + pivot
    base = float(mark[2])
    face, normal = places.points["face"], places.normals["face"]
    gaze = ahead if float(np.hypot(*ahead)) > 0.2 else normal[:2]
    shoulders = mark[:2] + own.shoulders @ turn.T
    eyes = gazing.eye_centres_m.mean(0)
    high = base + own.high_m
    person = PlanSubject(
        name=name,
        mark=spot(mark),
        z_m=number(base),
        shoulders=rounded(shoulders),
        head=rounded(circle(mark[:2] + turn @ turned, own.head_m)),
        facing_deg=degrees(math.atan2(facing[1], facing[0])),
        gaze_deg=degrees(math.atan2(gaze[1], gaze[0])),
        pose=own.pose,
        eye_height_m=number(base + float(eyes[2])),
        low_m=number(base),
        high_m=number(high),
        face=spot(face),
        face_z_m=number(face[2]),
        says=subject.figure,
        sides=Sides(
            front=Side(outlines=shifted((silhouette(own, turn, along=0),), (mark[0], base))),
            right=Side(outlines=shifted((silhouette(own, turn, along=1),), (mark[1], base))),
        ),
    )
    return person, (_blocker(shoulders, base, high),)
