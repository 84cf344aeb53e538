"""meter: every reading that a scene asks for, under each of its setups."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from falloff.layers import cached_layers
from falloff.readings import Readings, take_readings
from falloff.session.scene import open_scene, setup_light
from falloff.transport import Progress, silent


@dataclass(frozen=True, slots=True)
class Metered:
    """Readings by setup, and the units that the scene wants to be answered in."""

    readings: tuple[Readings, ...]
    units: str


def run_meter(path: Path, *, setups: tuple[str, ...] = (), progress: Progress = silent) -> Metered:
    """Trace a scene (or find it traced) and read it; no picture is made."""
    scene = open_scene(path, setups)
    taken: dict[str, Readings] = {}
    for arrangement in scene.arrangements:
        layers, _ = cached_layers(arrangement.stage, sizes={}, progress=progress)
        for name in arrangement.setups:
            taken[name] = take_readings(layers, setup_light(arrangement.document, name))
    return Metered(tuple(taken[name] for name in scene.setups), scene.document.units)
