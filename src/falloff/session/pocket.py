"""pocket: one file to carry, in which a scene's lights are dimmed and metered on a phone."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import msgspec

from falloff.balance import Posed
from falloff.camera import mid_grey_luminance_nit
from falloff.camera.atomic_write import write_whole
from falloff.document import read_text
from falloff.errors import Fault, OutputError
from falloff.layers import LightLayers, cached_layers
from falloff.readings import SetupLight
from falloff.session.picture import PICTURE_BUDGET, prepare_folder, sizes_of
from falloff.session.pocket_data import PocketScene, PocketSetup, pocket_scene, pocket_setup
from falloff.session.pocket_day import HourMaker, PocketDay, pocket_day
from falloff.session.pocket_fit import PocketFit, fitting, hours_key
from falloff.session.pocket_page import Half, half_layer, page_of
from falloff.session.pocket_wanted import pocket_fixes
from falloff.session.scene import Scene, open_scene, setup_light
from falloff.transport import Progress, silent

POCKET_BUDGET: Final = PICTURE_BUDGET


@dataclass(frozen=True, slots=True)
class Pocket:
    """The file, its size, the setups in it, those left out for want of room, and the pictures.

    width_px: of each picture; sources: of each setup, by name; hours: of each setup whose daylight
    hangs on the hour, its own among them, as a clock shows them; hours_left_out: likewise.
    """

    file: Path
    size_bytes: int
    setups: tuple[str, ...]
    left_out: tuple[str, ...]
    width_px: int
    sources: dict[str, tuple[str, ...]]
    hours: dict[str, tuple[str, ...]]
    hours_left_out: dict[str, tuple[str, ...]]


def run_pocket(
    path: Path,
    *,
    out: Path,
    setups: tuple[str, ...] = (),
    hours: tuple[str, ...] = (),
    progress: Progress = silent,
) -> Pocket:
    """Write a scene's pocket copy: one file that needs no server and no network.

    out: the file; hours: clock times, and words of `HOUR_WORDS`; where there are none, a few that
    suit each setup of a scene that has an hour. Pictures are 480 pixels wide where the file stays
    within 15 MB, else smaller, 240 at least; where that is not enough, the last hours are left
    out, then the last setups. Raises what `open_scene` does, OutputError where the file cannot be
    written, DaylightError and DocumentError for hours that are none or that the scene does not
    have, and BudgetExceeded where one setup alone has too many sources.
    """
    scene = open_scene(path, setups)
    _check_out(out)
    fit = fitting(scene, hours)
    whole, halves = _traced(
        scene, fit, stem=pocket_stem(path), text=read_text(path), progress=progress
    )
    page = page_of(whole, halves).encode()
    write_whole(out, lambda part: _write(part, page))
    days = {one.name: one.day for one in whole.setups if isinstance(one.day, PocketDay)}
    return Pocket(
        file=out,
        size_bytes=len(page),
        setups=fit.setups,
        left_out=whole.left_out,
        width_px=fit.width_px,
        sources={one.name: tuple(each.name for each in one.sources) for one in whole.setups},
        hours={name: tuple(one.clock for one in day.hours) for name, day in days.items()},
        hours_left_out={name: day.left_out for name, day in days.items() if day.left_out},
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


def _traced(
    scene: Scene, fit: PocketFit, *, stem: str, text: str, progress: Progress
) -> tuple[PocketScene, list[Half]]:
    """All that the file is to hold, and its layers."""
    found: dict[str, PocketSetup] = {}
    halves: list[Half] = []
    makers: dict[Hashable, HourMaker] = {}
    for standing in scene.arrangements:
        names = tuple(name for name in standing.setups if name in fit.setups)
        if not names:
            continue
        sizes = sizes_of(standing, names, fit.width_px)
        layers, _ = cached_layers(standing.stage, POCKET_BUDGET, sizes=sizes, progress=progress)
        lights = {name: setup_light(standing.document, name) for name in names}
        firsts = {camera: _add_layers(layers, camera, lights, halves) for camera in sizes}
        for name, setup in lights.items():
            first, scales = firsts[setup.camera]
            made = pocket_setup(standing.document, layers, setup, light=first, scales=scales)
            posed = Posed(standing.document, name, setup, layers)
            fixes = pocket_fixes(posed, scene.document, text)
            made = msgspec.structs.replace(made, fixes=fixes)
            if name in fit.hours:
                day = _day(scene, fit, layers, made, makers=makers, halves=halves)
                made = msgspec.structs.replace(made, day=day)
            found[name] = made
    whole = pocket_scene(
        scene.document,
        tuple(found[name] for name in fit.setups),
        stem=stem,
        left_out=tuple(name for name in scene.setups if name not in fit.setups),
    )
    return whole, halves


def _add_layers(
    layers: LightLayers, camera: str, lights: Mapping[str, SetupLight], halves: list[Half]
) -> tuple[int, tuple[float, ...]]:
    """Add a camera's layers, each source's whole light, white at 100 %; their first and scales."""
    first, view = len(halves), layers.views[camera]
    grey = _grey(one for one in lights.values() if one.camera == camera)
    kept = [half_layer(view.direct[s] + view.bounced[s], grey) for s in range(len(layers.names))]
    halves += [half for half, _ in kept]
    return first, tuple(scale for _, scale in kept)


def _day(
    scene: Scene,
    fit: PocketFit,
    layers: LightLayers,
    made: PocketSetup,
    *,
    makers: dict[Hashable, HourMaker],
    halves: list[Half],
) -> PocketDay:
    """A setup's day; pictures that no setup before it has made are added to `halves`."""
    document = scene.arrangement_of(made.name).document
    setup = setup_light(document, made.name)
    key = hours_key(scene.document, made.name)
    if key not in makers:
        makers[key] = HourMaker.of(layers, document)
    maker, moments = makers[key], fit.hours[setup.name]
    height, width = layers.views[setup.camera].direct.shape[1:3]
    for one in moments:
        if (setup.camera, one.instant) in maker.made:
            continue
        picture = maker.picture(setup.camera, (width, height), one.instant)
        half, scale = half_layer(picture, float(mid_grey_luminance_nit(setup.settings)))
        maker.made[setup.camera, one.instant] = len(halves), scale
        halves.append(half)
    return pocket_day(
        maker,
        document,
        setup,
        moments=moments,
        left_out=fit.hours_left_out[setup.name],
        told_first=made.readings[made.first].name if made.readings else None,
    )


def _grey(setups: Iterable[SetupLight]) -> float:
    """Middle grey of the darkest exposure, cd/m²."""
    return min(float(mid_grey_luminance_nit(one.settings)) for one in setups)
