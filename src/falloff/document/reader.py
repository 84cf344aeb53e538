"""read_document: a scene file -> SceneDocument, or one DocumentError with all its faults."""

from __future__ import annotations

import contextlib
import hashlib
from pathlib import Path
from typing import Any, Final

from falloff.document.circles import check_circles
from falloff.document.cursor import Cursor, Gathered, Unread
from falloff.document.draft import Draft
from falloff.document.forward import FORMAT_VERSION, read_forward
from falloff.document.instants import check_instants
from falloff.document.known import KnownNames
from falloff.document.likes import filled_in
from falloff.document.records import SceneDocument
from falloff.document.references import check_references
from falloff.document.room_checks import check_rooms
from falloff.document.sections import (
    NAMED_SECTIONS,
    OPEN_AIR,
    PLACED_SECTIONS,
    ROOM_VALUE,
    SINGLE_SECTIONS,
)
from falloff.document.setup_checks import check_setups
from falloff.document.target_checks import check_targets
from falloff.document.tree import Node, compose_text, positions_of
from falloff.document.values import Value, choice, text_value, whole
from falloff.errors import DocumentError, Fault

VERSION: Final = FORMAT_VERSION
_RESERVED: Final = ("down", "camera", "square")
_HEAD: Final[dict[str, tuple[Value[Any], str]]] = {
    "falloff": (whole(1, 10_000, "2"), "falloff: 2"),
    "title": (text_value("Kitchen by day", "a title"), "title: Kitchen by day"),
    "units": (choice(["metric", "imperial"], "units"), "units: metric"),
    "room": (ROOM_VALUE, "room:"),
}
TOP_KEYS: Final = (*_HEAD, *SINGLE_SECTIONS, *NAMED_SECTIONS)


def read_document(path: str | Path, *, known: KnownNames | None = None) -> SceneDocument:
    """The scene in a file, checked as far as no geometry engine is needed.

    known: the catalogue's names, against which materials, figures and beam profiles are checked;
    what is None in it is not checked here. Raises DocumentError with every fault found, each with
    line, column and key path. Valid for UTF-8 files of the scene formats 1 to VERSION.
    """
    return parse_document(read_text(path), path, known=known)


def parse_document(
    text: str, path: str | Path = "scene", *, known: KnownNames | None = None
) -> SceneDocument:
    """The scene in a text; `path` names it in faults; raises as read_document does."""
    root = compose_text(text, Path(path).name)
    return parse_tree(root, path, known=known, checksum=checksum_of(text))


def parse_tree(
    root: Node, path: str | Path = "scene", *, known: KnownNames | None = None, checksum: str = ""
) -> SceneDocument:
    """The scene that a tree says; `path` names it in faults; raises as read_document does.

    checksum: of the text that the tree was composed from, "" where there is none yet.
    """
    gathered = Gathered(Path(path).name, known or KnownNames())
    top = Cursor(read_forward(root), (), gathered)
    if root.kind != "map":
        top.fault(
            "a scene is a group of keys",
            expected="keys such as falloff, title and room",
            found=root.called(),
            fix="start with `falloff: 2`, `title: ...` and `room:`",
        )
        gathered.raise_any()
    draft = _read_sections(top, top.entries())
    draft.records["setups"] = filled_in(draft.records["setups"])
    _check_names(draft)
    check_rooms(draft)
    check_references(draft)
    check_setups(draft)
    check_targets(draft)
    check_instants(draft)
    check_circles(draft)
    gathered.raise_any()
    return _document(draft, path, root, checksum)


def read_text(path: str | Path) -> str:
    """The text of a scene file, line ends as they are; DocumentError where there is none."""
    name = Path(path).name or str(path)
    try:
        return Path(path).read_bytes().decode("utf-8")
    except UnicodeDecodeError as error:
        before = error.object[: error.start]
        line, column = before.count(b"\n") + 1, error.start - before.rfind(b"\n")
        raise DocumentError(
            Fault(
                "this is not UTF-8 text",
                f"{name}, line {line}, byte {column}",
                found=f"byte 0x{error.object[error.start]:02X}",
                fix="save it as UTF-8 in the editor",
                line=line,
                column=column,
            )
        ) from error
    except FileNotFoundError as error:
        fix = "check its name and folder"
        raise DocumentError(Fault("there is no such file", str(path), fix=fix)) from error
    except IsADirectoryError as error:
        fix = "name the scene file in it"
        raise DocumentError(
            Fault("this is a folder, not a scene file", str(path), fix=fix)
        ) from error
    except PermissionError as error:
        what = "this is a folder" if Path(path).is_dir() else "this file may not be read"
        fix = "ask for the right to read it"
        raise DocumentError(Fault(what, str(path), fix=fix)) from error
    except (OSError, ValueError) as error:
        raise DocumentError(Fault(f"this file cannot be read: {error}", str(path))) from error


def checksum_of(text: str) -> str:
    """SHA-256 of the text's UTF-8 bytes, in hex."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def _read_sections(top: Cursor, entries: dict[str, Cursor]) -> Draft:
    version = entries.get("falloff")
    meant = top.refuse_unknown(entries, TOP_KEYS, "a scene")
    draft = Draft(top.gathered)
    for key, (value, line) in _HEAD.items():
        if key not in entries:
            if key not in meant:
                top.fault(f"a scene needs {key!r}", fix=f"add `{line}`")
            continue
        try:
            read = value.read(entries[key])
        except Unread:
            continue
        draft.cursors[(key,)] = entries[key]
        if key == "room":
            draft.room = read
        if key != "falloff":
            draft.head[key] = read
        elif version is not None and read != VERSION:
            fix = "read it with a Falloff that knows this format"
            expected = f"1 to {VERSION}"
            version.fault("unknown format", expected=expected, found=str(read), fix=fix)
    for section, value in SINGLE_SECTIONS.items():
        if section in entries:
            draft.cursors[(section,)] = entries[section]
            with contextlib.suppress(Unread):
                draft.singles[section] = value.read(entries[section])
    for section, value in NAMED_SECTIONS.items():
        if section in entries:
            _read_named(draft, section, entries[section], value)
    return draft


def _read_named(draft: Draft, section: str, cursor: Cursor, value: Value[Any]) -> None:
    draft.cursors[(section,)] = cursor
    try:
        entries = cursor.entries()
    except Unread:
        draft.unread.add(section)
        return
    for name, one in entries.items():
        draft.cursors[(section, name)] = one
        draft.names[section].append(name)
        try:
            draft.records[section][name] = value.read(one)
        except Unread:
            continue


def _document(draft: Draft, path: str | Path, root: Node, checksum: str) -> SceneDocument:
    fields: dict[str, Any] = draft.head | draft.singles | draft.records
    version = next(node.value for key, node in root.entries if key.value == "falloff")
    return SceneDocument(
        path=str(path),
        version=int(version),
        seen=positions_of(root),
        checksum=checksum,
        **fields,
    )


def _check_names(draft: Draft) -> None:
    """Names that would be ambiguous in an aim, and names given twice across sections."""
    owner: dict[str, str] = {}
    for section, names in draft.names.items():
        for name in names:
            cursor = draft.cursors[(section, name)]
            if not name.strip() or (cursor.key is not None and cursor.key.kind == "nothing"):
                cursor.fault("a name is empty", fix="give it a name")
            if section == "rooms" and name == OPEN_AIR:
                fix = "call it something else: a door to `outside` leads into the open air"
                cursor.fault(f"{name!r} cannot be a room's name", fix=fix)
            if section not in PLACED_SECTIONS:
                continue
            if "." in name or name in _RESERVED or name != name.strip():
                what = f"{name!r} cannot be a name"
                fix = "a name has no full stop, and is not down, camera or square"
                cursor.fault(what, fix=fix)
            if name in owner:
                what = f"{name!r} names two things"
                cursor.fault(what, found=f"also in {owner[name]}", fix="rename one of them")
            owner.setdefault(name, section)
