"""Targets as a hand sets them: edits of the scene file, and what windows are told of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, cast

from falloff.document import (
    Add,
    AnyTarget,
    Edit,
    KeyPath,
    Limit,
    Put,
    Quantity,
    Remove,
    Rewrite,
    SceneDocument,
    Target,
    quoted,
    reading_of,
    readings_in,
)
from falloff.page.target_typed import typed_of
from falloff.page.told import cannot
from falloff.page.worked import Worked
from falloff.readings.target_words import asks

Made = tuple[list[Edit], str]
LIMITS: Final = ("equal", "at most", "at least")
_LIMIT_WORDS: Final = {"equal": "", "at most": "at most ", "at least": "at least "}
_THIRD: Final = 1.0 / 3.0
_NEAR: Final = 0.01  # stops within which a number is told as thirds
_USUAL: Final = {"tolerance": _THIRD, "weight": 1.0}
_MOST_STOPS: Final = 20.0


def target_set(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A level that is wanted at a reading: a new target, or another level for one there is."""
    document = worked.document
    reading, over = str(change["reading"]), change.get("over")
    for name in (reading, over):
        walk = None if name is None else reading_of(document, str(name))
        if walk not in {None, name}:
            fix = f"write a target of {walk} into the scene file"
            raise cannot(f"{name} is one point of {walk}, and has no target of its own", fix)
        if name is not None and name not in document.readings:
            raise cannot(f"there is no reading {name} in the scene any more")
    if reading == over:
        raise cannot("a reading is always level with itself", "tell it against another, or key")
    level = _stops(change["level_stops"], "level")
    tolerance = _stops(change.get("tolerance_stops", _THIRD), "tolerance")
    weight = float(change.get("weight", 1.0))
    limit = str(change.get("limit") or "equal")
    if limit not in LIMITS:
        raise cannot(f"a target cannot be {limit!r}", f"one of {', '.join(LIMITS)}")
    if not tolerance > 0.0 or not 0.0 < weight < 1e6:
        raise cannot("a tolerance and a weight are more than nothing")
    target = Target(
        reading=reading,
        level=Quantity(level, ""),
        over=None if over is None else str(over),
        limit=cast("Limit", limit),
        tolerance=Quantity(tolerance, ""),
        weight=weight,
        setups=tuple(str(one) for one in change.get("setups") or ()),
    )
    told = _keys(target)
    words = f"{_LIMIT_WORDS[limit]}{told['level']}{f' over {over}' if over else ''}"
    name = str(change.get("name") or "")
    if name in document.targets:
        return _changed(worked, name, told), f"{name}: {words}"
    name = _free_name(document, name or reading)
    inside = ", ".join(f"{key}: {text}" for key, text in told.items() if text is not None)
    return [Add(("targets", name), f"{{{inside}}}")], f"wanted at {reading}: {words}"


def target_gone(worked: Worked, change: Mapping[str, Any]) -> Made:
    """A target is wanted no more."""
    name = str(change["name"])
    if name not in worked.document.targets:
        raise cannot(f"there is no target {name} in the scene any more")
    return [Remove(("targets", name))], f"{name} wanted no more"


def _keys(target: Target) -> dict[str, str | None]:
    """The keys of a target as they are written; None for what is as usual."""
    tolerance, weight = target.tolerance.si, target.weight
    setups = ", ".join(quoted(one) for one in target.setups)
    return {
        "reading": quoted(target.reading),
        "level": stops_written(target.level.si),
        "over": None if target.over is None else quoted(target.over),
        "limit": None if target.limit == "equal" else target.limit,
        "tolerance": None if _usual("tolerance", tolerance) else stops_written(tolerance),
        "weight": None if _usual("weight", weight) else f"{weight:g}",
        "setups": f"[{setups}]" if setups else None,
    }


def _changed(worked: Worked, name: str, told: Mapping[str, str | None]) -> list[Edit]:
    """Only the keys that say something else are written; all of it where its level was no level."""
    at: KeyPath = ("targets", name)
    known = worked.document.targets[name]
    if not isinstance(known, Target) or not worked.wrote((*at, "level")):
        inside = ", ".join(f"{key}: {text}" for key, text in told.items() if text is not None)
        return [Rewrite(at, f"{{{inside}}}")]
    now = _keys(known)
    edits: list[Edit] = []
    for key, text in told.items():
        if text == now[key]:
            continue
        path = (*at, key)
        if text is None:
            edits.append(Remove(path))
        elif not worked.wrote(path):
            edits.append(Add(path, text))
        elif key in {"reading", "over", "setups"}:
            edits.append(Rewrite(path, text))
        else:
            edits.append(Put(path, text))
    return edits


def stops_written(stops: float) -> str:
    """Stops as a scene file has them: "-1 1/3 stops", "2 stops", "0.45 stops"."""
    sign, size = ("-" if stops < 0.0 else ""), abs(stops)
    thirds = round(size * 3.0)
    if abs(size * 3.0 - thirds) > 3.0 * _NEAR:
        for divisor, words in ((2.0, "1/2"), (6.0, "1/6")):
            if abs(size * divisor - 1.0) < divisor * _NEAR:
                return f"{sign}{words} stop"
        return f"{stops:.2f} stops"
    whole, rest = divmod(thirds, 3)
    part = ("", "1/3", "2/3")[rest]
    if not thirds:
        return "0 stops"
    if not whole:
        return f"{sign}{part} stop"
    return f"{sign}{whole}{' ' if part else ''}{part} {'stop' if thirds == 3 else 'stops'}"


def _usual(key: str, value: float) -> bool:
    return abs(value - _USUAL[key]) < _NEAR


def _stops(value: Any, what: str) -> float:
    stops = float(value)
    if not abs(stops) <= _MOST_STOPS:
        raise cannot(f"a {what} of {stops:g} stops is none", f"at most {_MOST_STOPS:g} stops")
    return stops


def _free_name(document: SceneDocument, wanted: str) -> str:
    base, name, count = wanted.strip(), wanted.strip(), 1
    while name in document.targets:
        count += 1
        name = f"{base} {count}"
    return name


def in_window(document: SceneDocument, target: AnyTarget) -> bool:
    """Whether a window judges a target itself: a level, every reading of it at one point."""
    read = (document.readings.get(name) for name in readings_in(target))
    return isinstance(target, Target) and all(one is None or not one.points for one in read)


def targets_told(document: SceneDocument) -> dict[str, dict[str, Any]]:
    """Every target as docs/page.md has it; level targets with what a window judges them by."""
    return {name: _told(document, name, one) for name, one in document.targets.items()}


def _told(document: SceneDocument, name: str, target: AnyTarget) -> dict[str, Any]:
    about = readings_in(target)
    known = document.readings.get(about[0])
    spot = known is not None and known.instrument == "spot"
    several = known is not None and bool(known.points)
    level = in_window(document, target)
    told: dict[str, Any] = {
        "kind": "level" if level else "other",
        "reading": about[0],
        "readings": list(about),
        "weight": target.weight,
        "setups": list(target.setups),
    }
    if not level:
        says = asks(target, spot=spot, several=several)
        return told | {"says": says, "typed": typed_of(document, name)}
    if isinstance(target, Target):
        told |= {
            "over": target.over,
            "reference": "middle grey" if spot else "key",
            "level_stops": target.level.si,
            "level_text": target.level.text,
            "limit": target.limit,
            "tolerance_stops": target.tolerance.si,
        }
    return told


def measured_told(document: SceneDocument) -> dict[str, dict[str, Any]]:
    """What the scene's file has under `measured`, as docs/page.md has it."""
    return {
        name: {
            "reading": one.reading,
            "text": one.value.text,
            "setup": one.setup,
            "lit": None if one.lit is None else list(one.lit),
            "at": one.at_time,
        }
        for name, one in document.measured.items()
    }
