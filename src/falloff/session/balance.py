"""balance: dims, colours and exposure that bring a scene's targets in, written into it if asked."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from msgspec.structs import replace as replace_fields

from falloff.balance import (
    Balance,
    ColourChoice,
    Colours,
    Posed,
    Problem,
    balance_in_colours,
    pose,
)
from falloff.balance.words import listed
from falloff.camera import read_still
from falloff.camera.atomic_write import write_whole
from falloff.document import (
    Edit,
    SceneDocument,
    checksum_of,
    edit_text,
    parse_document,
    read_document,
    read_text,
    replace_file,
)
from falloff.errors import DocumentError, Fault
from falloff.findings import Finding, Weight
from falloff.layers import LightLayers, cached_layers
from falloff.session.answer_edits import edits_of
from falloff.session.scene import Arrangement, Scene, known_names, scene_of, setup_light
from falloff.session.still import StillAsked, StillTargets, still_edits, targets_from_still
from falloff.transport import Progress, silent


@dataclass(frozen=True, slots=True)
class Group:
    """Setups that share their dims, with their light, the problem and its answer.

    edits: of the scene file, that make the answer so; colours: that the answer gives, by light.
    """

    posed: tuple[Posed, ...]
    problem: Problem
    result: Balance
    edits: tuple[Edit, ...]
    colours: Colours

    @property
    def setups(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(one.setup for one in self.posed)


@dataclass(frozen=True, slots=True)
class Balanced:
    """A scene balanced: a group for each arrangement, or each setup; the file written, if any."""

    document: SceneDocument
    groups: tuple[Group, ...]
    written: Path | None = None
    still: StillTargets | None = None


@dataclass(frozen=True, slots=True)
class FromStill:
    """A picture that one owns, the curve it is on, and its places by the scene's readings.

    curve: as of `read_still`, its usual one where None; places: shares of width and height from the
    upper left corner; alike: readings whose surface in the still is of the scene's kind; graded:
    whether a look was put on it, as is usual for the curve where None.
    """

    path: Path
    places: Mapping[str, tuple[float, float]]
    curve: str | None = None
    alike: tuple[str, ...] = ()
    graded: bool | None = None


@dataclass(frozen=True, slots=True)
class BalanceAsked:
    """What is asked of a balance.

    setups: all where none is named; each: every setup has dims of its own; only: targets by name,
    all where none; still: a picture whose places become targets first, and then those alone are
    asked for unless others are named; out: another file that the scene with its answer is written
    to; write: into the scene's own.
    """

    setups: tuple[str, ...] = ()
    each: bool = False
    only: tuple[str, ...] = ()
    still: FromStill | None = None
    out: Path | None = None
    write: bool = False


def run_balance(
    path: Path, asked: BalanceAsked | None = None, *, progress: Progress = silent
) -> Balanced:
    """Trace a scene (or find it traced) and bring its targets in.

    Setups in which everything stands alike are balanced together, with one dim for each light,
    unless each is asked for. Raises what reading and building find wrong, and DocumentError for a
    target that is not there.
    """
    asked = asked or BalanceAsked()
    document = read_document(path, known=known_names())
    made: StillTargets | None = None
    first: tuple[Edit, ...] = ()
    if asked.still is not None:
        made, first = _from_still(document, asked.still)
        text = edit_text(read_text(path), first)
        document = parse_document(text, str(path), known=known_names())
    scene = scene_of(document, asked.setups)
    _check_targets(document, asked.only)
    only = asked.only
    if made is not None and not only:
        only = tuple(one.target for one in made.targets if one.yaml is not None)
    groups = _groups_of(
        [
            posed
            for standing in scene.arrangements
            for posed in _groups(standing, standing_layers(standing, progress), each=asked.each)
        ],
        only=only or None,
    )
    edits = [*first, *edits_of(document, *(group.result for group in groups))]
    written = write_scene(path, edits, out=asked.out, write=asked.write)
    return Balanced(document, tuple(_in_order(scene, groups)), written, made)


def _from_still(document: SceneDocument, asked: FromStill) -> tuple[StillTargets, tuple[Edit, ...]]:
    """What the places of a still became, and the edits that make them targets of the scene."""
    still = read_still(asked.path, asked.curve, graded=asked.graded)
    made = targets_from_still(document, still, asked.places, asked=StillAsked(alike=asked.alike))
    edits = still_edits(document, made)
    if not edits:
        raise DocumentError(
            Fault(
                "no place of this still becomes a target",
                str(asked.path),
                found="; ".join(one.says for one in made.targets),
                fix="name places that a reading of the scene lies on, such as the cheeks of a face",
            )
        )
    return made, edits


def standing_layers(standing: Arrangement, progress: Progress) -> LightLayers:
    """An arrangement's light at its readings, traced or from the cache."""
    return cached_layers(standing.stage, sizes={}, progress=progress)[0]


def posed_setup(standing: Arrangement, setup: str, layers: LightLayers) -> Posed:
    """One setup of an arrangement with its light."""
    return Posed(standing.document, setup, setup_light(standing.document, setup), layers)


def _groups(standing: Arrangement, layers: LightLayers, *, each: bool) -> list[tuple[Posed, ...]]:
    posed = tuple(posed_setup(standing, name, layers) for name in standing.setups)
    return [(one,) for one in posed] if each else [posed]


def _groups_of(posed: Sequence[tuple[Posed, ...]], *, only: Sequence[str] | None) -> list[Group]:
    """Each group balanced; a light has one colour in all, that the first gives it that asks."""
    decided: dict[str, ColourChoice] = {}
    found: list[Group] = []
    for one in posed:
        group = group_of(one, only=only, colours=decided)
        decided |= group.colours
        found.append(group)
    return [
        group
        if all(name in group.colours or not _has(group, name) for name in decided)
        else group_of(group.posed, only=only, colours=decided)
        for group in found
    ]


def _has(group: Group, name: str) -> bool:
    """Whether a light shines in a group's setups."""
    return any(lever.source == name and lever.free for lever in group.problem.levers)


def group_of(
    posed: tuple[Posed, ...],
    *,
    only: Sequence[str] | None = None,
    colours: Colours = MappingProxyType({}),
) -> Group:
    """Setups balanced with one dim for each light; only: targets by name, all where None.

    colours: of lights that have had theirs chosen.
    """
    wanted = None if only is None else {one.setup: only for one in posed}
    problem = pose(posed, only=wanted)
    result, chosen = balance_in_colours(problem, colours)
    document = posed[0].document
    others = [name for name in document.setups if name not in result.setups]
    notes = [
        Finding(
            weight=Weight.NOTE,
            about=one.source,
            says=f"{one.source} {one.colour}: a light has one colour in every setup, so "
            f"{listed(others)} {'has' if len(others) == 1 else 'have'} it too",
            do="balance all setups at once, or add a light of its own for the colour",
        )
        for one in result.dims
        if one.colour and others and one.source not in colours
    ]
    result = replace_fields(result, findings=(*result.findings, *notes))
    return Group(posed, problem, result, edits_of(document, result), chosen)


def _in_order(scene: Scene, groups: list[Group]) -> list[Group]:
    return sorted(groups, key=lambda group: scene.setups.index(group.setups[0]))


def place_of(written: str) -> tuple[str, tuple[float, float]]:
    """A place of a still as it is typed, "key cheek: 0.42, 0.31". Raises DocumentError."""
    name, _, numbers = written.rpartition(":")
    try:
        x, y = (float(part) for part in numbers.split(","))
    except ValueError:
        x = y = math.nan
    if not name.strip() or not (math.isfinite(x) and math.isfinite(y)):
        raise DocumentError(
            Fault(
                "this is no place of a still",
                "--place",
                expected="a reading, and how far across and down it lies, as shares of the picture",
                found=written,
                fix='write it like --place "key cheek: 0.42, 0.31"',
            )
        )
    return name.strip(), (x, y)


def _check_targets(document: SceneDocument, only: Sequence[str]) -> None:
    unknown = [name for name in only if name not in document.targets]
    if unknown:
        raise DocumentError(
            *(
                Fault(
                    what=f"there is no target called {name!r}",
                    where=document.file_name,
                    expected="one of " + ", ".join(document.targets),
                )
                for name in unknown
            )
        )


# The scene file ------------------------------------------------------------------------


def write_scene(path: Path, edits: Sequence[Edit], *, out: Path | None, write: bool) -> Path | None:
    """Write a scene with edits: to another file, or in place; None where neither is asked for.

    The edited scene is read before anything is written, so that a bad one never is. Raises
    DocumentError and OutputError; another file is not written over the scene's own unasked.
    """
    if out is None and not write:
        return None
    text = read_text(path)
    edited = edit_text(text, edits)
    parse_document(edited, str(path if out is None else out), known=known_names())
    if out is None:
        replace_file(path, edited, unchanged=checksum_of(text))
        return path
    write_whole(out, lambda part: _write(part, edited))
    return out


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
