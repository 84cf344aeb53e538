"""The text of a kit file: where each key stands, and changes that leave all else as it is."""

from __future__ import annotations

import copy
import datetime as dt
import json
import re
import tomllib
from typing import Any, Final

from falloff.errors import Fault, OutputError

_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_PART: Final = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*')"""
_DOTTED: Final = rf"{_PART}(?:\s*\.\s*{_PART})*"
_HEADER: Final = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]\]?\s*(?:#.*)?$")
_KEY: Final = re.compile(rf"\s*({_DOTTED})\s*=\s*")
_NEW: Final = (
    "# One's own kit: what there is, owned or hired, and what was measured.\nfalloff_kit = 1\n"
)


def new_kit_text(title: str = "") -> str:
    """The text of an empty kit file."""
    return _NEW + (f"title = {toml_value(title)}\n" if title else "")


def lines_of_keys(text: str) -> dict[str, int]:
    """Line, from 1, of each table and key, by its path: "item[0].measured.power_w"."""
    return {path: line for path, line, _ in _walk(text)}


def line_of(lines: dict[str, int], path: str) -> int | None:
    """The line of a path, or of what holds it."""
    while path:
        line = lines.get(path) or lines.get(f"{path}[0]")
        if line:
            return line
        path = path.rpartition(".")[0]
    return None


def append_item(text: str, entry: dict[str, Any], *, table: str = "item") -> str:
    """The text with one more [[item]] at its end; `entry` has its keys, "measured" a table.

    table: "fixture" and so on, for what the catalogue has not, written whole. Raises OutputError
    where the result would not read back as meant.
    """
    wanted = tomllib.loads(text)
    wanted.setdefault(table, []).append(copy.deepcopy(entry))
    end = _line_end(text)
    lines = [f"[[{table}]]", *(f"{path} = {toml_value(value)}" for path, value in _leaves(entry))]
    gap = "" if not text else end if text.endswith(("\n", "\r")) else end * 2
    return _checked(text + gap + end.join(lines) + end, wanted)


def set_key(text: str, item: int, path: tuple[str, ...], value: object) -> str:
    """The text with one key of the item-th [[item]] (from 0) set; all else stays as it is.

    It is replaced where it stands, with the comment behind it kept, or added after the item's own
    keys. path: ("count",) or ("measured", "beams", "flood", "axis_cd"). Raises OutputError where
    the result would not read back as meant, as in a table written on one line.
    """
    wanted = tomllib.loads(text)
    _place(wanted["item"][item], path, value)
    lines = text.splitlines(keepends=True)
    full = _joined(f"item[{item}]", path)
    spots = {key: (line, end) for key, line, end in _walk(text)}
    if full in spots and spots[full][1]:
        number = spots[full][0] - 1
        lines[number] = _with_value(lines[number], value)
    else:
        number, prefix = _where_to_add(spots, item, path)
        rest = path[len(prefix) :]
        if number and not lines[number - 1].endswith(("\n", "\r")):
            lines[number - 1] += _line_end(text)
        dotted = ".".join(_quoted(part) for part in rest)
        lines.insert(number, f"{dotted} = {toml_value(value)}{_line_end(text)}")
    return _checked("".join(lines), wanted)


def toml_value(value: object) -> str:
    """A value as TOML writes it, exactly: read back it is the same."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, list | tuple):
        return "[" + ", ".join(toml_value(one) for one in value) + "]"
    if isinstance(value, dict):
        parts = ", ".join(f"{_quoted(key)} = {toml_value(one)}" for key, one in value.items())
        return "{ " + parts + " }" if parts else "{}"
    raise OutputError(Fault(what="this cannot be written into a kit file", found=repr(value)))


def _walk(text: str) -> list[tuple[str, int, bool]]:
    """Path, line, and whether it is a key (not a header), of all that begins on a line."""
    found: list[tuple[str, int, bool]] = []
    counts: dict[str, int] = {}
    table, closing, depth = "", "", 0
    for number, line in enumerate(text.splitlines(), 1):
        if closing:
            closing = "" if closing in line else closing
            continue
        if depth > 0:
            depth += _depth(line)
            continue
        header = _HEADER.match(line)
        if header:
            table = _opened(header[2], many=header[1] == "[[", counts=counts)
            found.append((table, number, False))
            continue
        key = _KEY.match(line)
        if not key:
            continue
        found.append((_joined(table, tuple(_parts(key[1]))), number, True))
        rest = line[key.end() :]
        closing = next((q for q in ('"""', "'''") if rest.startswith(q) and rest.count(q) == 1), "")
        depth = 0 if closing else max(0, _depth(rest))
    return found


def _opened(dotted: str, *, many: bool, counts: dict[str, int]) -> str:
    """The path of a table that a header opens; tables of an array have their number."""
    path = ""
    parts = _parts(dotted)
    for place, part in enumerate(parts):
        path = _joined(path, (part,))
        if many and place == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = f"{path}[{counts[path]}]"
    return path


def _where_to_add(
    spots: dict[str, tuple[int, bool]], item: int, path: tuple[str, ...]
) -> tuple[int, tuple[str, ...]]:
    """After which line a key is put, and the part of its path that a header there says."""
    base = f"item[{item}]"
    for length in range(len(path) - 1, 0, -1):
        table = _joined(base, path[:length])
        if table in spots and not spots[table][1]:
            return _last_line(spots, table), path[:length]
    return _last_line(spots, base), ()


def _last_line(spots: dict[str, tuple[int, bool]], table: str) -> int:
    """The last line on which a key of this table itself begins, or its header's."""
    start = spots[table][0]
    headers = [line for line, is_key in spots.values() if not is_key and line > start]
    stop = min(headers, default=10**9)
    return max(
        [line for line, is_key in spots.values() if is_key and start < line < stop] + [start]
    )


def _with_value(line: str, value: object) -> str:
    """A line `key = value # comment` with another value."""
    key = _KEY.match(line)
    assert key
    body = line[key.end() :]
    ending = body[len(body.rstrip("\r\n")) :]
    comment = _comment(body.rstrip("\r\n"))
    return line[: key.end()] + toml_value(value) + comment + ending


def _comment(body: str) -> str:
    """The comment behind a value, with the space before it."""
    quote = ""
    for place, sign in enumerate(body):
        if quote:
            escaped = quote == '"' and body[:place].endswith("\\")
            quote = "" if sign == quote and not escaped else quote
        elif sign in "\"'":
            quote = sign
        elif sign == "#":
            return body[len(body[:place].rstrip()) :]
    return ""


def _depth(text: str) -> int:
    """How many more brackets a line opens than it closes, out of quotes and comments."""
    plain = re.sub(r'"(?:[^"\\]|\\.)*"|\'[^\']*\'', "", text).partition("#")[0]
    return plain.count("[") + plain.count("{") - plain.count("]") - plain.count("}")


def _parts(dotted: str) -> list[str]:
    found = re.findall(_PART, dotted)
    return [next(iter(tomllib.loads(f"{part} = 0"))) for part in found]


def _joined(base: str, path: tuple[str, ...]) -> str:
    return ".".join([*([base] if base else []), *path])


def _quoted(key: str) -> str:
    return key if _BARE.fullmatch(key) else toml_value(key)


def _leaves(entry: dict[str, Any], before: str = "") -> list[tuple[str, Any]]:
    """Dotted keys and values of nested tables."""
    found: list[tuple[str, Any]] = []
    for key, value in entry.items():
        path = f"{before}{_quoted(key)}"
        found += _leaves(value, f"{path}.") if isinstance(value, dict) else [(path, value)]
    return found


def _place(table: dict[str, Any], path: tuple[str, ...], value: object) -> None:
    for part in path[:-1]:
        table = table.setdefault(part, {})
    table[path[-1]] = value


def _line_end(text: str) -> str:
    return "\r\n" if "\r\n" in text else "\n"


def _checked(text: str, wanted: dict[str, Any]) -> str:
    """The text, if it reads as wanted; a person must change it otherwise."""
    try:
        same = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if same:
        return text
    raise OutputError(
        Fault(
            what="the kit file cannot be changed there without touching more than was asked",
            expected="a key on a line of its own",
            fix="change it in an editor, or write the table over several lines first",
        )
    )
