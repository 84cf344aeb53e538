"""A package in sentences, and what stands in the way where none holds every target."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from falloff.balance.conflicts import smallest_conflict
from falloff.balance.package.problem import Limits, PackageProblem
from falloff.balance.package.programme import can_hold_all
from falloff.balance.package.reach import Reach
from falloff.balance.package.records import Package, PackageChoice, PackageLine
from falloff.balance.records import Breaks, TargetGot
from falloff.balance.words import listed, miss_sentence
from falloff.findings import Finding, Weight

_WAYS: Final = (
    ("reserve", Limits(reserve=False), "the reserve"),
    ("circuits", Limits(circuits=False), "the circuits of the house"),
    ("stands", Limits(stands=False), "the stands"),
    ("counts", Limits(counts=False), "how many there are of each"),
)
_NO_LIGHT_STOPS: Final = 12.0
_HARDLY_STOPS: Final = 0.05
_NO_LIMIT: Final = Limits(reserve=False, circuits=False, stands=False, counts=False)


@dataclass(frozen=True, slots=True)
class DimKey:
    """A setup whose key reading comes out well under key, of which no target asks a level.

    stops: over key; None where it has no light at all.
    """

    setup: str
    reading: str
    stops: float | None


def in_the_way(problem: PackageProblem, banned: Sequence[tuple[str, str]] = ()) -> tuple[str, ...]:
    """What keeps every package from holding all targets, as sentences, the plainest first.

    Each limit alone; else all together; else the targets themselves, or light that is too weak.
    """
    if can_hold_all(problem, limits=_NO_LIMIT, banned=banned):
        found = [
            f"But for {what} every target would hold."
            for _, limits, what in _WAYS
            if can_hold_all(problem, limits=limits, banned=banned)
        ]
        whats = listed([what for _, _, what in _WAYS])
        return tuple(found) or (f"No one limit is in the way, but {whats} together are.",)
    told = [
        (table.setup, name)
        for table in problem.fixed.tables
        for name in table.targets
        if (table.setup, name) not in problem.hopeless
    ]
    reach = Reach(problem)
    conflict, _ = smallest_conflict(
        told, lambda some: frozenset(some) if reach.can_hold(some) else None
    )
    if not conflict:
        return ("What is offered is too weak, or cannot be dimmed low enough, at these places.",)
    several = len(problem.fixed.tables) > 1
    names = [f"{name} in {setup}" if several else name for setup, name in conflict]
    why = f"{listed(names)} cannot hold together with light of these forms at these places"
    return (f"{why}, however strong: move a light, or let one of them go.",)


def money(amount: float, currency: str) -> str:
    """A sum as people write it."""
    told = f"{amount:.2f}".rstrip("0").rstrip(".")
    return f"{told} {currency}" if currency else told


def package_sentences(
    choice: PackageChoice,
    *,
    hopeless: frozenset[tuple[str, str]] = frozenset(),
    unlike: Sequence[str] = (),
    dim_keys: Sequence[DimKey] = (),
) -> tuple[str, ...]:
    """The package first, then what it leaves out, what it costs, what breaks it, the next cheaper.

    hopeless: what nothing that is offered can bring in; unlike: places at which nothing that is
    offered may stand; dim_keys: setups that come out dark though no target says so.
    """
    best, cheaper, currency = choice.best, choice.cheaper, choice.currency
    reserve_stops = choice.reserve_stops
    several = len({one.setup for one in best.targets}) > 1
    said: list[str] = []
    hand = f"with {_stops(reserve_stops)} in hand at every dim" if reserve_stops else "at full"
    every = "every other target" if hopeless else "every target"
    missed = [
        one for one in best.targets if not one.got.holds and (one.setup, one.name) not in hopeless
    ]
    held = sum(one.got.holds for one in best.targets)
    lost = [one for one in best.targets if (one.setup, one.name) in hopeless]
    if not best.lines and not missed and not lost:
        said.append(
            "These targets ask for no fixture: they hold with what light there is."
            if dim_keys
            else f"No fixture is needed: {every} holds with what light there is."
        )
    elif not best.lines and not missed:
        said.append(
            "Nothing that is offered brings every target in: with no fixture at all "
            f"{held} of {len(best.targets)} hold."
        )
    elif not missed:
        said.append(f"Bring {_content(best.lines)}: {every} holds {hand}.")
    else:
        bring = f"the nearest is {_content(best.lines)}" if best.lines else "the nearest is nothing"
        said.append(
            f"No package brings {every} in {hand}: {bring}, which holds {held} of "
            f"{len(best.targets)}."
        )
        said += [_missed(one, several=several) for one in missed]
        said += choice.in_the_way
    if lost:
        them = "this" if len(lost) == 1 else "these"
        said.append(
            f"Nothing that is offered is like what is written at {listed(unlike)}; without it "
            f"nothing brings {them} in:"
            if unlike
            else f"Whatever stands at these places cannot bring {them} in:"
        )
        said += [_missed(one, several=several) for one in lost]
    said += _empty(best, missing=bool(missed or lost))
    said += [
        f"{one.setup} is exposed at {one.after} (as written {one.before})."
        for one in best.exposures
    ]
    said += [_dark(one, several=several) for one in dim_keys]
    if best.lines:
        guessed = " at assumed rates" if any(one.assumed for one in best.lines) else ""
        cost = f"{money(best.hire, currency)} a day{guessed}" if best.hire else "nothing to hire"
        pieces = "1 piece" if best.pieces == 1 else f"{best.pieces} pieces"
        said.append(f"That is {pieces}, {best.weight_kg:.0f} kg, {cost}.")
    if best.first_to_break is not None:
        said.append(_breaks(best.first_to_break, several=several))
    if choice.with_hire is not None:
        said.append(_with_hire(choice.with_hire, held, hand, currency))
    if cheaper is not None:
        said.append(_cheaper(best, cheaper, currency, hopeless, several=several))
    return tuple(said)


def _empty(best: Package, *, missing: bool) -> list[str]:
    """The places that nothing stands at; that nothing asks for them where nothing is missing."""
    empty = [one.place for one in best.places if not one.light]
    if not empty or not best.lines:
        return []
    if missing:
        return [f"{listed(empty)} {'stays' if len(empty) == 1 else 'stay'} empty in it."]
    leave = (
        "leave it at home, or write a target for what it is to do"
        if len(empty) == 1
        else "leave them at home, or write targets for what they are to do"
    )
    return [f"No target asks for a light at {listed(empty)}: {leave}."]


def _breaks(first: Breaks, *, several: bool) -> str:
    """What goes first, with its setup where there are several."""
    says = first.says
    if several:
        says = says.replace(first.target, f"{first.target} in {first.setup}", 1)
    return f"{says[:1].upper()}{says[1:]}."


def _dark(one: DimKey, *, several: bool) -> str:
    """That a setup's own key comes out dark, as nothing is wanted of it."""
    where = f" of {one.setup}" if several else ""
    level = "has no light" if one.stops is None else f"is {abs(one.stops):.1f} stops under key"
    return (
        f"But {one.reading}, the key{where}, {level} then, and no target says how bright it is to "
        f"be: add one, such as {{reading: {one.reading}, level: 0 stops}}, and choose again."
    )


def _with_hire(package: Package, without: int, hand: str, currency: str) -> str:
    """What the kit would have to be helped with; without: how many targets hold as it is."""
    held = sum(one.got.holds for one in package.targets)
    if held <= without:
        return "Nothing of the catalogue, hired besides, brings more of them in."
    all_hold = held == len(package.targets)
    guessed = " at assumed rates" if any(one.assumed for one in package.lines) else ""
    then = f"every target holds {hand}" if all_hold else f"{held} of {len(package.targets)} hold"
    return (
        f"With hire besides, bring {_content(package.lines)}: {then}, "
        f"{money(package.hire, currency)} a day{guessed}."
    )


def _cheaper(
    best: Package,
    cheaper: Package,
    currency: str,
    hopeless: frozenset[tuple[str, str]],
    *,
    several: bool,
) -> str:
    what = _content(cheaper.lines) if cheaper.lines else "nothing at all"
    less = (
        f"The next cheaper, {what} ({money(cheaper.hire, currency)} a day)"
        if best.hire > cheaper.hire
        else f"The next smaller, {what}"
    )
    fails = [
        _missed(one, several=several).removesuffix(".")
        for one in cheaper.targets
        if not one.got.holds and (one.setup, one.name) not in hopeless
    ]
    if not fails:
        return f"{less}, misses by less than is told."
    return f"{less}, fails: {'; '.join(fails)}."


def _missed(one: TargetGot, *, several: bool) -> str:
    """What a target is missed by, as it makes sense to say."""
    where = f"{one.name} in {one.setup}" if several else one.name
    told = f"{where[:1].upper()}{where[1:]}"
    if one.got.unit == "stops" and one.short > _NO_LIGHT_STOPS:
        return f"{told} has no light to speak of."
    if one.got.unit == "stops" and one.short < _HARDLY_STOPS:
        return f"{told} is missed by less than a tenth of a stop ({one.got.got})."
    return miss_sentence(one, several=several)


def _content(lines: Sequence[PackageLine]) -> str:
    """What is brought, stands apart."""
    parts = [
        f"{one.count} × {one.item} ({'own' if one.owned else 'hired'})"
        for one in lines
        if one.kind != "stand"
    ]
    stands = sum(one.count for one in lines if one.kind == "stand")
    if stands:
        parts.append("1 stand" if stands == 1 else f"{stands} stands")
    return listed(parts)


def _stops(stops: float) -> str:
    told = {1.0: "one stop", 0.5: "half a stop", 2.0: "two stops"}.get(stops)
    return told or f"{stops:.2g} stops"


def package_findings(problem: PackageProblem, best: Package) -> tuple[Finding, ...]:
    """Cautions of mains, weight, height and heat, and what was assumed."""
    return (*_cautions(problem, best), *_assumed(problem, best))


def _cautions(problem: PackageProblem, best: Package) -> list[Finding]:
    found = []
    if not best.lines:
        return []
    draws = any(line.kind == "fixture" for line in best.lines)
    if draws:
        amps = [
            f"{one.circuit} {one.amps:.1f} of {one.allowed_amps:.1f} A"
            + (
                f" (one of its lights draws up to {one.inrush_amps:.0f} A as it is switched on)"
                if one.inrush_amps is not None
                else " (what its lights draw as they are switched on is not known)"
            )
            for one in best.circuits
        ]
        says = f"circuits, at 80 % of their breakers and with power factor: {'; '.join(amps)}"
        if not amps:
            says = "the scene names no circuits, so that mains load is not judged"
        do = (
            "see what else is on each circuit; switch on one light at a time; local codes and "
            "licensed people decide"
        )
        found.append(Finding(weight=Weight.CAUTION, about="mains", says=says, do=do))
    there = {one.place for one in best.places if one.light}
    high = max(
        height or 0.0
        for place in problem.places
        if place.name in there
        for height in place.heights_m
    )
    says = f"lights stand up to {high:.1f} m high: what falls from there hurts"
    do = "a bag on every stand, a safety on all that is overhead; riggers decide what may hang"
    found.append(Finding(weight=Weight.CAUTION, about="stands", says=says, do=do))
    hot = sorted(
        one.light
        for place, one in zip(problem.places, best.places, strict=True)
        if any(each.hot and each.name == one.light for each in place.candidates)
    )
    if hot:
        says = f"{listed(hot)} burns skin, and cloth or paint that is near"
        do = "keep its maker's distance from all that burns, let it cool, and have gloves"
        found.append(Finding(weight=Weight.CAUTION, about="heat", says=says, do=do))
    return found


def _assumed(problem: PackageProblem, best: Package) -> list[Finding]:
    found = []
    guessed = [one.item for one in best.lines if one.assumed]
    if guessed:
        says = f"day rates of {listed(guessed)} are guesses by power, in the kit's currency"
        do = "write day_rate in the kit file from a hire house's list"
        found.append(Finding(weight=Weight.NOTE, about="hire", says=says, do=do))
    if not problem.stands_known and any(place.needs_stand for place in problem.places):
        says = "the kit file lists no stands, so that heights and loads are not judged"
        do = "add the stands to the kit file"
        found.append(Finding(weight=Weight.NOTE, about="stands", says=says, do=do))
    nets = [one.place for one in best.places if one.nets]
    if nets:
        says = f"what stands at {listed(nets)} does not dim: nets or wires take its light down"
        found.append(Finding(weight=Weight.NOTE, about="dims", says=says, do="pack nets and wires"))
    says = (
        "lights in shot keep the dims that are written; a target holds within its tolerance; each "
        "dim is at most full less the reserve, in every setup with a dim of its own"
    )
    found.append(Finding(weight=Weight.NOTE, about="how it was chosen", says=says))
    return found
