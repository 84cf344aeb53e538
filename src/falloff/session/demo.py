"""demo: a shipped location, metered and pictured."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from falloff.camera import expose
from falloff.layers import LIVE_BUDGET, begin_warm_up, cached_layers
from falloff.readings import Readings, take_readings
from falloff.session.locations import Location, location_file
from falloff.session.picture import (
    PictureFiles,
    prepare_folder,
    sizes_of,
    stems_of,
    write_setup,
)
from falloff.session.scene import open_scene, setup_light
from falloff.transport import Progress, silent


@dataclass(frozen=True, slots=True)
class Demo:
    """Readings of the first setup and of those that stand alike, files of the first; the scene.

    others: the setups that were left out, since things stand otherwise in them.
    """

    scene: Path
    readings: tuple[Readings, ...]
    files: tuple[PictureFiles, ...]
    others: tuple[str, ...]
    units: str


def run_demo(
    location: Location = "workshop", *, out: Path, width: int = 640, progress: Progress = silent
) -> Demo:
    """Trace a location once; write its scene file and its first setup's picture, map, layers."""
    prepare_folder(out)
    begin_warm_up()
    scene_path = out / f"{location}.scene.yaml"
    shipped = location_file(location)
    if not scene_path.exists():  # a copy that was changed since is not ours to overwrite
        scene_path.write_bytes(shipped.read_bytes())
    with resources.as_file(shipped) as path:
        scene = open_scene(path)
    standing = scene.arrangements[0]
    first = standing.setups[0]
    layers, _ = cached_layers(
        standing.stage, LIVE_BUDGET, sizes=sizes_of(standing, (first,), width), progress=progress
    )
    setups = [setup_light(standing.document, name) for name in standing.setups]
    frame = expose(layers.pictures(setups[0].camera), setups[0].dims, setups[0].settings)
    return Demo(
        scene=scene_path,
        readings=tuple(take_readings(layers, setup) for setup in setups),
        files=(write_setup(layers, setups[0], out / stems_of(scene)[first], frame),),
        others=tuple(name for name in scene.setups if name not in standing.setups),
        units=scene.document.units,
    )
