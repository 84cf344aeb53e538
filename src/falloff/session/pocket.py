"""pocket: one file to carry, in which a scene's lights are dimmed and metered on a phone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from falloff.camera import mid_grey_luminance_nit
from falloff.camera.atomic_write import write_whole
from falloff.errors import BudgetExceeded, Fault, OutputError
from falloff.layers import LightLayers, cached_layers
from falloff.readings import SetupLight
from falloff.session.picture import PICTURE_BUDGET, prepare_folder, sizes_of
from falloff.session.pocket_data import PocketSetup, pocket_scene, pocket_setup
from falloff.session.pocket_page import Half, half_layer, page_of
from falloff.session.scene import Arrangement, Scene, open_scene, setup_light
from falloff.transport import Progress, silent

POCKET_BUDGET: Final = PICTURE_BUDGET
MOST_BYTES: Final = 15_000_000  # of the file: what a telephone opens and a message carries
WIDTH_PX: Final = 480
_LEAST_WIDTH_PX: Final = 240  # below that a setup is rather left out
_LEAST_ALONE_PX: Final = 96  # of one setup alone
_WIDTH_STEP_PX: Final = 16
_BYTES_PER_PIXEL: Final = 8  # three half floats in base64
_PAGE_BYTES: Final = 250_000  # frame, styles and scripts
_SETUP_BYTES: Final = 40_000  # a setup's lists, tone table and readings
_SOURCE_BYTES: Final = 8_000  # a source's gains


@dataclass(frozen=True, slots=True)
class Pocket:
    """The file, its size, the setups in it, those left out for want of room, and the pictures.

    width_px: of each picture; sources: of each setup, by name.
    """

    file: Path
    size_bytes: int
    setups: tuple[str, ...]
    left_out: tuple[str, ...]
    width_px: int
    sources: dict[str, tuple[str, ...]]


def run_pocket(
    path: Path,
    *,
    out: Path,
    setups: tuple[str, ...] = (),
    progress: Progress = silent,
) -> Pocket:
    """Write a scene's pocket copy: one file that needs no server and no network.

    out: the file. Pictures are 480 pixels wide where the file stays within 15 MB, else smaller,
    240 at least; where that is not enough, the last setups are left out. Raises what `open_scene`
    does, OutputError where the file cannot be written, and BudgetExceeded where one setup alone
    has too many sources.
    """
    scene = open_scene(path, setups)
    _check_out(out)
    kept, width = _fitting(scene)
    found: dict[str, PocketSetup] = {}
    halves: list[Half] = []
    for standing in scene.arrangements:
        names = tuple(name for name in standing.setups if name in kept)
        if names:
            _add_arrangement(standing, names, width=width, halves=halves, found=found,
                             progress=progress)  # fmt: skip
    left_out = tuple(name for name in scene.setups if name not in kept)
    whole = pocket_scene(
        scene.document,
        tuple(found[name] for name in kept),
        stem=pocket_stem(path),
        left_out=left_out,
    )
    page = page_of(whole, halves).encode()
    write_whole(out, lambda part: _write(part, page))
    return Pocket(
        file=out,
        size_bytes=len(page),
        setups=kept,
        left_out=left_out,
        width_px=width,
        sources={name: tuple(one.name for one in found[name].sources) for name in kept},
    )


def pocket_stem(path: Path) -> str:
    """A scene file's name without its endings: "kitchen" of "kitchen.scene.yaml"."""
    name = path.name.removesuffix(".scene.yaml")
    return (Path(name).stem if name == path.name else name) or "scene"


def _write(part: Path, page: bytes) -> None:
    part.write_bytes(page)


def _check_out(out: Path) -> None:
    """Refuse before anything is traced what cannot be written in the end."""
    if out.is_dir():
        raise OutputError(
            Fault(
                what="a folder stands where the file should go",
                where=str(out),
                expected="the name of a file",
                found="a folder",
                fix="give a file name, such as --out kitchen.pocket.html",
            )
        )
    prepare_folder(out.parent)


def _fitting(scene: Scene) -> tuple[tuple[str, ...], int]:
    """The setups that the file holds, and how wide their pictures are."""
    names = scene.setups
    while True:
        least = _LEAST_WIDTH_PX if len(names) > 1 else _LEAST_ALONE_PX
        for width in range(WIDTH_PX, least - 1, -_WIDTH_STEP_PX):
            if _bytes_at(scene, names, width) <= MOST_BYTES:
                return names, width
        if len(names) == 1:
            raise BudgetExceeded(
                Fault(
                    what="one setup alone has more light than a pocket copy holds",
                    where=names[0],
                    expected=f"at most {MOST_BYTES // 1_000_000} MB",
                    found=f"{_sources(scene, names[0])} sources",
                    fix="take lights that matter little out of this setup: without: [...]",
                )
            )
        names = names[:-1]


def _bytes_at(scene: Scene, names: tuple[str, ...], width: int) -> int:
    """Bytes of the file with these setups' pictures at a width; alike ones share layers."""
    total = _PAGE_BYTES
    pictures = {}
    for name in names:
        standing = scene.arrangement_of(name)
        camera = standing.document.setups[name].camera
        total += _SETUP_BYTES + _SOURCE_BYTES * _sources(scene, name)
        pixels = np.prod(sizes_of(standing, (name,), width)[camera])
        pictures[standing.setups, camera] = int(pixels) * len(standing.stage.sources)
    return total + _BYTES_PER_PIXEL * sum(pictures.values())


def _sources(scene: Scene, name: str) -> int:
    return len(scene.arrangement_of(name).stage.sources)


def _add_arrangement(
    standing: Arrangement,
    names: tuple[str, ...],
    *,
    width: int,
    halves: list[Half],
    found: dict[str, PocketSetup],
    progress: Progress,
) -> None:
    """Trace an arrangement; add its cameras' layers to `halves` and its setups to `found`."""
    sizes = sizes_of(standing, names, width)
    layers, _ = cached_layers(standing.stage, POCKET_BUDGET, sizes=sizes, progress=progress)
    lights = {name: setup_light(standing.document, name) for name in names}
    for camera in sizes:
        of_camera = [one for one in lights.values() if one.camera == camera]
        first = len(halves)
        kept = _halves(layers, camera, of_camera)
        halves += [half for half, _ in kept]
        scales = tuple(scale for _, scale in kept)
        for setup in of_camera:
            found[setup.name] = pocket_setup(
                standing.document, layers, setup, light=first, scales=scales
            )


def _halves(layers: LightLayers, camera: str, setups: list[SetupLight]) -> list[tuple[Half, float]]:
    """Each source's whole light, white at 100 %, as half floats with their scale."""
    view = layers.views[camera]
    grey = min(float(mid_grey_luminance_nit(one.settings)) for one in setups)
    return [half_layer(view.direct[s] + view.bounced[s], grey) for s in range(len(layers.names))]
