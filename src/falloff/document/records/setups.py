"""Cameras, setups, readings, targets, what was measured, and the house's power."""

from __future__ import annotations

from typing import Literal

import msgspec

from falloff.constants import USUAL_HIGHLIGHT_STOPS, USUAL_SHADOW_STOPS
from falloff.document.records.places import Aim, Place, Quantity, ReadingAim, ReadingPlace


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


class Setup(msgspec.Struct, frozen=True, kw_only=True):
    """A camera with its exposure and the dims; a light not named in `dims` is at 100 %.

    like: the setup this one was written as differing from; what it left out is filled in already.
    moved: props, subjects, fixtures, practicals, grip that stand elsewhere in this setup;
    without: those that are not there at all. at: when it is shot, as written: a time of the sky's
    own date, or a date and a time; None: at the sky's own hour.
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


class Target(msgspec.Struct, frozen=True, kw_only=True):
    """A reading one wants: `level` in stops over key, or over another reading.

    over: name of the reading it is told against (None: key). limit: whether it is to be met, or
    not to be passed upward or downward. tolerance in stops, weight a pure number above 0.
    """

    reading: str
    level: Quantity
    over: str | None = None
    limit: Literal["equal", "at most", "at least"] = "equal"
    tolerance: Quantity = Quantity(1.0 / 3.0, "1/3 stop")
    weight: float = 1.0


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
