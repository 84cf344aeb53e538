"""correct: readings from the shoot set against the plan; the plan, and one's kit, put right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec
import numpy as np

from falloff.clock import local_instant, read_clock
from falloff.document import Edit, SceneDocument, at_hour
from falloff.document.cursor import nearest_fix
from falloff.errors import DocumentError, Fault
from falloff.layers import LightLayers, cached_layers
from falloff.record import (
    Corrections,
    Names,
    Stood,
    Taken,
    begin_with,
    cannot_be_kept,
    compare,
    daylight_said,
    edits_of,
    edits_of_readings,
    named_apart,
    read_typed,
    read_written,
)
from falloff.session.balance import write_scene
from falloff.session.correct_kit import KitLearned, keep_learned, kit_to_keep_in, learned_of
from falloff.session.correct_pocket import Noted, noted_in, setups_of_pocket, taken_of_pocket
from falloff.session.scene import Arrangement, Scene, open_scene, setup_light
from falloff.sources import SKY, SUN
from falloff.stage import relit
from falloff.transport import Progress, settle_again, silent, trace_probes


@dataclass(frozen=True, slots=True)
class CorrectAsked:
    """What is asked of a correction.

    reads: readings as typed, "key cheek: 320 lx; BOOK on"; setup: that they were taken in, the
    scene's first where None; believe: names of readings to be taken whatever they say; out: another
    file that the corrected scene is written to; write: into the scene's own; record: the typed
    readings go with it, or alone where neither is asked for; keep: what was learned of one's own
    kit goes into its file; metered: a file that a pocket copy saved, whose readings are taken too.
    """

    reads: tuple[str, ...] = ()
    setup: str | None = None
    believe: tuple[str, ...] = ()
    out: Path | None = None
    write: bool = False
    record: bool = False
    keep: bool = False
    metered: Path | None = None


@dataclass(frozen=True, slots=True)
class CorrectedScene:
    """A scene set against its readings: what changed, the edits that say so, what was written.

    written: the scene's file or another, if it was; learned: of one's own kit, kept only if asked;
    kit_written: the kit file, if it was.
    """

    document: SceneDocument
    corrections: Corrections
    edits: tuple[Edit, ...]
    learned: tuple[KitLearned, ...]
    written: Path | None = None
    kit_written: Path | None = None


def run_correct(
    path: Path, asked: CorrectAsked | None = None, *, progress: Progress = silent
) -> CorrectedScene:
    """Trace a scene (or find it traced) and correct what it assumed by what was read.

    The readings are those of the scene's `measured`, of a pocket copy, and those typed. Raises what
    reading and building find wrong, and DocumentError with every reading that cannot be read.
    """
    asked = asked or CorrectAsked()
    if asked.out is not None and asked.out.resolve() == path.resolve():
        raise DocumentError(
            Fault("that is the scene's own file", "--out", found=str(asked.out),
                  fix="give another name, or --write to write into the scene itself")
        )  # fmt: skip
    noted = None if asked.metered is None else noted_in(asked.metered)
    scene = _opened(path, asked, noted)
    names = {one: names_of(scene.arrangement_of(one), one) for one in scene.setups}
    document = scene.document
    if asked.keep:
        kit_to_keep_in(document)  # told before anything is written
    setup = asked.setup or scene.setups[0]
    typed = read_typed(asked.reads, document, names[setup]) if asked.reads else ()
    phone = () if noted is None else taken_of_pocket(noted, document, names)
    phone = named_apart(phone, typed, "on the phone")
    written = named_apart(read_written(document, names), (*phone, *typed), "in the file")
    taken = (*written, *phone, *typed)
    if not taken:
        raise _nothing_read(scene, setup, progress)
    _check_asked(taken, asked, document)
    stood = _stood(scene, taken, progress)
    daylight = daylight_said(document)
    found = compare(stood, taken, daylight=daylight, believed=asked.believe)
    edits = edits_of(document, found.unknowns, found.x, daylight=daylight)
    keeping = edits_of_readings(document, typed, zone_hours=zone_hours(document, typed))
    changed = (*(edits if asked.write or asked.out else ()), *(keeping if asked.record else ()))
    write = bool(changed) and (asked.write or asked.record)
    into = write_scene(path, changed, out=asked.out, write=write)
    learned = learned_of(document, found)
    kit = keep_learned(document, learned) if asked.keep else None
    return CorrectedScene(document, found.corrections, edits, learned, into, kit)


def _opened(path: Path, asked: CorrectAsked, noted: Noted | None) -> Scene:
    """The scene with the setups that readings were taken in."""
    whole = open_scene(path, () if asked.setup is None else (asked.setup,))
    first = next(iter(whole.document.setups))
    named = [one.setup or first for one in whole.document.measured.values()]
    named += () if noted is None else setups_of_pocket(noted, whole.document)
    wanted = tuple(dict.fromkeys([asked.setup or first, *named]))
    if set(wanted) <= set(whole.setups):
        kept = tuple(one for one in whole.arrangements if set(one.setups) & set(wanted))
        return replace(whole, setups=wanted, arrangements=kept)
    return open_scene(path, wanted)


def names_of(standing: Arrangement, setup: str) -> Names:
    """What may be named of a setup, by the arrangement that it is shot in."""
    sources = standing.stage.sources
    day = tuple(one.name for one in sources if one.kind in {SKY, SUN})
    light = setup_light(standing.document, setup)
    out = tuple(name for name, dim in light.dims.items() if dim <= 0.0)
    return Names(setup, tuple(one.name for one in sources), day, light.settings, out)


def _nothing_read(scene: Scene, setup: str, progress: Progress) -> DocumentError:
    """That nothing was read yet, with the readings that would tell most to begin with."""
    document = scene.document
    standing = scene.arrangement_of(setup)
    layers, _ = cached_layers(standing.stage, sizes={}, progress=progress)
    stood = stood_in(standing, layers, ())
    first = begin_with(stood, setup, daylight=daylight_said(document))
    example = next(iter(document.readings), "key cheek")
    unit = "320 lx"
    if example in document.readings and document.readings[example].instrument == "spot":
        unit = "250 cd/m2"
    told = "; ".join(
        f"{one.reading}, {one.on} (the plan has {_three_figures(one.expected)} {one.unit})"
        for one in first
    )
    before = f"take these first, in {setup}: {told}; then " if told else ""
    return DocumentError(
        Fault(
            what="there is no reading to correct the plan by",
            where=document.file_name,
            expected="a reading from the shoot, of "
            + (", ".join(document.readings) or "a place under readings:"),
            fix=f"{before}give --read '{example}: {unit}', or write it under measured:",
        )
    )


def _three_figures(level: float) -> str:
    return f"{level:.0f}" if level >= 100.0 else f"{level:.3g}"


def _check_asked(taken: Sequence[Taken], asked: CorrectAsked, document: SceneDocument) -> None:
    known = {one.name for one in taken} | {one.reading for one in taken}
    faults = [
        Fault(
            what=f"no reading called {name!r} was taken",
            where="--believe",
            expected="one of " + ", ".join(dict.fromkeys(one.name for one in taken)),
            fix=nearest_fix(name, sorted(known)),
        )
        for name in asked.believe
        if name not in known
    ]
    if asked.record:
        typed = [one for one in taken if one.typed]
        faults += cannot_be_kept(document, typed, where="--record", instead="leave --record out")
    if faults:
        raise DocumentError(*faults)


# How things stood ------------------------------------------------------------------------


def _stood(scene: Scene, taken: Sequence[Taken], progress: Progress) -> tuple[Stood, ...]:
    """Each arrangement that was read in, and the same at other hours that readings tell."""
    made: list[Stood] = []
    for standing in scene.arrangements:
        here = [one for one in taken if one.setup in standing.setups]
        if not here:
            continue
        layers, _ = cached_layers(standing.stage, sizes={}, progress=progress)
        made += stood_in(standing, layers, here)
    return tuple(made)


def stood_in(
    standing: Arrangement, layers: LightLayers, taken: Sequence[Taken]
) -> tuple[Stood, ...]:
    """An arrangement as readings were taken in it, and the same at other hours that they tell."""
    lights = {name: setup_light(standing.document, name) for name in standing.setups}
    base = Stood(standing.document, lights, layers)
    hours = dict.fromkeys(one.hour for one in taken if one.hour is not None)
    return (base, *(_at_hour(standing, base, hour) for hour in hours))


def _at_hour(standing: Arrangement, base: Stood, hour: str) -> Stood:
    sky = standing.document.sky
    assert sky is not None
    document = msgspec.structs.replace(standing.document, sky=at_hour(sky, hour))
    stage = relit(standing.stage, document)
    solution = settle_again(base.layers.solution, stage).solution
    layers: LightLayers = replace(
        base.layers,
        solution=solution,
        probes=trace_probes(solution, stage.probes),
        colours=np.array([one.colour for one in stage.sources], np.float64).reshape(-1, 3),
    )
    return Stood(document, base.setups, layers, hour)


def zone_hours(document: SceneDocument, taken: Sequence[Taken]) -> Mapping[str, str]:
    """An aware time as ISO 8601 for each hour that a reading tells."""
    if document.location is None:
        return {}
    zone = document.location.zone
    return {
        one.hour: local_instant(read_clock(one.hour), zone).isoformat("T", "minutes")
        for one in taken
        if one.hour is not None
    }
