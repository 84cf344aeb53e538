"""Numbers read the same in the window and in the terminal: shared cases, both ways."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Browser, Page

import falloff
from falloff.camera import per_cent
from falloff.session.quick.marks import ratio_text
from falloff.units import (
    format_illuminance,
    format_length,
    format_luminance,
    format_stops_tenths,
    format_stops_thirds,
)

_CASES = Path(__file__).with_name("cases")
_STATIC = Path(falloff.__file__).parent / "page" / "static"
CASES = json.loads(_CASES.joinpath("format.json").read_text("utf-8"))
TREES = json.loads(_CASES.joinpath("tree.json").read_text("utf-8"))
MODULE = _STATIC / "format.js"
IN_PYTHON: dict[str, Callable[..., str]] = {
    "stopsThirds": lambda stops, reference: format_stops_thirds(stops, reference=reference),
    "stopsTenths": format_stops_tenths,
    "illuminance": lambda lux, units: format_illuminance(lux, units=units),
    "luminance": lambda nit, units: format_luminance(nit, units=units),
    "length": lambda metres, units: format_length(metres, units=units),
    "perCent": per_cent,
    "ratio": ratio_text,
}
IN_WINDOW = """async ([source, cases]) => {
  const module = await import(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
  const wrong = [];
  for (const [name, list] of Object.entries(cases)) {
    for (const { given, said } of list) {
      const got = module[name](...given.map((part) => (part === null ? -Infinity : part)));
      if (got !== said) wrong.push([name, given, said, got]);
    }
  }
  return wrong;
}"""


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """An empty page in a real Chromium."""
    page = browser.new_page()
    yield page
    page.close()


@pytest.mark.parametrize("name", IN_PYTHON)
def test_python_says_so(name: str) -> None:
    for case in CASES[name]:
        given = [-math.inf if part is None else part for part in case["given"]]
        assert IN_PYTHON[name](*given) == case["said"], case


def test_the_window_says_the_same(window: Page) -> None:
    assert set(CASES) == set(IN_PYTHON)
    assert window.evaluate(IN_WINDOW, [MODULE.read_text("utf-8"), CASES]) == []


def test_against_a_reference(window: Page) -> None:
    """pencil: the level and what it is over; with nothing added at it, or where there is none."""
    said = window.evaluate(
        """async (source) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          const { stopsAgainst } = await import(url);
          return [4 / 3, 0, -Infinity, -1 / 3].map((stops) => stopsAgainst(stops, "middle grey"));
        }""",
        MODULE.read_text("utf-8"),
    )
    assert said == [
        "1 1/3 over middle grey", "at middle grey", "no light", "a third under middle grey",
    ]  # fmt: skip


def test_patches_are_applied_as_python_does(window: Page) -> None:
    """The same cases as for patches.py; what a patch does not touch stays the same object."""
    assert len(TREES) > 10
    wrong = window.evaluate(
        """async ([source, cases]) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          const { apply } = await import(url);
          const sorted = (value) => (value && typeof value === "object" && !Array.isArray(value)
            ? Object.fromEntries(Object.keys(value).sort().map((k) => [k, sorted(value[k])]))
            : value);
          const text = (value) => JSON.stringify(sorted(value));
          const wrong = [];
          for (const { name, old, patch, new: wanted, error = false } of cases) {
            const before = text(old);
            let got = null;
            let failed = false;
            try {
              got = apply(old, patch);
            } catch {
              failed = true;
            }
            if (failed !== error || (!error && text(got) !== text(wanted))) wrong.push([name, got]);
            if (text(old) !== before) wrong.push([name, "the old tree was changed"]);
          }
          const old = { a: { b: { c: 1 }, d: { e: 2 } }, f: {} };
          const now = apply(old, [[["a", "b", "c"], 2]]);
          if (now.f !== old.f || now.a.d !== old.a.d) wrong.push("what was not touched is new");
          if (now.a === old.a || now.a.b === old.a.b) wrong.push("what was touched is old");
          return wrong;
        }""",
        [(_STATIC / "tree.js").read_text("utf-8"), TREES],
    )
    assert wrong == []


def test_gains_are_looked_up_as_numpy_does(window: Page) -> None:
    """pencil: straight lines between the rows; the knob is the inverse by luminance."""
    rng = np.random.default_rng(3)
    gains = np.cumsum(rng.uniform(0.0, 0.02, (101, 3)), axis=0)
    gains[:20] = 0.0  # a unit that gives nothing at the foot of its knob
    kelvins = np.sort(rng.uniform(1800.0, 12000.0, 12))
    hues = rng.uniform(0.5, 2.0, (12, 3))
    weights = np.array([0.2627, 0.6780, 0.0593])  # source: ITU-R BT.2020-2, table 3
    knobs = [-0.1, 0.0, 0.004, 0.195, 0.2, 0.3333, 0.5, 0.999, 1.0, 1.2]
    shares = [0.0, 1e-6, 0.01, 0.25, 0.5, 0.9, 1.0, 1.1]
    asked = [1000.0, float(kelvins[0]), 3200.0, 5600.0, float(kelvins[-1]), 20000.0]
    a, b = rng.uniform(-1.0, 1.0, (2, 3, 3))
    got = window.evaluate(
        """async ([source, unit, weights, knobs, shares, asked, a, b]) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          const { gainAt, knobOf, hueAt, between, product } = await import(url);
          const { kelvin, rgb } = unit.hues;
          return {
            gains: knobs.map((knob) => gainAt(unit, knob)),
            knobs: shares.map((share) => knobOf(unit, share, weights)),
            hues: asked.map((one) => hueAt(unit, one)),
            between: asked.map((one) => between(kelvin, rgb, one)),
            product: product(a, b),
            none: [gainAt({ gains: [[1, 2, 3]] }, 0.3), hueAt({ hues: null }, 3200)],
          };
        }""",
        [
            (_STATIC / "gains.js").read_text("utf-8"),
            {"gains": gains.tolist(), "hues": {"kelvin": kelvins.tolist(), "rgb": hues.tolist()}},
            weights.tolist(), knobs, shares, asked, a.ravel().tolist(), b.ravel().tolist(),
        ],
    )  # fmt: skip
    steps = np.linspace(0.0, 1.0, 101)
    wanted = np.stack([np.interp(knobs, steps, gains[:, c]) for c in range(3)], axis=1)
    assert_allclose(got["gains"], wanted, rtol=1e-9, atol=1e-12)
    light = gains @ weights
    wanted = np.interp(np.array(shares[1:-1]) * light[-1], light[19:], steps[19:])
    assert_allclose(got["knobs"][1:-1], wanted, rtol=1e-9)
    assert (got["knobs"][0], got["knobs"][-1]) == (0.0, 1.0)
    wanted = np.stack([np.interp(asked, kelvins, hues[:, c]) for c in range(3)], axis=1)
    assert_allclose(got["hues"], wanted, rtol=1e-9)
    assert got["between"] == got["hues"]
    assert_allclose(got["product"], (a @ b).ravel(), atol=1e-12)
    assert got["none"] == [[1, 2, 3], [1, 1, 1]]
