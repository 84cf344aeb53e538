"""The user's own kit file, NAME.kit.toml: what there is, owned or hired, and what was measured."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated, Any, Final

import msgspec
from msgspec import Meta

from falloff.errors import DocumentError, Fault, GeometryError
from falloff.findings import Finding
from falloff.kit.catalogue.measured import with_measured
from falloff.kit.catalogue.own_kit_text import line_of, lines_of_keys
from falloff.kit.catalogue.reading import build_item, item_faults, read_record
from falloff.kit.catalogue.records import KINDS, Item, NotNegative
from falloff.kit.catalogue.shelf import find_item, near_names
from falloff.kit.catalogue.wanted import as_written
from falloff.kit.unknown import unknown_name

FORMAT: Final = 1
SUFFIX: Final = ".kit.toml"
_HEAD: Final = ("falloff_kit", "title", "currency", "item")


_Own = dict[str, Item | None]  # by name; None where it is written with faults


class OwnedItem(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the user's kit: the item with what was measured in place of the catalogue's.

    plug: what it needs from a circuit. day_rate: in the kit's currency, for one. findings: each
    figure that was measured, and how far it is from the catalogue's.
    """

    name: str
    item: Item
    count: int
    owned: bool
    day_rate: float | None
    plug: str
    note: str
    line: int | None
    findings: tuple[Finding, ...]


class OwnKit(msgspec.Struct, frozen=True, kw_only=True):
    """The user's kit as its file says, in the file's order."""

    title: str
    currency: str
    items: tuple[OwnedItem, ...]


class _Entry(msgspec.Struct, frozen=True, kw_only=True):
    """The keys of one [[item]], but for what was measured."""

    item: str
    name: str = ""
    count: Annotated[int, Meta(ge=1)] = 1
    owned: bool = True
    day_rate: NotNegative | None = None
    plug: str = ""
    note: str = ""


def read_own_kit(path: str | Path) -> OwnKit:
    """The kit of a NAME.kit.toml file; raises DocumentError with every fault and its line."""
    file = Path(path)
    try:
        text = file.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise DocumentError(
            Fault(what="the kit file cannot be read", where=str(file), found=reason,
                  fix=f"give a text file such as mine{SUFFIX}")
        ) from error  # fmt: skip
    return parse_own_kit(text, file.name)


def parse_own_kit(text: str, name: str) -> OwnKit:
    """The kit that a text says; `name` is told in faults. Raises DocumentError with all of them."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DocumentError(
            Fault(what="this is not TOML", where=name, found=str(error),
                  fix="check the quotes, brackets and equals signs there")
        ) from error  # fmt: skip
    faults = _head_faults(tables)
    own = _own_records(tables, faults)
    items = []
    entries = tables.get("item", [])
    if isinstance(entries, list) and all(isinstance(one, dict) for one in entries):
        lines = lines_of_keys(text)
        for number, raw in enumerate(entries):
            line = line_of(lines, f"item[{number}]")
            found = _owned(raw, own, f"item[{number}]", line, faults)
            items += [found] if found else []
    else:
        faults.append(Fault(what="items are tables", where="item", fix="begin each with [[item]]"))
    faults += _twice(items)
    if faults:
        raise DocumentError(*_placed(faults, text, name))
    return OwnKit(
        title=tables.get("title", ""), currency=tables.get("currency", ""), items=tuple(items)
    )


def own_line(kit: OwnKit, name: str) -> OwnedItem | None:
    """A line of the kit by its name, whatever its case and spaces; None where there is none."""
    plain = " ".join(name.lower().split())
    return next((one for one in kit.items if one.name.lower() == plain), None)


def find_own(kit: OwnKit, name: str) -> OwnedItem:
    """A line of the kit by its name; raises GeometryError with the nearest."""
    found = own_line(kit, name)
    if found is not None:
        return found
    names = [one.name for one in kit.items]
    raise unknown_name("item of your kit", name, names or ["nothing"],
                       otherwise="add it to your kit file")  # fmt: skip


def day_rates(kit: OwnKit) -> tuple[float, tuple[str, ...]]:
    """What a day of all that is hired costs, and the hired items whose rate is not known."""
    hired = [one for one in kit.items if not one.owned]
    known = sum((one.day_rate or 0.0) * one.count for one in hired)
    return known, tuple(one.name for one in hired if one.day_rate is None)


def _head_faults(tables: dict[str, Any]) -> list[Fault]:
    faults = []
    if tables.get("falloff_kit") != FORMAT:
        faults.append(
            Fault(what="the file does not say that it is a kit", where="falloff_kit",
                  expected=f"falloff_kit = {FORMAT}", found=as_written(tables.get("falloff_kit")),
                  fix=f"begin the file with falloff_kit = {FORMAT}")
        )  # fmt: skip
    known = [*_HEAD, *(kind.replace(" ", "_") for kind in KINDS)]
    faults += [
        Fault(what=f"{key!r} is not known here", where=key, expected="one of " + ", ".join(known),
              fix="leave it out")
        for key in tables
        if key not in known
    ]  # fmt: skip
    faults += [
        Fault(
            what=f"{key} is a text",
            where=key,
            found=as_written(tables[key]),
            fix=f'write {key} = "...", in quotes',
        )
        for key in ("title", "currency")
        if not isinstance(tables.get(key, ""), str)
    ]
    return faults


def _own_records(tables: dict[str, Any], faults: list[Fault]) -> _Own:
    """Items that the catalogue has not, written whole: [[fixture]], [[lens]] ..."""
    own: _Own = {}
    for kind, cls in KINDS.items():
        key = kind.replace(" ", "_")
        entries = tables.get(key, [])
        if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
            faults.append(Fault(what="these are tables", where=key, fix=f"begin with [[{key}]]"))
            continue
        for number, raw in enumerate(entries):
            where = f"{key}[{number}]"
            fields, wrong = read_record(cls, {"provenance": "by the user"} | raw, where=where)
            if wrong and isinstance(raw.get("name"), str):
                own.setdefault(raw["name"], None)
            if not wrong:
                item = build_item(cls, fields)
                wrong = item_faults(item, where=where)
                if item.name in own:
                    wrong.append(Fault(what=f"{item.name!r} stands twice", where=where,
                                       fix="give one of them another name"))  # fmt: skip
                own[item.name] = item
            faults += wrong
    return own


def _owned(
    raw: dict[str, Any],
    own: dict[str, Item | None],
    where: str,
    line: int | None,
    faults: list[Fault],
) -> OwnedItem | None:
    """One [[item]], or None after its faults were added."""
    plain = {key: value for key, value in raw.items() if key != "measured"}
    fields, wrong = read_record(_Entry, plain, where=where)
    item = None
    named = fields.get("item")
    if isinstance(named, str) and own.get(named, item) is not None:
        item = own[named]
    elif isinstance(named, str) and named not in own:
        item = _from_catalogue(named, own, where, wrong)
    findings: tuple[Finding, ...] = ()
    if item is not None and "measured" in raw:
        name = fields.get("name") or item.name
        item, findings, more = with_measured(item, raw["measured"], name=name,
                                             where=f"{where}.measured")  # fmt: skip
        wrong += more
    faults += wrong
    if wrong or item is None:
        return None
    entry = _Entry(**fields)
    return OwnedItem(
        name=entry.name or item.name,
        item=item,
        count=entry.count,
        owned=entry.owned,
        day_rate=entry.day_rate if entry.day_rate is not None else item.day_rate,
        plug=entry.plug,
        note=entry.note,
        line=line,
        findings=findings,
    )


def _from_catalogue(name: str, own: _Own, where: str, faults: list[Fault]) -> Item | None:
    try:
        return find_item(name)
    except GeometryError:
        near = near_names(name)
        faults.append(
            Fault(
                what=f"the catalogue has no {name!r}",
                where=f"{where}.item",
                expected="a name of the catalogue" + (", or of this file" if own else ""),
                found=name,
                fix=f"did you mean {near[0]!r}?" if near else "write it whole, as a [[fixture]]",
            )
        )
        return None


def _twice(items: list[OwnedItem]) -> list[Fault]:
    seen: set[str] = set()
    faults = []
    for one in items:
        if one.name.lower() in seen:
            faults.append(
                Fault(what=f"{one.name!r} stands twice", line=one.line,
                      fix="give each a name of its own, or one entry a count")
            )  # fmt: skip
        seen.add(one.name.lower())
    return faults


def _placed(faults: list[Fault], text: str, name: str) -> list[Fault]:
    """The faults with the file's name and the line of their key."""
    lines = lines_of_keys(text)
    placed = []
    for one in faults:
        line = one.line or line_of(lines, one.where)
        at = f"{name}, line {line}" if line else name
        placed.append(
            Fault(what=one.what, where=f"{at}, {one.where}" if one.where else at,
                  expected=one.expected, found=one.found, fix=one.fix, line=line)
        )  # fmt: skip
    return sorted(placed, key=lambda one: one.line or 0)
