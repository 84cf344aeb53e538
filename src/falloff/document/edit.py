"""Editing a scene file: one value is rewritten, added or taken out, every other byte stays."""

from __future__ import annotations

import contextlib
import json
import os
import re
import shutil
import tempfile
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Final

from falloff.document.cursor import nearest_fix
from falloff.document.entries import add_entry, remove_entry
from falloff.document.known import KnownNames
from falloff.document.reader import checksum_of, parse_document, read_text
from falloff.document.records import KeyPath, SceneDocument, key_path_text
from falloff.document.taking import value_end
from falloff.document.tree import Node, compose_text, flattened
from falloff.errors import DocumentError, Fault, OutputError

_MARKS = re.compile(r"!\S*\s+")


def write_value(
    document: SceneDocument, key_path: KeyPath, new_text: str, *, known: KnownNames | None = None
) -> SceneDocument:
    """Write one scalar of the document's file anew; the document as it then stands.

    The file is replaced whole (temporary file, fsync, os.replace), so that a reader sees the old
    or the new one. Raises DocumentError where the file has changed since it was read, where the
    key is not there, or where the new scene would have faults (then nothing is written);
    OutputError where the file cannot be written.
    """
    return _written(document, lambda text: edit_document(text, key_path, new_text), known)


def write_entry(
    document: SceneDocument, key_path: KeyPath, yaml_text: str, *, known: KnownNames | None = None
) -> SceneDocument:
    """Add a key with its value to a group of the document's file; the document as it then stands.

    What is added and where is as in `add_entry`; the file is written, and refused, as by
    `write_value`. Raises DocumentError and OutputError as both do.
    """
    return _written(document, lambda text: add_entry(text, key_path, yaml_text), known)


def take_out(
    document: SceneDocument, key_path: KeyPath, *, known: KnownNames | None = None
) -> SceneDocument:
    """Remove a key with its value from the document's file; the document as it then stands.

    What goes and what is kept is as in `remove_entry`; the file is written, and refused, as by
    `write_value`. Raises DocumentError and OutputError as both do.
    """
    return _written(document, lambda text: remove_entry(text, key_path), known)


def _written(
    document: SceneDocument, edit: Callable[[str], str], known: KnownNames | None
) -> SceneDocument:
    """The document's file edited, if it is still as it was read and stays a good scene."""
    text = read_text(document.path)
    if checksum_of(text) != document.checksum:
        what = "the file has changed on disk since it was read"
        fix = "read it again, then edit"
        raise DocumentError(Fault(what, document.path, fix=fix))
    edited = edit(text)
    read = parse_document(edited, document.path, known=known)
    replace_file(Path(document.path), edited, unchanged=document.checksum)
    return read


def edit_document(text: str, key_path: KeyPath, new_value: str) -> str:
    """The text with the scalar at key_path replaced; every other character stays as it was.

    Quotes are kept, or put where the new value needs them. Raises DocumentError where there is no
    such key, where it holds a list or a group, or where it is written over several lines. The new
    value is not judged here: parse the result.
    """
    return edit_scalars(text, {key_path: new_value})


# Such a text reads as itself wherever a plain one stood: a number with its unit, a stop.
_SURE: Final = re.compile(r"(?=[^0-9]*[0-9])[+-]?[0-9A-Za-z.]+(?: [0-9A-Za-z.%]+)*")


def edit_scalars(text: str, values: Mapping[KeyPath, str]) -> str:
    """The text with several scalars replaced, as `edit_document` does one; the text is read twice.

    Where they cannot all be written as plainly as that, they are written one after the other.
    """
    root = compose_text(text, "scene")
    found = {path: _writable(root, path, value) for path, value in values.items()}
    wanted = {
        tuple(str(part) for part in path): unicodedata.normalize("NFC", value.strip())
        for path, value in values.items()
    }
    edited = text
    for path, node in sorted(found.items(), key=lambda item: -item[1].start):
        edited = _spliced(edited, node, next(_spellings(values[path].strip(), node.style)))
    if _changes_only(root, edited, wanted):
        return edited
    for path, value in values.items():
        text = _edit_one(text, path, value.strip())
    return text


def splice_scalars(text: str, root: Node, values: Mapping[KeyPath, str]) -> tuple[str, Node] | None:
    """The text with numbers and their units put for plain scalars, and its tree, unread.

    root: the tree of the text. None where a value or what it replaces is not as plain as that:
    then `edit_scalars` has to look. Lines and columns in the tree stay those of the old text.
    """
    cuts: list[tuple[int, int, str]] = []
    for path, value in values.items():
        node = find_node(root, path)
        plain = node.kind in {"text", "number"} and node.style == "" and node.start < node.end
        bare = plain and text[node.start : node.end] == node.value
        if not bare or not _SURE.fullmatch(value.strip()):
            return None
        cuts.append((node.start, node.end, value.strip()))
    cuts.sort()
    edited, last = [], 0
    for start, end, value in cuts:
        edited += [text[last:start], value]
        last = end
    edited.append(text[last:])
    return "".join(edited), _shifted(root, cuts)


def _shifted(node: Node, cuts: list[tuple[int, int, str]]) -> Node:
    """A node where it stands after cuts were made before it, in it or behind it."""
    value = node.value
    before = within = 0
    touched = False
    for start, end, new in cuts:
        longer = len(new) - (end - start)
        if end <= node.start and (start, end) != (node.start, node.end):
            before += longer
        elif start >= node.start and end <= node.end:
            within, touched = within + longer, True
            value = new if not node.entries and not node.items else value
    if before == 0 and not touched:
        return node
    return replace(
        node,
        start=node.start + before,
        end=node.end + before + within,
        value=value,
        items=tuple(_shifted(one, cuts) for one in node.items),
        entries=tuple((_shifted(key, cuts), _shifted(one, cuts)) for key, one in node.entries),
    )


def _writable(root: Node, key_path: KeyPath, new_value: str) -> Node:
    node = find_node(root, key_path)
    if not new_value.strip() or node.style in {"|", ">"}:
        many = node.style in {"|", ">"}
        what = "a text over several lines" if many else "a value cannot be replaced by nothing"
        raise refused_edit(key_path, what, node)
    return node


def _edit_one(text: str, key_path: KeyPath, new_value: str) -> str:
    root = compose_text(text, "scene")
    node = _writable(root, key_path, new_value)
    wanted = {tuple(str(p) for p in key_path): unicodedata.normalize("NFC", new_value)}
    for written in _spellings(new_value, node.style):
        edited = _spliced(text, node, written)
        if _changes_only(root, edited, wanted):
            return edited
    raise refused_edit(key_path, f"{new_value!r} cannot be written here", node, "edit it by hand")


def find_node(root: Node, key_path: KeyPath) -> Node:
    """The scalar at a key path; DocumentError where there is none."""
    node = root
    for depth, part in enumerate(key_path):
        below = _below(node)
        name = unicodedata.normalize("NFC", part) if isinstance(part, str) else part
        # a wall's own number is a key in the text and an int in the records
        found = below.get(name, below.get(str(name)))
        if found is None:
            names = [str(one) for one in below]
            what = f"there is no {key_path_text(key_path[: depth + 1])!r} in the file"
            raise refused_edit(key_path, what, node, nearest_fix(str(name), names))
        node = found
    if node.kind in {"list", "map"}:
        raise refused_edit(key_path, f"this holds {node.called()}", node, "name one value in it")
    return node


def _below(node: Node) -> dict[str | int, Node]:
    if node.kind == "list":
        return dict(enumerate(node.items))
    return {key.value: value for key, value in node.entries}


def _spellings(value: str, style: str) -> Iterator[str]:
    """Ways to write a scalar: as it was quoted before, plain, then with quotes."""
    single = "'" + value.replace("'", "''") + "'"
    double = json.dumps(value, ensure_ascii=False)
    ways = {"'": single, '"': double, "": value}
    yield ways[style]
    yield from (way for mark, way in ways.items() if mark != style)


def _spliced(text: str, node: Node, written: str) -> str:
    old = text[node.start : node.end]
    marks = _MARKS.match(old)
    start = node.start + (marks.end() if marks else 0) if old else value_end(text, node)
    gap = (
        " "
        if (start == node.end or not old) and start > 0 and not text[start - 1].isspace()
        else ""
    )
    return text[:start] + gap + written + text[node.end if old else start :]


def _changes_only(root: Node, edited: str, wanted: Mapping[tuple[str, ...], str]) -> bool:
    """Whether the edited text reads as the old one but for those scalars (paths as texts)."""
    try:
        after = list(flattened(compose_text(edited, "scene")))
    except DocumentError:
        return False
    before = list(flattened(root))
    if len(before) != len(after):
        return False
    for (path, old), (new_path, new) in zip(before, after, strict=True):
        target = wanted.get(tuple(str(part) for part in path))
        value = old.value if target is None else target
        if path != new_path or new.value != value:
            return False
        if new.kind != old.kind if target is None else new.kind == "nothing":
            return False
    return True


def refused_edit(
    key_path: KeyPath, what: str, node: Node, fix: str = "edit it by hand in the file"
) -> DocumentError:
    """The error of an edit that cannot be made, at its place."""
    where = f"{key_path_text(key_path)}, line {node.line}, column {node.column}"
    return DocumentError(Fault(what, where, fix=fix, line=node.line, column=node.column))


def replace_file(path: Path, text: str, *, unchanged: str) -> None:
    """Put the new text in the file's place, keeping its rights; a link's target is replaced.

    unchanged: the checksum that the file must still have. Raises DocumentError where it has another
    and OutputError where it cannot be written; a reader sees the old text or the new one.
    """
    target = path.resolve()
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(text.encode("utf-8"))
            stream.flush()
            os.fsync(stream.fileno())
        shutil.copymode(target, temporary)
        if checksum_of(read_text(target)) != unchanged:
            what = "the file has changed on disk since it was read"
            raise DocumentError(Fault(what, str(path), fix="read it again, then edit"))
        os.replace(temporary, target)
        temporary = ""
        _sync_folder(target.parent)
    except OSError as error:
        fix = "check the folder's rights and its free space"
        raise OutputError(Fault(f"cannot write: {error.strerror}", str(path), fix=fix)) from error
    finally:
        if temporary:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def _sync_folder(folder: Path) -> None:
    """Make the new name durable, where the system lets one open a folder."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
