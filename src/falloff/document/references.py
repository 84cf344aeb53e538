"""Names that refer to something: each must exist."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Final

from falloff.document.cursor import Wanted, listed, nearest_fix
from falloff.document.draft import Draft
from falloff.document.known import KnownNames
from falloff.document.records import SUBJECT_PLACES, Sky
from falloff.document.sections import MOVABLE_SECTIONS, OPEN_AIR, PLACED_SECTIONS, SUN
from falloff.document.sky_section import has_sun

# Kinds of names of the catalogue: as told, the document's own section of them, the catalogue's.
_CATALOGUED: Final[
    Mapping[str, tuple[str, str, Callable[[KnownNames], Collection[str] | None]]]
] = {
    "material": ("material", "materials", lambda known: known.materials),
    "figure": ("figure", "", lambda known: known.figures),
    "profile": ("beam profile", "profiles", lambda known: known.profiles),
    "hair style": ("hair style", "", lambda known: known.hair_styles),
    "head covering": ("covering of the head", "", lambda known: known.coverings),
    "skin": ("word for skin", "", lambda known: known.skins),
}
# Kinds of names of the document: what they are called, and their sections.
_LISTED: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "prop": ("prop", ("props",)),
    "opening": ("opening", ("openings",)),
    "camera": ("camera", ("cameras",)),
    "light": ("light", ("fixtures", "practicals")),
    "source": ("source", ("openings", "fixtures", "practicals")),
    "reading": ("reading", ("readings",)),
    "setup": ("setup", ("setups",)),
    "room": ("room", ("rooms",)),
    "beyond": ("room", ("rooms",)),
    "movable": ("prop, subject, light or grip", MOVABLE_SECTIONS),
}


def check_references(draft: Draft) -> None:
    """Record a fault for each name that is not there, with the nearest that is."""
    for wanted in draft.gathered.wanted:
        if wanted.kind == "named":
            _check_named(draft, wanted)
        elif wanted.kind in _CATALOGUED:
            _check_catalogued(draft, wanted)
        elif wanted.kind == "circuit":
            _check_circuit(draft, wanted)
        else:
            _check_listed(draft, wanted)
    no_cameras = not draft.names["cameras"] and "cameras" not in draft.unread
    if draft.names["setups"] and no_cameras:
        draft.fault(("setups",), "a setup needs a camera", fix="add `cameras:` with one camera")


def _check_named(draft: Draft, wanted: Wanted) -> None:
    """Something placed, and a place on it where one is named."""
    placed, name, place = draft.placed(), wanted.name, wanted.place
    if name not in placed:
        if draft.unread.isdisjoint(PLACED_SECTIONS):
            wanted.cursor.fault(f"nothing is named {name!r}", fix=_choose(name, placed))
    elif _is_itself(wanted):
        fix = "name something else, or write a point or an angle"
        wanted.cursor.fault(f"{name} refers to itself", fix=fix)
    elif place is not None and placed[name] != "subjects":
        if name in draft.names["subjects"]:
            return  # two things have that name, which is told by itself
        what = f"{name} has no places such as {place!r}: only subjects do"
        wanted.cursor.fault(what, fix=f"write {name} alone, or a point")
    elif place is not None and place not in SUBJECT_PLACES:
        fix = _choose(place, SUBJECT_PLACES)
        wanted.cursor.fault(f"{name} has no place {place!r}", fix=fix)


def _check_catalogued(draft: Draft, wanted: Wanted) -> None:
    """A name from the document's own or from the catalogue, where that is known."""
    what, section, names = _CATALOGUED[wanted.kind]
    own, catalogue = draft.names.get(section, []), names(draft.known)
    if catalogue is None or section in draft.unread or wanted.name in {*own, *catalogue}:
        return
    fix = _choose(wanted.name, sorted({*own, *catalogue}))
    wanted.cursor.fault(f"unknown {what} {wanted.name!r}", fix=fix)


def _check_listed(draft: Draft, wanted: Wanted) -> None:
    """A name from certain sections."""
    called, sections = _LISTED[wanted.kind]
    names = [name for section in sections for name in draft.names[section]]
    names += [OPEN_AIR] if wanted.kind == "beyond" else []
    names += [SUN] if wanted.kind == "source" and _shines(draft.singles.get("sky")) else []
    if wanted.kind == "prop" and _is_itself(wanted):
        wanted.cursor.fault(f"{wanted.name} refers to itself", fix="name another prop, or a point")
    if wanted.name in names or not draft.unread.isdisjoint(sections):
        return
    if wanted.kind == "camera" and not names:
        return  # told once for all setups
    what = f"there is no {called} {wanted.name!r}"
    if wanted.kind == "light" and wanted.name in draft.names["openings"]:
        what = f"{wanted.name!r} is an opening: daylight has no dim"
    elif wanted.kind == "light" and wanted.name == SUN:
        what = "the sun has no dim"
    wanted.cursor.fault(what, fix=_choose(wanted.name, names))


def _shines(sky: Sky | None) -> bool:
    """Whether the sun is among the sources: placed, or by the hour of a sky that may show it."""
    return sky is not None and (sky.sun is not None if sky.at is None else has_sun(sky.type))


def _check_circuit(draft: Draft, wanted: Wanted) -> None:
    """A circuit of the house's power."""
    power = draft.singles.get("house_power")
    if power is None:
        if not draft.written("house_power"):
            fix = "add `house_power: {supply: 230 V, circuits: {A: {breaker: 16 A}}}`"
            wanted.cursor.fault("a light on a circuit needs 'house_power'", fix=fix)
    elif wanted.name not in power.circuits:
        what = f"there is no circuit {wanted.name!r}"
        wanted.cursor.fault(what, fix=_choose(wanted.name, power.circuits))


def _choose(name: str, known: Iterable[str]) -> str:
    names = list(known)
    return nearest_fix(name, names) or (f"choose from {listed(names)}" if names else "add it")


def _is_itself(wanted: Wanted) -> bool:
    """Whether what is placed, aimed or turned is itself what the value names."""
    section, owner, *rest = (*wanted.cursor.path, "", "")
    if section == "setups" and rest[0] == "moved":
        owner = rest[1]
    return section != "readings" and wanted.name == owner
