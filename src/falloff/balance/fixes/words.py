"""Fixes as sentences: what is short, what helps most, what it costs."""

from __future__ import annotations

from falloff.balance.fixes.records import Fix, Fixes, FixTarget
from falloff.balance.fixes.start import DARK_STOPS
from falloff.balance.words import listed

_MOST_NAMED = 3
_LEAST_TOLD = 0.05  # stops


def fixes_sentences(found: Fixes, *, unseen: tuple[str, ...], asked: bool) -> tuple[str, ...]:
    """All of it in a few sentences."""
    if not asked:
        return ("Nothing is wanted of these setups, so there is nothing to fix: write targets.",)
    if not found.missed:
        return ("There is nothing to fix: every target holds, with the dims of falloff balance.",)
    several = len(found.setups) > 1
    short = listed([missed_text(one, several=several) for one in found.missed])
    sentences = [f"With the best dims {short}."]
    if unseen:
        sentences.append(
            f"No light of this scene reaches {listed(unseen)}: only another light, or another "
            "place for it, helps there."
        )
    helps = [one for one in found.fixes if one.worth_stops > 0.0]
    on_set = [one for one in helps if not one.later]
    if not on_set:
        sentences.append(
            f"Of {found.tried} changes that were weighed none brings it nearer on set: "
            "add a light, or let a target go."
        )
        return tuple(sentences)
    whole = [one for one in on_set if one.brings_all]
    if whole:
        named = [f"{one.says} ({cost_text(one)})" for one in whole[:_MOST_NAMED]]
        sentences.append(f"What brings everything in: {'; '.join(named)}.")
    else:
        named = [
            f"{one.says} ({one.worth_stops:.1f} stops, {cost_text(one)})"
            for one in on_set[:_MOST_NAMED]
        ]
        sentences.append(f"No single change brings everything in; nearest: {'; '.join(named)}.")
    return tuple(sentences)


def missed_text(one: FixTarget, *, several: bool) -> str:
    """One missed target and by how much."""
    where = f" in {one.setup}" if several else ""
    if one.unit == "stops" and one.before > DARK_STOPS:
        return f"{one.name}{where} is missed for want of any light"
    return f"{one.name}{where} is missed by {amount(one.before, one.unit)}"


def amount(value: float, unit: str) -> str:
    """A miss in its unit."""
    if unit == "stops" and value < _LEAST_TOLD:
        return "under 0.1 stop"
    if unit == "stops":
        return f"{value:.1f} {'stop' if value < 1.05 else 'stops'}"
    return f"{value:.0f} {unit}"


def cost_text(one: Fix) -> str:
    """Minutes, hands and hire."""
    if one.later:
        return f"{one.minutes:.0f} min in the grade"
    hands = "" if one.hands == 1 else f", {one.hands} people"
    hire = f", {one.day_rate:g} a day" if one.day_rate else ""
    unknown = f", {one.hire_says}" if one.day_rate is None and one.hire_says else ""
    return f"{one.minutes:.0f} min{hands}{hire}{unknown}"
