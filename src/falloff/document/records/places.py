"""Quantities, places and aims: where things are said to stand, and what they look at."""

from __future__ import annotations

from typing import TypeAlias

import msgspec

KeyPath: TypeAlias = tuple[str | int, ...]


class Quantity(msgspec.Struct, frozen=True):
    """A number in SI, with the text as the person wrote it (or would have)."""

    si: float
    text: str


# Places ----------------------------------------------------------------------------------


class PointPlace(msgspec.Struct, frozen=True, tag="point"):
    """A point of the room in metres; z is 0 m where the document leaves it out."""

    x: Quantity
    y: Quantity
    z: Quantity


class RelativePlace(msgspec.Struct, frozen=True, tag="relative"):
    """A plan distance from something, at a clock hour, at a height above the floor.

    Seen from above, what `from_name` faces is at 6 o'clock and hours run clockwise;
    0 < clock_hour <= 12. Something that faces nowhere faces down the plan.
    """

    from_name: str
    distance: Quantity
    clock_hour: float
    height: Quantity


class OnPlace(msgspec.Struct, frozen=True, tag="on"):
    """On a prop, moved from the middle of its top by (x, y) along the prop's own sides.

    level: of furniture with several boards, the one stood on, counted from the lowest as 1; None:
    where one usually puts things down on it.
    """

    on: str
    offset: tuple[Quantity, Quantity]
    level: int | None = None


class WallPlace(msgspec.Struct, frozen=True, tag="wall"):
    """On a wall's inside: wall N runs from corner N to corner N+1, counted from 1.

    room: the room whose wall it is (None: the scene's own).
    """

    wall: int
    along: Quantity
    height: Quantity
    room: str | None = None


class NamedPlace(msgspec.Struct, frozen=True, tag="named"):
    """One of a subject's named places (SUBJECT_PLACES); in readings only.

    read_document always gives a place; without one it is the middle of something named.
    """

    name: str
    place: str | None = None


Place: TypeAlias = PointPlace | RelativePlace | OnPlace | WallPlace
ReadingPlace: TypeAlias = PointPlace | RelativePlace | OnPlace | WallPlace | NamedPlace

SUBJECT_PLACES = (
    "face",
    "cheek_key",
    "cheek_shadow",
    "cheek_left",
    "cheek_right",
    "forehead",
    "chin",
    "eye_left",
    "eye_right",
    "hair_edge_left",
    "hair_edge_right",
    "chest",
)


# Aims ------------------------------------------------------------------------------------


class PointAim(msgspec.Struct, frozen=True, tag="point"):
    """At a point of the room, in metres."""

    x: Quantity
    y: Quantity
    z: Quantity


class PlaceAim(msgspec.Struct, frozen=True, tag="place"):
    """At a spot that is told as a place is: from something, on a prop, or on a wall."""

    at: RelativePlace | OnPlace | WallPlace


class NamedAim(msgspec.Struct, frozen=True, tag="named"):
    """At the middle of something named, or at one of a subject's named places."""

    name: str
    place: str | None = None


class DownAim(msgspec.Struct, frozen=True, tag="down"):
    """Straight down."""


class CameraAim(msgspec.Struct, frozen=True, tag="camera"):
    """At the camera of the setup; in readings only."""


class SquareAim(msgspec.Struct, frozen=True, tag="square"):
    """Square to the surface it is read on; in readings only."""


Aim: TypeAlias = PointAim | PlaceAim | NamedAim | DownAim
ReadingAim: TypeAlias = PointAim | PlaceAim | NamedAim | DownAim | CameraAim | SquareAim
