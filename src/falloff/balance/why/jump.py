"""A face that jumps from one setup to another: what differs, source by source, in stops."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from falloff.balance.why.causes import TOLD_STOPS, leader_of
from falloff.balance.why.cures import Wanted, cheapest
from falloff.balance.why.light import Given, Lit, Measure, Weigh, as_it_is, factor_for, scaled
from falloff.balance.why.places import background, behind_text
from falloff.balance.why.records import Cause, Why
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.words import Telling, amount, per_cent, sentence
from falloff.balance.words import listed
from falloff.camera import CameraSettings, key_illuminance_lux
from falloff.document import SceneDocument
from falloff.units import density_from_stops

SEEN_STOPS: Final = 1.0 / 3.0  # that a cut shows: common practice, no source
_WIDE: Final = ("wide", "master", "long", "two-shot")
_SECTIONS: Final = ("props", "subjects", "fixtures", "practicals", "grip")
_TOLD: Final = 3
_WORTH_STOPS: Final = 1.0 / 6.0
_MOST: Final = 8
_LEAST_SHARE: Final = 0.01  # of a light, under which nobody dims it
_OTHERWISE: Final = "falls otherwise"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that a cut shows: in stops, after over before; over, under: of either setup."""

    what: str
    brief: str
    before: Measure
    after: Measure

    @property
    def stops(self) -> float:
        """How far it jumps."""
        return self.after.stops() - self.before.stops()

    def weighed(self, weigh: Weigh) -> float:
        """How far it would jump with the second setup's light weighed anew."""
        return self.after.stops(weigh) - self.before.stops()

    def with_before(self, source: str) -> float:
        """How far it would jump if one source gave what it gave before."""
        old = {lit.name: lit for lit in self.before.places}
        over, under = (
            tuple(_as_before(lit, old.get(lit.name), source) for lit in part)
            for part in (self.after.over, self.after.under)
        )
        return Measure(over, under).stops() - self.before.stops()


def widest(setups: Sequence[str]) -> str:
    """The setup that others are held against: one that is called wide, or the first of all."""
    wide = (one for one in setups if any(word in one.casefold() for word in _WIDE))
    return next(wide, setups[0])


def why_jumps(first: TracedSetup, second: TracedSetup, person: str) -> Why:
    """Why a face does not cut from one setup to another, with every difference in stops."""
    changes = [one for one in _changes(first, second, person) if math.isfinite(one.stops)]
    complaint = f"{person}'s face jumps from {first.setup.name} to {second.setup.name}"
    if not changes:
        dark = f"{person} has no light in one of the two setups: nothing to compare"
        return Why(complaint=complaint, setup=second.setup.name, says=(sentence(dark),))
    worst = max(changes, key=lambda one: abs(one.stops))
    off = max(0.0, abs(worst.stops) - SEEN_STOPS)
    causes = _causes(first, second, changes, person)
    seen = [_told(one) for one in changes]
    head = (
        f"From {first.setup.name} to {second.setup.name} {person} "
        f"{'jumps' if off else 'holds'}: {listed(seen)}"
    )
    says = [sentence(head)]
    says += [sentence(one.says) for one in causes[:_TOLD] if (one.stops or 0.0) >= _WORTH_STOPS]
    differs = _differs(first.document, second.document)
    if differs:
        says.append(sentence(f"besides the lights, {differs}"))
    cure, gain = _cure(first, second, changes, person) if off else (None, None)
    if cure:
        says.append(f"Cheapest: {cure}.")
    elif off:
        says.append("None of the usual cures does it.")
    return Why(
        complaint=complaint, setup=second.setup.name, says=tuple(says), causes=tuple(causes),
        stops=worst.stops, wanted_stops=0.0, off_stops=off, cure=cure, cure_stops=gain,
    )  # fmt: skip


def _changes(first: TracedSetup, second: TracedSetup, person: str) -> list[Change]:
    """Key side, contrast, and what is behind over the face."""
    both = (first, second)
    keys = [one.place(f"{person}.cheek_key") for one in both]
    shadows = [one.place(f"{person}.cheek_shadow") for one in both]
    found = []
    if all(lit.light > 0.0 for lit in keys):
        found.append(Change("the key side", "key", Measure((keys[0],)), Measure((keys[1],))))
        if all(lit.light > 0.0 for lit in shadows):
            pairs = [Measure((b,), (a,)) for a, b in zip(keys, shadows, strict=True)]
            found.append(Change("the shadow side against it", "ratio", *pairs))
        behind = [background(one, person) for one in both]
        if all(behind) and all(lit.light > 0.0 for lits in behind for lit in lits):
            faces = [one.in_picture(lit) for one, lit in zip(both, keys, strict=True)]
            pairs = [Measure(lits, (face,)) for lits, face in zip(behind, faces, strict=True)]
            found.append(Change("what is behind against the face", "background", *pairs))
    return found


def _told(one: Change) -> str:
    if abs(one.stops) < 1.0 / 6.0:
        return f"{one.what} stays"
    return f"{one.what} {'rises' if one.stops > 0.0 else 'falls'} {amount(one.stops)}"


def _causes(
    first: TracedSetup, second: TracedSetup, changes: list[Change], person: str
) -> list[Cause]:
    """Each difference with its stops, the largest first."""
    found: list[Cause] = []
    exposure = _exposure_stops(first, second)
    if abs(exposure) >= TOLD_STOPS:
        side = "less" if exposure < 0.0 else "more"
        says = (
            f"the camera exposes {amount(exposure)} {side} "
            f"({_settings_text(first.setup.settings, second.setup.settings)})"
        )
        found.append(Cause(says=says, brief="exposure", stops=abs(exposure)))
    places = [behind_text(one, person) for one in (first, second)]
    for change in changes:
        sources = dict.fromkeys((*change.before.sources, *change.after.sources))
        for source in sources:
            part = change.stops - change.with_before(source)
            if abs(part) < TOLD_STOPS or not math.isfinite(part):
                continue
            side = "up" if part > 0.0 else "down"
            why = _reason(first, second, source)
            if change.brief == "background" and why.endswith(_OTHERWISE):
                there = places[1] if places[0] != places[1] else f"that part of {places[1]}"
                why = f"{source} lights {there} {'more' if part > 0.0 else 'less'}"
            says = f"{why}: {change.what} goes {side} {amount(part)}"
            brief = why if why.startswith(f"{source} lights ") else f"{why}, {change.brief}"
            found.append(Cause(says=says, brief=brief, stops=abs(part), source=source))
        other = change.brief == "background" and places[0] != places[1]
        if other and abs(change.stops) >= TOLD_STOPS:
            says = f"behind the face is {places[1]}, in {first.setup.name} {places[0]}"
            brief = "another background"
            found.append(Cause(says=says, brief=brief, stops=abs(change.stops), surface=places[1]))
    found.sort(key=lambda one: -(one.stops or 0.0))
    return found[:_MOST]


def _exposure_stops(first: TracedSetup, second: TracedSetup) -> float:
    """Stops by which the second camera's settings alone make a face lighter."""
    return math.log2(
        key_illuminance_lux(first.setup.settings) / key_illuminance_lux(second.setup.settings)
    )


def _settings_text(before: CameraSettings, after: CameraSettings) -> str:
    """What of the exposure is set otherwise."""
    words: dict[str, Callable[[CameraSettings], str]] = {
        "t_number": lambda one: f"T{one.t_number:.2g}",
        "iso": lambda one: f"ISO {one.iso:g}",
        "exposure_time_s": lambda one: f"1/{1.0 / one.exposure_time_s:.0f} s",
        "nd_stops": lambda one: f"ND {density_from_stops(one.nd_stops):.1f}",
        "meter_constant_c": lambda one: f"C = {one.meter_constant_c:g}",
    }
    return ", ".join(
        f"{told(before)} to {told(after)}"
        for name, told in words.items()
        if getattr(before, name) != getattr(after, name)
    )


def _reason(first: TracedSetup, second: TracedSetup, source: str) -> str:
    """What is otherwise with a source: gone, new, dimmed, moved, or what it bounces off."""
    if source not in second.layers.names:
        return f"{source} is not there"
    if source not in first.layers.names:
        return f"{source} is new"
    knobs = first.setup.knob(source), second.setup.knob(source)
    said = []
    if abs(knobs[0] - knobs[1]) > 1e-3:
        said.append(f"from {per_cent(knobs[0])} to {per_cent(knobs[1])}")
    for section in ("fixtures", "practicals"):
        old, new = (getattr(one.document, section).get(source) for one in (first, second))
        if old is not None and new is not None and (old.at, old.aim) != (new.at, new.aim):
            said.append("moved")
    return f"{source} {' and '.join(said)}" if said else f"{source} {_OTHERWISE}"


def _differs(before: SceneDocument, after: SceneDocument) -> str:
    """Things that stand elsewhere or are not there, lights apart."""
    gone, new, moved = [], [], []
    for section in _SECTIONS:
        old, now = getattr(before, section), getattr(after, section)
        if section in ("fixtures", "practicals"):
            continue
        gone += [name for name in old if name not in now]
        new += [name for name in now if name not in old]
        moved += [
            name
            for name in old
            if name in now
            and (old[name].at != now[name].at or _turn(old[name]) != _turn(now[name]))
        ]
    parts = [f"{listed(moved)} moved"] if moved else []
    parts += [f"{listed(gone)} gone"] if gone else []
    parts += [f"{listed(new)} new"] if new else []
    return listed(parts)


def _turn(thing: object) -> object:
    return (
        getattr(thing, "turn", None), getattr(thing, "facing", None), getattr(thing, "aim", None)
    )  # fmt: skip


def _cure(
    first: TracedSetup, second: TracedSetup, changes: Sequence[Change], person: str
) -> tuple[str | None, float | None]:
    """The dim that does most; else, of a face that is off alone, the exposure."""
    worst = max(changes, key=lambda one: abs(one.stops))
    dim = _dim(first, second, changes)
    if dim is not None:
        return dim
    if worst.what == "the key side":
        side = "less" if worst.stops > 0.0 else "more"
        return f"expose {second.setup.name} {amount(worst.stops)} {side}", abs(worst.stops)
    face = second.place(f"{person}.cheek_key")
    about = "what is behind" if worst.brief == "background" else "the shadow side"
    reference = "the face" if worst.brief == "background" else "the key side"
    in_the_way = () if worst.stops > 0.0 else worst.after.over
    cure = cheapest(
        Wanted(
            worst.after, Telling(about, reference, place=about), worst.before.stops(),
            worst.stops > 0.0, second.handles, second.known(leader_of(face), *in_the_way), face,
        )
    )  # fmt: skip
    return (None, None) if cure is None else (cure.says, cure.stops)


def _dim(
    first: TracedSetup, second: TracedSetup, changes: Sequence[Change]
) -> tuple[str, float] | None:
    """The dim of a light that was dimmed or moved which leaves the least jump; None: none helps.

    Looked for where one of the changes is at nought, so that what is told does not jump anew.
    """
    best: tuple[float, str] | None = None
    now = _left(changes)
    for source in dict.fromkeys(name for one in changes for name in one.after.sources):
        handle = second.handles.get(source)
        reason = _reason(first, second, source)
        if handle is None or handle.kind != "light" or reason.endswith((_OTHERWISE, "is new")):
            continue
        most = 1.0 / handle.share if handle.share > 0.0 else 1.0
        for change in changes:
            factor = factor_for(change.after, source, change.before.stops(), most=most)
            if factor is None or factor * handle.share < _LEAST_SHARE:
                continue
            left = _left(changes, scaled(source, factor))
            if best is None or left < best[0] - 1e-6:
                best = left, _dim_text(first, second, (source, factor), change)
    if best is None or now - best[0] < _WORTH_STOPS:
        return None
    return best[1], now - best[0]


def _left(changes: Sequence[Change], weigh: Weigh = as_it_is) -> float:
    """The most that jumps still (stops), and the key side: nothing else matches with that off."""
    stops = {one.brief: abs(one.weighed(weigh)) for one in changes}
    return 0.5 * (max(stops.values()) + stops.get("key", 0.0))


def _dim_text(
    first: TracedSetup, second: TracedSetup, dim: tuple[str, float], change: Change
) -> str:
    """A dim, the light and the factor on it, and what it brings to nought."""
    source, factor = dim
    handle = second.handles[source]
    before, after = handle.knob(handle.share), handle.knob(handle.share * factor)
    if after == per_cent(first.setup.knob(source)):
        return f"set {source} to {after}, as in {first.setup.name}: {change.what} stays"
    verb = "bring up" if factor > 1.0 else "dim"
    return f"{verb} {source} from {before} to {after}: {change.what} stays"


def _as_before(lit: Lit, old: Lit | None, source: str) -> Lit:
    """A place as it would be with one source's light as it was."""
    if old is None:
        return lit
    rest = tuple(one for one in lit.given if one.source != source)
    was: Given = old.of(source)
    return Lit(lit.name, (*rest, was), lit.reference, lit.unit)
