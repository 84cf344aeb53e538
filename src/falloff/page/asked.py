"""What is asked of a scene's light, answered in the worker: the answer in plain parts for a window.

Each answer says in `changes` what would make it so, and in `setups` which setups it is for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import msgspec

from falloff.balance import Balance, Posed, TargetGot
from falloff.document import Edit, SceneDocument
from falloff.layers import LightLayers
from falloff.page.answer_changes import edits_told
from falloff.page.places import cannot
from falloff.page.tasks import AskTask
from falloff.session.balance import Group, group_of
from falloff.session.scene import setup_light
from falloff.transport import Progress

Answer = dict[str, Any]
LayersOf = Callable[[str], LightLayers]
"""The light of an arrangement by its name; raises FalloffError where it cannot stand."""


@dataclass(frozen=True, slots=True)
class Desk:
    """What an answer is made of: the question, light by arrangement, a way to tell how far it is.

    beside: runs a sum beside the worker's other work and gives what it makes.
    """

    task: AskTask
    layers_of: LayersOf
    progress: Progress
    beside: Callable[[Callable[[], Any]], Any]

    def document(self, setup: str) -> SceneDocument:
        """The document as it stands in a setup."""
        return self.task.standing[self.task.plans[setup]]

    def posed(self, setup: str) -> Posed:
        """A setup with its light."""
        document = self.document(setup)
        layers = self.layers_of(self.task.plans[setup])
        return Posed(document, setup, setup_light(document, setup), layers)


def answer_to(desk: Desk) -> Answer:
    """The answer to a question; raises FalloffError where there is none."""
    found = _ANSWERS.get(desk.task.what)
    if found is None:
        raise cannot(f"nobody can be asked about {desk.task.what!r}")
    return {"what": desk.task.what, "setup": desk.task.setup, **found(desk)}


# Balance ---------------------------------------------------------------------------------


def _balance(desk: Desk) -> Answer:
    """asked: setups, those that share one dim for each light; only: targets, all where none."""
    setups = tuple(str(one) for one in desk.task.asked.get("setups") or (desk.task.setup,))
    only = [str(one) for one in desk.task.asked.get("only") or ()]
    posed = tuple(desk.posed(name) for name in setups)
    group: Group = desk.beside(lambda: group_of(posed, only=only or None))
    return balance_told(group.result, group.edits)


def balance_told(result: Balance, edits: tuple[Edit, ...]) -> Answer:
    """A balance as a window is told it; edits: that make it so."""
    return {
        "setups": list(result.setups),
        "says": list(result.says),
        "holds": result.holds,
        "targets": [_got(one) for one in result.targets],
        "dims": [msgspec.to_builtins(one) for one in result.dims],
        "exposures": [msgspec.to_builtins(one) for one in result.exposures],
        "findings": [msgspec.to_builtins(one) for one in result.findings],
        "changes": _changes(result, edits),
    }


def _got(one: TargetGot) -> Answer:
    return {
        "setup": one.setup,
        "name": one.name,
        "asks": one.got.asks,
        "before": one.before.got,
        "got": one.got.got,
        "held": one.before.holds,
        "holds": one.got.holds,
        "short": one.short,
        "margin": one.got.margin,
        "unit": one.got.unit,
        "binds": list(one.binds),
    }


def _changes(result: Balance, edits: tuple[Edit, ...]) -> list[Answer]:
    """Dims as one change where they are all there is; else the edits as they are."""
    knobs = {one.source: one.knob for one in result.dims if one.moved}
    plain = all(len(edit.key_path) > 2 and edit.key_path[2] == "dims" for edit in edits)
    label = f"balanced {', '.join(result.setups)}"
    if not edits:
        return []
    if plain:
        return [{"do": "dims", "knobs": knobs, "setups": list(result.setups), "label": label}]
    return [{"do": "edits", "label": label, "edits": edits_told(edits)}]


_ANSWERS: Final[Mapping[str, Callable[[Desk], Answer]]] = {
    "balance": _balance,
}
