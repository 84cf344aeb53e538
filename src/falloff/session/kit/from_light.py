"""A fixture of the kit from intensities: those of a photometric file, or those of a data sheet."""

from __future__ import annotations

import dataclasses
import math
import re
from dataclasses import dataclass
from typing import Final, get_args

import msgspec
import numpy as np

from falloff.errors import DocumentError, Fault
from falloff.findings import Finding, Weight
from falloff.kit import Beam, Fixture, Opening
from falloff.kit.catalogue import disagreement_stops, flux_by_axis
from falloff.kit.catalogue.beams import AGREE_STOPS
from falloff.kit.catalogue.records import LampFamily
from falloff.photometry import (
    IntensityWeb,
    PhotometricFile,
    intensity_web,
    web_beam_angle_rad,
    web_flux_lm,
    web_intensity,
    web_peak_cd,
)
from falloff.photometry import Opening as FileOpening
from falloff.units import format_stops_tenths

# How far a light is from its papers: common practice, no source.
FILE_SPREAD_STOPS: Final = 0.2  # one lamp against another of its kind, and the laboratory
SHEET_SPREAD_STOPS: Final = 0.3  # the same, of a sheet that shows its best
NOT_SAID: Final = "not said"
_TAKEN_KELVIN: Final = 5600.0
_SMALLEST_M: Final = 0.001
_POINT_M: Final = 0.05
_MATTE_RAD: Final = math.tau / 3.0


@dataclass(frozen=True, slots=True)
class Told:
    """What a person tells of a light besides its intensities; None where nothing is told."""

    kelvin: float | None = None
    power_w: float | None = None
    cri: float | None = None
    family: str = ""


@dataclass(frozen=True, slots=True)
class LightPaper:
    """What makes a fixture: its intensities, its front, where they are from and how sure."""

    name: str
    web: IntensityWeb
    opening: Opening | None
    provenance: str
    spread_stops: float


def fixture_of(paper: LightPaper, told: Told) -> tuple[Fixture, tuple[Finding, ...]]:
    """The kit's fixture nearest to intensities, and what a person should know of it.

    What nothing says is taken as usual, and its provenance begins with "not said". Its beam has the
    intensities' peak, beam angle and flux, in the shape of the kit's that they fit best.
    """
    beam, findings = nearest_beam(paper.web, paper.name)
    missing: dict[str, str] = dict.fromkeys(("weight_kg",), NOT_SAID)
    family = told.family or "LED white"
    if not told.family:
        missing["family"] = f"{NOT_SAID}: taken as {family}"
    if told.kelvin is None:
        missing |= dict.fromkeys(
            ("kelvin", "kelvin_low", "kelvin_high"), f"{NOT_SAID}: taken as {_TAKEN_KELVIN:g} K"
        )
    if told.power_w is None:
        missing["power_w"] = NOT_SAID
    if paper.opening is None:
        missing["opening"] = f"{NOT_SAID}: taken as {100.0 * _POINT_M:g} cm wide"
        findings.append(
            Finding(
                weight=Weight.WARNING,
                about=paper.name,
                says=f"the width of its front is not said: taken as {100.0 * _POINT_M:g} cm, so "
                "that its softness says nothing",
                do="give its size",
            )
        )
    kelvin = told.kelvin or _TAKEN_KELVIN
    fixture = Fixture(
        name=paper.name,
        provenance=paper.provenance,
        provenance_of=missing,
        spread_stops=paper.spread_stops,
        family=_family(family),
        form="as its papers say",
        power_w=told.power_w or 0.0,
        flux_lm=float(web_flux_lm(paper.web)),
        beams=(beam,),
        opening=paper.opening or Opening(shape="disc", width_m=_POINT_M, height_m=_POINT_M),
        weight_kg=0.0,
        kelvin=kelvin,
        kelvin_low=kelvin,
        kelvin_high=kelvin,
        cri=told.cri,
    )
    return fixture, tuple(findings)


def nearest_beam(web: IntensityWeb, name: str) -> tuple[Beam, list[Finding]]:
    """The kit's beam with a web's peak and flux, of the shape that they fit best."""
    peak, flux = float(web_peak_cd(web)), float(web_flux_lm(web))
    across = [float(web_beam_angle_rad(web, turn)) for turn in (0.0, math.pi / 2.0)]
    angle = math.sqrt(max(across[0], 1e-3) * max(across[1], 1e-3))
    made = [
        Beam(name="as measured", shape="matte", beam_angle_rad=_MATTE_RAD, flux_lm=flux,
             axis_cd=peak),
        Beam(name="as measured", shape="all round", beam_angle_rad=math.tau, flux_lm=flux,
             axis_cd=peak),
    ]  # fmt: skip
    if angle < math.radians(175.0):
        for shape in ("focused", "flat"):
            made.append(msgspec.structs.replace(made[0], shape=shape, beam_angle_rad=angle))
    best = min(made, key=lambda one: _unlike(one, angle))
    off = float(disagreement_stops(best))
    if abs(off) <= AGREE_STOPS:
        return best, []
    best = msgspec.structs.replace(best, flux_lm=float(flux_by_axis(best)))
    says = (
        f"no beam of the kit has its shape: the nearest, {best.shape}, with its peak and beam "
        f"angle has {format_stops_tenths(off)} stops more light than it"
    )
    do = "its file is used wherever it can be; keep it beside the kit"
    return best, [Finding(weight=Weight.WARNING, about=name, says=says, do=do)]


def upright_web(file: PhotometricFile) -> IntensityWeb:
    """A file's web with its aim along z; turned where the file aims along x, as headlamps do."""
    web = file.web()
    if file.aim() == (0.0, 0.0, 1.0):
        return web
    azimuth, angle = np.linspace(0.0, math.tau, 145), np.linspace(0.0, math.pi, 361)
    turn, polar = np.meshgrid(azimuth, angle, indexing="ij")
    right, up = np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn)
    ways = np.stack([np.cos(polar), right, up], axis=-1).reshape(-1, 3)
    return intensity_web(azimuth, angle, candela=web_intensity(web, ways).reshape(turn.shape))


def kit_opening(opening: FileOpening) -> Opening | None:
    """A file's luminous opening as the kit has it, square to the axis; None for a point."""
    x, y, high = opening.x_m, opening.y_m, opening.height_m
    if max(x, y, high) == 0.0:
        return None
    if opening.shape in {"sphere", "ellipsoid"}:
        return Opening(shape="ball", width_m=max(x, _SMALLEST_M), height_m=max(y, _SMALLEST_M))
    if opening.shape in {"disc facing x", "ellipse facing x"}:
        x, y = y, high
    straight = opening.shape in {"rectangle", "box", "cylinder along x", "cylinder along y"}
    return Opening(
        shape="rectangle" if straight else "disc",
        width_m=max(x, _SMALLEST_M),
        height_m=max(y, _SMALLEST_M),
    )


def told_by_file(file: PhotometricFile, told: Told) -> Told:
    """What a person tells, and where they tell nothing what the file does."""
    lamps = file.lamp_sets[0]
    kelvin = re.search(r"(?<!\d)([1-9]\d{3,4})(?!\d)", lamps.colour)
    ra = re.fullmatch(r"\s*(?:Ra\s*)?(\d{2,3})\s*", lamps.rendering)
    return dataclasses.replace(
        told,
        kelvin=told.kelvin or (float(kelvin[1]) if kelvin else None),
        power_w=told.power_w or (file.input_power_w or None),
        cri=told.cri or (float(ra[1]) if ra else None),
    )


def _unlike(beam: Beam, angle_rad: float) -> float:
    """How far a beam of the kit is from the angle that was measured and from its own flux."""
    plain = 0.1 if beam.shape in {"matte", "all round"} else 0.0  # by their shape alone
    angle = abs(math.log2(beam.beam_angle_rad / angle_rad))
    return abs(float(disagreement_stops(beam))) + angle - plain


def _family(word: str) -> LampFamily:
    known: tuple[LampFamily, ...] = get_args(LampFamily)
    for one in known:
        if one.lower() == word.strip().lower():
            return one
    raise DocumentError(
        Fault(what=f"there is no family of lamps {word!r}", expected="one of " + ", ".join(known),
              found=word, fix=f"write {known[0]!r}, or leave it out")
    )  # fmt: skip
