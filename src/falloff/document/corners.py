"""The corners of a floor: a simple closed outline, counter-clockwise seen from above."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations

from falloff.document.cursor import Cursor
from falloff.document.records import Quantity
from falloff.document.values import Value, length, list_of

Corner = tuple[float, float]

_SAME_M = 1e-6  # corners nearer than this are one corner
_MOST_CORNERS = 500
_CORNER = list_of(length("5.2 m"), least=2, most=2, parts="x and y", example="[5.2 m, 0 m]")
_CORNERS = list_of(
    _CORNER,
    least=3,
    most=_MOST_CORNERS,
    parts="the room's corners",
    example="[[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]]",
)


def _read_floor(cursor: Cursor) -> tuple[tuple[Quantity, ...], ...]:
    """The corners, or the first fault of their outline: the others would follow from it."""
    floor = _CORNERS.read(cursor)
    corners = [(x.si, y.si) for x, y in floor]
    last = len(corners) - 1
    at = cursor.items()
    if _same(corners[0], corners[last]):
        what = f"corner {last + 1} is corner 1 again: a room closes by itself"
        raise at[last].fault(what, fix="take the last corner out")
    for first, second in combinations(range(len(corners)), 2):
        if _same(corners[first], corners[second]):
            what = f"corners {first + 1} and {second + 1} are the same"
            raise at[second].fault(what, fix="take one out")
    area_m2 = _signed_area(corners)
    if abs(area_m2) < _SAME_M:
        what = "the room has no area: its corners lie on one line, or cross over"
        raise cursor.fault(what, fix="check x and y of each corner")
    for first, second in _crossings(corners):
        what = f"wall {first + 1} crosses or touches wall {second + 1}"
        fix = "give the corners in the order in which one walks round the room"
        raise at[second].fault(what, fix=fix)
    if area_m2 < 0.0:
        what = "the corners run clockwise seen from above"
        raise cursor.fault(what, expected="counter-clockwise", fix="reverse their order")
    return floor


FLOOR: Value[tuple[tuple[Quantity, ...], ...]] = Value(
    _read_floor, _CORNERS.example, _CORNERS.schema
)


def _same(a: Corner, b: Corner) -> bool:
    return math.dist(a, b) < _SAME_M


def _signed_area(corners: Sequence[Corner]) -> float:
    """Area in m², positive counter-clockwise (shoelace formula)."""
    following = [*corners[1:], corners[0]]
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, following, strict=True)) / 2


def _crossings(corners: Sequence[Corner]) -> Iterator[tuple[int, int]]:
    """Pairs of walls that meet elsewhere than at the corner they share."""
    count = len(corners)
    walls = [(corners[n], corners[(n + 1) % count]) for n in range(count)]
    for first, second in combinations(range(count), 2):
        if second == first + 1 or (first == 0 and second == count - 1):
            early, late = (first, second) if second == first + 1 else (second, first)
            if _folds_back(walls[early][0], walls[early][1], walls[late][1]):
                yield first, second
        elif _meet(walls[first], walls[second]):
            yield first, second


def _cross(o: Corner, a: Corner, b: Corner) -> float:
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


def _folds_back(start: Corner, corner: Corner, end: Corner) -> bool:
    """Whether the second wall runs back along the first."""
    back = (start[0] - corner[0], start[1] - corner[1])
    on = (end[0] - corner[0], end[1] - corner[1])
    along = back[0] * on[0] + back[1] * on[1]
    off = abs(back[0] * on[1] - back[1] * on[0])
    return along > 0.0 and off < _SAME_M * max(math.hypot(*back), math.hypot(*on))


def _meet(one: tuple[Corner, Corner], other: tuple[Corner, Corner]) -> bool:
    """Whether two segments have a point in common, ends included."""
    (a, b), (c, d) = one, other
    sides = (_cross(a, b, c), _cross(a, b, d), _cross(c, d, a), _cross(c, d, b))
    if sides[0] * sides[1] < 0.0 and sides[2] * sides[3] < 0.0:
        return True
    return any(
        _to_segment(point, segment) < _SAME_M
        for point, segment in ((c, one), (d, one), (a, other), (b, other))
    )


def _to_segment(point: Corner, segment: tuple[Corner, Corner]) -> float:
    """Distance in metres from a point to a segment of some length."""
    (ax, ay), (bx, by) = segment
    length_2 = (bx - ax) ** 2 + (by - ay) ** 2
    along = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length_2
    part = min(1.0, max(0.0, along))
    return math.dist(point, (ax + part * (bx - ax), ay + part * (by - ay)))
