"""No place may hang on itself, in the scene as written or in any of its setups."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from falloff.document.arrange import standing_in, written_at
from falloff.document.cursor import listed
from falloff.document.draft import Draft
from falloff.document.records import (
    CameraAim,
    KeyPath,
    NamedAim,
    OnPlace,
    PlaceAim,
    RelativePlace,
    Setup,
)

_SECTIONS: Final = ("props", "subjects", "fixtures", "practicals", "grip", "cameras")

# What a place, a direction or a face hangs on: ("KEY", "place"), ("KEY", "direction") or
# ("MAKER", "face"), whose parts turn with the gaze.
_Part = tuple[str, str]
_Things = Mapping[str, Mapping[str, Any]]


def check_circles(draft: Draft) -> None:
    """Record a fault for each place that in the end hangs on itself."""
    told: set[frozenset[str]] = set()
    things: _Things = {section: draft.records[section] for section in _SECTIONS}
    for key, names in _circles(things):
        told.add(frozenset(names))
        here = (draft.placed()[names[0]], names[0], key)
        draft.fault(here, _told(key, names), fix=_fix(names))
    for name, setup in draft.each("setups"):
        if not _stands_otherwise(things, setup):
            continue
        for key, names in _circles(standing_in(draft.records, setup)):
            if frozenset(names) not in told:
                told.add(frozenset(names))
                path = _moved_in(draft, name, key, names)
                draft.fault(path, f"in {name}, {_told(key, names)}", fix=_fix(names))


def _told(key: str, names: list[str]) -> str:
    by_way = f" by way of {listed(names[1:])}" if len(names) > 1 else ""
    what = "place" if key == "at" else "aim"
    return f"the {what} of {names[0]} hangs on itself{by_way}"


def _fix(names: list[str]) -> str:
    one = "one of them" if len(names) > 1 else "it"
    return f"give {one} by coordinates, or facing as an angle"


def _stands_otherwise(things: _Things, setup: Setup) -> bool:
    """Whether a setup moves anything, or turns a head."""
    if setup.moved:
        return True
    return any(isinstance(one.gaze, CameraAim) for one in things["subjects"].values())


def _moved_in(draft: Draft, setup: str, key: str, names: list[str]) -> KeyPath:
    """Where the first of these is moved in a setup, or else where the first of them was placed."""
    keys: list[KeyPath] = [(draft.placed()[one], one, key) for one in names]
    paths = [written_at(draft.records["setups"], setup, key, draft.wrote) for key in keys]
    return next((path for path in paths if path[0] == "setups"), paths[0])


# The graph -------------------------------------------------------------------------------


def _circles(things: _Things) -> Iterator[tuple[str, list[str]]]:
    """The names of each circle of places, or else of aims; those that share a name told once.

    With each the key that it is told at, "at" or "aim".
    """
    graph = dict(_graph(things))
    seen: set[str] = set()
    for part, key in (("place", "at"), ("direction", "aim")):
        for start in graph:
            circle = _circle(start, graph) if start[1] == part else []
            names = list(dict.fromkeys(name for name, _ in circle))
            if names and seen.isdisjoint(names):
                seen.update(names)
                yield key, names


def _graph(things: _Things) -> Iterator[tuple[_Part, list[_Part]]]:
    """What each place, each direction and each face is worked out from."""
    subjects = things["subjects"]
    for section in _SECTIONS:
        for name, one in things[section].items():
            place = _parts_of(one.at)
            yield (name, "place"), [each for each in place if each[0] != name]
            yield (name, "direction"), _direction(name, one, subjects)
            if section == "subjects":
                yield (name, "face"), _face(name, one, subjects)


def _direction(name: str, one: Any, subjects: Mapping[str, Any]) -> list[_Part]:
    facing, aim = getattr(one, "facing", None), getattr(one, "aim", None)
    if isinstance(facing, str) and facing != name:
        return [(name, "place"), (facing, "place")]
    if isinstance(aim, PlaceAim):
        return [(name, "place"), *_parts_of(aim.at)]
    if not isinstance(aim, NamedAim) or aim.name == name:
        return []
    parts = [(name, "place"), (aim.name, "place")]
    if aim.name in subjects:
        parts += [(aim.name, "direction"), (aim.name, "face")]
    return parts


def _parts_of(place: Any) -> list[_Part]:
    """What a place is worked out from."""
    if isinstance(place, RelativePlace):
        return [(place.from_name, "place"), (place.from_name, "direction")]
    return [(place.on, "place")] if isinstance(place, OnPlace) else []


def _face(name: str, one: Any, subjects: Mapping[str, Any]) -> list[_Part]:
    """Two people may look at one another: a gaze meets a face as it is before that one turns."""
    parts = [(name, "place"), (name, "direction")]
    if isinstance(one.gaze, PlaceAim):
        parts += [each for each in _parts_of(one.gaze.at) if each not in parts]
    if isinstance(one.gaze, NamedAim) and one.gaze.name != name:
        parts.append((one.gaze.name, "place"))
        if one.gaze.name in subjects:
            parts.append((one.gaze.name, "direction"))
    return parts


def _circle(start: _Part, graph: Mapping[_Part, list[_Part]]) -> list[_Part]:
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
