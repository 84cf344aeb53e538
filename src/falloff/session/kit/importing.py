"""kit import: a photometric file or a data sheet as a fixture, with all that was forgiven."""

from __future__ import annotations

import contextlib
import math
import re
from pathlib import Path
from typing import Any, Final, Literal

import msgspec

from falloff.errors import DocumentError, Fault, GeometryError
from falloff.findings import Finding
from falloff.kit import Fixture, Opening, read_own_kit
from falloff.kit.catalogue import append_item, find_item, new_kit_text
from falloff.photometry import (
    DataSheet,
    SheetFit,
    SheetReading,
    beam_angle_rad,
    field_angle_rad,
    fit_sheet,
    round_web,
    web_beam_angle_rad,
    web_field_angle_rad,
    web_peak_cd,
)
from falloff.photometry import Opening as FileOpening
from falloff.session.kit.find import ReadFile, read_file, wrong_option
from falloff.session.kit.from_light import SHEET_SPREAD_STOPS, LightPaper, Told, fixture_of
from falloff.session.kit.writing import write_own_kit
from falloff.units import (
    Lux,
    Metre,
    UnitFault,
    parse_angle,
    parse_flux,
    parse_illuminance,
    parse_intensity,
    parse_length,
    parse_power,
    parse_temperature,
)

_READING: Final = re.compile(r"(.+?)\s+at\s+(.+)", re.IGNORECASE)


class SheetOptions(msgspec.Struct, frozen=True, kw_only=True):
    """What a person types of a data sheet, and what they tell besides; empty where they do not."""

    lux: tuple[str, ...] = ()
    candela: str = ""
    beam: str = ""
    field: str = ""
    lumens: str = ""
    size: str = ""
    power: str = ""
    kelvin: str = ""
    family: str = ""


class PlaneRead(msgspec.Struct, frozen=True, kw_only=True):
    """Beam and field angle in one plane of a light."""

    plane: str
    beam_angle_rad: float
    field_angle_rad: float


class DatumMissed(msgspec.Struct, frozen=True, kw_only=True):
    """How far a fit is from a figure of a sheet; given and fitted in the unit that datum names."""

    datum: str
    given: float
    fitted: float
    stops: float


class KitImported(msgspec.Struct, frozen=True, kw_only=True):
    """What was read, what was forgiven, and the fixture that it makes.

    source: "LM-63", "EULUMDAT" or "data sheet"; flux_lm: summed over its intensities; declared_lm:
    as the file says of its lamps, None if it says nothing; written: the kit file, if one was given.
    """

    name: str
    source: str
    version: str
    sha256: str
    flux_lm: float
    declared_lm: float | None
    peak_cd: float
    planes: tuple[PlaneRead, ...]
    fixture: Fixture
    misses: tuple[DatumMissed, ...]
    findings: tuple[Finding, ...]
    written: str


def run_kit_import(
    file: Path | None,
    *,
    sheet: SheetOptions | None = None,
    name: str = "",
    own: Path | None = None,
) -> KitImported:
    """Read a photometric file, or fit a data sheet, and perhaps append it to one's own kit.

    own: the kit file, made if it is not there; what stands in it stays as it is. Raises
    PhotometricFileError for light that cannot be trusted, DocumentError for options that cannot be
    read and names that are taken, OutputError where the kit cannot be written.
    """
    options = sheet or SheetOptions()
    if file is None:
        imported = _from_sheet(options, name or "light by its data sheet")
    else:
        _only_told(options)
        imported = _from_file(file, _told(options), name)
    if own is None:
        return imported
    _append(imported, own, file)
    return msgspec.structs.replace(imported, written=str(own))


# Read ------------------------------------------------------------------------------------


def _from_file(path: Path, told: Told, name: str) -> KitImported:
    read = read_file(path, told, name=name)
    planes = (("C 0 to C 180", 0.0), ("C 90 to C 270", math.pi / 2.0))
    return KitImported(
        name=read.fixture.name,
        source=read.file.format,
        version=read.file.version,
        sha256=read.sha256,
        flux_lm=float(read.file.flux_lm()),
        declared_lm=_declared(read),
        peak_cd=float(web_peak_cd(read.web)),
        planes=tuple(
            PlaneRead(
                plane=plane,
                beam_angle_rad=float(web_beam_angle_rad(read.web, turn)),
                field_angle_rad=float(web_field_angle_rad(read.web, turn)),
            )
            for plane, turn in planes
        ),
        fixture=read.fixture,
        misses=(),
        findings=(*read.file.findings, *read.findings),
        written="",
    )


def _declared(read: ReadFile) -> float | None:
    declared = read.file.declared_flux_lm()
    return None if declared is None else float(declared)


def _from_sheet(options: SheetOptions, name: str) -> KitImported:
    sheet = _data_sheet(options)
    fit = fit_sheet(sheet)
    worst = max((abs(one.stops) for one in fit.misses), default=0.0)
    paper = LightPaper(
        name=name,
        web=round_web(fit.distribution, fit.flux_lm),
        opening=_kit_opening(options.size),
        provenance=f"data sheet: {_said(options)}",
        spread_stops=round(math.hypot(SHEET_SPREAD_STOPS, worst), 2),
    )
    fixture, findings = fixture_of(paper, _told(options))
    return KitImported(
        name=name,
        source="data sheet",
        version="",
        sha256="",
        flux_lm=float(fit.flux_lm),
        declared_lm=sheet.flux_lm,
        peak_cd=float(fit.axis_cd),
        planes=(_round_plane(fit),),
        fixture=fixture,
        misses=tuple(
            DatumMissed(datum=one.datum, given=one.given, fitted=one.fitted, stops=one.stops)
            for one in fit.misses
        ),
        findings=(*fit.findings, *findings),
        written="",
    )


def _round_plane(fit: SheetFit) -> PlaneRead:
    return PlaneRead(
        plane="every plane",
        beam_angle_rad=float(beam_angle_rad(fit.distribution)),
        field_angle_rad=float(field_angle_rad(fit.distribution)),
    )


# Options ---------------------------------------------------------------------------------


def _data_sheet(options: SheetOptions) -> DataSheet:
    if not (options.lux or options.candela or options.lumens):
        raise DocumentError(
            Fault(
                what="there is nothing to import",
                expected="a photometric file, or a data sheet's figures as options",
                fix='falloff kit import --lux "3200 lx at 1 m" --beam "45 deg"',
            )
        )
    opening = _kit_opening(options.size)
    front = None
    if opening is not None:
        shape: Literal["rectangle", "disc"] = "disc" if opening.shape == "disc" else "rectangle"
        front = FileOpening(shape, opening.width_m, opening.height_m, 0.0)
    return DataSheet(
        readings=tuple(_reading(one) for one in options.lux),
        axis_cd=_read("--candela", options.candela, parse_intensity, "24000 cd"),
        beam_rad=_read("--beam", options.beam, parse_angle, "45 deg"),
        field_rad=_read("--field", options.field, parse_angle, "70 deg"),
        flux_lm=_read("--lumens", options.lumens, parse_flux, "12000 lm"),
        opening=front,
    )


def _reading(said: str) -> SheetReading:
    found = _READING.fullmatch(said.strip())
    if not found:
        raise wrong_option("--lux", said, "lux or foot-candles at a distance",
                           "write --lux '3200 lx at 1 m'")  # fmt: skip
    level = _read("--lux", found[1], parse_illuminance, "3200 lx at 1 m")
    distance = _read("--lux", found[2], parse_length, "3200 lx at 1 m")
    assert level is not None
    assert distance is not None
    return SheetReading(Metre(distance), Lux(level))


def _read(option: str, said: str, parse: Any, example: str) -> float | None:  # noqa: ANN401
    if not said.strip():
        return None
    try:
        return float(parse(said))
    except UnitFault as error:
        fault = error.faults[0]
        raise wrong_option(
            option,
            said,
            f"{fault.expected or example}: {fault.what}",
            f"write {option} '{example}'",
        ) from error


def _kit_opening(size: str) -> Opening | None:
    """A front from "60 x 30 cm" (a rectangle) or "20 cm" (a disc); None if nothing is said."""
    if not size.strip():
        return None
    sides = [one.strip() for one in re.split(r"\s*[x×]\s*", size.strip())]
    unit = re.search(r"[^\d.\s].*$", sides[-1])
    example = "'60 x 30 cm' or '20 cm'"
    if len(sides) > 2 or unit is None:
        raise wrong_option("--size", size, "a width and a height, or a diameter", example)
    lengths = [
        _read("--size", one if re.search(r"[^\d.\s]", one) else f"{one} {unit[0]}", parse_length,
              "60 x 30 cm")
        for one in sides
    ]  # fmt: skip
    if any(one is None or not 0.001 <= one <= 30.0 for one in lengths):
        raise wrong_option("--size", size, "from 1 mm to 30 m", f"write {example}")
    shape = "disc" if len(sides) == 1 else "rectangle"
    return Opening(shape=shape, width_m=lengths[0] or 0.0, height_m=lengths[-1] or 0.0)  # type: ignore[arg-type]


def _told(options: SheetOptions) -> Told:
    kelvin = _read("--kelvin", options.kelvin, parse_temperature, "5600 K")
    if kelvin is not None and not 1000.0 <= kelvin <= 25000.0:
        raise wrong_option("--kelvin", options.kelvin, "1000 to 25000 K", "write --kelvin '5600 K'")
    power = _read("--power", options.power, parse_power, "300 W")
    if power is not None and power <= 0.0:
        raise wrong_option("--power", options.power, "more than 0 W", "write --power '300 W'")
    return Told(kelvin=kelvin, power_w=power, family=options.family)


def _only_told(options: SheetOptions) -> None:
    """A file has its own light: figures of a sheet beside it are refused."""
    figures = {
        "--lux": options.lux, "--candela": options.candela, "--beam": options.beam,
        "--field": options.field, "--lumens": options.lumens, "--size": options.size,
    }  # fmt: skip
    given = [option for option, said in figures.items() if said]
    if given:
        raise DocumentError(
            Fault(
                what=f"{' and '.join(given)} beside a photometric file",
                expected="a file, or the figures of a data sheet",
                fix="import each by itself, then compare the two",
            )
        )


def _said(options: SheetOptions) -> str:
    parts = [*options.lux, options.candela]
    parts += [f"{word} {said}" for word, said in (
        ("beam", options.beam), ("field", options.field)) if said]  # fmt: skip
    return ", ".join(one for one in [*parts, options.lumens, options.size] if one)


# Into one's own kit ----------------------------------------------------------------------


def _append(imported: KitImported, own: Path, file: Path | None) -> None:
    """The fixture and a line of the kit for it, at the end of the kit file."""
    before = _kit_bytes(own)
    text = new_kit_text() if before is None else before.decode("utf-8-sig")
    _check_name(imported.name, own, new=before is None)
    fixture = imported.fixture
    if file is not None:
        fixture = msgspec.structs.replace(fixture, photometric_file=_path_for(file, own))
    text = append_item(text, _entry(fixture), table="fixture")
    text = append_item(text, {"item": fixture.name})
    write_own_kit(own, text, before)


def _kit_bytes(own: Path) -> bytes | None:
    if not own.exists():
        return None
    read_own_kit(own)  # its faults are told before anything is added
    return own.read_bytes()


def _check_name(name: str, own: Path, *, new: bool) -> None:
    taken = [] if new else [one.name.lower() for one in read_own_kit(own).items]
    with contextlib.suppress(GeometryError):
        taken.append(find_item(name).name.lower())
    if name.lower() in taken:
        raise DocumentError(
            Fault(what=f"the name {name!r} is taken", where=str(own),
                  fix=f"give another, as --as '{name} 2'")
        )  # fmt: skip


def _entry(fixture: Fixture) -> dict[str, Any]:
    """The keys of a [[fixture]]: what differs from the record's defaults."""
    built = msgspec.json.decode(msgspec.json.encode(fixture))  # lists, as TOML has them
    defaults = {
        one.name: one.default for one in msgspec.structs.fields(Fixture) if not one.required
    }
    return {
        key: value
        for key, value in built.items()
        if key != "kind" and value is not None
        and not (key in defaults and (value == defaults[key] or not value))
        and not isinstance(defaults.get(key), msgspec.Struct)
    }  # fmt: skip


def _path_for(file: Path, own: Path) -> str:
    """The file's path as the kit file has it: from its own folder where it lies below that."""
    whole, folder = file.resolve(), own.resolve().parent
    return (whole.relative_to(folder) if whole.is_relative_to(folder) else whole).as_posix()
