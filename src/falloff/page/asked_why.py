"""Why something is not as it is wanted: complaints answered from the light on the table."""

from __future__ import annotations

from functools import partial
from typing import Any, Final, Literal

from falloff.balance.why.answers import answer
from falloff.balance.why.complaints import Complaint, read_complaint
from falloff.balance.why.onoff import whys_by_worst
from falloff.balance.why.plan import all_questions, why_plan
from falloff.balance.why.records import Why
from falloff.balance.why.scene import TracedSetup, traced_setup
from falloff.kit.catalogue import knob_share
from falloff.page.ask_desk import Answer, Desk
from falloff.session.why import jumps
from falloff.stage import dimming_of
from falloff.units import density_from_stops, stops_from_factor

_DRESSINGS: Final = ("ND 0.3", "ND 0.6", "ND 0.9")  # those that the page hangs


def why_answer(desk: Desk) -> Answer:
    """asked: said, a complaint in words; or reading and high; or neither: all that is wrong."""
    asked = desk.task.asked
    traced = _traced(desk, desk.task.setup)
    if asked.get("reading"):
        kind: Literal["bright", "dark"] = "bright" if asked.get("high") else "dark"
        whys = list(why_plan(traced, Complaint(kind, str(asked["reading"]))))
    elif not str(asked.get("said") or "").strip():
        whys = [one for one in map(answer, all_questions(traced)) if one.wrong]
    else:
        complaint = read_complaint(str(asked["said"]))
        if complaint.kind == "jump":
            names, shown = list(desk.task.plans), desk.task.setup
            whys = jumps(names, partial(_traced, desk), complaint, shown=shown)
        else:
            whys = list(why_plan(traced, complaint))
    ranked = whys_by_worst(whys)
    none = "Nothing that is looked at is off in this setup."
    return {
        "says": [ranked[0].says[0] if ranked else none],
        "findings": [],
        "parts": [_told(desk, one) for one in ranked],
    }


def _traced(desk: Desk, setup: str) -> TracedSetup:
    posed = desk.posed(setup)
    return traced_setup(posed.document, posed.layers, posed.light)


def _told(desk: Desk, why: Why) -> Answer:
    return {
        "about": why.complaint,
        "setup": why.setup,
        "says": list(why.says),
        "wrong": why.wrong,
        "cure": why.cure or why.fix,
        "changes": _changes(desk, why),
    }


def _changes(desk: Desk, why: Why) -> list[dict[str, Any]]:
    """The cure, where it is one dim or a gel that the page hangs."""
    if why.cure_light is None or why.setup != desk.task.setup:
        return []
    source, factor = why.cure_light
    document = desk.document(why.setup)
    label = f"{why.cure or ''}".split(":", 1)[0]
    if source in {**document.fixtures, **document.practicals}:
        share = desk.posed(why.setup).light.dims.get(source, 1.0) * factor
        knob = knob_share(dimming_of(document, source).curve, min(1.0, share))
        return [{"do": "dims", "knobs": {source: round(knob, 3)}, "label": label}]
    if source in document.openings and factor > 0.0:
        gel = f"ND {density_from_stops(stops_from_factor(1.0 / factor)):.1f}"
        if gel in _DRESSINGS:
            return [{"do": "dressing", "name": source, "what": gel}]
    return []
