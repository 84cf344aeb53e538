"""Openings that cannot be: past their wall, over one another, into another room."""

from __future__ import annotations

from typing import TYPE_CHECKING

from falloff.document import Door, Skylight
from falloff.errors import Fault
from falloff.stage.ceilings import ceiling_planes, floor_corners_m, wall_outline_m
from falloff.stage.openings import (
    SLACK_M,
    Cutout,
    WallKey,
    contains,
    far_wall,
    holes,
    leads_to_room,
    said,
    skylight_outline,
    wall_hole,
    wall_name,
)
from falloff.stage.places import Placer

if TYPE_CHECKING:
    from shapely import Polygon


def opening_faults(placer: Placer) -> list[Fault]:
    """Faults of openings that do not fit their wall or ceiling, overlap, or lead nowhere."""
    faults = []
    for name, opening in placer.document.openings.items():
        if isinstance(opening, Door) and leads_to_room(opening):
            far = far_wall(placer, name)
            if isinstance(far, Fault):
                faults.append(far)
        elif not isinstance(opening, Skylight):
            faults += _looks_into_a_room(placer, name)
    for key, cuts in holes(placer).items():
        faults += _wall_faults(placer, key, cuts)
    return faults + _skylight_faults(placer)


def _wall_faults(placer: Placer, key: WallKey, cuts: list[Cutout]) -> list[Fault]:
    import shapely

    room, wall = key
    outline = wall_outline_m(placer.room(room), wall)
    faults = []
    for k, cut in enumerate(cuts):
        (left, low), (right, high) = cut.hole[0], cut.hole[2]
        if not contains(outline, left, right, high, low):
            faults.append(
                placer.fault_at(
                    ("openings", cut.name),
                    what=f"{cut.name} does not fit into {wall_name(room, wall)}",
                    expected=f"all of it within {said(placer, outline[:, 0].max())} along and "
                    "under the ceiling",
                    found=f"{said(placer, left)} to {said(placer, right)} along, "
                    f"up to {said(placer, high)}",
                    fix="move it or make it smaller",
                )
            )
        for other in cuts[:k]:
            shared = shapely.intersection(shapely.Polygon(other.hole), shapely.Polygon(cut.hole))
            if shared.area > SLACK_M:
                faults.append(
                    placer.fault_at(
                        ("openings", cut.name),
                        what=f"{cut.name} overlaps {other.name} in {wall_name(room, wall)}",
                        fix="move one of them",
                    )
                )
    return faults


def _looks_into_a_room(placer: Placer, name: str) -> list[Fault]:
    """A fault where a window, or a door to the outside, has another room behind it."""
    import shapely

    opening = placer.document.openings[name]
    if isinstance(opening, Door) and opening.to is None:
        return []
    hole = wall_hole(placer, name)
    depth = hole.depth_m
    block = shapely.Polygon(
        [hole.at(s, d, 0.0)[:2] for s, d in
         ((0.01, 0.01), (0.01, depth), (hole.width_m - 0.01, depth), (hole.width_m - 0.01, 0.01))]
    )  # fmt: skip
    faults = []
    for room in placer.room_names:
        floor = shapely.Polygon(floor_corners_m(placer.room(room)))
        if shapely.intersection(block, floor).area > 1e-4:
            told = room or "the room"
            door = f"; a door says to: {room}" if isinstance(opening, Door) and room else ""
            faults.append(
                placer.fault_at(
                    ("openings", name),
                    what=f"{name} does not look outside: {told} is behind its wall",
                    expected="the open air on the other side of the wall",
                    fix=f"put it into another wall, or move the room{door}",
                )
            )
    return faults


def _skylight_faults(placer: Placer) -> list[Fault]:
    import shapely

    faults = []
    seen: list[tuple[str | None, str, Polygon]] = []
    for name, opening in placer.document.openings.items():
        if not isinstance(opening, Skylight):
            continue
        outline = skylight_outline(placer, name)
        planes = ceiling_planes(placer.room(opening.room))
        held = [shapely.contains(plane.plan.buffer(SLACK_M), outline) for plane in planes]
        if not any(held):
            across = sum(shapely.intersection(p.plan, outline).area > SLACK_M for p in planes) > 1
            faults.append(
                placer.fault_at(
                    ("openings", name, "at"),
                    what=f"{name} lies across the ridge of the ceiling"
                    if across
                    else f"{name} reaches past the ceiling",
                    expected="all of it in one slope of the ceiling, inside the walls",
                    fix="move it or make it smaller",
                )
            )
        for room, other, taken in seen:
            if room == opening.room and shapely.intersection(taken, outline).area > SLACK_M:
                what = f"{name} overlaps {other} in the ceiling"
                fault = placer.fault_at(("openings", name), what=what, fix="move one of them")
                faults.append(fault)
        seen.append((opening.room, name, outline))
    return faults
