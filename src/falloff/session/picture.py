"""picture: what each setup's camera sees, as picture, stops map, waveform and linear layers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from falloff.camera import (
    Change,
    ExposedFrame,
    Levels,
    SheetFrame,
    Srgb8,
    before_after,
    change_between,
    contact_sheet,
    describe_settings,
    develop,
    draw_histogram,
    draw_stops_map,
    draw_waveform,
    expose,
    levels_of,
    write_exr,
    write_png,
)
from falloff.document import SceneDocument
from falloff.errors import DocumentError, Fault, OutputError
from falloff.layers import LightLayers, cached_layers
from falloff.readings import SetupLight
from falloff.session.scene import Arrangement, Scene, open_scene, setup_light
from falloff.transport import Budget, Progress, silent
from falloff.units import format_length

if TYPE_CHECKING:
    from PIL.Image import Image

# A picture that was asked for is worth more rays than the demo's, which is waited for.
PICTURE_BUDGET = Budget(view_rays=4, gather_rays=32, shadow_rays=4)


@dataclass(frozen=True, slots=True)
class PictureFiles:
    """The files of one setup, and where its luminances lie."""

    setup: str
    picture: Path
    stops_map: Path
    waveform: Path
    histogram: Path
    layers: Path
    levels: Levels


@dataclass(frozen=True, slots=True)
class ChangeFile:
    """One setup before and after: the sheet of both, and how much of the frame changed."""

    setup: str
    sheet: Path
    change: Change


@dataclass(frozen=True, slots=True)
class Pictures:
    """Files of each setup; all setups on one sheet (None for one alone); each against another."""

    files: tuple[PictureFiles, ...]
    contact_sheet: Path | None
    changes: tuple[ChangeFile, ...]


def run_picture(
    path: Path,
    *,
    out: Path,
    width: int = 960,
    setups: tuple[str, ...] = (),
    before: Path | None = None,
    progress: Progress = silent,
) -> Pictures:
    """Write each setup's picture, stops map, waveform, histogram and OpenEXR layers to a folder.

    before: an earlier state of the scene, whose setups of the same names are set beside these.
    """
    scene = open_scene(path, setups)
    earlier = None if before is None else _earlier(before, scene)
    prepare_folder(out)
    stems = stems_of(scene)
    files: dict[str, PictureFiles] = {}
    frames = _frames(scene, width, progress)
    for name, (layers, setup, frame) in frames.items():
        files[name] = write_setup(layers, setup, out / stems[name], frame)
    changes = []
    if earlier is not None:
        old = _frames(earlier, width, progress)
        for name in earlier.setups:
            sheet = out / f"{stems[name]}-before-after.png"
            pair = old[name][2], frames[name][2]
            write_png(sheet, before_after(*pair, labels=("before", "after")))
            changes.append(ChangeFile(name, sheet, change_between(*pair)))
    sheet_path = None
    if len(frames) > 1:
        sheet_path = out / f"{_plain(scene.document.title)}-all-setups.png"
        write_png(sheet_path, _sheet_of(scene, frames))
    return Pictures(tuple(files[name] for name in scene.setups), sheet_path, tuple(changes))


Frames = Mapping[str, tuple[LightLayers, SetupLight, ExposedFrame]]


def _frames(scene: Scene, width: int, progress: Progress) -> Frames:
    """Every setup's layers, settings and exposed frame, in the scene's order."""
    found = {}
    for standing in scene.arrangements:
        sizes = sizes_of(standing, standing.setups, width)
        layers, _ = cached_layers(standing.stage, PICTURE_BUDGET, sizes=sizes, progress=progress)
        for name in standing.setups:
            setup = setup_light(standing.document, name)
            own = setup.coloured(layers)
            frame = expose(own.pictures(setup.camera), setup.dims, setup.settings)
            found[name] = (own, setup, frame)
    return {name: found[name] for name in scene.setups}


def _earlier(before: Path, scene: Scene) -> Scene:
    """The earlier scene with those of its setups that this one has too."""
    whole = open_scene(before)
    both = tuple(name for name in whole.setups if name in scene.setups)
    if not both:
        raise DocumentError(
            Fault(
                what="the two scenes have no setup in common",
                where=str(before),
                expected="one of " + ", ".join(scene.setups),
                found=", ".join(whole.setups),
                fix="give the setups to be compared the same name",
            )
        )
    kept = tuple(
        Arrangement(names, one.document, one.stage)
        for one in whole.arrangements
        if (names := tuple(name for name in one.setups if name in both))
    )
    return Scene(whole.document, both, kept)


def _sheet_of(scene: Scene, frames: Frames) -> Srgb8:
    sheet = [
        SheetFrame(name, _captions(scene.document, setup), develop(frame.picture, setup.settings))
        for name, (_, setup, frame) in frames.items()
    ]
    return contact_sheet(sheet, title=scene.document.title)


def _captions(document: SceneDocument, setup: SetupLight) -> tuple[str, ...]:
    """Camera, lens and exposure of a setup, and the dims that are not at full."""
    camera = document.cameras[setup.camera]
    height = format_length(camera.at.z.si, units=document.units) if hasattr(camera.at, "z") else ""
    lens = f"{setup.camera}, {camera.lens.text}" + (f", {height} up" if height else "")
    knobs = {name: setup.knob(name) for name in setup.dims}
    dims = [f"{name} {100.0 * knob:.0f} %" for name, knob in knobs.items() if knob < 0.9995]
    lines = [lens, describe_settings(setup.settings)]
    return (*lines, "Dims: " + ", ".join(dims)) if dims else tuple(lines)


def stems_of(scene: Scene) -> dict[str, str]:
    """A file name for each setup without its ending; no two are alike, whatever the case."""
    stems: dict[str, str] = {}
    for name in scene.setups:
        stem = f"{_plain(scene.document.title)}-{_plain(name)}"
        numbered, count = stem, 1
        while numbered in stems.values():
            count += 1
            numbered = f"{stem}-{count}"
        stems[name] = numbered
    return stems


def sizes_of(
    standing: Arrangement, setups: tuple[str, ...], width: int
) -> dict[str, tuple[int, int]]:
    """Width and height in pixels of the views that these setups need."""
    views = {standing.document.setups[name].camera for name in setups}
    sizes = {}
    for name in sorted(views):
        view = standing.stage.views[name]
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


def write_setup(
    layers: LightLayers, setup: SetupLight, stem: Path, frame: ExposedFrame
) -> PictureFiles:
    """Write one exposed setup's files; their names begin with `stem`."""
    settings = setup.settings
    said = f"{layers.solution.stage.title}, {setup.name}: {describe_settings(settings)}"
    drawings: dict[str, tuple[Srgb8 | Image, str]] = {
        "": (develop(frame.picture, settings), said),
        "-stops": (draw_stops_map(frame.picture, settings), f"Stops map. {said}"),
        "-waveform": (draw_waveform(frame.picture, settings), f"Waveform. {said}"),
        "-histogram": (draw_histogram(frame.picture, settings), f"Histogram. {said}"),
    }
    written = {
        ending: write_png(
            stem.with_name(f"{stem.name}{ending}.png"), drawing, text={"Description": about}
        )
        for ending, (drawing, about) in drawings.items()
    }
    linear = write_exr(
        stem.with_name(f"{stem.name}.exr"),
        layers.pictures(setup.camera),
        dims=setup.dims,
        settings=settings,
        comments=said,
    )
    return PictureFiles(
        setup=setup.name,
        picture=written[""],
        stops_map=written["-stops"],
        waveform=written["-waveform"],
        histogram=written["-histogram"],
        layers=linear,
        levels=levels_of(frame.picture, settings),
    )


def _plain(name: str) -> str:
    """A name as part of a file name, letters of any script kept."""
    return re.sub(r"[^\w]+", "-", name.lower()).strip("-")[:80] or "scene"
