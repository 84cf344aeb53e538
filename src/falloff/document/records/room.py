"""The room: floor, walls and ceiling, its openings and what hangs in them, and what is outside."""

from __future__ import annotations

import math
from typing import Literal, TypeAlias

import msgspec

from falloff.document.records.places import Quantity


class LeanTo(msgspec.Struct, frozen=True, tag="lean-to"):
    """A ceiling in one slope: `low` (m) at one end of the floor, `high` (m) at the other.

    rises_toward: the way on the plan that it rises, counter-clockwise from +x (rad).
    """

    low: Quantity
    high: Quantity
    rises_toward: Quantity


class Gable(msgspec.Struct, frozen=True, tag="gable"):
    """A ceiling in two slopes that meet over the middle of the floor's extent across the ridge.

    eaves, ridge: heights (m); ridge_along: the way the ridge runs on the plan (rad).
    """

    eaves: Quantity
    ridge: Quantity
    ridge_along: Quantity


class Room(msgspec.Struct, frozen=True, kw_only=True):
    """Corners in metres, counter-clockwise seen from above, not repeated at the end.

    height: of a flat ceiling, or of the highest point of a sloped one (m).
    """

    floor: tuple[tuple[Quantity, Quantity], ...]
    height: Quantity
    slope: LeanTo | Gable | None = None
    wall_thickness: Quantity = Quantity(0.2, "0.2 m")  # m
    floor_surface: str
    ceiling_surface: str
    wall_surface: str
    wall_surfaces: dict[int, str] = {}  # by wall, counted from 1


# Openings --------------------------------------------------------------------------------


class Sheer(msgspec.Struct, frozen=True, tag="sheer"):
    """A net or sheer curtain over all the glass: shares of light let straight through, scattered.

    Each 0..1, at most 1 together; reflected: given back (None: three quarters of the rest).
    """

    straight: float
    scattered: float
    reflected: float | None = None


class Blind(msgspec.Struct, frozen=True, tag="blind"):
    """Level slats inside the glass.

    slat: depth of one (m); pitch: from slat to slat (m; None: 0.9 of the slat); tilt: 0 lies flat
    and open, up to 80 degrees either way, above zero the room side is lower (rad); drop: the
    share of the opening's height it is let down over, from the top.
    """

    slat: Quantity = Quantity(0.05, "5 cm")
    pitch: Quantity | None = None
    tilt: Quantity = Quantity(math.radians(30.0), "30 deg")
    drop: Quantity = Quantity(1.0, "100 %")
    surface: str = "white paint"


class Curtain(msgspec.Struct, frozen=True, tag="curtain"):
    """An opaque curtain or blackout; `open` is the middle share of the width left free, 0..1."""

    open: Quantity = Quantity(0.0, "0 %")
    surface: str = "black cloth"


class WindowGel(msgspec.Struct, frozen=True, tag="gel"):
    """A neutral gel on the glass, by the stops it takes away."""

    loss: Quantity


Dressing: TypeAlias = Sheer | Blind | Curtain | WindowGel


class Window(msgspec.Struct, frozen=True, kw_only=True, tag="window"):
    """A window in wall `wall` (from 1) of `room` (None: the scene's own room).

    along: from the wall's first corner to the near side (m); sill: above the floor (m); glass:
    share of light that the panes let through (1: none, or counted already); sill_board: how far a
    board at the sill stands into the room (m).
    """

    room: str | None = None
    wall: int
    along: Quantity
    width: Quantity
    sill: Quantity
    height: Quantity
    bars: tuple[int, int] | None = None  # columns and rows of panes
    bar_width: Quantity = Quantity(0.04, "4 cm")
    bar_surface: str = "white paint"
    sill_board: Quantity | None = None
    glass: float = 1.0
    dressing: tuple[Dressing, ...] = ()


class Door(msgspec.Struct, frozen=True, kw_only=True, tag="door"):
    """A doorway from the floor up; its leaf fills it unless it is open.

    to: the other room it leads to, "outside" for the open air, None where it leads out of the
    scene (then it is always shut). open: angle of the leaf (rad), 0 is shut. hinge: the side its
    hinges are on, seen from inside its own room; swings: which way it opens. frame: width of the
    lining seen round it (m).
    """

    room: str | None = None
    wall: int
    along: Quantity
    width: Quantity = Quantity(0.86, "86 cm")
    height: Quantity = Quantity(2.02, "2.02 m")
    to: str | None = None
    open: Quantity = Quantity(0.0, "0 deg")
    hinge: Literal["left", "right"] = "left"
    swings: Literal["in", "out"] = "in"
    leaf_surface: str = "white paint"
    frame: Quantity = Quantity(0.07, "7 cm")
    frame_surface: str = "white paint"


class Skylight(msgspec.Struct, frozen=True, kw_only=True, tag="skylight"):
    """A hole through the ceiling that sees the sky.

    at: its middle on the plan; size: along its own x and y on the plan (m), turned by `turn`
    (rad); shaft: how deep the lining is (m), upright; bars: panes along x and y.
    """

    room: str | None = None
    at: tuple[Quantity, Quantity]
    size: tuple[Quantity, Quantity]
    turn: Quantity = Quantity(0.0, "0 deg")
    shaft: Quantity = Quantity(0.3, "30 cm")
    shaft_surface: str = "white paint"
    bars: tuple[int, int] | None = None
    bar_width: Quantity = Quantity(0.04, "4 cm")
    bar_surface: str = "white paint"
    glass: float = 1.0
    dressing: tuple[WindowGel | Sheer, ...] = ()


Opening: TypeAlias = Window | Door | Skylight


# Outside ---------------------------------------------------------------------------------


class Location(msgspec.Struct, frozen=True, kw_only=True):
    """Where on the earth the room is: north and east positive (rad), height above the sea (m).

    zone: the clock's, by its name in the time zone database.
    """

    latitude: Quantity
    longitude: Quantity
    zone: str
    height: Quantity = Quantity(0.0, "0 m")


class Sun(msgspec.Struct, frozen=True, kw_only=True):
    """Where the sun stands: above the horizon, and clockwise from north (rad).

    altitude, azimuth: None where the sky's hour says it; illuminance: of a plane that faces it, lx;
    None: from turbidity (1: clean dry air); colour: None: from its altitude, or 5400 K.
    """

    altitude: Quantity | None = None
    azimuth: Quantity | None = None
    illuminance: Quantity | None = None  # lx
    turbidity: float = 3.0
    colour: Quantity | None = None  # K


class AtGlass(msgspec.Struct, frozen=True, kw_only=True):
    """What a meter read outside at an opening, facing out from it, without the sun's disc; lx."""

    opening: str
    reads: Quantity


class Sky(msgspec.Struct, frozen=True, kw_only=True):
    """The light outside: at an hour, or said by one of three readings, or both.

    type: overcast, broken cloud, thin cloud, clear, uniform, or 1 to 15 of ISO 15469:2004; at: date
    and time by the location's clock, as written; outside: horizontal illuminance under the open sky
    without the sun's disc (lx); zenith: luminance overhead (cd/m²); at_glass: a reading at an
    opening; read_at: when that reading was taken, None: at the hour; other hours are scaled by it.
    north: where it lies on the plan, counter-clockwise from +x (rad). colour: None: by the hour and
    the type, or 6500 K.
    """

    type: str
    at: str | None = None
    read_at: str | None = None
    outside: Quantity | None = None  # lx
    zenith: Quantity | None = None  # cd/m²
    at_glass: AtGlass | None = None
    sun: Sun | None = None
    north: Quantity = Quantity(1.5707963267948966, "90 deg")
    colour: Quantity | None = None  # K
    ground: float = 0.2  # reflectance


class Building(msgspec.Struct, frozen=True, kw_only=True):
    """A block that faces the room: centre of its base on the plan, sides (x, y, up) in metres.

    It stands on the ground outside; turn counter-clockwise on the plan (rad).
    """

    at: tuple[Quantity, Quantity]
    size: tuple[Quantity, Quantity, Quantity]
    turn: Quantity = Quantity(0.0, "0 deg")
    surface: str = "red brick"


class SkylinePoint(msgspec.Struct, frozen=True, kw_only=True):
    """How high the horizon stands in one direction: clockwise from north, above level (rad)."""

    azimuth: Quantity
    altitude: Quantity


class Outside(msgspec.Struct, frozen=True, kw_only=True):
    """What is seen through the openings; ground_level is against the room's floor (m).

    skyline: by ascending azimuth, straight between its points and all round; () where it is level.
    """

    ground_level: Quantity = Quantity(-0.3, "-0.3 m")
    buildings: dict[str, Building] = {}
    skyline: tuple[SkylinePoint, ...] = ()
