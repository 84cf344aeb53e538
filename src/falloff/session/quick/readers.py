"""Readers of the quick start's answers: a text to the plan's values, or what is wrong with it."""

from __future__ import annotations

import re
from typing import Any, Final, cast

from falloff import units
from falloff.camera import illuminance_of_exposure_value_lux
from falloff.errors import DocumentError, Fault
from falloff.session.quick.outfits import read_key
from falloff.session.quick.plan import WindowHour, WindowPlan
from falloff.session.quick.words import (
    DRESSINGS,
    FILLS,
    OUTSIDE,
    WALLS,
    fill_parts,
    meant,
    plain_word,
)
from falloff.units import UnitFault

_X: Final = r"\s*(?:x|×|\bby\b)\s*"
_USUAL_GEL: Final = "2 stops"
_MOST_LIKELY_FC: Final = 3000.0  # a bright overcast, in foot-candles


def room(said: str) -> dict[str, Any]:
    """Width and depth."""
    width, depth = _two_lengths(said)
    return {"width_m": width, "depth_m": depth}


def ceiling(said: str) -> dict[str, Any]:
    """The ceiling's height."""
    return {"ceiling_m": _length(re.sub(r"\s*(up|high)$", "", said.lower()))}


def walls(said: str) -> dict[str, Any]:
    """The walls' reflectance, from a word or a share."""
    word = plain_word("wall", said)
    if word in WALLS:
        return {"wall_reflectance": WALLS[word][0]}
    try:
        share = float(said) if "%" not in said else float(units.parse_fraction(said))
    except (ValueError, UnitFault):
        share = -1.0
    if not 0.0 <= share <= 0.95:
        told = "white, mid, dark, or a reflectance such as 0.6"
        raise _unread("this is no wall tone", told, said, fix=meant("wall", said))
    return {"wall_reflectance": share}


def window(said: str) -> dict[str, Any]:
    """A window's size, distance and hour; or none."""
    if plain_word("window", said) == "none":
        return {"window": None}
    size, *rest = _parts(said)
    width, height = _two_lengths(size)
    distance, clock = 1.2, 9.0
    for part in rest:
        if _says_hour(part):
            clock = hour(part)
        else:
            far = re.sub(r"\s*(away|from .*)$", "", part.lower())
            distance = _length(far, or_hour=True)
    place = {3.0: 3, 9.0: 9, 12.0: 12}.get(clock)
    if place is None:
        told = "9 (camera left), 3 (camera right) or 12 (behind)"
        raise _unread("a window is at 3, 9 or 12 o'clock with the camera at 6", told, said)
    found = WindowPlan(
        width_m=width, height_m=height, distance_m=distance, clock_hour=cast("WindowHour", place)
    )
    return {"window": found}


def dressing(said: str) -> dict[str, Any]:
    """What hangs in the window."""
    word = plain_word("dressing", said).lower()
    gel = re.fullmatch(r"(?:(.*)\s+)?gel(?:\s+(.*))?", word)
    if gel:
        loss = (gel[1] or gel[2] or _USUAL_GEL).replace("nd", "ND")
        return {"dressing": "gel", "gel_stops": float(units.parse_nd(loss))}
    if word not in DRESSINGS:
        told = ", ".join(DRESSINGS) + ", or ND 0.9 gel"
        raise _unread("this hangs in no window", told, said, fix=meant("dressing", said))
    return {"dressing": word}


def outside(said: str) -> dict[str, Any]:
    """The light outside, from a word or one reading."""
    word = plain_word("outside", said).lower()
    if word in OUTSIDE:
        taken, _, _, kelvin = OUTSIDE[word]
        return {"outside_lux": taken, "outside_kelvin": kelvin, "outside_word": word}
    if re.search(r"\b(?:sun|sunny|sunshine|sunlight|sunlit|clear|sunset|sunrise)\b", word):
        told = ", ".join(OUTSIDE) + ", or one meter reading"
        raise _unread("sun in the room is not computed yet", told, said)
    ev = re.fullmatch(r"ev\s*(-?[0-9.]+)", word)
    light = _light_of_ev(ev[1], said) if ev else _light(said)
    return {"outside_lux": light, "outside_word": "", "outside_kelvin": 6500.0}


def _light_of_ev(number: str, said: str) -> float:
    value = float(number) if number.count(".") < 2 and number not in ("-", ".", "-.") else 99.0
    if not -10.0 <= value <= 22.0:
        raise _unread("this is no exposure value", "EV -10 to EV 22", said)
    return float(illuminance_of_exposure_value_lux(value))


def _light(said: str) -> float:
    try:
        light = float(units.parse_illuminance(said))
    except UnitFault as error:
        told = ", ".join(OUTSIDE) + "; or a reading such as 12000 lx, 1100 fc or EV 12"
        fix = meant("outside", said)
        if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", said):
            feet = f", or '{said} fc'" if float(said) <= _MOST_LIKELY_FC else ""
            fix = f"did you mean '{said} lx'{feet}?"
        raise _unread(error.fault.what, told, said, fix=fix) from None
    if not 0.0 <= light <= 200_000.0:
        raise _unread("no daylight is like that", "0 lx to 200000 lx", said)
    return light


def key(said: str) -> dict[str, Any]:
    """Head and modifier, perhaps with the key's place after "at"."""
    fixture = fixture_of(said)
    outfit, _ = read_key(fixture)
    where = re.sub(r"^\s*at\s+", "", said[len(fixture) :], flags=re.IGNORECASE)
    return {"key": outfit} | (place(where) if where and outfit is not None else {})


def fixture_of(said: str) -> str:
    """The key without its place; "at spot" and "at flood" are no places."""
    at = r"\s+at\s+(?!(?:full\s+)?(?:spot|flood)\b)"
    return re.split(at, said, maxsplit=1, flags=re.IGNORECASE)[0]


def place(said: str) -> dict[str, Any]:
    """The key's distance, hour and height; a length with "up" or "high" is the height."""
    found: dict[str, Any] = {}
    for part in (one.lower() for one in _parts(said)):
        if _says_hour(part):
            found["key_clock"] = hour(part)
        elif re.search(r"\s(?:up|high)$", part) or "key_distance_m" in found:
            found["key_height_m"] = _length(re.sub(r"\s*(up|high)$", "", part), or_hour=True)
        else:
            found["key_distance_m"] = _length(re.sub(r"\s*away$", "", part), or_hour=True)
    if "key_distance_m" not in found:
        raise _unread("how far from the face is not said", "a distance, an hour, a height", said)
    return found


def camera(said: str) -> dict[str, Any]:
    """Stop, ISO, shutter, frame rate and ND."""
    words = {"stop": "T2.8", "iso": "800", "shutter": "180 deg", "fps": "24 fps", "nd": ""}
    for part in _parts(said):
        low = part.lower()
        if low.startswith("iso"):
            words["iso"] = low.removeprefix("iso").strip()
        elif low.endswith("fps"):
            words["fps"] = part
        elif low.startswith("nd") or low.endswith(("stops", "stop")):
            words["nd"] = part
        elif re.match(r"[tf]", low):
            words["stop"] = part
        else:
            words["shutter"] = _shutter(part)
    if not re.fullmatch(r"[0-9]{2,6}", words["iso"]) or int(words["iso"]) < 25:
        raise _unread("this is no ISO", "ISO 25 to ISO 999999", said)
    fps = units.parse_fps(words["fps"])
    return {
        "stop_text": words["stop"],
        "t_number": units.parse_stop(words["stop"]).number,
        "iso": float(words["iso"]),
        "shutter_text": words["shutter"],
        "fps": fps,
        "exposure_time_s": float(units.parse_shutter(words["shutter"], fps)),
        "nd_stops": float(units.parse_nd(words["nd"])) if words["nd"] else 0.0,
    }


def _shutter(part: str) -> str:
    """A shutter as units reads it: "1/50", "1/50 shutter" and "shutter 1/50" are 1/50 s."""
    bare = re.sub(r"^shutter\s+|\s+shutter$", "", part.strip(), flags=re.IGNORECASE)
    return f"{bare} s" if re.fullmatch(r"1\s*/\s*[0-9.]+", bare) else bare


def fill(said: str) -> dict[str, Any]:
    """What fills the side away from the key, perhaps with its size before it."""
    size, word = fill_parts(said)
    word = plain_word("fill", word).lower()
    if word not in FILLS:
        raise _unread("this is no fill", ", ".join(FILLS), said, fix=meant("fill", word))
    return {"fill": word} | ({"fill_size_m": _two_lengths(size)} if size else {})


# Parts of answers ------------------------------------------------------------------------


def hour(said: str) -> float:
    """A clock hour, 1 to below 13, from "4 o'clock", "7:30" or "7:30 o'clock"."""
    found = re.fullmatch(
        r"(?:at\s+)?([0-9]{1,2})(?:[:.]([0-9]{2}))?\s*(?:o'?\s?clock)?", said.strip().lower()
    )
    if not found or not 1 <= int(found[1]) <= 12 or int(found[2] or 0) > 59:
        told = "1 to 12 o'clock, the camera at 6: 4 o'clock, or 4:30 between the hours"
        raise _unread("this is no clock hour", told, said)
    return int(found[1]) + int(found[2] or 0) / 60.0


def _says_hour(part: str) -> bool:
    """Whether a part of an answer is meant as an hour, rightly told or not."""
    low = part.strip().lower()
    return bool(re.search(r"o'?\s?clock|\boclock|[0-9]:[0-9]", low)) or bool(
        re.fullmatch(r"at\s+[0-9.]+", low)
    )


def _parts(said: str) -> list[str]:
    return [part.strip() for part in said.split(",") if part.strip()] or [said]


def _two_lengths(said: str) -> tuple[float, float]:
    """Two lengths with "x" between them; the first may leave its unit to the second."""
    sides = re.split(_X, said.strip().lower())
    if len(sides) != 2:
        raise _unread("two lengths are needed", "width x depth (or height)", said)
    unit = re.search(r"[a-z]+$|'|\"$", sides[1])
    if unit and re.fullmatch(r"[0-9.]+", sides[0]):
        sides[0] = f"{sides[0]} {unit[0]}"
    return _length(sides[0]), _length(sides[1])


def _length(said: str, *, or_hour: bool = False) -> float:
    """A length (m); units are written small, and inches may leave their mark off after feet.

    or_hour: whether an hour could stand in its place, and is then told of.
    """
    text = said.strip().lower()
    if re.fullmatch(r"[0-9]+\s*(?:'|ft|feet|foot)\s*[0-9]+(?:\.[0-9]+)?", text):
        text += " in"
    if or_hour and re.fullmatch(r"[0-9]{1,2}", text):
        told = f"{text} m or {text} ft for a length, {text} o'clock for an hour"
        raise _unread(f"{text} has no unit", told, said)
    return float(units.parse_length(text))


def _unread(what: str, expected: str, found: str, *, fix: str = "") -> DocumentError:
    return DocumentError(Fault(what=what, expected=expected, found=found, fix=fix))
