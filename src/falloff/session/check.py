"""check: what is wrong with a scene file, without tracing it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from falloff.document import SceneDocument, arranged, read_document
from falloff.errors import DocumentError, Fault, GeometryError
from falloff.findings import Finding
from falloff.session.scene import alike, known_names, setup_light
from falloff.stage import build_stage


@dataclass(frozen=True, slots=True)
class Checked:
    """A scene file that can be read, and what a person should know of it."""

    document: SceneDocument
    elements: int
    findings: tuple[Finding, ...]


def run_check(path: Path) -> Checked:
    """Read a scene and build every arrangement of it; raises all faults that are found, at once.

    DocumentError where the file itself is at fault (places are then not looked at) or a setup has
    settings that no camera has, GeometryError where things cannot stand as written in one setup or
    another, with the settings' faults beside.
    """
    document = read_document(path, known=known_names())
    faults: dict[str, Fault] = {}
    findings: dict[str, Finding] = {}
    elements = 0
    groups = alike(document, tuple(document.setups))
    for standing in [arranged(document, names[0]) for names in groups] or [document]:
        try:
            stage = build_stage(standing)
        except GeometryError as error:
            faults |= {fault.sentence(): fault for fault in error.faults}
            continue
        findings |= {finding.says: finding for finding in stage.findings}
        elements = max(elements, stage.surfaces.element_count)
    settings = _of_setups(document, findings)
    if faults:
        raise GeometryError(*faults.values(), *settings)
    if settings:
        raise DocumentError(*settings)
    return Checked(document, elements, tuple(findings.values()))


def _of_setups(document: SceneDocument, findings: dict[str, Finding]) -> list[Fault]:
    """Faults of settings that no camera has; what else is to be told of setups joins the findings.

    A light that cannot be stood up is told where it was tried, not again for its dim.
    """
    faults: list[Fault] = []
    for name in document.setups:
        try:
            findings |= {one.says: one for one in setup_light(document, name).findings}
        except DocumentError as error:
            faults += error.faults
        except GeometryError:
            continue
    return faults
