"""Lampshades: facets that close round a bulb."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import stage_of

MIDDLE = np.array([3.0, 2.0, 1.4])


def sheets(top: str, bottom: str) -> np.ndarray:
    fabric = "{straight: 0.1, scattered: 0.4}"
    shade = f"{{top: {top}, bottom: {bottom}, height: 30 cm, fabric: {fabric}}}"
    stage = stage_of(
        f"practicals:\n  LIGHT: {{light: bulb in shade, shade: {shade}, output: 700 lm, "
        "colour: 2700 K, at: [3 m, 2 m, 1.4 m]}\n"
    )
    assert stage.sources[0].flux_lm == 700.0
    return np.asarray(stage.surfaces.sheets)


def crossings(rows: np.ndarray, way: np.ndarray) -> int:
    """How many sheets a ray from the middle passes."""
    count = 0
    for row in rows:
        corner, u, v, normal = row[:3], row[3:6], row[6:9], row[9:12]
        down = float(way @ normal)
        if abs(down) < 1e-12:
            continue
        far = float((corner - MIDDLE) @ normal) / down
        at = MIDDLE + far * way - corner
        a, b = float(at @ u) / float(u @ u), float(at @ v) / float(v @ v)
        count += far > 0.0 and -1e-9 <= a <= 1.0 + 1e-9 and -1e-9 <= b <= 1.0 + 1e-9
    return count


def test_a_straight_shade_has_the_area_of_a_cylinder() -> None:
    rows = sheets("40 cm", "40 cm")
    area = np.linalg.norm(np.cross(rows[:, 3:6], rows[:, 6:9]), axis=1).sum()
    assert len(rows) == 12
    assert_allclose(area, math.pi * 0.4 * 0.3, rtol=1e-9)  # pencil: π d h
    outward = rows[:, :3] + 0.5 * (rows[:, 3:6] + rows[:, 6:9]) - MIDDLE
    assert np.all((outward * rows[:, 9:12]).sum(1) > 0.0)


@pytest.mark.parametrize(("top", "bottom"), [("40 cm", "40 cm"), ("20 cm", "35 cm")])
def test_no_light_slips_between_the_facets(top: str, bottom: str) -> None:
    rows = sheets(top, bottom)
    rng = np.random.default_rng(7)
    turn, rise = rng.uniform(0.0, 2.0 * math.pi, 400), rng.uniform(-0.35, 0.35, 400)
    ways = np.stack([np.cos(rise) * np.cos(turn), np.cos(rise) * np.sin(turn), np.sin(rise)], 1)
    found = np.array([crossings(rows, way) for way in ways])
    assert found.min() >= 1  # pencil: the shade subtends more than 0.35 rad up and down
    # A shade that widens laps over itself a little.
    assert float((found > 1).mean()) < (0.1 if top != bottom else 0.01)


def test_light_leaves_above_and_below() -> None:
    rows = sheets("20 cm", "35 cm")
    assert crossings(rows, np.array([0.0, 0.0, 1.0])) == 0  # pencil: it is open
    assert crossings(rows, np.array([0.0, 0.0, -1.0])) == 0
