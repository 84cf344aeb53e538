"""Complaints answered from readings with lights on and off alone: no plan, nothing traced."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

from falloff.balance.why.answers import Limit, Question, aim_of, answer, cautions
from falloff.balance.why.causes import Known, leader_of, shares_text
from falloff.balance.why.complaints import Complaint, same_name, unknown
from falloff.balance.why.cures import Cure, Handle, eye_light_lux, fill
from falloff.balance.why.eyes import EYES_STOPS, eye_light_cure
from falloff.balance.why.given import AMBIENT, REST, OnOff, shares_given
from falloff.balance.why.light import Lit, Measure
from falloff.balance.why.plan import (
    FLAT_STOPS,
    HARSH_STOPS,
    SHADOW_STOPS,
    VIEW_OVER_FACE_STOPS,
)
from falloff.balance.why.records import Why, Whys
from falloff.balance.why.words import Telling, sentence, the_name
from falloff.balance.words import listed
from falloff.camera import CameraSettings, key_illuminance_lux, mid_grey_luminance_nit
from falloff.errors import DocumentError, Fault
from falloff.units import format_illuminance

Role: TypeAlias = Literal["key", "shadow", "wall", "view", "eyes", "brow"]

_ROLES: Final[tuple[tuple[Role, str], ...]] = (
    ("shadow", r"shadow|fill side|dark side|far cheek"),
    ("eyes", r"\beyes?\b|sockets?"),
    ("brow", r"forehead|brow"),
    ("view", r"window|view|outside"),
    ("wall", r"wall|background|backdrop|behind"),
    ("key", r"key|face|cheek|subject"),
)
_WINDOWS: Final = r"window|daylight|sky|skylight"
_SETUP: Final = "as metered"
_MARK_OVER_FACE: Final = "level with the face, where a wall takes the eye"


@dataclass(frozen=True, slots=True)
class Metered:
    """Places metered with lights on and off, by name, in the order given; camera: None if unsaid.

    notes: what was taken for granted while adding up; units: that levels are told in.
    """

    lits: Mapping[str, Lit]
    camera: CameraSettings | None
    notes: tuple[str, ...] = ()
    units: Literal["metric", "imperial"] = "metric"

    def role(self, role: Role) -> Lit | None:
        """The first place that plays a part."""
        return next((lit for name, lit in self.lits.items() if role_of(name) == role), None)


def role_of(name: str) -> Role | None:
    """What part of a picture a place is, by its name; None where that is not told."""
    return next((role for role, words in _ROLES if re.search(words, name, re.IGNORECASE)), None)


def metered(readings: Sequence[OnOff], camera: CameraSettings | None) -> Metered:
    """Shares of every place; raises every fault of readings that do not add up, together."""
    units = list(dict.fromkeys(unit for one in readings for unit in one.units))
    lits: dict[str, Lit] = {}
    notes: list[str] = []
    faults: list[Fault] = []
    for one in readings:
        try:
            shares = shares_given(one, units, reference=_reference(one, camera))
        except DocumentError as error:
            faults += error.faults
            continue
        lits[one.name] = shares.lit
        notes += shares.notes
    if faults:
        raise DocumentError(*faults)
    feet = any(one.unit_told == "fc" for one in readings)
    found = Metered(lits, camera, (*_assumed(readings), *notes), "imperial" if feet else "metric")
    return found if camera is not None else _against_key(found)


def _assumed(readings: Sequence[OnOff]) -> list[str]:
    """Where numbers were written without a unit, the unit that they were taken in."""
    by_unit: dict[str, list[str]] = {}
    for one in readings:
        if one.assumed:
            by_unit.setdefault(one.unit_told, []).append(one.name)
    if sum(map(len, by_unit.values())) == len(readings) > 1 and len(by_unit) == 1:
        return [f"levels without a unit are taken in that of their line, {next(iter(by_unit))}"]
    return [
        f"levels of {listed(names)} without a unit are taken in that of their line, {unit}"
        for unit, names in by_unit.items()
    ]


def _reference(one: OnOff, camera: CameraSettings | None) -> float:
    """The light that is nought stops by the camera; without one, a unit of light."""
    if camera is None:
        return 1.0
    if one.unit == "lx":
        return float(key_illuminance_lux(camera))
    return float(mid_grey_luminance_nit(camera))


def _against_key(found: Metered) -> Metered:
    """Without a camera, light is told against the key side of the face, where that was metered."""
    key = found.role("key")
    if key is None or key.light <= 0.0:
        return found
    lits = {
        name: replace(lit, reference=key.light) if lit.unit == key.unit else lit
        for name, lit in found.lits.items()
    }
    return replace(found, lits=lits)


def why_onoff(found: Metered, complaint: Complaint | None) -> Whys:
    """What is wrong by the readings, or why one thing is as it is complained of."""
    asked = complaint is not None
    questions = [_question(found, complaint)] if complaint else _every_question(found)
    whys = [answer(one) for one in questions]
    whys.sort(key=lambda one: -one.off_stops)
    says = [sentence(note) for note in found.notes]
    if not asked:
        says = [*_shares(found), *says]
        if not whys:
            says.append("Name the places key cheek, shadow cheek, back wall, window or eyes.")
    return Whys(
        scene="readings",
        whys=tuple(whys),
        says=tuple(says),
        asked=asked,
        findings=cautions(whys),
    )


def _shares(found: Metered) -> list[str]:
    """Who gives each place its light."""
    return [
        sentence(f"{name}: {shares_text(lit, most=5)}")
        for name, lit in found.lits.items()
        if lit.light > 0.0
    ]


def _question(found: Metered, complaint: Complaint) -> Question:
    match complaint.kind:
        case "flat" | "harsh":
            return _flat(found, high=complaint.kind == "flat")
        case "eyes":
            return _eyes(found)
        case "beam" | "jump":
            what = (
                "whether a beam lands is a matter of distances"
                if complaint.kind == "beam"
                else "a jump is told between two setups"
            )
            raise DocumentError(
                Fault(what=what, where="why", expected="a scene file",
                      fix="falloff why SCENE, with the same complaint")
            )  # fmt: skip
        case _:
            return _level(found, complaint)


def _every_question(found: Metered) -> list[Question]:
    """All that can be asked of the places that were metered."""
    asked: list[Question] = []
    if found.role("key") is not None and found.role("shadow") is not None:
        asked.append(_flat(found, high=True))
    if found.role("eyes") is not None and (found.role("brow") or found.role("key")):
        asked.append(_eyes(found))
    for name in found.lits:
        can = found.camera is not None or _alike(found, name)
        if role_of(name) in ("wall", "view") and can:
            asked.append(_level(found, Complaint("bright", name)))
    return asked


def _alike(found: Metered, name: str) -> bool:
    key = found.role("key")
    return key is not None and key.unit == found.lits[name].unit


def _need(found: Metered, role: Role, words: str) -> Lit:
    lit = found.role(role)
    if lit is None:
        raise DocumentError(
            Fault(
                what=f"there is no reading of {words}", where="readings",
                expected=f"one that is called {words}", found=", ".join(found.lits) or "none",
                fix=f"--read '{words}: all 320 lx, BOOK 210, ambient 60'",
            )
        )  # fmt: skip
    return lit


def _flat(found: Metered, *, high: bool) -> Question:
    """The shadow side over the key side."""
    key = _need(found, "key", "the key cheek")
    shadow = _need(found, "shadow", "the shadow cheek")
    _same_unit(key, shadow)
    limit = (
        Limit(FLAT_STOPS, "2:1, where a face begins to look flat")
        if high
        else Limit(HARSH_STOPS, "the 4:1 of a shaped face")
    )
    measure = Measure((shadow,), (key,))
    telling = Telling("the shadow side", "the key side", place="the shadow side")
    cures: tuple[Cure, ...] = ()
    if not high and not measure.dark:
        aim = aim_of(measure.stops(), limit.stops, high=False)
        cures = fill(measure, telling, min(0.0, aim), units=found.units)
    return Question(
        complaint=f"face {'flat' if high else 'contrasty'}",
        setup=_SETUP,
        measure=measure,
        telling=telling,
        high=high,
        limit=limit,
        known=Known(lead=leader_of(key)),
        handles=_handles(found),
        face=key,
        cures=cures,
    )


def _eyes(found: Metered) -> Question:
    """The eyes over the brow, or over the key side where that was not metered."""
    eyes = _need(found, "eyes", "the eyes")
    brow = found.role("brow") or _need(found, "key", "the forehead")
    _same_unit(eyes, brow)
    measure = Measure((eyes,), (brow,))
    telling = Telling("the eyes", the_name(brow.name), plural=True)
    cures: tuple[Cure, ...] = ()
    if not measure.dark and measure.stops() < EYES_STOPS and eyes.unit == "lx":
        lux = eye_light_lux(measure, EYES_STOPS)
        cures = (eye_light_cure(measure, telling, format_illuminance(lux, units=found.units)),)
    return Question(
        complaint="eyes dark",
        setup=_SETUP,
        measure=measure,
        telling=telling,
        cures=cures,
        high=False,
        limit=Limit(EYES_STOPS, "the stop under the brow that eyes can bear"),
        known=Known(lead=leader_of(brow)),
        handles=_handles(found),
        face=found.role("key") or brow,
    )


def _level(found: Metered, complaint: Complaint) -> Question:
    """A place that is too bright or too dark, against the face or against key."""
    high = complaint.kind == "bright"
    lit = _place(found, complaint.about)
    face = found.role("key")
    role = role_of(lit.name)
    about, name = the_name(lit.name), f"{lit.name} too {'bright' if high else 'dark'}"
    measure, reference = Measure((lit,)), "key" if lit.unit == "lx" else "middle grey"
    can = face is not None and (face.unit == lit.unit or found.camera is not None)
    if found.camera is None and (not can or face is lit):
        raise DocumentError(
            Fault(
                what=f"{lit.name} is told against nothing", where="readings",
                expected="the camera's exposure, or a reading of the key cheek in the same unit",
                fix="add --camera 'T2.8, ISO 800, 180 deg'",
            )
        )  # fmt: skip
    if high and role in ("wall", "view") and face is not None:
        measure, reference = Measure((lit,), (face,)), "the face"
        limit = Limit(0.0, _MARK_OVER_FACE)
        if role == "view":
            limit = Limit(VIEW_OVER_FACE_STOPS, "the 3 over a face that still look natural")
    else:
        reference = reference if found.camera is not None else "the key side"
        limit = Limit(0.0, reference)
        if not high and role != "key":
            limit = Limit(SHADOW_STOPS, f"2 under {reference}")
    return Question(
        complaint=name,
        setup=_SETUP,
        measure=measure,
        telling=Telling(about, reference, place=about),
        high=high,
        limit=limit,
        known=Known(lead=None if face is None or not measure.under else leader_of(face)),
        handles=_handles(found),
        face=None if face is lit else face,
        face_room_stops=_room_stops(found, face) if measure.under else math.inf,
    )


def _room_stops(found: Metered, face: Lit | None) -> float:
    """How far a face is under key; without a camera nobody knows."""
    if face is None or found.camera is None:
        return math.inf
    return max(0.0, -Measure((face,)).stops())


def _handles(found: Metered) -> dict[str, Handle]:
    """What can be done with what was metered: units dim, windows take gel, ambient stays."""
    names = {one.source for lit in found.lits.values() for one in lit.given}
    return {name: _handle(name) for name in names}


def _handle(name: str) -> Handle:
    if name in (AMBIENT, REST):
        return Handle("fixed")
    if re.search(_WINDOWS, name, re.IGNORECASE):
        return Handle("window")
    return Handle("light", of=" of its light now")


def _place(found: Metered, about: str) -> Lit:
    """The place that is meant, by its name or by its part in the picture."""
    for name, lit in found.lits.items():
        if same_name(name, about):
            return lit
    role = role_of(about)
    near = [lit for name, lit in found.lits.items() if about.casefold() in name.casefold()]
    if len(near) == 1:
        return near[0]
    meant = found.role(role) if role else None
    if meant is None:
        raise unknown("reading", about, found.lits, where="readings")
    return meant


def _same_unit(one: Lit, other: Lit) -> None:
    if one.unit != other.unit:
        raise DocumentError(
            Fault(
                what=f"{one.name} and {other.name} were metered in different ways",
                where="readings", expected="both in lx, or both by spot meter on the same skin",
                found=f"{one.unit} and {other.unit}",
            )
        )  # fmt: skip


def whys_by_worst(whys: Sequence[Why]) -> tuple[Why, ...]:
    """The worst first, the order kept among those that are alike."""
    return tuple(sorted(whys, key=lambda one: -one.off_stops))
