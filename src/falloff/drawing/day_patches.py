"""A small plan of the rooms with the sun's patches at some hours of a day."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from falloff.clock import clock_words as clock
from falloff.day.records import Day, DayMoment
from falloff.drawing.day_axis import Box, Placed, box_of_words, elapsed_h, on_paper, rule
from falloff.drawing.shapes import Patch, Shape, Stroke, Words, shortened

if TYPE_CHECKING:
    from falloff.drawing.plan_records import Plan

_MOST_HOURS: Final = 5
_LABEL_MM: Final = 3.0
_NAME_MM: Final = 2.4
_WALL_GREY: Final = 0.45
# Line styles of the hours, in their order: width and dash (mm).
_STYLES: Final[tuple[tuple[float, tuple[float, ...]], ...]] = (
    (0.75, ()),
    (0.55, (2.4, 1.0)),
    (0.6, (0.7, 0.8)),
    (0.35, ()),
    (0.55, (3.4, 0.9, 0.8, 0.9)),
    (0.35, (1.2, 0.7)),
)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Mapped:
    """Plan metres on a sheet: y of the plan goes up, that of the sheet down."""

    scale: float
    origin: Point

    def at(self, point: Point) -> Point:
        return (
            self.origin[0] + self.scale * point[0],
            self.origin[1] - self.scale * point[1],
        )

    def all(self, points: Sequence[Point], *, closed: bool = False) -> tuple[Point, ...]:
        mapped = tuple(self.at(one) for one in points)
        return (*mapped, mapped[0]) if closed and mapped else mapped


def chosen_moments(day: Day, most: int = _MOST_HOURS) -> list[DayMoment]:
    """Moments with the sun on level surfaces, some hours apart, at whole hours if there are any."""
    lit = [one for one in day.moments if any(patch.outlines for patch in one.patches)]
    whole = [one for one in lit if one.instant.minute == 0]
    lit = whole if len(whole) > 2 else lit
    if len(lit) <= most:
        return lit
    ends = elapsed_h(day, lit[0].instant), elapsed_h(day, lit[-1].instant)
    wanted = [ends[0] + (ends[1] - ends[0]) * k / (most - 1) for k in range(most)]
    found = [_nearest(day, lit, hour) for hour in wanted]
    return list({one.instant: one for one in found}.values())


def _nearest(day: Day, moments: Sequence[DayMoment], hour: float) -> DayMoment:
    return min(moments, key=lambda one: abs(elapsed_h(day, one.instant) - hour))


def draw_patches(day: Day, room: Plan, box: Box) -> list[Shape]:
    """The rooms to scale in a box, and the sun's patches at some hours, each with its hour."""
    low_x, low_y, high_x, high_y = room.bounds_m
    foot, aside = 4.4, 11.0  # for words below, for the arrow to the north
    wide, high = max(high_x - low_x, 0.1), max(high_y - low_y, 0.1)
    scale = min((box.width - aside) / wide, (box.height - foot) / high)
    left = box.left + max(0.0, (box.width - aside - scale * wide) / 2.0)
    mapped = _Mapped(scale, (left - scale * low_x, box.top + scale * high_y))
    shapes = _room(room, mapped)
    frame = Box(box.left, box.top, box.right, box.bottom - foot)
    placed = Placed(frame)
    north, ground = _north(day, frame)
    placed.taken.append(ground)
    moments = chosen_moments(day)
    for one, style in zip(moments, _STYLES, strict=False):
        for outline in _outlines(one):
            line = mapped.all(outline, closed=True)
            shapes.append(Stroke(line, style[0], dash_mm=style[1]))
    shapes += _units(room, mapped)
    people = _people(room, day, mapped)
    shapes += people
    placed.taken += [_bounds(one.points_mm) for one in people if isinstance(one, Patch)]
    labels: list[Shape] = []
    every = [[mapped.all(line) for line in _outlines(one)] for one in moments]
    for k, (one, outlines) in enumerate(zip(moments, every, strict=True)):
        others = [_bounds(line) for lines in (*every[:k], *every[k + 1 :]) for line in lines]
        labels += _hour(clock(one.instant), outlines, placed, others)
    labels += _names(
        room, day, mapped, placed, [_bounds(line) for lines in every for line in lines]
    )
    said = "Sun on level surfaces at the hours shown." if moments else "No sun on level surfaces."
    said = shortened(said, _NAME_MM, room_mm=box.width - 22.0)
    base = box.bottom - 0.8
    shapes += [*north, *labels, Words(said, (box.left, base), _NAME_MM)]
    return shapes + _metre(scale, (box.right, base))


def _room(room: Plan, mapped: _Mapped) -> list[Shape]:
    """Walls, windows, doors and what stands about."""
    shapes: list[Shape] = []
    for outer, *holes in sorted(room.shell, key=lambda rings: -_area(rings[0])):
        shapes.append(Patch(mapped.all(outer), _WALL_GREY))
        shapes += [Patch(mapped.all(hole), 1.0) for hole in holes]
    for one in room.openings:
        hole = mapped.all(one.hole, closed=True)
        shapes.append(Stroke(hole, 0.25))
        if one.kind == "window":
            shapes.append(Stroke((_half(hole[0], hole[3]), _half(hole[1], hole[2])), 0.25))
        if one.leaf is not None and len(one.leaf) > 1:
            shapes.append(Stroke(mapped.all(one.leaf, closed=True), 0.2))
    for body in room.bodies:
        if _area(body.outline) * mapped.scale**2 > 2.0:
            shapes.append(Stroke(mapped.all(body.outline, closed=True), 0.18, 0.5))
    return shapes


def _people(room: Plan, day: Day, mapped: _Mapped) -> list[Shape]:
    shapes: list[Shape] = []
    for person in room.subjects:
        shapes.append(Stroke(mapped.all(person.shoulders, closed=True), 0.4))
        shapes += [
            Patch(mapped.all(person.head), 1.0),
            Stroke(mapped.all(person.head, closed=True), 0.4),
        ]
    for camera in room.cameras:
        if camera.name == day.camera:
            shapes.append(Patch(mapped.all(camera.body), 0.0))
    return shapes


def _units(room: Plan, mapped: _Mapped) -> list[Shape]:
    """Lights: housings in outline, what shines drawn heavy."""
    shapes: list[Shape] = []
    for unit in room.units:
        if unit.outside:
            continue
        if unit.body is not None and len(unit.body) > 2:
            shapes.append(Stroke(mapped.all(unit.body, closed=True), 0.25))
        if len(unit.face) > 1:
            shapes.append(Stroke(mapped.all(unit.face, closed=len(unit.face) > 2), 0.7))
    return shapes


def _names(
    room: Plan, day: Day, mapped: _Mapped, placed: Placed, patches: Sequence[Box]
) -> list[Shape]:
    """Names of people, windows, lights and the camera, where there is room for them."""
    down = math.pi / 2.0
    wanted = [(one.name, mapped.at(one.mark), down, 3.0) for one in room.subjects]
    wanted += [
        (one.name, mapped.at(one.at), down, 3.0) for one in room.cameras if one.name == day.camera
    ]
    wanted += [(one.name, mapped.at(one.at), down, 2.0) for one in room.units if not one.outside]
    for one in room.openings:
        if one.kind != "door":
            at, hole = mapped.at(_half(one.a, one.b)), mapped.at(_middle(one.hole))
            inward = math.atan2(at[1] - hole[1], at[0] - hole[0])
            wanted.append((one.name, at, inward, 1.0))
    shapes: list[Shape] = []
    for name, at, first, least in wanted:
        told = shortened(name, _NAME_MM, room_mm=26.0)
        places = _around(at, Words(told, at, _NAME_MM), least, first=first)
        words = placed.words(told, _NAME_MM, places=places, avoid=patches)
        shapes += on_paper(words) if words else []
    return shapes


def _hour(
    text: str, outlines: Sequence[Sequence[Point]], placed: Placed, others: Sequence[Box]
) -> list[Shape]:
    """An hour at the largest of its patches, with a line to it where it stands apart.

    others: patches of other hours.
    """
    largest = max(outlines, key=_area)
    middle = _middle(largest)
    sample = Words(text, middle, _LABEL_MM, "middle")
    extent = _bounds(largest)
    roomy = extent.width > 1.5 * sample.width_mm and extent.height > 1.6 * _LABEL_MM
    near = [middle, *(_toward(corner, middle) for corner in largest)] if roomy else []
    places = [(x, y + 0.36 * _LABEL_MM) for x, y in near]
    away = [*_around(middle, sample, 0.5 * min(extent.width, extent.height))]
    avoid = others if roomy else [*others, extent]
    words = placed.words(text, _LABEL_MM, places=(*places, *away), avoid=avoid)
    if words is None:
        return []
    box = box_of_words(words)
    at = (box.left + box.right) / 2.0, (box.top + box.bottom) / 2.0
    goal = min((middle, *largest), key=lambda one: math.dist(one, at))
    apart = math.dist(goal, at) > 0.7 * box.width
    return [*([rule(goal, at, 0.18)] if apart else []), *on_paper(words)]


def _around(
    at: Point, words: Words, least: float, *, first: float = math.pi / 2.0
) -> Iterator[Point]:
    """Places round a point for words, nearer ones first; first: the way (rad) that is best."""
    wide, high = words.width_mm / 2.0, words.size_mm / 2.0
    for step in range(9):
        away = least + 2.2 * step
        for turn in range(12):
            # On either side of the way that is best, further and further off it.
            angle = first + math.pi / 6.0 * ((turn + 1) // 2) * (-1) ** turn
            x = at[0] + (away + wide) * math.cos(angle)
            yield x, at[1] + (away + high) * math.sin(angle) + 0.36 * words.size_mm


def _north(day: Day, frame: Box) -> tuple[list[Shape], Box]:
    """An arrow to the north in the upper right corner, and the ground that it needs."""
    turn = math.radians(day.north_deg)
    way = math.cos(turn), -math.sin(turn)
    across = -way[1], way[0]
    middle = frame.right - 5.0, frame.top + 5.0

    def at(along: float, aside: float) -> Point:
        return (
            middle[0] + along * way[0] + aside * across[0],
            middle[1] + along * way[1] + aside * across[1],
        )

    ground = Box(middle[0] - 5.0, middle[1] - 5.0, middle[0] + 5.0, middle[1] + 5.0)
    letter = at(3.4, 0.0)
    return [
        ground.patch(1.0),
        rule(at(-4.2, 0.0), at(0.6, 0.0), 0.35),
        Patch((at(1.8, 0.0), at(-0.6, 1.0), at(-0.6, -1.0)), 0.0),
        Words("N", (letter[0], letter[1] + 1.0), 2.6, "middle"),
    ], ground


def _metre(scale: float, corner: Point) -> list[Shape]:
    """One metre to scale."""
    x, y = corner
    start = x - max(scale, 1.0)
    return [
        rule((start, y), (x, y), 0.4),
        rule((start, y - 0.8), (start, y + 0.4), 0.3),
        rule((x, y - 0.8), (x, y + 0.4), 0.3),
        Words("1 m", (start - 1.0, y), _NAME_MM, "right"),
    ]


def _outlines(moment: DayMoment) -> list[tuple[Point, ...]]:
    return [line for one in moment.patches for line in one.outlines if len(line) > 2]


def _bounds(points: Sequence[Point]) -> Box:
    across, down = [x for x, _ in points], [y for _, y in points]
    return Box(min(across), min(down), max(across), max(down))


def _half(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0


def _toward(corner: Point, middle: Point) -> Point:
    """A fifth of the way from a corner to the middle."""
    return corner[0] + 0.2 * (middle[0] - corner[0]), corner[1] + 0.2 * (middle[1] - corner[1])


def _middle(points: Sequence[Point]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def _area(points: Sequence[Point]) -> float:
    pairs = zip(points, (*points[1:], *points[:1]), strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2.0
