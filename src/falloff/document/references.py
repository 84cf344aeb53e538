"""Names that refer to something: each must exist, and no place may hang on itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from falloff.document.cursor import Wanted, listed, nearest_fix
from falloff.document.draft import Draft
from falloff.document.records import SUBJECT_PLACES, OnPlace, RelativePlace
from falloff.document.sections import PLACED_SECTIONS

# What a place or a direction hangs on: ("KEY", "place") or ("KEY", "direction").
_Part = tuple[str, str]


def check_references(draft: Draft) -> None:
    """Record a fault for each name that is not there, with the nearest that is."""
    for wanted in draft.gathered.wanted:
        if wanted.kind == "named":
            _check_named(draft, wanted)
        elif wanted.kind in {"material", "figure", "profile"}:
            _check_catalogued(draft, wanted)
        else:
            _check_listed(draft, wanted)
    no_cameras = not draft.names["cameras"] and "cameras" not in draft.unread
    if draft.names["setups"] and no_cameras:
        draft.fault(("setups",), "a setup needs a camera", fix="add `cameras:` with one camera")
    _check_circles(draft)


def _check_named(draft: Draft, wanted: Wanted) -> None:
    """Something placed, and a place on it where one is named."""
    placed, name, place = draft.placed(), wanted.name, wanted.place
    if name not in placed:
        if draft.unread.isdisjoint(PLACED_SECTIONS):
            wanted.cursor.fault(f"nothing is named {name!r}", fix=_choose(name, placed))
    elif _is_itself(wanted):
        fix = "name something else, or write a point or an angle"
        wanted.cursor.fault(f"{name} refers to itself", fix=fix)
    elif place is not None and placed[name] != "subjects":
        what = f"{name} has no places such as {place!r}: only subjects do"
        wanted.cursor.fault(what, fix=f"write {name} alone, or a point")
    elif place is not None and place not in SUBJECT_PLACES:
        fix = _choose(place, SUBJECT_PLACES)
        wanted.cursor.fault(f"{name} has no place {place!r}", fix=fix)


def _check_catalogued(draft: Draft, wanted: Wanted) -> None:
    """A name from the document's own or from the catalogue, where that is known."""
    what, section, catalogue = {
        "material": ("material", "materials", draft.known.materials),
        "figure": ("figure", "", draft.known.figures),
        "profile": ("beam profile", "profiles", draft.known.profiles),
    }[wanted.kind]
    own = draft.names.get(section, [])
    if catalogue is None or section in draft.unread or wanted.name in {*own, *catalogue}:
        return
    fix = _choose(wanted.name, sorted({*own, *catalogue}))
    wanted.cursor.fault(f"unknown {what} {wanted.name!r}", fix=fix)


def _check_listed(draft: Draft, wanted: Wanted) -> None:
    """A name from certain sections."""
    sections = {
        "prop": ("props",),
        "camera": ("cameras",),
        "light": ("fixtures", "practicals"),
        "reading": ("readings",),
    }[wanted.kind]
    names = [name for section in sections for name in draft.names[section]]
    if wanted.kind == "prop" and _is_itself(wanted):
        wanted.cursor.fault(f"{wanted.name} refers to itself", fix="name another prop, or a point")
    if wanted.name in names or not draft.unread.isdisjoint(sections):
        return
    if wanted.kind == "camera" and not names:
        return  # told once for all setups
    what = f"there is no {wanted.kind} {wanted.name!r}"
    if wanted.kind == "light" and wanted.name in draft.names["openings"]:
        what = f"{wanted.name!r} is an opening: daylight has no dim"
    wanted.cursor.fault(what, fix=_choose(wanted.name, names))


def _choose(name: str, known: Iterable[str]) -> str:
    names = list(known)
    return nearest_fix(name, names) or (f"choose from {listed(names)}" if names else "add it")


def _is_itself(wanted: Wanted) -> bool:
    section, owner, *_ = (*wanted.cursor.path, "", "")
    return section != "readings" and wanted.name == owner


# Circles ---------------------------------------------------------------------------------


def _check_circles(draft: Draft) -> None:
    """Record a fault for each place that in the end hangs on itself."""
    hangs_on = _hangs_on(draft)
    told: set[str] = set()
    for start in hangs_on:
        circle = _circle(start, hangs_on) if start[1] == "place" else []
        names = list(dict.fromkeys(name for name, _ in circle))
        if not circle or not told.isdisjoint(names):
            continue
        told.update(names)
        what = f"the place of {names[0]} hangs on itself"
        what += f" by way of {listed(names[1:])}" if len(names) > 1 else ""
        fix = "give one of them by coordinates, or facing as an angle"
        draft.fault((draft.placed()[names[0]], names[0], "at"), what, fix=fix)


def _hangs_on(draft: Draft) -> dict[_Part, list[_Part]]:
    """What each place and each direction is worked out from."""
    graph: dict[_Part, list[_Part]] = {}
    for section in ("props", "subjects", "fixtures", "practicals", "grip", "cameras"):
        for name, one in draft.each(section):
            place: list[_Part] = []
            if isinstance(one.at, RelativePlace) and one.at.from_name != name:
                place = [(one.at.from_name, "place"), (one.at.from_name, "direction")]
            elif isinstance(one.at, OnPlace) and one.at.on != name:
                place = [(one.at.on, "place")]
            graph[(name, "place")] = place
            graph[(name, "direction")] = _direction_hangs_on(draft, name, one)
    return graph


def _direction_hangs_on(draft: Draft, name: str, one: Any) -> list[_Part]:
    facing, aim = getattr(one, "facing", None), getattr(one, "aim", None)
    target = facing if isinstance(facing, str) else getattr(aim, "name", None)
    if target is None or target == name:
        return []
    parts = [(name, "place"), (target, "place")]
    if aim is not None and target in draft.names["subjects"]:
        parts.append((target, "direction"))  # where a face is depends on its facing
    return parts


def _circle(start: _Part, graph: dict[_Part, list[_Part]]) -> list[_Part]:
    """The nodes of a path from start back to start, or none; depth first, without recursion."""
    trail: list[_Part] = [start]
    waiting = [iter(graph[start])]
    visited = {start}
    while waiting:
        following = next(waiting[-1], None)
        if following is None:
            waiting.pop()
            trail.pop()
        elif following == start:
            return trail
        elif following not in visited and following in graph:
            visited.add(following)
            trail.append(following)
            waiting.append(iter(graph[following]))
    return []
