"""The file that a pocket copy gives back: what a meter said on the day, NAME.metered.json."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal

import msgspec

from falloff.errors import DocumentError, Fault

METERED_VERSION: Final = 1


class MeteredSettings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The camera as it was set on the phone, each as it was said."""

    stop: str
    iso: str
    nd: str
    balance: str
    shutter: str


class MeteredReading(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """One reading of a meter; value, planned_value, computed_value in the unit.

    planned_value: with the plan's dims; computed_value: with the dims of that time. time: local,
    ISO 8601 with its offset; dims: knobs, 0 to 1, of what dims, 0 where it is off; lit: all sources
    that were on, windows among them; hour: with what daylight it was computed, where that was not
    of the plan's own hour, ISO 8601.
    """

    setup: str
    name: str
    instrument: Literal["flat", "dome", "spot"]
    unit: Literal["lx", "fc", "cd/m²", "fL"]
    value: float
    planned_value: float
    computed_value: float
    time: str
    dims: dict[str, float]
    lit: tuple[str, ...]
    settings: MeteredSettings
    hour: str | None = None


class MeteredScene(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Which scene it was: checksum is the SHA-256 of its file, in hex."""

    title: str
    file: str
    checksum: str


class MeteredFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """All that was metered, setup by setup; falloff_metered: the version of the format."""

    falloff_metered: Literal[1]
    scene: MeteredScene
    saved: str
    readings: tuple[MeteredReading, ...]


def read_metered(path: Path) -> MeteredFile:
    """What was metered; raises DocumentError for a file that is no such thing."""
    try:
        return msgspec.json.decode(path.read_bytes(), type=MeteredFile)
    except (OSError, msgspec.DecodeError) as error:
        raise DocumentError(
            Fault(
                what="this cannot be read as what was metered",
                where=str(path),
                expected=f"a file saved by a pocket copy, version {METERED_VERSION}",
                found=getattr(error, "strerror", None) or str(error),
                fix="save it again in the pocket copy: Save what I metered",
            )
        ) from error
