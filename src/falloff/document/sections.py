"""The sections of a scene file, and what each may hold: the law of the format, key by key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from falloff.document.clock_values import LOCATION_VALUE
from falloff.document.light_sections import (
    FIXTURE_VALUE,
    HOUSE_POWER_VALUE,
    PRACTICAL_VALUE,
    PROFILE_VALUE,
)
from falloff.document.room_sections import OPENING_VALUE, OUTSIDE_VALUE, ROOM_VALUE
from falloff.document.setup_sections import (
    CAMERA_VALUE,
    MEASURED_VALUE,
    READING_VALUE,
    SETUP_VALUE,
)
from falloff.document.sky_section import SKY_VALUE
from falloff.document.target_sections import TARGET_VALUE
from falloff.document.thing_sections import (
    GRIP_VALUE,
    MATERIAL_VALUE,
    PROP_VALUE,
    SUBJECT_VALUE,
)
from falloff.document.values import Value, text_value

# Sections that are one group of fixed keys and may be left out.
SINGLE_SECTIONS: Final[Mapping[str, Value[Any]]] = {
    "location": LOCATION_VALUE,
    "sky": SKY_VALUE,
    "outside": OUTSIDE_VALUE,
    "house_power": HOUSE_POWER_VALUE,
    "own_kit": text_value("van.kit.toml", "a file's name"),
}
# Sections of things by name.
NAMED_SECTIONS: Final[Mapping[str, Value[Any]]] = {
    "rooms": ROOM_VALUE,
    "openings": OPENING_VALUE,
    "materials": MATERIAL_VALUE,
    "props": PROP_VALUE,
    "subjects": SUBJECT_VALUE,
    "fixtures": FIXTURE_VALUE,
    "practicals": PRACTICAL_VALUE,
    "grip": GRIP_VALUE,
    "cameras": CAMERA_VALUE,
    "setups": SETUP_VALUE,
    "readings": READING_VALUE,
    "targets": TARGET_VALUE,
    "measured": MEASURED_VALUE,
    "profiles": PROFILE_VALUE,
}
PLACED_SECTIONS: Final = (
    "openings", "props", "subjects", "fixtures", "practicals", "grip", "cameras",
)  # fmt: skip
MOVABLE_SECTIONS: Final = ("props", "subjects", "fixtures", "practicals", "grip")
OPEN_AIR: Final = "outside"  # where a door leads that leads into no room
SUN: Final = "sun"  # the sky's own, as a source

__all__ = [
    "MOVABLE_SECTIONS",
    "NAMED_SECTIONS",
    "OPEN_AIR",
    "PLACED_SECTIONS",
    "ROOM_VALUE",
    "SINGLE_SECTIONS",
    "SUN",
]
