"""YAML text -> a tree of nodes that know where they were written.

The tree comes from the YAML composer, before any value is made: a number keeps its digits as
written, and every scalar knows its first and last character, which is what an edit replaces.
Shared values (anchors and aliases) are refused, so that one place in the text is one value.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal

from falloff.document.records import KeyPath, Positions, pointer
from falloff.errors import DocumentError, Fault

if TYPE_CHECKING:
    from ruamel.yaml.error import YAMLError

MOST_CHARACTERS: Final = 2_000_000
MOST_BRACKETS: Final = 100  # inside one another; a scene needs four

NodeKind = Literal["text", "number", "flag", "nothing", "list", "map"]
_TAGS: Final[dict[str, NodeKind]] = {
    "tag:yaml.org,2002:str": "text",
    "tag:yaml.org,2002:int": "number",
    "tag:yaml.org,2002:float": "number",
    "tag:yaml.org,2002:bool": "flag",
    "tag:yaml.org,2002:null": "nothing",
    "tag:yaml.org,2002:seq": "list",
    "tag:yaml.org,2002:map": "map",
    "tag:yaml.org,2002:timestamp": "text",
    "tag:yaml.org,2002:merge": "text",
    "tag:yaml.org,2002:value": "text",
}
_CURES: Final = {
    "mapping values are not allowed": (
        "start a new line for each key, or put quotes round a text that holds a colon"
    ),
    "cannot start any token": (
        "put spaces where a tab is, and quotes round a text that begins with a mark"
    ),
    "expected ',' or": "close the bracket, or put a comma between the parts",
    "expected <block end>": "give all keys of one level the same indent",
    "could not find expected ':'": "put a colon and a space after each key",
    "unexpected end of stream": "close the quotes",
    "single document": "keep one scene to a file: take out the line that is only ---",
}


@dataclass(frozen=True, slots=True)
class Node:
    """A value of the document: its kind, raw text or parts, and where it stands.

    line and column count from 1; start and end are character indices into the whole text.
    style is the quote or block mark of a scalar, "" where it is plain.
    """

    kind: NodeKind
    line: int
    column: int
    start: int
    end: int
    value: str = ""
    style: str = ""
    items: tuple[Node, ...] = ()
    entries: tuple[tuple[Node, Node], ...] = ()

    def called(self) -> str:
        """What it is, in words, for the "found" of a fault."""
        words = {"list": "a list", "map": "a group of keys", "nothing": "nothing"}
        return words.get(self.kind, self.value)


def compose_text(text: str, file_name: str) -> Node:
    """The root node of a YAML text; DocumentError (with line and column) where it is not YAML."""
    bom = len(text) - len(text.removeprefix("\ufeff"))
    if len(text) > MOST_CHARACTERS:
        raise _not_yaml(file_name, 1, 1, "this is too long for a scene", f"{len(text)} characters")
    try:
        if _open_brackets(text) > MOST_BRACKETS:
            raise RecursionError  # noqa: TRY301  as deep brackets would do by themselves
        root = _composed(text[bom:], file_name)
        if root is None or (root.value == "" and root.tag.endswith("null")):
            fix = "start with `falloff: 2`, `title: ...` and `room:`"
            raise _not_yaml(file_name, 1, 1, "the document is empty", fix=fix)
        return _converted(root, file_name, bom, set())
    except RecursionError:
        raise _not_yaml(file_name, 1, 1, "too many brackets stand inside one another") from None


def _open_brackets(text: str) -> int:
    """How many brackets are open at once, comments apart; texts in quotes are not told apart."""
    depth = most = 0
    for mark in re.findall(r"[\[\]{}]", re.sub(r"(?m)(?:^|(?<=\s))#.*", "", text)):
        depth = depth + 1 if mark in "[{" else max(0, depth - 1)
        most = max(most, depth)
    return most


def positions_of(root: Node) -> Positions:
    """Where every value stands; for a list or a group, where its key stands."""
    return Positions({pointer(path): where for path, where in _places((), root, None)})


def flattened(root: Node, path: KeyPath = ()) -> Iterator[tuple[KeyPath, Node]]:
    """Every node with its key path, parents first; list items by index from 0."""
    yield path, root
    for key, child in root.entries:
        yield from flattened(child, (*path, key.value))
    for index, child in enumerate(root.items):
        yield from flattened(child, (*path, index))


def _places(
    path: KeyPath, node: Node, key: Node | None
) -> Iterator[tuple[KeyPath, tuple[int, int]]]:
    marked = key if key is not None and node.kind in {"list", "map", "nothing"} else node
    yield path, (marked.line, marked.column)
    for name, child in node.entries:
        yield from _places((*path, name.value), child, name)
    for index, child in enumerate(node.items):
        yield from _places((*path, index), child, None)


def _composed(text: str, file_name: str) -> Any:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import YAMLError

    try:
        return YAML(typ="rt", pure=True).compose(text)
    except YAMLError as error:
        raise _yaml_fault(error, file_name, text) from error
    except (ValueError, OverflowError) as error:  # the library knows no place for these
        what = "this is not YAML: an escape or a number in it is too large"
        raise _not_yaml(file_name, 1, 1, what) from error


def _yaml_fault(error: YAMLError, file_name: str, text: str) -> DocumentError:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = getattr(error, "problem", None) or getattr(error, "context", None)
    if mark is None:  # the character reader knows an index only
        index = min(int(getattr(error, "position", 0) or 0), len(text))
        line, column = text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index)
        found = f"character U+{ord(text[index]):04X}" if index < len(text) else ""
        return _not_yaml(file_name, line, column, "a character that text cannot hold", found)
    reason = str(problem or "it cannot be read").split("\n")[0].strip().rstrip(",")
    context = f"{reason} {getattr(error, 'context', '') or ''}"
    fix = next((cure for sign, cure in _CURES.items() if sign in context), "")
    return _not_yaml(
        file_name, mark.line + 1, mark.column + 1, f"this is not YAML: {reason}", "", fix
    )


def _not_yaml(
    file_name: str, line: int, column: int, what: str, found: str = "", fix: str = ""
) -> DocumentError:
    where = f"{file_name}, line {line}, column {column}"
    return DocumentError(Fault(what, where, found=found, fix=fix, line=line, column=column))


def _converted(raw: Any, file_name: str, bom: int, seen: set[int]) -> Node:
    mark = raw.start_mark
    if id(raw) in seen or raw.anchor:
        what = "a value shared by an anchor (&) or alias (*)"
        fix = "write the value out in each place"
        raise _not_yaml(file_name, mark.line + 1, mark.column + 1, what, fix=fix)
    seen.add(id(raw))
    kind = _TAGS.get(str(raw.tag))
    if kind is None or (isinstance(raw.value, str) and kind in {"list", "map"}):
        what, fix = f"a value marked {raw.tag}", "take the mark (!) away: plain values are enough"
        raise _not_yaml(file_name, mark.line + 1, mark.column + 1, what, fix=fix)
    place = (mark.line + 1, mark.column + 1, mark.index + bom, raw.end_mark.index + bom)
    if isinstance(raw.value, str):
        text = unicodedata.normalize("NFC", raw.value)  # one spelling of each accented name
        quoted = raw.style in {"'", '"', "|", ">"}
        return Node("text" if quoted else kind, *place, value=text, style=raw.style or "")
    if isinstance(raw.value, list) and raw.value and isinstance(raw.value[0], tuple):
        pairs = raw.value
        entries = tuple(
            (_key(key, file_name, bom, seen), _converted(value, file_name, bom, seen))
            for key, value in pairs
        )
        return Node("map", *place, entries=entries)
    if kind == "map":
        return Node("map", *place)
    items = tuple(_converted(item, file_name, bom, seen) for item in raw.value)
    return Node("list", *place, items=items)


def _key(raw: Any, file_name: str, bom: int, seen: set[int]) -> Node:
    node = _converted(raw, file_name, bom, seen)
    if node.kind in {"list", "map"}:
        what, fix = "a list or a group cannot be a key", "write the key as plain text"
        raise _not_yaml(file_name, node.line, node.column, what, node.called(), fix)
    return node
