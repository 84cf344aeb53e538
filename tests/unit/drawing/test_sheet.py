"""Every sheet of the catalogue: nothing is cut, nothing overlaps, numbers are aligned."""

from __future__ import annotations

import itertools

import pytest

from falloff.drawing import Drawing, PolarCurve, Words, draw_sheet, polar_diagram
from falloff.drawing.polar import magnified
from falloff.drawing.sheet import HEIGHT_MM, WIDTH_MM
from falloff.kit import Fixture, list_items
from falloff.session.kit.find import Shelf, find_light
from falloff.session.kit.page import curves_of, sheet_content
from falloff.session.kit.showing import run_kit_show
from falloff.units import System

FIXTURES = [one.name for one in list_items("fixture") if isinstance(one, Fixture)]
# One of each form and number of beams, drawn in both systems of units.
SHAPES = {
    (one.form, len(one.beams), one.accepts): one.name
    for one in list_items("fixture")
    if isinstance(one, Fixture)
}


def sheet(name: str, units: System = "metric", modifiers: tuple[str, ...] = ()) -> Drawing:
    shown = run_kit_show(name, modifiers=modifiers, units=units)
    curves = curves_of(find_light(" + ".join([name, *modifiers]), Shelf()), shown)
    return draw_sheet(sheet_content(shown, curves, units))


def box(words: Words) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of words; letters are some 0.72 of their size high."""
    x, y = words.at_mm
    left = x - {"left": 0.0, "middle": 0.5, "right": 1.0}[words.anchor] * words.width_mm
    return left, y - 0.72 * words.size_mm, left + words.width_mm, y + 0.05 * words.size_mm


def overlapping(drawing: Drawing) -> list[tuple[str, str]]:
    words = [one for one in drawing.shapes if isinstance(one, Words)]
    return [
        (a.text, b.text)
        for a, b in itertools.combinations(words, 2)
        if all(
            (
                box(a)[0] < box(b)[2],
                box(b)[0] < box(a)[2],
                box(a)[1] < box(b)[3],
                box(b)[1] < box(a)[3],
            )
        )
    ]


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize("name", sorted(SHAPES.values()))
def test_words_stay_on_the_paper_and_apart(name: str, units: System) -> None:
    drawing = sheet(name, units)
    words = [one for one in drawing.shapes if isinstance(one, Words)]
    outside = [
        one.text
        for one in words
        if not (box(one)[0] >= 8.0 and box(one)[2] <= WIDTH_MM - 8.0
                and box(one)[1] >= 8.0 and box(one)[3] <= HEIGHT_MM - 8.0)
    ]  # fmt: skip
    assert outside == []
    assert overlapping(drawing) == []
    assert [one.text for one in words if "…" in one.text] == []


def test_words_are_legible_from_a_metre() -> None:
    # pencil: letters 2.9 mm high in all, x-height half of it, seen from 1 m: 5 minutes of arc,
    # which is what good eyes resolve in a letter (common practice)
    words = [one for one in sheet("300 W LED, open face").shapes if isinstance(one, Words)]
    assert min(one.size_mm for one in words) >= 2.9
    assert sum(one.size_mm >= 3.2 for one in words) > 0.95 * len(words)


def test_numbers_of_a_column_end_below_each_other() -> None:
    words = [one for one in sheet("300 W LED, open face").shapes if isinstance(one, Words)]
    # snapshot: the lux of its first beam by the catalogue
    column = [one for one in words if one.text in {"25 000", "6 250", "2 780", "1 000", "391"}]
    assert len(column) == 5
    assert len({one.at_mm[0] for one in column}) == 1
    assert {one.anchor for one in column} == {"right"}


def test_a_sheet_with_modifiers_tells_what_they_cost() -> None:
    drawing = sheet("300 W LED, open face", modifiers=("90 cm soft box",))
    assert overlapping(drawing) == []
    told = " ".join(one.text for one in drawing.shapes if isinstance(one, Words))
    assert "stops on the axis against 55° reflector" in told


def test_a_weak_curve_is_magnified_and_says_so() -> None:
    strong = PolarCurve("spot", (-0.1, 0.0, 0.1), (0.0, 1000.0, 0.0))
    weak = PolarCurve("flood", (-1.0, 0.0, 1.0), (0.0, 90.0, 0.0))
    # pencil: 1000 / 90 = 11.1, so ten times
    assert magnified(weak, 1000.0) == 10.0
    assert magnified(strong, 1000.0) == 1.0
    shapes, _ = polar_diagram((strong, weak), corner_mm=(0.0, 0.0), width_mm=80.0)
    told = [one.text for one in shapes if isinstance(one, Words)]
    assert "flood, 90 cd, drawn × 10" in told


def test_light_behind_the_axis_is_drawn_all_round() -> None:
    angles = (-3.14159, -1.0, 0.0, 1.0, 3.14159)
    round_one = PolarCurve("ball", angles, (50.0,) * 5)
    half = PolarCurve("beam", angles, (0.0, 50.0, 60.0, 50.0, 0.0))
    heights = [
        polar_diagram((one,), corner_mm=(0.0, 0.0), width_mm=80.0)[1] for one in (round_one, half)
    ]
    assert heights[0] > 1.5 * heights[1]
