"""A change that a hand asks for, as edits of the scene file and as a label for the list of steps.

docs/page.md lists the changes. Every one names things as the scene does; a change that cannot be
made is refused with a DocumentError whose sentence a person can act on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final, TypeAlias

from falloff.document import (
    Add,
    Edit,
    KeyPath,
    Put,
    Quantity,
    Remove,
    Rewrite,
    SceneDocument,
    dim_written,
    quoted,
    reading_of,
    readings_in,
)
from falloff.page.add import added, duplicated
from falloff.page.answer_changes import dims_set, edits_made
from falloff.page.hour_changes import date_set, hour_set, located, sky_set
from falloff.page.rooms import corner_moved, dressed, opening_changed, wall_moved
from falloff.page.target_typed import target_typed
from falloff.page.targets import target_gone, target_set
from falloff.page.told import cannot
from falloff.page.turning import aimed, placed, turned
from falloff.page.worked import Worked
from falloff.stage.moving import length

Change: TypeAlias = Mapping[str, Any]
Made: TypeAlias = tuple[list[Edit], str]


def edits_of(
    document: SceneDocument, setup: str, change: Change, *, text: Callable[[], str]
) -> Made:
    """The edits of one change under a setup, and its label.

    text: gives the file's text where a change has to copy some of it. Raises DocumentError for a
    change that is unknown, incomplete or impossible.
    """
    do = _CHANGES.get(str(change.get("do")))
    if do is None:
        raise cannot(f"there is no change called {change.get('do')!r}")
    for key, value in change.items():
        if isinstance(value, float) and not math.isfinite(value):
            raise cannot(f"{key} of the change {change['do']!r} is no number")
    if setup not in document.setups:
        raise cannot(f"there is no setup {setup} in the scene any more")
    worked = Worked(document, setup, text)
    try:
        return do(worked, change)
    except KeyError as error:
        raise cannot(f"the change {change['do']!r} lacks {error}") from error
    except (TypeError, ValueError, OverflowError, AttributeError, IndexError) as error:
        raise cannot(f"the change {change['do']!r} cannot be read: {error}") from error


# Light -----------------------------------------------------------------------------------


def _dim(worked: Worked, change: Change) -> Made:
    name, knob = str(change["source"]), float(change["knob"])
    if not 0.0 <= knob <= 1.0:
        raise cannot(f"a dim lies between 0 and 100 %, not at {100.0 * knob:g} %")
    worked.light(name)
    told = dim_written(knob)
    return [worked.put_or_add(("setups", worked.setup, "dims"), name, told)], f"{name} at {told}"


def _colour(worked: Worked, change: Change) -> Made:
    name, kelvin = str(change["source"]), float(change["kelvin"])
    section, _ = worked.light(name)
    path: KeyPath = (section, name, "colour")
    told = f"{round(kelvin / 50.0) * 50} K"
    edit: Edit = worked.put_or_add(path[:-1], "colour", told)
    if worked.wrote((*path, "kelvin")):
        edit = Put((*path, "kelvin"), told)
    elif worked.wrote((*path, "xy")):
        edit = Rewrite(path, told)
    return [edit], f"{name} to {told}"


# Camera ----------------------------------------------------------------------------------

_SETTINGS: Final = {
    "stop": "stop",
    "iso": "ISO",
    "shutter": "shutter",
    "nd": "ND",
    "balance": "white balance",
    "fps": "frame rate",
    "camera": "camera",
    "key": "key reading",
    "highlight": "highlight limit",
    "shadow": "shadow limit",
}


def _setting(worked: Worked, change: Change) -> Made:
    key, told = str(change["key"]), str(change["text"]).strip()
    if key not in _SETTINGS:
        raise cannot(f"a setup has no setting {key!r}", f"one of {', '.join(_SETTINGS)}")
    edit = worked.put_or_add(("setups", worked.setup), key, told)
    return [edit], f"{_SETTINGS[key]} {told}"


# Things ----------------------------------------------------------------------------------


def _delete(worked: Worked, change: Change) -> Made:
    document = worked.document
    point = str(change["name"])
    name = reading_of(document, point) or point
    section = worked.section_of(name)
    edits: list[Edit] = []
    for setup, one in document.setups.items():
        for group in ("dims", "moved"):
            path = ("setups", setup, group, name)
            if worked.wrote(path):
                edits.append(Remove(path))
        if name in one.without and worked.wrote(("setups", setup, "without")):
            left = [quoted(other) for other in one.without if other != name]
            edits.append(Rewrite(("setups", setup, "without"), f"[{', '.join(left)}]"))
        if section == "readings" and one.key == name and worked.wrote(("setups", setup, "key")):
            edits.append(Remove(("setups", setup, "key")))
    if section == "readings":
        edits += [
            Remove(("targets", target))
            for target, wanted in document.targets.items()
            if name in readings_in(wanted)
        ]
    edits.append(Remove((section, name)))
    return edits, f"{name} taken away" if name == point else f"{name} taken away, all its points"


def _reading(worked: Worked, change: Change) -> Made:
    document = worked.document
    name = worked.free_name(str(change.get("name") or "reading"))
    place = ", ".join(length(float(change[key]), document) for key in ("x_m", "y_m", "z_m"))
    parts = [f"at: [{place}]"]
    instrument = str(change.get("instrument") or "flat")
    if instrument != "flat":
        parts.append(f"instrument: {instrument}")
    if change.get("aim"):
        parts.append(f"aim: {quoted(str(change['aim']))}")
    elif change.get("normal") and instrument == "flat":
        told = ", ".join(f"{float(one):.4g}" for one in change["normal"])
        parts.append(f"normal: [{told}]")
    return [Add(("readings", name), f"{{{', '.join(parts)}}}")], f"reading {name}"


def _setup_like(worked: Worked, change: Change) -> Made:
    like = str(change.get("like") or worked.setup)
    name = str(change["name"]).strip()
    if not name:
        raise cannot("a setup needs a name")
    if name in worked.document.setups:
        raise cannot(f"there is a setup {name} already", "give it another name")
    return [Add(("setups", name), f"{{like: {quoted(like)}}}")], f"setup {name}"


# Any value -------------------------------------------------------------------------------


def _put(worked: Worked, change: Change) -> Made:
    path = _path(change)
    if "length_m" in change:
        told = length(float(change["length_m"]), worked.document, _written(worked.document, path))
        return [Put(path, told)], f"{path[1]} {path[2]} {told}"
    told = str(change["text"])
    edit = Put(path, told) if worked.wrote(path) else Add(path, told)
    return [edit], f"{path[-1]} {told}"


def _written(document: SceneDocument, path: KeyPath) -> Quantity | None:
    """The size that a thing has at a key path now, so that a new one is written in its unit."""
    section, name, key, *index = path
    thing = getattr(document, str(section))[name]
    for holder in (thing, getattr(thing, "light", None), getattr(thing, "shape", None)):
        found = getattr(holder, str(key), None)
        for part in index:
            found = found[int(part)] if isinstance(found, tuple) else None
        if isinstance(found, Quantity):
            return found
    return None


def _entry(_: Worked, change: Change) -> Made:
    path = _path(change)
    return [Add(path, str(change["yaml"]))], f"{path[-1]} added"


def _remove(_: Worked, change: Change) -> Made:
    path = _path(change)
    return [Remove(path)], f"{path[-1]} taken out"


def _path(change: Change) -> KeyPath:
    path = tuple(part if isinstance(part, int) else str(part) for part in change["path"])
    if not path:
        raise cannot(f"the change {change['do']!r} names no key")
    return path


_CHANGES: Final[Mapping[str, Callable[[Worked, Change], Made]]] = {
    "dim": _dim,
    "dims": dims_set,
    "edits": edits_made,
    "colour": _colour,
    "setting": _setting,
    "place": placed,
    "aim": aimed,
    "turn": turned,
    "add": added,
    "duplicate": duplicated,
    "delete": _delete,
    "corner": corner_moved,
    "wall": wall_moved,
    "opening": opening_changed,
    "dressing": dressed,
    "hour": hour_set,
    "date": date_set,
    "sky": sky_set,
    "located": located,
    "reading": _reading,
    "target": target_set,
    "retarget": target_typed,
    "untarget": target_gone,
    "setup": _setup_like,
    "put": _put,
    "entry": _entry,
    "remove": _remove,
}
