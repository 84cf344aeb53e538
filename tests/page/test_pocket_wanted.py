"""What is wanted, on a phone: wanted beside got, dims that bring it in, what was noted as text."""

from __future__ import annotations

import re
from importlib import resources

import pytest
from tests.page.test_pocket import (
    NBSP,
    Copy,
    OpenPhone,
    Phone,
    phone,
    pocket_copy,
)

from falloff.balance import Posed
from falloff.readings import judge_all
from falloff.record import read_typed
from falloff.session.balance import group_of
from falloff.session.correct import names_of
from falloff.session.scene import Scene, open_scene

__all__ = ["phone", "pocket_copy"]  # fixtures
WORKSHOP = "WIDE SHOT"


def opened() -> Scene:
    """The scene that the copy was written from."""
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    with resources.as_file(shipped) as path:
        return open_scene(path)


def marks(one: Phone) -> dict[str, str]:
    """Every target's mark by its name."""
    rows = one.page.locator(".wanted li")
    return {
        rows.nth(k).locator(".name").inner_text(): rows.nth(k)
        .locator(".figure")
        .inner_text()
        .replace(NBSP, " ")
        for k in range(rows.count())
    }


def test_wanted_stands_beside_got_as_python_judges_it(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    one.tab("Readings")
    targets = opened().document.targets
    told = marks(one)
    for dims in ({}, {"BOOK": 2.0**-1}):
        if dims:
            one.tab("Lights")
            one.third_down("BOOK", 3)
            one.tab("Readings")
        judged = judge_all(targets, pocket_copy.readings(WORKSHOP, dims))
        now = marks(one)
        assert set(now) == set(judged) == set(told)
        for name, mark in now.items():
            assert mark.startswith("✓") == judged[name].holds, (name, mark)
            if not judged[name].holds:
                off = judged[name].off
                assert off is not None
                assert ("bright" in mark) == (off > 0.0)


def test_what_is_missed_is_told_with_who_gives_it(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    one.tab("Readings")
    judged = judge_all(opened().document.targets, pocket_copy.readings(WORKSHOP, {}))
    missed = next(name for name, each in judged.items() if not each.holds)
    row = one.page.locator(".wanted li", has_text=missed)
    found = re.search(r"(\S.*) gives (\d+) % of", row.locator("p").inner_text())
    assert found
    reading = opened().document.targets[missed]
    parts = next(
        each.parts
        for each in pocket_copy.readings(WORKSHOP, {}).readings
        if each.name == getattr(reading, "reading", "")
    )
    lead = max(parts, key=lambda part: part.share)
    assert (found[1], int(found[2])) == (lead.source, round(100 * lead.share))


def test_balancing_on_the_phone_meets_as_much_as_python_does(
    phone: OpenPhone, pocket_copy: Copy
) -> None:
    one = phone()
    one.tab("Readings")
    scene = opened()
    standing = scene.arrangement_of(WORKSHOP)
    light = pocket_copy.setups[WORKSHOP]
    posed = Posed(standing.document, WORKSHOP, light, pocket_copy.layers)
    python = group_of((posed,)).result
    one.page.get_by_role("button", name="Balance").click()
    one.settle()
    met = sum(mark.startswith("✓") for mark in marks(one).values())
    assert met == sum(got.got.holds for got in python.targets)
    said = one.page.locator("section .told[role=status]").inner_text()
    moved = {each.source for each in python.dims if each.moved}
    assert said.startswith("Set: ") == bool(moved)
    assert set(re.findall(r"(?:Set: |, )([A-Z ]+?) \d", said)) <= moved
    assert one.page.locator(".told-count").inner_text() != "As planned"
    one.page.get_by_role("button", name="Put back").click()
    one.settle()
    assert one.page.locator(".told-count").inner_text() == "As planned"


def test_what_was_metered_is_text_that_python_reads(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    one.third_down("BOOK", 3)
    one.tab("Metered")
    one.page.locator("#metered-0").fill("431,5")
    one.settle()
    one.page.locator(".as-text summary").click()
    heading, *lines = one.page.locator(".as-text textarea").input_value().splitlines()
    assert heading == f"# {WORKSHOP}"
    scene = opened()
    names = names_of(scene.arrangement_of(WORKSHOP), WORKSHOP)
    (taken,) = read_typed(lines, scene.document, names)
    assert taken.value == 431.5
    assert set(taken.lit or ()) == set(names.sources)
    assert taken.knobs["BOOK"] == pytest.approx(0.5, abs=0.03)


def test_fixes_are_there_where_dims_do_not_do_it(phone: OpenPhone, pocket_copy: Copy) -> None:
    one = phone()
    one.tab("Readings")
    helps = one.page.locator(".help")
    posed = Posed(
        opened().arrangement_of(WORKSHOP).document, WORKSHOP,
        pocket_copy.setups[WORKSHOP], pocket_copy.layers,
    )  # fmt: skip
    if group_of((posed,)).result.holds:
        assert helps.count() == 0
        return
    assert 1 <= helps.count() <= 4
    first = helps.first
    first.locator("summary").click()
    assert re.search(r"(brings all in|nearer), \d+ min, \d+ hand", first.inner_text())
    assert "Then: " in first.inner_text()
    assert one.complaints == []
