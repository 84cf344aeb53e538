"""Checks of targets, and of readings at several points, against the readings that they name."""

from __future__ import annotations

from falloff.document.arrange import gone_in, names_in
from falloff.document.cursor import listed
from falloff.document.draft import Draft
from falloff.document.points import point_names
from falloff.document.records import AnyTarget, EvenTarget, ReadingWanted, ValueTarget
from falloff.document.setup_checks import check_unit
from falloff.document.wanted import readings_in


def check_targets(draft: Draft) -> None:
    """Record faults of targets that cannot be judged, and of points whose names are taken."""
    for name, reading in draft.each("readings"):
        _check_points(draft, name, reading)
    for name, target in draft.each("targets"):
        if isinstance(target, ValueTarget):
            check_unit(draft, ("targets", name, "value"), target.reading, target.value)
        elif isinstance(target, EvenTarget):
            _check_even(draft, name, target)
        _check_taken(draft, name, target)
    for section, key in (("setups", "key"), ("measured", "reading")):
        for name, one in draft.each(section):
            _check_plain(draft, (section, name, key), getattr(one, key))


def _check_points(draft: Draft, name: str, reading: ReadingWanted) -> None:
    if not reading.points:
        return
    taken = [point for point in point_names(name, reading) if point in draft.names["readings"]]
    if taken:
        what = f"{listed(taken[:3])} is named already: the points of {name} are called so"
        draft.fault(("readings", name), what, fix="give one of them another name")


def _check_even(draft: Draft, name: str, target: EvenTarget) -> None:
    """At least two points, all of one instrument's unit."""
    known = draft.records["readings"]
    if any(reading not in known for reading in target.readings):
        return
    path = ("targets", name, "readings")
    path = path if draft.wrote(path) else ("targets", name, "reading")
    if sum(len(point_names(one, known[one])) for one in target.readings) < 2:
        fix = "name another reading, or give this one `to` and `points`"
        draft.fault(path, "one point is always even with itself", fix=fix)
    spots = [one for one in target.readings if known[one].instrument == "spot"]
    if spots and len(spots) < len(target.readings):
        what = f"{listed(spots)} is read with a spot and cannot be even with incident readings"
        draft.fault(path, what, fix="ask for a level of it, or read it with another instrument")


def _check_taken(draft: Draft, name: str, target: AnyTarget) -> None:
    """Every setup that a target names takes its readings."""
    readings = draft.records["readings"]
    for setup_name in target.setups:
        setup = draft.records["setups"].get(setup_name)
        if setup is None:
            continue
        gone = gone_in(draft.records, setup)
        for reading in readings_in(target):
            lost = [one for _, one in names_in(readings.get(reading)) if one in gone]
            if lost:
                draft.fault(
                    ("targets", name, "setups"),
                    f"{reading} is not read in {setup_name}: {lost[0]} is not there",
                    fix=f"take {setup_name} out, or leave {lost[0]} in it",
                )


def _check_plain(draft: Draft, path: tuple[str, str, str], reading: str | None) -> None:
    """What names one meter's reading does not name a walk."""
    wanted = draft.records["readings"].get(reading or "")
    if wanted is None or not wanted.points or not draft.wrote(path):
        return
    what = f"{reading} is taken at {len(point_names(str(reading), wanted))} points"
    draft.fault(path, what, expected="a reading at one point", fix="name another reading")
