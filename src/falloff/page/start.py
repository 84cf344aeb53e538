"""Beginning without a scene: a short form of the quick start, and the shipped locations."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, Literal

from falloff.page.told import cannot
from falloff.session import LOCATIONS, SITUATIONS, location_file, questions

_ABOUT: Final = {
    "workshop": "a craft workshop by day: large window, book light, warm wall",
    "kitchen": "a small kitchen at night: moonlight, refrigerator, a phone",
    "stairwell": "an old stairwell: skylight, shaft of light, a hall lamp",
}


def offers() -> dict[str, Any]:
    """What one can begin with: situations with their questions by units, and locations."""
    return {
        "situations": [
            {
                "name": name,
                "says": says,
                "questions": [
                    {
                        "name": one.name,
                        "asks": one.asks,
                        "metric": one.metric,
                        "imperial": one.imperial,
                    }
                    for one in questions(name)
                ],
            }
            for name, says in SITUATIONS.items()
        ],
        "locations": [{"name": name, "says": _ABOUT[name]} for name in LOCATIONS],
    }


def begin(asked: Mapping[str, Any], folder: Path) -> Path:
    """A new scene file in a folder: from a quick start's answers, or a shipped location's copy.

    Raises DocumentError for answers that cannot be read, OutputError where nothing can be written.
    """
    if "location" in asked:
        location = next((one for one in LOCATIONS if one == asked["location"]), None)
        if location is None:
            raise cannot("there is no such location", f"one of {', '.join(LOCATIONS)}")
        path = _free(folder, location)
        path.write_bytes(location_file(location).read_bytes())
        return path
    situation = next((one for one in SITUATIONS if one == asked["situation"]), None)
    if situation is None:
        raise cannot("there is no such situation", f"one of {', '.join(SITUATIONS)}")
    from falloff.session import run_new  # which traces

    units: Literal["imperial", "metric"] = (
        "imperial" if asked.get("units") == "imperial" else "metric"
    )
    answers = {str(key): str(value) for key, value in dict(asked.get("answers", {})).items()}
    return run_new(situation, answers, units=units, out=_free(folder, situation)).scene


def _free(folder: Path, name: str) -> Path:
    path, count = folder / f"{name}.scene.yaml", 1
    while path.exists():
        count += 1
        path = folder / f"{name}-{count}.scene.yaml"
    return path
