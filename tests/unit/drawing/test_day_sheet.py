"""A day's sheet of invented days: nothing is cut, no words overlap, days share their scales."""

from __future__ import annotations

import itertools
import math
import xml.etree.ElementTree as ET
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import msgspec
import numpy as np
import pytest

from falloff.day.records import (
    Countdown,
    Day,
    DayMoment,
    Dusk,
    HourLevel,
    NdPull,
    ShotTurn,
    Stretch,
    SunPatch,
    TargetDay,
    ViewFix,
    ViewLevel,
)
from falloff.document import read_document
from falloff.drawing import (
    Drawing,
    Patch,
    Plan,
    Stroke,
    Words,
    draw_day,
    plan_of,
    svg_of,
    write_png,
)
from falloff.drawing.day_axis import Box, TimeAxis, box_of_words, hours_of, midnight_of, spread
from falloff.drawing.day_graph import lines_of, over_grey, reach_of
from falloff.drawing.day_patches import chosen_moments
from falloff.drawing.day_strips import strips_of
from falloff.drawing.day_words import answers, date_words, differing
from falloff.findings import Finding, Weight

SHIPPED = Path(__file__).parents[3] / "src" / "falloff" / "session" / "data"
KEY_LUX = 480.0
GREY_NIT = KEY_LUX * 0.18 / math.pi
NAMES = (
    "key cheek",
    "shadow cheek",
    "the window",
    "bench",
    "back wall",
    "door",
    "floor by the door",
    "shelf",
    "hands",
    "plant",
    "crate",
    "ceiling",
)


# Invented days ---------------------------------------------------------------------------


def altitude_rad(latitude_deg: float, when: datetime) -> float:
    """A round earth's sun, local noon at 12:00 UTC: right enough for a drawing."""
    turn = 2.0 * math.pi * (when.timetuple().tm_yday - 172) / 365.0
    tilt, place = math.radians(23.44) * math.cos(turn), math.radians(latitude_deg)
    utc = when.astimezone(UTC)
    hour = math.pi * ((utc.hour + utc.minute / 60.0) - 12.0) / 12.0
    return math.asin(
        math.sin(place) * math.sin(tilt) + math.cos(place) * math.cos(tilt) * math.cos(hour)
    )


def level(value: float, reference: float, sun: float = 0.0) -> HourLevel:
    stops = math.log2(value / reference) if value > 0.0 else None
    return HourLevel(
        value=value,
        low=value * 0.75,
        high=value * 1.3,
        stops=stops,
        low_stops=None if stops is None else stops - 0.42,
        high_stops=None if stops is None else stops + 0.38,
        sun=sun,
    )


def square(x: float, y: float, wide: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + wide, y), (x + wide + 0.2, y + 0.9), (x + 0.2, y + 0.9))


def moment(
    when: datetime, names: tuple[str, ...], *, latitude_deg: float, lamp_lux: float
) -> DayMoment:
    altitude = altitude_rad(latitude_deg, when)
    up = max(0.0, math.sin(altitude))
    sky = 22_000.0 * up**0.8 + (420.0 * math.exp(altitude / 0.035) if altitude < 0.0 else 420.0)
    hour = when.hour + when.minute / 60.0
    facing = math.exp(-(((hour - 10.4) / 1.7) ** 2)) if up > 0.05 else 0.0
    sun = 60_000.0 * up**0.5 * facing
    levels = {}
    for k, name in enumerate(names):
        share = 0.05 * 0.62**k
        straight = 0.06 * sun if k == 0 else 0.0
        lux = share * sky + (lamp_lux if k < 2 else 0.1 * lamp_lux) + straight
        if k == 2:
            levels[name] = level(sky * 0.05 + 0.02 * lamp_lux, GREY_NIT)
        else:
            levels[name] = level(lux, KEY_LUX, straight)
    lit = facing > 0.08
    patches: tuple[SunPatch, ...] = ()
    if lit:
        x = 0.4 + 0.55 * (hour - 7.0)
        patches = (
            SunPatch(
                surface="floor",
                area_m2=1.8 * facing,
                share=0.7,
                height_m=0.0,
                outlines=(square(x, 1.4, 0.8),),
            ),
            SunPatch(surface="BENCH", area_m2=0.5 * facing**2, share=0.2, height_m=0.9),
            SunPatch(surface="wall 3", area_m2=0.2, share=0.1),
        )
    key = levels.get("key cheek")
    over = (
        None if key is None or key.stops is None else math.log2(sky * 0.05 / GREY_NIT) - key.stops
    )
    return DayMoment(
        instant=when,
        sun_altitude_deg=math.degrees(altitude),
        sun_azimuth_deg=15.0 * hour,
        sky_lux=sky,
        sun_lux=60_000.0 * up**0.5,
        sky_kelvin=9_000.0,
        levels=levels,
        target_levels={},
        holds={},
        views=(ViewLevel(opening="WINDOW", nit=sky * 0.05, over_grey=None, over_face=over),),
        patches=patches,
        sun_in_frame=False,
        sun_on_lens=lit and facing > 0.8,
    )


def made_day(
    written: str = "2026-06-21",
    *,
    zone: str = "Europe/London",
    latitude_deg: float = 51.5,
    lamp_lux: float = 40.0,
    names: tuple[str, ...] = NAMES[:4],
    whole: bool = False,
    minutes: int = 15,
    **other: Any,
) -> Day:
    clock = ZoneInfo(zone)
    day = date.fromisoformat(written)
    start = datetime.combine(day, time(), clock).astimezone(UTC)
    end = datetime.combine(day + timedelta(days=1), time(), clock).astimezone(UTC)
    count = round((end - start).total_seconds() / 60.0 / minutes)
    every = [(start + timedelta(minutes=minutes * k)).astimezone(clock) for k in range(count + 1)]
    heights = [math.degrees(altitude_rad(latitude_deg, one)) for one in every]
    up = [a > -0.83 for a in heights]
    kept = [one for one, a in zip(every, heights, strict=True) if whole or a > -13.5]

    def at(hour: int, minute: int = 0) -> datetime:
        return datetime.combine(day, time(hour, minute), clock)

    def passed(limit: float, *, rising: bool) -> datetime | None:
        pairs = zip(heights, heights[1:], every[1:], strict=False)
        return next(
            (t for a, b, t in pairs if (a < limit) != (b < limit) and (b > a) == rising), None
        )

    facts: dict[str, Any] = {
        "scene": "Workshop",
        "setup": "WIDE SHOT",
        "camera": "CAM A",
        "place": "51.50° N, 0.12° W",
        "date": written,
        "zone": zone,
        "sky": "clear, turbidity 3",
        "north_deg": 110.0,
        "exposure": "T2.8, ISO 800, 1/48 s, ND 0.9, balance 5600 K",
        "key_lux": KEY_LUX,
        "key_reading": names[0] if names else None,
        "hour": at(13, 40),
        "events": {
            "dawn": passed(-6.0, rising=True),
            "sunrise": passed(-0.83, rising=True),
            "noon": at(13),
            "sunset": passed(-0.83, rising=False),
            "dusk": passed(-6.0, rising=False),
            "night": passed(-12.0, rising=False),
        },
        "always_up": all(up),
        "always_down": not any(up),
        "moments": tuple(
            moment(one, names, latitude_deg=latitude_deg, lamp_lux=lamp_lux) for one in kept
        ),
        "targets": (
            TargetDay(
                name="key on the face",
                asks="key cheek level with key, within 1/2 stop",
                holds=(
                    Stretch(start=at(9, 40), end=at(12, 10), sure=True),
                    Stretch(start=at(15, 50), end=at(18, 20)),
                ),
            ),
            TargetDay(
                name="shadow side",
                asks="shadow cheek 2 stops under key cheek, within 1/3 stop",
                holds=(Stretch(start=at(8, 5), end=at(8, 25), sure=True),),
            ),
            TargetDay(name="window in hand", asks="the window at most 3 stops over key", holds=()),
        ),
        "near_hour": (),
        "sun_in_frame": (),
        "sun_on_lens": (Stretch(start=at(9, 55), end=at(10, 50)),),
        "nd": tuple(
            NdPull(at=at(19, 10) + timedelta(minutes=22 * k), before=3.0 - k, after=2.0 - k)
            for k in range(3)
        ),
        "dusk": (
            Dusk(
                opening="WINDOW",
                start=at(20, 10),
                level=at(20, 36),
                end=at(20, 58),
                over=2.5,
                under=-2.0,
                stops_a_minute=0.1,
            ),
        ),
        "view_fixes": (
            ViewFix(
                opening="WINDOW",
                over_face=3.1,
                wanted=2.5,
                gel_stops=2.6,
                gel_as_sold=3.0,
                key_loss=0.6,
                room_loss=1.1,
                hour=at(19, 20),
                key_gain=0.6,
            ),
        ),
        "countdowns": (Countdown(reading=names[0], minutes=18.0, falls=True),) if names else (),
    }
    return Day(**{**facts, **other})


def order() -> tuple[ShotTurn, ...]:
    def at(hour: int) -> datetime:
        return datetime(2026, 6, 21, hour, 30, tzinfo=ZoneInfo("Europe/London"))

    return (
        ShotTurn(
            setup="CLOSE-UP",
            stretches=(Stretch(start=at(8), end=at(11), sure=True),),
            why="its targets hold 08:30 to 11:30, and nothing else is lost by then",
        ),
        ShotTurn(
            setup="WIDE SHOT",
            stretches=tuple(Stretch(start=at(h), end=at(h + 1)) for h in (9, 12, 15)),
            why="its targets hold 09:30 to 10:30 and 12:30 to 13:30 and 15:30 to 16:30",
        ),
        ShotTurn(setup="INSERT", stretches=(), why="at any hour"),
    )


@pytest.fixture(scope="module")
def room() -> Plan:
    return plan_of(read_document(SHIPPED / "workshop.scene.yaml"), beams=False)


# What every sheet must be ----------------------------------------------------------------


def words_of(drawing: Drawing) -> list[Words]:
    return [one for one in drawing.shapes if isinstance(one, Words)]


def said(drawing: Drawing) -> str:
    return "\n".join(one.text for one in words_of(drawing))


def check(drawing: Drawing) -> None:
    page = Box(0.0, 0.0, drawing.width_mm, drawing.height_mm)
    margin = Box(4.0, 4.0, drawing.width_mm - 4.0, drawing.height_mm - 4.0)
    for shape in drawing.shapes:
        if isinstance(shape, Words):
            assert margin.holds(box_of_words(shape)), shape
            assert shape.size_mm >= 2.4, shape
        else:
            for x, y in shape.points_mm:
                assert page.holds(Box(x, y, x, y)), shape
    words = [one for one in words_of(drawing) if one.text]
    for a, b in itertools.combinations(words, 2):
        assert not box_of_words(a).meets(box_of_words(b)), (a, b)
    root = ET.fromstring(svg_of(drawing).encode())
    assert root.tag.endswith("svg")


CLEAR = made_day()
WINTER = made_day("2026-12-21")
DULL = made_day(sky="overcast", lamp_lux=300.0)
POLAR_DAY = made_day(
    zone="Europe/Oslo", latitude_deg=78.0, events={"sunrise": None, "sunset": None, "noon": None}
)
POLAR_NIGHT = made_day(
    "2026-12-21", zone="Europe/Oslo", latitude_deg=78.0, whole=True, events={}, dusk=(), nd=()
)
DARK = made_day(
    moments=tuple(
        msgspec.structs.replace(one, levels={name: level(0.0, KEY_LUX) for name in one.levels})
        for one in made_day(minutes=60).moments
    )
)
LONG = "an uncommonly long name of something that somebody put in words at great length, "
NAMED = made_day(
    scene=3 * LONG,
    setup=LONG,
    place=2 * LONG,
    sky=2 * LONG,
    names=tuple(f"{k} {LONG}" for k in range(6)),
    targets=tuple(TargetDay(name=f"{k} {LONG}", asks=LONG, holds=()) for k in range(5)),
    findings=(Finding(weight=Weight.CAUTION, about="WINDOW", says=3 * LONG, do=LONG),),
)
MANY = made_day(
    targets=tuple(
        TargetDay(
            name=f"target {k}",
            asks="key cheek level with key",
            holds=tuple(
                Stretch(
                    start=CLEAR.hour + timedelta(minutes=20 * n),
                    end=CLEAR.hour + timedelta(minutes=20 * n + 9 + k),
                    sure=bool(n % 2),
                )
                for n in range(9)
            ),
        )
        for k in range(9)
    ),
    nd=tuple(
        NdPull(at=CLEAR.hour + timedelta(minutes=6 * k), before=20.0 - k, after=19.0 - k)
        for k in range(20)
    ),
    names=NAMES,
)
BRIGHT = made_day(lamp_lux=200_000.0)
BARE = made_day(
    names=(), targets=(), nd=(), dusk=(), view_fixes=(), countdowns=(), sun_on_lens=(), moments=()
)
ONE = made_day(moments=CLEAR.moments[20:21])
AUTUMN = made_day("2026-10-25", whole=True)
SPRING = made_day("2026-03-29", whole=True)
KINDS = {
    "clear": CLEAR,
    "winter": WINTER,
    "dull": DULL,
    "polar day": POLAR_DAY,
    "polar night": POLAR_NIGHT,
    "dark": DARK,
    "long names": NAMED,
    "many": MANY,
    "bright": BRIGHT,
    "bare": BARE,
    "one moment": ONE,
    "25 hours": AUTUMN,
    "23 hours": SPRING,
}


@pytest.mark.parametrize("with_room", [False, True])
@pytest.mark.parametrize("kind", list(KINDS))
def test_nothing_is_cut_and_no_words_overlap(kind: str, with_room: bool, room: Plan) -> None:
    day = KINDS[kind]
    check(draw_day((day,), room=room if with_room else None, order=order() if with_room else ()))
    check(draw_day((day, WINTER), room=room if with_room else None, order=4 * order()))
    check(draw_day((CLEAR, day, DULL), room=room if with_room else None))


@pytest.mark.parametrize("count", range(1, 13))
def test_one_to_twelve_readings(count: int) -> None:
    drawing = draw_day((made_day(names=NAMES[:count]),))
    check(drawing)
    letters = {one.text for one in words_of(drawing) if one.text in "ABCDEFG"}
    assert letters == set("ABCDEF"[:count])
    assert ("more reading" in said(drawing)) == (count > 6)


# Parts -----------------------------------------------------------------------------------


def test_the_key_comes_first_and_what_is_left_out_is_told() -> None:
    day = made_day(names=NAMES, key_reading="shelf")
    names, left = lines_of((day,), ())
    assert names == ["shelf", *NAMES[:5]]
    assert left == 6
    assert lines_of((day,), ("door", "shelf", "nothing")) == (["shelf", "door"], 10)
    assert "6 more readings" in said(draw_day((day,))).replace("\n", " ")


def test_days_share_their_scales() -> None:
    drawing = draw_day((CLEAR, WINTER, POLAR_NIGHT))
    hours = hours_of((CLEAR, WINTER, POLAR_NIGHT))
    assert (hours.start, hours.end) == (0.0, 24.0)
    labels = [one for one in words_of(drawing) if one.text == "12"]
    assert len(labels) == 3
    assert len({round(one.at_mm[1], 6) for one in labels}) == 1
    keys = [one for one in drawing.shapes if isinstance(one, Stroke) and one.width_mm == 0.75]
    assert len({one.points_mm[0][1] for one in keys}) == 1
    assert len({round(one.points_mm[1][0] - one.points_mm[0][0], 6) for one in keys}) == 1


def test_headings_say_what_differs() -> None:
    assert differing((CLEAR, WINTER)) == ["date"]
    turned = made_day(north_deg=200.0)
    assert differing((CLEAR, turned)) == ["north"]
    told = said(draw_day((CLEAR, turned)))
    assert "North at 110°" in told
    assert "North at 200°" in told
    assert differing((CLEAR, DULL)) == ["sky"]
    assert "Compared: date" in said(draw_day((CLEAR, WINTER)))


def test_hours_are_real_and_told_by_the_clock() -> None:
    for day, length, twice in ((AUTUMN, 25.0, 2), (SPRING, 23.0, 0)):
        hours = hours_of((day,))
        assert (hours.start, hours.end) == (0.0, length)
        axis = TimeAxis(day, hours, 0.0, length)
        ticks = axis.ticks()
        assert sum(hour == 1 for _, hour in ticks) == twice
        assert [x for x, _ in ticks] == pytest.approx([float(k) for k in range(len(ticks))])
        assert midnight_of(day).astimezone(day.hour.tzinfo).hour == 0


def test_the_answers_stand_on_top_in_the_largest_letters() -> None:
    told = answers(CLEAR)
    assert told[0] == "Key on the face: 09:40 to 12:10; perhaps 15:50 to 18:20."
    assert told[2] == "Window in hand: at no hour of this day."
    assert told[3] == "From 13:40: 18 minutes until key cheek drops half a stop."
    gel = "2.5 with gel 0.9 on it, which takes 0.6 off the face, or after 19:20."
    assert told[4] == f"View in WINDOW is 3.1 over the face; {gel}"
    drawing = draw_day((CLEAR,))
    largest = max(words_of(drawing), key=lambda one: one.size_mm)
    assert largest.text == told[0]
    assert answers(POLAR_DAY)[-1] == "The sun does not set this day."
    assert answers(POLAR_NIGHT)[-1] == "The sun does not rise this day."


def test_dates_in_words() -> None:
    assert date_words("2026-06-21") == "Sunday 21 June 2026"
    assert date_words("some day") == "some day"


def test_spots_are_told_over_grey() -> None:
    assert over_grey((CLEAR,), "the window")
    assert not over_grey((CLEAR,), "key cheek")
    assert "over middle grey" in said(draw_day((CLEAR,))).replace("\n", " ")


def test_the_graph_reaches_no_further_than_six_stops() -> None:
    assert reach_of((BRIGHT,), NAMES[:2])[1] == 6
    assert reach_of((DARK,), NAMES[:2]) == (-2, 2)
    peak = max(one.levels["key cheek"].stops or 0.0 for one in BRIGHT.moments)
    assert f"A +{peak:.1f}" in said(draw_day((BRIGHT,)))
    assert "No reading has so much light." in said(draw_day((DARK,)))


def test_empty_strips_are_told_in_one_line() -> None:
    strips, none = strips_of((CLEAR,), ["key cheek"])
    assert "Sun in frame" not in [one.label for one in strips]
    assert none == "No sun in frame, Window in hand: at no hour."
    assert "No sun in frame" in said(draw_day((CLEAR,)))
    labels = [one.label for one in strips]
    assert labels[:3] == ["Key on the face", "Shadow side", "Sun on key cheek"]
    assert {"Sun on the lens", "Sun on floor", "ND on the lens", "Dusk in WINDOW"} <= set(labels)


def test_a_bar_is_solid_where_it_is_sure_and_hollow_where_it_is_not() -> None:
    drawing = draw_day((CLEAR,))
    texts = {one.text: one for one in words_of(drawing)}
    assert texts["09:40–12:10"].grey_share == 1.0
    assert texts["15:50–18:20"].grey_share == 0.0
    inks = []
    for told in ("09:40–12:10", "15:50–18:20"):
        at = box_of_words(texts[told])
        under = [
            one.grey_share
            for one in drawing.shapes
            if isinstance(one, Patch)
            and one.points_mm[0][0] <= at.left
            and one.points_mm[2][0] >= at.right
            and one.points_mm[0][1] <= at.top + 0.5
            and one.points_mm[2][1] >= at.bottom - 0.5
        ]
        inks.append(under[-1])
    assert inks == [0.0, 1.0]


def test_patches_are_drawn_at_some_hours(room: Plan) -> None:
    chosen = chosen_moments(CLEAR)
    assert 4 <= len(chosen) <= 6
    assert all(one.instant.minute == 0 for one in chosen)
    told = said(draw_day((CLEAR,), room=room))
    assert all(f"{one.instant:%H:%M}" in told for one in chosen)
    assert "No sun on level surfaces" in said(draw_day((POLAR_NIGHT,), room=room))


def test_labels_are_spread_as_little_as_can_be() -> None:
    assert spread([5.0, 1.0], [1.0, 1.0], low=0.0, high=10.0) == [5.0, 1.0]
    assert spread([5.0, 5.0], [2.0, 2.0], low=0.0, high=10.0) == [4.0, 6.0]
    assert spread([0.0, 0.2, 9.9], [2.0, 2.0, 2.0], low=0.0, high=10.0) == [1.0, 3.0, 9.0]
    rng = np.random.default_rng(3)
    for _ in range(200):
        wanted, sizes = rng.uniform(0, 10, 6).tolist(), rng.uniform(0.2, 1.6, 6).tolist()
        middles = spread(wanted, sizes, low=0.0, high=10.0)
        ends = sorted((m - s / 2, m + s / 2) for m, s in zip(middles, sizes, strict=True))
        assert ends[0][0] >= -1e-9
        assert ends[-1][1] <= 10.0 + 1e-9
        assert all(a[1] <= b[0] + 1e-9 for a, b in itertools.pairwise(ends))


def test_cautions_and_order_are_told() -> None:
    told = said(draw_day((CLEAR,), order=order()))
    assert "expected, not measured" in told
    assert "Never look at the sun through a lens" in told
    assert "Order of shots" in told
    assert "CLOSE-UP" in told


def test_a_picture_is_written(tmp_path: Path, room: Plan) -> None:
    from PIL import Image

    write_png(draw_day((CLEAR,), room=room), tmp_path / "day.png", px_per_mm=4.0)
    with Image.open(tmp_path / "day.png") as picture:
        assert picture.size == (1188, 840)
        assert np.asarray(picture).min() == 0


def test_no_day_and_four_days_are_refused() -> None:
    for days in ((), (CLEAR,) * 4):
        with pytest.raises(ValueError, match="one to 3 days"):
            draw_day(days)
