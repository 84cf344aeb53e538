"""Hours, dates and skies written in the form that each had, and what a window is told of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, changed, differing, parsed

from falloff.document import arranged, instant_of
from falloff.errors import DaylightError, DocumentError, FalloffError
from falloff.page.hour_changes import day_of_tree, instant_at

SCENE = (Path(__file__).parents[2] / "page" / "day.scene.yaml").read_text("utf-8")
SKY = "2026-06-21 13:40"
OWN = 'at: "16:30"'


def made(do: str, setup: str = "WIDE", scene: str = SCENE, **parts: Any) -> str:
    return changed({"do": do, **parts}, setup=setup, text=scene)


@pytest.mark.parametrize(
    ("written", "at", "told"),
    [
        # pencil
        (SKY, "16:40", "2026-06-21 16:40"),
        (SKY, "6:05", "2026-06-21 06:05"),
        ("2026-06-21T13:40", "16:40", "2026-06-21T16:40"),
        ("2026-06-21 13:40:30", "16:40", "2026-06-21 16:40"),
        ("2026-06-21 13:40+01:00", "16:40", "2026-06-21 16:40+01:00"),
        # on the night that clocks go back, half past one comes twice
        ("2026-10-25 13:40", "01:30", "2026-10-25 01:30+01:00"),
        ("2026-10-25 13:40", "01:30+00:00", "2026-10-25 01:30+00:00"),
    ],
)
def test_the_skys_hour_is_rewritten_as_it_was_written(written: str, at: str, told: str) -> None:
    scene = SCENE.replace(SKY, written)
    edited = made("hour", scene=scene, at=at)
    assert edited == scene.replace(written, told)


@pytest.mark.parametrize(
    ("own", "at", "told"),
    [
        (OWN, "17:05", 'at: "17:05"'),
        ("at: 2026-12-21 15:00", "14:10", "at: 2026-12-21 14:10"),
    ],
)
def test_a_setups_own_hour_is_rewritten_and_the_skys_stays(own: str, at: str, told: str) -> None:
    scene = SCENE.replace(OWN, own)
    assert made("hour", "LATE", scene, at=at) == scene.replace(own, told)


def test_an_hour_from_another_setup_is_written_in_the_setup_itself() -> None:
    scene = SCENE.replace("# golden", "# golden\n  LATER: {like: LATE}")
    edited = made("hour", "LATER", scene, at="17:00")
    assert differing(edited, scene) == [
        ("  LATER: {like: LATE}", '  LATER: {like: LATE, at: "17:00"}')
    ]


def test_an_hour_that_clocks_skip_is_refused_with_what_they_showed() -> None:
    scene = SCENE.replace(SKY, "2026-03-29 13:40")
    with pytest.raises(DaylightError, match="clocks went from 01:00 straight to 02:00"):
        made("hour", scene=scene, at="01:30")
    with pytest.raises(DaylightError, match="straight to 02:00"):
        made("date", scene=SCENE.replace("13:40", "01:30"), on="2026-03-29")


def test_dates_keep_the_clock_time() -> None:
    assert made("date", on="2026-12-21") == SCENE.replace("2026-06-21", "2026-12-21")
    assert made("date", "LATE", on="2026-12-21") == SCENE.replace("2026-06-21", "2026-12-21")
    scene = SCENE.replace(OWN, "at: 2026-06-22 15:00")
    edited = made("date", "LATE", scene, on="2026-12-24")
    assert edited == scene.replace("2026-06-22", "2026-12-24")
    # In winter the clock stands at UTC: its time stays, the offset is another.
    scene = SCENE.replace(SKY, "2026-06-21 13:40+01:00")
    assert "at: 2026-12-21 13:40+00:00" in made("date", scene=scene, on="2026-12-21")


@pytest.mark.parametrize(
    "change",
    [
        {"do": "hour", "at": "25:00"},
        {"do": "hour", "at": "soon"},
        {"do": "date", "on": "2026-02-30"},
        {"do": "sky", "type": "pink"},
        {"do": "hour"},
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(change: dict[str, str]) -> None:
    with pytest.raises(FalloffError) as caught:
        changed(change, setup="WIDE", text=SCENE)
    assert all(fault.sentence() for fault in caught.value.faults)


def test_a_sky_is_a_word() -> None:
    assert made("sky", type="thin cloud") == SCENE.replace("type: clear", "type: thin cloud")


def test_what_was_read_of_a_sky_stays_read_when_it_was() -> None:
    """Else every hour would be as light as the one of the reading."""
    scene = SCENE.replace(f"at: {SKY}", f"at: {SKY}, outside: 9000 lx")
    edited = made("hour", scene=scene, at="16:40")
    sky = parsed(edited).sky
    assert sky is not None
    assert (sky.at, sky.read_at) == ("2026-06-21 16:40", SKY)
    again = made("hour", scene=edited, at="18:00")
    assert parsed(again).sky.read_at == SKY  # type: ignore[union-attr]
    assert again == edited.replace("2026-06-21 16:40", "2026-06-21 18:00")


def test_another_sky_has_nothing_of_what_was_read_of_the_one_before() -> None:
    said = f"at: {SKY}, outside: 9000 lx, colour: 9000 K"
    sky = parsed(made("sky", scene=SCENE.replace(f"at: {SKY}", said), type="overcast")).sky
    assert sky is not None
    assert (sky.type, sky.at, sky.outside, sky.colour) == ("overcast", SKY, None, None)


def test_a_scene_without_an_hour_is_given_one() -> None:
    bare = SCENE.replace(OWN, "nd: ND 0.3").replace(f"at: {SKY}", "outside: 12000 lx")
    bare = "\n".join(line for line in bare.splitlines() if "location" not in line) + "\n"
    bare = bare.replace("type: clear", "type: overcast")
    assert day_of_tree(parsed(bare)) is None
    place = {"latitude_deg": -33.87, "longitude_deg": 151.2}
    where: dict[str, Any] = {**place, "zone": "Australia/Sydney"}
    edited = made("located", scene=bare, at="2026-12-21 15:40", **where)
    when = instant_of(arranged(parsed(edited), "WIDE"))
    assert when is not None
    assert when.isoformat() == "2026-12-21T15:40:00+11:00"  # summer there
    assert "location: {latitude: 33.87 S, longitude: 151.2 E, zone: Australia/Sydney}" in edited
    placed = bare.replace("overcast, ", "clear, sun: {altitude: 30 deg, azimuth: 90 deg}, ")
    assert "sun" not in made("located", scene=placed, at="2026-12-21 15:40", **where)
    hourless = SCENE.replace(OWN, "nd: ND 0.3").replace(f"at: {SKY}", "outside: 12000 lx")
    hourless = hourless.replace("type: clear", "type: overcast")
    moved = parsed(made("located", scene=hourless, at="2026-12-21 15:40", **where)).location
    assert moved is not None
    assert moved == parsed(edited).location  # what is typed is never dropped
    with pytest.raises(DocumentError, match="no hour"):
        made("hour", scene=bare, at="12:00")


def test_the_tree_tells_every_setups_hour() -> None:
    told = day_of_tree(parsed(SCENE))
    assert told is not None
    assert (told["date"], told["zone"], told["sky"]) == ("2026-06-21", "Europe/London", "clear")
    clock = {"length": 1440, "ahead": [[0, 60]]}
    wide = {"at": "13:40", "date": "2026-06-21", "minute": 820.0, "own": False, "clock": clock}
    assert told["at"]["WIDE"] == wide
    assert told["at"]["LATE"] == {**wide, "at": "16:30", "minute": 990.0, "own": True}
    assert day_of_tree(parsed(TEXT)) is None
    # Clocks back: what shows 13:40 is 14 h and 40 min after midnight.
    told = day_of_tree(parsed(SCENE.replace("2026-06-21", "2026-10-25")))
    assert told is not None
    assert told["at"]["WIDE"]["minute"] == 880.0
    assert told["at"]["WIDE"]["clock"] == {"length": 1500, "ahead": [[0, 60], [120, 0]]}


def test_an_instant_is_of_the_setups_own_date() -> None:
    scene = parsed(SCENE.replace(OWN, "at: 2026-12-21 15:00"))
    assert instant_at(scene, "LATE", "12:00").isoformat() == "2026-12-21T12:00:00+00:00"
    assert instant_at(scene, "WIDE", None).isoformat() == "2026-06-21T13:40:00+01:00"
