"""A balance as sentences: the answer first, then what is short and why, then what is fragile."""

from __future__ import annotations

from collections.abc import Sequence

from falloff.balance.problem import ExposureChoice, Problem
from falloff.balance.records import Balance, DimSet, TargetGot
from falloff.units import density_from_stops


def balance_sentences(result: Balance) -> tuple[str, ...]:
    """A balance in a few sentences."""
    held = sum(one.got.holds for one in result.targets)
    count = len(result.targets)
    if not count:
        return ("Nothing is wanted of these setups: write targets, and ask again.",)
    changes = [told for one in result.dims if (told := dim_text(one))]
    changes += [f"{one.setup}: {one.after}" for one in result.exposures if one.after != one.before]
    sentences = []
    if held == count:
        head = "Every target holds" if count > 1 else "The target holds"
        if not changes:
            sentences.append(f"{head} as things stand: nothing need change.")
        else:
            sentences.append(f"{head} with {listed(changes)}.")
    else:
        head = f"{held} of {count} targets can be met" if held else "No target can be met"
        with_ = f" with {listed(changes)}" if changes else " and no dim brings them nearer"
        sentences.append(f"{head}{with_}.")
        sentences += [
            miss_sentence(one, several=len(result.setups) > 1)
            for one in result.targets
            if not one.got.holds
        ]
        sentences += [one.says for one in result.conflicts]
    if result.first_to_break is not None:
        sentences.append(capital(result.first_to_break.says) + ".")
    return tuple(sentences)


def dim_text(one: DimSet) -> str:
    """What becomes of one light, "" where it stays."""
    if not one.moved:
        return ""
    if one.knob <= 0.0:
        return f"{one.source} off"
    colour = f" {one.colour}" if one.colour else ""
    return f"{one.source} at {per_cent(one.knob)}{colour}"


def per_cent(share: float) -> str:
    """A share as a dim is written."""
    return f"{100.0 * share:.1f}".removesuffix(".0") + " %"


def miss_sentence(one: TargetGot, *, several: bool = False) -> str:
    """What a missed target is short of, and what binds it."""
    why = f": {'; '.join(one.binds)}" if one.binds else ""
    name = capital(one.name) + (f" in {one.setup}" if several else "")
    if one.got.got.endswith("no light"):
        return f"{name} is missed, in the dark{why}."
    return f"{name} is missed by {_amount(one.short, one.got.unit)} ({one.got.got}){why}."


def _amount(value: float, unit: str) -> str:
    if unit == "stops":
        return f"{value:.1f} {'stop' if value < 1.05 else 'stops'}" if value >= 0.05 else "a hair"
    return f"{value:.0f} {unit}" if value >= 0.5 else "a hair"


def conflict_sentence(problem: Problem, targets: Sequence[tuple[str, str]], *, anyhow: bool) -> str:
    """Which targets cannot hold together; anyhow: whatever the colours and the exposure."""
    several = len(problem.tables) > 1
    names = [f"{name} in {setup}" if several else name for setup, name in targets]
    if not names:
        return ""
    at = "whatever their dims" if anyhow else "at this exposure and in these colours"
    if len(names) == 1:
        return f"{capital(names[0])} cannot be met at all with these lights, {at}."
    return (
        f"{capital(listed(names))} cannot hold together with these lights, {at}: "
        f"let one of them go."
    )


def exposure_text(one: ExposureChoice) -> str:
    """An exposure as it is set."""
    nd = f", ND {density_from_stops(one.nd_stops):.1f}" if one.nd_stops > 0.0 else ", no ND"
    return f"T{one.stop:.3g}, ISO {one.iso:g}{nd}"


def listed(parts: Sequence[str], joined: str = "and") -> str:
    """Parts as people list them; joined: the last word between them."""
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {joined} {parts[-1]}"


def capital(text: str) -> str:
    """A sentence's beginning; names that are written in capitals stay."""
    return text[:1].upper() + text[1:]
