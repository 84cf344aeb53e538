"""Targets of kinds that the form of levels has no fields for: their keys as text, to be typed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from falloff.document import (
    Add,
    AnyTarget,
    ColourTarget,
    Edit,
    EvenTarget,
    HueTarget,
    KeepTarget,
    KeyPath,
    Put,
    Remove,
    SceneDocument,
    Target,
    ValueTarget,
    quoted,
    rewrite_or_add,
    scalar,
)
from falloff.page.told import cannot
from falloff.page.worked import Worked

_NEEDED: Final = ("level", "ratio", "value", "even", "colour", "mired", "hue")


def typed_of(document: SceneDocument, name: str) -> dict[str, str]:
    """A target's keys that a hand may type, as they are written or hold: {"even": "1/2 stop"}.

    "" for one that is left out and holds for nothing.
    """
    target = document.targets[name]
    ratio = document.seen.has(("targets", name, "ratio"))
    return _kind_of(target, ratio=ratio) | {"weight": f"{target.weight:g}"}


def _kind_of(target: AnyTarget, *, ratio: bool) -> dict[str, str]:
    match target:
        case Target():
            head = "ratio" if ratio else "level"
            limit, near = target.limit, target.tolerance.text
            return {head: target.level.text, "limit": limit, "tolerance": near}
        case ValueTarget():
            limit, near = target.limit, target.tolerance.text
            return {"value": target.value.text, "limit": limit, "tolerance": near}
        case EvenTarget():
            return {"even": target.within.text}
        case ColourTarget():
            return _colour(target)
        case HueTarget():
            pale = f"{target.saturation:g}"
            return {
                "hue": target.hue.text, "tolerance": target.tolerance.text, "saturation": pale,
            }  # fmt: skip
        case KeepTarget():
            return {"tolerance": target.tolerance.text}


def _colour(target: ColourTarget) -> dict[str, str]:
    if target.colour is not None:
        head = {"colour": target.colour.text}
    else:
        head = {"mired": f"{target.mired or 0.0:g}"}
    green = "" if target.green is None else f"{target.green:g} CC"
    near = "" if target.green is None else f"{target.green_tolerance:g} CC"
    return {
        **head, "tolerance": f"{target.tolerance:g} mired", "green": green, "green_tolerance": near,
    }  # fmt: skip


def target_typed(worked: Worked, change: Mapping[str, Any]) -> tuple[list[Edit], str]:
    """Keys of a target as somebody typed them; only those that say something else are written."""
    name, document = str(change["name"]), worked.document
    if name not in document.targets:
        raise cannot(f"there is no target {name} in the scene any more")
    at: KeyPath = ("targets", name)
    known = typed_of(document, name)
    edits: list[Edit] = []
    told: list[str] = []
    typed = dict(change.get("typed") or {})
    if "green" in typed and not str(typed["green"]).strip():
        typed["green_tolerance"] = ""
    for key, raw in typed.items():
        text = " ".join(str(raw).split())
        if key not in known:
            raise cannot(f"{name} has no {key} that can be typed", "change it in the scene file")
        if text == known[key]:
            continue
        path = (*at, key)
        told.append(f"{key.replace('_', ' ')} {text or 'left out'}")
        if text:
            edits.append(Put(path, text) if worked.wrote(path) else Add(path, scalar(text)))
        elif key in _NEEDED:
            raise cannot(f"{name} has to say what is wanted", f"give its {key}, or delete it")
        elif worked.wrote(path):
            edits.append(Remove(path))
    setups = change.get("setups")
    if setups is not None and tuple(setups) != document.targets[name].setups:
        path = (*at, "setups")
        inside = ", ".join(quoted(str(one)) for one in setups)
        told.append(f"in {', '.join(map(str, setups)) or 'every setup'}")
        edits.append(rewrite_or_add(document, path, f"[{inside}]") if setups else Remove(path))
    return edits, f"{name}: {', '.join(told)}"
