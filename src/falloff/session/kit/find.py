"""Things by what a person calls them: of the catalogue, of one's own kit, or a file's path."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import msgspec

from falloff.errors import DocumentError, Fault, GeometryError
from falloff.findings import Finding, Weight
from falloff.kit import (
    Fixture,
    Item,
    Modifier,
    OwnedItem,
    OwnKit,
    find_item,
    own_line,
    read_own_kit,
)
from falloff.kit.catalogue import (
    find_as,
    find_beam,
    list_items,
    modifier_cost,
    near_names,
    provenance_of,
    spread_of,
)
from falloff.kit.catalogue.records import BY_USER
from falloff.kit.unknown import unknown_name
from falloff.photometry import (
    IntensityWeb,
    PhotometricFile,
    intensity_web,
    read_photometric,
    read_photometric_file,
    web_peak_cd,
)
from falloff.session.kit.from_light import (
    FILE_SPREAD_STOPS,
    LightPaper,
    Told,
    fixture_of,
    kit_opening,
    told_by_file,
    upright_web,
)
from falloff.session.kit.known_light import KnownLight

_ENDINGS: Final = (".ies", ".ldt")


@dataclass(frozen=True, slots=True)
class Shelf:
    """Where things are looked for: the catalogue, and one's own kit first where there is one."""

    kit: OwnKit | None = None
    path: Path | None = None


@dataclass(frozen=True, slots=True)
class ReadFile:
    """A photometric file, the SHA-256 of its bytes, its web along z, the kit's fixture of it."""

    file: PhotometricFile
    sha256: str
    web: IntensityWeb
    fixture: Fixture
    findings: tuple[Finding, ...]


def open_shelf(own: Path | None) -> Shelf:
    """The catalogue, with one's own kit before it where a file is given."""
    return Shelf() if own is None else Shelf(read_own_kit(own), own)


def find_thing(name: str, shelf: Shelf) -> tuple[Item, OwnedItem | None]:
    """An item by its name, one's own before the catalogue's; raises GeometryError with the nearest.

    The second is the line of one's own kit, None for the catalogue's.
    """
    line = None if shelf.kit is None else own_line(shelf.kit, name)
    if line is not None:
        return line.item, line
    try:
        return find_item(name), None
    except GeometryError:
        if shelf.kit is None:
            raise
        plain, own = " ".join(name.lower().split()), [one.name for one in shelf.kit.items]
        near = [one for one in own if plain in one.lower()] + list(near_names(name, most=5))
        known = near or [*own, *(one.name for one in list_items())]
        raise unknown_name(
            "item of your kit or of the catalogue", name, known,
            expected="one such as " + ", ".join(known[:5]),
            otherwise="falloff kit list tells what there is",
        ) from None  # fmt: skip


def find_modifier(name: str, shelf: Shelf) -> Modifier:
    """A modifier by its name; raises GeometryError where there is none, or it is another kind."""
    item, _ = find_thing(name, shelf)
    return item if isinstance(item, Modifier) else find_as(Modifier, name)


def find_light(said: str, shelf: Shelf) -> KnownLight:
    """A light as a person says it: "NAME", "NAME: BEAM", "NAME + MODIFIER", or a file's path.

    Raises GeometryError for names that are not there, PhotometricFileError for files.
    """
    head, *rest = (part.strip() for part in said.split(" + "))
    if head.lower().endswith(_ENDINGS) or (Path(head).is_file() and Path(head).suffix):
        light = _light_of_file(Path(head))
    else:
        light = _light_of_item(head, shelf)
    return _with_modifiers(light, tuple(find_modifier(one, shelf) for one in rest))


def read_file(path: Path, told: Told, *, name: str = "") -> ReadFile:
    """A photometric file as it is read, and as a fixture; raises PhotometricFileError."""
    file = read_photometric_file(path)
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    web = upright_web(file)
    paper = LightPaper(
        name=name or path.stem,
        web=web,
        opening=kit_opening(file.opening),
        provenance=f"photometric file {path.name}",
        spread_stops=FILE_SPREAD_STOPS,
    )
    fixture, findings = fixture_of(paper, told_by_file(file, told))
    fixture = msgspec.structs.replace(
        fixture, photometric_file=str(path), photometric_sha256=sha256
    )
    return ReadFile(file, sha256, web, fixture, findings)


def _light_of_file(path: Path) -> KnownLight:
    read = read_file(path, Told())
    fixture = read.fixture
    return KnownLight(
        name=path.name,
        origin="file",
        item=fixture,
        beam=fixture.beams[0],
        opening=fixture.opening,
        web=read.web,
        cost=None,
        spread_stops=FILE_SPREAD_STOPS,
        provenance=fixture.provenance,
        findings=(*read.file.findings, *read.findings),
    )


def _light_of_item(said: str, shelf: Shelf) -> KnownLight:
    """A fixture by its name, and perhaps one of its beams after a colon."""
    name, beam_name = said, ""
    if ": " in said:
        name, _, beam_name = said.rpartition(": ")
    item, owned = find_thing(name, shelf)
    if not isinstance(item, Fixture):
        item = find_as(Fixture, name)  # raises, and tells the fixtures that are near
    beam = find_beam(item, beam_name)
    web, findings = _web_of(item, shelf)
    provenance = provenance_of(item, "beams")
    origin = "catalogue" if owned is None else "own kit"
    if owned is not None and provenance.startswith("data sheet"):
        origin = "data sheet"
    return KnownLight(
        name=(owned.name if owned else item.name) + (f": {beam.name}" if beam_name else ""),
        origin="file" if web is not None else origin,
        item=item,
        beam=beam,
        opening=item.opening,
        web=web,
        cost=None,
        spread_stops=spread_of(item, "beams"),
        provenance=provenance,
        findings=(*(owned.findings if owned else ()), *findings),
    )


def _with_modifiers(light: KnownLight, modifiers: tuple[Modifier, ...]) -> KnownLight:
    if not modifiers:
        return light
    cost = modifier_cost(light.item, *modifiers, beam=light.beam.name)
    fronts = [one.opening for one in modifiers if one.opening is not None]
    return KnownLight(
        name=" + ".join([light.name, *(one.name for one in modifiers)]),
        origin=light.origin,
        item=light.item,
        beam=cost.front,
        opening=fronts[-1] if fronts else light.opening,
        web=None,
        cost=cost,
        spread_stops=cost.expected_spread_stops,
        provenance=light.provenance,
        findings=light.findings,
    )


def _web_of(item: Fixture, shelf: Shelf) -> tuple[IntensityWeb | None, tuple[Finding, ...]]:
    """The web of an own item's file, if it is still as it was; a finding where it is not."""
    if not item.photometric_file:
        return None, ()
    folder = shelf.path.parent if shelf.path else Path()
    path = folder / item.photometric_file
    try:
        content = path.read_bytes()
    except OSError:
        return None, (_lost(item, f"its file {path} cannot be opened"),)
    if hashlib.sha256(content).hexdigest() != item.photometric_sha256:
        return None, (_lost(item, f"its file {path} has changed since it was imported"),)
    web = upright_web(read_photometric(content, path.name))
    if provenance_of(item, "beams").startswith(BY_USER):
        factor = item.beams[0].axis_cd / float(web_peak_cd(web))
        web = intensity_web(web.azimuth_rad, web.angle_rad, candela=web.candela * factor)
    return web, ()


def _lost(item: Fixture, says: str) -> Finding:
    return Finding(
        weight=Weight.WARNING,
        about=item.name,
        says=f"{says}: the round beam of the kit file is used",
        do="import it again",
    )


def wrong_option(option: str, found: str, expected: str, fix: str) -> DocumentError:
    """An error for an option of the terminal that cannot be read."""
    return DocumentError(
        Fault(what=f"{option} cannot be read", expected=expected, found=found, fix=fix)
    )
