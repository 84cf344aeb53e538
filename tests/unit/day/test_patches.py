"""Where the sun falls on a floor, by pencil; and whether it shines into a camera."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.day.patches import SunFinder
from falloff.day.records import SunPatch
from falloff.day.sights import SunInView
from falloff.daylight import sun_events
from falloff.document import SceneDocument, parse_document
from falloff.sources import Source
from falloff.stage import SUN_NAME, build_stage, place_of, skies_by_hour
from falloff.transport import Budget, Solution, sun_on_elements, trace
from falloff.types import Float64Array

THICK_M = 0.1
SIDES_M, SILL_M, HEAD_M = (1.5, 2.5), 0.9, 2.1
SMALL = Budget(row_rays=16, element_points=4, element_rays=2, opening_rays=2)
NEAR_M = 0.04  # how finely an outline is sought
# The window looks south, down the plan; the sun stands 40 degrees north there.
TEXT = f"""
falloff: 2
title: A south window
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 6 m], [0 m, 6 m]]
  height: 2.6 m
  wall_thickness: {THICK_M} m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster
openings:
  WINDOW: {{wall: 1, along: {SIDES_M[0]} m, width: 1 m, sill: {SILL_M} m, height: 1.2 m}}
location: {{latitude: 40 N, longitude: 0 E, zone: UTC}}
sky: {{type: clear, at: 2026-06-21 12:00, north: 90 deg}}
MORE
cameras:
  IN SUN: {{at: [2 m, EYE m, 1.0 m], aim: [AIM], lens: 24 mm, aspect: 16:9}}
setups:
  IN SUN: {{camera: IN SUN, stop: T4, iso: 400, shutter: 180 deg}}
"""
JUNE, EQUINOX, DECEMBER = date(2026, 6, 21), date(2026, 3, 20), date(2026, 12, 21)


@dataclass(frozen=True, slots=True)
class Lit:
    document: SceneDocument
    solution: Solution
    finder: SunFinder

    def sun(self, instant: datetime) -> Source:
        found = skies_by_hour(self.document)(instant, None).sources
        return next(one for one in found if one.name == SUN_NAME)

    def patches(self, sun: Source) -> dict[str, SunPatch]:
        found = self.finder.patches(sun, sun_on_elements(self.solution, sun))
        assert [one.area_m2 for one in found]
        return {one.surface: one for one in found}


def lit(more: str = "", *, eye_y: float = 3.0, aim: str = "2 m, 0 m, 1.4 m") -> Lit:
    text = TEXT.replace("MORE", more).replace("EYE", f"{eye_y}").replace("[AIM]", f"[{aim}]")
    document = parse_document(text, "south.scene.yaml")
    solution = trace(build_stage(document, guarded=False), SMALL)
    return Lit(document, solution, SunFinder(solution))


@pytest.fixture(scope="module")
def south() -> Lit:
    return lit()


def noon(day: date, room: Lit) -> datetime:
    found = sun_events(place_of(room.document), day).noon
    assert found is not None
    return found


def corners(sun: Source) -> Float64Array:
    """pencil: the floor's lit corners (4, 2), the window's seen through a wall so thick.

    A ray that lands at (x, y) came in at height y/k over the wall's inner face and (y + t)/k over
    its outer one, where k is how far light goes inward for each metre down; the sill bounds it
    inside, the head outside, each side where it stands in the way.
    """
    aside, inward = -sun.shape[:2] / sun.shape[2]
    low, high = SILL_M * inward, HEAD_M * inward - THICK_M
    slope, step = aside / inward, THICK_M * aside / inward
    left, right = SIDES_M[0] + max(0.0, step), SIDES_M[1] + min(0.0, step)
    return np.array([(x + y * slope, y) for y in (low, high) for x in (left, right)])


def area_within(outline: Float64Array) -> float:
    x, y = outline.T
    return float(0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


@pytest.mark.parametrize(
    ("day", "reach_m", "altitude_deg"),
    [(JUNE, 0.6, 73.0), (EQUINOX, 1.7, 50.0), (DECEMBER, 4.2, 27.0)],
)
def test_how_far_a_south_window_throws_its_patch(
    day: date, reach_m: float, altitude_deg: float, south: Lit
) -> None:
    """Source: practitioners' cases, C48: 40° N at noon, head at 2.1 m."""
    sun = south.sun(noon(day, south))
    altitude = math.degrees(math.asin(sun.shape[2]))
    assert abs(altitude - altitude_deg) < 0.6
    assert abs(sun.shape[0]) < 1e-3  # due south
    assert sun.shape[1] < 0.0
    floor = south.patches(sun)["room: floor"]
    assert floor.height_m == 0.0
    deepest = max(y for line in floor.outlines for _, y in line)
    assert abs(deepest + THICK_M - reach_m) < 0.1  # from the outer face, which its head is in
    assert_allclose(deepest, HEAD_M / math.tan(math.radians(altitude)) - THICK_M, atol=NEAR_M)


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (EQUINOX, 0.0),
        (EQUINOX, 1.5),
        (EQUINOX, -2.0),
        (DECEMBER, 0.0),
        (DECEMBER, -1.0),
        (JUNE, 0.5),
    ],
)
def test_a_patch_lies_where_pencil_puts_it(day: date, hours: float, south: Lit) -> None:
    """Corners within 4 cm and the half shadow, area within what 2 cm along its rim make.

    pencil: the half shadow is tan 0.2665° of the way, along the floor h / sin² of the altitude.
    """
    sun = south.sun(noon(day, south) + timedelta(hours=hours))
    floor = south.patches(sun)["room: floor"]
    outline, *specks = sorted(map(np.array, floor.outlines), key=lambda one: -area_within(one))
    assert sum(area_within(one) for one in specks) < 0.01  # of single points in the half shadow
    wanted, edge = corners(sun), NEAR_M + 0.00465 * HEAD_M / sun.shape[2] ** 2
    assert wanted[:, 0].min() > 0.0
    assert wanted[:, 0].max() < 4.0
    gaps = np.linalg.norm(outline[:, None] - wanted, axis=-1).min(0)
    assert (gaps < edge).all(), gaps
    low, high = wanted[0, 1], wanted[2, 1]
    across = wanted[1, 0] - wanted[0, 0]
    area = across * (high - low)
    assert_allclose([outline[:, 1].min(), outline[:, 1].max()], [low, high], atol=edge)
    assert_allclose(area_within(outline), area, atol=0.5 * NEAR_M * 2.0 * (across + high - low))
    assert_allclose(floor.area_m2, area, rtol=0.03)


def test_shares_of_the_sun_that_comes_in_add_up(south: Lit) -> None:
    """pencil: nearly all lands on the floor at the equinox; some is left on the reveal."""
    sun = south.sun(noon(EQUINOX, south))
    found = south.patches(sun)
    assert 0.95 < sum(one.share for one in found.values()) <= 1.0 + 1e-9
    assert found["room: floor"].share > 0.85
    # pencil: floor flux over what comes in between the faces of the wall: (2.1 − 0.9)k − t of 1.2 k
    inward = -sun.shape[1] / sun.shape[2]
    assert_allclose(found["room: floor"].share, 1.0 - THICK_M / (1.2 * inward), atol=0.02)


def test_no_patch_without_sun(south: Lit) -> None:
    sun = south.sun(datetime(2026, 6, 21, 2, 0, tzinfo=ZoneInfo("UTC")))
    assert south.finder.patches(sun, sun_on_elements(south.solution, sun)) == ()
    early = south.sun(datetime(2026, 6, 21, 6, 0, tzinfo=ZoneInfo("UTC")))  # up, north of east
    assert south.finder.patches(early, sun_on_elements(south.solution, early)) == ()


TABLE = """
props:
  TABLE: {shape: box, size: [1.2 m, 0.8 m, 0.7 m], at: [2 m, 1.4 m], surface: oak}
"""


def test_a_patch_on_a_table_lies_at_its_height() -> None:
    """pencil: the window's head throws light (2.1 − 0.7)/tan in, the table takes its part."""
    room = lit(TABLE.strip())
    sun = room.sun(noon(EQUINOX, room))
    found = room.patches(sun)
    (name,) = (one for one in found if "TABLE" in one and found[one].outlines)
    table = found[name]
    assert table.height_m is not None
    assert_allclose(table.height_m, 0.7, atol=1e-6)
    inward = -sun.shape[1] / sun.shape[2]
    y = np.array([y for line in table.outlines for _, y in line])
    x = np.array([x for line in table.outlines for x, _ in line])
    assert_allclose(y.max(), (HEAD_M - 0.7) * inward - THICK_M, atol=NEAR_M)
    assert_allclose(y.min(), 1.0, atol=NEAR_M)  # its near edge: the sill's shadow falls before it
    assert_allclose([x.min(), x.max()], [1.5, 2.5], atol=NEAR_M)


def test_an_outline_is_left_out_where_it_is_not_asked_for(south: Lit) -> None:
    sun = south.sun(noon(EQUINOX, south))
    (floor, *_) = south.finder.patches(sun, sun_on_elements(south.solution, sun), outlined=False)
    assert (floor.surface, floor.outlines, floor.height_m) == ("room: floor", (), None)


# Into the camera -------------------------------------------------------------------------

# pencil: on 21 December at noon the sun stands 26.6° up, due south: from 2 m before the window at
# 1.0 m it is seen through it at 2.0 m of height.
AIMS = {
    "into it": (2.0, "2 m, 0 m, 2 m", (True, True)),
    "below it, within the frame": (2.0, "2 m, 0 m, 1.6 m", (True, True)),
    "away": (2.0, "2 m, 6 m, 1 m", (False, False)),
    "beside": (2.0, "0 m, 1.2 m, 1 m", (False, True)),
    "from the shade": (5.5, "2 m, 0 m, 2 m", (False, False)),
}


@pytest.mark.parametrize("name", AIMS)
def test_whether_the_sun_is_in_the_frame_or_on_the_lens(name: str) -> None:
    eye_y, aim, wanted = AIMS[name]
    room = lit(eye_y=eye_y, aim=aim)
    view = room.solution.stage.views["IN SUN"]
    # The camera is lower than it is written for the others.
    assert SunInView(room.solution, view).at(room.sun(noon(DECEMBER, room))) == wanted


def test_no_sun_in_the_frame_at_night() -> None:
    room = lit(eye_y=2.0, aim="2 m, 0 m, 2 m")
    view = room.solution.stage.views["IN SUN"]
    night = room.sun(datetime(2026, 12, 21, 0, 0, tzinfo=ZoneInfo("UTC")))
    assert SunInView(room.solution, view).at(night) == (False, False)
