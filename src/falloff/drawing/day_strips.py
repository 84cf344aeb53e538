"""Strips below a day's graph, on its hours: targets held, where the sun falls, ND, dusk."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from falloff.clock import clock_words as clock
from falloff.day.records import Day, NdPull, Stretch
from falloff.drawing.day_axis import GREY, Box, Placed, TimeAxis, box_of_words, rule, spread
from falloff.drawing.day_words import and_words
from falloff.drawing.shapes import Patch, Shape, Words, shortened, width_of_words_mm
from falloff.drawing.sheet import wrapped
from falloff.units import density_from_stops

_ROWS_MM: Final = (5.0, 4.3)  # high, and where graphs stand side by side
_AREAS_MM: Final = (6.8, 5.0)
_NOTED_MM: Final = 6.8
_PULLS_MM: Final = 7.6
_LABEL_MM: Final = 3.0
_SMALL_MM: Final = 2.5
_MOST_SURFACES: Final = 4
_AREA_GREY: Final = 0.3
_LEAST_MM: Final = 0.7  # of a bar, so that a minute is seen


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch on a strip; hollow where it is not sure; tick: a moment in it that is marked."""

    start: datetime
    end: datetime
    sure: bool = True
    tick: datetime | None = None


@dataclass(frozen=True, slots=True)
class Strip:
    """A row under the graphs, with what each day has in it; nothing for a day that has nothing.

    note: said small beside a graph that stands alone. areas: (instant, m²) in order; most_m2: what
    fills the height of the strip.
    """

    label: str
    note: str = ""
    bars: tuple[tuple[Bar, ...], ...] = ()
    areas: tuple[tuple[tuple[datetime, float], ...], ...] = ()
    most_m2: float = 0.0
    pulls: tuple[tuple[NdPull, ...], ...] = ()

    def height_mm(self, *, alone: bool) -> float:
        """How high the row is; alone: under one graph, with its note."""
        if self.pulls:
            return _PULLS_MM
        if self.areas:
            return _AREAS_MM[not alone]
        return _NOTED_MM if self.note and alone else _ROWS_MM[not alone]

    def is_empty(self) -> bool:
        """Whether no day has anything in it."""
        return not any((*self.bars, *self.areas, *self.pulls))


def strips_of(days: Sequence[Day], names: Sequence[str]) -> tuple[list[Strip], str]:
    """Strips that hold something on some day, the most asked first; what is left out, in words.

    names: of readings that are told; the sun on them has a strip where it reaches them.
    """
    targets = _targets(days)
    lens = [
        Strip("Sun in frame", bars=_bars(days, lambda day: day.sun_in_frame)),
        Strip("Sun on the lens", bars=_bars(days, lambda day: day.sun_on_lens)),
    ]
    sun = [
        Strip(f"Sun on {name}", bars=tuple(_lit(day, name) for day in days)) for name in names[:4]
    ]
    pulls = Strip(
        "ND on the lens", "density from each time on", pulls=tuple(day.nd for day in days)
    )
    areas = _areas(days)
    dusks = _dusks(days)
    every = [*targets, *sun[:1], *lens, *areas[:2], pulls, *dusks, *areas[2:], *sun[1:]]
    none = [one.label[:1].lower() + one.label[1:] for one in (*sun[:1], *lens) if one.is_empty()]
    none = [f"no {one}" for one in none]
    none += [] if areas else ["no sun in the room"]
    none += ["no change of ND"] if pulls.is_empty() else []
    none += [] if dusks else ["no minutes of dusk in a window"]
    none += [f"{one.label}: at no hour" for one in targets if one.is_empty()]
    told = f"{_capital(', '.join(none))}." if none else ""
    return [one for one in every if not one.is_empty()], told


def _targets(days: Sequence[Day]) -> list[Strip]:
    asks = {one.name: one.asks for day in reversed(days) for one in reversed(day.targets)}
    names = dict.fromkeys(one.name for day in days for one in day.targets)
    return [
        Strip(
            _capital(name),
            asks[name],
            tuple(
                tuple(
                    Bar(held.start, held.end, held.sure)
                    for one in day.targets
                    if one.name == name
                    for held in one.holds
                )
                for day in days
            ),
        )
        for name in names
    ]


def _bars(
    days: Sequence[Day], part: Callable[[Day], tuple[Stretch, ...]]
) -> tuple[tuple[Bar, ...], ...]:
    return tuple(tuple(Bar(one.start, one.end) for one in part(day)) for day in days)


def _lit(day: Day, name: str) -> tuple[Bar, ...]:
    """When the sun reaches a reading, begun and ended half way between moments."""
    flags = [
        (one.instant, name in one.levels and one.levels[name].sun > 0.0) for one in day.moments
    ]
    bars: list[Bar] = []
    for k, (instant, lit) in enumerate(flags):
        if not lit:
            continue
        before = flags[k - 1][0] if k else instant
        after = flags[k + 1][0] if k + 1 < len(flags) else instant
        start, end = before + (instant - before) / 2, instant + (after - instant) / 2
        if bars and k and flags[k - 1][1]:
            bars[-1] = Bar(bars[-1].start, end)
        else:
            bars.append(Bar(start, end))
    return tuple(bars)


def _areas(days: Sequence[Day]) -> list[Strip]:
    """A strip for each of the surfaces that have the most sun, and how much that is."""
    most: dict[str, float] = {}
    for day in days:
        for moment in day.moments:
            for one in moment.patches:
                if not one.of_opening:
                    most[one.surface] = max(most.get(one.surface, 0.0), one.area_m2)
    chosen = sorted((name for name in most if most[name] > 0.0), key=lambda name: -most[name])
    return [
        Strip(
            f"Sun on {name}",
            areas=tuple(_area(day, name) for day in days),
            most_m2=most[name],
        )
        for name in chosen[:_MOST_SURFACES]
    ]


def _area(day: Day, surface: str) -> tuple[tuple[datetime, float], ...]:
    told = tuple(
        (
            one.instant,
            sum((patch.area_m2 for patch in one.patches if patch.surface == surface), 0.0),
        )
        for one in day.moments
    )
    return told if any(area for _, area in told) else ()


def _dusks(days: Sequence[Day]) -> list[Strip]:
    names = dict.fromkeys(one.opening for day in days for one in day.dusk)
    return [
        Strip(
            f"Dusk in {name}",
            "view from over to under the face; tick: level",
            bars=tuple(_dusk(day, name) for day in days),
        )
        for name in names
    ]


def _dusk(day: Day, opening: str) -> tuple[Bar, ...]:
    found = []
    for one in day.dusk:
        known = [at for at in (one.start, one.level, one.end) if at is not None]
        if one.opening == opening and known:
            found.append(Bar(known[0], known[-1], tick=one.level))
    return tuple(found)


# Drawn -----------------------------------------------------------------------------------


def draw_labels(strips: Sequence[Strip], box: Box, beside: Box | None) -> list[Shape]:
    """Labels of the rows in the column to their left, notes beside them where there is room."""
    shapes: list[Shape] = []
    y = box.top
    for one in strips:
        high = one.height_mm(alone=beside is not None)
        shapes.append(rule((box.left, y), (box.right, y), 0.12))
        base = y + high / 2.0 + 1.1
        label = shortened(one.label, _LABEL_MM, room_mm=box.width - 1.5)
        shapes.append(Words(label, (box.left, base), _LABEL_MM))
        if beside is not None and one.note:
            lines = wrapped(one.note, _SMALL_MM, room_mm=beside.width)
            if len(lines) > 2:
                rest = shortened(" ".join(lines[1:]), _SMALL_MM, room_mm=beside.width)
                lines = [lines[0], rest]
            for number, line in enumerate(lines):
                at = y + high / 2.0 + 0.9 + 2.9 * (number - (len(lines) - 1) / 2.0)
                shapes.append(Words(line, (beside.left, at), _SMALL_MM, grey_share=GREY))
        y += high
    return shapes


def draw_strips(
    strips: Sequence[Strip], axis: TimeAxis, index: int, top: float, *, alone: bool
) -> list[Shape]:
    """The rows of one of the days, at its hours."""
    shapes: list[Shape] = []
    y = top
    for one in strips:
        high = one.height_mm(alone=alone)
        inset = 0.8 if high > _ROWS_MM[0] else 0.4
        shapes.append(rule((axis.left, y), (axis.right, y), 0.12))
        row = Box(axis.left, y + inset, axis.right, y + high - inset)
        if one.areas and one.areas[index]:
            shapes += _draw_area(one.areas[index], one.most_m2, axis, row)
        elif one.pulls and one.pulls[index]:
            shapes += _draw_pulls(one.pulls[index], axis, row)
        elif one.bars and one.bars[index]:
            shapes += _draw_bars(one.bars[index], axis, row)
        else:
            middle = (row.left + row.right) / 2.0, (row.top + row.bottom) / 2.0 + 0.9
            shapes.append(Words("none", middle, _SMALL_MM, "middle", GREY))
        y += high
    shapes.append(rule((axis.left, y), (axis.right, y), 0.12))
    return shapes


def _draw_bars(bars: Sequence[Bar], axis: TimeAxis, row: Box) -> list[Shape]:
    """Bars with their times in them, or beside them where there is room."""
    boxes = []
    for one in bars:
        left, right = axis.x(one.start), axis.x(one.end)
        thin = max(0.0, _LEAST_MM - (right - left)) / 2.0
        middle = (row.top + row.bottom) / 2.0
        boxes.append(Box(left - thin, middle - 1.75, right + thin, middle + 1.75))
    shapes: list[Shape] = []
    placed = Placed(row, list(boxes))
    for one, box in zip(bars, boxes, strict=True):
        shapes.append(box.patch(0.0 if one.sure else 1.0))
        if not one.sure:
            inside = min(0.22, box.width / 2.0)
            shapes.append(
                Box(box.left + inside, box.top + 0.2, box.right - inside, box.bottom - 0.2).outline(
                    0.4
                )
            )
        if one.tick is not None:
            x = axis.x(one.tick)
            shapes += [
                Box(x - 0.4, box.top, x + 0.4, box.bottom).patch(1.0),
                rule((x, row.top), (x, row.bottom), 0.4),
            ]
        told = f"{clock(one.start)}–{clock(one.end)}"
        if one.tick is not None:
            told = f"{told}, level {clock(one.tick)}"
        base = (box.top + box.bottom) / 2.0 + 0.9
        wide = width_of_words_mm(told, _SMALL_MM)
        if wide + 1.4 <= box.width and one.tick is None:
            at = ((box.left + box.right) / 2.0, base)
            shapes.append(Words(told, at, _SMALL_MM, "middle", 1.0 if one.sure else 0.0))
            continue
        sides = [(box.right + 0.9 + wide / 2.0, base), (box.left - 0.9 - wide / 2.0, base)]
        words = placed.words(told, _SMALL_MM, places=sides)
        shapes += [words] if words else []
    return shapes


def _draw_area(
    areas: Sequence[tuple[datetime, float]], most: float, axis: TimeAxis, row: Box
) -> list[Shape]:
    """The area through the day, as high as it is large; its greatest told in each stretch."""
    shapes: list[Shape] = []
    scale = row.height / most
    placed = Placed(row)
    spots: list[tuple[float, float, float]] = []
    for lit, group in itertools.groupby(range(len(areas)), key=lambda k: areas[k][1] > 0.0):
        if not lit:
            continue
        part = list(group)
        wider = range(max(0, part[0] - 1), min(len(areas), part[-1] + 2))
        points = [(axis.x(areas[k][0]), row.bottom - scale * areas[k][1]) for k in wider]
        outline = ((points[0][0], row.bottom), *points, (points[-1][0], row.bottom))
        shapes.append(Patch(outline, _AREA_GREY))
        placed.taken.append(Box(points[0][0], row.top, points[-1][0], row.bottom))
        spots.append((points[0][0], points[-1][0], max(areas[k][1] for k in part)))
    for left, right, area in spots:
        told = f"{area:.2g} m²"
        wide, base = width_of_words_mm(told, _SMALL_MM), (row.top + row.bottom) / 2.0 + 0.9
        sides = [(right + 0.9 + wide / 2.0, base), (left - 0.9 - wide / 2.0, base)]
        words = placed.words(told, _SMALL_MM, places=sides)
        shapes += [words] if words else []
    return shapes


def _draw_pulls(pulls: Sequence[NdPull], axis: TimeAxis, row: Box) -> list[Shape]:
    """Ticks at changes, and under them what is on the lens from then on, as far as it fits."""
    shapes: list[Shape] = []
    told = [
        (axis.x(one.at), clock(one.at), f"{density_from_stops(one.after):.1f}") for one in pulls
    ]
    wide = [
        max(width_of_words_mm(a, _SMALL_MM), width_of_words_mm(b, _SMALL_MM)) + 1.4
        for _, a, b in told
    ]
    before = f"{density_from_stops(pulls[0].before):.1f}"
    first = Words(before, (row.left + 1.0, row.top + 5.6), _SMALL_MM)
    low = box_of_words(first).right + 1.0
    shapes.append(first)
    every = 1
    while sum(wide[::every]) > row.right - low:
        every += 1
    kept = told[::every]
    middles = spread([x for x, _, _ in kept], wide[::every], low=low, high=row.right)
    for x, _, _ in told:
        shapes.append(rule((x, row.top - 0.8), (x, row.top + 0.2), 0.7))
    for (x, at, nd), middle in zip(kept, middles, strict=True):
        shapes += [
            rule((x, row.top + 0.2), (middle, row.top + 0.9), 0.2),
            Words(at, (middle, row.top + 2.8), _SMALL_MM, "middle", GREY),
            Words(nd, (middle, row.top + 5.6), _SMALL_MM, "middle"),
        ]
    return shapes


def left_out_words(strips: Sequence[Strip]) -> str:
    """Which strips the page has no room for."""
    return f"No room for: {and_words([one.label for one in strips])}." if strips else ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
