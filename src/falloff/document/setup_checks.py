"""Checks of setups, and of what was measured in them, against the things that they name."""

from __future__ import annotations

from typing import Any, Final

from falloff import units
from falloff.document.arrange import left_hanging
from falloff.document.draft import Draft
from falloff.document.records import KeyPath, Measured, Quantity, Setup

_TURNS: Final = ("aim", "facing")


def check_setups(draft: Draft) -> None:
    """Record faults of moves that make no sense, and of what hangs on things that are gone."""
    for name, setup in draft.each("setups"):
        for moved, change in setup.moved.items():
            thing = _thing(draft, moved)
            for key in _TURNS:
                path = ("setups", name, "moved", moved, key)
                lacks = thing is not None and getattr(thing, key, None) is None
                if getattr(change, key) is not None and lacks and draft.wrote(path):
                    draft.fault(path, f"{moved} has no {key} to change", fix=f"take `{key}` out")
        _check_free(draft, name, setup)
    _check_gone(draft)
    for name, one in draft.each("measured"):
        _check_measured(draft, name, one)


def _thing(draft: Draft, name: str) -> Any:
    """The good record of something that can be moved."""
    section = draft.placed().get(name, "")
    return draft.records.get(section, {}).get(name)


def _check_gone(draft: Draft) -> None:
    """What one setup has from another is told once, at the first."""
    told: set[KeyPath] = set()
    for setup, _ in draft.each("setups"):
        for path, what, fix in left_hanging(draft.records, setup, wrote=draft.wrote):
            if path not in told:
                told.add(path)
                draft.fault(path, what, fix=fix)


def _check_free(draft: Draft, name: str, setup: Setup) -> None:
    """The stop that a setup has lies between those that it may have."""
    if setup.free is None or setup.free.stop is None:
        return
    widest, narrowest = setup.free.stop
    if not widest.si * (1.0 - 1e-6) <= setup.stop.si <= narrowest.si * (1.0 + 1e-6):
        path: KeyPath = ("setups", name, "free", "stop")
        if not draft.wrote(path):
            path = ("setups", name, "stop")
        draft.fault(
            path,
            f"the stop of {name} lies outside what is free",
            expected=f"{widest.text} to {narrowest.text}",
            found=setup.stop.text,
            fix="widen what is free, or give the setup a stop within it",
        )


def check_unit(draft: Draft, path: KeyPath, reading: str, value: Quantity) -> None:
    """A value at a key path is in lux of an incident reading, in candela per m² of a spot."""
    wanted = draft.records["readings"].get(reading)
    if wanted is None:
        return
    spot = wanted.instrument == "spot"
    parse = units.parse_luminance if spot else units.parse_illuminance
    try:
        parse(value.text)
    except units.UnitFault as error:
        fault = error.fault
        what = f"{reading} is read with a {wanted.instrument}: {fault.what}"
        if not spot:
            what = f"{reading} is an incident reading: {fault.what}"
        draft.fault(path, what, expected=fault.expected, found=fault.found)


def _check_measured(draft: Draft, name: str, one: Measured) -> None:
    path: KeyPath = ("measured", name)
    check_unit(draft, (*path, "value"), one.reading, one.value)
    setup = draft.records["setups"].get(one.setup or "")
    for light in one.lit or ():
        if setup is not None and light in setup.without:
            what = f"{light} cannot be lit in {one.setup}: it is not there"
            draft.fault((*path, "lit"), what, fix=f"take {light} out, or name another setup")
