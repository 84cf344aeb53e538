"""A package as it would stand: the scene with it in, traced, its dims set, written to a file."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from falloff.balance import Breaks, Chosen, PackageProblem, Problem, pose
from falloff.balance.binding import first_to_break
from falloff.balance.judging import judged
from falloff.balance.package.judging import over_key_stops, settled_answer, without_hopeless
from falloff.balance.package.told import exposure_told
from falloff.balance.problem import AS_IT_STANDS, Told
from falloff.balance.terms import terms_of
from falloff.camera.atomic_write import write_whole
from falloff.document import Fixture as SceneFixture
from falloff.document import SceneDocument, arranged, dim_written
from falloff.kit.catalogue import knob_share, light_share
from falloff.readings import Judged
from falloff.session.answer_edits import exposure_edits
from falloff.session.balance import posed_setup, standing_layers
from falloff.session.kit.choosing_edits import EditedScene, beside, dim_edits, with_package
from falloff.session.kit.choosing_problem import LEAST_NETTED, Posing
from falloff.session.scene import Arrangement, alike
from falloff.stage import build_stage
from falloff.transport import Progress
from falloff.types import Float64Array


@dataclass(frozen=True, slots=True)
class Stood:
    """A package as it would stand: the scene with it in, each setup posed anew.

    dark: lights that could not be taken out of the scene, and are to be off.
    """

    scene: EditedScene
    posed: tuple[Problem, ...]
    dark: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SettledPackage:
    """A package with its dims and targets, and as it stands, if it was traced so.

    keys: by setup, how far its key reading is over key, None in the dark; those that have one.
    """

    problem: PackageProblem
    chosen: Chosen
    shares: tuple[Mapping[str, float], ...]
    got: Mapping[Told, Judged]
    exposures: tuple[int, ...]
    standing: Stood | None
    first_to_break: Breaks | None = None
    keys: Mapping[str, float | None] = field(default_factory=dict)

    @property
    def holds(self) -> bool:
        """Whether every target holds that any light at these places can bring in."""
        hopeless = self.problem.hopeless
        return all(one.holds or key in hopeless for key, one in self.got.items())


def arrangements_of(document: SceneDocument, setups: tuple[str, ...]) -> tuple[Arrangement, ...]:
    """The stages of these setups, one for those in which everything stands alike."""
    found = []
    for names in alike(document, setups):
        standing = arranged(document, names[0])
        found.append(Arrangement(names, standing, build_stage(standing)))
    return tuple(found)


def stand_package(
    scene: EditedScene,
    posing: Posing,
    problem: PackageProblem,
    chosen: Chosen,
    progress: Progress,
) -> Stood:
    """The scene with a package in it, traced."""
    stands: dict[str, SceneFixture] = {}
    circuits: dict[str, str] = {}
    for p, place in enumerate(problem.places):
        k = chosen.candidates[p]
        if k is None:
            continue
        stands[place.name] = posing.fits[place.name][k].fixture
        if not place.circuit:
            circuits[place.name] = chosen.circuits[p]
    empty = [place.name for place in problem.places if place.name not in stands]
    scene, dark = with_package(scene, stands, circuits, empty=empty)
    setups = tuple(table.setup for table in problem.fixed.tables)
    posed = {}
    for standing in arrangements_of(scene.document, setups):
        layers = standing_layers(standing, progress)
        for setup in standing.setups:
            posed[setup] = pose((posed_setup(standing, setup, layers),))
    ready = tuple(
        _ready(posed[table.setup], problem, t, stands, dark)
        for t, table in enumerate(problem.fixed.tables)
    )
    return Stood(scene, ready, dark)


def _ready(
    posed: Problem,
    problem: PackageProblem,
    t: int,
    stands: Mapping[str, SceneFixture],
    dark: tuple[str, ...],
) -> Problem:
    """A setup as it was traced, with its fixtures below the reserve and all else as it is."""
    table = posed.tables[0]
    levers = []
    for s, lever in enumerate(posed.levers):
        now = float(table.now[s])
        plain = replace(lever, colours=(AS_IT_STANDS,), now=now)
        if lever.source in dark:
            plain = replace(plain, now=0.0, free=False)
        elif lever.source in stands:
            low = lever.lowest if not lever.fixed_because else LEAST_NETTED
            plain = replace(
                plain, now=problem.highest, highest=problem.highest, free=True,
                lowest=min(low, problem.highest),
            )  # fmt: skip
        else:
            plain = replace(plain, free=False, can_go_out=False)
        levers.append(plain)
    kept = problem.fixed.tables[t].kept
    return replace(posed, levers=tuple(levers), tables=(replace(table, kept=kept),))


def settle_stood(problem: PackageProblem, chosen: Chosen, standing: Stood) -> SettledPackage:
    """Dims of a package as it was traced, as they are set by hand, and what they come to."""
    shares: list[dict[str, float]] = []
    got: dict[Told, Judged] = {}
    exposures: list[int] = []
    keys: dict[str, float | None] = {}
    breaks: list[Breaks] = []
    for t, single in enumerate(standing.posed):
        start = {place.name: float(chosen.shares[t, p]) for p, place in enumerate(problem.places)}
        answer = settled_answer(
            without_hopeless(problem, single),
            start,
            chosen.exposures[t],
            holds=chosen.missed == 0.0,
        )
        set_by_hand = replace(answer, shares=_by_hand(single, answer.shares))
        by_hand, exact = judged(single, set_by_hand), judged(single, answer)
        if all(by_hand[key].holds or not one.holds for key, one in exact.items()):
            answer, exact = set_by_hand, by_hand
        got |= exact
        first = first_to_break(single, answer, exact, terms_of(single, answer))
        breaks += [first] if first else []
        (table,) = single.tables
        reading = standing.scene.document.setups[table.setup].key
        if reading in table.readings:
            keys[table.setup] = over_key_stops(single, answer, reading)
        exposures += answer.exposures
        shares.append(
            {
                lever.source: float(answer.shares[s])
                for s, lever in enumerate(single.levers)
                if lever.free
            }
        )
    soonest = min(breaks, key=lambda one: abs(one.stops) / one.spread_stops, default=None)
    return SettledPackage(
        problem, chosen, tuple(shares), got, tuple(exposures), standing, soonest, keys
    )


def _by_hand(single: Problem, shares: Float64Array) -> Float64Array:
    """Shares whose knobs are whole per cents, tenths below ten."""
    found = shares.copy()
    for s, lever in enumerate(single.levers):
        if not lever.free or shares[s] <= 0.0:
            continue
        knob = 100.0 * knob_share(lever.curve, float(min(shares[s], 1.0)))
        step = 1.0 if knob >= 10.0 else 0.1
        told = round(knob / step) * step
        if light_share(lever.curve, min(1.0, told / 100.0)) > lever.highest:
            told = math.floor(knob / step) * step
        found[s] = max(light_share(lever.curve, min(1.0, told / 100.0)), lever.lowest)
    return found


def write_package(best: SettledPackage, out: Path | None) -> Path | None:
    """The scene with the package, its dims and its exposure, written to a file."""
    if out is None or best.standing is None:
        return None
    standing = best.standing
    scene = standing.scene
    for single, shares, k in zip(standing.posed, best.shares, best.exposures, strict=True):
        told = dict.fromkeys(standing.dark, "0 %")
        for lever in single.levers:
            if lever.source in shares:
                share = shares[lever.source]
                knob = knob_share(lever.curve, min(share, 1.0)) if share > 0.0 else 0.0
                told[lever.source] = dim_written(knob)
        table = single.tables[0]
        edits = dim_edits(scene.document, table.setup, told)
        if table.exposures:
            edits += exposure_edits(scene.document, exposure_told(table, k))
        scene = scene.with_edits(edits)
    text = beside(scene, out).written()
    write_whole(out, lambda part: _write(part, text))
    return out


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
