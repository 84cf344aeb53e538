"""Changes that an answer asks for: many dims at once, and edits told to a window and sent back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from falloff.document import Add, Edit, KeyPath, Put, Remove, Rewrite, dim_written, quoted, scalar
from falloff.page.told import cannot
from falloff.page.worked import Worked

Made = tuple[list[Edit], str]
_KINDS: Final[Mapping[str, type[Put | Add | Rewrite]]] = {
    "put": Put,
    "add": Add,
    "rewrite": Rewrite,
}
_MOST_NAMED: Final = 3


def dims_set(worked: Worked, change: Mapping[str, Any]) -> Made:
    """Dims of several lights, in the setup that is looked at or in all that are named."""
    knobs = {str(name): float(knob) for name, knob in dict(change["knobs"]).items()}
    for name, knob in knobs.items():
        worked.light(name)
        if not 0.0 <= knob <= 1.0:
            raise cannot(f"a dim lies between 0 and 100 %, not at {100.0 * knob:g} %")
    setups = [str(one) for one in change.get("setups") or (worked.setup,)]
    for setup in setups:
        if setup not in worked.document.setups:
            raise cannot(f"there is no setup {setup} in the scene any more")
    edits = [edit for setup in setups for edit in _dims_of(worked, setup, knobs, setups)]
    named = ", ".join(f"{name} at {dim_written(knob)}" for name, knob in knobs.items())
    if len(knobs) > _MOST_NAMED:
        named = f"{len(knobs)} dims"
    return edits, str(change.get("label") or named)


def _dims_of(
    worked: Worked, setup: str, knobs: Mapping[str, float], setups: list[str]
) -> list[Edit]:
    """One setup's dims; what it has from another that is set as well is left to that."""
    at: KeyPath = ("setups", setup, "dims")
    told = {
        name: dim_written(knob)
        for name, knob in knobs.items()
        if worked.wrote((*at, name)) or not _has_from(worked, setup, name, setups)
    }
    if worked.wrote(at):
        return [worked.put_or_add(at, name, text) for name, text in told.items()]
    inside = ", ".join(f"{quoted(name)}: {scalar(text)}" for name, text in told.items())
    return [Add(at, f"{{{inside}}}")] if told else []


def _has_from(worked: Worked, setup: str, source: str, setups: list[str]) -> bool:
    like = worked.document.setups[setup].like
    while like is not None:
        if like in setups:
            return True
        if worked.wrote(("setups", like, "dims", source)):
            return False
        like = worked.document.setups[like].like
    return False


def edits_made(_: Worked, change: Mapping[str, Any]) -> Made:
    """The edits of an answer, as `edits_told` told them."""
    return [_edit(*one) for one in change["edits"]], str(change["label"])


def _edit(kind: str, path: Any, text: str = "") -> Edit:
    at = tuple(part if isinstance(part, int) else str(part) for part in path)
    if not at:
        raise cannot("an edit names no key")
    if kind == "remove":
        return Remove(at)
    if kind not in _KINDS:
        raise cannot(f"there is no edit called {kind!r}")
    return _KINDS[kind](at, str(text))


def edits_told(edits: Iterable[Edit]) -> list[list[Any]]:
    """Edits as a window holds them until somebody wants them made: [kind, path, text]."""
    told: list[list[Any]] = []
    for edit in edits:
        match edit:
            case Put(path, text):
                told.append(["put", list(path), text])
            case Add(path, text):
                told.append(["add", list(path), text])
            case Rewrite(path, text):
                told.append(["rewrite", list(path), text])
            case Remove(path):
                told.append(["remove", list(path)])
    return told
