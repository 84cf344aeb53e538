"""Readings taken on the day, all on and one by one: who gives what, and whether they add up."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from falloff.balance.why.light import Given, Lit
from falloff.balance.words import listed
from falloff.errors import DocumentError, Fault
from falloff.units import stops_from_factor

ALL: Final = "all"
AMBIENT: Final = "ambient"
REST: Final = "the rest"
FITS_STOPS: Final = 1.0 / 3.0  # within which parts must sum to the whole
_TOLD_STOPS: Final = 0.05
_NOTHING: Final = 1e-12


@dataclass(frozen=True, slots=True)
class OnOff:
    """A place metered with lights on and off; every number in `unit`, lx or cd/m².

    told_in: the unit that it was written in first and is told in, with how much of `unit` that is;
    written: by part, what was written in another; assumed: parts that were written without one.
    whole: everything on, None where it was not metered. alone: one unit on and nothing else;
    left: everything but one unit; bounced: one unit on, shaded by hand from the meter; ambient:
    all units off, None where that was not metered; taken: what stands for everything on, in words,
    where that was not metered itself.
    """

    name: str
    unit: str
    whole: float | None = None
    alone: Mapping[str, float] = field(default_factory=dict)
    left: Mapping[str, float] = field(default_factory=dict)
    bounced: Mapping[str, float] = field(default_factory=dict)
    ambient: float | None = None
    told_in: tuple[str, float] | None = None
    written: Mapping[str, str] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()
    taken: str = ""

    def number(self, light: float, name: str = "") -> str:
        """A level as it was written, or as it would be; the unit is `unit_told`."""
        own = self.written.get(name)
        value = light / (self.told_in[1] if self.told_in else 1.0)
        said = f"{value:.3g}" if value < 1000.0 else f"{value:.0f}"
        return f"{said} {self.unit_told} (written {own})" if own else said

    @property
    def unit_told(self) -> str:
        """What numbers of it are told in."""
        return self.told_in[0] if self.told_in else self.unit

    @property
    def units(self) -> tuple[str, ...]:
        """The units that were metered one way or another."""
        return tuple(dict.fromkeys((*self.alone, *self.left, *self.bounced)))


@dataclass(frozen=True, slots=True)
class SharesGiven:
    """A place's light by source as subtraction tells it, and what was taken for granted."""

    lit: Lit
    notes: tuple[str, ...] = ()


def shares_given(one: OnOff, units: Sequence[str], *, reference: float) -> SharesGiven:
    """Who gives a place its light; units: every unit that was metered anywhere.

    reference: the light that is nought stops. Parts are scaled to the whole that they sum to
    within a third of a stop. Raises DocumentError that says which reading cannot be right.
    """
    notes = [f"{one.name}: {one.taken}"] if one.taken else []
    parts = _parts(one)
    complete = one.ambient is not None and set(units) <= set(parts)
    total = sum(parts.values()) + (one.ambient or 0.0)
    if one.whole is not None and complete and _apart(total, one.whole) > FITS_STOPS:
        taken = _with_ambient(one)
        if taken is None:
            raise DocumentError(_misfit(one, parts, total))
        parts = taken
        total = sum(parts.values()) + (one.ambient or 0.0)
        notes.append(
            f"{one.name}: the units' readings fit if the ambient was on with each, and are taken so"
        )
    _check_parts(one, parts)
    whole = total if one.whole is None else one.whole
    given = [Given(name, *_split(one, name, light)) for name, light in parts.items()]
    if one.ambient is not None:
        given.append(Given(AMBIENT, one.ambient, split=False))
    rest = whole - total
    if complete or rest <= 0.0:
        factor = whole / total if total > _NOTHING else 1.0
        if abs(stops_from_factor(factor) if factor > 0.0 else 0.0) >= _TOLD_STOPS:
            notes.append(
                f"{one.name}: the parts sum to {one.number(total)} of {one.number(whole)} "
                f"{one.unit_told}, which is near enough; they are scaled to it"
            )
        given = [_times(part, factor) for part in given]
    elif rest > 0.0:
        missing = [name for name in units if name not in parts]
        if one.ambient is None and not missing:
            given.append(Given(AMBIENT, rest, split=False))
        else:
            name = missing[0] if len(missing) == 1 and one.ambient is not None else REST
            given.append(Given(name, rest, split=False))
    return SharesGiven(Lit(one.name, tuple(given), reference, one.unit), tuple(notes))


def _parts(one: OnOff) -> dict[str, float]:
    """What each unit gives alone: as metered, else by subtraction from the whole."""
    found = dict(one.alone)
    for name, left in one.left.items():
        if name not in found and one.whole is not None:
            found[name] = max(0.0, one.whole - left)
    return found


def _split(
    one: OnOff, name: str, light: float
) -> tuple[float, float, dict[str, float], None, bool]:
    """Direct, bounced and so on of a unit, as `Given` has them."""
    if name not in one.bounced:
        return light, 0.0, {}, None, False
    bounced = min(light, one.bounced[name])
    return light - bounced, bounced, {}, None, True


def _times(part: Given, factor: float) -> Given:
    return Given(part.source, factor * part.direct, factor * part.bounced, split=part.split)


def _with_ambient(one: OnOff) -> dict[str, float] | None:
    """The parts if every unit was metered with the ambient on; None if that does not fit."""
    assert one.ambient is not None
    assert one.whole is not None
    found = {name: light - one.ambient for name, light in one.alone.items()}
    if len(found) < len(_parts(one)) or any(light < 0.0 for light in found.values()):
        return None
    total = sum(found.values()) + one.ambient
    return found if _apart(total, one.whole) <= FITS_STOPS else None


# What cannot be right ---------------------------------------------------------------------


def _check_parts(one: OnOff, parts: Mapping[str, float]) -> None:
    """Parts that are more than the whole, and numbers that contradict one another."""
    faults = _too_much(one, parts)
    total = sum(parts.values()) + (one.ambient or 0.0)
    if one.whole is not None and not faults and total > one.whole * 2.0**FITS_STOPS:
        faults.append(_misfit(one, parts, total))
    for name, left in one.left.items():
        if one.whole is None or name not in one.alone or faults:
            continue
        if _apart(left + one.alone[name], one.whole) > FITS_STOPS:
            faults.append(_contradiction(one, name, left))
    if faults:
        raise DocumentError(*faults)


def _too_much(one: OnOff, parts: Mapping[str, float]) -> list[Fault]:
    """Parts that are more than the whole, or than what they are a part of."""
    faults: list[Fault] = []
    everything = {**parts, **{f"{n} shaded": v for n, v in one.bounced.items()}}
    everything |= {f"without {name}": v for name, v in one.left.items()}
    if one.ambient is not None:
        everything[AMBIENT] = one.ambient
    for name, light in everything.items():
        if one.whole is not None and light > one.whole * 2.0**FITS_STOPS:
            faults.append(
                _fault(
                    one, f"{name} is more than everything together",
                    found=f"{name} {one.number(light, name)}, "
                    f"all {one.number(one.whole, ALL)} {one.unit_told}",
                    fix="read both again, the meter in the same spot",
                )
            )  # fmt: skip
    for name, light in one.bounced.items():
        if name in parts and light > parts[name] * 2.0**FITS_STOPS:
            faults.append(
                _fault(
                    one, f"{name} gives more with the meter shaded than without",
                    found=f"{one.number(light, f'{name} shaded')} shaded, "
                    f"{one.number(parts[name], name)} {one.unit_told} in all",
                    fix="shade the meter from the unit alone, not from the room",
                )
            )  # fmt: skip
    return faults


def _misfit(one: OnOff, parts: Mapping[str, float], total: float) -> Fault:
    """Parts that do not sum to the whole: which number alone would explain it."""
    assert one.whole is not None
    apart = _apart(total, one.whole)
    backed = {
        name
        for name, left in one.left.items()
        if name in one.alone and _apart(left + one.alone[name], one.whole) <= FITS_STOPS
    }
    numbers = dict(parts) | ({AMBIENT: one.ambient} if one.ambient is not None else {})
    could = [] if backed else [f"all {one.number(total)} in place of {one.number(one.whole)}"]
    for name, light in numbers.items():
        should = one.whole - (total - light)
        if name not in backed and should >= 0.0:
            could.append(f"{name} {one.number(should)} in place of {one.number(light)}")
    sums = " + ".join(f"{name} {one.number(light, name)}" for name, light in numbers.items())
    far = f"{apart:.1f} stops" if math.isfinite(apart) else "one of them nothing, so wholly"
    what = f"the parts do not add up to the whole: {far} apart"
    fix = f"one of these would mend it: {listed(could, 'or')}" if could else "read them all again"
    if len(could) == 1:
        fix = f"only this can be wrong: {could[0]}"
    return _fault(
        one, what, expected=f"{one.number(one.whole)} {one.unit_told}, within a third of a stop",
        found=f"{sums} = {one.number(total)} {one.unit_told}", fix=f"{fix}; read again",
    )  # fmt: skip


def _contradiction(one: OnOff, name: str, left: float) -> Fault:
    assert one.whole is not None
    alone = one.alone[name]
    sums = (
        f"{name} {one.number(alone, name)} + without {name} {one.number(left, f'without {name}')}"
    )
    others = sum(v for n, v in _parts(one).items() if n != name) + (one.ambient or 0.0)
    wrong = "one of the three is wrong"
    if one.ambient is not None and _apart(others, left) <= FITS_STOPS:
        agree = _apart(others + alone, one.whole) <= FITS_STOPS
        wrong = "all of it is wrong" if not agree else f"without {name} is wrong"
        if not agree:
            wrong = f"all ({one.number(one.whole)}) or {name} ({one.number(alone)}) is wrong"
    elif one.ambient is not None and _apart(others + alone, one.whole) <= FITS_STOPS:
        wrong = f"without {name} cannot be right: it should be {one.number(one.whole - alone)}"
    return _fault(
        one, f"what {name} gives and what is left without it do not make the whole",
        expected=f"{one.number(one.whole)} {one.unit_told}, within a third of a stop",
        found=f"{sums} = {one.number(alone + left)} {one.unit_told}", fix=f"{wrong}; read again",
    )  # fmt: skip


def _fault(one: OnOff, what: str, *, expected: str = "", found: str = "", fix: str = "") -> Fault:
    return Fault(what=what, where=one.name, expected=expected, found=found, fix=fix)


def _apart(one: float, other: float) -> float:
    """Stops between two amounts of light; none between two of nothing."""
    if one <= _NOTHING and other <= _NOTHING:
        return 0.0
    if one <= _NOTHING or other <= _NOTHING:
        return math.inf
    return abs(math.log2(one / other))
