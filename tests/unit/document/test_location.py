"""Where and when a scene is: what may be written, and every way of writing it wrong."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from falloff.daylight import SunPlace, outside_light
from falloff.document import Put, SceneDocument, arranged, edit_text, instant_of, parse_document
from falloff.errors import DaylightError, DocumentError, Fault

PLACE = "{latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}"
SKY = "{type: clear, at: 2026-06-21 13:40}"
HILLS = "{skyline: [{azimuth: 0 deg, altitude: 2 deg}, {azimuth: 180 deg, altitude: 8 deg}]}"
SUN = "sun: {altitude: 30 deg, azimuth: 180 deg}"
NO_HOUR = f"{{type: clear, outside: 10000 lx, {SUN}}}"
TEXT = f"""falloff: 2
title: Place
units: metric
room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 2.7 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
openings:
  WINDOW: {{wall: 1, along: 1.6 m, width: 1.6 m, sill: 0.9 m, height: 1.3 m}}
location: {PLACE}
sky: {SKY}  # as the schedule has it
outside: {HILLS}
cameras:
  WIDE: {{at: [4.4 m, 3.6 m, 1.5 m], aim: [2.2 m, 1.0 m, 1.1 m], lens: 24 mm}}
setups:
  WIDE: {{camera: WIDE, stop: T4, iso: 400, shutter: 180 deg}}
  LATE: {{like: WIDE, at: "16:30"}}
  NEXT: {{like: LATE, at: 2026-06-22 09:00}}
"""
Change = tuple[str, str]


def read(*changes: Change) -> SceneDocument:
    text = TEXT
    for old, new in changes:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    return parse_document(text, "place.scene.yaml")


def test_a_place_and_an_hour() -> None:
    document = read()
    place, sky = document.location, document.sky
    assert place is not None
    assert sky is not None
    assert_allclose(place.latitude.si, math.radians(51.5))
    assert_allclose(place.longitude.si, math.radians(-0.13))
    assert (place.zone, place.height.si, sky.at) == ("Europe/London", 0.0, "2026-06-21 13:40")
    instant = instant_of(document)
    assert instant is not None
    # pencil: an hour ahead in June
    assert instant.isoformat() == "2026-06-21T13:40:00+01:00"


@pytest.mark.parametrize(
    ("said", "degrees"),
    [
        ("33.9 S", -33.9),
        ("33.9 N", 33.9),
        ('"33.9° S"', -33.9),
        ("33.9 deg S", -33.9),
        ("-33.9 deg", -33.9),
        ("90 N", 90.0),
        ("0 S", 0.0),
    ],
)
def test_degrees_with_a_sign_or_a_side(said: str, degrees: float) -> None:
    place = read(("51.5 N", said)).location
    assert place is not None
    assert_allclose(math.degrees(place.latitude.si), degrees, atol=1e-9)


@pytest.mark.parametrize("offset", ["+01:00", "+0100"])
def test_an_hour_that_comes_twice_may_be_written_with_its_offset(offset: str) -> None:
    first, second = (
        instant_of(read(("2026-06-21 13:40", f"2026-10-25 01:30{one}")))
        for one in (offset, "+00:00")
    )
    assert first is not None
    assert second is not None
    assert second.timestamp() - first.timestamp() == 3600.0  # pencil


# name: changes, line, column, key path, words of the fault and of what to do
BROKEN: dict[str, tuple[list[Change], int, int, str, tuple[str, ...]]] = {
    "unknown zone": (
        [("Europe/London", "Europe/Lodnon")], 12, 55, "location.zone",
        ("there is no such time zone", "did you mean Europe/London"),
    ),
    "no zone": (
        [(", zone: Europe/London", "")], 12, 1, "location",
        ("needs 'zone'", "Europe/London"),
    ),
    "latitude past the pole": (
        [("51.5 N", "91 N")], 12, 22, "location.latitude",
        ("no such place on the earth", "0 to 90 with N or S", "91 N"),
    ),
    "latitude past the pole in degrees": (
        [("51.5 N", "-91 deg")], 12, 22, "location.latitude", ("no such place on the earth",),
    ),
    "latitude said twice over": (
        [("51.5 N", "-33.9 S")], 12, 22, "location.latitude", ("no such place on the earth",),
    ),
    "latitude to the east": (
        [("51.5 N", "33.9 E")], 12, 22, "location.latitude", ("angle", "33.9 E"),
    ),
    "latitude without a unit": (
        [("51.5 N", "51.5")], 12, 22, "location.latitude", ("has no unit", "51.5 N"),
    ),
    "longitude past the globe": (
        [("0.13 W", "181 W")], 12, 41, "location.longitude",
        ("no such place on the earth", "0 to 180 with E or W"),
    ),
    "higher than there is land": (
        [("/London}", "/London, height: 9500 m}")], 12, 78, "location.height", ("out of range",),
    ),
    "an hour that was skipped": (
        [("2026-06-21 13:40", "2026-03-29 01:30")], 13, 24, "sky.at",
        ("no clock showed that time", "01:00 straight to 02:00", "02:30"),
    ),
    "an hour that comes twice": (
        [("2026-06-21 13:40", "2026-10-25 01:30")], 13, 24, "sky.at",
        ("shows this time twice", "2026-10-25 01:30+0100"),
    ),
    "no date": (
        [("at: 2026-06-21 13:40", "at: 13:40")], 13, 24, "sky.at",
        ("a date is needed", "2026-06-21 15:40"),
    ),
    "no time": (
        [("2026-06-21 13:40", "2026-06-21")], 13, 24, "sky.at", ("no date and time",),
    ),
    "no such day": (
        [("2026-06-21 13:40", "2026-02-30 13:40")], 13, 24, "sky.at",
        ("no clock or calendar has this",),
    ),
    "an hour without a place": (
        [(f"location: {PLACE}\n", "")], 12, 24, "sky.at",
        ("hangs on the place", "add `location:"),
    ),
    "a setup's hour without one of the sky": (
        [(SKY, NO_HOUR), ("\n  NEXT: {like: LATE, at: 2026-06-22 09:00}", "")], 19, 26,
        "setups.LATE.at", ("the sky has none", "add `at: 2026-06-21 15:40` to the sky"),
    ),
    "a setup's hour that was skipped": (
        [("2026-06-21 13:40", "2026-03-29 13:40"), ("16:30", "01:30")], 19, 26,
        "setups.LATE.at", ("no clock showed that time",),
    ),
    "a setup's hour that comes twice": (
        [("2026-06-21 13:40", "2026-10-25 13:40"), ("16:30", "01:30")], 19, 26,
        "setups.LATE.at", ("shows this time twice",),
    ),
    "a setup's hour that is none": (
        [("16:30", "25:10")], 19, 26, "setups.LATE.at", ("no clock or calendar has this",),
    ),
    "a setup's hour in words": (
        [('"16:30"', "noon")], 19, 26, "setups.LATE.at", ("no date and time", "found noon"),
    ),
    "a skyline that runs backwards": (
        [("azimuth: 0 deg", "azimuth: 200 deg")], 14, 58, "outside.skyline[1]",
        ("runs backwards here", "an azimuth past 200 deg", "clockwise from north"),
    ),
    "a skyline with one azimuth twice": (
        [("azimuth: 180 deg", "azimuth: 0 deg")], 14, 56, "outside.skyline[1]",
        ("runs backwards here",),
    ),
    "a skyline that closes on itself": (
        [("azimuth: 180 deg", "azimuth: 360 deg")], 14, 56, "outside.skyline[1]",
        ("last point lies where its first does", "take one of them out"),
    ),
    "a skyline of one point": (
        [(", {azimuth: 180 deg, altitude: 8 deg}", "")], 14, 20, "outside.skyline",
        ("expected 2 to 720",),
    ),
    "a skyline up to the zenith": (
        [("altitude: 8 deg", "altitude: 90 deg")], 14, 85, "outside.skyline[1].altitude",
        ("out of range", "0 deg to 89 deg"),
    ),
    "a sun that is placed twice": (
        [("13:40}", f"13:40, {SUN}}}")], 13, 42, "sky.sun",
        ("said twice", "take altitude and azimuth out"),
    ),
    "broken cloud without an hour": (
        [(SKY, "{type: broken cloud, outside: 10000 lx}")], 13, 1, "sky",
        ("broken cloud is hangs on the hour",),
    ),
    "a sky of no strength and no hour": (
        [(SKY, "{type: thin cloud}")], 13, 1, "sky", ("needs 'outside'", "with a location"),
    ),
    "a clear sky without a sun or an hour": (
        [(SKY, "{type: clear, outside: 10000 lx}")], 13, 1, "sky",
        ("hangs on where the sun stands", "`at:` with a location"),
    ),
    "a sun under an overcast sky": (
        [("clear, at: 2026-06-21 13:40}", "overcast, at: 2026-06-21 13:40, sun: {turbidity: 3}}")],
        13, 45, "sky.sun", ("no sun is seen",),
    ),
    "air that no model of an hour has": (
        [("13:40}", "13:40, sun: {turbidity: 10.5}}")], 13, 59, "sky.sun.turbidity",
        ("in air that hazy", "1 to 10", "found 10.5"),
    ),
    "a window in no wall": (
        [("wall: 1,", "wall: 7,")], 11, 18, "openings.WINDOW.wall", ("there is no wall 7",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_written_wrong_is_told_where_it_stands(name: str) -> None:
    changes, line, column, path, said = BROKEN[name]
    with pytest.raises(DocumentError) as error:
        read(*changes)
    fault = told_at(error.value, path)
    assert (fault.line, fault.column) == (line, column)
    assert fault.where == f"place.scene.yaml, line {line}, column {column} ({path})"
    for part in said:
        assert part in fault.sentence()


def test_air_without_an_hour_may_be_hazier() -> None:
    """And what an hour allows is what the light outside is made for."""
    no_hours = ((', at: "16:30"', ""), (", at: 2026-06-22 09:00", ""))
    sunny = NO_HOUR.replace("180 deg}", "180 deg, turbidity: 20}")
    hazy = read((SKY, sunny), *no_hours).sky
    assert hazy is not None
    assert hazy.sun is not None
    assert hazy.sun.turbidity == 20.0
    place = SunPlace(0.5, 0.5, 3.0, 1.0)
    read(("13:40}", "13:40, sun: {turbidity: 10}}"))
    assert outside_light("clear", place, turbidity=10.0).sun_normal_lux > 0.0
    with pytest.raises(DaylightError):
        outside_light("clear", place, turbidity=10.5)


def told_at(error: DocumentError, path: str) -> Fault:
    found = [one for one in error.faults if one.where.endswith(f"({path})")]
    assert found, str(error)
    return found[0]


def test_a_setup_that_is_like_another_does_not_repeat_its_fault() -> None:
    """What stands in the file once is told once, at the place where it stands."""
    with pytest.raises(DocumentError) as error:
        read(("16:30", "25:10"), ("LATE, at: 2026-06-22 09:00", "LATE"))
    assert len(error.value.faults) == 1


# Each setup at its hour ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("setup", "hour"),
    [
        ("WIDE", "2026-06-21T13:40:00+01:00"),
        ("LATE", "2026-06-21T16:30:00+01:00"),
        ("NEXT", "2026-06-22T09:00:00+01:00"),
    ],
)
def test_a_setup_stands_at_its_own_hour(setup: str, hour: str) -> None:
    found = instant_of(arranged(read(), setup))
    assert found is not None
    assert found.isoformat() == hour


def test_setups_of_one_hour_stand_alike_and_others_do_not() -> None:
    same = read(('"16:30"', '"13:40"'), ("2026-06-22 09:00", '"13:40"'))
    assert set(arranged(same, "WIDE").setups) == {"WIDE", "LATE", "NEXT"}
    assert set(arranged(read(), "WIDE").setups) == {"WIDE"}
    inherited = read(("{like: LATE, at: 2026-06-22 09:00}", "{like: LATE}"))
    assert set(arranged(inherited, "LATE").setups) == {"LATE", "NEXT"}


def test_a_scene_without_an_hour_has_no_instant() -> None:
    document = read(
        (SKY, NO_HOUR), ('at: "16:30"', "stop: T4"), ("at: 2026-06-22 09:00", "stop: T4")
    )
    assert instant_of(document) is None
    assert instant_of(arranged(document, "LATE")) is None


def test_an_hour_is_edited_and_remarks_stay() -> None:
    edited = edit_text(TEXT, [Put(("sky", "at"), "2026-12-21 11:05")])
    assert edited == TEXT.replace("2026-06-21 13:40", "2026-12-21 11:05")
    assert "# as the schedule has it" in edited
    late = edit_text(TEXT, [Put(("setups", "LATE", "at"), "17:15")])
    found = instant_of(arranged(parse_document(late), "LATE"))
    assert found is not None
    assert (found.hour, found.minute) == (17, 15)
