"""why: what is wrong with the picture, by how many stops, from what cause, and what cures it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Final

from msgspec.structs import replace

from falloff.balance.fixes.records import Fixes
from falloff.balance.fixes.words import cost_text
from falloff.balance.why.answers import answer, cautions
from falloff.balance.why.beam import beam_fixtures, why_beam
from falloff.balance.why.complaints import Complaint, read_complaint, same_name, unknown
from falloff.balance.why.given import OnOff
from falloff.balance.why.jump import why_jumps, widest
from falloff.balance.why.onoff import metered, why_onoff, whys_by_worst
from falloff.balance.why.plan import all_questions, people_meant, why_plan
from falloff.balance.why.read import read_file, read_lines
from falloff.balance.why.records import Why, Whys
from falloff.balance.why.scene import TracedSetup, traced_setup
from falloff.document import NamedAim
from falloff.errors import DocumentError, Fault
from falloff.layers import cached_layers
from falloff.session.fixes import FixesAsked, run_fixes
from falloff.session.scene import Scene, open_scene, setup_light
from falloff.session.why_camera import MeteredCamera, metered_camera
from falloff.transport import Progress, silent

_BY_DIMS: Final = "the dims that falloff balance finds bring it in"


def run_why(
    path: Path,
    *,
    said: Sequence[str] = (),
    setups: tuple[str, ...] = (),
    search: bool = True,
    progress: Progress = silent,
) -> Whys:
    """Why a scene's picture is as it is complained of; without words, what is wrong at all.

    said: the complaint's words; search: whether fixes of missed targets are looked for in the plan
    besides the usual cures. Raises DocumentError for a complaint, a reading or a person that
    there is not, with the nearest one.
    """
    complaint = read_complaint(tuple(said)) if said else None
    scene = open_scene(path, setups)
    traced = _traced(scene, progress)
    left_out: tuple[str, ...] = ()
    if complaint is not None and complaint.kind == "jump":
        where = scene.document.file_name
        whys = jumps(list(traced), traced.__getitem__, complaint, where=where)
    elif complaint is not None:
        whys, left_out = _in_every_setup(traced, complaint)
    else:
        whys = _everything(traced)
    ranked = whys_by_worst(whys)
    if search:
        ranked = _with_fixes(path, ranked, progress)
    says = left_out if complaint is not None else (_in_all(ranked),)
    return Whys(
        scene=scene.document.title,
        whys=ranked,
        says=says,
        asked=complaint is not None,
        findings=cautions(ranked),
    )


def run_why_readings(
    lines: Sequence[str] = (),
    *,
    file: Path | None = None,
    camera: str = "",
    said: Sequence[str] = (),
) -> Whys:
    """The same from readings with lights on and off alone; nothing is traced.

    camera: "T2.8, ISO 800, 180 deg, ND 0.6", that of the file where "". Raises DocumentError with
    all that does not add up.
    """
    complaint = read_complaint(tuple(said)) if said else None
    readings: tuple[OnOff, ...] = ()
    taken: MeteredCamera | None = None
    faults: list[Fault] = []
    try:
        readings = read_lines(tuple(lines))
    except DocumentError as error:
        faults += error.faults
    if file is not None:
        try:
            held = read_file(file)
            readings, camera = (*held.readings, *readings), camera or held.camera
        except DocumentError as error:
            faults += error.faults
    try:
        taken = metered_camera(camera)
    except DocumentError as error:
        faults += error.faults
    if faults:
        raise DocumentError(*faults)
    if not readings:
        raise DocumentError(
            Fault(
                what="there are no readings", expected="--read or --readings",
                fix="--read 'key cheek: all 320 lx, BOOK 210, ambient 60'",
            )
        )  # fmt: skip
    found = metered(readings, None if taken is None else taken.settings)
    if taken is not None and taken.assumed:
        found = dataclasses.replace(found, notes=(taken.assumed, *found.notes))
    return why_onoff(found, complaint)


def _traced(scene: Scene, progress: Progress) -> dict[str, TracedSetup]:
    """Every setup's light, in the scene's order."""
    found: dict[str, TracedSetup] = {}
    for standing in scene.arrangements:
        layers, _ = cached_layers(standing.stage, sizes={}, progress=progress)
        for name in standing.setups:
            light = setup_light(standing.document, name)
            found[name] = traced_setup(standing.document, layers, light)
    return {name: found[name] for name in scene.setups}


def _in_every_setup(
    traced: dict[str, TracedSetup], complaint: Complaint
) -> tuple[list[Why], tuple[str, ...]]:
    """A complaint in every setup that has what it is of; raises where none has.

    Where some camera sees it, setups whose camera does not are left out, and that is told.
    """
    whys: list[Why] = []
    faults: list[Fault] = []
    for setup in traced.values():
        try:
            whys += why_plan(setup, complaint)
        except DocumentError as error:
            faults += error.faults
    if not whys:
        raise DocumentError(*_once(faults, traced))
    seen = [one for one in whys if one.seen]
    if not seen or len(seen) == len(whys):
        return whys, ()
    kept = {one.setup for one in seen}
    told = tuple(
        f"{name} is left out, for {traced[name].setup.camera} does not see it."
        for name in dict.fromkeys(one.setup for one in whys if one.setup not in kept)
    )
    return seen, told


def _once(faults: list[Fault], setups: Iterable[str]) -> list[Fault]:
    """Faults that are the same in several setups, told once for all of these."""
    known = set(setups)
    found: dict[Fault, list[str]] = {}
    for one in faults:
        where = one.where if one.where in known else ""
        key = dataclasses.replace(one, where="") if where else one
        found.setdefault(key, []).append(where)
    return [
        dataclasses.replace(one, where=", ".join(where)) if any(where) else one
        for one, where in found.items()
    ]


def _everything(traced: dict[str, TracedSetup]) -> list[Why]:
    """All that can be complained of, in every setup, and what jumps between them."""
    whys: list[Why] = []
    for setup in traced.values():
        whys += [answer(question) for question in all_questions(setup)]
        for name, fixture in setup.document.fixtures.items():
            # A bare point says where a light looks, not what it is for.
            if isinstance(fixture.aim, NamedAim) and setup.setup.dims.get(name, 1.0) > 0.0:
                whys += [why_beam(setup, one) for one in beam_fixtures(setup, name)]
    if len(traced) > 1:
        first, *others = traced.values()
        whys += [
            why_jumps(first, other, person)
            for other in others
            for person in first.subjects
            if person in other.subjects
        ]
    return whys


def _with_fixes(path: Path, whys: tuple[Why, ...], progress: Progress) -> tuple[Why, ...]:
    """Missed targets with the fix that a search of the plan found to cost least for each."""
    missed: dict[str, list[str]] = {}
    for one in whys:
        if one.wrong and one.target is not None:
            missed.setdefault(one.setup, []).append(one.target)
    fixes: dict[tuple[str, str], str] = {}
    for setup, targets in missed.items():
        asked = FixesAsked(setups=(setup,), only=tuple(dict.fromkeys(targets)), hours=False,
                           confirmed=0)  # fmt: skip
        for group in run_fixes(path, asked, progress=progress).groups:
            for target in targets:
                key = (setup, target)
                best = group.start.judged.get(key)
                if best is not None:
                    fixes[key] = _BY_DIMS if best.holds else _first_fix(group.told, key)
    return tuple(replace(one, fix=fixes.get((one.setup, one.target or "")) or None) for one in whys)


def _first_fix(fixes: Fixes, key: tuple[str, str]) -> str:
    """The first that brings a target nearer on the day, "" where none does."""
    for fix in fixes.fixes:
        helps = any((one.setup, one.name) == key and one.after < one.before for one in fix.targets)
        if helps and not fix.later:
            return f"{fix.says} ({cost_text(fix)})"
    return ""


def jumps(
    names: Sequence[str],
    traced: Callable[[str], TracedSetup],
    complaint: Complaint,
    *,
    shown: str | None = None,
    where: str = "",
) -> list[Why]:
    """Every setup against the wide; the one that is said alone, or else the one that is shown.

    names: of the setups that are looked at; traced: gives one's light; where: the file. Raises
    DocumentError for a single setup, and for a setup or a person that there is not.
    """
    if len(names) < 2:
        raise DocumentError(
            Fault(
                what="only one setup is looked at, so nothing can jump",
                where=where, expected="two setups or more",
                found=", ".join(names),
            )
        )  # fmt: skip
    first = widest(names)
    others = [name for name in names if name != first]
    if complaint.toward:
        others = _setups_meant(names, complaint.toward)
        if first in others:
            first = next((name for name in names if name not in others), first)
            others = [name for name in others if name != first]
    elif shown in others:
        others = [shown]
    base, found = traced(first), []
    for name in others:
        other = traced(name)
        people = [one for one in people_meant(other, complaint.about) if one in base.subjects]
        if not people:
            raise unknown(
                "person", complaint.about or "face", base.subjects, where=first,
                what=f"nobody of {name} is in {first}, so nothing jumps",
            )  # fmt: skip
        found += [why_jumps(base, other, person) for person in people]
    return found


def _setups_meant(names: Sequence[str], said: str) -> list[str]:
    """The setups that words may mean: "the close" is CLOSE-UP."""
    for name in names:
        if same_name(name, said):
            return [name]
    found = [name for name in names if said.casefold() in name.casefold()]
    if not found:
        raise unknown("setup", said, names)
    return found


def _in_all(whys: tuple[Why, ...]) -> str:
    """How much is wrong, and what first."""
    wrong = [one for one in whys if one.wrong]
    if not whys:
        return "There is nobody, no window and no target in this scene: name a reading."
    if not wrong:
        return f"Nothing is wrong by the usual measures; {len(whys)} things were looked at."
    things = "thing is" if len(wrong) == 1 else "things are"
    return f"{len(wrong)} {things} off, of {len(whys)} looked at; the worst first."
