"""Adding a key to a group and taking one out of it: every other character of the text stays.

Both work on the text by the positions of its tree, and then read what came out: where it says
anything but the old scene with that one change, the edit is refused.
"""

from __future__ import annotations

import itertools
import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from falloff.document.cursor import nearest_fix
from falloff.document.records import KeyPath, key_path_text
from falloff.document.taking import MARKS, is_flow, line_end, line_start, removals, value_end
from falloff.document.tree import Node, compose_text
from falloff.errors import DocumentError, Fault

_BREAK: Final = re.compile(r"\r\n|\n|\r")
_BY_HAND: Final = "edit it by hand in the file"
_USUAL_STEP: Final = 2


def add_entry(text: str, key_path: KeyPath, yaml_text: str) -> str:
    """The text with one more key in a group; every other character stays as it was.

    key_path: the new key and the groups it stands in; of these only a top-level section may be
    missing, and is then made. yaml_text: its value as YAML, on one line or as a block; it is
    indented like its neighbours, and stands after the last of them and that one's comments. In a
    group written in braces the value must be one that fits there. Raises DocumentError where the
    key is there already, where its group is not, where the value is not YAML or begins a line
    with a tab, and where the text cannot take it. Whether the scene allows the key is not judged
    here: parse the result.
    """
    root = compose_text(text, "scene")
    path = _told(key_path)
    value = composed_value(key_path, yaml_text, root)
    group, missing = _group_of(root, path, key_path)
    wanted = _with(root, path, value)
    for piece in _pieces(text, root, group, [*missing, path[-1]], _lines_of(yaml_text)):
        edited = text[: piece.at] + piece.text + text[piece.at :]
        if _reads_as(edited, wanted):
            return edited
    raise _refused(key_path, "this cannot be written here", group, _BY_HAND)


def remove_entry(text: str, key_path: KeyPath) -> str:
    """The text without one key; every other character stays as it was.

    Taken out are the key, its whole value with the comments inside it, and a comment at the end
    of its own line. Comment lines above it are kept, even where they speak of it. A group whose
    only key goes away goes with it, since a key with nothing below it says nothing; one written
    in braces stays as {}. Raises DocumentError where there is no such key, where it is an item of
    a list, and where nothing else would be left.
    """
    root = compose_text(text, "scene")
    path = _told(key_path)
    depth = _depth_of_removal(root, path, key_path, text)
    group = _down(root, path[: depth - 1], key_path)
    headers = [_entry(_down(root, path[:n], key_path), path[n], key_path)
               for n in range(depth - 1, len(path) - 1)]  # fmt: skip
    leaf = _entry(_down(root, path[:-1], key_path), path[-1], key_path)
    wanted = _without(root, path[:depth])
    for cuts in removals(text, group, leaf, headers):
        edited = text
        for start, end in sorted(cuts, reverse=True):
            edited = edited[:start] + edited[end:]
        if _reads_as(edited, wanted):
            return edited
    raise _refused(
        key_path, "this cannot be taken out without touching the rest", leaf[0], _BY_HAND
    )


def rewrite_entry(text: str, key_path: KeyPath, yaml_text: str) -> str:
    """The text with a key's whole value written anew; every other character stays as it was.

    The value may be a list or a group before and after; yaml_text is one line of YAML. A comment
    within the old value goes with it, one behind it stays. Raises DocumentError where there is no
    such key, where yaml_text is no YAML, and where the text cannot take it.
    """
    root = compose_text(text, "scene")
    path = _told(key_path)
    value = composed_value(key_path, yaml_text, root)
    wanted = with_value(root, path, value)
    _, old = _entry(_down(root, path[:-1], key_path), path[-1], key_path)
    lines = _lines_of(yaml_text)
    for written in _value_spellings(lines) if len(lines) == 1 and old.end > old.start else ():
        edited = text[: old.start] + written[0] + text[value_end(text, old) :]
        if _reads_as(edited, wanted):
            return edited
    raise _refused(key_path, "this cannot be written here", old, _BY_HAND)


def with_value(root: Node, key_path: KeyPath, value: Node) -> Node:
    """The tree with another value under a key; DocumentError as `rewrite_entry`."""
    path = _told(key_path)
    _entry(_down(root, path[:-1], key_path), path[-1], key_path)
    return _with(root, path, value)


def with_key(root: Node, key_path: KeyPath, value: Node) -> Node:
    """The tree with one more key; DocumentError as `add_entry`."""
    path = _told(key_path)
    _group_of(root, path, key_path)
    return _with(root, path, value)


def without_key(root: Node, key_path: KeyPath) -> Node:
    """The tree without one key; DocumentError as `remove_entry`, and where it is its group's last.

    What becomes of a group that is left empty hangs on how the text writes it: edit that.
    """
    path = _told(key_path)
    if _depth_of_removal(root, path, key_path, "") < len(path):
        raise _refused(key_path, "this is its group's last key", root, "edit the text")
    return _without(root, path)


# Finding ---------------------------------------------------------------------------------


def _depth_of_removal(root: Node, path: KeyPath, key_path: KeyPath, text: str) -> int:
    """How much of a path goes: with an only key goes its group, but for one in braces."""
    for depth in range(len(path), 0, -1):
        group = _down(root, path[: depth - 1], key_path)
        _entry(group, path[depth - 1], key_path[:depth])
        if len(group.entries) > 1 or (text and is_flow(text, group)):
            return depth
    raise _refused(key_path, "nothing else would be left", root, "keep one key at least")


def _told(key_path: KeyPath) -> KeyPath:
    """The path with names spelled as the tree spells them; a wall's own number is a text key."""
    return tuple(
        unicodedata.normalize("NFC", part) if isinstance(part, str) else part for part in key_path
    )


def _entry(group: Node, name: str | int, key_path: KeyPath) -> tuple[Node, Node]:
    """A key and its value; DocumentError where there is none."""
    if group.kind == "list":
        what = "this is an item of a list, not a key"
        raise _refused(key_path, what, group, "write the list anew")
    for key, value in group.entries:
        if key.value == str(name):
            return key, value
    what = f"there is no {key_path_text(key_path)!r} in the file"
    names = [key.value for key, _ in group.entries]
    raise _refused(key_path, what, group, nearest_fix(str(name), names))


def _down(root: Node, path: KeyPath, key_path: KeyPath) -> Node:
    """The value at a path; DocumentError where there is none."""
    node = root
    for depth, part in enumerate(path):
        if node.kind == "list" and isinstance(part, int) and 0 <= part < len(node.items):
            node = node.items[part]
        else:
            _, node = _entry(node, part, key_path[: depth + 1])
    return node


def _group_of(root: Node, path: KeyPath, key_path: KeyPath) -> tuple[Node, list[str | int]]:
    """The group the new key goes into, and the key of the section to be made, if it is missing."""
    if not path:
        raise _refused(key_path, "a key is needed", root, "name what to add")
    sections = {key.value for key, _ in root.entries}
    if len(path) == 2 and root.kind == "map" and str(path[0]) not in sections:
        return root, [path[0]]
    group = _down(root, path[:-1], key_path)
    if group.kind == "nothing" and len(path) > 1:
        return group, []
    if group.kind != "map":
        what = f"{key_path_text(key_path[:-1]) or 'the scene'!r} holds {group.called()}"
        raise _refused(key_path, what, group, "a key can be added to a group of keys only")
    if any(key.value == str(path[-1]) for key, _ in group.entries):
        what = f"there is a {key_path_text(key_path)!r} already"
        raise _refused(key_path, what, group, "choose another name, or change the one there")
    return group, []


def _refused(key_path: KeyPath, what: str, node: Node, fix: str) -> DocumentError:
    where = f"{key_path_text(key_path)}, line {node.line}, column {node.column}"
    return DocumentError(Fault(what, where, fix=fix, line=node.line, column=node.column))


# The new value ---------------------------------------------------------------------------


def composed_value(key_path: KeyPath, yaml_text: str, root: Node) -> Node:
    """A new key's value as a tree; DocumentError where the text is none."""
    lines = _lines_of(yaml_text)
    if all(not line or line.lstrip().startswith("#") for line in lines):
        raise _refused(key_path, "a key cannot be added with nothing", root, "give its value")
    if re.search(r"(?:^|[\r\n])[ ]*\t", yaml_text):
        raise _refused(key_path, "a tab cannot indent", root, "put spaces where the tab is")
    value = compose_text("\n".join(lines) + "\n", "the new value")
    if value.kind == "nothing":
        raise _refused(key_path, "a key cannot be added with nothing", root, "give its value")
    return value


def _lines_of(yaml_text: str) -> list[str]:
    """Its lines, without blank ones around them and without an indent that all of them share."""
    lines = [line.rstrip(" \t") for line in _BREAK.split(yaml_text)]
    while lines and not lines[0]:
        del lines[0]
    while lines and not lines[-1]:
        del lines[-1]
    shared = min((len(line) - len(line.lstrip(" ")) for line in lines if line), default=0)
    return [line[shared:] for line in lines]


# Adding ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Piece:
    """Characters to put into the text, and the index where."""

    at: int
    text: str


def _pieces(
    text: str, root: Node, group: Node, keys: list[str | int], lines: list[str]
) -> Iterator[_Piece]:
    """Ways to write the new key and its value: as plain as can be first."""
    names = [_spellings(str(key)) for key in keys]
    for (*sections, name), value in itertools.product(
        itertools.product(*names), _value_spellings(lines)
    ):
        if group.kind != "nothing" and is_flow(text, group):
            yield _flow_piece(text, group, [*sections, name], value)
        else:
            yield _block_piece(text, root, group, [*sections, name], value)


def _spellings(word: str) -> tuple[str, ...]:
    """A word plain, then in quotes."""
    return word, "'" + word.replace("'", "''") + "'", json.dumps(word, ensure_ascii=False)


def _value_spellings(lines: list[str]) -> Iterator[list[str]]:
    """The value as given, then in quotes, where a plain text does not fit into braces."""
    yield lines
    if len(lines) == 1 and " #" not in lines[0]:
        for way in _spellings(lines[0])[1:]:
            yield [way]


def _flow_piece(text: str, group: Node, names: list[str], lines: list[str]) -> _Piece:
    """Within braces: after the last key, before what closes them."""
    *sections, name = names
    written = f"{name}: {' '.join(line.strip() for line in lines)}"
    for section in reversed(sections):
        written = f"{section}: {{{written}}}"
    if group.entries:
        at = value_end(text, group.entries[-1][1])
        gap = " " if text[at - 1] == ":" else ""  # a colon with a comma behind it is a text
        return _Piece(at, f"{gap}, {written}")
    marks = MARKS.match(text, group.start)
    return _Piece((marks.end() if marks else group.start) + 1, written)


def _block_piece(text: str, root: Node, group: Node, names: list[str], lines: list[str]) -> _Piece:
    """On lines of its own: after the last key's value and the comments that are its group's."""
    step = _step(root)
    if group.kind == "nothing":
        at = line_end(text, value_end(text, group))
        indent = _indent_at(text, at) + step
    else:
        indent = group.entries[0][0].column - 1
        at = _after_comments(text, line_end(text, value_end(text, group)), indent)
    made: list[str] = []
    for depth, name in enumerate(names):
        made.append(" " * (indent + depth * step) + f"{name}:")
    inner = indent + (len(names) - 1) * step
    first, *others = lines
    if _is_block(lines):
        made += [" " * (inner + step) + line if line else "" for line in lines]
    else:
        made[-1] += f" {first}"
        made += [" " * (inner + step) + line if line else "" for line in others]
    eol = _eol(text, at)
    return _Piece(at, eol + eol.join(made))


def _is_block(lines: list[str]) -> bool:
    """Whether a value must begin on the line below its key: keys, dashes or a comment on lines."""
    node = compose_text("\n".join(lines) + "\n", "the new value")
    flow = lines[0].startswith(("{", "[", "!", "|", ">"))
    return lines[0].startswith("#") or (node.kind in {"map", "list"} and not flow)


def _step(root: Node) -> int:
    """How far the scene indents: the first section's keys against the section itself."""
    for key, value in root.entries:
        if value.entries and value.entries[0][0].line > key.line:
            return max(1, value.entries[0][0].column - key.column)
    return _USUAL_STEP


def _indent_at(text: str, index: int) -> int:
    start = line_start(text, index)
    return len(text[start:index]) - len(text[start:index].lstrip(" "))


def _after_comments(text: str, at: int, indent: int) -> int:
    """The end of the comment lines right below, those indented as far as the keys or farther."""
    below = re.compile(rf"(?:\r\n|\n|\r) {{{indent},}}#[^\r\n]*")
    while found := below.match(text, at):
        at = found.end()
    return at


def _eol(text: str, at: int) -> str:
    """How the line at an index ends, or else how the first line does."""
    found = _BREAK.match(text, at) or _BREAK.search(text)
    return found[0] if found else "\n"


# Reading what came out -------------------------------------------------------------------


def _with(node: Node, path: KeyPath, value: Node) -> Node:
    """The tree with one more key at the end of its group."""
    if not path:
        return value
    first, *rest = path
    if node.kind == "list" and isinstance(first, int):
        items = list(node.items)
        items[first] = _with(items[first], tuple(rest), value)
        return replace(node, items=tuple(items))
    entries = list(node.entries)
    for index, (key, below) in enumerate(entries):
        if key.value == str(first):
            entries[index] = (key, _with(below, tuple(rest), value))
            return replace(node, entries=tuple(entries))
    key = replace(value, kind="text", value=str(first), style="", items=(), entries=())
    made = replace(value, kind="map", value="", style="", items=(), entries=())
    entries.append((key, _with(made, tuple(rest), value)))
    return replace(node, kind="map", entries=tuple(entries))


def _without(node: Node, path: KeyPath) -> Node:
    """The tree without one key."""
    first, *rest = path
    if node.kind == "list" and isinstance(first, int):
        items = list(node.items)
        items[first] = _without(items[first], tuple(rest))
        return replace(node, items=tuple(items))
    entries = list(node.entries)
    index = next(n for n, (key, _) in enumerate(entries) if key.value == str(first))
    if rest:
        entries[index] = (entries[index][0], _without(entries[index][1], tuple(rest)))
    else:
        del entries[index]
    return replace(node, entries=tuple(entries))


def _reads_as(text: str, wanted: Node) -> bool:
    """Whether the text reads as that tree, places and ways of quoting apart."""
    try:
        return _said(compose_text(text, "scene")) == _said(wanted)
    except DocumentError:
        return False


def _said(node: Node) -> object:
    """What a tree says; a key is what it is called, unless it is nothing at all."""
    if node.kind == "map":
        return [(key.value, key.kind == "nothing", _said(value)) for key, value in node.entries]
    return (node.kind, node.value, [_said(item) for item in node.items])
