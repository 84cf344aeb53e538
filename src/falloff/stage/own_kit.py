"""Things of the kit that a scene names: of one's own kit file where it names one, else generic."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from falloff.document import KitLight
from falloff.errors import FalloffError, GeometryError
from falloff.findings import Finding
from falloff.kit import Fabric, Fixture, Gel, Modifier, OwnedItem, OwnKit, own_line, read_own_kit
from falloff.kit.catalogue import find_as
from falloff.stage.places import Placer

_One = TypeVar("_One", Fixture, Modifier, Gel, Fabric)


def kit_item(placer: Placer, path: tuple[str | int, ...], cls: type[_One], name: str) -> _One:
    """A thing of the kit by its name, one's own first; raises GeometryError that points at it."""
    owned = owned_line(placer, name)
    if owned is not None and isinstance(owned.item, cls):
        return owned.item
    try:
        return find_as(cls, name)
    except FalloffError as error:
        raise placed(placer, path, error, rather=_hint(placer, name)) from error


def owned_line(placer: Placer, name: str) -> OwnedItem | None:
    """The line of the scene's own kit with that name; raises GeometryError for a bad kit file."""
    file = _own_kit_path(placer)
    if file is None:
        return None
    return own_line(_read(file, file.stat().st_mtime_ns), name)


def own_file(placer: Placer, light: KitLight) -> tuple[Path, Fixture, bool] | None:
    """The photometric file that an item of one's own was read from, if it is used bare.

    Its path, the item, and whether the file is still the one that was read.
    """
    owned, kit = owned_line(placer, light.kit), _own_kit_path(placer)
    if owned is None or kit is None or light.modifier or light.beam is not None:
        return None
    if not isinstance(owned.item, Fixture) or not owned.item.photometric_file:
        return None
    file = kit.parent / owned.item.photometric_file
    if not file.exists():
        return None
    read = hashlib.sha256(file.read_bytes()).hexdigest()
    return file, owned.item, read == owned.item.photometric_sha256


def _own_kit_path(placer: Placer) -> Path | None:
    """Where the scene's own kit file is, if it names one; raises GeometryError if it is not."""
    named = placer.document.own_kit
    if named is None:
        return None
    file = Path(placer.document.path).parent / named
    if not file.is_file():
        raise placer.fault(
            ("own_kit",),
            what="there is no such kit file",
            expected="a NAME.kit.toml beside the scene, or in a folder there",
            found=named,
            fix="check its name, or make it: falloff kit import ... --own van.kit.toml",
        )
    return file


def measured_findings(placer: Placer, name: str) -> tuple[Finding, ...]:
    """What was measured of an item of one's own, and how far it is from the catalogue's."""
    owned = owned_line(placer, name)
    return () if owned is None else owned.findings


def placed(
    placer: Placer,
    path: tuple[str | int, ...],
    error: FalloffError,
    *,
    fix: str = "",
    rather: str = "",
) -> GeometryError:
    """The faults of an error, pointing at a place in the file.

    fix: what to do where they do not say it; rather: in place of what they say.
    """
    faults = (
        placer.fault_at(
            path,
            what=one.what,
            expected=one.expected,
            found=one.found,
            fix=rather or one.fix or fix,
        )
        for one in error.faults
    )
    return GeometryError(*faults)


@lru_cache(maxsize=8)
def _read(file: Path, _stamp: int) -> OwnKit:
    return read_own_kit(file)


def _hint(placer: Placer, name: str) -> str:
    """What to do about a name that a kit file beside the scene has, which the scene leaves out."""
    if placer.document.own_kit is not None:
        return ""
    for file in sorted(Path(placer.document.path).parent.glob("*.kit.toml")):
        try:
            kit = _read(file, file.stat().st_mtime_ns)
        except (FalloffError, OSError):
            continue
        if own_line(kit, name) is not None:
            return f"it is of {file.name}: add `own_kit: {file.name}` to the scene"
    return ""
