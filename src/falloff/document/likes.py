"""Setups that are like others: what one leaves out is filled in from the one that it is like."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

from falloff import units
from falloff.document.cursor import Cursor, Unread, listed
from falloff.document.placing import shutter_of
from falloff.document.records import Moved, Quantity, Setup


@dataclass(frozen=True, slots=True)
class SetupWritten:
    """A setup as the file has it: the values of its keys.

    The shutter of one that is like another is still a cursor: its frame rate is not known yet.
    """

    cursor: Cursor
    values: Mapping[str, Any]


def filled_in(written: Mapping[str, SetupWritten]) -> dict[str, Setup]:
    """Every setup whole; faults of circles and of what does not go together are gathered.

    Setups that hang on one that could not be read are left out.
    """
    whole: dict[str, Setup] = {}
    told: set[str] = set()
    for name in written:
        chain = _chain(name, written)
        base = written[chain[-1]].values.get("like")
        if base in chain:
            circle = chain[chain.index(base) :]
            if told.isdisjoint(circle):
                _tell_circle(circle, written)
            told.update(circle)
            continue
        if base is not None:
            continue  # unknown or unread, and told as such
        try:
            for one in reversed(chain):
                if one not in whole:
                    like = written[one].values.get("like")
                    whole[one] = _setup(written[one], whole[like] if like else None)
        except Unread:
            continue
    return {name: whole[name] for name in written if name in whole}


def _chain(name: str, written: Mapping[str, SetupWritten]) -> list[str]:
    """A setup, the one it is like, and so on, as far as they are there and new."""
    chain = [name]
    base = written[name].values.get("like")
    while base is not None and base in written and base not in chain:
        chain.append(base)
        base = written[base].values.get("like")
    return chain


def _tell_circle(circle: list[str], written: Mapping[str, SetupWritten]) -> None:
    name, *others = circle
    cursor = written[name].cursor.entries()["like"]
    by_way = f" by way of {listed(others)}" if others else ""
    fix = "let one of them say all that it needs, without `like`"
    cursor.fault(f"setup {name} is like itself{by_way}", fix=fix)


def _setup(one: SetupWritten, base: Setup | None) -> Setup:
    own = dict(one.values)
    if base is None:
        return _checked(one, Setup(**own))
    inherited = msgspec.structs.asdict(base)
    for key in ("dims", "moved"):
        inherited[key] = dict(inherited[key])
    values = inherited | own
    values["dims"] = inherited["dims"] | own.get("dims", {})
    values["shutter"] = _shutter(one, base, values["fps"])
    values["moved"] = _moved(inherited["moved"], own)
    return _checked(one, Setup(**values))


def _moved(inherited: Mapping[str, Moved], own: Mapping[str, Any]) -> dict[str, Moved]:
    """Name by name, and in each what it leaves out; what is no longer there does not move."""
    moved = {name: one for name, one in inherited.items() if name not in own.get("without", ())}
    for name, one in own.get("moved", {}).items():
        before = moved.get(name, Moved())
        fields = msgspec.structs.asdict(one).items()
        said = {key: value for key, value in fields if value is not None}
        moved[name] = msgspec.structs.replace(before, **said)
    return moved


def _shutter(one: SetupWritten, base: Setup, fps: Quantity) -> Quantity:
    """An angle is another time at another frame rate, so it is read anew as it was written."""
    if "shutter" in one.values:
        return shutter_of(one.values["shutter"], fps.si)
    try:
        return Quantity(units.parse_shutter(base.shutter.text, fps.si), base.shutter.text)
    except units.UnitFault as error:
        fault, fix = error.fault, "add a `shutter` of its own"
        at = one.cursor.entries().get("fps", one.cursor)
        raise at.fault(fault.what, expected=fault.expected, found=fault.found, fix=fix) from None


def _checked(one: SetupWritten, setup: Setup) -> Setup:
    both = [name for name in setup.moved if name in setup.without]
    for name in both:
        cursor = one.cursor.entries()["moved"].entries()[name]
        what = f"{name} is moved in this setup and is not there: it stands under `without`"
        cursor.fault(what, fix="take it out of `moved` or of `without`")
    if both:
        raise Unread
    return setup
