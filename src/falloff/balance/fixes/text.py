"""Parts of a scene's text, to be written once more."""

from __future__ import annotations

import functools

from falloff.document import KeyPath, Node, compose_text
from falloff.document.taking import line_start, value_end


def entry_text(text: str, key_path: KeyPath) -> str:
    """A value as its file says it, comments and all, to be added elsewhere."""
    node = _node(_root(text), key_path)
    start = node.start
    block = text[start : value_end(text, node)]
    if not block.startswith(("{", "[")) and "\n" in block:
        block = " " * (start - line_start(text, start)) + block
    return block


def flow_text(text: str, key_path: KeyPath) -> str:
    """A value on one line."""
    return _flow(text, _node(_root(text), key_path))


@functools.lru_cache(maxsize=1)
def _root(text: str) -> Node:
    """A scene's text read once, however many parts of it are asked for."""
    return compose_text(text, "scene")


def _flow(text: str, node: Node) -> str:
    if node.entries:
        inside = (f"{_flow(text, key)}: {_flow(text, value)}" for key, value in node.entries)
        return f"{{{', '.join(inside)}}}"
    if node.items:
        return f"[{', '.join(_flow(text, one) for one in node.items)}]"
    return text[node.start : node.end].strip()


def _node(root: Node, key_path: KeyPath) -> Node:
    node = root
    for part in key_path:
        if isinstance(part, int) and node.kind == "list":
            node = node.items[part]
        else:
            node = next(value for key, value in node.entries if key.value == str(part))
    return node
