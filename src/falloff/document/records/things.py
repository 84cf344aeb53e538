"""What stands in the room: props, people and grip, and the materials they are made of."""

from __future__ import annotations

from typing import Literal

import msgspec

from falloff.document.records.places import Aim, CameraAim, Place, Quantity


class Material(msgspec.Struct, frozen=True, kw_only=True):
    """Luminous reflectance 0..1, with a tint as relative linear BT.2020 R, G, B (None: grey).

    sheen: what a smooth coat gives back at right angles, 0..1; roughness: of that coat, 0..1.
    """

    reflectance: float
    tint: tuple[float, float, float] | None = None
    sheen: float = 0.0
    roughness: float = 0.4


# Props -----------------------------------------------------------------------------------


class Box(msgspec.Struct, frozen=True, tag="box"):
    """Sides along its own x, y and z, in metres; z is up."""

    size: tuple[Quantity, Quantity, Quantity]


class Cylinder(msgspec.Struct, frozen=True, tag="cylinder"):
    """Upright, in metres."""

    diameter: Quantity
    height: Quantity


class MeshFile(msgspec.Struct, frozen=True, tag="mesh"):
    """A mesh read from a file beside the scene: OBJ, PLY, STL, glTF or GLB.

    unit: what one step of its coordinates is; None only for glTF and GLB, which are in metres.
    up: its axis that points up (glTF: y). Its lowest point rests at the prop's place, the middle
    of its plan extent over it.
    """

    file: str
    unit: Literal["m", "cm", "mm", "in", "ft"] | None = None
    up: Literal["y", "z"] | None = None


class Furniture(msgspec.Struct, frozen=True, tag="furniture"):
    """A named piece made by code; the kit knows its parts, usual size and what it can do.

    size: width, depth and height (m; None: the usual one); count: of boards, steps or seats;
    open: how far its door stands open (rad). None where the usual one is meant.
    """

    kind: str
    size: tuple[Quantity, Quantity, Quantity] | None = None
    count: int | None = None
    open: Quantity | None = None


class Prop(msgspec.Struct, frozen=True, kw_only=True):
    """A solid thing; `at` is the centre of its base, `turn` counter-clockwise on the plan.

    Unturned, a piece of furniture looks down the plan (-y), its width along x. surface: of all of
    it, or of its main part; surfaces: of other parts by name (furniture only).
    """

    shape: Box | Cylinder | MeshFile | Furniture
    at: Place
    turn: Quantity = Quantity(0.0, "0 deg")  # rad
    surface: str
    surfaces: dict[str, str] = {}


# People ----------------------------------------------------------------------------------


class Covering(msgspec.Struct, frozen=True, kw_only=True):
    """What is worn on the head, by the kit's name, and its material."""

    kind: str
    surface: str


class Subject(msgspec.Struct, frozen=True, kw_only=True):
    """A person; `facing` is an angle counter-clockwise from +x (rad) or a name looked at.

    skin: luminous reflectance 0..1, or one of the kit's words for skin. gaze: what head and eyes
    turn to; None looks straight ahead. hair_style: one of the figure's (None: its own), covering:
    what is worn on the head; spectacles: the material of their frame (None: none worn).
    """

    figure: str
    at: Place
    facing: Quantity | str
    gaze: Aim | CameraAim | None = None
    skin: float | str
    skin_tint: tuple[float, float, float] | None = None
    hair: str
    hair_style: str | None = None
    covering: Covering | None = None
    spectacles: str | None = None
    top: str
    trousers: str
    shoes: str = "black leather"
    seat: str | None = None  # material of a plain stool under a seated figure


# Grip ------------------------------------------------------------------------------------


class GivenFabric(msgspec.Struct, frozen=True, kw_only=True):
    """What a cloth does with light: shares passed straight, passed scattered, given back, 0..1.

    reflected None: three quarters of what is not let through.
    """

    straight: float
    scattered: float
    reflected: float | None = None


class Grip(msgspec.Struct, frozen=True, kw_only=True):
    """A flat panel (width, height) in metres; `at` is its centre, `aim` what its face looks at.

    surface: of a solid or a bounce; fabric: of a frame, by the kit's name or as given; loss: of a
    net, in stops; reflectance: of a mirror.
    """

    kind: Literal["solid", "bounce", "frame", "net", "mirror"]
    size: tuple[Quantity, Quantity]
    at: Place
    aim: Aim
    surface: str = ""
    fabric: str | GivenFabric | None = None
    loss: Quantity | None = None  # stops
    reflectance: float | None = None
    stand: bool = False
