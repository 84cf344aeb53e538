"""Complaints answered from readings alone, among them sums of practitioners' cases.

The cases are from public pages of people who light small shoots; C20 and the like are their
numbers in the project's own list.
"""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from falloff.balance.why.causes import Known, causes_of
from falloff.balance.why.complaints import read_complaint
from falloff.balance.why.cures import Handle, Wanted, cheapest
from falloff.balance.why.light import Given, Lit, Measure
from falloff.balance.why.onoff import metered, role_of, why_onoff
from falloff.balance.why.read import read_lines
from falloff.balance.why.records import Why, Whys
from falloff.balance.why.words import Telling
from falloff.camera import CameraSettings
from falloff.errors import DocumentError

CAMERA = CameraSettings(t_number=2.8, iso=800.0, exposure_time_s=1.0 / 48.0)


def asked(said: str, *lines: str, camera: CameraSettings | None = None) -> Why:
    """The one answer to a complaint."""
    (why,) = why_onoff(metered(read_lines(lines), camera), read_complaint(said)).whys
    return why


def everything(*lines: str, camera: CameraSettings | None = None) -> Whys:
    return why_onoff(metered(read_lines(lines), camera), None)


def stops(why: Why) -> float:
    assert why.stops is not None
    return why.stops


def test_a_day_to_be_shot_at_night() -> None:
    """C20: 80 fc in all, fill about 60: log2(80/60) = 0.42 stop; the background 1:1."""
    day = "key: all 80 fc, WINDOW 20, ambient 60", "fill side: all 60 fc, WINDOW 0, ambient 60"
    face = asked("face flat", *day)
    assert_allclose(stops(face), -0.42, atol=0.005)
    assert_allclose(face.off_stops, 0.58, atol=0.005)
    wall = asked("background hot", *day, "background: all 80 fc, ambient 80")
    assert_allclose(stops(wall), 0.0, atol=1e-9)
    assert not wall.wrong


@pytest.mark.parametrize(("bounce_lux", "ratio"), [(85.0, 4.0), (145.0, 2.8)])
def test_white_walls_eat_the_contrast(bounce_lux: float, ratio: float) -> None:
    """C43: 24 fc of key (258 lx) and 85 lx of bounce at 0.7 give 4:1, 145 at 0.8 2.8:1."""
    key = f"key cheek: all {258 + bounce_lux} lx, KEY {258 + bounce_lux}, KEY shaded {bounce_lux}"
    shadow = f"shadow cheek: all {bounce_lux} lx, KEY {bounce_lux}, KEY shaded {bounce_lux}"
    why = asked("face flat", key, shadow)
    assert_allclose(2.0 ** -stops(why), ratio, rtol=0.015)
    assert why.causes[0].brief == "KEY's bounce"
    assert why.causes[0].share == 1.0
    assert why.causes[0].stops is None  # nothing else lights that side
    assert "next to no light" in why.causes[0].says


def test_fill_in_the_sun() -> None:
    """C42: fill 1.5 stops under a sun of 100,000 lx in all is 35,000."""
    sun = "key: all 100000 lx, SUN 65000, sky 35000", "shadow: all 35000 lx, SUN 0, sky 35000"
    why = asked("face flat", *sun)
    assert_allclose(stops(why), -1.5, atol=0.02)
    assert not why.wrong


def test_a_white_door_and_the_faces_behind_it() -> None:
    """C13: from 6 to 10 ft 1.47 stops; 0.80 against 0.36 another 1.15: 2.6 by a spot meter."""
    door = 100.0 * 0.80 / math.pi
    face = 100.0 * (6.0 / 10.0) ** 2 * 0.36 / math.pi
    lines = (
        f"face: all {face:.4f} nit, HEAD {face:.4f}",
        f"wall: all {door:.4f} nit, HEAD {door:.4f}",
    )
    why = asked("wall hot", *lines)
    assert_allclose(stops(why), 2.6, atol=0.03)
    assert why.wrong


@pytest.mark.parametrize(("dark", "apart"), [(0.16, 1.17), (0.10, 1.85)])
def test_two_skins_in_one_light(dark: float, apart: float) -> None:
    """C45: log2(36/16) = 1.17 and log2(36/10) = 1.85 stops, as spot meters have it."""
    lines = "key, fair: all 36 nit, KEY 36", f"wall, dark: all {100 * dark} nit, KEY {100 * dark}"
    assert_allclose(stops(asked("wall, dark hot", *lines)), -apart, atol=0.01)


BOTH = (
    "key cheek: all 320 lx, BOOK 240, WALL HEAD 20, ambient 60",
    "shadow cheek: all 190 lx, BOOK 110, BOOK shaded 90, WALL HEAD 20, ambient 60",
)


def test_shares_by_subtraction_by_hand() -> None:
    """Pencil: log2(190/320) = −0.75; without BOOK's bounce log2(100/320) = −1.68."""
    why = asked("face flat", *BOTH)
    assert_allclose(stops(why), math.log2(190.0 / 320.0))
    first = why.causes[0]
    assert (first.brief, first.source) == ("BOOK's bounce", "BOOK")
    assert_allclose(first.share or 0.0, 90.0 / 190.0)
    assert_allclose(first.stops or 0.0, math.log2(190.0 / 100.0))
    assert why.says[0].startswith("The shadow side is two thirds under the key side")
    assert "1 2/3 under the key side" in why.says[1]


def test_a_hot_wall_is_dimmed_by_its_own_head() -> None:
    """Pencil: 400 of HEAD and 80 of BOOK against 240: HEAD to 160/400 = 40 %."""
    why = asked(
        "the back wall hot", "key cheek: all 240 lx, BOOK 240, HEAD 0",
        "back wall: all 480 lx, BOOK 80, HEAD 400",
    )  # fmt: skip
    assert_allclose(stops(why), 1.0)
    assert why.cure is not None
    assert "dim HEAD from 100 % to 40 % of its light now" in why.cure
    assert_allclose(why.cure_stops or 0.0, 1.0, atol=1e-6)
    assert why.cure_light is not None
    assert why.cure_light[0] == "HEAD"
    assert_allclose(why.cure_light[1], 0.4, atol=1e-6)


def test_the_camera_tells_the_key_level() -> None:
    """T2.8, ISO 800, 1/48 s is 117.6 lx by C = 250 (ISO 2720): 59 lx is a stop under."""
    why = asked("face too dark", "key: all 58.8 lx, KEY 58.8", camera=CAMERA)
    assert_allclose(stops(why), -1.0, atol=0.01)
    assert "under key" in why.says[0]


def test_a_window_over_the_face_needs_the_camera_where_units_differ() -> None:
    lines = "key: all 117.6 lx, KEY 117.6", "window: all 432 nit, WINDOW 432"
    with pytest.raises(DocumentError, match="told against nothing"):
        asked("window hot", *lines)
    why = asked("window hot", *lines, camera=CAMERA)
    # pencil: middle grey is 0.18 · 117.6/π = 6.74 cd/m²; 432 is 64 times that, 6 stops.
    assert_allclose(stops(why), 6.0, atol=0.01)
    assert why.cure is not None
    assert "ND 0.9" in why.cure


def test_eyes_under_the_brow() -> None:
    """Pencil: log2(50/200) = −2."""
    why = asked(
        "eyes dark", "eyes: all 50 lx, KEY 20, ambient 30",
        "forehead: all 200 lx, KEY 170, ambient 30", "key: all 200 lx, KEY 170, ambient 30",
    )  # fmt: skip
    assert_allclose(stops(why), -2.0)
    assert "KEY lights the forehead more than them" in why.says[1]


def test_without_a_complaint_all_is_looked_at_and_the_worst_is_first() -> None:
    found = everything(*BOTH, "back wall: all 1280 lx, WALL HEAD 1200, BOOK 20, ambient 60")
    assert [one.complaint for one in found.whys] == ["back wall too bright", "face flat"]
    assert_allclose(found.whys[0].off_stops, 2.0)
    assert found.says[0].startswith("Key cheek: BOOK 75 %")


def test_darkness_is_said() -> None:
    why = asked("flat", "key: all 0 lx, KEY 0", "shadow: all 0 lx, KEY 0")
    assert why.says[0] == "No light falls on shadow and key: nothing to compare."


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ("face flat", "no reading of the shadow cheek"),
        ("eyes dark", "no reading of the eyes"),
        ("beam not landing", "a matter of distances"),
        ("face jumps in the close", "between two setups"),
        ("the bench hot", "no reading called 'bench'"),
    ],
)
def test_what_was_not_metered_is_asked_for(said: str, says: str) -> None:
    with pytest.raises(DocumentError) as told:
        asked(said, "key cheek: all 320 lx, BOOK 320")
    assert says in told.value.faults[0].sentence()


def test_metered_in_two_ways_is_refused() -> None:
    with pytest.raises(DocumentError, match="different ways"):
        asked("flat", "key: all 320 lx, BOOK 320", "shadow: all 3 nit, BOOK 3")


@pytest.mark.parametrize(
    ("name", "role"),
    [("shadow cheek", "shadow"), ("key side", "key"), ("the back wall", "wall"),
     ("eye sockets", "eyes"), ("brow", "brow"), ("view outside", "view"), ("table", None)],
)  # fmt: skip
def test_a_place_plays_its_part_by_its_name(name: str, role: str | None) -> None:
    assert role_of(name) == role


def test_units_that_were_taken_for_granted_are_said() -> None:
    told = everything(
        "key: all 80 fc, WINDOW 20, ambient 60", "fill side: all 60 lx, ambient 60 lx"
    )
    assert "Levels of key without a unit are taken in that of their line, fc." in told.says
    told = everything("key: all 80 fc, WINDOW 20 fc, ambient 60 fc")
    assert not any("without a unit" in one for one in told.says)


def test_a_contrasty_face_is_filled() -> None:
    """Pencil: 20 lx beside 320 lx are 4 stops; 4:1 wants 80 lx, so 60 lx more."""
    face = (
        "key cheek: all 320 lx, KEY 320 lx, ambient 0 lx",
        "shadow cheek: all 20 lx, KEY 0 lx, ambient 20 lx",
    )
    why = asked("face contrasty", *face)
    assert_allclose(why.off_stops, 2.0)
    assert why.cure is not None
    assert why.cure.startswith("a fill or a white card on the shadow side, 60.0 lx there")
    assert_allclose(why.cure_stops or 0.0, 2.0)


def test_what_stands_before_a_light_is_moved_only_where_it_can_be_named() -> None:
    lit = Lit("place", (Given("KEY", 20.0, open=80.0),), 100.0)
    told = Telling("the place", "key")
    assert not causes_of(Measure((lit,)), told, high=False, known=Known())[0].brief.count("before")
    known = Known(in_the_way={"KEY": "NET"})
    assert causes_of(Measure((lit,)), told, high=False, known=known)[0].brief == "NET before KEY"
    wanted = Wanted(Measure((lit,)), told, -1.0, high=False, handles={"KEY": Handle("fixed")})
    assert cheapest(wanted) is None


def test_readings_in_feet_are_cured_in_feet() -> None:
    """Pencil: 10 fc beside 160 fc; 4:1 wants 40 fc, so 30 fc more."""
    why = asked("face contrasty", "key cheek: all 160 fc, KEY 160 fc", "shadow cheek: all 10 fc")
    assert "30.0 fc there" in (why.cure or "")


def test_dark_eyes_are_told_an_eye_light() -> None:
    """Pencil: E on both so that (50 + E)/(200 + E) = 1/2: 100 lx."""
    why = asked("eyes dark", "eyes: all 50 lx, ambient 50 lx", "forehead: all 200 lx, KEY 150 lx")
    assert "100 lx at the face: they would be 1 under the forehead" in (why.cure or "")


def test_readings_alone_do_not_tell_what_stands_before_a_light() -> None:
    why = asked("face dark", "key cheek: all 320 lx, KEY 300 lx, ambient 20 lx", camera=CAMERA)
    assert "Its light is KEY 94 %, ambient 6 %." in why.says
