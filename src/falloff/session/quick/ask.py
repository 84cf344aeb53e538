"""The questions of a quick start: at most ten, in the trade's words, each with a default."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final, cast

import msgspec

from falloff import units
from falloff.camera import illuminance_of_exposure_value_lux
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.kit import read_outfit
from falloff.session.quick.plan import Plan, Situation, System, WindowHour, WindowPlan
from falloff.session.quick.room import farthest_key_m, highest_key_m, impossible
from falloff.units import UnitFault


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its name (also its flag), how it is asked, its default by units, its reader."""

    name: str
    asks: str
    metric: str
    imperial: str
    read: Callable[[str], dict[str, Any]]

    def default(self, system: System) -> str:
        """What is taken where nothing is answered."""
        return self.metric if system == "metric" else self.imperial


SITUATIONS: Final[Mapping[Situation, str]] = {
    "window": "one person by a window",
    "table": "two people at a table",
    "interview": "a standing interview",
    "kitchen": "a kitchen or another working space",
}

# Luminous reflectance of a room's walls in a word, and what it may be: off-white plaster 65 to
# 75 % and new white paint 80 to 88 % (handbook ranges, from memory); mid and dark are our own.
WALLS: Final[Mapping[str, tuple[float, float, float]]] = {
    "white": (0.75, 0.65, 0.85),
    "mid": (0.45, 0.30, 0.60),
    "dark": (0.12, 0.05, 0.25),
}
# Illuminance on open ground in a word (lx): as taken, least and most; and the light's colour (K).
# Common practice, no source; one meter reading outside is worth more.
OUTSIDE: Final[Mapping[str, tuple[float, float, float, float]]] = {
    "bright overcast": (18_000.0, 10_000.0, 30_000.0, 6500.0),
    "overcast": (10_000.0, 6_000.0, 18_000.0, 6500.0),
    "dull": (4_000.0, 2_000.0, 7_000.0, 6500.0),
    "shade of a clear sky": (12_000.0, 8_000.0, 18_000.0, 9000.0),
    "dusk": (100.0, 20.0, 500.0, 8500.0),
    "night": (0.5, 0.05, 5.0, 3500.0),
}
DRESSINGS: Final = ("bare", "sheer", "blind", "gel", "blackout")
FILLS: Final = ("none", "white board", "black")
_X: Final = r"\s*(?:x|×|\bby\b)\s*"
_PLAIN: Final = str.maketrans({"\u2019": "'", "\u2018": "'", "\u2032": "'", "\u2033": '"'})


def questions(situation: Situation) -> tuple[Question, ...]:
    """The ten questions of a situation, in the order in which they are asked."""
    return tuple(
        Question(name, asks, *_DEFAULTS[situation].get(name, usual), read)
        for name, asks, usual, read in _QUESTIONS
    )


def read_plan(situation: Situation, system: System, answers: Mapping[str, str]) -> Plan:
    """A plan from answers by question; what is left out takes its default.

    Raises DocumentError with a fault for every answer that cannot be read.
    """
    usual: dict[str, Any] = {}
    given: dict[str, Any] = {}
    faults: list[Fault] = []
    for question in questions(situation):
        usual |= question.read(question.default(system))
        said = answers.get(question.name, "").strip()
        try:
            given |= read_answer(question, said) if said else {}
        except FalloffError as error:
            faults += error.faults
    if faults:
        raise DocumentError(*faults)
    values = usual | given  # a default never outweighs what another answer said
    window = values["window"]
    if window is not None and window.clock_hour == 3 and "key_clock" not in given:
        values["key_clock"] = 12.0 - values["key_clock"]  # the usual key is across from a window
    volts = 120.0 if system == "imperial" else 230.0
    plan = Plan(situation=situation, units=system, supply_volts=volts, **values)
    if plan.key is not None and "key_distance_m" not in given:
        farthest = math.floor(100.0 * farthest_key_m(plan)) / 100.0
        plan = msgspec.structs.replace(plan, key_distance_m=min(plan.key_distance_m, farthest))
    if plan.key is not None and "key_height_m" not in given:
        # The usual height bows to a low ceiling.
        highest = math.floor(100.0 * highest_key_m(plan)) / 100.0
        plan = msgspec.structs.replace(plan, key_height_m=min(plan.key_height_m, highest))
    faults = impossible(plan)
    if faults:
        raise DocumentError(*faults)
    return plan


def read_answer(question: Question, said: str) -> dict[str, Any]:
    """The plan's values that one answer gives; DocumentError that names the question."""
    try:
        return question.read(" ".join(said.translate(_PLAIN).split()))
    except UnitFault as error:
        fault = error.fault
    except FalloffError as error:
        fault = error.faults[0]
    raise DocumentError(
        Fault(
            what=fault.what,
            where=question.name,
            expected=fault.expected,
            found=fault.found or said,
            fix=fault.fix or f"write it like {_examples(question)}",
        )
    )


def _examples(question: Question) -> str:
    return " or ".join(repr(one) for one in dict.fromkeys((question.metric, question.imperial)))


# Readers ---------------------------------------------------------------------------------


def _room(said: str) -> dict[str, Any]:
    width, depth = _two_lengths(said)
    return {"width_m": width, "depth_m": depth}


def _ceiling(said: str) -> dict[str, Any]:
    return {"ceiling_m": _length(said)}


def _walls(said: str) -> dict[str, Any]:
    if said.lower() in WALLS:
        return {"wall_reflectance": WALLS[said.lower()][0]}
    try:
        share = float(said) if "%" not in said else float(units.parse_fraction(said))
    except (ValueError, UnitFault):
        share = -1.0
    if not 0.0 <= share <= 0.95:
        raise _unread(
            "this is no wall tone", "white, mid, dark, or a reflectance such as 0.6", said
        )
    return {"wall_reflectance": share}


def _window(said: str) -> dict[str, Any]:
    if said.lower() == "none":
        return {"window": None}
    size, *rest = _parts(said)
    width, height = _two_lengths(size)
    distance, hour = 1.2, 9.0
    for part in rest:
        if "o'clock" in part.lower():
            hour = _hour(part)
        else:
            distance = _length(re.sub(r"\s*(away|from .*)$", "", part.lower()))
    place = {3.0: 3, 9.0: 9, 12.0: 12}.get(hour)
    if place is None:
        told = "9 (camera left), 3 (camera right) or 12 (behind)"
        raise _unread("a window is at 3, 9 or 12 o'clock with the camera at 6", told, said)
    window = WindowPlan(
        width_m=width, height_m=height, distance_m=distance, clock_hour=cast("WindowHour", place)
    )
    return {"window": window}


def _dressing(said: str) -> dict[str, Any]:
    word = said.lower()
    gel = re.fullmatch(r"(?:(.*)\s+)?gel(?:\s+(.*))?", word)
    if gel:
        loss = (gel[1] or gel[2] or "2 stops").replace("nd", "ND")
        return {"dressing": "gel", "gel_stops": float(units.parse_nd(loss))}
    if word not in DRESSINGS:
        raise _unread("this hangs in no window", ", ".join(DRESSINGS) + ", or ND 0.9 gel", said)
    return {"dressing": word}


def _outside(said: str) -> dict[str, Any]:
    word = said.lower()
    if word in OUTSIDE:
        taken, _, _, kelvin = OUTSIDE[word]
        return {"outside_lux": taken, "outside_kelvin": kelvin, "outside_word": word}
    if "sun" in word:
        told = ", ".join(OUTSIDE) + ", or one meter reading"
        raise _unread("sun in the room is not computed yet", told, said)
    ev = re.fullmatch(r"ev\s*(-?[0-9.]+)", word)
    if ev:
        value = float(ev[1]) if ev[1].count(".") < 2 and ev[1] not in ("-", ".", "-.") else 99.0
        if not -10.0 <= value <= 22.0:
            raise _unread("this is no exposure value", "EV -10 to EV 22", said)
        light = float(illuminance_of_exposure_value_lux(value))
        return {"outside_lux": light, "outside_word": "", "outside_kelvin": 6500.0}
    try:
        light = float(units.parse_illuminance(said))
    except UnitFault as error:
        told = ", ".join(OUTSIDE) + "; or a reading such as 12000 lx, 1100 fc or EV 12"
        raise _unread(error.fault.what, told, said) from None
    if not 0.0 <= light <= 200_000.0:
        raise _unread("no daylight is like that", "0 lx to 200000 lx", said)
    return {"outside_lux": light, "outside_word": "", "outside_kelvin": 6500.0}


def _key(said: str) -> dict[str, Any]:
    if said.lower() == "none":
        return {"key": None}
    fixture, *place = re.split(r"\s+at\s+", said, maxsplit=1, flags=re.IGNORECASE)
    return {"key": read_outfit(fixture)} | (_place(place[0]) if place else {})


def _place(said: str) -> dict[str, Any]:
    distance, *rest = _parts(said)
    found: dict[str, Any] = {"key_distance_m": _length(distance)}
    for part in (one.lower() for one in rest):
        if "o'clock" in part:
            found["key_clock"] = _hour(part)
        else:
            found["key_height_m"] = _length(re.sub(r"\s*(up|high)$", "", part))
    return found


def _camera(said: str) -> dict[str, Any]:
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
            words["shutter"] = part
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


def _fill(said: str) -> dict[str, Any]:
    if said.lower() not in FILLS:
        raise _unread("this is no fill", ", ".join(FILLS), said)
    return {"fill": said.lower()}


def _parts(said: str) -> list[str]:
    return [part.strip() for part in said.split(",") if part.strip()] or [said]


def _two_lengths(said: str) -> tuple[float, float]:
    """Two lengths with "x" between them; the first may leave its unit to the second."""
    sides = re.split(_X, said.strip().lower())
    if len(sides) != 2:
        raise _unread("two lengths are needed", "width x depth (or height)", said)
    unit = re.search(r"[a-zA-Z'\"]+$", sides[1])
    if unit and re.fullmatch(r"[0-9.]+", sides[0]):
        sides[0] = f"{sides[0]} {unit[0]}"
    return _length(sides[0]), _length(sides[1])


def _length(said: str) -> float:
    """A length (m); units are written small, whatever the case they were typed in."""
    return float(units.parse_length(said.lower()))


def _hour(said: str) -> float:
    found = re.fullmatch(r"([0-9]{1,2})(?::([0-9]{2}))?\s*o'clock", said.strip().lower())
    if not found or not 1 <= int(found[1]) <= 12 or int(found[2] or 0) > 59:
        raise _unread("this is no clock hour", "1 o'clock to 12 o'clock, 4:30 o'clock", said)
    return int(found[1]) + int(found[2] or 0) / 60.0


def _unread(what: str, expected: str, found: str) -> DocumentError:
    return DocumentError(Fault(what=what, expected=expected, found=found))


_QUESTIONS: Final[tuple[tuple[str, str, tuple[str, str], Callable[[str], dict[str, Any]]], ...]] = (
    ("room", "How wide is the room, and how deep away from the camera?",
     ("5 x 4.5 m", "16 x 15 ft"), _room),
    ("ceiling", "How high is the ceiling?", ("2.6 m", "8 ft 6 in"), _ceiling),
    ("wall", "Walls: white, mid or dark?", ("mid", "mid"), _walls),
    ("window", "The window: width x height, how far from the person, at which hour (camera at 6)?",
     ("1.5 x 1.3 m, 1.3 m away, 9 o'clock", "5 x 4 ft, 4 ft away, 9 o'clock"), _window),
    ("dressing", "What hangs in it: bare, sheer, blind, ND 0.6 gel, blackout?",
     ("bare", "bare"), _dressing),
    ("outside", "Light outside now: one meter reading in the open, or the sky in words?",
     ("overcast", "overcast"), _outside),
    ("key", "Key fixture and modifier, or none?",
     ("300 W LED in 90 cm soft box", "300 W LED in 3 ft soft box"), _key),
    ("place", "How far from the face, at which hour (camera at 6), how high?",
     ("1.6 m, 4 o'clock, 2 m up", "5 ft, 4 o'clock, 6 ft 6 in up"), _place),
    ("camera", "Camera: stop, ISO, shutter, ND?",
     ("T2.8, ISO 800, 180 deg", "T2.8, ISO 800, 180 deg"), _camera),
    ("fill", "On the side away from the key: none, white board, black?",
     ("none", "none"), _fill),
)  # fmt: skip

_DEFAULTS: Final[Mapping[Situation, Mapping[str, tuple[str, str]]]] = {
    "window": {},
    "table": {
        "window": ("1.6 x 1.3 m, 1.9 m away, 9 o'clock", "5 x 4 ft, 6 ft away, 9 o'clock"),
        "place": ("1.8 m, 4 o'clock, 2.1 m up", "6 ft, 4 o'clock, 7 ft up"),
    },
    "interview": {
        "room": ("5 x 6 m", "16 x 20 ft"),
        "window": ("1.4 x 1.4 m, 1.8 m away, 9 o'clock", "5 x 5 ft, 6 ft away, 9 o'clock"),
    },
    "kitchen": {
        "room": ("4 x 4 m", "13 x 13 ft"),
        "wall": ("white", "white"),
        "window": ("1.2 x 1 m, 1 m away, 9 o'clock", "4 x 3 ft, 3 ft 6 in away, 9 o'clock"),
        "place": ("1.6 m, 4 o'clock, 2 m up", "5 ft, 4 o'clock, 6 ft 6 in up"),
    },
}
