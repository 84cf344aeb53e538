"""Which characters to cut so that one key leaves a text and nothing else does."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, TypeAlias

from falloff.document.tree import Node

Entry: TypeAlias = tuple[Node, Node]
Cut: TypeAlias = tuple[int, int]

MARKS: Final = re.compile(r"(?:!\S*\s+)*")
_BREAK: Final = re.compile(r"\r\n|\n|\r")
_TAIL: Final = re.compile(r"[ \t]*(?:#[^\r\n]*)?")  # what may stand after a value on its line
_COMMA: Final = re.compile(r"(?:\s|(?<=\s)#[^\r\n]*(?=[\r\n]))*,")
_CLEAN: Final = re.compile(r"\s*,\s*")


def is_flow(text: str, node: Node) -> bool:
    """Whether a group or a list is written in brackets."""
    if node.kind not in {"map", "list"}:
        return False
    marks = MARKS.match(text, node.start)
    return text.startswith(("{", "["), marks.end() if marks else node.start)


def line_start(text: str, index: int) -> int:
    """The index of the first character of the line that an index is on."""
    return max(text.rfind("\n", 0, index), text.rfind("\r", 0, index)) + 1


def line_end(text: str, index: int) -> int:
    """The index where the line that an index is on ends, before its line break."""
    found = _BREAK.search(text, index)
    return found.start() if found else len(text)


def value_end(text: str, node: Node) -> int:
    """The index behind the last character of a value, its trailing blanks and comments apart."""
    if is_flow(text, node) or not (node.entries or node.items):
        if node.style in {"|", ">"}:
            return node.start + len(text[node.start : node.end].rstrip())
        if node.start == node.end:  # nothing: the composer may put it on the next line
            return len(text[: node.start].rstrip())
        return node.end
    return value_end(text, node.items[-1] if node.items else node.entries[-1][1])


def removals(text: str, group: Node, leaf: Entry, headers: list[Entry]) -> Iterator[list[Cut]]:
    """Ways to cut a key out, the tidiest first; whoever asks reads what comes of each.

    group: the one that stays; leaf: the key to go; headers: the keys that go with it since it is
    all they hold, outermost first and without the leaf.
    """
    if is_flow(text, group):
        yield from _from_braces(text, group, leaf)
    else:
        yield from _from_lines(text, group, leaf, headers)


def _from_lines(text: str, group: Node, leaf: Entry, headers: list[Entry]) -> Iterator[list[Cut]]:
    """Off lines of its own, or from a dash up to the next key."""
    tops = [_line_cut(text, key, key.end) for key, _ in headers]
    key, value = leaf
    own = _line_cut(text, key, value_end(text, value), deeper_than=key.column - 1)
    if all(tops) and own:
        yield [cut for cut in [*tops, own] if cut]
    following = _following(group, leaf)
    if not headers and following:  # the first key of a list's item, after its dash
        yield from _up_to(text, key, value, following)


def _line_cut(text: str, key: Node, end: int, *, deeper_than: int | None = None) -> Cut | None:
    """The whole lines from a key to the end of its value, with one of their line breaks.

    None where something else stands on them. Comment lines right below that are indented deeper
    than the key are inside its value.
    """
    start = line_start(text, key.start)
    if text[start : key.start].strip(" \ufeff"):
        return None
    colon = re.compile(r"\s*:").match(text, key.end)
    end = max(end, colon.end() if colon else end)
    tail = _TAIL.match(text, end)
    end = tail.end() if tail else end
    if end != line_end(text, end):
        return None
    if deeper_than is not None:
        below = re.compile(rf"(?:\r\n|\n|\r) {{{deeper_than + 1},}}#[^\r\n]*")
        while found := below.match(text, end):
            end = found.end()
    start = key.start if text.startswith("\ufeff", start) else start
    before = re.compile(r"(?:\r\n|\n|\r)\Z").search(text, max(0, start - 2), start)
    if before:
        return before.start(), end
    after = _BREAK.match(text, end)
    return start, after.end() if after else end


def _following(group: Node, leaf: Entry) -> Entry | None:
    index = group.entries.index(leaf)
    return group.entries[index + 1] if index + 1 < len(group.entries) else None


def _up_to(text: str, key: Node, value: Node, following: Entry) -> Iterator[list[Cut]]:
    """From a key to the next one, where no comment line stands between."""
    between = text[value_end(text, value) : following[0].start]
    if re.fullmatch(r"[ \t]*(?:#[^\r\n]*)?(?:\r\n|\n|\r)\s*", between):
        yield [(key.start, following[0].start)]


def _from_braces(text: str, group: Node, leaf: Entry) -> Iterator[list[Cut]]:
    """Out of a group in braces, with the comma that is no longer needed."""
    key, value = leaf
    index = group.entries.index(leaf)
    before = value_end(text, group.entries[index - 1][1]) if index else None
    following = _following(group, leaf)
    comma = _COMMA.match(text, value.end)
    if following and comma:
        alone = _line_cut(text, key, comma.end())
        if alone:
            yield [alone]
        yield from _with_comma_behind(text, leaf, following, comma.end())
    if before is not None:
        yield from _with_comma_before(text, leaf, before)
    if index == 0:
        yield [(key.start, comma.end() if comma else value.end)]


def _with_comma_behind(text: str, leaf: Entry, following: Entry, end: int) -> Iterator[list[Cut]]:
    """From a key to the next one in braces, where that is on the same line or right below."""
    key, _ = leaf
    between = text[end : following[0].start]
    begins = not text[line_start(text, key.start) : key.start].strip()
    if not re.search(r"[\r\n]", between):
        yield [(key.start, following[0].start)]
    elif not begins and re.fullmatch(r"[ \t]*(?:#[^\r\n]*)?(?:\r\n|\n|\r)\s*", between):
        opened = text[line_start(text, key.start) : key.start].rstrip().endswith("{")
        if opened:
            yield [(key.start, following[0].start)]


def _with_comma_before(text: str, leaf: Entry, before: int) -> Iterator[list[Cut]]:
    """A key in braces with the comma before it, and a comment that is alone with it."""
    key, value = leaf
    gap = text[before : key.start]
    comment = _TAIL.match(text, value.end)
    own = comment.end() if comment and "#" in comment[0] else value.end
    if _CLEAN.fullmatch(gap):
        starts_line = bool(re.search(r"[\r\n]", gap))
        yield [(before, own if starts_line else value.end)]
    elif comma := _COMMA.match(text, before):
        whole = _line_cut(text, key, value.end)
        yield [(comma.end() - 1, comma.end()), whole or (key.start, value.end)]
