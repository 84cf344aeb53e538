"""What may be written of rooms, their openings and what hangs in these, the sky and outside."""

from __future__ import annotations

from typing import Any, Final

from falloff.document import records
from falloff.document.clock_values import SKYLINE
from falloff.document.corners import FLOOR
from falloff.document.cursor import Cursor
from falloff.document.forms import Forms, map_of, variant
from falloff.document.placing import WALL
from falloff.document.quantities import (
    MATERIAL,
    ND,
    PANES,
    PLAN_POINT,
    SHARE_OF_LIGHT,
    THREE_SIDES,
    angle_between,
)
from falloff.document.values import (
    ANGLE,
    DIM,
    Key,
    Value,
    choice,
    group,
    group_schema,
    length,
    list_of,
    may,
    need,
    not_below_zero,
    read_keys,
    reference,
    size,
)

# Rooms -----------------------------------------------------------------------------------

_SLOPE_FORMS: Final = Forms(
    "shape",
    {
        "lean-to": {
            "low": need(size("2.2 m"), "height at the low end"),
            "high": need(size("3.4 m"), "height at the high end"),
            "rises_toward": need(ANGLE, "on the plan, counter-clockwise from +x"),
        },
        "gable": {
            "eaves": need(size("2.4 m"), "height at both sides"),
            "ridge": need(size("3.6 m"), "height in the middle"),
            "ridge_along": need(ANGLE, "the way the ridge runs on the plan"),
        },
    },
)
_SLOPE: Final = variant(
    _SLOPE_FORMS, "a slope", "{shape: lean-to, low: 2.2 m, high: 3.4 m, rises_toward: 90 deg}"
)


def _slope(cursor: Cursor) -> records.LeanTo | records.Gable:
    word, values = _SLOPE.read(cursor)
    slope = records.LeanTo(**values) if word == "lean-to" else records.Gable(**values)
    low, high = ends_of(slope)
    if low.si >= high.si:
        what = f"a {word} rises: {low.text} is not below {high.text}"
        raise cursor.fault(what, fix="write `height` in place of `slope` for a level ceiling")
    return slope


def ends_of(slope: records.LeanTo | records.Gable) -> tuple[records.Quantity, records.Quantity]:
    """Lowest and highest height of a sloped ceiling."""
    if isinstance(slope, records.LeanTo):
        return slope.low, slope.high
    return slope.eaves, slope.ridge


_HEIGHT: Final = "from floor to ceiling; or else slope"
ROOM: Final[dict[str, Key]] = {
    "floor": need(FLOOR, "corners, counter-clockwise seen from above"),
    "height": need(size("2.7 m"), _HEIGHT),
    "slope": may(Value(_slope, _SLOPE.example, _SLOPE.schema), "in place of height"),
    "wall_thickness": may(size("0.2 m"), "the depth of window reveals; 0.2 m if left out"),
    "floor_surface": need(MATERIAL),
    "ceiling_surface": need(MATERIAL),
    "wall_surface": need(MATERIAL),
    "wall_surfaces": may(
        map_of(MATERIAL, keyed=WALL), "single walls; wall N runs from corner N to corner N+1"
    ),
}
_SLOPED_ROOM: Final = ROOM | {"height": may(ROOM["height"].value, _HEIGHT)}


def _room(cursor: Cursor) -> records.Room:
    entries = cursor.entries()
    sloped = "slope" in entries
    if sloped and "height" in entries:
        what = "a room has a height or a slope, not both"
        entries["slope"].fault(what, fix="take one away: a slope says its own heights")
    keys = _SLOPED_ROOM if sloped else ROOM
    values = read_keys(cursor, keys, "the room", entries=entries)
    if sloped:
        values = {"height": ends_of(values["slope"])[1]} | values
    return records.Room(**values)


def _room_schema() -> dict[str, Any]:
    one_of = [{"required": [key]} for key in ("height", "slope")]
    return group_schema(_SLOPED_ROOM) | {"oneOf": one_of}


ROOM_VALUE: Final = Value(_room, "{floor: ...}", _room_schema())

# What hangs in openings ------------------------------------------------------------------

_SHEER: Final = {
    "straight": need(SHARE_OF_LIGHT, "share of the light let straight through"),
    "scattered": need(SHARE_OF_LIGHT, "share let through and scattered"),
    "reflected": may(SHARE_OF_LIGHT, "share given back; three quarters of the rest if left out"),
}
_GEL: Final = {"loss": need(ND, "what it takes away, written as an ND")}
_DRESSING_FORMS: Final = Forms(
    "kind",
    {
        "sheer": _SHEER,
        "blind": {
            "slat": may(size("5 cm"), "depth of a slat; 5 cm if left out"),
            "pitch": may(size("4.5 cm"), "from slat to slat; 0.9 of the slat if left out"),
            "tilt": may(
                angle_between(-80.0, 80.0, "30 deg"),
                "0 deg lies flat; above, the room side is lower; 30 deg if left out",
            ),
            "drop": may(DIM, "share of the height it is let down over; 100 % if left out"),
            "surface": may(MATERIAL, "white paint if left out"),
        },
        "curtain": {
            "open": may(DIM, "middle share of the width left free; 0 % if left out"),
            "surface": may(MATERIAL, "black cloth if left out"),
        },
        "gel": _GEL,
    },
)
_SKYLIGHT_DRESSING_FORMS: Final = Forms("kind", {"gel": _GEL, "sheer": _SHEER})
_DRESSED: Final = {
    "sheer": records.Sheer,
    "blind": records.Blind,
    "curtain": records.Curtain,
    "gel": records.WindowGel,
}


def _dressing_list(forms: Forms) -> Value[tuple[records.Dressing, ...]]:
    one = variant(forms, "a dressing", "{kind: gel, loss: 2 stops}")

    def read(cursor: Cursor) -> records.Dressing:
        kind, values = one.read(cursor)
        shares = sum(values.get(share) or 0.0 for share in ("straight", "scattered", "reflected"))
        if kind == "sheer" and shares > 1.0 + 1e-9:
            found = f"{shares:g}"
            what = "more light comes off a sheer than falls on it"
            raise cursor.fault(what, expected="at most 1 together", found=found)
        dressing: records.Dressing = _DRESSED[kind](**values)
        return dressing

    value = Value(read, one.example, one.schema)
    return list_of(value, least=0, most=20, parts="dressings", example=f"[{one.example}]")


# Openings --------------------------------------------------------------------------------

_OF_ROOM: Final = may(reference("room", "HALL"), "the scene's own room if left out")
_ON_WALL: Final[dict[str, Key]] = {
    "room": _OF_ROOM,
    "wall": need(WALL, "wall N runs from corner N to corner N+1"),
    "along": need(length("1 m", limits=not_below_zero("m")), "from the wall's first corner"),
}
_PANES: Final[dict[str, Key]] = {
    "bars": may(PANES, "columns and rows of panes; none if left out"),
    "bar_width": may(size("4 cm"), "4 cm if left out"),
    "bar_surface": may(MATERIAL, "white paint if left out"),
    "glass": may(SHARE_OF_LIGHT, "share of the light that the panes let through; 1 if left out"),
}
_OPENING_FORMS: Final = Forms(
    "kind",
    {
        "window": _ON_WALL
        | {
            "width": need(size("1.4 m")),
            "sill": need(length("0.95 m", limits=not_below_zero("m")), "above the floor"),
            "height": need(size("1.3 m"), "of the opening itself"),
        }
        | _PANES
        | {
            "sill_board": may(size("20 cm"), "how far it stands into the room; none if left out"),
            "dressing": may(_dressing_list(_DRESSING_FORMS), "what hangs in it"),
        },
        "door": _ON_WALL
        | {
            "width": may(size("86 cm"), "86 cm if left out"),
            "height": may(size("2.02 m"), "2.02 m if left out"),
            "to": may(reference("beyond", "HALL"), "another room, or outside"),
            "open": may(angle_between(0.0, 170.0, "90 deg"), "of the leaf; shut if left out"),
            "hinge": may(choice(["left", "right"], "hinge"), "seen from inside its own room"),
            "swings": may(choice(["in", "out"], "swing"), "in if left out"),
            "leaf_surface": may(MATERIAL, "white paint if left out"),
            "frame": may(
                length("7 cm", limits=not_below_zero("m")),
                "width of the lining seen round it; 7 cm if left out",
            ),
            "frame_surface": may(MATERIAL, "white paint if left out"),
        },
        "skylight": {
            "room": _OF_ROOM,
            "at": need(PLAN_POINT, "its middle on the plan"),
            "size": need(
                list_of(
                    size("1.2 m"),
                    least=2,
                    most=2,
                    parts="its sides along x and y",
                    example="[1.2 m, 0.8 m]",
                )
            ),
            "turn": may(ANGLE, "counter-clockwise on the plan"),
            "shaft": may(length("30 cm", limits=not_below_zero("m")), "depth of its lining; 30 cm"),
            "shaft_surface": may(MATERIAL, "white paint if left out"),
        }
        | _PANES
        | {"dressing": may(_dressing_list(_SKYLIGHT_DRESSING_FORMS), "gel and sheer")},
    },
    usual="window",
)
_OPENING: Final = variant(_OPENING_FORMS, "an opening", "{wall: 1, ...}")


def _opening(cursor: Cursor) -> records.Opening:
    kind, values = _OPENING.read(cursor)
    if kind == "skylight":
        return records.Skylight(**values)
    if kind == "door":
        return records.Door(**values)
    return records.Window(**values)


OPENING_VALUE: Final = Value(_opening, _OPENING.example, _OPENING.schema)

# Outside ---------------------------------------------------------------------------------

_BUILDING: Final[dict[str, Key]] = {
    "at": need(PLAN_POINT, "the middle of its base on the plan"),
    "size": need(THREE_SIDES),
    "turn": may(ANGLE, "counter-clockwise on the plan"),
    "surface": may(MATERIAL, "red brick if left out"),
}
_OUTSIDE: Final[dict[str, Key]] = {
    "ground_level": may(length("-3 m"), "against the room's floor; -0.3 m if left out"),
    "buildings": may(
        map_of(
            group(records.Building, _BUILDING, "a building", "{at: [2 m, -8 m], size: ...}"),
        ),
        "blocks that face the room",
    ),
    "skyline": may(SKYLINE, "how high the horizon stands, by ascending azimuth; level if left out"),
}
OUTSIDE_VALUE: Final = group(records.Outside, _OUTSIDE, "outside", "{ground_level: -3 m}")
