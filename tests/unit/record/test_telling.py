"""Readings as a person types them: values, what was on, hours; and every fault told in words."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose
from tests.unit.record.rooms import ROOM

from falloff.camera import CameraSettings
from falloff.document import SceneDocument, parse_document
from falloff.errors import DocumentError
from falloff.record import Names, Taken, read_typed, read_written
from falloff.record.lit_words import LitUnread, read_lit
from falloff.session.scene import known_names

SOURCES = ("PANEL", "HEAD", "WALL HEAD", "BACK AND SIDE", "WINDOW", "BACK WINDOW")
DAY = ("WINDOW", "BACK WINDOW")
SETTINGS = CameraSettings(t_number=2.8, iso=800.0, exposure_time_s=1 / 48)
NAMES = Names("WIDE", SOURCES, DAY, SETTINGS)


def document(text: str = ROOM) -> SceneDocument:
    return parse_document(text, "small.scene.yaml", known=known_names())


def read(*texts: str, names: Names = NAMES, scene: str = ROOM) -> tuple[Taken, ...]:
    return read_typed(texts, document(scene), names)


def faults(*texts: str, names: Names = NAMES) -> list[str]:
    with pytest.raises(DocumentError) as caught:
        read(*texts, names=names)
    return [fault.sentence() for fault in caught.value.faults]


# Values ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("key side: 320 lx", 320.0),
        ("key side = 320 lux", 320.0),
        ("Key Side: 30 fc", 322.917),  # 1 fc = 10.7639 lx
        ("  key side  :  0 lx ", 0.0),
        ("the wall: 12 cd/m2", 12.0),
        ("the wall: 10 fL", 34.2626),  # 1 fL = 3.42626 cd/m²
    ],
)
def test_a_value_has_its_unit(text: str, value: float) -> None:
    (one,) = read(text)
    assert_allclose(one.value, value, rtol=1e-5)
    assert one.on == "all on"
    assert one.typed


def test_a_stop_is_the_light_that_exposes_so() -> None:
    # pencil: ISO 2720, E = C N² / (S t) = 250 · 16 / (400 / 48) = 480 lx; at the setup's own
    # ISO of 800, 240 lx.
    assert_allclose(read("key side: T4 at ISO 400")[0].value, 480.0)
    assert_allclose(read("key side: f/4")[0].value, 240.0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("key side: 320", ("has no unit", "320 lx")),
        ("key side: 320 lumen", ("no unit of illuminance",)),
        ("key side: bright", ("no illuminance",)),
        ("key side: -5 lx", ("less than nothing",)),
        ("key side: 3,200 lx", ("without a comma",)),
        ("key side:", ("incident light", "nothing")),
        ("the wall: 40 lx", ("spot meter", "cd/m2", "in lux is another")),
        ("the wall: T4", ("spot meter", "constant")),
        ("key side: 40 cd/m2", ("incident", "spot's")),
        ("key sid: 40 lx", ("no reading called 'key sid'", "did you mean 'key side'")),
        ("kitchen: 40 lx", ("no reading called", "key side, shadow side")),
        ("key side 40 lx", ("colon",)),
        ("", ("colon", "nothing")),
    ],
)
def test_what_cannot_be_read_is_told(text: str, words: tuple[str, ...]) -> None:
    (told,) = faults(text)
    assert all(word in told for word in words), told


def test_several_faults_are_told_together() -> None:
    told = faults("key side: 320", "the wall: 40 lx", "up: 3 lx; LAMP on")
    assert len(told) == 3
    assert [one.split(":")[0] for one in told] == ["--read 1", "--read 2", "--read 3"]


def test_readings_of_one_place_have_names_of_their_own() -> None:
    made = read("up: 3 lx", "key side: 320 lx; PANEL on", "key side: 55 lx; ambient",
                "key side: 56 lx; ambient")  # fmt: skip
    assert [one.name for one in made] == [
        "up",
        "key side, PANEL and daylight",
        "key side, daylight alone",
        "key side, daylight alone #2",
    ]


# What was on -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "on"),
    [
        ("PANEL on", {"PANEL", *DAY}),
        ("panel", {"PANEL", *DAY}),
        ("PANEL and HEAD on", {"PANEL", "HEAD", *DAY}),
        ("PANEL, WALL HEAD on", {"PANEL", "WALL HEAD", *DAY}),
        ("BACK AND SIDE and HEAD", {"BACK AND SIDE", "HEAD", *DAY}),
        ("PANEL alone", {"PANEL"}),
        ("only PANEL", {"PANEL"}),
        ("PANEL and WINDOW on", {"PANEL", "WINDOW"}),
        ("WINDOW on", {"WINDOW"}),
        ("ambient", set(DAY)),
        ("ambient alone", set(DAY)),
        ("daylight only", set(DAY)),
        ("all lights off", set(DAY)),
        ("PANEL and daylight", {"PANEL", *DAY}),
        ("all but PANEL", set(SOURCES) - {"PANEL"}),
        ("all except PANEL and HEAD", set(SOURCES) - {"PANEL", "HEAD"}),
        ("PANEL off", set(SOURCES) - {"PANEL"}),
        ("without WALL HEAD", set(SOURCES) - {"WALL HEAD"}),
        ("no daylight", set(SOURCES) - set(DAY)),
        ("night", set(SOURCES) - set(DAY)),
        # On and off beside each other, daylight too.
        ("PANEL on, HEAD off", {"PANEL", *DAY}),
        ("HEAD off, PANEL on", {"PANEL", *DAY}),
        ("PANEL on, no daylight", {"PANEL"}),
        ("no daylight, PANEL on", {"PANEL"}),
        ("PANEL and HEAD on without daylight", {"PANEL", "HEAD"}),
        ("all on, PANEL off", set(SOURCES) - {"PANEL"}),
        ("all, PANEL off", set(SOURCES) - {"PANEL"}),
        ("all but PANEL and daylight", set(SOURCES) - {"PANEL", *DAY}),
        ("everything off", set(DAY)),
        ("all off", set(DAY)),
        ("lights off", set(DAY)),
        ("no lights", set(DAY)),
    ],
)
def test_what_was_on_is_read_from_words(text: str, on: set[str]) -> None:
    assert set(read_lit(text, SOURCES, DAY).on or ()) == on


@pytest.mark.parametrize("text", ["all but PANEL", "PANEL off", "night", "all on, PANEL off"])
def test_the_rest_of_the_setup_has_no_light_that_the_setup_has_out(text: str) -> None:
    assert "WALL HEAD" in (read_lit(text, SOURCES, DAY).on or ())
    assert "WALL HEAD" not in (read_lit(text, SOURCES, DAY, out=("WALL HEAD",)).on or ())
    # Named, it was on all the same.
    assert "WALL HEAD" in (read_lit("WALL HEAD on", SOURCES, DAY, out=("WALL HEAD",)).on or ())


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("PANEL at 150 % on", ("PANEL at 150 %", "100 %")),
        ("PANEL at -10 % on", ("PANEL at -10 %", "100 %")),
        ("PANEL at 2 stops on", ("PANEL at 2 stops", "-2 stops")),
        ("WINDOW at 50 % on", ("WINDOW is daylight", "dim")),
        ("PANEL at 50 % and PANEL at 40 % on", ("PANEL", "50 %", "40 %")),
        ("PANEL on, PANEL off", ("PANEL", "on and off")),
    ],
)
def test_what_no_light_can_be_at_is_told(text: str, words: tuple[str, ...]) -> None:
    (told,) = faults(f"key side: 80 lx; {text}")
    assert all(word in told for word in words), told


def test_a_light_at_full_is_at_full() -> None:
    for text in ("PANEL at full", "PANEL full", "PANEL at 100 % on"):
        said = read_lit(text, SOURCES, DAY)
        assert said.knobs == {"PANEL": 1.0}
        assert set(said.on or ()) == {"PANEL", *DAY}


@pytest.mark.parametrize("text", ["all on", "everything", "as in the setup", "all lights on"])
def test_all_of_the_setup_is_all(text: str) -> None:
    assert read_lit(text, SOURCES, DAY).on is None


def test_a_dim_may_be_set_for_a_reading() -> None:
    said = read_lit("PANEL at 50 % on", SOURCES, DAY)
    assert said.knobs == {"PANEL": 0.5}
    (one,) = read("key side: 80 lx; PANEL at 50 %")
    assert "PANEL at 50 %" in one.on


def test_by_night_stands_beside_what_was_on() -> None:
    (one,) = read("key side: 80 lx; night; PANEL on")
    assert one.lit == ("PANEL",)
    (all_on,) = read("key side: 80 lx; no daylight")
    assert all_on.on == "all lights, no daylight"
    (other,) = read("key side: 80 lx; PANEL on; night")
    assert other.lit == ("PANEL",)


def test_on_and_off_may_stand_apart() -> None:
    (one,) = read("key side: 80 lx; PANEL on; HEAD off")
    assert set(one.lit or ()) == {"PANEL", *DAY}


def test_a_light_that_is_not_there_is_told_with_the_nearest() -> None:
    (told,) = faults("key side: 80 lx; PANNEL on")
    assert "PANNEL" in told
    assert "did you mean 'PANEL'" in told
    (other,) = faults("key side: 80 lx; chandelier on")
    assert "chandelier" in other
    assert "WALL HEAD" in other


def test_daylight_where_there_is_none_is_told() -> None:
    (told,) = faults("key side: 80 lx; ambient", names=Names("WIDE", ("PANEL",), (), SETTINGS))
    assert "no daylight" in told


def test_words_that_say_no_light_are_unread() -> None:
    with pytest.raises(LitUnread):
        read_lit("on", SOURCES, DAY)


def test_an_hour_needs_a_sky_that_has_one() -> None:
    (told,) = faults("key side: 80 lx; at 14:10")
    assert "no hour" in told


def test_several_levels_stand_on_one_line() -> None:
    made = read("key side: all 320 lx, PANEL 240, all but HEAD 300, ambient 60.5")
    assert [one.value for one in made] == [320.0, 240.0, 300.0, 60.5]
    assert [one.on for one in made] == [
        "all on", "PANEL alone",
        "PANEL, WALL HEAD, BACK AND SIDE and daylight", "daylight alone",
    ]  # fmt: skip
    assert len({one.name for one in made}) == 4
    (spot,) = read("the wall: all 12 cd/m2")
    assert spot.value == 12.0


def test_a_shaded_reading_is_refused() -> None:
    (told,) = faults("key side: all 320 lx, PANEL shaded 40")
    assert "shaded" in told


# In the file -----------------------------------------------------------------------------

WITH_HOUR = ROOM.replace(
    "sky: {type: overcast,",
    "location: {latitude: 52 N, longitude: 1 W, zone: Europe/London}\n"
    "sky: {type: overcast, at: 2026-03-24 13:30,",
)


def test_an_hour_is_by_the_locations_clock() -> None:
    (one,) = read("key side: 80 lx; at 14:10", scene=WITH_HOUR)
    assert one.hour == "2026-03-24 14:10"


def test_what_the_file_has_is_read_too() -> None:
    scene = WITH_HOUR + (
        "measured:\n"
        "  first: {reading: key side, value: 30 fc, lit: [PANEL, WINDOW, BACK WINDOW]}\n"
        "  later: {reading: up, value: 55 lx, lit: [], at_time: '2026-03-24T15:10+01:00'}\n"
    )
    scene = scene.replace("openings:\n", "openings:\n  BACK WINDOW: {wall: 1, along: 0.9 m, "
                          "width: 1 m, sill: 1 m, height: 1 m}\n")  # fmt: skip
    first, later = read_written(document(scene), {"WIDE": NAMES})
    assert first.name == "first"
    assert first.on == "PANEL and daylight"
    assert first.setup == "WIDE"
    assert not first.typed
    assert later.on == "nothing on"
    assert later.hour is not None
    assert later.hour.startswith("2026-03-24 14:10")  # London has no summer time yet
