"""The scene file with a package in it: what stands at each place, dims, circuits, exposure."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from falloff.document import (
    Add,
    Edit,
    GelFigures,
    KeyPath,
    KitLight,
    Quantity,
    Remove,
    Rewrite,
    SceneDocument,
    checksum_of,
    edit_text,
    edit_tree,
    parse_document,
    parse_tree,
    put_or_add,
    quoted,
    read_text,
    rewrite_or_add,
    scalar,
)
from falloff.document import Fixture as SceneFixture
from falloff.document.tree import Node, compose_text
from falloff.errors import DocumentError
from falloff.session.scene import known_names

# Keys of a fixture's entry that tell what it is, not where it stands.
_OF_FORM: Final = (
    "light", "kit", "modifier", "beam", "size", "shape", "depth", "opening", "crate", "profile",
    "aperture", "spot", "flood", "barndoors", "edge", "shutters", "length", "diameter", "file",
    "lamp_set", "output", "colour", "power", "gels", "dimming", "warms",
)  # fmt: skip
_KEPT_AS_WRITTEN: Final = ("crate", "barndoors", "edge", "shutters")


@dataclass(frozen=True, slots=True)
class EditedScene:
    """A scene with edits that are not written yet: its text and tree as read, and what it says now.

    The tree is edited at once; the text, which takes a second, when it is asked for.
    """

    text: str
    root: Node
    edits: tuple[Edit, ...]
    document: SceneDocument

    def with_edits(self, edits: Sequence[Edit]) -> EditedScene:
        """The scene with more edits; raises DocumentError where it would have faults."""
        root = edit_tree(self.root, edits)
        read = parse_tree(root, self.document.path, known=known_names())
        return EditedScene(self.text, root, (*self.edits, *edits), read)

    def written(self) -> str:
        """The text with all edits, read once more."""
        text = edit_text(self.text, self.edits)
        parse_document(text, self.document.path, known=known_names())
        return text


def read_scene(path: str | Path) -> EditedScene:
    """A scene file without any edits; raises as reading it does."""
    text = read_text(path)
    root = compose_text(text, Path(path).name)
    known = known_names()
    document = parse_tree(root, path, known=known, checksum=checksum_of(text))
    return EditedScene(text, root, (), document)


def with_own_kit(scene: EditedScene, own: Path, *, at: Path | None = None) -> EditedScene:
    """The scene with another kit file beside it; at: where the scene is to lie, its own if None."""
    path = Path(scene.document.path) if at is None else at
    told = Path(os.path.relpath(own.resolve(), path.resolve().parent)).as_posix()
    return scene.with_edits([rewrite_or_add(scene.document, ("own_kit",), scalar(told))])


def beside(scene: EditedScene, out: Path) -> EditedScene:
    """The scene as it is written to another file: its kit file is named from there."""
    named = scene.document.own_kit
    here = Path(scene.document.path).resolve().parent
    if named is None or out.resolve().parent == here:
        return scene
    return with_own_kit(scene, here / named, at=out)


def with_package(
    scene: EditedScene,
    stands: Mapping[str, SceneFixture],
    circuits: Mapping[str, str],
    *,
    empty: Sequence[str],
) -> tuple[EditedScene, tuple[str, ...]]:
    """The scene with other lights at its places; also which could not be taken out.

    stands: by place; circuits: where they change; empty: places at which nothing is to stand. A
    light on which something else hangs cannot be taken out: it stays, and is to be dark.
    """
    document = scene.document
    edits: list[Edit] = []
    for name, fixture in stands.items():
        edits += _light_edits(document, name, fixture)
        if circuits.get(name):
            edits.append(put_or_add(document, ("fixtures", name), "circuit", circuits[name]))
    scene = scene.with_edits(edits)
    left = []
    for name in empty:
        try:
            scene = scene.with_edits(_taken_out(scene.document, name))
        except DocumentError:
            left.append(name)
    return scene, tuple(left)


def dim_edits(document: SceneDocument, setup: str, dims: Mapping[str, str]) -> list[Edit]:
    """Dims of a setup in its own words; all of them where it had them from another."""
    group: KeyPath = ("setups", setup, "dims")
    if document.seen.has(group):
        return [put_or_add(document, group, name, told) for name, told in dims.items()]
    whole = {name: knob.text for name, knob in document.setups[setup].dims.items()} | dict(dims)
    if not whole:
        return []
    inside = ", ".join(f"{quoted(name)}: {scalar(told)}" for name, told in whole.items())
    return [Add(group, f"{{{inside}}}")]


def _light_edits(document: SceneDocument, name: str, fixture: SceneFixture) -> list[Edit]:
    """A fixture's entry told as one of the kit; its place, aim, circuit and comments stay."""
    at: KeyPath = ("fixtures", name)
    light, was = fixture.light, document.fixtures[name]
    assert isinstance(light, KitLight)
    told = {"kit": scalar(light.kit)}
    if light.modifier:
        told["modifier"] = _listed(light.modifier)
    if light.beam is not None:
        told["beam"] = scalar(light.beam.text if isinstance(light.beam, Quantity) else light.beam)
    if fixture.colour is not None:
        told["colour"] = scalar(fixture.colour.text)
    kept = {
        key
        for key in _KEPT_AS_WRITTEN
        if getattr(light, key) is not None and document.seen.has((*at, key))
    }
    if fixture.xy is not None and fixture.xy == was.xy:
        kept.add("colour")
    elif fixture.xy is not None:
        x, y = fixture.xy
        told["colour"] = f"{{xy: [{x:.4f}, {y:.4f}]}}"
    if fixture.gels == was.gels:
        kept.add("gels")
    elif all(isinstance(one, str) for one in fixture.gels):
        told["gels"] = _listed(tuple(one for one in fixture.gels if isinstance(one, str)))
    else:
        told["gels"] = f"[{', '.join(_gel(one) for one in fixture.gels)}]"
    edits: list[Edit] = []
    for key in _OF_FORM:
        seen = document.seen.has((*at, key))
        if key in told:
            edits.append((Rewrite if seen else Add)((*at, key), told[key]))
    edits += [
        Remove((*at, key))
        for key in _OF_FORM
        if key not in told and key not in kept and document.seen.has((*at, key))
    ]
    return edits


def _gel(one: str | GelFigures) -> str:
    if isinstance(one, str):
        return scalar(one)
    return f"{{mired: {one.mired:g}, green: {one.green:g}, loss: {one.loss.text}}}"


def _listed(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"[{scalar(names[0])}]"
    return f"[{', '.join(scalar(one) for one in names)}]"


def _taken_out(document: SceneDocument, name: str) -> list[Edit]:
    """The edits that take a fixture out of the scene, and out of its setups."""
    edits = _without(document, ("fixtures",), name, len(document.fixtures))
    for setup, one in document.setups.items():
        at: KeyPath = ("setups", setup)
        for group, held in (("dims", one.dims), ("moved", one.moved)):
            edits += _without(document, (*at, group), name, len(held))
        if name in one.without and document.seen.has((*at, "without")):
            left = [scalar(other) for other in one.without if other != name]
            edits.append(Rewrite((*at, "without"), f"[{', '.join(left)}]"))
    return edits


def _without(document: SceneDocument, group: KeyPath, name: str, count: int) -> list[Edit]:
    """The edit that takes a key out of a group; the last one leaves it empty."""
    if not document.seen.has((*group, name)):
        return []
    return [Remove((*group, name)) if count > 1 else Rewrite(group, "{}")]
