"""fixes: what brings a scene's missed targets in, ranked, and written into it if asked."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from msgspec.structs import replace as replace_fields

from falloff.balance import Balance, DimSet
from falloff.balance.fixes.confirming import TakenFix, confirm
from falloff.balance.fixes.find import CONFIRMED, FoundFixes, find_fixes
from falloff.balance.fixes.start import FixCase
from falloff.balance.fixes.weighing import Weighed, exposed_by
from falloff.balance.judging import judged, judged_as_written
from falloff.balance.posing import Posed
from falloff.balance.solve import told
from falloff.document import (
    Edit,
    SceneDocument,
    arranged,
    compose_text,
    edit_tree,
    parse_tree,
    read_text,
)
from falloff.errors import DocumentError, Fault
from falloff.layers import cached_layers
from falloff.session.answer_edits import edits_of, others_kept
from falloff.session.balance import posed_setup, standing_layers, write_scene
from falloff.session.scene import Arrangement, known_names, open_scene, setup_light
from falloff.stage import build_stage
from falloff.transport import Progress, silent


@dataclass(frozen=True, slots=True)
class FixesAsked:
    """What is asked of fixes.

    setups: all where none is named; only: targets by name, all where none; hours: whether other
    hours of the day are tried; confirmed: how many of the first are traced; take: the number of the
    fix that is written, as they are told, from 1, None for none; out: to another file; write: into
    the scene's own.
    """

    setups: tuple[str, ...] = ()
    only: tuple[str, ...] = ()
    hours: bool = True
    confirmed: int = CONFIRMED
    take: int | None = None
    out: Path | None = None
    write: bool = False


@dataclass(frozen=True, slots=True)
class FixesFound:
    """Fixes of a scene: of each arrangement of its setups; what was taken and written, if any."""

    document: SceneDocument
    groups: tuple[FoundFixes, ...]
    taken: TakenFix | None = None
    written: Path | None = None

    @property
    def every(self) -> tuple[TakenFix, ...]:
        """All fixes in the order in which they are numbered."""
        return tuple(one for group in self.groups for one in group.taken)


def run_fixes(
    path: Path, asked: FixesAsked | None = None, *, progress: Progress = silent
) -> FixesFound:
    """Trace a scene (or find it traced), balance it, and weigh what would bring in the rest.

    Raises what reading and building find wrong, and DocumentError for a target or a number that is
    not there, for a scene without a light, and for a fix that writes nothing.
    """
    asked = asked or FixesAsked()
    _check_take(asked)
    scene = open_scene(path, asked.setups)
    _check_targets(scene.document, asked.only)
    text = read_text(path)
    groups = tuple(
        find_fixes(
            fix_case(standing, scene.document, text, progress=progress),
            only=asked.only or None,
            hours=asked.hours,
            trace=tracer(standing, scene.document, text, progress=progress),
            confirmed=asked.confirmed,
            progress=progress,
        )
        for standing in scene.arrangements
    )
    found = FixesFound(scene.document, groups)
    if asked.take is None:
        return found
    group, taken = _taken(found, asked.take, path)
    standing = scene.arrangement_of(group.start.case.setups[0])
    trace = tracer(standing, scene.document, text, progress=progress)
    edits, taken = taken_edits(group, taken, trace)
    written = write_scene(path, edits, out=asked.out, write=asked.write)
    return replace(found, taken=taken, written=written)


def fix_case(
    standing: Arrangement, document: SceneDocument, text: str, *, progress: Progress = silent
) -> FixCase:
    """An arrangement's setups as fixes start from them; document: the scene whole."""
    layers = standing_layers(standing, progress)
    return case_of(
        tuple(posed_setup(standing, name, layers) for name in standing.setups), document, text
    )


def case_of(posed: tuple[Posed, ...], document: SceneDocument, text: str) -> FixCase:
    """Setups with their light as fixes start from them; text: of the document's file."""
    root = compose_text(text, "scene")

    def edited(edits: Sequence[Edit]) -> SceneDocument:
        return parse_tree(edit_tree(root, edits), document.path, known=known_names())

    return FixCase(posed, document, text, edited, arranged)


def tracer(
    standing: Arrangement, document: SceneDocument, text: str, *, progress: Progress = silent
) -> Callable[[Sequence[Edit]], tuple[Posed, ...]]:
    """What traces an arrangement's setups anew after edits."""
    root = compose_text(text, "scene")

    def trace(edits: Sequence[Edit]) -> tuple[Posed, ...]:
        edited = parse_tree(edit_tree(root, edits), document.path, known=known_names())
        after = arranged(edited, standing.setups[0])
        layers, _ = cached_layers(build_stage(after), sizes={}, progress=progress)
        return tuple(
            Posed(after, name, setup_light(after, name), layers) for name in standing.setups
        )

    return trace


def taken_edits(
    group: FoundFixes, taken: TakenFix, trace: Callable[[Sequence[Edit]], tuple[Posed, ...]]
) -> tuple[tuple[Edit, ...], TakenFix]:
    """The edits of a fix and of the dims that go with it, and the fix as it was traced."""
    if taken.fix.confirmed is None:
        taken = confirm(group.start, taken, trace)
    return edits_with_dims(group, taken), taken


def edits_with_dims(group: FoundFixes, taken: TakenFix) -> tuple[Edit, ...]:
    """The edits of a fix and of the dims that go with it, as it was weighed or traced last."""
    weighed = taken.weighed
    assert weighed is not None
    document = group.start.case.edited(taken.edits)
    problem = weighed.problem
    result = told(
        problem, weighed.answer, judged_as_written(problem), judged(problem, weighed.answer)
    )
    mine = exposed_by(weighed.candidate)
    kept = tuple(one for one in result.exposures if one.setup not in mine)
    dims = (*result.dims, *_twins(weighed, result))
    besides = edits_of(document, replace_fields(result, dims=dims, exposures=kept))
    return others_kept(group.start.case.document, (*taken.edits, *besides))


def _twins(weighed: Weighed, result: Balance) -> tuple[DimSet, ...]:
    """The dims of lights that a fix adds and that no trace has had yet: those of their twins."""
    known = {lever.source for lever in weighed.problem.levers}
    return tuple(
        replace_fields(one, source=copy)
        for copy, source in weighed.candidate.alike.items()
        for one in result.dims
        if one.source == source and copy not in known
    )


# Faults ----------------------------------------------------------------------------------


def _check_take(asked: FixesAsked) -> None:
    writes = asked.write or asked.out is not None
    if writes and asked.take is None:
        raise DocumentError(
            Fault(
                what="there is nothing to write unless a fix is taken",
                expected="--take with the number of a fix",
                fix="run it once without --out, and take one of the numbers told there",
            )
        )
    if asked.take is not None and not writes:
        raise DocumentError(
            Fault(
                what="a fix is taken, and nothing says where to write it",
                expected="--out NEW.scene.yaml, or --write for the scene's own file",
                fix="add one of them",
            )
        )


def _taken(found: FixesFound, number: int, path: Path) -> tuple[FoundFixes, TakenFix]:
    pairs = [(group, one) for group in found.groups for one in group.taken]
    if not 1 <= number <= len(pairs):
        raise DocumentError(
            Fault(
                what=f"there is no fix {number}",
                where=path.name,
                expected=f"1 to {len(pairs)}" if pairs else "none: there is nothing to fix",
            )
        )
    group, one = pairs[number - 1]
    if not one.edits:
        raise DocumentError(
            Fault(
                what=f"fix {number} changes nothing in the scene: {one.fix.says}",
                where=path.name,
                fix="take one that is done on set",
            )
        )
    return group, one


def _check_targets(document: SceneDocument, only: Sequence[str]) -> None:
    unknown = [name for name in only if name not in document.targets]
    if unknown:
        raise DocumentError(
            *(
                Fault(
                    what=f"there is no target called {name!r}",
                    where=document.file_name,
                    expected="one of " + (", ".join(document.targets) or "none"),
                )
                for name in unknown
            )
        )
