"""The document as it stands in one setup: some things stand elsewhere, some are not there."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from typing import Any, Final

import msgspec

from falloff.document.cursor import nearest_fix
from falloff.document.instants import at_hour, hour_in
from falloff.document.records import (
    CameraAim,
    KeyPath,
    NamedAim,
    NamedPlace,
    OnPlace,
    PlaceAim,
    Quantity,
    ReadingWanted,
    RelativePlace,
    SceneDocument,
    Setup,
    key_path_text,
)
from falloff.document.sections import MOVABLE_SECTIONS
from falloff.document.wanted import readings_in
from falloff.errors import DocumentError, Fault

Things = Mapping[str, Mapping[str, Any]]  # records by section and name
_HANGS: Final = {
    "at": "is placed by",
    "aim": "is aimed at",
    "facing": "faces",
    "gaze": "looks at",
}


def arranged(document: SceneDocument, setup_name: str) -> SceneDocument:
    """The document as it stands in one setup.

    What the setup moves has its new place, aim and facing; what it is without is gone, and so are
    the cameras of other setups, readings, targets and measurements that hang on it; who looks into
    the camera looks into this setup's. Of the setups, those of the same arrangement remain, and
    of the targets those that are wanted in one of them.
    Raises DocumentError where there is no such setup, and where something that is there is placed
    by, aimed at or turned to something that is gone.
    """
    same = arrangement_key(document, setup_name)
    alike = [name for name in document.setups if arrangement_key(document, name) == same]
    things = _things(document)
    faults = [
        _fault(document, path, what, fix)
        for name in alike
        for path, what, fix in left_hanging(things, name, wrote=document.seen.has)
    ]
    if faults:
        raise DocumentError(*faults)
    setup = document.setups[setup_name]
    readings = _readings_in(things, setup)
    sky = document.sky
    if sky is not None and setup.at is not None:
        hour = hour_in(sky, setup)
        sky = sky if hour is None else at_hour(sky, hour)
    return msgspec.structs.replace(
        document,
        **standing_in(things, setup),
        sky=sky,
        setups={name: _settled(document.setups[name], readings) for name in alike},
        readings=readings,
        targets={
            name: one
            for name, one in document.targets.items()
            if readings.keys() >= set(readings_in(one))
            and (not one.setups or not set(alike).isdisjoint(one.setups))
        },
        measured={
            name: one
            for name, one in document.measured.items()
            if one.reading in readings
            and (one.setup is None or one.setup in alike)
            and not set(one.lit or ()) & set(setup.without)
        },
    )


def arrangement_key(document: SceneDocument, setup_name: str) -> Hashable:
    """Equal for setups in which everything stands alike, however their file says it.

    Raises DocumentError where there is no such setup.
    """
    setup = _setup(document, setup_name)
    things = _things(document)
    standing = standing_in(things, setup)
    different = [
        (name, _plain(one))
        for section in MOVABLE_SECTIONS
        for name, one in standing[section].items()
        if one is not things[section][name] and _plain(one) != _plain(things[section][name])
    ]
    return (tuple(sorted(different)), frozenset(setup.without), hour_in(document.sky, setup))


# What stands in a setup ------------------------------------------------------------------


def standing_in(things: Things, setup: Setup) -> dict[str, dict[str, Any]]:
    """The things of a setup: moved as it says, without those it is without.

    Cameras that hang on what is gone are gone too.
    """
    standing = {
        section: {
            name: _moved(one, setup, name)
            for name, one in things[section].items()
            if name not in setup.without
        }
        for section in MOVABLE_SECTIONS
    }
    gone = gone_in(things, setup)
    standing["cameras"] = {name: one for name, one in things["cameras"].items() if name not in gone}
    return standing


def gone_in(things: Things, setup: Setup) -> set[str]:
    """What is not there in a setup, other setups' cameras that hang on such things included."""
    gone = set(setup.without)
    others = {name: one for name, one in things["cameras"].items() if name != setup.camera}
    while gone:
        more = {
            name
            for name, one in others.items()
            if name not in gone and any(other in gone for _, other in names_in(one))
        }
        if not more:
            break
        gone |= more
    return gone


def _moved(one: Any, setup: Setup, name: str) -> Any:
    changes: dict[str, Any] = {}
    if name in setup.moved:
        fields = msgspec.structs.asdict(setup.moved[name]).items()
        changes = {key: value for key, value in fields if value is not None and hasattr(one, key)}
    if isinstance(getattr(one, "gaze", None), CameraAim):
        changes["gaze"] = NamedAim(setup.camera)
    return msgspec.structs.replace(one, **changes) if changes else one


def names_in(one: Any) -> Iterator[tuple[str, str]]:
    """What a record's place, aim, facing and gaze name, each with its key."""
    for key in ("at", "to"):
        at = getattr(one, key, None)
        if isinstance(at, RelativePlace):
            yield key, at.from_name
        elif isinstance(at, OnPlace):
            yield key, at.on
        elif isinstance(at, NamedPlace):
            yield key, at.name
    for key in ("aim", "gaze"):
        aim = getattr(one, key, None)
        if isinstance(aim, NamedAim):
            yield key, aim.name
        elif isinstance(aim, PlaceAim) and isinstance(aim.at, RelativePlace):
            yield key, aim.at.from_name
        elif isinstance(aim, PlaceAim) and isinstance(aim.at, OnPlace):
            yield key, aim.at.on
    facing = getattr(one, "facing", None)
    if isinstance(facing, str):
        yield "facing", facing


def left_hanging(
    things: Things, setup_name: str, *, wrote: Callable[[KeyPath], bool]
) -> list[tuple[KeyPath, str, str]]:
    """What is there in a setup though what it hangs on is not: key path, fault and fix of each.

    wrote: whether the file itself has a key path.
    """
    setups: Mapping[str, Setup] = things["setups"]
    setup = setups[setup_name]
    gone = gone_in(things, setup)
    found = []
    for section, named in standing_in(things, setup).items():
        for name, one in named.items():
            if section == "cameras" and name != setup.camera:
                continue
            fix = f"move {name} in this setup, or add it to `without`"
            fix = "give this setup another camera" if section == "cameras" else fix
            for key, other in names_in(one):
                if other in gone:
                    path = written_at(setups, setup_name, (section, name, key), wrote)
                    what = f"{name} {_HANGS[key]} {other}, which is not there in {setup_name}"
                    found.append((path, what, fix))
    key_path = ("setups", setup_name, "key")
    reading = things["readings"].get(setup.key) if setup.key else None
    for _, other in names_in(reading):
        if other in gone and wrote(key_path):
            what = f"the key reading hangs on {other}, which is not there in {setup_name}"
            found.append((key_path, what, "name another reading as key"))
    return found


def written_at(
    setups: Mapping[str, Setup],
    setup_name: str,
    key_path: KeyPath,
    wrote: Callable[[KeyPath], bool],
) -> KeyPath:
    """Where a thing's key was written that holds in a setup: moved in it, or in one it is like."""
    _, name, key = key_path
    like: str | None = setup_name
    while like is not None:
        path = ("setups", like, "moved", name, key)
        if wrote(path):
            return path
        like = setups[like].like
    return key_path


# Parts -----------------------------------------------------------------------------------


def _things(document: SceneDocument) -> Things:
    return {
        section: getattr(document, section)
        for section in (*MOVABLE_SECTIONS, "cameras", "setups", "readings")
    }


def _setup(document: SceneDocument, setup_name: str) -> Setup:
    if setup_name in document.setups:
        return document.setups[setup_name]
    fix = nearest_fix(setup_name, document.setups)
    what = f"there is no setup {setup_name!r}"
    raise DocumentError(Fault(what, document.file_name, fix=fix))


def _fault(document: SceneDocument, path: KeyPath, what: str, fix: str) -> Fault:
    line, column = document.position_of(path)
    where = f"{document.file_name}, line {line}, column {column} ({key_path_text(path)})"
    return Fault(what, where, fix=fix, line=line, column=column)


def _readings_in(things: Things, setup: Setup) -> dict[str, ReadingWanted]:
    """The readings that hang on nothing that is gone."""
    gone = gone_in(things, setup)
    return {
        name: one
        for name, one in things["readings"].items()
        if gone.isdisjoint(other for _, other in names_in(one))
    }


def _settled(setup: Setup, readings: Mapping[str, ReadingWanted]) -> Setup:
    """A setup of the document as it stands in it: nothing moves, no dim or key of what is gone."""
    dims = {name: dim for name, dim in setup.dims.items() if name not in setup.without}
    key = setup.key if setup.key in readings else None
    return msgspec.structs.replace(setup, dims=dims, key=key, moved={}, without=())


def _plain(value: Any) -> Hashable:
    """A record as nested tuples, quantities as their numbers however they were written."""
    if isinstance(value, Quantity):
        return value.si
    if isinstance(value, msgspec.Struct):
        fields = msgspec.structs.asdict(value).items()
        return (type(value).__name__, *((name, _plain(one)) for name, one in fields))
    if isinstance(value, Mapping):
        return tuple((name, _plain(one)) for name, one in value.items())
    if isinstance(value, tuple):
        return tuple(_plain(one) for one in value)
    assert isinstance(value, Hashable)
    return value
