"""demo: the shipped workshop, metered and pictured."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from falloff.layers import cached_layers
from falloff.readings import Readings, take_readings
from falloff.session.picture import (
    PICTURE_BUDGET,
    PictureFiles,
    prepare_folder,
    sizes_of,
    write_setup,
)
from falloff.session.scene import open_scene, setup_light
from falloff.transport import Progress, silent


@dataclass(frozen=True, slots=True)
class Demo:
    """Readings and files of each of the demo's setups, and where its scene file was put."""

    scene: Path
    readings: tuple[Readings, ...]
    files: tuple[PictureFiles, ...]
    units: str


def run_demo(*, out: Path, width: int = 640, progress: Progress = silent) -> Demo:
    """Trace the workshop once, and write its scene file, pictures, stops maps and layers."""
    prepare_folder(out)
    scene_path = out / "workshop.scene.yaml"
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    if not scene_path.exists():  # a copy that was changed since is not ours to overwrite
        scene_path.write_bytes(shipped.read_bytes())
    with resources.as_file(shipped) as path:
        scene = open_scene(path)
    names = tuple(scene.document.setups)
    layers, _ = cached_layers(
        scene.stage, PICTURE_BUDGET, sizes=sizes_of(scene, names, width), progress=progress
    )
    setups = [setup_light(scene, name) for name in names]
    return Demo(
        scene=scene_path,
        readings=tuple(take_readings(layers, setup) for setup in setups),
        files=tuple(write_setup(layers, setup, out, scene) for setup in setups),
        units=scene.document.units,
    )
