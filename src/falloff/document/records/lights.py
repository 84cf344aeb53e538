"""What gives light: the forms of fixtures and practicals, and what all of them have."""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

from falloff.document.records.places import Aim, Place, Quantity
from falloff.document.records.things import GivenFabric

FrontShape: TypeAlias = Literal["rectangle", "round", "octagon"]
Crate: TypeAlias = Quantity | float | None  # its cut-off from straight ahead (rad), or depth/width
DimCurveName: TypeAlias = Literal["linear", "square-law", "S-curve"]


class SoftBox(msgspec.Struct, frozen=True, tag="soft box"):
    """A front of evenly lit cloth, (width, height), on a closed body; metres.

    crate: of an egg crate before it, the angle from straight ahead past which nothing of the cloth
    is seen (rad), or how many times as deep as wide its cells are; None without one.
    """

    size: tuple[Quantity, Quantity]
    depth: Quantity
    shape: FrontShape = "rectangle"
    crate: Crate = None


class LightPanel(msgspec.Struct, frozen=True, tag="panel"):
    """A flat front that shines evenly, (width, height), depth; metres; crate as of a soft box."""

    size: tuple[Quantity, Quantity]
    depth: Quantity = Quantity(0.04, "4 cm")
    shape: FrontShape = "rectangle"
    crate: Crate = None


class BookLight(msgspec.Struct, frozen=True, tag="book light"):
    """A head into a bounce board and back through a frame of cloth: the cloth shines evenly.

    size: of cloth and board (width, height); opening: how far apart they stand at the open side
    (m). The two meet at the side away from the head; the back of the board is black.
    """

    size: tuple[Quantity, Quantity]
    opening: Quantity = Quantity(0.9, "90 cm")


class Barndoors(msgspec.Struct, frozen=True, kw_only=True):
    """Four opaque leaves round a mouth: how far each opens from straight ahead (rad).

    Left and right as seen from behind the light; None where there is no leaf. length: of each from
    its hinge (m), 0.9 of the mouth if None.
    """

    top: Quantity | None = None
    bottom: Quantity | None = None
    left: Quantity | None = None
    right: Quantity | None = None
    length: Quantity | None = None


class OpenFace(msgspec.Struct, frozen=True, tag="open face"):
    """A round mouth that throws a named beam profile, or a beam of some angle; metres, rad.

    One of profile and beam is given; beam: full angle at half intensity.
    """

    profile: str | None = None
    aperture: Quantity = Quantity(0.12, "12 cm")  # m, diameter
    beam: Quantity | None = None
    barndoors: Barndoors | None = None


class FresnelLight(msgspec.Struct, frozen=True, tag="fresnel"):
    """A round lens focused to a beam between its spot and its flood, full angles (rad)."""

    aperture: Quantity  # m, diameter
    beam: Quantity
    spot: Quantity = Quantity(0.17453292519943295, "10 deg")
    flood: Quantity = Quantity(1.0471975511965976, "60 deg")
    barndoors: Barndoors | None = None


class GateShutter(msgspec.Struct, frozen=True, kw_only=True):
    """One shutter of a profile spot: how far across the gate it is in, and its tilt.

    depth: 0..1; tilt: of its edge, counter-clockwise as seen from behind the light (rad).
    """

    depth: Quantity
    tilt: Quantity = Quantity(0.0, "0 deg")


class GateShutters(msgspec.Struct, frozen=True, kw_only=True):
    """The four shutters by where they stand in the gate, left and right from behind; None: out.

    The lens turns the image over, so that the top one cuts the bottom of the beam.
    """

    top: GateShutter | None = None
    bottom: GateShutter | None = None
    left: GateShutter | None = None
    right: GateShutter | None = None


class ProfileSpotLight(msgspec.Struct, frozen=True, tag="profile spot"):
    """An even field with an edge and four shutters; edge: its width over half the beam, 0..1."""

    aperture: Quantity  # m, diameter of its lens
    beam: Quantity  # rad, full angle at half intensity
    edge: Quantity = Quantity(0.0, "0 %")
    shutters: GateShutters | None = None


class TubeLight(msgspec.Struct, frozen=True, tag="tube"):
    """A tube that shines evenly all round, square to its aim and level unless rolled; metres."""

    length: Quantity
    diameter: Quantity


class Lantern(msgspec.Struct, frozen=True, tag="lantern"):
    """A ball of cloth that shines all round; metres."""

    diameter: Quantity


class WebFile(msgspec.Struct, frozen=True, tag="file"):
    """Light as a photometric file beside the scene has it; lamp_set counts from 1."""

    file: str
    lamp_set: int = 1


class KitLight(msgspec.Struct, frozen=True, tag="kit"):
    """A fixture of the kit, with modifiers from the head outward; what is given overrides it.

    beam: one of its ways of use by name, or for a lens that focuses the full angle (rad); size: of
    its front (m). None where the kit's own is meant.
    """

    kit: str
    modifier: tuple[str, ...] = ()
    beam: str | Quantity | None = None
    size: tuple[Quantity, Quantity] | None = None
    depth: Quantity | None = None
    crate: Crate = None
    edge: Quantity | None = None
    shutters: GateShutters | None = None
    barndoors: Barndoors | None = None


class Globe(msgspec.Struct, frozen=True, tag="globe"):
    """An evenly lit ball; metres."""

    diameter: Quantity


class Shade(msgspec.Struct, frozen=True, kw_only=True):
    """A lampshade open above and below: diameters and height (m), its fabric as of a frame."""

    top: Quantity
    bottom: Quantity
    height: Quantity
    fabric: str | GivenFabric


class ShadedBulb(msgspec.Struct, frozen=True, tag="bulb in shade"):
    """A small bright ball in the middle of a shade; metres."""

    shade: Shade
    diameter: Quantity = Quantity(0.06, "6 cm")


class Screen(msgspec.Struct, frozen=True, tag="screen"):
    """A picture tube or panel that shines evenly, (width, height), metres; luminance in cd/m².

    luminance None: its output is given.
    """

    size: tuple[Quantity, Quantity]
    depth: Quantity = Quantity(0.05, "5 cm")
    luminance: Quantity | None = None


class Candle(msgspec.Struct, frozen=True, tag="candle"):
    """A flame as a small ball; metres."""

    diameter: Quantity = Quantity(0.02, "2 cm")


class GelFigures(msgspec.Struct, frozen=True, kw_only=True):
    """A gel by its figures: mired added, green in full green gels (magenta below 0), stops lost."""

    mired: float = 0.0
    green: float = 0.0
    loss: Quantity = Quantity(0.0, "0 stops")


class _GivesLight(msgspec.Struct, frozen=True, kw_only=True):
    """What fixtures and practicals share; output and colour None where the kit or a file tells.

    colour: K; duv: distance from the line of hot bodies where told; xy: CIE 1931 chromaticity in
    place of both. gels: from the light outward. dimming: the curve from the knob to the light,
    None: the kit's own, or linear; warms: whether it goes warm as a filament does when dimmed,
    None: as the kit says, or not.
    """

    output: Quantity | None = None  # lm, all of what leaves the front at 100 %, before gels
    colour: Quantity | None = None  # K
    duv: float | None = None
    xy: tuple[float, float] | None = None
    gels: tuple[str | GelFigures, ...] = ()
    dimming: DimCurveName | None = None
    warms: bool | None = None
    power: Quantity | None = None  # W, electrical
    circuit: str | None = None


class Fixture(_GivesLight, frozen=True, kw_only=True):
    """A light that the crew brings; `at` is the centre of its front, where the light leaves.

    aim: None for what shines all round; roll: turn about its aim, clockwise as seen from behind
    it (rad); outside: it stands outside the rooms and shines in through an opening.
    """

    light: (
        SoftBox
        | LightPanel
        | BookLight
        | OpenFace
        | FresnelLight
        | ProfileSpotLight
        | TubeLight
        | Lantern
        | WebFile
        | KitLight
    )
    at: Place
    aim: Aim | None = None
    roll: Quantity = Quantity(0.0, "0 deg")
    stand: bool = False
    outside: bool = False


class Practical(_GivesLight, frozen=True, kw_only=True):
    """A light in shot; `at` is the centre of what shines all round, or of a front, with an aim."""

    light: Globe | LightPanel | TubeLight | ShadedBulb | Screen | Candle | KitLight
    at: Place
    aim: Aim | None = None
    roll: Quantity = Quantity(0.0, "0 deg")
