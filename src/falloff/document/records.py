"""What a scene document says, as frozen records: names as written, numbers in SI beside them.

Nothing is placed or computed here. `Quantity.si` is in metres, radians, kelvin, lumens, lux,
watts, seconds, stops or a fraction, as the field's own line says. Field names are the keys of
the scene file, but for `from` and `clock`, which become `from_name` and `clock_hour`, and for
`shape`, `light` and the places and aims, which become records of their own.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal, TypeAlias

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
    """On top of a prop, moved from the middle of its top by (x, y) along the prop's own sides."""

    on: str
    offset: tuple[Quantity, Quantity]


class WallPlace(msgspec.Struct, frozen=True, tag="wall"):
    """On a wall's inside: wall N runs from corner N to corner N+1, counted from 1."""

    wall: int
    along: Quantity
    height: Quantity


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


Aim: TypeAlias = PointAim | NamedAim | DownAim
ReadingAim: TypeAlias = PointAim | NamedAim | DownAim | CameraAim | SquareAim


# The room --------------------------------------------------------------------------------


class Room(msgspec.Struct, frozen=True, kw_only=True):
    """Corners in metres, counter-clockwise seen from above, not repeated at the end."""

    floor: tuple[tuple[Quantity, Quantity], ...]
    height: Quantity  # m
    wall_thickness: Quantity = Quantity(0.2, "0.2 m")  # m
    floor_surface: str
    ceiling_surface: str
    wall_surface: str
    wall_surfaces: dict[int, str] = {}  # by wall, counted from 1


class Opening(msgspec.Struct, frozen=True, kw_only=True):
    """A window in wall `wall` (from 1), `along` metres from the wall's first corner."""

    wall: int
    along: Quantity  # m, from the first corner to the near side of the opening
    width: Quantity  # m
    sill: Quantity  # m above the floor
    height: Quantity  # m, of the opening itself
    bars: tuple[int, int] | None = None  # columns and rows of panes
    bar_width: Quantity = Quantity(0.04, "4 cm")  # m
    bar_surface: str = "white paint"


class Material(msgspec.Struct, frozen=True, kw_only=True):
    """Luminous reflectance 0..1, with a tint as relative linear BT.2020 R, G, B (None: grey)."""

    reflectance: float
    tint: tuple[float, float, float] | None = None


class Sky(msgspec.Struct, frozen=True, kw_only=True):
    """The light outside: `outside` is the horizontal illuminance under the open sky."""

    type: Literal["overcast"]
    outside: Quantity  # lx
    colour: Quantity = Quantity(6500.0, "6500 K")  # K
    ground: float = 0.2  # reflectance


# What stands in it -----------------------------------------------------------------------


class Box(msgspec.Struct, frozen=True, tag="box"):
    """Sides along its own x, y and z, in metres; z is up."""

    size: tuple[Quantity, Quantity, Quantity]


class Cylinder(msgspec.Struct, frozen=True, tag="cylinder"):
    """Upright, in metres."""

    diameter: Quantity
    height: Quantity


class Prop(msgspec.Struct, frozen=True, kw_only=True):
    """A solid thing; `at` is the centre of its base, `turn` counter-clockwise on the plan."""

    shape: Box | Cylinder
    at: Place
    turn: Quantity = Quantity(0.0, "0 deg")  # rad
    surface: str


class Subject(msgspec.Struct, frozen=True, kw_only=True):
    """A person; `facing` is an angle counter-clockwise from +x (rad) or a name looked at."""

    figure: str
    at: Place
    facing: Quantity | str
    skin: float  # luminous reflectance 0..1
    skin_tint: tuple[float, float, float] | None = None
    hair: str
    top: str
    trousers: str
    shoes: str = "black leather"
    seat: str | None = None  # material of a plain stool under a seated figure


class SoftBox(msgspec.Struct, frozen=True, tag="soft box"):
    """A rectangle of evenly lit cloth, (width, height), on a closed body; metres."""

    size: tuple[Quantity, Quantity]
    depth: Quantity


class OpenFace(msgspec.Struct, frozen=True, tag="open face"):
    """A round mouth that throws a named beam profile; metres."""

    profile: str
    aperture: Quantity  # m, diameter


class Globe(msgspec.Struct, frozen=True, tag="globe"):
    """An evenly lit ball; metres."""

    diameter: Quantity


class Fixture(msgspec.Struct, frozen=True, kw_only=True):
    """A light that the crew brings; `at` is the centre of its front, where the light leaves."""

    light: SoftBox | OpenFace
    output: Quantity  # lm, all of what leaves the front at 100 %
    colour: Quantity  # K
    power: Quantity | None = None  # W, electrical
    at: Place
    aim: Aim
    stand: bool = False


class Practical(msgspec.Struct, frozen=True, kw_only=True):
    """A light in shot; `at` is its centre."""

    light: Globe
    output: Quantity  # lm at 100 %
    colour: Quantity  # K
    power: Quantity | None = None  # W, electrical
    at: Place


class Grip(msgspec.Struct, frozen=True, kw_only=True):
    """A flat panel (width, height) in metres; `at` is its centre, `aim` what its face looks at."""

    kind: Literal["solid", "bounce"]
    size: tuple[Quantity, Quantity]
    at: Place
    aim: Aim
    surface: str
    stand: bool = False


# Cameras, setups, readings ---------------------------------------------------------------


class Camera(msgspec.Struct, frozen=True, kw_only=True):
    """Where the camera's entrance pupil stands, what it looks at, its lens and gate."""

    at: Place
    aim: Aim
    lens: Quantity  # m, focal length
    gate: tuple[Quantity, Quantity]  # m, width and height
    aspect: Quantity | None = None  # width over height of the frame cut from the gate


class Setup(msgspec.Struct, frozen=True, kw_only=True):
    """A camera with its exposure and the dims; a light not named in `dims` is at 100 %."""

    camera: str
    stop: Quantity  # T- or f-number as written: 2.8 is 2.8
    iso: float
    fps: Quantity = Quantity(24.0, "24 fps")  # frames a second
    shutter: Quantity  # s, exposure time of one frame
    nd: Quantity = Quantity(0.0, "0 stops")  # stops taken away
    balance: Quantity | None = None  # K, white balance
    meter_constant: float = 250.0  # lx·s, ISO 2720's C
    highlight: Quantity = Quantity(5.0, "5 stops")  # stops above middle grey
    shadow: Quantity = Quantity(6.0, "6 stops")  # stops below middle grey
    dims: dict[str, Quantity] = {}  # fraction 0..1
    key: str | None = None  # name of a reading


class ReadingWanted(msgspec.Struct, frozen=True, kw_only=True):
    """A reading asked for: where, with what, and which way the receptor faces.

    Exactly one of `normal` (need not be of unit length) and `aim` is given. Left out of the file,
    a flat receptor is square to its surface (on a prop: normal straight up), a dome or a spot
    looks at the camera.
    """

    at: ReadingPlace
    instrument: Literal["flat", "dome", "spot"] = "flat"
    normal: tuple[float, float, float] | None = None
    aim: ReadingAim | None = None


class Profile(msgspec.Struct, frozen=True, kw_only=True):
    """A round beam: relative intensity at angles from its axis, ascending from 0; rad."""

    angles: tuple[Quantity, ...]
    relative: tuple[float, ...]


# The whole -------------------------------------------------------------------------------


class Positions(msgspec.Struct, frozen=True):
    """Where every key and value was written: JSON pointer -> (line, column), both from 1."""

    at: dict[str, tuple[int, int]]

    def has(self, key_path: KeyPath) -> bool:
        """Whether the document itself says this, rather than a default."""
        return pointer(key_path) in self.at

    def position_of(self, key_path: KeyPath) -> tuple[int, int]:
        """Line and column of a key path, or of the nearest part of it that was written."""
        for depth in range(len(key_path), -1, -1):
            found = self.at.get(pointer(key_path[:depth]))
            if found is not None:
                return found
        return (1, 1)


class SceneDocument(msgspec.Struct, frozen=True, kw_only=True):
    """A scene as written: room, subjects, fixtures, cameras, setups and readings."""

    path: str
    version: int
    title: str
    units: Literal["metric", "imperial"]
    room: Room
    openings: dict[str, Opening] = {}
    materials: dict[str, Material] = {}
    sky: Sky | None = None
    props: dict[str, Prop] = {}
    subjects: dict[str, Subject] = {}
    fixtures: dict[str, Fixture] = {}
    practicals: dict[str, Practical] = {}
    grip: dict[str, Grip] = {}
    cameras: dict[str, Camera] = {}
    setups: dict[str, Setup] = {}
    readings: dict[str, ReadingWanted] = {}
    profiles: dict[str, Profile] = {}
    seen: Positions
    checksum: str  # SHA-256 of the file's bytes as read, in hex

    @property
    def file_name(self) -> str:
        """The document's own file name, without its folder."""
        return Path(self.path).name

    def position_of(self, key_path: KeyPath) -> tuple[int, int]:
        """Line and column (from 1) of a key path such as ("fixtures", "KEY", "at")."""
        return self.seen.position_of(key_path)


def pointer(key_path: KeyPath) -> str:
    """A key path as a JSON pointer (RFC 6901): ("room", "floor", 0) -> "/room/floor/0"."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in key_path)


def key_path_text(key_path: KeyPath) -> str:
    """A key path as people read it: ("room", "floor", 0) -> "room.floor[0]"."""
    parts = (f"[{part}]" if isinstance(part, int) else f".{part}" for part in key_path)
    return "".join(parts).removeprefix(".")
