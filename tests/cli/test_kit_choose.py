"""falloff kit choose as someone types it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.cli.test_commands import documented

from falloff.balance import CircuitLoad, Package, PackageLine, PlaceFilled

SCENE = """\
falloff: 2
title: Dark studio
units: metric

room:
  floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]
  height: 3 m
  floor_surface: black cloth
  ceiling_surface: black cloth
  wall_surface: black cloth

fixtures:
  # The head by the door: mind the cable.
  KEY:
    light: open face
    beam: 55 deg
    aperture: 12 cm
    output: 9000 lm  # a guess
    colour: 5600 K
    power: 200 W
    at: [1 m, 1 m, 2 m]
    aim: [4 m, 1 m, 2 m]
    stand: true
  SPARE:
    light: open face
    beam: 55 deg
    aperture: 12 cm
    output: 9000 lm
    colour: 5600 K
    at: [1 m, 3.4 m, 2 m]
    aim: [4 m, 3.4 m, 2 m]

house_power:
  supply: 230 V
  circuits:
    LEFT: {breaker: 10 A}
    RIGHT: {breaker: 10 A}

cameras:
  WIDE: {at: [0.4 m, 2 m, 1.5 m], aim: [3 m, 1 m, 1.8 m], lens: 24 mm, aspect: 16:9}

setups:
  WIDE SHOT: {camera: WIDE, stop: T4, iso: 400, shutter: 180 deg}
  DARKER: {like: WIDE SHOT, dims: {SPARE: 0 %}}

readings:
  the face: {at: [3 m, 1 m, 2 m], aim: KEY}

targets:
  face: {reading: the face, level: 0 stops}
  darker: {reading: the face, level: 0 stops, setups: [DARKER]}
"""

KIT = """\
falloff_kit = 1
title = "the van"
currency = "EUR"

[[item]]
item = "100 W LED, open face"
name = "little one"

[[item]]
item = "1.2 kW LED, open face"
name = "big one"

[[item]]
item = "300 W LED, open face"
name = "house head"
owned = false
day_rate = 15
"""


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A black room with a head in it, and a van's kit beside it."""
    path = tmp_path / "studio.scene.yaml"
    path.write_text(SCENE, encoding="utf-8")
    (tmp_path / "van.kit.toml").write_text(KIT, encoding="utf-8")
    return path


def _chosen(falloff: Falloff, studio: Path, *more: str | Path) -> dict[str, object]:
    told = falloff("kit", "choose", studio, *more, "--json")
    assert (told.code, told.err) == (0, "")
    found = json.loads(told.out)
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize(
    ("title", "record"),
    [
        ("A package", Package),
        ("A line of a package", PackageLine),
        ("A place filled", PlaceFilled),
        ("A circuit's load", CircuitLoad),
    ],
)
def test_the_page_tells_every_field(title: str, record: type) -> None:
    assert documented(title) == set(record.__struct_fields__)  # type: ignore[attr-defined]


def test_one_s_own_comes_first_though_it_is_bigger(falloff: Falloff, studio: Path) -> None:
    """At T4, ISO 400, 1/48 s key is 480 lx (ISO 2720, C = 250); the reading is 2 m from the head.

    The own 100 W gives 10,200 cd / 4 m² = 2,560 lx (catalogue; pencil): enough for a stop in hand.
    With three stops in hand it gives 320 lx, and the own 1.2 kW goes before the hired 300 W.
    """
    own = studio.parent / "van.kit.toml"
    found = _chosen(falloff, studio, "--own", own)
    assert set(found) == documented("falloff kit choose")
    best = found["best"]
    assert isinstance(best, dict)
    assert [(one["item"], one["owned"]) for one in best["lines"]] == [("little one", True)]
    assert best["hire"] == 0.0
    assert [one["light"] for one in best["places"]] == ["little one", ""]
    assert all(one["got"]["holds"] for one in best["targets"])
    assert best["circuits"][0]["circuit"] in {"LEFT", "RIGHT"}
    assert found["cheaper"]["lines"] == []  # type: ignore[index]
    more = _chosen(falloff, studio, "--own", own, "--reserve", "3 stops")
    best = more["best"]
    assert isinstance(best, dict)
    assert [one["item"] for one in best["lines"]] == ["big one"]
    assert all(hand >= 3.0 - 1e-6 for hand in best["places"][0]["in_hand"].values())


def test_the_scene_with_the_package_keeps_its_words_and_holds(
    falloff: Falloff, studio: Path, tmp_path: Path
) -> None:
    """What is written is read again, and every target holds in it as its dims are written."""
    folder = tmp_path / "tries"
    folder.mkdir()
    out = folder / "with van.scene.yaml"
    told = falloff("kit", "choose", studio, "--own", tmp_path / "van.kit.toml", "--out", out)
    assert told.code == 0, told.err
    assert "Written to" in told.out
    text = out.read_text(encoding="utf-8")
    assert "# The head by the door: mind the cable." in text
    assert "kit: little one" in text
    assert "own_kit: ../van.kit.toml" in text
    assert "SPARE" not in text
    balanced = falloff("balance", out, "--json")
    assert balanced.code == 0, balanced.err
    targets = [one for group in json.loads(balanced.out)["groups"] for one in group["targets"]]
    assert len(targets) == 3
    assert all(one["before"]["holds"] for one in targets)
    assert studio.read_text(encoding="utf-8") == SCENE


def test_without_a_kit_all_is_hired(falloff: Falloff, studio: Path) -> None:
    told = falloff("kit", "choose", studio)
    assert told.code == 0
    plain = " ".join(told.out.split())
    assert "so that all is hired" in plain
    assert "assumed rates" in plain
    assert "No target asks for a light at SPARE" in plain
    assert "licensed people" in plain


def test_a_kit_that_cannot_do_it_says_what_is_in_the_way(falloff: Falloff, studio: Path) -> None:
    """Six stops in hand leave 40 lx of the 100 W head's 2,560: the kit alone is asked."""
    own = studio.parent / "van.kit.toml"
    small = KIT.replace("1.2 kW LED, open face", "60 W LED, open face")
    own.write_text(small, encoding="utf-8")
    told = falloff("kit", "choose", studio, "--own", own, "--kit-only", "--reserve", "6 stops")
    assert told.code == 0
    plain = " ".join(told.out.split())
    assert "No package brings every target in with 6 stops in hand" in plain
    assert "But for the reserve every target would hold." in plain


def test_faults_are_told_together(falloff: Falloff, tmp_path: Path) -> None:
    bare = tmp_path / "bare.scene.yaml"
    house = SCENE.index("house_power:")
    text = SCENE[: SCENE.index("fixtures:")] + SCENE[house : SCENE.index("readings:")]
    bare.write_text(text.replace(", dims: {SPARE: 0 %}", ""), encoding="utf-8")
    told = falloff("kit", "choose", bare)
    assert told.code == 2
    assert "no place to fill" in told.err
    assert "nothing can be chosen by" in told.err


@pytest.mark.parametrize(
    ("kit", "says"),
    [
        (KIT.replace("100 W LED", "100 W LEED"), "the catalogue has no"),
        (KIT + "\n[[item]\n", "not TOML"),
        (KIT.replace("day_rate = 15", "day_rate = -15"), "day_rate"),
    ],
)
def test_a_bad_kit_file_is_told(falloff: Falloff, studio: Path, kit: str, says: str) -> None:
    own = studio.parent / "van.kit.toml"
    own.write_text(kit, encoding="utf-8")
    told = falloff("kit", "choose", studio, "--own", own)
    assert told.code == 2
    assert says in told.err


@pytest.mark.parametrize("reserve", ["lots", "-1 stop", "7 stops"])
def test_a_reserve_that_makes_no_sense_is_refused(
    falloff: Falloff, studio: Path, reserve: str
) -> None:
    told = falloff("kit", "choose", studio, "--reserve", reserve)
    assert told.out == ""
    assert "stop" in told.err
    assert told.code == 2


def test_nothing_but_a_kit_that_there_is_none_of_is_refused(falloff: Falloff, studio: Path) -> None:
    told = falloff("kit", "choose", studio, "--kit-only")
    assert told.code == 2
    assert "there is none" in told.err


def test_half_a_stop_may_be_written_as_a_fraction(falloff: Falloff, studio: Path) -> None:
    found = _chosen(falloff, studio, "--reserve", "1/2 stop")
    assert found["reserve_stops"] == pytest.approx(0.5)


POCKET = 'falloff_kit = 1\n[[item]]\nitem = "10 W bi-colour LED panel"\n'
LAMP = """\
practicals:
  LAMP: {light: globe, diameter: 6 cm, output: 300 lm, colour: 2700 K, at: [3 m, 2.2 m, 2 m]}

house_power:
"""


def _with_a_lamp(studio: Path, targets: str) -> None:
    """One setup that may be shut down six stops, a bulb in shot, these targets."""
    text = SCENE[: SCENE.index("  DARKER:")] + SCENE[SCENE.index("readings:") :]
    text = text[: text.index("targets:")].replace("house_power:\n", LAMP)
    free = "shutter: 180 deg, key: the face, free: {stop: [T2, T16]}"
    text = text.replace("shutter: 180 deg", free) + f"targets:\n{targets}"
    studio.write_text(text, encoding="utf-8")


def test_a_kit_that_has_nothing_like_it_is_not_told_to_need_nothing(
    falloff: Falloff, studio: Path
) -> None:
    """What is written is a hard head; the kit has a panel. A limit holds the better the darker."""
    _with_a_lamp(
        studio,
        "  face: {reading: the face, level: 0 stops}\n"
        "  no brighter: {reading: the face, level: 3 stops, limit: at most}\n",
    )
    own = studio.parent / "van.kit.toml"
    own.write_text(POCKET, encoding="utf-8")
    found = _chosen(falloff, studio, "--own", own, "--kit-only")
    best, says = found["best"], found["says"]
    assert isinstance(best, dict)
    assert isinstance(says, list)
    assert says[0] == (
        "Nothing that is offered brings every target in: with no fixture at all 1 of 2 hold."
    )
    assert "is like what is written at KEY and SPARE" in says[1]
    # As wide as it goes: two stops over the T4 that is written (pencil), never shut down.
    assert [one["stop"] for one in best["exposures"]] == [2.0]
    # pencil: a bulb's 300/4π cd at 1.2 m is 16.6 lx, and the meter faces KEY, square to it; what
    # little the black cloth gives back leaves the face far under key
    (face, _) = best["targets"]
    assert face["short"] > 3.0
    # The catalogue for hire does it, and says at what cost.
    hired = found["with_hire"]
    assert isinstance(hired, dict)
    assert [one["owned"] for one in hired["lines"]] == [False]
    assert all(one["got"]["holds"] for one in hired["targets"])
    assert any(one.startswith("With hire besides, bring 1 × ") for one in says)


def test_a_key_that_nothing_asks_for_is_told_to_be_dark(falloff: Falloff, studio: Path) -> None:
    """Limits hold in the dark; that the setup's own key is dark then is said."""
    _with_a_lamp(studio, "  not hot: {reading: the face, level: 1 stop, limit: at most}\n")
    found = _chosen(falloff, studio, "--own", studio.parent / "van.kit.toml", "--kit-only")
    says = found["says"]
    assert isinstance(says, list)
    assert found["best"]["exposures"] == []  # type: ignore[index]
    told = " ".join(says)
    assert says[0].startswith("These targets ask for no fixture")
    assert "stops under key then, and no target says how bright it is to be" in told
    assert "add one, such as {reading: the face, level: 0 stops}" in told


def test_margins_reserves_and_what_goes_first_are_told(falloff: Falloff, studio: Path) -> None:
    own = studio.parent / "van.kit.toml"
    found = _chosen(falloff, studio, "--own", own)
    best = found["best"]
    assert isinstance(best, dict)
    first = best["first_to_break"]
    # The face has one light: it may lose what its margin is, and goes with it (pencil).
    assert first["source"] == "KEY"
    margins = [one["got"]["margin"] for one in best["targets"]]
    assert abs(first["stops"]) == pytest.approx(min(margins), abs=0.03)
    told = falloff("kit", "choose", studio, "--own", own)
    plain = " ".join(told.out.split())
    assert "least in hand" in plain
    assert "margin" in plain
    assert f"in {first['setup']} goes first: KEY giving" in plain
