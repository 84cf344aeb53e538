"""Everything on where nobody metered it: from a unit read on and off with the rest left on."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import replace

from falloff.balance.why.given import FITS_STOPS, OnOff
from falloff.balance.words import listed
from falloff.errors import DocumentError, Fault


def with_whole(one: OnOff, said_on: Collection[str]) -> OnOff:
    """A reading with all on from what was read with a unit off, where `all` was not metered.

    said_on: the units of `alone` that were written as on ("BOOK on"): with the same unit read off
    that is everything; a unit alone and all but it sum to everything. Raises DocumentError where
    these contradict each other, or where a unit off tells nothing for want of the whole.
    """
    if one.whole is not None or not one.left:
        return one
    wholes = {
        name: one.alone[name] + (0.0 if name in said_on else left)
        for name, left in one.left.items()
        if name in one.alone
    }
    if not wholes:
        raise DocumentError(_no_whole(one))
    low, high = min(wholes.values()), max(wholes.values())
    if low <= 0.0 < high or (low > 0.0 and math.log2(high / low) > FITS_STOPS):
        raise DocumentError(_disagree(one, wholes))
    first, *_ = wholes
    taken = f"what was read with {first} on is taken as everything on"
    if first not in said_on:
        taken = f"everything on is taken as {first} and what is left without it"
    everything = {name for name in wholes if name in said_on}
    alone = {name: light for name, light in one.alone.items() if name not in everything}
    return replace(one, whole=wholes[first], alone=alone, taken=taken)


def _no_whole(one: OnOff) -> Fault:
    """Units off, and nothing to take them from."""
    off = listed([f"{name} off" for name in one.left])
    first = next(iter(one.left))
    return Fault(
        what=f"{off} tells nothing without a reading of everything on", where=one.name,
        expected=f"all, or {first} on", found=", ".join((*one.alone, off)),
        fix=f"add 'all 320 lx', or '{first} on 320 lx' with all else on",
    )  # fmt: skip


def _disagree(one: OnOff, wholes: Mapping[str, float]) -> Fault:
    """Wholes that are not the same light."""
    told = [f"{one.number(light)} {one.unit_told} by {name}" for name, light in wholes.items()]
    return Fault(
        what="what was read with one unit on and off tells everything on in several ways",
        where=one.name, expected="the same within a third of a stop", found=listed(told),
        fix="read all with everything on; write 'BOOK alone' for a unit without the others",
    )  # fmt: skip
