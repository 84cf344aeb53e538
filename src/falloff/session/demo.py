"""demo: the shipped workshop, metered and pictured."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from falloff.layers import cached_layers
from falloff.readings import Readings, take_readings
from falloff.session.picture import (
    PictureFiles,
    prepare_folder,
    sizes_of,
    stems_of,
    write_setup,
)
from falloff.session.scene import open_scene, setup_light
from falloff.transport import Budget, Progress, silent

DEMO_BUDGET = Budget(view_rays=4, gather_rays=16, shadow_rays=2)


@dataclass(frozen=True, slots=True)
class Demo:
    """Readings of each of the demo's setups, files of the first, and where its scene file is."""

    scene: Path
    readings: tuple[Readings, ...]
    files: tuple[PictureFiles, ...]
    units: str


def run_demo(*, out: Path, width: int = 640, progress: Progress = silent) -> Demo:
    """Trace the workshop once; write its scene file and its first setup's picture, map, layers."""
    prepare_folder(out)
    scene_path = out / "workshop.scene.yaml"
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    if not scene_path.exists():  # a copy that was changed since is not ours to overwrite
        scene_path.write_bytes(shipped.read_bytes())
    with resources.as_file(shipped) as path:
        scene = open_scene(path)
    names = tuple(scene.document.setups)
    layers, _ = cached_layers(
        scene.stage, DEMO_BUDGET, sizes=sizes_of(scene, names[:1], width), progress=progress
    )
    setups = [setup_light(scene, name) for name in names]
    return Demo(
        scene=scene_path,
        readings=tuple(take_readings(layers, setup) for setup in setups),
        files=(write_setup(layers, setups[0], out / stems_of(scene, names)[0]),),
        units=scene.document.units,
    )
