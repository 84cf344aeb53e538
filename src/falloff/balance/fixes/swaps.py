"""Another unit in a light's place: a stronger head, another modifier, an egg crate."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from falloff.balance.fixes.candidates import Candidate, Hire
from falloff.balance.fixes.efforts import SWAP_BIG, SWAP_HEAD, SWAP_MODIFIER
from falloff.balance.fixes.lights import power_cautions
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.trials import light_of_front, scaled, standing_after, with_row
from falloff.balance.problem import Problem
from falloff.document import (
    Add,
    BookLight,
    Edit,
    FresnelLight,
    KitLight,
    LightPanel,
    OpenFace,
    ProfileSpotLight,
    Put,
    Rewrite,
    SoftBox,
    TubeLight,
    put_or_add,
    quoted,
)
from falloff.errors import FalloffError
from falloff.kit import Fixture as Head
from falloff.kit import Modifier, OwnedItem, find_item, list_items, read_own_kit
from falloff.kit.catalogue import find_beam, modifier_cost
from falloff.stage.kit_lights import kit_items

_AT_END: Final = 0.97
_LEAST: Final = 0.04
_TIMES: Final = (1.5, 2.0, 3.0, 4.0, 6.0, 8.0)
_SPILL: Final = ("egg crate",)
_GAIN_STOPS: Final = 0.3  # less is not worth the swap
_MOST_MODIFIERS: Final = 2
_BIG_LM: Final = 30_000.0
_FORMS: Final[Mapping[type, tuple[str, ...]]] = {
    OpenFace: ("open face",),
    FresnelLight: ("Fresnel",),
    ProfileSpotLight: ("profile spot",),
    LightPanel: ("panel", "mat"),
    TubeLight: ("tube",),
    SoftBox: ("open face",),
    BookLight: ("open face", "Fresnel"),
}
# Of what a bare head gives, what leaves a soft front, as the kit's soft boxes and book lights pass.
_SOFT_WITH: Final[Mapping[type, str]] = {
    SoftBox: "120 cm soft box",
    BookLight: "4 x 4 ft book light set",
}


@dataclass(frozen=True, slots=True)
class Shelf:
    """What there is to take: one's own kit first, then the catalogue."""

    own: tuple[OwnedItem, ...]

    def heads(self) -> list[tuple[Head, Hire, bool]]:
        """Every head with its hire, and whether it is in one's own kit."""
        found = [(one.item, _hire(one), True) for one in self.own if isinstance(one.item, Head)]
        mine = {item.name for item, _, _ in found}
        found += [
            (one, Hire(one.day_rate, _no_rate(one.day_rate)), False)
            for one in list_items("fixture")
            if isinstance(one, Head) and one.name not in mine
        ]
        return found

    def modifiers(self) -> list[tuple[Modifier, Hire, bool]]:
        """Every modifier with its hire, and whether it is in one's own kit."""
        found = [(one.item, _hire(one), True) for one in self.own if isinstance(one.item, Modifier)]
        mine = {item.name for item, _, _ in found}
        found += [
            (one, Hire(one.day_rate, _no_rate(one.day_rate)), False)
            for one in list_items("modifier")
            if isinstance(one, Modifier) and one.name not in mine
        ]
        return found


def shelf_of(start: Start) -> Shelf:
    """What there is to take for a scene."""
    named = start.document.own_kit
    if named is None:
        return Shelf(())
    try:
        kit = read_own_kit(Path(start.document.path).parent / named)
    except (FalloffError, OSError):
        return Shelf(())
    return Shelf(kit.items)


def _hire(one: OwnedItem) -> Hire:
    if one.owned:
        return Hire(0.0, "your own")
    return Hire(one.day_rate, _no_rate(one.day_rate))


def _no_rate(rate: float | None) -> str:
    return "for hire, its day rate is not in the kit" if rate is None else "for hire"


def swap_candidates(start: Start) -> list[Candidate]:
    """Another unit in the place of each light that matters."""
    shelf, found = shelf_of(start), list[Candidate]()
    for name, fixture in start.document.fixtures.items():
        if name not in start.source_names:
            continue
        s = start.index(name)
        lever = start.problem.levers[s]
        full = not lever.free or start.answer.shares[s] >= _AT_END * lever.highest
        wants = full and start.more_at_full[s] > _LEAST
        if isinstance(fixture.light, KitLight) and fixture.output is None:
            found += _of_kit(start, name, shelf, wants=wants)
        elif wants and fixture.output is not None and type(fixture.light) in _FORMS:
            found += _stronger(start, name, shelf)
    return found


# A plain form ----------------------------------------------------------------------------


def _stronger(start: Start, name: str, shelf: Shelf) -> list[Candidate]:
    """The same front with more output, with the smallest head that gives it."""
    fixture, found = start.document.fixtures[name], list[Candidate]()
    assert fixture.output is not None
    needed = _times_needed(start, start.index(name))
    times = [one for one in _TIMES if one >= needed] or [_TIMES[-1]]
    for k, factor in enumerate(dict.fromkeys((times[0], *times[1:2], 2.0))):
        lumens = factor * fixture.output.si
        head = _smallest(shelf, type(fixture.light), lumens)
        such = "" if head is None else f", such as the {head[0].name}"
        draws = ""
        edits: list[Edit] = [
            put_or_add(start.case.document, ("fixtures", name), "output", f"{lumens:.0f} lm")
        ]
        watts = None
        if head is not None and fixture.power is not None:
            watts = head[0].power_w
            draws = f", which draws {watts:g} W"
            edits.append(
                put_or_add(start.case.document, ("fixtures", name), "power", f"{watts:g} W")
            )
        more = None if watts is None or fixture.power is None else watts - fixture.power.si
        found.append(
            Candidate(
                kind="swap",
                says=f"a unit {factor:g} times as strong for {name}{such}",
                does=(f"{name}: the same front with {lumens:.0f} lm{such}{draws}",),
                edits=tuple(edits),
                trial=_scaled(start, name, factor),
                effort=SWAP_BIG if lumens > _BIG_LM else SWAP_HEAD,
                hire=Hire() if head is None else head[1],
                cautions=(
                    "a stronger head is hotter: cloth and gel farther from it",
                    *power_cautions(start, fixture, name, watts=more),
                ),
                rank=float(start.more_at_full[start.index(name)]) - 0.1 * k,
                size=factor,
            )
        )
    return found


def _scaled(start: Start, name: str, factor: float) -> Callable[[], Problem | None]:
    return lambda: scaled(start, {name: factor})


def _times_needed(start: Start, s: int) -> float:
    """How many times its light would bring in what is short, were nothing else changed."""
    most = 1.0
    for t, need in enumerate(start.needs):
        parts = start.parts(t)
        total = np.maximum(parts.sum(0), 1e-12)
        table = start.problem.tables[t]
        for name, target in table.targets.items():
            one = start.judged.get((table.setup, name))
            if one is None or one.holds or one.off is None or one.unit != "stops":
                continue
            reading = getattr(target, "reading", "")
            for point in table.points.get(reading, (reading,)):
                if one.off >= 0.0 or point not in table.readings:
                    continue
                k = table.index(point)
                share = float(parts[s, k] / total[k])
                if need[k] > 0.0 and share > _LEAST:
                    most = max(most, 1.0 + (2.0**-one.off - 1.0) / share)
    return most


def _smallest(shelf: Shelf, form: type, lumens: float) -> tuple[Head, Hire] | None:
    """The smallest head that gives so much from such a front; one's own before another."""
    passes = 1.0
    if form in _SOFT_WITH:
        box = find_item(_SOFT_WITH[form])
        assert isinstance(box, Modifier)
        passes = box.beams[0].passes_share
    able = [
        (not own, item.power_w, item.name, item, hire)
        for item, hire, own in shelf.heads()
        if item.form in _FORMS[form] and _gives_lm(item, soft=form in _SOFT_WITH) * passes >= lumens
    ]
    if not able:
        return None
    _, _, _, item, hire = min(able, key=lambda one: one[:3])
    return item, hire


def _gives_lm(item: Head, *, soft: bool) -> float:
    return item.flux_lm if soft else max(one.flux_lm for one in item.beams)


# Of the kit ------------------------------------------------------------------------------


def _of_kit(start: Start, name: str, shelf: Shelf, *, wants: bool) -> list[Candidate]:
    fixture = start.document.fixtures[name]
    light = fixture.light
    assert isinstance(light, KitLight)
    try:
        item, modifiers = kit_items(start.placer, ("fixtures", name), light)
    except FalloffError:
        return []
    found = [] if not wants else _stronger_heads(start, name, item, shelf)
    wanted = _modifiers(start, name, item, modifiers, shelf, wants=wants)
    path = ("fixtures", name, "modifier")
    for added, hire, words, rank in wanted:
        told = ", ".join(quoted(one.name) for one in added)
        edit: Edit
        if start.case.document.seen.has(path):
            edit = Rewrite(path, f"[{told}]")
        else:
            edit = Add(path, f"[{told}]")
        found.append(
            Candidate(
                kind="swap",
                says=f"{words} on {name}",
                does=(f"{name}: {item.name} with {' and '.join(one.name for one in added)}",),
                edits=(edit,),
                trial=_front_trial(start, name, (edit,)),
                effort=SWAP_MODIFIER,
                hire=hire,
                cautions=("a soft box on a hot head needs its vents free",),
                rank=rank,
                traced=True,
            )
        )
    return found


def _stronger_heads(start: Start, name: str, item: Head, shelf: Shelf) -> list[Candidate]:
    """The next stronger heads of the same form and family: that which suffices, and the next."""
    fixture, found = start.document.fixtures[name], list[Candidate]()
    light = fixture.light
    assert isinstance(light, KitLight)
    beam = light.beam if isinstance(light.beam, str) else ""
    try:
        axis = find_beam(item, beam).axis_cd
    except FalloffError:
        return []
    able = []
    for other, hire, own in shelf.heads():
        if other.form != item.form or other.family != item.family or other.name == item.name:
            continue
        names = {one.name for one in other.beams}
        if beam and beam not in names:
            continue
        if not _mounted(light, item, shelf) <= {*other.accepts}:
            continue
        gain = find_beam(other, beam).axis_cd / axis
        if gain > 2.0**_GAIN_STOPS:
            able.append((not own, gain, other, hire))
    needed = _times_needed(start, start.index(name))
    able.sort(key=lambda one: (one[1] < 0.9 * needed, one[0], one[1]))
    for k, (_, gain, other, hire) in enumerate(able[:2]):
        edits = (Put(("fixtures", name, "kit"), other.name),)
        found.append(
            Candidate(
                kind="swap",
                says=f"the {other.name} for {name}, {math.log2(gain):.1f} stops more",
                does=(f"{name}: {other.name} in place of {item.name}",),
                edits=edits,
                trial=_front_trial(start, name, edits),
                effort=SWAP_BIG if other.weight_kg > 15.0 else SWAP_HEAD,
                hire=hire,
                cautions=(
                    "a stronger head is hotter and heavier: cloth farther from it, a fit stand",
                    *power_cautions(start, fixture, name, watts=other.power_w - item.power_w),
                ),
                rank=float(start.more_at_full[start.index(name)]) - 0.1 * k,
                traced=True,
                size=gain,
            )
        )
    return found


def _mounted(light: KitLight, item: Head, shelf: Shelf) -> set[str]:
    """The mounts of a head that its modifiers are on."""
    by_name = {one.name: one for one, _, _ in shelf.modifiers()}
    return {by_name[one].mount for one in light.modifier if one in by_name} & {*item.accepts}


def _modifiers(
    start: Start,
    name: str,
    item: Head,
    now: tuple[Modifier, ...],
    shelf: Shelf,
    *,
    wants: bool,
) -> list[tuple[tuple[Modifier, ...], Hire, str, float]]:
    """Modifiers that fit: of those that cost less the likeliest, or a crate against spill."""
    light = start.document.fixtures[name].light
    assert isinstance(light, KitLight)
    beam = light.beam if isinstance(light.beam, str) else ""
    found: list[tuple[tuple[Modifier, ...], Hire, str, float]] = []
    s = start.index(name)
    try:
        cost = modifier_cost(item, *now, beam=beam).total_stops if now else 0.0
    except FalloffError:
        return []
    fits = {*item.accepts}
    if wants:
        ways = []
        for one, hire, own in shelf.modifiers():
            if one.mount not in fits or one in now or one.form in _SPILL:
                continue
            try:
                gain = float(cost - modifier_cost(item, one, beam=beam).total_stops)
            except FalloffError:
                continue
            if gain > _GAIN_STOPS:
                ways.append((not own, -gain, one, hire))
        ways.sort(key=lambda one: one[:2])
        for k, (_, gain, one, hire) in enumerate(ways[:_MOST_MODIFIERS]):
            words = f"{one.name}, {-gain:.1f} stops more on the axis,"
            found.append(((one,), hire, words, float(start.more_at_full[s]) - 0.1 * k))
    soft = any(one.form == "soft box" for one in now) or not now
    if start.less[s] > _LEAST and soft and light.crate is None:
        crates = [
            (not own, one.name, one, hire)
            for one, hire, own in shelf.modifiers()
            if one.form in _SPILL and one.cutoff_rad and _on_front(one, item, now)
        ]
        for _, _, one, hire in sorted(crates, key=lambda way: way[:2])[:1]:
            found.append(((*now, one), hire, one.name, float(start.less[s])))
    return found


def _on_front(crate: Modifier, item: Head, now: tuple[Modifier, ...]) -> bool:
    """Whether an egg crate goes before what shines: a soft box, or a panel."""
    if now:
        return "fabric" in crate.name
    return crate.mount in item.accepts


def _front_trial(start: Start, name: str, edits: tuple[Edit, ...]) -> Callable[[], Problem | None]:
    """Another front in the same place; the old body stays until the trace."""

    def trial() -> Problem | None:
        standing = standing_after(start, edits, name)
        if standing is None:
            return None
        source = next((one for one in standing.stage.sources if one.name == name), None)
        return None if source is None else with_row(start, name, light_of_front(start, source))

    return trial
