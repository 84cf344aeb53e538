"""Readings taken on the day as people write them: "key cheek: all 320 lx, BOOK 210, ambient 60"."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from falloff import units
from falloff.balance.why.given import ALL, AMBIENT, OnOff
from falloff.balance.why.whole import with_whole
from falloff.balance.words import listed
from falloff.errors import DocumentError, Fault
from falloff.units import UnitFault

_ALL: Final = ("all", "all on", "everything", "everything on", "total", "whole")
_AMBIENT: Final = ("ambient", "all off", "off", "room", "everything off")
_WITHOUT: Final = r"(?:without|all but|everything but|minus)\s+(.+)|(.+?)\s+(?:off|out)"
_ON: Final = r"(?i)\s+on$"
_SHADED: Final = r"(.+?)\s+(?:shaded|bounce|bounced|flagged)"
_EXAMPLE: Final = "key cheek: all 320 lx, BOOK 210, WALL HEAD 20, ambient 60"
_LEFT, _BY_HAND = "without ", " shaded"
_LEVEL: Final = r"([-+]?[0-9][0-9.,]*)\s*((?:[^\d\s].*)?)"
_PART: Final = r"(.*\S)\s*[ =]\s*" + _LEVEL
_LUMINANCES: Final = r"(?:cd/m2|cd/m²|nits?|fl|footlamberts?)"
_TOP_KEYS: Final = ("camera", "unit", "readings")


@dataclass(frozen=True, slots=True)
class ReadingsFile:
    """A file of readings: what was metered, and the camera in words, "" where it has none."""

    readings: tuple[OnOff, ...]
    camera: str = ""


def read_lines(lines: tuple[str, ...]) -> tuple[OnOff, ...]:
    """Places metered with lights on and off, one line each; raises all their faults together."""
    found: list[OnOff] = []
    faults: list[Fault] = []
    for line in lines:
        name, colon, rest = line.partition(":")
        if not colon or not name.strip() or not rest.strip():
            faults.append(
                Fault(
                    what="this is no reading with its lights on and off",
                    expected=f"a place, a colon, levels: {_EXAMPLE!r}",
                    found=line,
                )
            )
            continue
        try:
            found.append(_on_off(name.strip(), _named_parts(name.strip(), rest), ""))
        except DocumentError as error:
            faults += error.faults
    faults += _twice(found)
    if faults:
        raise DocumentError(*faults)
    return tuple(found)


def read_file(path: Path) -> ReadingsFile:
    """A file of readings in TOML; docs/why.md shows one."""
    try:
        document = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise DocumentError(
            Fault(what="the readings cannot be read", where=str(path), found=error.strerror or "")
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise DocumentError(
            Fault(
                what="this is not TOML", where=path.name, found=str(error),
                fix='[readings."key cheek"] and under it: all = "320 lx"',
            )
        ) from error  # fmt: skip
    faults = [
        Fault(
            what=f"there is no key {key!r} in a file of readings", where=path.name,
            expected="one of " + ", ".join(_TOP_KEYS), fix="readings stand under [readings.NAME]",
        )
        for key in document
        if key not in _TOP_KEYS
    ]  # fmt: skip
    tables = document.get("readings", {})
    if not isinstance(tables, dict) or not tables:
        faults.append(
            Fault(
                what="there are no readings", where=path.name,
                expected='tables such as [readings."key cheek"]',
            )
        )  # fmt: skip
        tables = {}
    found: list[OnOff] = []
    for name, table in tables.items():
        try:
            parts = {key: _written(name, key, value) for key, value in _table(name, table).items()}
            found.append(_on_off(name, parts, str(document.get("unit", ""))))
        except DocumentError as error:
            faults += error.faults
    if faults:
        raise DocumentError(*faults)
    return ReadingsFile(tuple(found), str(document.get("camera", "")))


def _table(name: str, found: object) -> dict[str, object]:
    """A reading's own table."""
    if isinstance(found, dict):
        return found
    raise DocumentError(
        Fault(
            what="a reading is a table of levels", where=name, found=str(found),
            expected='all = "320 lx" and the like',
        )
    )  # fmt: skip


def _written(name: str, key: str, value: object) -> tuple[str, str]:
    """A level in a file: its number and its unit."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise DocumentError(
            Fault(what="this is no level", where=f"{name}, {key}", expected="320 lx",
                  found=str(value))
        )  # fmt: skip
    text = str(value).strip()
    found = re.fullmatch(_LEVEL, text)
    if not found:
        raise DocumentError(
            Fault(what="this is no level", where=f"{name}, {key}", expected="320 lx", found=text)
        )
    return found[1], found[2].strip()


def _named_parts(name: str, text: str) -> dict[str, tuple[str, str]]:
    """Parts of a line by name: number and unit as written."""
    found: dict[str, tuple[str, str]] = {}
    faults: list[Fault] = []
    for part in (one.strip() for one in re.split(r"[,;](?![0-9]{3}\b)", text)):
        if not part:
            continue
        matched = re.fullmatch(_PART, part)
        if not matched:
            faults.append(
                Fault(
                    what="a unit and its level are needed", where=name, found=part,
                    expected="such as 'BOOK 210 lx'",
                )
            )  # fmt: skip
        elif matched[1].strip() in found:
            faults.append(Fault(what=f"{matched[1].strip()} is told twice", where=name, found=part))
        else:
            found[matched[1].strip()] = (matched[2], matched[3].strip())
    if faults:
        raise DocumentError(*faults)
    return found


def _on_off(name: str, parts: Mapping[str, tuple[str, str]], usual_unit: str) -> OnOff:
    """A place's readings, each number in the one unit that it was metered in.

    Where one unit is written in a line, it is that of all its numbers; where two are, each number
    needs its own.
    """
    said = [unit for _, unit in parts.values() if unit]
    unit = next(iter(said), usual_unit)
    bare = tuple(key for key, (_, own) in parts.items() if not own)
    faults = _which_unit(name, parts, bare)
    levels: dict[str, float] = {}
    for key, (number, own) in parts.items() if not faults else ():
        try:
            levels[_part_name(key)] = _level(name, key, number, own or unit)
        except DocumentError as error:
            faults += error.faults
    if len({_is_luminance(own or unit) for _, own in parts.values()}) > 1:
        faults.append(
            Fault(
                what="light on a place and luminance of it are mixed", where=name,
                expected="all lx (or fc), or all cd/m²",
            )
        )  # fmt: skip
    whole, ambient = levels.pop(ALL, None), levels.pop(AMBIENT, None)
    left = {one.removeprefix(_LEFT): n for one, n in levels.items() if one.startswith(_LEFT)}
    bounced = {one.removesuffix(_BY_HAND): n for one, n in levels.items() if one.endswith(_BY_HAND)}
    alone = {one: n for one, n in levels.items() if not one.startswith(_LEFT)}
    alone = {one: n for one, n in alone.items() if not one.endswith(_BY_HAND)}
    written = {
        _part_name(key): f"{number} {own}"
        for key, (number, own) in parts.items()
        if own and own.casefold() != unit.casefold()
    }
    if whole is None and not alone and not faults:
        faults.append(
            Fault(
                what="neither everything on nor one unit alone is told", where=name,
                expected=f"such as {_EXAMPLE!r}",
            )
        )  # fmt: skip
    if faults:
        raise DocumentError(*faults)
    told = "cd/m²" if _is_luminance(unit) else "lx"
    found = OnOff(
        name, told, whole, alone, left, bounced, ambient, told_in=_told_in(unit), written=written,
        assumed=bare if said else (),
    )  # fmt: skip
    return with_whole(found, {_part_name(key) for key in parts if re.search(_ON, key)})


def _part_name(key: str) -> str:
    """What a part is: "all", "ambient", "without BOOK", "BOOK shaded", or the unit's name."""
    low = key.casefold()
    without = re.fullmatch(_WITHOUT, key, re.IGNORECASE)
    shaded = re.fullmatch(_SHADED, key, re.IGNORECASE)
    if low in _ALL:
        return ALL
    if low in _AMBIENT:
        return AMBIENT
    if without:
        return f"{_LEFT}{(without[1] or without[2]).strip()}"
    if shaded:
        return f"{shaded[1].strip()}{_BY_HAND}"
    return re.sub(r"\s+(?:alone|only|on)$", "", key, flags=re.IGNORECASE)


def _which_unit(
    name: str, parts: Mapping[str, tuple[str, str]], bare: tuple[str, ...]
) -> list[Fault]:
    """Numbers without a unit in a line of two units: nobody can tell which is meant."""
    said = {unit.casefold(): unit for _, unit in parts.values() if unit}
    if not bare or len(said) < 2:
        return []
    told = listed(list(said.values()))
    return [
        Fault(
            what=f"a level without its unit in a line that has {told}", where=f"{name}, {key}",
            expected="a unit with each level of such a line", found=f"{key} {parts[key][0]}",
            fix=f"write {' or '.join(f'{parts[key][0]} {unit}' for unit in said.values())!r}",
        )
        for key in bare
    ]  # fmt: skip


def _told_in(unit: str) -> tuple[str, float] | None:
    """The unit that a line was written in, and what that is in lx or cd/m²; None for those."""
    low = unit.strip().casefold()
    if low in ("fc", "footcandle", "footcandles"):
        return "fc", float(units.lux_from_footcandles(1.0))
    if low in ("fl", "footlambert", "footlamberts"):
        return "fL", float(units.nits_from_footlamberts(1.0))
    return None


def _level(name: str, key: str, number: str, unit: str) -> float:
    """A level in lx or cd/m²."""
    text = re.sub(r",(?=[0-9]{3}\b)", "", number)
    if not unit:
        raise DocumentError(
            Fault(
                what="a level without its unit", where=f"{name}, {key}", found=number,
                expected=f"'{number} lx', '{number} fc', or '{number} cd/m²' of a spot meter",
            )
        )  # fmt: skip
    try:
        light = (
            float(units.parse_luminance(f"{text} {unit}"))
            if _is_luminance(unit)
            else float(units.parse_illuminance(f"{text} {unit}"))
        )
    except UnitFault as error:
        fault = error.faults[0]
        raise DocumentError(
            Fault(
                what=fault.what, where=f"{name}, {key}", found=f"{number} {unit}",
                expected="lx or fc, or cd/m² (nit) or fL of a spot meter", fix=fault.fix,
            )
        ) from None  # fmt: skip
    if light < 0.0:
        raise DocumentError(
            Fault(what="light below nought", where=f"{name}, {key}", found=f"{number} {unit}")
        )
    return light


def _is_luminance(unit: str) -> bool:
    return bool(re.fullmatch(_LUMINANCES, unit.strip(), re.IGNORECASE))


def _twice(found: list[OnOff]) -> list[Fault]:
    names = [one.name.casefold() for one in found]
    return [
        Fault(what=f"{one.name} is metered twice", fix="give all its levels in one line")
        for k, one in enumerate(found)
        if one.name.casefold() in names[:k]
    ]
