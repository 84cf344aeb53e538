"""The light outside a scene: at an hour, or as its readings say it, and what stands out there."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np

from falloff.daylight import (
    TRADITIONAL_OVERCAST,
    Daylight,
    Location,
    OutsideLight,
    SunPlace,
    air_mass,
    general_sky,
    overcast_sky,
    without_sun,
)
from falloff.document import SceneDocument, Sky, has_sun, instant_of, read_instant
from falloff.sources import Outlook, above_skyline, opening_illuminance
from falloff.spectrum import colour_of_kelvin
from falloff.stage.openings import SkyHole
from falloff.stage.outlooks import outlook_of, skyline_of
from falloff.stage.places import Placer
from falloff.types import Float32Array, Float64Array
from falloff.units import Lux

UNIFORM: Final = 5
_CLEAR = 12
KINDS: Final = {
    "overcast": TRADITIONAL_OVERCAST,
    "uniform": UNIFORM,
    "clear": _CLEAR,
    **{str(kind): kind for kind in range(1, 16)},
}
# What a sky known by its number in ISO 15469 is called when its hour is to say how light it is.
_WORDS: Final = {
    **dict.fromkeys(("uniform", "1", "2", "3", "4", "5", "6"), "overcast"),
    **dict.fromkeys(("7", "8", "9", "10"), "broken cloud"),
    **dict.fromkeys(("11", "12", "13", "14", "15"), "clear"),
}
USUAL_TURBIDITY: Final = 3.0
_LEAST_CHANNEL: Final = np.float32(2e-3)  # of a colour of luminance 1
SAID_KELVIN: Final = 6500.0  # of a sky that is said by a reading and has no hour
SAID_SUN_KELVIN: Final = 5400.0
_SUN_OUTSIDE_AIR_LUX: Final = 133_800.0  # from memory


@dataclass(frozen=True, slots=True)
class Spread:
    """Factors between which a level is to be expected; 1 and 1 once a meter has said it."""

    low: float = 1.0
    high: float = 1.0


@dataclass(frozen=True, slots=True)
class Outdoors:
    """The light outside at one moment, and what hides part of the sky.

    outlook_in_shade: as it looks without the sun; sky_colour, sun_colour: (3,) working space,
    luminance 1; toward_sun: unit, below the horizon at night; word: of the sky; sky_spread,
    sun_spread: of the levels; instant: None where the scene has no hour.
    """

    daylight: Daylight
    outlook: Outlook
    outlook_in_shade: Outlook
    sky_colour: Float32Array
    sun_colour: Float32Array
    toward_sun: Float64Array
    word: str
    sky_spread: Spread = Spread()
    sun_spread: Spread = Spread()
    instant: datetime | None = None
    sky_kelvin: float = SAID_KELVIN


def outdoors_of(placer: Placer, holes: tuple[SkyHole, ...]) -> Outdoors:
    """The light outside at the scene's own hour, or as it is said where there is none."""
    instant = instant_of(placer.document)
    if instant is not None:
        return Weather(placer, holes).at(instant)
    sky = _sky_of(placer)
    sun = sky.sun
    colour = SAID_KELVIN if sky.colour is None else sky.colour.si
    sunny = SAID_SUN_KELVIN if sun is None or sun.colour is None else sun.colour.si
    shape = _Shape(KINDS[sky.type], _said_altitude(sky), _said_turn(sky), sun_normal_lux(sky), sky)
    daylight = _said_daylight(placer, shape, holes)
    return Outdoors(
        daylight,
        outlook_of(placer, daylight),
        outlook_of(placer, without_sun(daylight)),
        _kelvin(colour),
        _kelvin(sunny),
        toward_sun(sky),
        sky.type,
    )


class Weather:
    """What a scene's sky brings at any hour: from models, scaled by what a meter read at one."""

    def __init__(self, placer: Placer, holes: tuple[SkyHole, ...]) -> None:
        self._placer, self._holes = placer, holes
        self._sky = _sky_of(placer)
        self._where = place_of(placer.document)
        self._skyline = skyline_of(placer)
        self._factors: tuple[float, float] | None = None

    def at(self, instant: datetime, word: str | None = None) -> Outdoors:
        """The light outside at an aware instant, under the scene's sky or one of another word.

        A meter's reading speaks of the sky that it was taken under: another one is as expected.
        """
        sky, own = self._sky, word is None or word == self._sky.type
        shape, expected = self._expected(instant, sky.type if word is None else word)
        sky_factor, sun_factor = self._anchors() if own else (1.0, 1.0)
        sky_lux = sky_factor * expected.sky_horizontal_lux
        shape = replace(shape, sun_normal_lux=sun_factor * shape.sun_normal_lux)
        daylight = shape.daylight(horizontal_lux=sky_lux)
        sun = sky.sun
        anchored = Spread()
        return Outdoors(
            daylight,
            outlook_of(self._placer, daylight, self._skyline),
            outlook_of(self._placer, without_sun(daylight), self._skyline),
            _kelvin(sky.colour.si)
            if sky.colour is not None and own
            else _never_nought(expected.sky_rgb),
            _kelvin(sun.colour.si)
            if sun is not None and sun.colour is not None and own
            else _never_nought(expected.sun_rgb),
            shape.toward_sun(),
            sky.type if word is None else word,
            anchored
            if own and self._sky_is_read()
            else Spread(expected.sky_low, expected.sky_high),
            anchored
            if own and self._sun_is_read()
            else Spread(expected.sun_low, expected.sun_high),
            instant,
            sky.colour.si if sky.colour is not None and own else expected.sky_kelvin,
        )

    def _expected(self, instant: datetime, type_: str) -> tuple[_Shape, OutsideLight]:
        from falloff.daylight import moon_place, outside_light, sun_place

        sky = self._sky
        place = sun_place(self._where, instant)
        word = _WORDS.get(type_, type_)
        expected = outside_light(
            word,
            place,
            turbidity=USUAL_TURBIDITY if sky.sun is None else sky.sun.turbidity,
            height_m=self._where.height_m,
            moon=moon_place(self._where, instant),
        )
        turn = sky.north.si - place.azimuth_rad
        kind = KINDS[type_] if type_ in _WORDS else expected.kind
        shape = _Shape(kind, place.altitude_rad, turn, expected.sun_normal_lux, sky)
        if not above_skyline(self._skyline, shape.toward_sun()[None])[0]:
            shape = replace(shape, sun_normal_lux=0.0)
        return shape, expected

    def _sky_is_read(self) -> bool:
        sky = self._sky
        return not (sky.outside is None and sky.zenith is None and sky.at_glass is None)

    def _sun_is_read(self) -> bool:
        return self._sky.sun is not None and self._sky.sun.illuminance is not None

    def _anchors(self) -> tuple[float, float]:
        """What readings at the scene's own hour are over what is expected then: sky and sun."""
        if self._factors is None:
            self._factors = self._read_anchors()
        return self._factors

    def _read_anchors(self) -> tuple[float, float]:
        sky, instant = self._sky, read_instant(self._placer.document)
        if instant is None or not (self._sky_is_read() or self._sun_is_read()):
            return 1.0, 1.0
        shape, expected = self._expected(instant, sky.type)
        sun_factor = 1.0
        if sky.sun is not None and sky.sun.illuminance is not None:
            if shape.sun_normal_lux <= 0.0 < sky.sun.illuminance.si:
                raise self._placer.fault(
                    ("sky", "sun", "illuminance"),
                    what="no sun is seen at the hour that this was read",
                    expected="an hour with the sun up, before the skyline and the clouds hide it",
                    found=f"{instant:%Y-%m-%d %H:%M}",
                    fix="write when it was read as the sky's `read_at`, or take it out",
                )
            sun_factor = sky.sun.illuminance.si / max(shape.sun_normal_lux, 1e-9)
        if not self._sky_is_read():
            return 1.0, sun_factor
        shape = replace(shape, sun_normal_lux=sun_factor * shape.sun_normal_lux)
        read = _said_daylight(self._placer, shape, self._holes)
        return read.horizontal_lux / expected.sky_horizontal_lux, sun_factor


@dataclass(frozen=True, slots=True)
class _Shape:
    """A sky before it is known how strong it is: kind, where the sun stands, how strong that is."""

    kind: int
    altitude_rad: float
    turn_rad: float  # on the plan, from x towards y
    sun_normal_lux: float
    sky: Sky

    def toward_sun(self) -> Float64Array:
        return _way(self.altitude_rad, self.turn_rad)

    def daylight(
        self, *, horizontal_lux: float | None = None, zenith_nit: float | None = None
    ) -> Daylight:
        """Of a sky of this strength; with the sun below it, as bright towards it as at sunset."""
        if self.kind == TRADITIONAL_OVERCAST and horizontal_lux is not None:
            return overcast_sky(Lux(horizontal_lux), ground_reflectance=self.sky.ground)
        return general_sky(
            self.kind,
            sun_altitude_rad=min(max(0.0, self.altitude_rad), 0.5 * math.pi),
            sun_azimuth_rad=self.turn_rad,
            horizontal_lux=horizontal_lux,
            zenith_nit=zenith_nit,
            sun_normal_lux=self.sun_normal_lux if self.altitude_rad > 0.0 else 0.0,
            ground_reflectance=self.sky.ground,
        )


def way_to_sun(place: SunPlace, north_rad: float) -> Float64Array:
    """The unit way to the sun on the plan, north lying so far counter-clockwise from +x."""
    return _way(place.altitude_rad, north_rad - place.azimuth_rad)


def _way(altitude_rad: float, turn_rad: float) -> Float64Array:
    flat = math.cos(altitude_rad)
    return np.array([flat * math.cos(turn_rad), flat * math.sin(turn_rad), math.sin(altitude_rad)])


# As it is said ---------------------------------------------------------------------------


def sun_normal_lux(sky: Sky) -> float:
    """Illuminance of a plane that faces the sun's disc; 0 where none is seen; of a placed sun."""
    sun = sky.sun
    if sun is None or sun.altitude is None or sun.altitude.si <= 0.0:
        return 0.0
    if sun.illuminance is not None:
        return sun.illuminance.si
    if not has_sun(sky.type):  # unless its illuminance is written
        return 0.0
    return clear_sun_lux(sun.altitude.si, turbidity=sun.turbidity)


def clear_sun_lux(altitude_rad: float, *, turbidity: float) -> float:
    """Illuminance (lx) of a plane that faces the sun: 133 800 lx · exp(−0.1 m T / (1 + 0.0045 m)).

    turbidity T: luminous, 1 in clean dry air, some 3 on a clear day; altitude_rad: above 0; m: the
    air mass. Source: from memory (the luminous turbidity factor as used with ISO 15469); a fifth
    either way.
    """
    mass = air_mass(altitude_rad)
    return _SUN_OUTSIDE_AIR_LUX * math.exp(-0.1 * mass * turbidity / (1.0 + 0.0045 * mass))


def toward_sun(sky: Sky) -> Float64Array:
    """The unit way to a placed sun; straight up where the scene has none."""
    if sky.sun is None:
        return np.array([0.0, 0.0, 1.0])
    return _Shape(0, _said_altitude(sky), _said_turn(sky), 0.0, sky).toward_sun()


def _said_altitude(sky: Sky) -> float:
    if sky.sun is None or sky.sun.altitude is None:
        return 0.5 * math.pi
    return sky.sun.altitude.si


def _said_turn(sky: Sky) -> float:
    """The sun's angle on the plan from +x: azimuths run clockwise from north."""
    if sky.sun is None or sky.sun.azimuth is None:
        return 0.0
    return sky.north.si - sky.sun.azimuth.si


def _said_daylight(placer: Placer, shape: _Shape, holes: tuple[SkyHole, ...]) -> Daylight:
    """The sky and the ground in cd/m², by whichever reading the scene gives."""
    sky = shape.sky
    if sky.outside is not None:
        return shape.daylight(horizontal_lux=sky.outside.si)
    if sky.zenith is not None:
        return shape.daylight(zenith_nit=sky.zenith.si)
    return _by_glass(placer, shape, holes)


def _by_glass(placer: Placer, shape: _Shape, holes: tuple[SkyHole, ...]) -> Daylight:
    """The sky that makes a meter before an opening read what it read.

    What falls there is straight in the luminance of the zenith, ground and buildings included; what
    the sun puts there by way of them is there without a sky.
    """
    at_glass = shape.sky.at_glass
    assert at_glass is not None
    path = ("sky", "at_glass", "opening")
    hole = next((one for one in holes if one.name == at_glass.opening), None)
    if hole is None:
        raise placer.fault(
            path,
            what=f"no daylight comes in through {at_glass.opening}",
            expected="one of " + ", ".join(one.name for one in holes),
        )
    inward = np.cross(hole.edge_u, hole.edge_v)
    inward /= np.linalg.norm(inward)
    middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)
    skyline = skyline_of(placer)

    def falling(zenith_nit: float) -> float:
        daylight = shape.daylight(zenith_nit=zenith_nit)
        return opening_illuminance(middle, inward, daylight, outlook_of(placer, daylight, skyline))

    by_sun = falling(0.0)
    per_nit = (falling(1000.0) - by_sun) / 1000.0
    if at_glass.reads.si < by_sun:
        raise placer.fault(
            ("sky", "at_glass", "reads"),
            what="the sun alone puts more on the glass by way of the ground and the buildings",
            expected=f"at least {by_sun:.4g} lx",
            found=at_glass.reads.text,
            fix="check the reading, or write a lower `ground`",
        )
    return shape.daylight(zenith_nit=(at_glass.reads.si - by_sun) / per_nit)


def place_of(document: SceneDocument) -> Location:
    """Where on the earth a scene with a location is."""
    from falloff.daylight import location

    said = document.location
    assert said is not None
    return location(said.latitude.si, said.longitude.si, zone=said.zone, height_m=said.height.si)


def _sky_of(placer: Placer) -> Sky:
    assert placer.document.sky is not None
    return placer.document.sky


def _kelvin(kelvin: float) -> Float32Array:
    return colour_of_kelvin(kelvin).astype(np.float32)


def _never_nought(rgb: tuple[float, float, float]) -> Float32Array:
    """A colour with a trace of every channel, so that another hour's is a factor on it."""
    return np.maximum(np.array(rgb, np.float32), _LEAST_CHANNEL)
