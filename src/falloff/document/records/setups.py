"""Cameras, setups, readings, targets, what was measured, and the house's power."""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

from falloff.constants import USUAL_HIGHLIGHT_STOPS, USUAL_SHADOW_STOPS
from falloff.document.records.places import Aim, Place, Quantity, ReadingAim, ReadingPlace

Limit: TypeAlias = Literal["equal", "at most", "at least"]


class Camera(msgspec.Struct, frozen=True, kw_only=True):
    """Where the camera's entrance pupil stands, what it looks at, its lens and gate."""

    at: Place
    aim: Aim
    lens: Quantity  # m, focal length
    gate: tuple[Quantity, Quantity]  # m, width and height
    aspect: Quantity | None = None  # width over height of the frame cut from the gate


class Moved(msgspec.Struct, frozen=True, kw_only=True):
    """Another place, aim or facing of something in one setup; None keeps what it has."""

    at: Place | None = None
    aim: Aim | None = None
    facing: Quantity | str | None = None


class CameraFreedom(msgspec.Struct, frozen=True, kw_only=True):
    """What may be changed of a setup's exposure; None or empty: that stays as it is written.

    stop: the widest and the narrowest that the lens and the wanted depth of field allow; iso, nd
    (stops): those that the camera and the filter case have.
    """

    stop: tuple[Quantity, Quantity] | None = None
    iso: tuple[float, ...] = ()
    nd: tuple[Quantity, ...] = ()


class Setup(msgspec.Struct, frozen=True, kw_only=True):
    """A camera with its exposure and the dims; a light not named in `dims` is at 100 %.

    like: the setup this one was written as differing from; what it left out is filled in already.
    moved: props, subjects, fixtures, practicals, grip that stand elsewhere in this setup;
    without: those that are not there at all. at: when it is shot, as written: a time of the sky's
    own date, or a date and a time; None: at the sky's own hour. free: what of its exposure may be
    chosen to bring targets in.
    """

    like: str | None = None
    camera: str
    stop: Quantity  # T- or f-number as written: 2.8 is 2.8
    iso: float
    fps: Quantity = Quantity(24.0, "24 fps")  # frames a second
    shutter: Quantity  # s, exposure time of one frame
    nd: Quantity = Quantity(0.0, "0 stops")  # stops taken away
    balance: Quantity | None = None  # K, white balance
    meter_constant: float = 250.0  # lx·s, ISO 2720's C
    highlight: Quantity = Quantity(USUAL_HIGHLIGHT_STOPS, "6 stops")  # stops above middle grey
    shadow: Quantity = Quantity(USUAL_SHADOW_STOPS, "6 stops")  # stops below middle grey
    dims: dict[str, Quantity] = {}  # fraction 0..1
    key: str | None = None  # name of a reading
    moved: dict[str, Moved] = {}
    without: tuple[str, ...] = ()
    at: str | None = None
    free: CameraFreedom | None = None


class ReadingWanted(msgspec.Struct, frozen=True, kw_only=True):
    """A reading asked for: where, with what, and which way the receptor faces.

    Exactly one of `normal` (need not be of unit length) and `aim` is given. Left out of the file,
    a flat receptor is square to its surface (on a prop: normal straight up), a dome or a spot
    looks at the camera. to: the far end of a walk, or the far corner of an area on a surface, that
    is taken at so many points: (n,) along a walk, (columns, rows) over an area; None: one point.
    """

    at: ReadingPlace
    to: ReadingPlace | None = None
    points: tuple[int, ...] = ()
    instrument: Literal["flat", "dome", "spot"] = "flat"
    normal: tuple[float, float, float] | None = None
    aim: ReadingAim | None = None


class Profile(msgspec.Struct, frozen=True, kw_only=True):
    """A round beam: relative intensity at angles from its axis, ascending from 0; rad."""

    angles: tuple[Quantity, ...]
    relative: tuple[float, ...]


class _Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What every target has: how much it counts against others, and where it is wanted.

    weight: a pure number above 0; setups: those that it is wanted in, none: all of them.
    """

    weight: float = 1.0
    setups: tuple[str, ...] = ()


class Target(_Wanted, frozen=True, kw_only=True, tag="level"):
    """A level one wants: in stops over key, or over another reading; spots over middle grey.

    over: name of the reading it is told against (None: key). limit: whether it is to be met, or
    not to be passed upward or downward. tolerance in stops. A ratio is written as such and is a
    level here: `level` keeps its text, its stops are those of the first reading over the second.
    """

    reading: str
    level: Quantity
    over: str | None = None
    limit: Limit = "equal"
    tolerance: Quantity = Quantity(1.0 / 3.0, "1/3 stop")


class ValueTarget(_Wanted, frozen=True, kw_only=True, tag="value"):
    """A level one wants as the meter's own number: lx, or cd/m² of a spot reading."""

    reading: str
    value: Quantity
    limit: Limit = "equal"
    tolerance: Quantity = Quantity(1.0 / 3.0, "1/3 stop")


class EvenTarget(_Wanted, frozen=True, kw_only=True, tag="even"):
    """Readings that lie within so many stops of one another, the most over the least.

    readings: two names or more, or one that is taken along a walk or over an area.
    """

    readings: tuple[str, ...]
    within: Quantity


class ColourTarget(_Wanted, frozen=True, kw_only=True, tag="colour"):
    """The colour of the light at a reading: on the line of hot bodies and daylight, and off it.

    colour: K; or mired: more than at the reading `over` (below nought: cooler); one of the two.
    tolerance in mired. green: how far from that line, in CC of green (magenta below nought), with
    its tolerance; None where it does not matter.
    """

    reading: str
    colour: Quantity | None = None
    mired: float | None = None
    over: str | None = None
    tolerance: float = 30.0
    green: float | None = None
    green_tolerance: float = 10.0


class HueTarget(_Wanted, frozen=True, kw_only=True, tag="hue"):
    """The hue of an accent at a reading, as the camera's white balance has it.

    hue: the angle h_uv of CIE 15 about the white of the setup's balance (rad, 0 towards red);
    tolerance (rad); saturation: the least s_uv it is to have, a pure number.
    """

    reading: str
    hue: Quantity
    tolerance: Quantity = Quantity(0.2617993877991494, "15 deg")
    saturation: float = 0.3


class KeepTarget(_Wanted, frozen=True, kw_only=True, tag="keep"):
    """A reading that is to stay what it is as the scene is written; tolerance in stops."""

    reading: str
    tolerance: Quantity = Quantity(1.0 / 3.0, "1/3 stop")


AnyTarget: TypeAlias = Target | ValueTarget | EvenTarget | ColourTarget | HueTarget | KeepTarget


class Measured(msgspec.Struct, frozen=True, kw_only=True):
    """What a meter said on the day, of a reading the scene names: lx, or cd/m² for a spot.

    lit: the sources that were on, windows and practicals among them (None: as in the setup);
    at_time: an aware time as ISO 8601 text (None: not noted).
    """

    reading: str
    value: Quantity
    setup: str | None = None
    lit: tuple[str, ...] | None = None
    at_time: str | None = None


class Circuit(msgspec.Struct, frozen=True, kw_only=True):
    """One circuit of the house: its breaker (A) and where its sockets are, in words."""

    breaker: Quantity
    sockets: str = ""


class HousePower(msgspec.Struct, frozen=True, kw_only=True):
    """The supply: volts, and the circuits the crew may plug into."""

    supply: Quantity
    circuits: dict[str, Circuit] = {}
