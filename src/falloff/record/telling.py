"""Readings as they are typed or written: "key cheek: 320 lx; BOOK on" as a `Taken`."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from msgspec.structs import replace

from falloff.camera import CameraSettings, key_illuminance_lux
from falloff.clock import read_clock
from falloff.document import SceneDocument, instant_of, points_of
from falloff.document.cursor import listed, nearest_fix
from falloff.errors import DaylightError, DocumentError, Fault
from falloff.record.lit_words import LitSaid, LitUnread, read_lit
from falloff.record.records import Taken
from falloff.units import UnitFault, parse_illuminance, parse_luminance, parse_stop

_EXAMPLE: Final = "key cheek: 320 lx; BOOK on"
_STOP_AT: Final = re.compile(
    r"(?P<stop>[tTfF]/?\s*\d+(?:\.\d+)?)(?:\s+(?:at|@)\s+ISO\s*(?P<iso>\d+))?", re.IGNORECASE
)
_PART: Final = re.compile(r"(?P<on>[^\W\d].*?)\s+(?P<number>\d[\d.]*)(?P<unit>\s*[^\d\s]\S*)?")
_HOUR: Final = re.compile(r"at\s+(?P<hour>\d.*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Names:
    """What may be named in a setup: sources that are there, which of them are daylight.

    settings: of the setup's camera, for a meter that says a stop; out: lights that the setup has at
    nothing.
    """

    setup: str
    sources: tuple[str, ...]
    daylight: tuple[str, ...]
    settings: CameraSettings
    out: tuple[str, ...] = ()


def read_typed(texts: Sequence[str], document: SceneDocument, names: Names) -> tuple[Taken, ...]:
    """Readings typed by hand, all of one setup; raises DocumentError with every fault in them.

    Each: the reading's name, a colon, what the meter said with its unit (or the stop that it
    showed), and after semicolons what was on ("BOOK on", "ambient", "all but GLOBE", "BOOK
    alone") and when ("at 14:10"). What was on is as in the setup where nothing is said. Or one by
    one on a line: "key cheek: all 320 lx, BOOK 240, ambient 80".
    """
    taken: list[Taken] = []
    faults: list[Fault] = []
    for number, text in enumerate(texts, 1):
        where = f"--read {number}" if len(texts) > 1 else "--read"
        try:
            taken += _typed(text, where, document, names)
        except DocumentError as error:
            faults += error.faults
    if faults:
        raise DocumentError(*faults)
    return _named_apart(taken)


def read_written(document: SceneDocument, names: Mapping[str, Names]) -> tuple[Taken, ...]:
    """The readings that the scene's file has under `measured`, in its order.

    names: of each setup; one that says no setup was taken in the first.
    """
    points = points_of(document)
    made: list[Taken] = []
    faults: list[Fault] = []
    for name, one in document.measured.items():
        setup = one.setup or next(iter(document.setups))
        line, column = document.position_of(("measured", name))
        where = f"{document.file_name}, line {line}, column {column} (measured.{name})"
        if setup not in names:
            continue
        if points[one.reading] != (one.reading,):
            faults.append(_walk(one.reading, points[one.reading], where))
            continue
        known = names[setup]
        missing = [light for light in one.lit or () if light not in known.sources]
        if missing:
            faults.append(no_source(missing[0], known, where))
            continue
        made.append(
            Taken(
                name=name,
                reading=one.reading,
                value=one.value.si,
                text=one.value.text,
                setup=setup,
                lit=one.lit,
                hour=None if one.at_time is None else hour_by_clock(one.at_time, document),
                on=lit_told(one.lit, known),
            )
        )
    if faults:
        raise DocumentError(*faults)
    return tuple(made)


def lit_told(lit: Sequence[str] | None, names: Names) -> str:
    """What was on, in words."""
    if lit is None:
        return "all on"
    lights = [one for one in lit if one not in names.daylight]
    day = [one for one in lit if one in names.daylight]
    whole = set(day) == set(names.daylight) and bool(day)
    if not lights and not day:
        return "nothing on"
    if not lights:
        return "daylight alone" if whole else f"{listed(day)} alone"
    if not day:
        switched = [one for one in names.sources if one not in names.daylight]
        if len(lights) > 1 and set(lights) == set(switched) - set(names.out):
            return "all lights, no daylight"
        return f"{listed(lights)} alone"
    return listed([*lights, "daylight"] if whole else [*lights, *day])


# One reading -----------------------------------------------------------------------------


def _typed(text: str, where: str, document: SceneDocument, names: Names) -> list[Taken]:
    known = {point: reading for reading, points in points_of(document).items() for point in points}
    reading, rest = _split_name(text, where, known, document)
    value_text, *more = (part.strip() for part in rest.split(";"))
    spot = document.readings[known[reading]].instrument == "spot"
    hour: str | None = None
    lit_parts = []
    for part in more:
        found = _HOUR.fullmatch(part)
        if found:
            hour = _typed_hour(found["hour"], where, document)
        elif part:
            lit_parts.append(part)
    said = _lit("; ".join(lit_parts), names, where) if lit_parts else None
    made = []
    for on, level in _several(value_text, names, where) or [(said, value_text)]:
        value = _value(level, where, reading=reading, spot=spot, names=names)
        lit = None if on is None else on.on
        knobs = {} if on is None else dict(on.knobs)
        words = lit_told(lit, names)
        if knobs:
            dims = (f"{name} at {100.0 * k:.3g} %" for name, k in knobs.items())
            words += f" ({', '.join(dims)})"
        made.append(
            Taken(
                name=reading, reading=reading, value=value, text=level, setup=names.setup,
                lit=lit, knobs=knobs, hour=hour, on=words, typed=True,
            )
        )  # fmt: skip
    return made


def _lit(part: str, names: Names, where: str) -> LitSaid:
    try:
        return read_lit(part, names.sources, names.daylight, out=names.out)
    except LitUnread as error:
        raise DocumentError(_unread_lit(part, error, names, where)) from error


def _several(text: str, names: Names, where: str) -> list[tuple[LitSaid | None, str]]:
    """Levels with what was on before each: "all 320 lx, BOOK 240, ambient 80"; none if not so.

    A unit's name is that unit alone; the first unit of measure holds for the rest of the line.
    """
    parts = [_PART.fullmatch(part.strip()) for part in text.split(",")]
    if not all(parts) or _STOP_AT.fullmatch(text):
        return []
    unit = ""
    made: list[tuple[LitSaid | None, str]] = []
    for found in parts:
        assert found is not None
        on, unit = found["on"].strip(), (found["unit"] or unit).strip()
        if on.casefold().endswith(" shaded"):
            raise DocumentError(
                Fault("a reading that was shaded by hand tells nothing of the plan's levels", where,
                      found=found[0], fix="leave it out here: falloff why takes it")
            )  # fmt: skip
        alone = any(on.casefold() == name.casefold() for name in names.sources)
        said = _lit(f"{on} alone" if alone else on, names, where)
        made.append((said, f"{found['number']} {unit}".strip()))
    return made


def _split_name(
    text: str, where: str, known: Mapping[str, str], document: SceneDocument
) -> tuple[str, str]:
    """The reading's name, by the scene's own spelling, and what follows its colon."""
    plain = " ".join(text.split())
    for name in sorted(known, key=len, reverse=True):
        head, rest = plain[: len(name)], plain[len(name) :].lstrip()
        if head.casefold() == name.casefold() and rest[:1] in {":", "="}:
            return name, rest[1:].strip()
    head, mark, _ = plain.partition(":")
    said = head.strip()
    if not mark:
        raise DocumentError(
            Fault("a reading needs its name, a colon and what the meter said", where,
                  found=plain or "nothing", fix=f"write it like '{_EXAMPLE}'")
        )  # fmt: skip
    if said in document.readings:
        points = points_of(document)[said]
        raise DocumentError(_walk(said, points, where))
    raise DocumentError(
        Fault(
            what=f"the scene has no reading called {said!r}",
            where=where,
            expected="one of " + ", ".join(known) if known else "a reading of the scene",
            found=said,
            fix=nearest_fix(said, known) or "add it under readings: first",
        )
    )


def _walk(reading: str, points: Sequence[str], where: str) -> Fault:
    return Fault(
        what=f"{reading} is taken at {len(points)} points: say which",
        where=where,
        expected=f"{points[0]} to {points[-1]}",
        found=reading,
        fix=f"write '{points[0]}: 320 lx'",
    )


def _value(text: str, where: str, *, reading: str, spot: bool, names: Names) -> float:
    """What the meter said, lx or cd/m²."""
    stop = _STOP_AT.fullmatch(text)
    if stop is not None:
        return _of_stop(stop, where, reading=reading, spot=spot, names=names)
    try:
        value = parse_luminance(text) if spot else parse_illuminance(text)
    except UnitFault as error:
        fault = error.fault
        is_other = _reads(text, spot=not spot)
        what = f"{reading} is read with a spot meter" if spot else f"{reading} is incident light"
        raise DocumentError(
            Fault(
                what=f"{what}: {fault.what}",
                where=where,
                expected="cd/m2 or fL" if spot else "lx or fc, or a stop such as T4 at ISO 400",
                found=text or "nothing",
                fix=("a spot's reading in lux is another one: name that, or write cd/m2" if spot
                     else "an incident reading is in lx or fc: was it a spot's?")
                if is_other else fault.fix,
            )
        ) from error  # fmt: skip
    if value < 0.0 or not math.isfinite(value):
        raise DocumentError(
            Fault("no meter reads less than nothing", where, expected="0 or more", found=text)
        )
    return float(value)


def _reads(text: str, *, spot: bool) -> bool:
    try:
        _ = parse_luminance(text) if spot else parse_illuminance(text)
    except UnitFault:
        return False
    return True


def _of_stop(found: re.Match[str], where: str, *, reading: str, spot: bool, names: Names) -> float:
    """Lux at which a meter shows a stop at this ISO and the setup's shutter, no ND before it."""
    if spot:
        raise DocumentError(
            Fault(f"{reading} is read with a spot meter: a stop hangs on its own constant", where,
                  expected="cd/m2 or fL", found=found[0], fix="set the meter to cd/m2")
        )  # fmt: skip
    try:
        number = parse_stop(found["stop"].replace(" ", "")).number
    except UnitFault as error:
        raise DocumentError(Fault(error.fault.what, where, found=found[0])) from error
    iso = float(found["iso"]) if found["iso"] else names.settings.iso
    if iso <= 0.0:
        raise DocumentError(Fault("ISO is above 0", where, found=found[0]))
    return float(key_illuminance_lux(
        replace(names.settings, t_number=number, iso=iso, nd_stops=0.0)
    ))  # fmt: skip


# When and with what on -------------------------------------------------------------------


def _typed_hour(text: str, where: str, document: SceneDocument) -> str:
    sky = document.sky
    if sky is None or sky.at is None or instant_of(document) is None:
        raise DocumentError(
            Fault("the scene's sky has no hour, so another hour means nothing", where, found=text,
                  fix="leave the hour out, or add `at:` to the sky and a location")
        )  # fmt: skip
    try:
        when = read_clock(text, day=read_clock(sky.at).date())
    except DaylightError as error:
        fault = error.faults[0]
        raise DocumentError(Fault(fault.what, where, fault.expected, fault.found)) from error
    return when.isoformat(" ", "minutes")


def hour_by_clock(at_time: str, document: SceneDocument) -> str | None:
    """An aware time (ISO 8601) by the location's clock; None where the scene has no hour."""
    here = instant_of(document)
    if here is None or document.location is None:
        return None
    when = datetime.fromisoformat(at_time).astimezone(ZoneInfo(document.location.zone))
    if abs((when - here).total_seconds()) < 60.0:
        return None
    return f"{when:%Y-%m-%d %H:%M%z}"


def no_source(name: str, names: Names, where: str) -> Fault:
    """The fault of a light that is not there, with the nearest that is."""
    return Fault(
        what=f"nothing called {name!r} gives light in {names.setup}",
        where=where,
        expected="one of " + ", ".join(names.sources),
        found=name,
        fix=nearest_fix(name, names.sources),
    )


def _unread_lit(part: str, error: LitUnread, names: Names, where: str) -> Fault:
    if error.no_daylight:
        return Fault("no daylight comes into this scene", where, found=part,
                     fix="name the lights that were on")  # fmt: skip
    if error.why:
        return Fault(error.why, where, found=part, fix=error.fix)
    fault = no_source(error.word, names, where)
    if fault.fix:
        return fault
    return Fault(
        what=f"what was on cannot be read from {part!r}",
        where=where,
        expected="BOOK on, BOOK alone, ambient, all but BOOK, all on, no daylight; lights: "
        + ", ".join(names.sources),
        found=error.word,
    )


def _named_apart(taken: Sequence[Taken]) -> tuple[Taken, ...]:
    """Readings of one place told apart by what was on, and by number where that is alike too."""
    count: dict[str, int] = {}
    for one in taken:
        count[one.reading] = count.get(one.reading, 0) + 1
    made: list[Taken] = []
    for one in taken:
        name = one.reading if count[one.reading] == 1 else f"{one.reading}, {one.on}"
        same = sum(1 for other in made if other.name == name or other.name.startswith(f"{name} #"))
        made.append(replace(one, name=f"{name} #{same + 1}" if same else name))
    return tuple(made)
