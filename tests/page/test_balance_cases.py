"""Balancing on a phone comes to what balancing in Python comes to: the same cases, both ways."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from playwright.sync_api import Browser, Page

import falloff
from falloff.balance import Lever, Problem, Table, best_answer
from falloff.balance.levels import settle_levels
from falloff.balance.problem import as_it_stands
from falloff.balance.terms import terms_of
from falloff.document import AnyTarget, Quantity, Target

CASES = json.loads(Path(__file__).with_name("cases").joinpath("balance.json").read_text("utf-8"))
MODULE = Path(falloff.__file__).parent / "session/data/pocket/balance.js"
NEAR_STOPS = 0.04  # of a share that follows by pencil: the pulls leave it so near
SAME_STOPS = 0.01  # between Python and JavaScript


@pytest.fixture(scope="module")
def window(browser: Browser) -> Iterator[Page]:
    """An empty page in a real Chromium."""
    page = browser.new_page()
    yield page
    page.close()


def problem_of(case: dict[str, Any]) -> Problem:
    """A case as falloff.balance has it."""
    light = np.array(case["light"], float)
    names = tuple(f"reading {p}" for p in range(light.shape[1]))
    targets: dict[str, AnyTarget] = {
        f"target {n}": Target(
            reading=names[one["reading"]],
            level=Quantity(one["level_stops"], ""),
            over=None if one["over"] is None else names[one["over"]],
            limit=one["limit"],
            tolerance=Quantity(one["tolerance_stops"], ""),
            weight=one["weight"],
        )
        for n, one in enumerate(case["targets"])
    }
    now = np.array([one["now"] for one in case["levers"]], float)
    table = Table(
        setup="ONE",
        readings=names,
        rgb=np.repeat(light[:, :, None], 3, axis=2),
        now=now,
        spots=np.zeros(len(names), bool),
        key_lux=case["key"],
        grey_nit=1.0,
        balance_kelvin=None,
        targets=targets,
        points={name: (name,) for name in names},
    )
    levers = tuple(
        Lever(f"light {s}", float(one["now"]), lowest=float(one["lowest"]), free=one["free"])
        for s, one in enumerate(case["levers"])
    )
    return Problem("Cases", levers, (table,))


def in_python(case: dict[str, Any]) -> np.ndarray:
    """The shares that Python settles on."""
    problem = problem_of(case)
    start = as_it_stands(problem)
    return settle_levels(problem, terms_of(problem, start), start).answer.shares


def in_window(window: Page, case: dict[str, Any]) -> tuple[list[float], list[bool]]:
    """The shares that the phone settles on, and which targets it calls met."""
    shares, met = window.evaluate(
        """async ([source, { levers, light, key, targets }]) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          const { balancedShares, missOf } = await import(url);
          const against = light[0].map(() => key);
          const shares = balancedShares(levers, light, against, targets);
          const sum = (p) => light.reduce((all, row, s) => all + row[p] * shares[s], 0);
          const stops = (p) => (p === null ? 0 : Math.log2(sum(p) / key));
          return [shares, targets.map((one) =>
            missOf(one, stops(one.reading) - stops(one.over)).miss === 0)];
        }""",
        [MODULE.read_text("utf-8"), case],
    )
    return shares, met


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_python_and_the_phone_agree(window: Page, case: dict[str, Any]) -> None:
    """Pencil: each reading is the sum of light times share, each target one equation in stops."""
    python = in_python(case)
    phone, met = in_window(window, case)
    lit = python > 0.0
    assert [share > 0.0 for share in phone] == lit.tolist()
    apart = np.log2(np.array(phone)[lit]) - np.log2(python[lit])
    assert_allclose(apart, 0.0, atol=SAME_STOPS)
    assert met == case["met"]
    for share, wanted in zip(phone, case["shares"], strict=True):
        if wanted == 0.0:
            assert share == 0.0
        else:
            assert math.log2(share / wanted) == pytest.approx(0.0, abs=NEAR_STOPS)


HOPELESS = {
    # pencil: the window alone is a stop over the limit, so nothing is bent for it; 400 lx of BOOK
    # to 200 lx is a stop down, and GLOBE, which gives next to nothing there, is left alone.
    "key": 400,
    "levers": [
        {"now": 1, "lowest": 1, "free": False},
        {"now": 1, "lowest": 0.01, "free": True},
        {"now": 1, "lowest": 0.01, "free": True},
    ],
    "light": [[1600, 0], [100, 400], [60, 4]],
    "targets": [
        {
            "reading": 0, "over": None, "level_stops": 1, "limit": "at most",
            "tolerance_stops": 0.3333, "weight": 1,
        },
        {
            "reading": 1, "over": None, "level_stops": -1, "limit": "equal",
            "tolerance_stops": 0.3333, "weight": 1,
        },
    ],
    "shares": [1, 0.5, 1],
}  # fmt: skip


def test_nothing_is_bent_for_what_cannot_be_met(window: Page) -> None:
    shares = window.evaluate(
        """async ([source, { levers, light, key, targets }]) => {
          const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
          const { balanced } = await import(url);
          return balanced(levers, light, light[0].map(() => key), targets);
        }""",
        [MODULE.read_text("utf-8"), HOPELESS],
    )
    python = best_answer(problem_of(HOPELESS)).shares
    for told in (shares, python):
        assert told[2] == pytest.approx(1.0)
        assert math.log2(told[1]) == pytest.approx(-1.0, abs=0.1)
