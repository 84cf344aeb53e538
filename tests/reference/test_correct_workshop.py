"""The shipped workshop, built otherwise than planned, put right by three readings.

Witness: the workshop as it truly is, written by hand and traced from nothing. Wall and lamp values
are wrong by up to 1.4 of the spreads that are assumed of them; the three readings are those that
nobody has to switch a light for: key, shadow side and background, as a meter shows them. All of
the scene's readings then lie within a third of a stop of the witness.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from falloff.layers import store
from falloff.session import CorrectAsked, location_file, run_correct, run_meter

READ = ("key cheek", "shadow cheek", "the back wall")
THIRD = 1.0 / 3.0
MATERIALS = """\
materials:
  plaster: {{reflectance: {plaster}, tint: [1.06, 0.99, 0.82]}}
  green paint: {{reflectance: {green}, tint: [0.84, 1.08, 0.81]}}

openings:
"""


def as_it_is(planned: str, true: dict[str, float]) -> str:
    """The workshop with other paint and other lamps."""
    text = planned.replace("openings:\n", MATERIALS.format(**true), 1)
    for lumens, name in ((7600, "book"), (2600, "head"), (450, "globe")):
        assert text.count(f"output: {lumens} lm") == 1
        text = text.replace(f"output: {lumens} lm", f"output: {true[name] * lumens:.0f} lm")
    return text


def values(path: Path, setup: str = "WIDE SHOT") -> dict[str, float]:
    (readings,) = run_meter(path, setups=(setup,)).readings
    return {one.name: one.value for one in readings.readings}


def off(have: dict[str, float], true: dict[str, float]) -> dict[str, float]:
    return {name: math.log2(have[name] / value) for name, value in true.items()}


@pytest.mark.parametrize(
    "true",
    [
        {"plaster": 0.45, "green": 0.22, "book": 0.7, "head": 1.4, "globe": 0.9},
        pytest.param(
            {"plaster": 0.75, "green": 0.4, "book": 1.4, "head": 0.7, "globe": 1.1},
            marks=pytest.mark.long,
        ),
    ],
)
def test_three_readings_put_the_workshop_right(
    true: dict[str, float], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(store, "_cache_folder", lambda: tmp_path)
    planned = location_file("workshop").read_text("utf-8")
    plan, witness = tmp_path / "plan.scene.yaml", tmp_path / "true.scene.yaml"
    plan.write_text(planned, encoding="utf-8")
    witness.write_text(as_it_is(planned, true), encoding="utf-8")
    told = values(witness)
    typed = tuple(f"{name}: {float(f'{told[name]:.2g}'):g} lx" for name in READ)
    out = tmp_path / "right.scene.yaml"
    found = run_correct(plan, CorrectAsked(typed, setup="WIDE SHOT", out=out)).corrections
    before = {one.reading: one.before for one in found.plan}
    assert sum(abs(stops) > THIRD for stops in off(before, told).values()) >= 5
    after = off(values(out), told)
    assert max(abs(stops) for stops in after.values()) <= THIRD, after
    # Two standard deviations are what it says it may be out by.
    spread = {one.reading: one.spread_after_stops for one in found.plan}
    assert all(abs(stops) <= 2.0 * spread[name] + 0.02 for name, stops in after.items())


ALONE = """\
  ONLY BOOK: {like: WIDE SHOT, dims: {WALL HEAD: 0 %, GLOBE: 0 %}}
  ONLY HEAD: {like: WIDE SHOT, dims: {BOOK: 0 %, GLOBE: 0 %}}
  ONLY DAY: {like: WIDE SHOT, dims: {BOOK: 0 %, WALL HEAD: 0 %, GLOBE: 0 %}}

readings:
"""
ON = {"ONLY BOOK": "BOOK on", "ONLY HEAD": "WALL HEAD on", "ONLY DAY": "ambient"}


@pytest.mark.parametrize(
    "read",
    [
        # At the subject, elsewhere in the room, and where walls are seen most.
        {"key cheek": "ONLY BOOK", "the back wall": "ONLY HEAD", "shadow cheek": "ONLY DAY"},
        pytest.param(
            {"the bench": "ONLY BOOK", "the right wall": "ONLY HEAD", "forehead": "ONLY DAY"},
            marks=pytest.mark.long,
        ),
        pytest.param(
            {
                "the right wall": "ONLY BOOK",
                "the back wall": "ONLY HEAD",
                "the hair edge, shadow side": "ONLY BOOK",
            },
            marks=pytest.mark.long,
        ),
    ],
)
def test_one_light_on_at_a_time_puts_the_workshop_right(
    read: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wall that reflects 0.4 for 0.6, one lamp 0.4 stop weak, another 0.5 strong; any three."""
    monkeypatch.setattr(store, "_cache_folder", lambda: tmp_path)
    planned = location_file("workshop").read_text("utf-8")
    plan, witness = tmp_path / "plan.scene.yaml", tmp_path / "true.scene.yaml"
    plan.write_text(planned, encoding="utf-8")
    # 0.3 is what the catalogue has: the green wall is as planned.
    true = {"plaster": 0.4, "green": 0.3, "book": 0.75, "head": 1.42, "globe": 1.0}
    text = as_it_is(planned, true)
    witness.write_text(text.replace("readings:\n", ALONE, 1), encoding="utf-8")
    told = values(witness)
    typed = []
    for name, setup in read.items():
        value = values(witness, setup)[name]
        typed.append(f"{name}: {float(f'{value:.2g}'):g} lx; {ON[setup]}")
    out = tmp_path / "right.scene.yaml"
    asked = CorrectAsked(tuple(typed), setup="WIDE SHOT", out=out)
    found = run_correct(plan, asked).corrections
    assert not found.doubted
    before = {one.reading: one.before for one in found.plan}
    assert max(abs(stops) for stops in off(before, told).values()) > 0.5
    after = off(values(out), told)
    assert max(abs(stops) for stops in after.values()) <= THIRD, after
