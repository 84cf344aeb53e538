"""picture: what each setup's camera sees, as picture, stops map and linear layers."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from falloff.camera import (
    describe_settings,
    develop,
    draw_stops_map,
    expose,
    write_exr,
    write_png,
)
from falloff.errors import Fault, OutputError
from falloff.layers import LightLayers, cached_layers
from falloff.readings import SetupLight
from falloff.session.scene import Scene, open_scene, setup_light, setup_names
from falloff.transport import Budget, Progress, silent

# A picture that was asked for is worth more rays than the demo's, which is waited for.
PICTURE_BUDGET = Budget(view_rays=4, gather_rays=32, shadow_rays=4)


@dataclass(frozen=True, slots=True)
class PictureFiles:
    """The files of one setup, and the share of the frame past each of the camera's limits."""

    setup: str
    picture: Path
    stops_map: Path
    layers: Path
    clipped_share: float
    dark_share: float


def run_picture(
    path: Path,
    *,
    out: Path,
    width: int = 960,
    setups: tuple[str, ...] = (),
    progress: Progress = silent,
) -> tuple[PictureFiles, ...]:
    """Write picture, stops map and linear OpenEXR layers of each setup into a folder."""
    scene = open_scene(path)
    names = setup_names(scene, setups)
    prepare_folder(out)
    sizes = sizes_of(scene, names, width)
    layers, _ = cached_layers(scene.stage, PICTURE_BUDGET, sizes=sizes, progress=progress)
    return tuple(
        write_setup(layers, setup_light(scene, name), out / stem)
        for name, stem in zip(names, stems_of(scene, names), strict=True)
    )


def stems_of(scene: Scene, setups: tuple[str, ...]) -> list[str]:
    """A file name for each setup without its ending; no two are alike, whatever the case."""
    stems: list[str] = []
    for name in setups:
        stem = f"{_plain(scene.stage.title)}-{_plain(name)}"
        numbered, count = stem, 1
        while numbered in stems:
            count += 1
            numbered = f"{stem}-{count}"
        stems.append(numbered)
    return stems


def sizes_of(scene: Scene, setups: tuple[str, ...], width: int) -> dict[str, tuple[int, int]]:
    """Width and height in pixels of the views that these setups need."""
    views = {scene.document.setups[name].camera for name in setups}
    sizes = {}
    for name in sorted(views):
        view = scene.stage.views[name]
        sizes[name] = (width, max(1, round(width * view.tan_half_height / view.tan_half_width)))
    return sizes


def prepare_folder(out: Path) -> None:
    """Make the folder for results, or say why it cannot be, before anything is traced."""
    try:
        out.mkdir(parents=True, exist_ok=True)
        probe = out / ".falloff-can-write"
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise OutputError(
            Fault(
                what="results cannot be written here",
                where=str(out),
                expected="a folder that you may write to",
                found=error.strerror or str(error),
                fix="choose another with --out",
            )
        ) from error


def write_setup(layers: LightLayers, setup: SetupLight, stem: Path) -> PictureFiles:
    """Expose one setup and write its three files; their names begin with `stem`."""
    pictures = layers.pictures(setup.camera)
    frame = expose(pictures, setup.dims, setup.settings)
    scene, exposure = layers.solution.stage.title, describe_settings(setup.settings)
    said = f"{scene}, {setup.name}: {exposure}"
    picture = write_png(
        stem.with_name(f"{stem.name}.png"),
        develop(frame.picture, setup.settings),
        text={"Description": said},
    )
    stops = write_png(
        stem.with_name(f"{stem.name}-stops.png"),
        draw_stops_map(frame.picture, setup.settings),
        text={"Description": f"Stops map. {said}"},
    )
    linear = write_exr(
        stem.with_name(f"{stem.name}.exr"),
        pictures,
        dims=setup.dims,
        settings=setup.settings,
        comments=said,
    )
    return PictureFiles(
        setup=setup.name,
        picture=picture,
        stops_map=stops,
        layers=linear,
        clipped_share=float(frame.highlights_clipped.mean()),
        dark_share=float(frame.shadows_clipped.mean()),
    )


def _plain(name: str) -> str:
    """A name as part of a file name, letters of any script kept."""
    return re.sub(r"[^\w]+", "-", name.lower()).strip("-")[:80] or "scene"
