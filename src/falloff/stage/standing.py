"""A scene that is being worked on: built once, then only what a hand has touched is built anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from falloff.document import (
    NamedAim,
    NamedPlace,
    OnPlace,
    PlaceAim,
    RelativePlace,
    SceneDocument,
)
from falloff.errors import Fault
from falloff.findings import Finding
from falloff.sources import SKY, SUN, Source
from falloff.stage.build import (
    CROWDED,
    build_pieces,
    finish_stage,
    is_crowded,
    stage_findings,
)
from falloff.stage.grain import Grain, coarse_things
from falloff.stage.guard import impossible
from falloff.stage.places import Placer
from falloff.stage.probes import place_probes
from falloff.stage.records import Piece, Stage
from falloff.stage.rooms import fitting_grain

# What every piece may depend on: a change of these builds all anew.
_EVERYWHERE: Final = (
    "room", "rooms", "openings", "materials", "sky", "outside", "own_kit", "profiles", "path",
)  # fmt: skip
_THINGS: Final = ("props", "subjects", "fixtures", "practicals", "grip", "cameras")


@dataclass(frozen=True, slots=True)
class Standing:
    """A document and its stage, with the pieces that it was joined from.

    crowded: whether things are so many that they were cut coarsely.
    """

    document: SceneDocument
    grain: Grain
    pieces: tuple[Piece, ...]
    sources: tuple[Source, ...]
    stage: Stage
    crowded: bool = False

    def skies(self) -> tuple[Source, ...]:
        """The light of openings and of the sun."""
        return tuple(one for one in self.sources if one.kind in {SKY, SUN})


def stand(document: SceneDocument, *, before: Standing | None = None) -> Standing:
    """The stage of a document as it stands in one setup, what has not changed taken from before.

    Equal to `build_stage(document, guarded=False)`. Raises GeometryError where things cannot be
    built as written; whether they stand in one another is asked by `judge`.
    """
    placer = Placer(document)
    kept = None if before is None else _kept(before, document)
    grain = fitting_grain(placer, None) if before is None or kept is None else before.grain
    skies = None if before is None or kept is None else before.skies()
    pieces, sources = build_pieces(placer, grain, kept=kept, skies=skies)
    crowded = is_crowded(pieces)
    if crowded:
        pieces, sources = build_pieces(placer, coarse_things(grain))
    stage = finish_stage(placer, pieces, sources)
    return Standing(document, grain, tuple(pieces), tuple(sources), stage, crowded)


def judge(standing: Standing) -> tuple[tuple[Fault, ...], tuple[Finding, ...]]:
    """What is impossible in a stage as it stands, and what a person should know of it."""
    placer = Placer(standing.document)
    faults = impossible(placer, list(standing.pieces), place_probes(placer))
    if faults:
        return tuple(faults), ()
    return (), (*stage_findings(placer), *((CROWDED,) if standing.crowded else ()))


def _kept(
    before: Standing, document: SceneDocument
) -> dict[str, tuple[Piece, Source | None]] | None:
    """The pieces that stay as they were, by name; None where everything may have changed."""
    old = before.document
    if any(getattr(old, part) != getattr(document, part) for part in _EVERYWHERE):
        return None
    if before.crowded:  # its pieces are coarse, and fewer things may be cut finely again
        return None
    touched = touched_names(old, document)
    lit = {source.name: source for source in before.sources}
    room, *others = before.pieces
    kept: dict[str, tuple[Piece, Source | None]] = {"": (room, None)}
    kept |= {
        piece.name: (piece, lit.get(piece.name)) for piece in others if piece.name not in touched
    }
    return kept


def touched_names(old: SceneDocument, new: SceneDocument) -> set[str]:
    """Things whose records differ, and all that is placed by them or turned to them."""
    things = {name: one for section in _THINGS for name, one in getattr(new, section).items()}
    earlier = {name: one for section in _THINGS for name, one in getattr(old, section).items()}
    touched = {name for name, one in things.items() if earlier.get(name) != one}
    touched |= set(earlier) - set(things)
    lights = {*new.fixtures, *old.fixtures}  # by these it is told which cheek is the key side
    while True:
        more = {
            name
            for name, one in things.items()
            if name not in touched
            and (not touched.isdisjoint(_leans_on(one)) or (touched & lights and _by_key_side(one)))
        }
        if not more:
            return touched
        touched |= more


def _leans_on(one: object) -> Iterator[str]:
    """Names that a record's place, aim, facing and gaze depend on."""
    for field in ("at", "aim", "gaze", "facing"):
        value = getattr(one, field, None)
        value = value.at if isinstance(value, PlaceAim) else value
        match value:
            case RelativePlace(from_name=name):
                yield name
            case OnPlace(on=name):
                yield name
            case NamedPlace(name=name) | NamedAim(name=name):
                yield name
            case str() if field == "facing":
                yield value
            case _:
                continue


def _by_key_side(one: object) -> bool:
    """Whether a record looks at a cheek that is named by the key's side."""
    aims = (getattr(one, "aim", None), getattr(one, "gaze", None))
    sides = {"cheek_key", "cheek_shadow"}
    return any(isinstance(aim, NamedAim) and aim.place in sides for aim in aims)
