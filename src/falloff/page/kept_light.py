"""The last full light of a scene, kept on disk: the next time, its picture is there at once."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Final

import msgspec
import numpy as np

from falloff import __version__
from falloff.document import MeshFile, SceneDocument, WebFile
from falloff.page.stored import Stored, key_of
from falloff.readings import ReadingsMatrix

_MOST_BYTES: Final = 400_000_000
_FORMAT: Final = "page light 3"
# What light does not hang on, or what is applied after it.
_NOT_LIGHT: Final = (
    "title", "units", "setups", "targets", "measured", "house_power", "seen", "checksum", "path",
    "version",
)  # fmt: skip


def light_key(standing: SceneDocument, camera: str, width: int) -> str:
    """A name made of all that a camera's layers depend on, and of how they are kept."""
    content = msgspec.msgpack.encode([_FORMAT, __version__, camera, width, light_fields(standing)])
    return key_of(content + "".join(_files(standing)).encode())


def _files(standing: SceneDocument) -> Iterator[str]:
    """What stands in the files that a scene names: names of their contents."""
    lights = (*standing.fixtures.values(), *standing.practicals.values())
    for one in (*standing.props.values(), *lights):
        for part in (getattr(one, "shape", None), getattr(one, "light", None)):
            if isinstance(part, MeshFile | WebFile):
                with contextlib.suppress(OSError):
                    yield key_of((Path(standing.path).parent / part.file).read_bytes())


def light_fields(standing: SceneDocument) -> dict[str, Any]:
    """The parts of a document that its light hangs on."""
    return {
        name: getattr(standing, name)
        for name in standing.__struct_fields__
        if name not in _NOT_LIGHT
    }


class _Head(msgspec.Struct):
    """What stands before the contents in a kept file."""

    light: dict[str, Any]
    matrix: ReadingsMatrix
    keys: list[str]
    sizes: list[int]


def _unpacked(content: bytes) -> tuple[_Head, list[bytes]] | None:
    """What a kept file holds; None where it is damaged."""
    try:
        long = int.from_bytes(content[:8], "little")
        head = msgspec.msgpack.decode(content[8 : 8 + long], type=_Head)
        ends = np.cumsum([8 + long, *head.sizes]).tolist()
        parts = [content[a:b] for a, b in pairwise(ends)]
        whole = ends[-1] == len(content) and [key_of(part) for part in parts] == head.keys
    except (ValueError, OverflowError, msgspec.DecodeError):
        return None
    return (head, parts) if whole else None


@dataclass(frozen=True, slots=True)
class KeptLight:
    """A folder of kept light, capped in size; folder: another place, for tests."""

    folder: Path | None = None

    def read(self, key: str, stored: Stored) -> tuple[dict[str, Any], ReadingsMatrix] | None:
        """The light of this name, its contents put into the store; None where there is none.

        A damaged file is taken away, so that it can be written anew.
        """
        path = self._path(key)
        try:
            content = path.read_bytes()
        except OSError:
            return None
        found = _unpacked(content)
        if found is None:
            with contextlib.suppress(OSError):
                path.unlink()
            return None
        head, parts = found
        for name, part in zip(head.keys, parts, strict=True):
            stored.put(part, key=name)
        return head.light, head.matrix

    def write(
        self, key: str, light: dict[str, Any], matrix: ReadingsMatrix, *, stored: Stored
    ) -> None:
        """Keep some light; where it cannot be written, nothing happens."""
        path = self._path(key)
        if path.exists():
            with contextlib.suppress(OSError):
                path.touch()
            return
        keys = [one[part] for one in light["layers"].values() for part in ("sum", "direct")]
        keys.append(light["ground"])
        contents = [stored.get(name) for name in keys]
        parts = [found[0] for found in contents if found is not None]
        if len(parts) != len(keys):
            return
        head = msgspec.msgpack.encode(_Head(light, matrix, keys, [len(part) for part in parts]))
        with contextlib.suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(len(head).to_bytes(8, "little"))
                    file.write(head)
                    file.writelines(parts)
                Path(part).replace(path)
            finally:
                Path(part).unlink(missing_ok=True)
            self._trim(path)

    def _path(self, key: str) -> Path:
        from platformdirs import user_cache_path

        return (self.folder or user_cache_path("falloff") / "page") / f"{key}.light"

    def _trim(self, newest: Path) -> None:
        files = sorted(newest.parent.glob("*.light"), key=lambda one: -one.stat().st_mtime)
        held = 0
        for one in files:
            held += one.stat().st_size
            if held > _MOST_BYTES and one != newest:
                one.unlink(missing_ok=True)
