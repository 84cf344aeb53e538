"""What is re-estimated of a room: exact at the end, modifiers shared, sun apart, edits."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.record.rooms import (
    BUDGET,
    GRAIN,
    ROOM,
    compared,
    correction_of,
    read_at,
    room_of,
    small_room,
    taken,
    with_values,
    x_of,
)

from falloff.document import SceneDocument, edit_text, parse_document
from falloff.layers import trace_layers
from falloff.record import (
    Compared,
    Corrected,
    Stood,
    Taken,
    begin_with,
    daylight_said,
    edits_of,
)
from falloff.session.scene import known_names, setup_light
from falloff.stage import build_stage
from falloff.stage.assemble import coat_of
from falloff.types import Float64Array

READ = [
    taken("key side", 1.0, "PANEL", "WINDOW", name="key side, PANEL"),
    taken("back wall", 1.0),
    taken("up", 1.0, "WINDOW"),
]


def correction(found: Compared, kind: str, name: str) -> Corrected:
    one = correction_of(found.corrections, kind, name)
    assert one is not None, [(c.kind, c.name) for c in found.corrections.corrected]
    return one


def put_right(text: str, told: dict[str, float]) -> tuple[Compared, Float64Array]:
    """A room whose true values are so many stops off, found by readings without error."""
    stood = small_room(text)
    room = room_of(stood, compared(stood, READ))
    true = x_of(compared(stood, READ), told)
    return compared(stood, with_values(READ, read_at(room, READ, true))), true


def documents(text: str, found: Compared) -> tuple[SceneDocument, str]:
    """The scene's document and its text with the corrections written."""
    document = parse_document(text, "small.scene.yaml", known=known_names())
    edits = edits_of(document, found.unknowns, found.x, daylight=daylight_said(document))
    return document, edit_text(text, edits)


def traced(text: str) -> dict[str, float]:
    """Every reading of a scene as it is lit, traced from nothing; lux or cd/m²."""
    document = parse_document(text, "small.scene.yaml", known=known_names())
    layers = trace_layers(build_stage(document, grain=GRAIN), BUDGET, sizes={})
    stood = Stood(document, {"WIDE": setup_light(document, "WIDE")}, layers)
    names = [probe.name for probe in layers.probes.probes]
    room = room_of(stood, compared(stood, READ))
    values = read_at(room, [taken(one, 1.0) for one in names], np.zeros(len(room.unknowns)))
    return dict(zip(names, values, strict=True))


def test_what_is_told_of_the_corrected_plan_is_its_trace() -> None:
    # The corrected scene as text, read, built and traced from nothing: what the fit told of it,
    # to within the four figures that are written.
    found, _ = put_right(ROOM, {"PANEL": -0.6, "HEAD": 0.4, "plaster": -0.9, "sky": 0.5})
    _, text = documents(ROOM, found)
    assert "reflectance" in text
    assert "outside: 9000 lx" not in text
    again = traced(text)
    for one in found.corrections.plan:
        assert_allclose(one.after, again[one.reading], rtol=4e-3)


def test_the_text_keeps_all_but_what_was_corrected() -> None:
    found, _ = put_right(ROOM, {"PANEL": -0.6})
    noted = ROOM.replace("sky: {", "sky: { # as metered by the door\n  ")
    document = parse_document(noted, "small.scene.yaml", known=known_names())
    edits = edits_of(document, found.unknowns, found.x, daylight=daylight_said(document))
    text = edit_text(noted, edits)
    assert "# as metered by the door" in text
    was, now = noted.splitlines(), text.splitlines()
    assert {line for line in was if line not in now} <= {
        line for line in was if "PANEL:" in line or "HEAD:" in line or "outside" in line
    }


def test_materials_of_the_scene_are_written_where_they_stand() -> None:
    own = ROOM.replace(
        "openings:", "materials:\n  plaster: {reflectance: 0.6, tint: [1.06, 0.99, 0.82]} # old\n"
        "openings:",
    )  # fmt: skip
    found, true = put_right(own, {"plaster": -1.2})
    _, text = documents(own, found)
    told = correction(found, "reflectance", "plaster")
    assert told.found < 0.55
    assert f"plaster: {{reflectance: {told.found:.3f}".rstrip("0") in text
    assert "# old" in text
    assert true.any()


def test_a_lamp_alone_is_found_to_a_hair() -> None:
    # Read at arm's length with nothing else on: all of the change is the lamp's. The spreads
    # leave x = off p² / (p² + σ²), more where it is far out: within a tenth of a stop.
    text = ROOM.replace("readings:", "readings:\n  near: {at: [3.4 m, 0.65 m, 1.86 m], "
                        "normal: [0.8, -0.5, 0.3]}")  # fmt: skip
    stood = small_room(text)
    read = [taken("near", 1.0, "PANEL", name=f"near {k}") for k in range(3)]
    room = room_of(stood, compared(stood, read))
    true = x_of(compared(stood, read), {"PANEL": -1.0})
    found = compared(stood, with_values(read, read_at(room, read, true)))
    one = correction(found, "output", "PANEL")
    assert one.stops == pytest.approx(-1.0, abs=0.1)
    assert one.spread_stops < 0.12
    assert one.found == pytest.approx(2500.0, rel=0.07)


def test_reflectances_stay_within_what_a_surface_can_be() -> None:
    found, _ = put_right(ROOM, {"plaster": 6.0, "planks": -6.0, "white paint": 6.0})
    for one in found.corrections.corrected:
        if one.kind == "reflectance":
            assert 0.02 <= one.found <= 0.95
            assert 0.0 < one.low < one.found < one.high < 1.0


# Modifiers -------------------------------------------------------------------------------

BOX = '{kit: "300 W LED, open face", modifier: ["90 cm soft box"], '
AWAY = ROOM.replace("at: [3.5 m, 0.6 m, 1.9 m]", "at: [3 m, 0.9 m, 1.7 m]").replace(
    "at: [0.5 m, 0.4 m, 2.1 m]", "at: [1.1 m, 0.9 m, 1.7 m]"
)
BOXED = AWAY.replace(
    "{light: panel, size: [60 cm, 30 cm], output: 5000 lm, colour: 5600 K,\n    ", BOX
).replace(
    "{light: open face, profile: open-face spot, aperture: 12 cm, output: 1500 lm,\n    "
    "colour: 3200 K, ", BOX,
)  # fmt: skip


def test_a_modifier_that_two_units_share_is_told_apart_from_their_outputs() -> None:
    stood = small_room(BOXED)
    read = [
        taken("key side", 1.0, "PANEL"),
        taken("back wall", 1.0, "HEAD"),
        taken("up", 1.0, "WINDOW"),
    ]
    first = compared(stood, read)
    room = room_of(stood, first)
    true = x_of(first, {"90 cm soft box": -0.8})
    found = compared(stood, with_values(read, read_at(room, read, true)))
    box = correction(found, "modifier", "90 cm soft box")
    lamps = [correction(found, "output", name) for name in ("PANEL", "HEAD")]
    # Both are down alike: more of it is the box than either lamp, in spreads that were assumed.
    assert box.stops < -0.3
    assert box.moved < min(one.moved for one in lamps)
    assert not [one for one in found.corrections.findings if "cannot be told apart" in one.says]
    (note,) = [one for one in found.corrections.findings if one.about == "90 cm soft box"]
    assert "written into the output of PANEL and HEAD" in note.says


def test_a_modifier_of_one_unit_is_in_its_output_and_that_is_said() -> None:
    text = AWAY.replace(
        "{light: panel, size: [60 cm, 30 cm], output: 5000 lm, colour: 5600 K,\n    ", BOX
    )
    found = compared(small_room(text), READ)
    assert correction_of(found.corrections, "modifier", "90 cm soft box") is None
    (note,) = [one for one in found.corrections.findings if "cannot be told apart" in one.says]
    assert note.about == "PANEL"
    # The spreads of lamp and box together: more than the lamp's own.
    alone = next(one for one in compared(small_room(), READ).unknowns if one.name == "PANEL")
    mine = next(one for one in found.unknowns if one.name == "PANEL")
    assert mine.prior > alone.prior


def test_a_kit_light_gets_its_output_written() -> None:
    stood = small_room(BOXED)
    read = [taken("key side", 1.0, "PANEL")]
    room = room_of(stood, compared(stood, read))
    true = x_of(compared(stood, read), {"PANEL": -1.0})
    values = read_at(room, read, true)
    found = compared(stood, with_values(read, values))
    _, text = documents(BOXED, found)
    assert "output:" in text
    after = next(one.after for one in found.corrections.plan if one.reading == "key side")
    assert_allclose(traced(text)["key side"], after, rtol=4e-3)


# Sun -------------------------------------------------------------------------------------

SUNNY = ROOM.replace(
    "sky: {type: overcast, outside: 9000 lx}",
    "sky: {type: clear, outside: 9000 lx, north: 90 deg, "
    "sun: {altitude: 35 deg, azimuth: 240 deg, illuminance: 60000 lx}}",
)


def sunny_read() -> list[Taken]:
    return [
        taken("up", 1.0, "WINDOW", "sun", name="daylight"),
        taken("back wall", 1.0, "WINDOW", "sun", name="back wall, daylight"),
        taken("shadow side", 1.0, "WINDOW", "sun", name="shadow side, daylight"),
    ]


def test_the_sun_is_apart_from_the_sky_and_both_are_written() -> None:
    stood = small_room(SUNNY)
    read = sunny_read()
    first = compared(stood, read)
    assert {"sky", "sun"} <= {one.kind for one in first.unknowns}
    room = room_of(stood, first)
    true = x_of(first, {"sky": 0.7, "sun": -0.5})
    values = read_at(room, read, true)
    found = compared(stood, with_values(read, values))
    for read_back in found.corrections.readings:
        assert read_back.after_stops == pytest.approx(0.0, abs=0.15)
    _, text = documents(SUNNY, found)
    assert "outside: 9000 lx" not in text
    again = traced(text)
    for one in found.corrections.plan:
        assert_allclose(one.after, again[one.reading], rtol=6e-3)


@pytest.mark.parametrize(
    ("sky", "key"),
    [
        ("type: overcast, zenith: 3500 cd/m2", "zenith"),
        ("type: overcast, at_glass: {opening: WINDOW, reads: 400 fc}", "reads"),
        ("type: overcast, at: 2026-03-24 13:30", "outside"),
    ],
)
def test_the_sky_is_corrected_in_the_words_it_was_told(sky: str, key: str) -> None:
    place = "location: {latitude: 52 N, longitude: 1 W, zone: Europe/London}\n"
    text = ROOM.replace("sky: {type: overcast, outside: 9000 lx}", f"{place}sky: {{{sky}}}")
    stood = small_room(text)
    read = [taken("up", 1.0, "WINDOW"), taken("away", 1.0, "WINDOW")]
    first = compared(stood, read)
    true = x_of(first, {"sky": 0.8})
    found = compared(stood, with_values(read, read_at(room_of(stood, first), read, true)))
    told = correction(found, "sky", "sky")
    assert told.stops == pytest.approx(0.75, abs=0.2)
    _, edited = documents(text, found)
    (line,) = [line for line in edited.splitlines() if line.startswith("sky:")]
    assert f"{key}: " in line
    assert ("fc" in line) == ("fc" in sky)
    for one in found.corrections.plan:
        assert_allclose(one.after, traced(edited)[one.reading], rtol=5e-3)


# What next -------------------------------------------------------------------------------


def test_the_next_reading_tells_what_it_says_it_would() -> None:
    stood = small_room()
    room = room_of(stood, compared(stood, READ[:1]))
    zero = np.zeros(len(room.unknowns))
    first = compared(stood, with_values(READ[:1], read_at(room, READ[:1], zero)))
    further = first.corrections.further
    assert further is not None
    on = {
        "all on": (), "daylight alone": ("WINDOW",), "PANEL and daylight": ("PANEL", "WINDOW"),
        "HEAD and daylight": ("HEAD", "WINDOW"),
    }[further.on]  # fmt: skip
    following = [*READ[:1], taken(further.reading, 1.0, *on, name="next")]
    found = compared(stood, with_values(following, read_at(room, following, zero)))
    spreads = [
        math.sqrt(np.mean([one.spread_after_stops**2 for one in done.corrections.plan]))
        for done in (first, found)
    ]
    assert spreads[0] == pytest.approx(further.plan_before_stops, rel=0.02)
    assert spreads[1] == pytest.approx(further.plan_after_stops, rel=0.1)
    assert further.expected == pytest.approx(read_at(room, [following[-1]], zero)[0], rel=0.05)


def test_no_other_single_reading_would_tell_more() -> None:
    # source: a search by force over every other reading with all on
    stood = small_room()
    room = room_of(stood, compared(stood, READ[:1]))
    zero = np.zeros(len(room.unknowns))
    first = compared(stood, with_values(READ[:1], read_at(room, READ[:1], zero)))
    further = first.corrections.further
    assert further is not None
    for name in ("key side", "shadow side", "up", "back wall", "away"):
        following = [*READ[:1], taken(name, 1.0, name="next")]
        found = compared(stood, with_values(following, read_at(room, following, zero)))
        plan = found.corrections.plan
        left = math.sqrt(np.mean([one.spread_after_stops**2 for one in plan]))
        assert left >= further.plan_after_stops - 0.01


def test_what_to_read_first_is_named_before_anything_was_read() -> None:
    """Each is best beside those before it, and its spread goes on from theirs."""
    stood = small_room()
    first = begin_with([stood], next(iter(stood.setups)))
    assert len({(one.reading, one.on) for one in first}) == len(first) > 1
    for one, following in itertools.pairwise(first):
        assert one.plan_before_stops > one.plan_after_stops
        assert following.plan_before_stops == pytest.approx(one.plan_after_stops, rel=1e-9)
    # What is on in them tells every lamp apart: neither is left unread while another is twice.
    assert {light for one in first for light in ("PANEL", "HEAD") if light in one.on} == {
        "PANEL",
        "HEAD",
    }


def test_a_corrected_floor_keeps_its_varnish() -> None:
    found, _ = put_right(ROOM, {"planks": 1.5, "plaster": 0.5})
    document, text = documents(ROOM, found)
    after = parse_document(text, "small.scene.yaml", known=known_names())
    assert coat_of("planks", after) == coat_of("planks", document) == (0.04, 0.4)
    assert coat_of("plaster", after) == (0.0, 1.0)
