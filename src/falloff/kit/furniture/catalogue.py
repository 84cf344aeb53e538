"""Every kind of furniture by name, and the one function that makes a piece of it."""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.kit.furniture import (
    cold,
    green,
    kitchen,
    lamps,
    seating,
    small,
    stairs,
    storage,
    tables,
    tools,
    upholstery,
    vessels,
)
from falloff.kit.furniture.piece import FurniturePiece, Joiner, Kind, Order, Size
from falloff.kit.unknown import unknown_name

_KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        **tables.KINDS,
        **seating.KINDS,
        **upholstery.KINDS,
        **storage.KINDS,
        **kitchen.KINDS,
        **cold.KINDS,
        **lamps.KINDS,
        **green.KINDS,
        **stairs.KINDS,
        **vessels.KINDS,
        **small.KINDS,
        **tools.KINDS,
    }
)
FURNITURE_KINDS: tuple[str, ...] = tuple(sorted(_KINDS))
_SIDES = ("width", "depth", "height")


@functools.lru_cache(maxsize=64)  # cushions and leaves take a tenth of a second to make
def furniture(
    kind: str,
    *,
    size_m: Size | None = None,
    count: int | None = None,
    open_rad: float | None = None,
) -> FurniturePiece:
    """A piece of furniture of a kind; None takes the usual size, count, and a closed door.

    size_m: width, depth, height over all; boards and legs keep their real sections at any size.
    Raises GeometryError for an unknown kind, a size too small to be the thing, a count out of
    range, a count or an opening of what has none. Usual sizes: common practice, no source.

    >>> furniture("table").usual_rest_m
    0.74
    """
    spec = _find(kind)
    _check_count(kind, spec, count)
    _check_open(kind, spec, open_rad)
    size = _usual_size(spec, count) if size_m is None else _checked_size(kind, spec, size_m)
    number = 0
    if spec.counts is not None:
        number = _usual_count(spec, size) if count is None else count
        _check_each(kind, spec, size, number)
    made = spec.make(Order(*size, count=number, open_rad=open_rad or 0.0))
    return _piece(kind, spec, size, made)


def _piece(kind: str, spec: Kind, size: Size, made: Joiner) -> FurniturePiece:
    assert {solid.part for solid in made.solids} <= set(spec.parts), kind
    return FurniturePiece(
        kind=kind,
        size_m=size,
        solids=tuple(made.solids),
        part_names=spec.parts,
        default_surfaces=MappingProxyType(dict(spec.surfaces)),
        rests_m=tuple(made.rests_m),
        usual_rest_m=size[2] if made.usual_rest_m is None else made.usual_rest_m,
    )


def _find(kind: str) -> Kind:
    spec = _KINDS.get(kind)
    if spec is None:
        raise unknown_name(
            "furniture", kind, FURNITURE_KINDS, otherwise="use a box, a cylinder or a mesh"
        )
    return spec


def _usual_size(spec: Kind, count: int | None) -> Size:
    if count is None or spec.size_for is None:
        return spec.usual_m
    return spec.size_for(count)


def _usual_count(spec: Kind, size: Size) -> int:
    assert spec.counts is not None
    assert spec.count_for is not None
    return min(max(spec.count_for(size), spec.counts[0]), spec.counts[1])


def _checked_size(kind: str, spec: Kind, size_m: Size) -> Size:
    size = (float(size_m[0]), float(size_m[1]), float(size_m[2]))
    if not all(math.isfinite(side) for side in size):
        raise GeometryError(
            Fault(
                what=f"the size of a {kind} is not a number of metres",
                expected="width, depth and height",
                found=_told(size),
                fix=f"leave size out for the usual {_told(spec.usual_m)}",
            )
        )
    faults = [
        Fault(
            what=f"a {kind} cannot be so small: its {name}",
            expected=f"at least {_cm(least)}",
            found=_cm(side),
            fix=f"the usual size is {_told(spec.usual_m)}; or use a box",
        )
        for name, side, least in zip(_SIDES, size, spec.least_m, strict=True)
        if side < least - 1e-9
    ]
    if faults:
        raise GeometryError(*faults)
    return size


def _check_count(kind: str, spec: Kind, count: int | None) -> None:
    if count is None:
        return
    if spec.counts is None:
        raise GeometryError(
            Fault(what=f"a {kind} has nothing to count", found=str(count), fix="leave count out")
        )
    least, most = spec.counts
    if not least <= count <= most:
        raise GeometryError(
            Fault(
                what=f"a {kind} cannot be made with that count",
                expected=f"{least} to {most}",
                found=str(count),
                fix=f"write a count from {least} to {most}, or leave it out",
            )
        )


def _check_each(kind: str, spec: Kind, size: Size, count: int) -> None:
    each = spec.each
    if each is None:
        return
    share = size[each.side] / count
    if each.least_m - 1e-9 <= share <= each.most_m + 1e-9:
        return
    low = max(1, math.ceil(size[each.side] / each.most_m - 1e-9))
    high = math.floor(size[each.side] / each.least_m + 1e-9)
    name = _SIDES[each.side]
    raise GeometryError(
        Fault(
            what=f"{count} do not suit the {name} of this {kind}: "
            f"each {each.thing} would take {_cm(share)}",
            expected=f"{_cm(each.least_m)} to {_cm(each.most_m)}",
            found=f"{_cm(size[each.side])} of {name}",
            fix=f"a count from {low} to {high} fits, or change the {name}"
            if low <= high
            else f"change the {name}",
        )
    )


def _check_open(kind: str, spec: Kind, open_rad: float | None) -> None:
    if open_rad is None:
        return
    if spec.open_most_rad == 0.0:
        raise GeometryError(
            Fault(
                what=f"a {kind} has nothing that opens",
                expected="a kind with a door: " + ", ".join(_that_open()),
                found=_degrees(open_rad),
                fix="leave open out",
            )
        )
    if not 0.0 <= open_rad <= spec.open_most_rad + 1e-9:
        raise GeometryError(
            Fault(
                what=f"the door of a {kind} cannot stand so",
                expected=f"0 deg (shut) to {_degrees(spec.open_most_rad)}",
                found=_degrees(open_rad),
                fix="write an angle within that",
            )
        )


def _that_open() -> list[str]:
    return [kind for kind in FURNITURE_KINDS if _KINDS[kind].open_most_rad > 0.0]


def _cm(length_m: float) -> str:
    return f"{100.0 * length_m:.4g} cm"


def _degrees(angle_rad: float) -> str:
    return f"{np.degrees(angle_rad):.4g} deg"


def _told(size: Size) -> str:
    return " × ".join(f"{side:.4g}" for side in size) + " m"
