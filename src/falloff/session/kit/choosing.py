"""kit choose: the smallest package that brings a scene's targets in, and the next cheaper."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from msgspec.structs import replace as with_fields

from falloff.balance import (
    Chosen,
    Package,
    PackageChoice,
    PackageProblem,
    choose_package,
    hopeless_targets,
)
from falloff.balance.judging import judged_as_written
from falloff.balance.package.judging import demerit, settled_package, with_light
from falloff.balance.package.problem import USUAL_RESERVE_STOPS, filled, hire_of, weight_of
from falloff.balance.package.told import package_told
from falloff.balance.package.words import (
    DimKey,
    in_the_way,
    package_findings,
    package_sentences,
)
from falloff.balance.problem import Told
from falloff.document import KeepTarget, SceneDocument, Target, ValueTarget
from falloff.errors import DocumentError, Fault, GeometryError
from falloff.findings import Finding, Weight
from falloff.kit import OwnKit, read_own_kit
from falloff.readings import Judged
from falloff.session.kit.choosing_candidates import fits_at
from falloff.session.kit.choosing_edits import EditedScene, read_scene, with_own_kit
from falloff.session.kit.choosing_problem import Posing, problem_of
from falloff.session.kit.choosing_standing import (
    SettledPackage,
    arrangements_of,
    settle_stood,
    stand_package,
    write_package,
)
from falloff.session.kit.choosing_stock import offers_of
from falloff.session.scene import Scene, setup_names
from falloff.transport import Progress, silent

_MOST_TRACES: Final = 3
_MOST_BANS: Final = 6
_LEVELS: Final = (Target, ValueTarget, KeepTarget)
_DIM_STOPS: Final = 1.0  # under key, from which a key is told to be dark


@dataclass(frozen=True, slots=True)
class ChooseAsked:
    """What is asked of a choice.

    own: a kit file in place of the scene's own; kit_only: nothing that it does not list;
    reserve_stops: in hand at every dim, 0 to 6; out: a file for the scene with the package in it.
    """

    own: Path | None = None
    kit_only: bool = False
    reserve_stops: float = USUAL_RESERVE_STOPS
    out: Path | None = None


@dataclass(frozen=True, slots=True)
class KitChosen:
    """A package chosen, and the file that the scene with it was written to, if any."""

    choice: PackageChoice
    written: Path | None = None


def run_kit_choose(
    path: Path, asked: ChooseAsked | None = None, *, progress: Progress = silent
) -> KitChosen:
    """Trace a scene and all that might stand at its places; choose, trace the choice, tell it.

    Raises what reading and building find wrong, and DocumentError for a scene without fixtures or
    targets, a kit file with faults, and a reserve that makes no sense.
    """
    asked = asked or ChooseAsked()
    _check(asked)
    scene, edited, own = _opened(path, asked)
    offers = offers_of(own, kit_only=asked.kit_only)
    posing = problem_of(scene, offers, reserve_stops=asked.reserve_stops, progress=progress)
    before = {
        key: one for single in posing.written for key, one in judged_as_written(single).items()
    }
    problem = posing.problem
    posing = replace(posing, problem=replace(problem, hopeless=hopeless_targets(problem)))
    banned: list[tuple[str, str]] = []
    best = _best(edited, posing, banned, progress)
    way = () if best.holds else in_the_way(best.problem, banned)
    if own is not None and not asked.kit_only and not all(one.holds for one in best.got.values()):
        best = _better(best, _of_the_kit(scene, edited, posing, own, progress))
    cheaper = None
    if best.chosen.missed == 0.0:
        under = choose_package(best.problem, below=best.chosen, banned=banned)
        if under is not None:
            settled = SettledPackage(
                best.problem, under, *settled_package(best.problem, under), None
            )
            cheaper = _told(settled, before)
    package = _told(best, before)
    with_hire = None
    if asked.kit_only and not package.holds:
        besides = replace(asked, kit_only=False, out=None)
        with_hire = run_kit_choose(path, besides, progress=progress).choice.best
    choice = PackageChoice(
        scene=scene.document.title,
        setups=tuple(table.setup for table in best.problem.fixed.tables),
        reserve_stops=asked.reserve_stops,
        currency=offers.currency,
        best=package,
        cheaper=cheaper,
        in_the_way=way,
        says=(),
        findings=(
            *_findings(scene.document, posing, best, own),
            *package_findings(best.problem, package),
        ),
        confirmed=best.standing is not None,
        with_hire=with_hire,
    )
    says = package_sentences(
        choice,
        hopeless=best.problem.hopeless,
        unlike=posing.unlike,
        dim_keys=_dim_keys(scene.document, best),
    )
    choice = with_fields(choice, says=says)
    return KitChosen(choice, write_package(best, asked.out))


def _check(asked: ChooseAsked) -> None:
    faults = []
    if not 0.0 <= asked.reserve_stops <= 6.0:
        faults.append(
            Fault(
                what="that is no reserve",
                where="--reserve",
                expected="0 to 6 stops",
                found=f"{asked.reserve_stops:g} stops",
                fix="half a stop to two stops is usual",
            )
        )
    if faults:
        raise DocumentError(*faults)


def _opened(path: Path, asked: ChooseAsked) -> tuple[Scene, EditedScene, OwnKit | None]:
    """The scene, as it may be edited, and its kit; what it lacks is told together."""
    edited = read_scene(path)
    document = edited.document
    setups = setup_names(document)
    faults = []
    if not document.fixtures:
        faults.append(
            Fault(
                what="the scene has no fixture, so that there is no place to fill",
                where=document.file_name,
                expected="fixtures where lights are to stand, of whatever strength",
                fix="add fixtures: {KEY: {kit: ..., at: ..., aim: ...}}",
            )
        )
    if not document.targets:
        faults.append(
            Fault(
                what="the scene wants nothing of its light, so that nothing can be chosen by",
                where=document.file_name,
                expected="targets",
                fix="add targets: {face at key: {reading: ..., level: 0 stops}}",
            )
        )
    own = asked.own
    if asked.kit_only and own is None and document.own_kit is None:
        faults.append(
            Fault(
                what="nothing but your kit is to be used, and there is none",
                where=document.file_name,
                expected="a kit file",
                fix="give --own NAME.kit.toml, or add own_kit: NAME.kit.toml to the scene",
            )
        )
    if faults:
        raise DocumentError(*faults)
    kit = None
    if own is not None:
        kit = read_own_kit(own)
        edited = with_own_kit(edited, own)
        document = edited.document
    elif document.own_kit is not None:
        kit = read_own_kit(Path(document.path).parent / document.own_kit)
    return Scene(document, setups, arrangements_of(document, setups)), edited, kit


# Choosing --------------------------------------------------------------------------------


def _best(
    scene: EditedScene,
    posing: Posing,
    banned: list[tuple[str, str]],
    progress: Progress,
) -> SettledPackage:
    """The package that holds as it would stand; chosen again where the trace says otherwise.

    banned: gets what cannot stand in its place, as placing it shows.
    """
    problem, settled = posing.problem, None
    for _ in range(_MOST_TRACES):
        for _ in range(_MOST_BANS):
            found = choose_package(problem, banned=banned)
            assert found is not None  # nothing at all is a package
            chosen = found
            try:
                standing = stand_package(scene, posing, problem, chosen, progress)
                break
            except GeometryError as error:
                more = _to_ban(problem, chosen, error)
                if not more:
                    raise
                banned += more
        else:
            return SettledPackage(problem, chosen, *settled_package(problem, chosen), None)
        again = settled is not None and settled.chosen.candidates == chosen.candidates
        settled = settle_stood(problem, chosen, standing)
        if again or chosen.missed > 0.0 or settled.holds:
            break
        problem = with_light(problem, chosen, standing.posed)
    assert settled is not None
    return settled


def _of_the_kit(
    scene: Scene, edited: EditedScene, posing: Posing, own: OwnKit, progress: Progress
) -> SettledPackage:
    """The package of the kit alone, out of a wider offer; hopeless is what is so in that offer."""
    offers = offers_of(own, kit_only=True)
    places, fits = [], {}
    for place in posing.problem.places:
        names = {one.name for one in fits_at(scene.document, place.name, offers)}
        keeps = [k for k, one in enumerate(place.candidates) if one.name in names]
        places.append(replace(place, candidates=tuple(place.candidates[k] for k in keeps)))
        fits[place.name] = tuple(posing.fits[place.name][k] for k in keeps)
    problem = replace(posing.problem, places=tuple(places))
    problem = replace(problem, hopeless=hopeless_targets(problem))
    found = _best(edited, replace(posing, problem=problem, fits=fits), [], progress)
    wider = replace(found.problem, hopeless=posing.problem.hopeless)
    return replace(found, problem=wider)


def _better(one: SettledPackage, other: SettledPackage) -> SettledPackage:
    """Of two packages the one that holds more, by weight, then misses less, then costs less."""

    def demerits(settled: SettledPackage) -> tuple[float, ...]:
        problem, packed = settled.problem, settled.chosen.packed
        weights = {
            (table.setup, name): target.weight
            for table in problem.fixed.tables
            for name, target in table.targets.items()
        }
        held, missed = demerit(settled.got, weights)
        hire, pieces = hire_of(problem, packed), float(sum(packed))
        return held, round(missed, 2), hire, pieces, weight_of(problem, packed)

    return min(one, other, key=demerits)


def _to_ban(problem: PackageProblem, chosen: Chosen, error: GeometryError) -> list[tuple[str, str]]:
    """What stands where it cannot, by place and name."""
    told = " ".join(f"{one.where} {one.what}" for one in error.faults)

    return [
        (place.name, place.candidates[k].name)
        for place, k in filled(problem, chosen)
        if re.search(rf"\b{re.escape(place.name)}\b", told)
    ]


def _told(settled: SettledPackage, before: Mapping[Told, Judged]) -> Package:
    package = package_told(
        settled.problem,
        settled.chosen,
        settled.shares,
        before,
        settled.got,
        exposures=settled.exposures,
    )
    return with_fields(package, first_to_break=settled.first_to_break)


def _dim_keys(document: SceneDocument, best: SettledPackage) -> list[DimKey]:
    """Setups whose key comes out more than a stop under, though no target asks a level of it."""
    found = []
    for table in best.problem.fixed.tables:
        reading = document.setups[table.setup].key
        stops = best.keys.get(table.setup, 0.0)
        if reading is None or (stops is not None and stops > -_DIM_STOPS):
            continue
        asked = any(
            isinstance(one, _LEVELS) and one.reading == reading
            and getattr(one, "over", None) is None
            and getattr(one, "limit", "equal") != "at most"
            for one in table.targets.values()
        )  # fmt: skip
        if not asked:
            found.append(DimKey(table.setup, reading, stops))
    return found


# Telling and writing ---------------------------------------------------------------------


def _findings(
    document: SceneDocument, posing: Posing, best: SettledPackage, own: OwnKit | None
) -> list[Finding]:
    found = []
    for name in posing.unlike:
        says = f"nothing that is offered is of a like form and colour as {name}: it stays empty"
        do = "add such a light to the kit file, or write another form or colour for it"
        found.append(Finding(weight=Weight.WARNING, about=name, says=says, do=do))
    if own is None:
        says = "the scene names no kit of yours, so that all is hired"
        do = "add own_kit: NAME.kit.toml to the scene, or give --own"
        found.append(Finding(weight=Weight.NOTE, about="kit", says=says, do=do))
    for name in best.standing.dark if best.standing else ():
        says = f"{name} is not needed, but other things hang on it: it is written as off"
        found.append(Finding(weight=Weight.NOTE, about=name, says=says, do="leave it at home"))
    if best.problem.stands_known and any(one.stand for one in document.grip.values()):
        says = "stands of grip are not counted"
        do = "keep stands for it besides those of the package"
        found.append(Finding(weight=Weight.NOTE, about="grip", says=says, do=do))
    if best.standing is None:
        says = "the package could not be built as it would stand, so that it was not traced whole"
        do = "make room at its places, then choose again"
        found.append(Finding(weight=Weight.WARNING, about=document.title, says=says, do=do))
    return found
