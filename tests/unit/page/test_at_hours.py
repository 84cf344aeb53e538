"""The worker's hours: a glance of the daylight, the day without a lamp, the sun's patches."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.day import through_day
from falloff.document import SceneDocument, arranged, instant_of, parse_document
from falloff.layers import Live, keep_hours, open_passes
from falloff.page.at_hours import Hours, day_fields, has_hour
from falloff.page.clocks import clock_of, minute_of
from falloff.page.tasks import HourTask, Sight
from falloff.page.worker import Bench
from falloff.session.scene import setup_light
from falloff.stage import build_stage

SCENE = (Path(__file__).parents[2] / "page" / "day.scene.yaml").read_text("utf-8")
SIGHT = Sight("WIDE", "WIDE")
SIZE = (64, 36)


def standing(text: str = SCENE) -> SceneDocument:
    return arranged(parse_document(text), "WIDE")


def light_of(text: str) -> Live:
    stage = build_stage(standing(text))
    found = [one.live for one in open_passes(stage, "WIDE", size=SIZE) if one.live is not None]
    return found[-1]


@pytest.fixture(scope="module")
def live() -> Live:
    return light_of(SCENE)


@pytest.fixture(scope="module")
def hours(live: Live) -> Hours:
    return Hours(standing(), live)


def test_a_glance_is_of_daylight_alone_and_darker_in_the_evening(hours: Hours) -> None:
    noon = instant_of(hours.document)
    assert noon is not None
    assert hours.ready("WIDE")
    seen = [hours.glance("WIDE", one) for one in (noon, noon.replace(hour=20))]
    names = [hours.live.names[s] for s in seen[0].sources]
    assert names == ["WINDOW", "sun"]
    bright, dim = (float((one.direct + one.bounced).sum()) for one in seen)
    assert dim < 0.5 * bright
    assert not seen[0].whole
    # Its rays that go outside are shot once.
    assert hours.taken("WIDE") is hours.taken("WIDE")
    assert hours.follow(standing(), hours.live).taken("WIDE") is hours.taken("WIDE")
    other = standing(SCENE.replace("13:40", "14:40"))
    assert hours.follow(other, hours.live).taken("WIDE") is not hours.taken("WIDE")


def test_the_day_is_pythons_without_its_lamps(hours: Hours) -> None:
    told = hours.day(SIGHT, lambda: None)
    assert json.loads(json.dumps(told, allow_nan=False))
    layers = hours.live.layers()
    setup = setup_light(hours.document, "WIDE")
    day = through_day(keep_hours(layers), hours.document, setup)
    direct, bounced = layers.probes.mean()
    panel = layers.names.index("PANEL")
    lamp = (direct[panel] + bounced[panel]) @ (layers.colours[panel] * np.array(LUMINANCE_WEIGHTS))
    begins = datetime.fromisoformat("2026-06-21T00:00:00+01:00")
    assert len(told["minutes"]) == len(day.moments)
    for k in range(0, len(day.moments), 9):
        one = day.moments[k]
        assert told["minutes"][k] == pytest.approx((one.instant - begins) / timedelta(minutes=1))
        for p, probe in enumerate(layers.probes.probes):
            whole = told["levels"][probe.name]["value"][k] + lamp[p]
            assert whole == pytest.approx(one.levels[probe.name].value, rel=1e-4)
    assert told["date"] == "2026-06-21"
    assert told["events"]["sunrise"] < told["events"]["noon"] < told["events"]["sunset"]
    assert [one["minute"] % 60 for one in told["patches"]] == [0.0] * len(told["patches"])
    assert any(one["outlines"] for each in told["patches"] for one in each["patches"])


def test_the_day_ends_where_something_else_comes_up(hours: Hours) -> None:
    class Other(Exception):
        pass

    count = 0

    def press() -> None:
        nonlocal count
        count += 1
        if count == 3:
            raise Other

    with pytest.raises(Other):
        hours.day(SIGHT, press)
    assert count == 3


def test_the_sun_falls_into_the_room_by_day_alone(hours: Hours) -> None:
    noon = instant_of(hours.document)
    assert noon is not None
    floor = next(one for one in hours.sun(noon) if one.surface == "room: floor")
    assert floor.outlines
    assert floor.area_m2 > 0.1
    assert hours.sun(noon.replace(hour=2)) == ()


def test_a_sky_without_a_sun_has_a_day_and_no_patches() -> None:
    text = SCENE.replace("type: clear", "type: overcast")
    hours = Hours(standing(text), light_of(text))
    noon = instant_of(hours.document)
    assert noon is not None
    assert hours.ready("WIDE")
    assert hours.sun(noon) == ()
    assert max(hours.day(SIGHT, lambda: None)["levels"]["mark"]["value"]) > 1.0


def test_a_scene_without_an_hour_has_none(live: Live) -> None:
    text = SCENE.replace("at: 2026-06-21 13:40", "outside: 12000 lx").replace('at: "16:30"', "")
    assert not has_hour(standing(text.replace("clear", "overcast")), live)


def test_a_day_hangs_on_its_date_and_not_on_its_hour() -> None:
    now = day_fields(standing(), SIGHT)
    assert day_fields(standing(SCENE.replace("13:40", "17:40")), SIGHT) == now
    assert day_fields(standing(SCENE.replace("06-21", "06-22")), SIGHT) != now
    assert day_fields(standing(SCENE.replace("clear", "thin cloud")), SIGHT) != now
    assert day_fields(standing(SCENE.replace("T5.6", "T4")), SIGHT) == now
    # What a meter read, at the sky's own hour, says another day when that hour is another.
    metered = SCENE.replace("type: clear", "type: clear, outside: 9000 lx")
    assert metered != SCENE
    later = standing(metered.replace("13:40", "17:40"))
    assert day_fields(later, SIGHT) != day_fields(standing(metered), SIGHT)


def test_clocks_forward_and_back() -> None:
    """source: Directive 2000/84/EC: forward on 29 March 2026, back on 25 October, at 01:00 UTC."""
    forward = {"length": 1380, "ahead": [[0, 0], [60, 60]]}
    assert clock_of(date(2026, 3, 29), "Europe/London") == forward
    back = {"length": 1500, "ahead": [[0, 60], [120, 0]]}
    assert clock_of(date(2026, 10, 25), "Europe/London") == back
    late = datetime.fromisoformat("2026-10-25T01:30:00+00:00")
    assert minute_of(late, "Europe/London") == 150.0


class Pipe:
    """A pipe that nothing comes through, and what was sent through it."""

    def __init__(self) -> None:
        self.sent: list[object] = []

    def poll(self, _wait_s: float | None) -> bool:
        return False

    def send(self, told: object) -> None:
        self.sent.append(told)


def test_an_hour_of_a_place_that_is_not_traced_is_dropped_and_a_let_go_one_told() -> None:
    pipe = Pipe()
    bench = Bench(pipe)  # type: ignore[arg-type]
    bench.hours["w"] = HourTask("w", SIGHT, "2026-06-21T13:40:00+01:00")
    bench.turn()
    assert pipe.sent == []
    bench.hours["w"] = HourTask("w", SIGHT, None)
    bench.turn()
    (told,) = pipe.sent
    assert getattr(told, "parts") == {"sight": "WIDE|WIDE", "window": "w", "back": True}  # noqa: B009
