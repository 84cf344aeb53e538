"""Things moved, aimed and turned: where they then stand, and that they are written as before."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from tests.unit.page.worked_scene import (
    TEXT,
    changed,
    differing,
    differing_part,
    off_m,
    parsed,
    placer_of,
)

from falloff.document import OnPlace
from falloff.errors import DocumentError
from falloff.page.changes import edits_of
from falloff.stage.moving import clock_text

LENGTH_M = 0.002  # what lengths are rounded by
QUARTER_INCH_M = 0.0064
HALF_MINUTE_RAD = math.radians(0.25)  # half a minute of the hour


@pytest.mark.parametrize(
    ("name", "point", "old", "new"),
    [
        # pencil: the numbers asked for, in the unit and the form that were there
        ("TABLE", (2.25, 1.4), "[2 m, 1.5 m],", "[2.25 m, 1.4 m],"),
        ("BLOCK", (5.2, 0.9), "0.6 m] ", "0.9 m] "),
        ("BLOCK", (5.2, 0.6, 0.5), "[5.2 m, 0.6 m] ", "[5.2 m, 0.6 m, 0.5 m] "),
        ("HEAD", (3.048, 1.2192, 2.4384), "3 ft,", "4 ft,"),
        ("HEAD", (3.048, 0.9144, 2.2), "8 ft]}", "7.22 ft]}"),
        ("GLOBE", (5.0, 4.0), "[5.4 m, 4.4 m]}", "[5 m, 4 m]}"),
        ("A", (3.6, 0.45, 1.5), "0.4 m,", "0.45 m,"),
        ("in the air", (1.0, 1.5, 1.5), "[1 m, 1 m, 1.5 m],", "[1 m, 1.5 m, 1.5 m],"),
        ("in the air", (1.0, 1.03048, 1.5), "1 m, 1.5 m]", "1.03 m, 1.5 m]"),
        ("COOK", (3.1, 3.5), "[3 m,", "[3.1 m,"),
        ("PICTURE", (6.0, 1.8288, 1.5), "5 ft,", "6 ft,"),
    ],
)
def test_what_is_written(name: str, point: tuple[float, ...], old: str, new: str) -> None:
    change = {"do": "place", "name": name, **dict(zip(("x_m", "y_m", "z_m"), point, strict=False))}
    found = differing_part(changed(change))
    assert (found[0] in old, found[1] in new) == (True, True), found
    assert changed(change) == TEXT.replace(*_lines_with(name, old, new))


def _lines_with(name: str, old: str, new: str) -> tuple[str, str]:
    """The scene's own text from a name to the old part, with the old and with the new one."""
    start = TEXT.index(f"  {name}:")
    end = TEXT.index(old, start) + len(old)
    return TEXT[start:end], TEXT[start:end].removesuffix(old) + new


X, Y, Z = st.floats(0.3, 5.7), st.floats(0.3, 4.7), st.floats(0.2, 2.6)


@settings(max_examples=8, deadline=None, phases=[Phase.generate], derandomize=True)
@given(st.sampled_from(["TABLE", "BLOCK", "GLOBE", "SOLID", "A", "COOK", "HEAD"]), X, Y, Z)
def test_points_are_met(name: str, x: float, y: float, z: float) -> None:
    edited = changed({"do": "place", "name": name, "x_m": x, "y_m": y, "z_m": z})
    assert off_m(edited, name, (x, y, z)) < LENGTH_M


@settings(max_examples=6, deadline=None, phases=[Phase.generate], derandomize=True)
@given(st.sampled_from(["KEY", "FILL", "LOW", "B"]), X, Y, Z)
def test_places_from_something_are_met_to_the_minute(
    name: str, x: float, y: float, z: float
) -> None:
    edited = changed({"do": "place", "name": name, "x_m": x, "y_m": y, "z_m": z})
    placer = placer_of(edited)
    start = placer.origin({"LOW": "TABLE", "B": "GUEST"}.get(name, "COOK"))
    far = float(np.hypot(x - start[0], y - start[1]))
    allowed = LENGTH_M if name != "FILL" else QUARTER_INCH_M
    assert off_m(edited, name, (x, y, z)) < allowed + far * HALF_MINUTE_RAD
    assert_allclose(np.hypot(*(placer.origin(name) - start)[:2]), far, atol=allowed)
    place = getattr(parsed(edited), placer.kind_of(name))[name].at
    assert place.distance.text.endswith({"KEY": "ft", "FILL": '"'}.get(name, "m"))


def test_a_place_in_one_text_stays_one() -> None:
    # pencil: she stands at [3 m, 3.5 m] and faces 250 deg, that is 6 o'clock; 2 m due east is
    # 250 deg clockwise of it, 8 h 20 min: 14:20, or 2:20. Her 5 ft become 6.56 ft.
    edited = changed({"do": "place", "name": "KEY", "x_m": 5.0, "y_m": 3.5, "z_m": 1.5})
    assert differing_part(edited) == (
        "\"5 ft from COOK, 4 o'clock, 6",
        "\"6.56 ft from COOK, 2:20 o'clock, 4.92",
    )
    low = changed({"do": "place", "name": "KEY", "z_m": 0.0})
    assert differing_part(low) == ("6", "0")


def test_a_place_in_parts_keeps_its_parts_and_its_remark() -> None:
    edited = changed({"do": "place", "name": "FILL", "x_m": 5.0, "y_m": 3.5, "z_m": 1.5})
    # pencil: 2 m are 78.74 in, 6' 6 3/4" to the quarter
    assert differing(edited) == [
        (
            '    at: {from: COOK, distance: 5\' 6", clock: "8:30", height: 180 cm}  # soft',
            '    at: {from: COOK, distance: 6\' 6.75", clock: "2:20", height: 150 cm}  # soft',
        )
    ]


def test_a_height_that_was_left_out_is_added_only_where_it_is_needed() -> None:
    flat = changed({"do": "place", "name": "LOW", "x_m": 2.0, "y_m": 3.0})
    assert "{from: TABLE, distance: 1.5 m, clock: 12:40}" in flat  # pencil: 6 h − 160 deg / 30
    high = changed({"do": "place", "name": "LOW", "x_m": 2.0, "y_m": 3.0, "z_m": 0.5})
    assert "{from: TABLE, distance: 1.5 m, clock: 12:40, height: 0.5 m}" in high


def test_what_is_raised_alone_stays_where_it_is() -> None:
    before = placer_of(TEXT).origin("KEY")
    edited = changed({"do": "place", "name": "KEY", "z_m": 2.0})
    assert off_m(edited, "KEY", (before[0], before[1], 2.0)) < LENGTH_M
    assert "4 o'clock, 6.56 ft up" in edited
    assert edits_of(parsed(), "ONE", {"do": "place", "name": "KEY", "z_m": 2.0}, text=str)[
        1
    ] == "KEY raised"  # fmt: skip


def test_exactly_where_it_is_measured_from_the_clock_stays() -> None:
    edited = changed({"do": "place", "name": "LOW", "x_m": 2.0, "y_m": 1.5})
    assert "{from: TABLE, distance: 0 m, clock: 3}" in edited


@settings(max_examples=6, deadline=None, phases=[Phase.generate], derandomize=True)
@given(st.sampled_from(["VASE", "CUP"]), st.floats(-0.6, 0.6), st.floats(-0.3, 0.3))
def test_on_a_prop_it_stays_on_it(name: str, along: float, across: float) -> None:
    turn = math.radians(20.0)
    u, v = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    x, y = np.array([2.0, 1.5]) + along * u + across * v
    edited = changed({"do": "place", "name": name, "x_m": x, "y_m": y})
    assert off_m(edited, name, (x, y, 0.74)) < LENGTH_M
    place = parsed(edited).props[name].at
    assert isinstance(place, OnPlace)
    assert_allclose(place.offset[0].si, along, atol=0.001)
    assert_allclose(place.offset[1].si, across, atol=0.001)
    assert place.offset[0].text.endswith("cm" if name == "VASE" else "m")


def test_on_a_wall_it_stays_on_it_until_another_is_nearer() -> None:
    along = changed({"do": "place", "name": "PICTURE", "x_m": 5.8, "y_m": 2.0, "z_m": 1.2})
    assert off_m(along, "PICTURE", (6.0, 2.0, 1.2)) < LENGTH_M
    assert "{wall: 2, along: 6.56 ft, height: 1.2 m}" in along
    other = changed({"do": "place", "name": "PICTURE", "x_m": 2.0, "y_m": 4.9, "z_m": 1.5})
    assert off_m(other, "PICTURE", (2.0, 5.0, 1.5)) < LENGTH_M
    assert "{wall: 3, along: 13.12 ft, height: 1.5 m}" in other  # pencil: 6 m − 2 m = 4 m
    for x, y in ((5.75, 4.82), (5.72, 0.2)):  # in a corner, the other wall 7 and 8 cm nearer
        corner = changed({"do": "place", "name": "PICTURE", "x_m": x, "y_m": y})
        assert "{wall: 2, along:" in corner
    beyond = changed({"do": "place", "name": "PICTURE", "x_m": 6.3, "y_m": 7.0})
    assert "{wall: 2, along: 16.4 ft," in beyond  # pencil: its end, 5 m


def test_a_setup_that_moves_a_thing_has_its_own_entry_changed() -> None:
    edited = changed({"do": "place", "name": "KEY", "x_m": 4.5, "y_m": 1.5}, setup="TWO")
    assert differing_part(edited) == ("[4", "[4.5")
    through_like = changed({"do": "place", "name": "KEY", "x_m": 4.5, "y_m": 1.5}, setup="THREE")
    assert through_like == edited
    assert off_m(edited, "KEY", tuple(placer_of(TEXT).origin("KEY"))) == 0.0
    high = changed({"do": "place", "name": "BLOCK", "z_m": 0.3}, setup="TWO")
    assert differing(high) == [
        ("        at: [5 m, 1 m]   # nearer", "        at: [5 m, 1 m, 0.3 m]   # nearer")
    ]
    unmoved = changed({"do": "place", "name": "TABLE", "x_m": 2.1}, setup="TWO")
    assert differing_part(unmoved) == ("[2", "[2.1")


# Aims and turns --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "old", "new"),
    [
        # pencil
        (
            {"name": "KEY", "at": "GUEST.face"},
            "aim: COOK.face}\n  FILL",
            "aim: GUEST.face}\n  FILL",
        ),
        (
            {"name": "FILL", "at": "COOK.face"},
            "aim: [3 m, 3.5 m, 1.4 m]  # her hands",
            "aim: COOK.face  # her hands",
        ),
        (
            {"name": "FILL", "at": "TABLE"},
            "aim: [3 m, 3.5 m, 1.4 m]  # her hands",
            "aim: TABLE  # her hands",
        ),
        (
            {"name": "FILL", "x_m": 3.0, "y_m": 3.2, "z_m": 1.4},
            "[3 m, 3.5 m, 1.4 m]",
            "[3 m, 3.2 m, 1.4 m]",
        ),
        ({"name": "DOWN LIGHT", "at": "TABLE"}, "aim: down", "aim: TABLE"),
        (
            {"name": "SOLID", "x_m": 1.0, "y_m": 0.0, "z_m": -0.04567},
            "aim: COOK}\ncameras",
            "aim: [1 m, 0 m, -0.0457 m]}\ncameras",
        ),
        ({"name": "A", "at": "GUEST"}, "aim: COOK.chest", "aim: GUEST"),
    ],
)
def test_aims(change: dict[str, object], old: str, new: str) -> None:
    assert TEXT.count(old) == 1
    assert changed({"do": "aim", **change}) == TEXT.replace(old, new)


@pytest.mark.parametrize(
    ("name", "by_deg", "old", "new"),
    [
        # pencil: 20 + 30 deg; 250 + 20 deg is −90 deg; towards COOK, atan2(1, −1.5) = 146.3 deg
        ("TABLE", 30.0, "turn: 20 deg", "turn: 50 deg"),
        ("TABLE", -190.0, "turn: 20 deg", "turn: -170 deg"),
        ("BLOCK", 12.34, "    surface: oak\n", "    surface: oak\n    turn: 12.3 deg\n"),
        ("COOK", 20.0, "facing: 250 deg", "facing: -90 deg"),
        ("GUEST", 10.0, "facing: COOK", "facing: 156.3 deg"),
    ],
)
def test_turns(name: str, by_deg: float, old: str, new: str) -> None:
    edited = changed({"do": "turn", "name": name, "by_deg": by_deg})
    assert edited == TEXT.replace(*_lines_with(name, old, new))


@pytest.mark.parametrize("name", ["KEY", "FILL", "SOLID", "A", "LOW"])
def test_what_is_aimed_turns_about_itself(name: str) -> None:
    before, after = placer_of(TEXT), placer_of(changed({"do": "turn", "name": name, "by_deg": 30}))
    assert_allclose(after.origin(name), before.origin(name))
    old, new = (
        one.aim_point(getattr(one.document, one.kind_of(name))[name].aim) - one.origin(name)  # type: ignore[operator]
        for one in (before, after)
    )
    cos, sin = math.cos(math.radians(30)), math.sin(math.radians(30))
    turned = [cos * old[0] - sin * old[1], sin * old[0] + cos * old[1], old[2]]
    assert_allclose(new, turned, atol=LENGTH_M)


def test_a_setups_own_facing_turns() -> None:
    edited = changed({"do": "turn", "name": "GUEST", "by_deg": 10}, setup="TWO")
    assert differing_part(edited) == ("90", "100")


@pytest.mark.parametrize(
    ("hour", "said"),
    [(4.0, "4"), (7 + 40 / 60, "7:40"), (0.0, "12"), (12.0, "12"), (0.5, "12:30"), (11.9999, "12"),
     (3 + 5 / 60, "3:05"), (1.999, "2")],
)  # fmt: skip
def test_clock_text(hour: float, said: str) -> None:
    assert clock_text(hour) == said  # pencil


@pytest.mark.parametrize(
    ("change", "what"),
    [
        # snapshot: our own wording
        ({"do": "place", "name": "NOBODY", "x_m": 1}, "there is no NOBODY in the scene any more"),
        ({"do": "place", "name": "WINDOW", "x_m": 1}, "WINDOW is part of the room"),
        ({"do": "place", "name": "ROOF", "x_m": 1}, "WINDOW is part of the room"),
        ({"do": "place", "name": "cheek", "x_m": 1}, "cheek is read on COOK"),
        ({"do": "place", "name": "ONE", "x_m": 1}, "ONE stands nowhere, so it cannot be moved"),
        ({"do": "place", "name": "face", "x_m": 1}, "face stands nowhere, so it cannot be moved"),
        ({"do": "place", "name": "KEY", "x_m": "far"}, "the change 'place' cannot be read"),
        (
            {"do": "place", "name": "TABLE", "x_m": math.nan},
            "x_m of the change 'place' is no number",
        ),
        (
            {"do": "place", "name": "TABLE", "x_m": math.inf},
            "x_m of the change 'place' is no number",
        ),
        ({"do": "aim", "name": "GLOBE", "at": "COOK"}, "GLOBE has nothing to aim"),
        ({"do": "aim", "name": "TABLE", "at": "COOK"}, "TABLE has nothing to aim"),
        ({"do": "aim", "name": "KEY", "x_m": 1.0}, "the change 'aim' lacks 'y_m'"),
        ({"do": "turn", "name": "HEAD", "by_deg": 1}, "HEAD shines all round"),
        ({"do": "turn", "name": "DOWN LIGHT", "by_deg": 1}, "DOWN LIGHT looks straight down"),
        ({"do": "turn", "name": "KEY"}, "the change 'turn' lacks 'by_deg'"),
    ],
)
def test_what_cannot_be_moved_is_told(change: dict[str, object], what: str) -> None:
    what = what.replace("WINDOW", str(change["name"]))
    with pytest.raises(DocumentError, match=what):
        edits_of(parsed(), "ONE", change, text=lambda: TEXT)


def test_what_is_not_there_in_a_setup_cannot_be_moved_in_it() -> None:
    with pytest.raises(DocumentError, match="SOLID is not there in TWO"):
        edits_of(parsed(), "TWO", {"do": "place", "name": "SOLID", "x_m": 1}, text=lambda: TEXT)
