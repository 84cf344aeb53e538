"""All that a taken fix writes into its scene is told in its own words."""

from __future__ import annotations

from collections.abc import Iterator

from tests.unit.balance.fix_rooms import SOFT, Fixed, pale_room

from falloff.balance.fixes.find import FoundFixes, find_fixes
from falloff.document import Node, compose_text, edit_text
from falloff.session.fixes import taken_edits

HUE = """  HUE: {kit: "100 W RGBW LED, open face", at: [2.6 m, 1.4 m, 2.0 m],
        aim: [1.5 m, 3.66 m, 1.6 m], stand: true}"""
WANTED = """  face: {reading: key cheek, level: 0 stops}
  wall blue: {reading: wall, hue: 250 deg, saturation: 0.05}
  view low: {reading: view, level: 2 stops, limit: at most}"""
FREE = ("key: key cheek}", "key: key cheek,\n    free: {iso: [200, 1600], nd: [0 stops, ND 0.6]}}")


def found() -> tuple[Fixed, FoundFixes]:
    fixed = Fixed(pale_room(fixtures=(SOFT, HUE), targets=WANTED).replace(*FREE))
    return fixed, find_fixes(fixed.case, hours=False)


def leaves(text: str) -> dict[tuple[str, ...], str]:
    """Every value of a scene by its path; a list is one."""
    return dict(_leaves(text, compose_text(text, "scene"), ()))


def _leaves(text: str, node: Node, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    for key, value in node.entries:
        yield from _leaves(text, value, (*path, str(key.value)))
    if not node.entries:
        yield path, text[node.start : node.end].strip()


def test_all_that_is_written_is_told() -> None:
    """Each path that differs is of something that the fix names; dims and ISO as they stand."""
    fixed, fixes = found()
    before = leaves(fixed.text)
    tried, colours, exposures = 0, 0, 0
    for one in fixes.taken:
        if not one.edits:
            continue
        edits, taken = taken_edits(fixes, one, fixed.traced)
        after = leaves(edit_text(fixed.text, edits))
        told = "; ".join((taken.fix.says, *taken.fix.does, *taken.fix.dims))
        for path in {key for key in before | after if before.get(key) != after.get(key)}:
            match path:
                case ("setups", setup, "dims", light):
                    knob = after[path].removesuffix(" %")
                    assert f"{light} {'off' if knob == '0' else knob}" in told.replace(".0 %", " %")
                case ("setups", setup, "iso"):
                    exposures += 1
                    assert f"ISO {after[path]}" in told
                    assert setup in told
                case ("setups", setup, "nd"):
                    exposures += 1
                    assert after[path].replace("0 stops", "no ND") in told
                case ("fixtures", "HUE", "colour", "xy"):
                    colours += 1
                    assert "at xy" in told
                case (_, name, *_):
                    assert name in told
        tried += 1
    assert tried >= 3
    assert colours
    assert exposures
