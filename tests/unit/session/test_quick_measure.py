"""A change measured again says what the changed scene says when it is measured from nothing."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.session.quick.ask import read_plan
from falloff.session.quick.measure import Figures, Measured, measure, measure_again, share_of
from falloff.session.quick.plan import Plan, WindowPlan
from falloff.session.quick.vary import differing, varied
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names

# The promise of measure_again: noise of the two tracings, well under what a person can tell.
PROMISE_STOPS = 0.06

CHANGES: dict[str, dict[str, Any]] = {
    "wall": {"wall_reflectance": 0.75},
    "floor and ceiling": {"floor_reflectance": 0.08, "ceiling_reflectance": 0.5},
    "skin": {"skin": "dark brown"},
    "glass": {"glass": 0.65},
    "gel": {"dressing": "gel", "gel_stops": 3.0},
    "sheer": {"dressing": "sheer"},
    "outside": {"outside_lux": 20_000.0, "ground_reflectance": 0.8},
    "trim": {"key_trim": 0.5},
    "key place": {"key_distance_m": 1.2, "key_clock": 3.0, "key_height_m": 1.7},
    "camera": {"t_number": 4.0, "stop_text": "T4", "iso": 400.0, "nd_stops": 2.0},
    "furniture": {"furnished": False},
    "fill": {"fill": "white board", "fill_size_m": (1.2, 1.2)},
    "window size": {
        "window": WindowPlan(width_m=1.9, height_m=1.1, distance_m=1.3, clock_hour=9),
    },
    "room": {"width_m": 6.0, "depth_m": 5.5, "ceiling_m": 3.1},
    "several at once": {"wall_reflectance": 0.12, "glass": 0.9, "key_trim": 2.0, "iso": 1600.0},
}


@pytest.fixture(scope="module")
def base() -> Measured:
    """The usual window scene, traced once for this module."""
    return measure(read_plan("window", "metric", {}))


def told(figures: Figures) -> dict[str, float]:
    """Every figure in stops, those that are not there left out."""
    values = msgspec.structs.asdict(figures)
    values["face_lux"] = math.log2(values["face_lux"])
    return {name: value for name, value in values.items() if value is not None}


@pytest.mark.parametrize("name", CHANGES)
def test_measured_again_is_measured_from_nothing(name: str, base: Measured) -> None:
    plan = msgspec.structs.replace(base.plan, **CHANGES[name])
    again, anew = told(measure_again(base, plan).figures), told(measure(plan).figures)
    assert again.keys() == anew.keys()
    for figure, value in anew.items():
        assert_allclose(again[figure], value, rtol=0.0, atol=PROMISE_STOPS, err_msg=figure)
    # A change that moves nothing would prove nothing.
    if name != "furniture":
        before = told(base.figures)
        assert max(abs(value - before[figure]) for figure, value in anew.items()) > PROMISE_STOPS


def test_each_kind_of_change_is_looked_at() -> None:
    changed = {name for change in CHANGES.values() for name in change}
    # Not numbers of light: names, spectra, and what only comes with another of the list.
    fixed = {"situation", "units", "outside_word", "outside_kelvin", "key", "supply_volts",
             "shutter_text", "fps", "exposure_time_s"}  # fmt: skip
    assert changed | fixed == set(Plan.__struct_fields__)


def test_half_the_trim_is_half_of_what_the_key_gives(base: Measured) -> None:
    dimmed = measure_again(base, msgspec.structs.replace(base.plan, key_trim=0.5))
    cheek, half = (
        next(one for one in measured.readings.readings if one.name == "key cheek")
        for measured in (base, dimmed)
    )
    key = share_of(cheek, "KEY")
    assert 0.5 < key < 1.0
    # pencil: light is linear
    assert_allclose(half.value, cheek.value * (1.0 - 0.5 * key), rtol=0.01)
    assert share_of(cheek, "NOBODY") == 0.0


def test_two_stops_on_the_camera_are_two_stops(base: Measured) -> None:
    plan = msgspec.structs.replace(base.plan, nd_stops=2.0)
    before, after = base.figures, measure_again(base, plan).figures
    # pencil: what the camera lets in moves all levels and no ratio
    assert_allclose(after.face_over_key, before.face_over_key - 2.0, atol=1e-6)
    assert_allclose(after.ratio_stops, before.ratio_stops, atol=1e-9)
    assert_allclose(after.face_lux, before.face_lux, rtol=1e-9)
    assert before.window_over_face is not None
    assert after.window_over_face is not None
    assert_allclose(after.window_over_face, before.window_over_face, atol=1e-6)


def test_two_stops_of_gel_take_two_from_the_window(base: Measured) -> None:
    plan = msgspec.structs.replace(base.plan, dressing="gel", gel_stops=2.0)
    before, after = base.figures, measure_again(base, plan).figures
    assert before.window_over_face is not None
    assert after.window_over_face is not None
    window = (after.window_over_face + after.face_in_picture) - (
        before.window_over_face + before.face_in_picture
    )
    # pencil: the window's own luminance loses what the gel takes; the room's light that comes
    # back off it is the little that is left
    assert_allclose(window, -2.0, atol=0.1)


@pytest.mark.parametrize("name", CHANGES)
def test_a_varied_document_is_the_written_one(name: str, base: Measured) -> None:
    plan = msgspec.structs.replace(base.plan, **CHANGES[name])
    assert differing(base.plan, plan) == set(CHANGES[name])
    document = varied(base.document, base.plan, plan)
    if document is None:
        return  # it is written anew as text
    written = parse_document(scene_text(plan), "quick.scene.yaml", known=known_names())
    for section in ("materials", "subjects", "openings", "sky", "fixtures", "setups"):
        for one, other in zip(
            numbers(getattr(document, section)), numbers(getattr(written, section)), strict=True
        ):
            # The text has four figures, and millimetres.
            assert_allclose(one, other, rtol=2e-3, atol=2e-3)


def numbers(thing: Any) -> list[float]:
    """Every number in a record, in order."""
    if isinstance(thing, bool) or thing is None or isinstance(thing, str):
        return []
    if isinstance(thing, int | float):
        return [float(thing)]
    if isinstance(thing, dict):
        return [number for key in sorted(thing) for number in numbers(thing[key])]
    if isinstance(thing, tuple | list):
        return [number for one in thing for number in numbers(one)]
    return [number for name in thing.__struct_fields__ for number in numbers(getattr(thing, name))]
