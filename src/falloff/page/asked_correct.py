"""Meter readings from the day set against the plan: what they correct, and how surely."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from falloff.document import SceneDocument
from falloff.errors import DocumentError
from falloff.page.answer_changes import edits_told
from falloff.page.ask_desk import Answer, Desk
from falloff.page.told import cannot
from falloff.record import (
    Corrected,
    Corrections,
    Names,
    Stood,
    Taken,
    cannot_be_kept,
    compare,
    daylight_said,
    edits_of,
    edits_of_readings,
    named_apart,
    read_typed,
    read_written,
)
from falloff.session.correct import names_of, stood_in, zone_hours
from falloff.session.scene import Arrangement
from falloff.units import format_stops_thirds

_MOST_SAID: Final = 3
_GIVES: Final = {
    "output": "{} gives",
    "modifier": "{} passes",
    "reflectance": "{} reflects",
    "sky": "the sky is",
    "sun": "the sun is",
}


def correct_answer(desk: Desk) -> Answer:
    """asked: reads, [setup, text as typed]; believe: names; record: whether readings are kept.

    The readings that the scene's file has under `measured` count as well.
    """
    asked, task = desk.task.asked, desk.task
    document = task.document
    standing = _arrangements(desk, document)
    names = {one: names_of(each, one) for each in standing for one in each.setups}
    typed = _typed(document, names, [(str(a), str(b)) for a, b in asked.get("reads") or ()])
    taken = (*named_apart(read_written(document, names), typed, "in the file"), *typed)
    if not taken:
        raise cannot("there is no reading to correct the plan by", "type what the meter said")
    if asked.get("record"):
        faults = cannot_be_kept(document, typed, instead="leave the readings out of the scene file")
        if faults:
            raise DocumentError(*faults)
    stood: list[Stood] = []
    for each in standing:
        here = [one for one in taken if one.setup in each.setups]
        if here:
            stood += stood_in(each, desk.layers_of(task.plans[each.setups[0]]), here)
    daylight = daylight_said(document)
    believe = [str(one) for one in asked.get("believe") or ()]
    desk.progress("readings", 0.5)
    found = compare(stood, taken, daylight=daylight, believed=believe)
    edits = list(edits_of(document, found.unknowns, found.x, daylight=daylight))
    if asked.get("record"):
        hours = zone_hours(document, typed)
        edits += edits_of_readings(document, typed, zone_hours=hours)
    many = f"{len(taken)} readings" if len(taken) > 1 else "a reading"
    label = f"plan corrected by {many}"
    return {
        **_told(found.corrections),
        "typed": [one.name for one in typed],
        "step": True,
        "changes": [{"do": "edits", "label": label, "edits": edits_told(edits)}] if edits else [],
    }


def _arrangements(desk: Desk, document: SceneDocument) -> list[Arrangement]:
    """How things stand in every setup that is read in: those asked about, and those in the file."""
    task = desk.task
    first = next(iter(document.setups))
    wanted = [str(setup) for setup, _ in task.asked.get("reads") or ()]
    wanted += [one.setup or first for one in document.measured.values()]
    found: dict[str, list[str]] = {}
    for setup in dict.fromkeys(wanted):
        if setup not in task.plans:
            raise cannot(f"there is no setup {setup} in the scene any more")
        found.setdefault(task.plans[setup], []).append(setup)
    return [
        Arrangement(tuple(setups), task.standing[plan], desk.layers_of(plan).solution.stage)
        for plan, setups in found.items()
    ]


def _typed(
    document: SceneDocument, names: dict[str, Names], reads: Sequence[tuple[str, str]]
) -> tuple[Taken, ...]:
    made: list[Taken] = []
    for setup in dict.fromkeys(one for one, _ in reads):
        texts = [text for one, text in reads if one == setup]
        made += read_typed(texts, document, names[setup])
    return tuple(made)


def _told(found: Corrections) -> Answer:
    told = [one for one in found.corrected if one.says_something]
    rest = [one.name for one in found.corrected if not one.says_something]
    return {
        "says": _sentences(found, told),
        "unsaid": rest,
        "corrected": [msgspec.to_builtins(one) for one in told],
        "readings": [msgspec.to_builtins(one) for one in found.readings],
        "doubted": [msgspec.to_builtins(one) for one in found.doubted],
        "plan": [msgspec.to_builtins(one) for one in found.plan],
        "further": None if found.further is None else msgspec.to_builtins(found.further),
        "findings": [msgspec.to_builtins(one) for one in found.findings],
    }


def _sentences(found: Corrections, told: Sequence[Corrected]) -> list[str]:
    """What moved by most, in thirds, then how near the plan's readings are now."""
    moved = sorted(
        (one for one in told if abs(one.stops) >= 1.0 / 6.0), key=lambda c: -abs(c.stops)
    )
    if moved:
        head = "; ".join(_moved(one) for one in moved[:_MOST_SAID])
        says = [f"{head[:1].upper()}{head[1:]}."]
    elif told:
        says = ["The readings bear the plan out: nothing is out by as much as a sixth of a stop."]
    else:
        says = ["These readings say nothing of what the plan assumed."]
    if found.plan:
        count = len(found.plan)
        before = (sum(one.spread_before_stops**2 for one in found.plan) / count) ** 0.5
        after = (sum(one.spread_after_stops**2 for one in found.plan) / count) ** 0.5
        says.append(
            f"The plan's readings were good to about {before:.1f} stop either way, and are to "
            f"{after:.1f}."
        )
    return says


def _moved(one: Corrected) -> str:
    """One correction in a clause: "BOOK gives a third less than assumed"."""
    size = format_stops_thirds(abs(one.stops), reference="it").removesuffix(" over")
    size = "a little" if size == "at it" else size
    stop = "" if size == "a little" else " of a stop" if "third" in size else " stops"
    stop = " stop" if size == "1" else stop
    side = "more" if one.stops > 0.0 else "less"
    if one.kind in {"sky", "sun"}:
        side = "brighter" if one.stops > 0.0 else "darker"
    return f"{_GIVES[one.kind].format(one.name)} {size}{stop} {side} than assumed"
