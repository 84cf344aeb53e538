"""What a window is told of each source: what it is, its dims as light, its colours."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import msgspec
import numpy as np

from falloff.document import Fixture, Practical, SceneDocument
from falloff.stage import colour_factor, dim_gains, kelvin_of
from falloff.stage.lights import light_of
from falloff.stage.places import Placer
from falloff.stage.skies import build_skies
from falloff.types import Float64Array

_HUES: Final = (1800, 12000, 40)  # kelvin from and to, in so many steps of equal mired


@dataclass(slots=True)
class SourcesTold:
    """The sources of one document after another; what has not changed is the same object."""

    _lights: dict[str, tuple[Any, dict[str, Any]]] = field(default_factory=dict)
    _skies: tuple[Any, dict[str, Any]] | None = None

    def of(self, document: SceneDocument, says: Callable[[str], str]) -> dict[str, dict[str, Any]]:
        """Every source by name, in the order of the layers: openings and sun, then lights.

        says: what a light is, in words.
        """
        told = dict(self._sky(document))
        number = 0
        for section in ("fixtures", "practicals"):
            for name, light in getattr(document, section).items():
                number += 1
                about = (_lit(light), document.own_kit, number, says(name))
                kept = self._lights.get(name)
                if kept is None or kept[0] != about:
                    kept = (about, _light(document, section, name, light, number, says(name)))
                    self._lights[name] = kept
                told[name] = kept[1]
        return told

    def _sky(self, document: SceneDocument) -> dict[str, Any]:
        about = (document.sky, document.openings, document.outside, document.room, document.rooms)
        if self._skies is None or self._skies[0] != about:
            found = {}
            for source in build_skies(Placer(document)):
                window = source.name in document.openings
                colour = [float(value) for value in source.colour]
                found[source.name] = {
                    "kind": "window" if window else "sun",
                    "number": None,
                    "says": "sky light" if window else "sun",
                    "section": "openings" if window else None,
                    "kelvin": None,
                    "watts": None,
                    "circuit": None,
                    "dims": False,
                    "gains": [colour],
                    "hues": None,
                }
            self._skies = (about, found)
        return self._skies[1]


def _lit(light: Fixture | Practical) -> tuple[Any, ...]:
    """All of a light's record but where it stands and looks."""
    fields = msgspec.structs.asdict(light).items()
    return tuple(value for key, value in fields if key not in {"at", "aim", "roll", "stand"})


def colours_of(
    told: dict[str, dict[str, Any]], daylight: Mapping[str, list[float]]
) -> dict[str, Float64Array]:
    """The colour (3,) of every source at full, luminance 1, from what is told of them.

    daylight: of windows and the sun at a setup's own hour, told with its light.
    """
    return {name: np.array(daylight.get(name, one["gains"][-1])) for name, one in told.items()}


def _light(
    document: SceneDocument,
    section: str,
    name: str,
    light: Fixture | Practical,
    number: int,
    says: str,
) -> dict[str, Any]:
    now = light_of(Placer(document), name)
    colour = np.asarray(now.colour, np.float64)
    kelvin = kelvin_of(document, name)
    return {
        "kind": "fixture" if section == "fixtures" else "practical",
        "number": number,
        "says": says,
        "section": section,
        "kelvin": kelvin,
        "watts": now.power_w,
        "circuit": light.circuit,
        "dims": True,
        "gains": (dim_gains(document, name) * colour).tolist(),
        "hues": _hues(document, name) if kelvin else None,
    }


def _hues(document: SceneDocument, name: str) -> dict[str, Any]:
    low, high, count = _HUES
    kelvins = [1e6 / mired for mired in np.linspace(1e6 / low, 1e6 / high, count)]
    return {
        "kelvin": [float(kelvin) for kelvin in kelvins],
        "rgb": [
            [float(value) for value in colour_factor(document, name, float(kelvin))]
            for kelvin in kelvins
        ],
    }
