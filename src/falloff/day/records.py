"""What a day holds: every reading by the hour, when targets hold, where the sun falls.

Times are aware, in the location's zone. Levels are stops over key, or over middle grey for a spot.
"""

from __future__ import annotations

from datetime import datetime

import msgspec

from falloff.findings import Finding


class HourLevel(msgspec.Struct, frozen=True):
    """One reading at one moment: lux, or cd/m² of a spot, and stops; low and high of the spread.

    stops are None where there is no light at all; sun: the sun's own straight part, lux or cd/m².
    """

    value: float
    low: float
    high: float
    stops: float | None
    low_stops: float | None
    high_stops: float | None
    sun: float = 0.0


class SunPatch(msgspec.Struct, frozen=True, kw_only=True):
    """Sun on one surface: area it covers (m²), its share of all sun that comes in.

    outlines: on level surfaces, closed lines (x, y) on the plan, m; height_m: of that surface.
    """

    surface: str
    area_m2: float
    share: float
    height_m: float | None = None
    outlines: tuple[tuple[tuple[float, float], ...], ...] = ()

    @property
    def of_opening(self) -> bool:
        """Whether it lies on a window's own reveal, frame or sill, where sun tells nobody much."""
        return self.surface.endswith((" reveal", " frame", " sill"))


class ViewLevel(msgspec.Struct, frozen=True, kw_only=True):
    """What is seen of the outside through one opening, in a camera's frame.

    nit: its mean luminance in the picture (cd/m²); over_grey: stops; over_face: stops over grey
    less the face's stops over key, None where the setup has no key reading.
    """

    opening: str
    nit: float
    over_grey: float | None
    over_face: float | None


class DayMoment(msgspec.Struct, frozen=True, kw_only=True):
    """One moment: where the sun stands, what is outside, every reading, the sun's patches.

    sun_altitude_deg: as seen, below zero at night; sky_lux: on open ground without the sun's disc;
    sun_lux: square to the sun, 0 where it is hidden; target_levels: stops, None for no light;
    holds: whether each target does (True, None where the spread leaves it open, False).
    """

    instant: datetime
    sun_altitude_deg: float
    sun_azimuth_deg: float
    sky_lux: float
    sun_lux: float
    sky_kelvin: float
    levels: dict[str, HourLevel]
    target_levels: dict[str, float | None]
    holds: dict[str, bool | None]
    views: tuple[ViewLevel, ...] = ()
    patches: tuple[SunPatch, ...] = ()
    sun_in_frame: bool = False
    sun_on_lens: bool = False


class Stretch(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of time; sure: whether it is so over the whole spread."""

    start: datetime
    end: datetime
    sure: bool = False


class TargetDay(msgspec.Struct, frozen=True, kw_only=True):
    """When a target holds: `asks` in words, stretches in which it does."""

    name: str
    asks: str
    holds: tuple[Stretch, ...]


class NdPull(msgspec.Struct, frozen=True, kw_only=True):
    """A change of ND on the lens, in stops, that keeps the key reading where it is."""

    at: datetime
    before: float
    after: float


class Dusk(msgspec.Struct, frozen=True, kw_only=True):
    """The minutes in which view and face change places.

    start, end: while the view lies between `over` and `under` stops against the face; level: when
    they are alike; stops_a_minute: how fast it goes from there.
    """

    opening: str
    start: datetime | None
    level: datetime | None
    end: datetime | None
    over: float
    under: float
    stops_a_minute: float | None


class ViewFix(msgspec.Struct, frozen=True, kw_only=True):
    """What would bring a view down to so many stops over the face, at the setup's hour.

    gel_stops: of neutral gel on the glass, None where none helps; gel_as_sold: the next that is
    sold; key_loss, room_loss: what it costs the key reading and the room in stops; hour: the next
    time at which it is so by itself; key_gain: stops more light on the face in place of a gel;
    polariser_deg: how far from open a polariser on the lens is turned against polarising film on
    the panes, None where not even near to crossed does it.
    """

    opening: str
    over_face: float
    wanted: float
    gel_stops: float | None
    gel_as_sold: float | None
    key_loss: float | None
    room_loss: float | None
    hour: datetime | None
    key_gain: float
    polariser_deg: float | None = None


class ShotTurn(msgspec.Struct, frozen=True, kw_only=True):
    """One setup's place in the order of the day, and why."""

    setup: str
    stretches: tuple[Stretch, ...]
    why: str


class Countdown(msgspec.Struct, frozen=True, kw_only=True):
    """How long a reading stays within half a stop of what it is at the setup's hour."""

    reading: str
    minutes: float | None  # None where it does till the day is over
    falls: bool


class Day(msgspec.Struct, frozen=True, kw_only=True):
    """A day of one setup.

    events: sunrise and the like by name, None where there is none that day; sun_out: over the
    skyline; sun_in_room: past buildings too, and in through an opening; near_hour: while the
    key reading stays within half a stop of what it is at the setup's hour; findings: of the scene
    and the setup's dims, without what hangs on an hour of the sky.
    """

    scene: str
    setup: str
    camera: str
    place: str
    date: str
    zone: str
    sky: str
    north_deg: float
    exposure: str
    key_lux: float
    key_reading: str | None
    hour: datetime
    events: dict[str, datetime | None]
    always_up: bool
    always_down: bool
    moments: tuple[DayMoment, ...]
    targets: tuple[TargetDay, ...]
    near_hour: tuple[Stretch, ...]
    sun_out: tuple[Stretch, ...] = ()
    sun_in_room: tuple[Stretch, ...] = ()
    sun_in_frame: tuple[Stretch, ...]
    sun_on_lens: tuple[Stretch, ...]
    nd: tuple[NdPull, ...]
    dusk: tuple[Dusk, ...]
    view_fixes: tuple[ViewFix, ...]
    countdowns: tuple[Countdown, ...]
    findings: tuple[Finding, ...] = ()
