"""What a quick start says: stops, amps, sentences, each assumption's worth, the first change."""

from __future__ import annotations

import dataclasses
import math
import re

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.session.quick import advise as advising
from falloff.session.quick.advise import advise
from falloff.session.quick.answer import QuickAnswer, quick_answer
from falloff.session.quick.ask import SITUATIONS, read_plan
from falloff.session.quick.assume import Assumption, assumptions
from falloff.session.quick.fits import impossible
from falloff.session.quick.frame import window_in_frame
from falloff.session.quick.glass import in_glass
from falloff.session.quick.marks import nd_text, ratio_text, stop_text, stops_long
from falloff.session.quick.measure import Figures, Measured, measure, share_of
from falloff.session.quick.plan import Plan, Situation, System
from falloff.session.quick.room import clock_way
from falloff.session.quick.sentences import alone, amps_of, sentences
from falloff.session.quick.words import OUTSIDE, WALLS
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names
from falloff.stage import Grain, build_stage
from falloff.transport import Budget, trace, trace_probes

ANSWERS = {
    "wall": "white",
    "key": "300 W LED in 90 cm soft box at 1.5 m, 4 o'clock",
    "outside": "12000 lx",
    "dressing": "bare",
}


def plan(situation: Situation = "window", units: System = "metric", **answers: str) -> Plan:
    """A plan from answers by question."""
    return read_plan(situation, units, answers)


@pytest.fixture(scope="module")
def answer() -> QuickAnswer:
    """One whole answer, traced for this module."""
    return quick_answer("window", "metric", ANSWERS)


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (1.0, "T1"),
        (2.8, "T2.8"),
        (4.0, "T4"),
        (5.6, "T5.6"),
        # pencil: a third of a stop is a factor of 2^(1/6)
        (4.0 * 2.0 ** (1 / 6), "T4⅓"),
        (4.0 * 2.0 ** (2 / 6), "T4⅔"),
        (11.3, "T11"),
        (32.0, "T32"),
        (45.25, "T45"),
        (0.7, "T0.71"),
    ],
)
def test_a_stop_is_said_as_a_lens_is_marked(number: float, text: str) -> None:
    assert stop_text(number) == text
    assert stop_text(number, "f/") == "f/" + text[1:]


def test_densities_stops_and_ratios_are_said_plainly() -> None:
    # pencil: 0.9 / log10(2) = 2.99 stops
    assert nd_text(0.9 / math.log10(2.0)) == "ND 0.9"
    assert nd_text(2.5) == "2.5 stops"
    assert (stops_long(2.99), stops_long(1.0), stops_long(-0.4)) == (
        "3 stops",
        "1 stop",
        "0.4 stop",
    )
    assert (ratio_text(1.64), ratio_text(2.0), ratio_text(31.7)) == ("1.6:1", "2:1", "32:1")


def test_amps_count_the_power_factor() -> None:
    # pencil: 300 W / (230 V · 0.95)
    assert amps_of(plan()) == pytest.approx(300.0 / (230.0 * 0.95))
    # pencil: 2 · 1.2 kW / (120 V · 1)
    lamps = plan(units="imperial", key="2 x 1.2 kW tungsten in 4 x 4 ft frame of diffusion")
    assert amps_of(lamps) == pytest.approx(2400.0 / 120.0)
    assert amps_of(plan(key="none")) is None


# Assumptions -------------------------------------------------------------------------------

# question: what is assumed where it is left out
ASSUMED = {
    "wall": "wall tone",
    "room": "room size",
    "ceiling": "ceiling height",
    "dressing": "window dressing",
    "window": "window size",
    "place": "key's hour",
}
ALWAYS = {"ceiling paint", "floor", "skin", "glass", "ground outside", "light outside",
          "key's distance", "key's height", "furniture", "wall tone"}  # fmt: skip


def about(taken: Plan, *answered: str) -> dict[str, Assumption]:
    """Assumptions by what they are about."""
    return {one.about: one for one in assumptions(taken, answered)}


@pytest.mark.parametrize("question", ASSUMED)
def test_what_is_not_answered_is_assumed_and_what_is_answered_is_not(question: str) -> None:
    taken = plan()
    without, with_it = about(taken), about(taken, question)
    assert ASSUMED[question] in without
    if question == "wall":  # a word is a range; it is narrower once it was said
        assert without["wall tone"].might == "dark or white"
        assert with_it["wall tone"].might == "30 to 60 %"
    else:
        assert ASSUMED[question] not in with_it
    assert set(with_it) >= ALWAYS


def test_an_answer_narrows_what_is_left() -> None:
    taken = plan()
    for one in ("key's distance", "key's height"):
        wide, narrow = (about(taken, *answered)[one] for answered in ((), ("place",)))
        name = "key_distance_m" if "distance" in one else "key_height_m"
        spans = [
            [getattr(other, name) - getattr(taken, name) for other in some.others]
            for some in (wide, narrow)
        ]
        assert max(map(abs, spans[1])) < max(map(abs, spans[0]))
        # pencil: a measured place is taken to be right to a hand's breadth, 10 cm
        assert_allclose(max(map(abs, spans[1])), 0.1)


def test_a_meter_reading_is_worth_more_than_a_word() -> None:
    word = about(plan(outside="overcast"))["light outside"]
    read = about(plan(outside="10000 lx"))["light outside"]
    assert [one.outside_lux for one in word.others] == [6000.0, 18000.0]
    # pencil: a third of a stop either way
    assert_allclose(
        [one.outside_lux for one in read.others],
        [10000.0 * 2.0 ** (-1 / 3), 10000.0 * 2.0 ** (1 / 3)],
    )
    assert "as read" in read.taken


def test_what_is_not_there_is_not_assumed() -> None:
    bare = about(plan(window="none", key="none"))
    for gone in ("glass", "light outside", "key's distance", "window size"):
        assert gone not in bare
    dark = about(plan(dressing="blackout"), "dressing")
    assert "glass" not in dark


@pytest.mark.parametrize("situation", SITUATIONS)
def test_every_other_value_fits(situation: Situation) -> None:
    for one in assumptions(plan(situation), ()):
        assert one.others, one.about
        assert all(impossible(other) == [] for other in one.others)
        assert one.taken
        assert one.might


def test_ranges_hold_what_is_taken() -> None:
    for taken, low, high in WALLS.values():
        assert low < taken < high
    for taken, low, high, kelvin in OUTSIDE.values():
        assert low < taken < high
        assert 1000.0 < kelvin < 25000.0


# The answer --------------------------------------------------------------------------------


def test_worths_are_sorted_and_are_the_most_that_anything_moves(answer: QuickAnswer) -> None:
    stops = [one.stops for one in answer.worths]
    assert stops == sorted(stops, reverse=True)
    assert len(answer.worths) > 8
    for one in answer.worths:
        moved = {name: max(map(abs, shifts)) for name, shifts in one.shifts.items()}
        assert one.stops == max(moved.values())
        assert moved[one.moves] == one.stops
    named = [one.about for one in answer.worths]
    assert len(set(named)) == len(named)


def test_a_worth_is_answered_or_not(answer: QuickAnswer) -> None:
    named = {one.about: one for one in answer.worths}
    # The key's "at 1.5 m, 4 o'clock" answers the question of its place as well.
    for gone in ("window dressing", "key's hour"):
        assert gone not in named
    for there in ("room size", "ceiling height", "window size", "skin"):
        assert there in named
    assert named["wall tone"].might == "65 to 85 %"
    # pencil: 0.5 stop of the key's own light is at most half a stop of the face
    assert 0.3 < named["loss in the soft box"].stops <= 0.51
    assert named["loss in the soft box"].moves == "the face"


def test_the_stop_at_the_face_is_the_one_at_which_it_is_at_key(answer: QuickAnswer) -> None:
    # pencil: ISO 2720, N² = E S t / C; E · 800 / 48 / 250
    number = math.sqrt(answer.figures.face_lux * 800.0 / 48.0 / 250.0)
    assert answer.stop_at_face is not None
    assert_allclose(answer.stop_at_face, number, rtol=1e-6)
    assert stop_text(number) in answer.sentences[0]


def test_sentences_tell_face_ratio_window_wall_amps_and_change(answer: QuickAnswer) -> None:
    starts = [" ".join(sentence.split()[:2]) for sentence in answer.sentences]
    assert starts == ["The face's", "The key", "The window", "Key side", "The window",
                      "The wall", "The key", "Change first:"]  # fmt: skip
    face, key, window, ratio, seen, wall, power, change = answer.sentences
    assert re.search(r"reads T[0-9.⅓⅔]+ \([0-9 ]+ lx\)", face)
    for one in (key, window):
        assert re.search(r"alone gives .* key on the key side \([0-9]+ % of it\)", one)
        assert re.search(r"[0-9]+ % of the shadow side", one)
    assert re.search(r"is [0-9.]+:1 \(key and fill to fill\)", ratio)
    assert seen.startswith("The window is not in the frame; if you frame it, it is")
    # Both scales, each by its name.
    assert re.search(r"gets .* key \(incident\).* middle grey in the picture \(reflected\)", wall)
    # pencil: 300 W / (230 V · 0.95) = 1.37 A
    assert "1.4 A at 230 V" in power
    for caution in ("local codes", "licensed people decide", "what else hangs on that circuit"):
        assert caution in power
    assert change.startswith("Change first:")
    shares = [int(share) for share in re.findall(r"\(([0-9]+) % of it\)", key + window)]
    assert 98 <= sum(shares) <= 102  # pencil: a whole, rounded


def test_what_each_gives_alone_adds_up(answer: QuickAnswer) -> None:
    for side in ("key_side_share", "shadow_side_share"):
        # pencil: light adds up
        assert_allclose(sum(getattr(one, side) for one in answer.alone), 1.0, atol=1e-9)
    key = answer.alone[0]
    assert key.source == "KEY"
    assert key.key_side_over_key is not None
    # pencil: a share of the light in stops
    over = answer.figures.face_over_key + math.log2(key.key_side_share)
    assert_allclose(key.key_side_over_key, over, atol=1e-6)


def test_the_side_with_more_light_is_the_key_side_and_who_makes_it_is_said() -> None:
    """A bulb across from a wide window: the window is the key."""
    base = measure(
        plan(key="60 W bulb at 1.5 m, 4 o'clock", window="2 x 1.5 m, 1 m away, 9 o'clock")
    )
    bright, dark = base.sides
    assert (bright.name, dark.name) == ("shadow cheek", "key cheek")
    assert base.figures.ratio_stops > 0.0
    # pencil: stops are log2 of a ratio
    assert_allclose(base.figures.ratio_stops, math.log2(bright.value / dark.value), atol=1e-9)
    assert_allclose(base.figures.face_lux, bright.value)
    assert [one.source for one in alone(base)] == ["WINDOW", "KEY"]
    said = sentences(base, advising.Advice(amiss="", do=""))
    assert any("the window is the key here" in one for one in said)
    assert any("the side away from the lamp is the brighter one" in one for one in said)
    ratio = next(one for one in said if one.startswith("Key side to shadow side"))
    assert float(re.findall(r"is ([0-9.]+):1", ratio)[0]) >= 1.0


def test_a_window_that_fills_is_called_the_fill() -> None:
    """The key across from the window, its walls dark: what fills is the window."""
    base = measure(plan(wall="dark"))
    assert share_of(base.sides[1], "WINDOW") > 0.5
    said = sentences(base, advising.Advice(amiss="", do=""))
    assert any(one.endswith("the window is the fill.") for one in said)


def test_whose_light_a_dark_window_shows_is_said() -> None:
    """Where most of what one sees in it is not its own."""
    base = measure(plan(outside="dusk"))
    window = base.window
    assert window is not None
    for own, said in ((0.9, False), (0.2, True)):
        parts = tuple(
            msgspec.structs.replace(part, share=own if part.source == "WINDOW" else 1.0 - own)
            for part in window.parts
        )
        lit = msgspec.structs.replace(window, parts=parts)
        others = tuple(one for one in base.readings.readings if one.name != "the window")
        readings = msgspec.structs.replace(base.readings, readings=(*others, lit))
        told = sentences(
            dataclasses.replace(base, readings=readings), advising.Advice(amiss="", do="")
        )
        # pencil: the key has the other four fifths
        assert any("(the key's light, 80 %)" in x for x in told) == said


def test_glass_at_night_mirrors_the_lit_room() -> None:
    """What a spot reads in it is the wall that stands mirrored there, by Fresnel's formulas."""
    base = measure(plan(outside="night"))
    glass, window = in_glass(base), base.window
    assert glass is not None
    assert window is not None
    assert (glass.thing, glass.key_there, glass.key_seen) == ("room: wall 3", False, False)
    # pencil: the camera at 1.3, 0.8, 1.2 m looks at 0, 2.7, 1.76 m; the panes are 12 cm out. Turned
    # back there, the line meets the wall behind, 4.5 m away, here.
    way = np.array([-1.3, 1.9, 0.56])
    place = np.array([1.3, 0.8, 1.2]) + 1.42 / 1.3 * way
    back = way * [-1.0, 1.0, 1.0]
    met = place + (4.5 - place[1]) / back[1] * back
    there = f"[{met[0]:.4f} m, 4.49 m, {met[2]:.4f} m], normal: [0, -1, 0]"
    text = scene_text(base.plan) + f"  the wall there: {{at: {there}}}\n"
    document = parse_document(text, "x.scene.yaml", known=known_names())
    stage = build_stage(document, grain=Grain(patch_m=0.4, element_m=0.2))
    probe = trace_probes(trace(stage, Budget(row_rays=64)), stage.probes)
    k = next(k for k, one in enumerate(probe.probes) if one.name == "the wall there")
    wall_lux = float((probe.direct[:, k] + probe.bounced[:, k]).sum(0).mean())
    # Fresnel, n = 1.52, of two panes, bounces between them counted: T = (1 - r)/(1 + 3 r)
    cosine = 1.3 / float(np.linalg.norm(way))
    inner = math.sqrt(1.0 - (1.0 - cosine**2) / 1.52**2)
    faces = (
        ((cosine - 1.52 * inner) / (cosine + 1.52 * inner)) ** 2,
        ((inner - 1.52 * cosine) / (inner + 1.52 * cosine)) ** 2,
    )
    mirrored = 1.0 - sum((1.0 - r) / (1.0 + 3.0 * r) for r in faces) / 2.0
    assert_allclose(mirrored, 0.214, atol=0.001)
    expected = mirrored * 0.45 * wall_lux / math.pi  # pencil: a matte wall of 45 %
    assert abs(math.log2(window.value / expected)) < 0.06
    told = next(one for one in sentences(base, advising.Advice(amiss="", do=""))
                if one.startswith("The window is not"))  # fmt: skip
    assert "the glass mirrors the lit room, there the wall behind the person" in told
    assert re.search(r"the outside through it is 6[^:]* under middle grey", told)


def test_a_lamp_that_stands_in_the_glass_is_told() -> None:
    """The camera before a window behind the person, the key on its own side."""
    base = measure(plan(outside="night", window="2 x 1.5 m, 1.5 m away, 12 o'clock"))
    glass = in_glass(base)
    assert glass is not None
    assert glass.key_seen
    said = sentences(base, advising.Advice(amiss="", do=""))
    assert any("the key's own front stands in it too" in one for one in said)
    sheer = measure(plan(outside="night", dressing="sheer"))
    assert in_glass(sheer) is None
    said = sentences(sheer, advising.Advice(amiss="", do=""))
    assert any("the key's light thrown back by what hangs in it (" in one for one in said)


def test_an_answer_can_be_written_down(answer: QuickAnswer) -> None:
    again = msgspec.json.decode(msgspec.json.encode(answer), type=QuickAnswer)
    assert again == answer
    assert parse_document(answer.scene, "x.scene.yaml", known=known_names()).title


def test_no_fixture_draws_nothing() -> None:
    answers = {"key": "none", "room": "16 x 20 ft", "ceiling": "9 ft", "dressing": "sheer",
               "window": "5 x 5 ft, 6 ft away, 9 o'clock"}  # fmt: skip
    said = quick_answer("interview", "imperial", answers)
    assert said.amps is None
    assert "No fixture is brought, so nothing is drawn." in said.sentences
    assert "fc)" in said.sentences[0]
    for one in said.worths:  # in feet and foot-candles throughout
        for text in (one.taken, one.might):
            assert not re.search(r"[0-9] (?:m|lx)\b", text)
    assert not [one for one in said.worths if one.about.startswith(("key", "output", "loss"))]


@pytest.mark.parametrize(
    ("answers", "why"),
    [
        ({"key": "none", "window": "none"}, "no window and no key"),
        ({"key": "none", "dressing": "blackout"}, "the window is blacked out"),
        ({"key": "none", "outside": "0 lx"}, "nothing comes in by the window"),
    ],
)
def test_without_light_one_plain_sentence_says_so(answers: dict[str, str], why: str) -> None:
    said = quick_answer("window", "metric", answers)
    assert said.figures.face_lux == 0.0
    (only,) = said.sentences
    assert only.startswith("There is no light")
    assert why in only
    assert said.stop_at_face is None
    assert (said.worths, said.advice.do) == ((), "")
    assert parse_document(said.scene, "x.scene.yaml", known=known_names()).title


def test_two_at_a_table_are_told_apart() -> None:
    measured = measure(plan("table"))
    other = measured.figures.other_face
    assert other is not None
    assert abs(other) < 3.0
    levels = {one.name: one.value for one in measured.readings.readings}
    # pencil: stops are log2 of a ratio
    assert_allclose(
        other,
        math.log2(
            max(levels["the other face, key cheek"], levels["the other face, shadow cheek"])
            / max(levels["key cheek"], levels["shadow cheek"])
        ),
        atol=1e-9,
    )
    said = sentences(measured, advising.Advice(amiss="", do=""))
    assert said[0].startswith("The face is LEFT's, who sits camera left")
    assert any(one.startswith("RIGHT's key side is") for one in said)


# The first change ---------------------------------------------------------------------------

# what is amiss: answers that make it so
AMISS: dict[str, dict[str, str]] = {
    "the face is": {"camera": "T2.8, ISO 6400, 180 deg"},
    "the face is 1": {"camera": "T8, ISO 320, 180 deg"},
    "the window is": {
        "camera": "T5.6, ISO 800, 180 deg",
        "window": "1.5 x 1.3 m, 1.3 m away, 12 o'clock",
        "outside": "bright overcast",
    },
}


def test_a_window_out_of_the_frame_drives_nothing() -> None:
    taken = plan()
    assert not window_in_frame(taken)
    far = figures(window_over_face=6.0)
    assert advising._troubles(far)["window"] == 3.5  # pencil: 6 less 2.5
    said = advise(Measured(taken, None, None, None, far))  # type: ignore[arg-type]
    assert said.amiss == ""


@pytest.mark.parametrize("over", [1.4, -1.4])
def test_a_face_more_than_a_stop_off_is_exposed_first(over: float) -> None:
    """Whatever else is worse; and by how much is told."""
    base = measure(plan(wall="white"))
    iso = base.plan.iso * 2.0 ** (over - base.figures.face_over_key)
    taken = msgspec.structs.replace(base.plan, iso=float(f"{iso:.4g}"))
    advice = advise(measure(taken))
    assert advice.amiss.startswith("the face is 1 1/3 " + ("over" if over > 0.0 else "under"))
    assert re.search(r"\([0-9.]+ stops?\)", advice.do)
    assert advice.after is not None
    assert abs(advice.after.face_over_key) < 0.7


@pytest.mark.parametrize("amiss", AMISS)
def test_the_change_told_is_the_change_traced(amiss: str) -> None:
    base = measure(read_plan("window", "metric", AMISS[amiss]))
    advice = advise(base)
    assert advice.amiss.startswith(amiss)
    assert advice.after is not None
    worst = advice.amiss.split()[1]
    (changed,) = [new for do, new in advising._changes(worst, base) if do == advice.do]
    anew = measure(changed).figures
    for name in Figures.__struct_fields__:
        one, other = getattr(advice.after, name), getattr(anew, name)
        if name == "face_lux":
            one, other = math.log2(one), math.log2(other)
        if one is not None:
            assert_allclose(one, other, rtol=0.0, atol=0.06, err_msg=name)
    # And it mends what it is told for.
    framed = window_in_frame(base.plan)
    left, before = (advising._troubles(one, framed=framed)[worst] for one in (anew, base.figures))
    assert left < before - 0.1
    assert advice.left_stops > left - 0.1


def figures(**changes: float | None) -> Figures:
    """Figures of a picture with nothing amiss, some of them changed."""
    usual: dict[str, float | None] = {
        "face_lux": 117.6, "face_over_key": 0.0, "shadow_over_key": -2.0, "ratio_stops": 2.0,
        "face_in_picture": 0.5, "window_over_face": 2.0, "wall_over_key": -1.0,
        "other_face": None,
    }  # fmt: skip
    return Figures(**(usual | changes))  # type: ignore[arg-type]


def test_nothing_amiss_is_said_so() -> None:
    base = Measured(plan(), None, None, None, figures())  # type: ignore[arg-type]
    said = advise(base)
    assert (said.amiss, said.do, said.after) == ("", "", None)


@pytest.mark.parametrize(
    ("changes", "worst", "stops"),
    [
        # pencil: a third of a stop either way is at key
        ({"face_over_key": 2.0}, "face", 2.0 - 1 / 3),
        ({"face_over_key": -2.0}, "face", 2.0 - 1 / 3),
        ({"ratio_stops": 0.4}, "ratio", 0.6),
        ({"ratio_stops": 4.0}, "ratio", 1.0),
        ({"window_over_face": 4.5}, "window", 2.0),
        ({"wall_over_key": 0.5}, "wall", 0.7),
        ({"window_over_face": None, "wall_over_key": None}, "face", 0.0),
    ],
)
def test_troubles_are_counted_in_stops_past_the_usual(
    changes: dict[str, float | None], worst: str, stops: float
) -> None:
    found = advising._troubles(figures(**changes))
    assert_allclose(found[worst], stops, atol=1e-12)
    assert all(other == 0.0 for name, other in found.items() if name != worst)


@pytest.mark.parametrize("hour", [1.0, 4.0, 8.0, 11.0, 12.0])
@pytest.mark.parametrize("worst", ["ratio", "wall"])
def test_every_hour_that_is_advised_is_on_a_clock(hour: float, worst: str) -> None:
    taken = msgspec.structs.replace(plan(), key_clock=hour)
    for flat in (0.4, 4.0):
        base = Measured(taken, None, None, None, figures(ratio_stops=flat))  # type: ignore[arg-type]
        for do, changed in advising._changes(worst, base):
            said = re.search(r"to ([0-9]+)(?::[0-9]{2})? o'clock", do)
            if said:
                assert 1 <= int(said[1]) <= 12
            x, y = clock_way(changed.key_clock)
            # pencil: an hour is a twelfth of a turn, and no change goes farther than that
            turned = math.acos(min(1.0, x * clock_way(hour)[0] + y * clock_way(hour)[1]))
            assert turned <= math.radians(30.0) + 1e-9
