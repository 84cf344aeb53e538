"""Open a scene: its document read, its stages built, its setups ready to be asked for."""

from __future__ import annotations

import difflib
from dataclasses import dataclass, replace
from pathlib import Path

from falloff.camera import CameraSettings
from falloff.document import (
    KnownNames,
    SceneDocument,
    arranged,
    arrangement_key,
    read_document,
)
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.kit import (
    COVERINGS,
    FURNITURE_KINDS,
    HAIR_STYLES,
    SKIN_WORDS,
    figure_names,
    material_names,
)
from falloff.photometry import NAMED_PROFILES
from falloff.readings import SetupLight
from falloff.stage import Stage, build_stage, dimmed_light


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The setups in which everything stands alike, the document as it is then, and its stage."""

    setups: tuple[str, ...]
    document: SceneDocument
    stage: Stage


@dataclass(frozen=True, slots=True)
class Scene:
    """A document and a stage for each arrangement of the setups asked for, in their order."""

    document: SceneDocument
    setups: tuple[str, ...]
    arrangements: tuple[Arrangement, ...]

    def arrangement_of(self, setup: str) -> Arrangement:
        """The arrangement that a setup is shot in."""
        return next(one for one in self.arrangements if setup in one.setups)


def known_names() -> KnownNames:
    """The catalogue's names, for a document to be checked against."""
    return KnownNames(
        materials=material_names(),
        figures=figure_names(),
        profiles=tuple(NAMED_PROFILES),
        furniture=FURNITURE_KINDS,
        hair_styles=HAIR_STYLES,
        coverings=COVERINGS,
        skins=SKIN_WORDS,
    )


def open_scene(path: Path, wanted: tuple[str, ...] = ()) -> Scene:
    """Read a scene file and build the stages of the setups asked for, all of them where none is.

    Raises what either finds wrong, and DocumentError for a setup that is not there.
    """
    return scene_of(read_document(path, known=known_names()), wanted)


def scene_of(document: SceneDocument, wanted: tuple[str, ...] = ()) -> Scene:
    """The stages of a document's setups that are asked for, all of them where none is."""
    setups = setup_names(document, wanted)
    arrangements = []
    for names in alike(document, setups):
        standing = arranged(document, names[0])
        arrangements.append(Arrangement(names, standing, build_stage(standing)))
    return Scene(document, setups, tuple(arrangements))


def alike(document: SceneDocument, setups: tuple[str, ...]) -> list[tuple[str, ...]]:
    """The setups in groups in which everything stands alike, in their order."""
    groups: dict[object, list[str]] = {}
    for name in setups:
        groups.setdefault(arrangement_key(document, name), []).append(name)
    return [tuple(names) for names in groups.values()]


def setup_names(document: SceneDocument, wanted: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The setups asked for, all of them where none is named; unknown ones are faults."""
    known = tuple(document.setups)
    if not known:
        raise DocumentError(
            Fault(
                what="the scene has no setup, so there is no exposure to judge by",
                where=document.file_name,
                expected="at least one setup with a camera, stop, ISO and shutter",
                fix="add setups: {WIDE: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}}",
            )
        )
    faults = []
    for name in wanted:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            faults.append(
                Fault(
                    what=f"there is no setup called {name!r}",
                    where=document.file_name,
                    expected="one of " + ", ".join(known),
                    fix=f"did you mean {near[0]!r}?" if near else "",
                )
            )
    if faults:
        raise DocumentError(*faults)
    return tuple(dict.fromkeys(wanted)) or known


def setup_light(document: SceneDocument, name: str) -> SetupLight:
    """A setup's camera settings, and its dims as light and colour."""
    setup = document.setups[name]
    try:
        settings = CameraSettings(
            t_number=setup.stop.si,
            iso=setup.iso,
            exposure_time_s=setup.shutter.si,
            nd_stops=setup.nd.si,
            meter_constant_c=setup.meter_constant,
            balance_kelvin=setup.balance.si if setup.balance else None,
            highlight_stops=setup.highlight.si,
            shadow_stops=setup.shadow.si,
        )
    except FalloffError as error:
        raise DocumentError(*(_placed(fault, document, name) for fault in error.faults)) from error
    lit = {one: dimmed_light(document, one, level.si) for one, level in setup.dims.items()}
    return SetupLight(
        name,
        setup.camera,
        settings,
        {one: dimmed.light_share for one, dimmed in lit.items()},
        setup.key,
        knobs={one: level.si for one, level in setup.dims.items()},
        tints={one: dimmed.tint for one, dimmed in lit.items() if (dimmed.tint != 1.0).any()},
        findings=tuple(note for dimmed in lit.values() for note in dimmed.findings),
    )


# The camera's settings by the keys that they are written under.
_WRITTEN_AS = {
    "t_number": "stop",
    "iso": "iso",
    "exposure_time_s": "shutter",
    "nd_stops": "nd",
    "meter_constant_c": "meter_constant",
    "balance_kelvin": "balance",
    "highlight_stops": "highlight",
    "shadow_stops": "shadow",
}


def _placed(fault: Fault, document: SceneDocument, setup: str) -> Fault:
    """A fault of the camera's settings, pointing at the setup that has it."""
    key = _WRITTEN_AS.get(fault.where.rpartition(".")[2], "")
    path = ("setups", setup, key) if key else ("setups", setup)
    line, column = document.position_of(path)
    where = f"{document.file_name}, line {line}, column {column} ({'.'.join(path)})"
    return replace(fault, where=where, line=line, column=column)
