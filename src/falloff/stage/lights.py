"""What a light of the document is: its form, the light that leaves it, its colour, its power."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Final

import numpy as np

from falloff.document import (
    Candle,
    Fixture,
    GelFigures,
    KitLight,
    Lantern,
    LightPanel,
    Practical,
    ProfileSpotLight,
    Quantity,
    SceneDocument,
    Screen,
    ShadedBulb,
    SoftBox,
    WebFile,
)
from falloff.errors import FalloffError, GeometryError
from falloff.findings import Finding, Weight
from falloff.kit import Fixture as FixtureItem
from falloff.kit import Gel as KitGel
from falloff.kit.catalogue import spread_of
from falloff.photometry import (
    IntensityWeb,
    PhotometricFile,
    intensity_web,
    read_photometric_file,
    web_flux_lm,
    web_intensity,
)
from falloff.sources import Shutter, Shutters, crate_kept_share, profile_spot
from falloff.spectrum import (
    Gel,
    LightColour,
    apply_gels,
    colour_of_xy,
    find_gel,
    full_green_duv,
    gel_of_figures,
    light_of_kelvin,
    light_of_xy,
)
from falloff.spectrum import GelFigures as Figures
from falloff.stage.grip import fabric_finding
from falloff.stage.kit_lights import (
    Form,
    WebMouth,
    colour_finding,
    crate_of,
    kit_items,
    kit_outfit,
    override_finding,
)
from falloff.stage.mixing import set_to_colour
from falloff.stage.own_kit import kit_item, own_file, placed
from falloff.stage.places import Placer
from falloff.types import Float32Array

_CANDLE_LM: Final = 4.0 * math.pi  # one candela all round: the old unit's own meaning
_CANDLE_KELVIN: Final = 1900.0  # common practice, from memory
_FULL_GREEN_CC: Final = 30.0
_POINT_MOUTH_M: Final = 0.1  # of a file that says its light is a point
_FILE_DEPTH_M: Final = 0.06
_STEPS: Final = (73, 181)  # azimuths and angles of a web that is turned to another axis
_BACKWARD_TOLD: Final = 0.01

AnyForm = Form | Lantern | ShadedBulb | Screen | Candle


@dataclass(frozen=True, slots=True)
class LightNow:
    """A light at 100 %: its form, the light its front is fed with (lm), its colour, its power.

    flux_lm: after gels and before an egg crate or shutters, that `kept_share` tells of.
    """

    form: AnyForm
    flux_lm: float
    colour: Float32Array
    power_w: float | None
    findings: tuple[Finding, ...]


def light_of(placer: Placer, name: str) -> LightNow:
    """A fixture or practical; raises GeometryError that points at what is wrong with it."""
    document = placer.document
    section = "fixtures" if name in document.fixtures else "practicals"
    light = document.fixtures[name] if section == "fixtures" else document.practicals[name]
    path = (section, name)
    form, flux_lm, known, power_w, findings = _form_of(placer, path, light)
    own = _own_colour(light, known)
    if isinstance(light.light, KitLight) and (light.colour is not None or light.xy):
        item, _ = kit_items(placer, path, light.light)
        own, lost, told = set_to_colour(name, item, own)
        flux_lm, findings = flux_lm * 2.0**-lost, (*findings, *told)
    try:
        gelled = apply_gels(own, gels_of(placer, path, light))
    except GeometryError:
        raise
    except FalloffError as error:
        raise placed(placer, (*path, "gels"), error) from error
    colour = colour_of_xy(gelled.light.xy)
    flux_lm *= 2.0**-gelled.loss_stops
    if light.gels:
        findings = (*findings, _gel_finding(name, light, gelled.loss_stops))
    return LightNow(form, flux_lm, colour.astype(np.float32), power_w, findings)


def light_now(document: SceneDocument, name: str) -> LightNow:
    """A fixture or practical of a document at 100 %, as `light_of`."""
    return light_of(Placer(document), name)


def kept_share(form: AnyForm) -> float:
    """Share of a front's light that leaves its egg crate or its shutters."""
    if isinstance(form, SoftBox | LightPanel):
        crate = crate_of(form.crate)
        return 1.0 if crate is None else crate_kept_share(crate)
    if isinstance(form, ProfileSpotLight) and form.shutters is not None:
        return float(web_flux_lm(spot_web(form, 1.0)))
    return 1.0


def spot_web(form: ProfileSpotLight, flux_lm: float) -> IntensityWeb:
    """The web of a profile spot, in lumens through its open gate."""
    sides = {}
    for side in ("top", "bottom", "left", "right"):
        one = getattr(form.shutters, side, None)
        sides[side] = Shutter() if one is None else Shutter(one.depth.si, one.tilt.si)
    return profile_spot(
        form.beam.si,
        flux_lm=flux_lm,
        edge_softness_share=form.edge.si,
        shutters=Shutters(**sides),
    )


def light_findings(placer: Placer) -> list[Finding]:
    """What a person should know of the lights whose figures come from elsewhere."""
    document = placer.document
    found = [
        one
        for name in (*document.fixtures, *document.practicals)
        for one in light_of(placer, name).findings
    ]
    for name, light in document.practicals.items():
        if isinstance(light.light, ShadedBulb) and isinstance(light.light.shade.fabric, str):
            path = ("practicals", name, "shade", "fabric")
            found.append(fabric_finding(placer, path, light.light.shade.fabric))
    return found


# Forms -----------------------------------------------------------------------------------

_Known = tuple[AnyForm, float, float | LightColour, float | None, tuple[Finding, ...]]


def _form_of(placer: Placer, path: tuple[str, str], light: Fixture | Practical) -> _Known:
    """Form, flux before gels, colour as known besides the scene's own, power, findings."""
    power_w = light.power.si if light.power else None
    written_lm = light.output.si if light.output else None
    match light.light:
        case KitLight() as kit if (of_file := own_file(placer, kit)) is not None:
            return _of_own_file(placer, path, light, of_file)
        case KitLight() as kit:
            outfit = kit_outfit(placer, path, kit)
            findings, flux_lm = outfit.findings, outfit.flux_lm
            if written_lm is not None:
                findings = (*findings, override_finding(path[1], written_lm, flux_lm))
                flux_lm = written_lm
            item = outfit.item
            if light.colour is not None or light.xy is not None:
                written = light.colour.text if light.colour else "of a colour of its own"
                findings = (*findings, colour_finding(path[1], written, item.kelvin))
            colour = light_of_kelvin(item.kelvin)
            if item.green_cc:
                duv = full_green_duv(1e6 / item.kelvin) * item.green_cc / _FULL_GREEN_CC
                colour = light_of_kelvin(item.kelvin, colour.temperature.duv + duv)
            power = item.power_w if power_w is None else power_w
            own = colour if item.green_cc else item.kelvin
            return outfit.form, flux_lm, own, power, findings
        case WebFile() as file:
            where = Path(placer.document.path).parent / file.file
            return _of_file(placer, path, file, written_lm, power_w, where=where)
        case Screen(size=(width, height), luminance=Quantity(si=nit)):
            flux_lm = math.pi * nit * width.si * height.si  # matte: Φ = π L A
            return light.light, flux_lm, 0.0, power_w, ()
        case Candle():
            flux_lm = _CANDLE_LM if written_lm is None else written_lm
            return light.light, flux_lm, _CANDLE_KELVIN, power_w, ()
        case form:
            assert written_lm is not None  # the reader asks these for their output
            return form, written_lm, 0.0, power_w, ()


def _of_own_file(
    placer: Placer,
    path: tuple[str, str],
    light: Fixture | Practical,
    own: tuple[Path, FixtureItem, bool],
) -> _Known:
    """A fixture of one's own kit as the photometric file has it that it was read from."""
    file, item, unchanged = own
    written_lm = light.output.si if light.output else None
    power_w = light.power.si if light.power else item.power_w
    form, flux_lm, _, _, findings = _of_file(
        placer, path, WebFile(file.name), written_lm, power_w, where=file
    )
    says = (
        f"{path[1]} is your kit's {item.name}, with the beam of {file.name} (give or take "
        f"{spread_of(item, 'flux_lm'):.1f} stop)"
    )
    told = Finding(weight=Weight.NOTE, about=path[1], says=says, do="meter it once in place")
    if not unchanged:
        says = f"{file.name} has changed since {item.name} was read from it: it is taken as it is"
        do = "import it again, so that your kit's figures are of the same file"
        told = Finding(weight=Weight.WARNING, about=path[1], says=says, do=do)
    return form, flux_lm, item.kelvin, power_w, (told, *findings)


def _of_file(
    placer: Placer,
    path: tuple[str, str],
    light: WebFile,
    written_lm: float | None,
    power_w: float | None,
    *,
    where: Path,
) -> _Known:
    """A light as its photometric file has it, what goes backward left out."""
    name = path[1]
    try:
        stamp = where.stat().st_mtime_ns if where.exists() else 0
        file = _read(where, stamp)
    except FalloffError as error:
        fix = "photometric files lie beside the scene file, or in a folder there"
        raise placed(placer, (*path, "file"), error, fix=fix) from error
    count = len(file.lamp_sets)
    if light.lamp_set > count:
        raise placer.fault(
            (*path, "lamp_set"),
            what=f"{light.file} has no such set of lamps",
            expected=f"1 to {count}" if count > 1 else "1: it has one set only",
            found=str(light.lamp_set),
        )
    web, total_lm = file.web(light.lamp_set - 1), float(file.flux_lm(light.lamp_set - 1))
    findings = list(file.findings)
    forward = _forward(web, sideways=file.aim()[0] > 0.5)
    ahead = float(web_flux_lm(forward)) / total_lm
    if ahead < 1.0 - _BACKWARD_TOLD:
        says = (
            f"{100.0 * (1.0 - ahead):.0f} % of the light of {light.file} goes backward, past 90° "
            f"from the aim of {name}: it is left out"
        )
        do = "aim it the other way round, or add a second light for what goes up"
        findings.append(Finding(weight=Weight.WARNING, about=name, says=says, do=do))
    opening = file.opening
    mouth, square = (opening.x_m, opening.y_m), opening.shape in {"rectangle", "box"}
    if min(mouth) <= 0.0:
        mouth = (max(mouth) or _POINT_MOUTH_M,) * 2
        shape = "a point" if opening.shape == "point" else f"a {opening.shape}"
        says = (
            f"{light.file} says that its light is {shape}: a mouth {100.0 * mouth[0]:.0f} cm wide "
            "is taken"
        )
        do = "its width decides how hard its shadows are, not how much light it gives"
        findings.append(Finding(weight=Weight.NOTE, about=name, says=says, do=do))
    flux_lm = ahead * (total_lm if written_lm is None else written_lm)
    if written_lm is not None:
        findings.append(override_finding(name, written_lm, total_lm, whose="file"))
    power = file.input_power_w if power_w is None else power_w
    form = WebMouth(forward, mouth, square, _FILE_DEPTH_M)
    return form, flux_lm, 0.0, power, tuple(findings)


@lru_cache(maxsize=32)
def _read(path: Path, _stamp: int) -> PhotometricFile:
    return read_photometric_file(path)


def _forward(web: IntensityWeb, *, sideways: bool) -> IntensityWeb:
    """The web about the way it is aimed, up to 90° from it.

    sideways: its aim is its x, its z lies down and its y to the right as seen from behind.
    """
    if not sideways:
        if web.angle_rad[-1] <= 0.5 * math.pi + 1e-9:
            return web
        inside = web.angle_rad < 0.5 * math.pi - 1e-9
        angle = np.append(web.angle_rad[inside], 0.5 * math.pi)
        edge = [np.interp(0.5 * math.pi, web.angle_rad, plane) for plane in web.candela]
        candela = np.column_stack([web.candela[:, inside], edge])
        return intensity_web(web.azimuth_rad, angle, candela=candela)
    azimuth = np.linspace(0.0, 2.0 * math.pi, _STEPS[0])
    angle = np.linspace(0.0, 0.5 * math.pi, _STEPS[1])
    turn, away = np.meshgrid(azimuth, angle, indexing="ij")
    left, up = np.sin(away) * np.cos(turn), np.sin(away) * np.sin(turn)
    toward = np.stack([np.cos(away), -left, -up], -1).reshape(-1, 3)
    candela = web_intensity(web, toward).reshape(turn.shape)
    candela[-1] = candela[0]
    return intensity_web(azimuth, angle, candela=candela)


# Colour ----------------------------------------------------------------------------------


def _own_colour(light: Fixture | Practical, known: float | LightColour) -> LightColour:
    """A light's colour before gels; known: where the scene does not say it."""
    if light.xy is not None:
        return light_of_xy(np.array(light.xy))
    if light.colour is not None:
        return light_of_kelvin(light.colour.si, light.duv)
    return known if isinstance(known, LightColour) else light_of_kelvin(known)


def gels_of(placer: Placer, path: tuple[str, str], light: Fixture | Practical) -> tuple[Gel, ...]:
    """A light's gels; raises GeometryError that points at one that there is not."""
    found = []
    for k, one in enumerate(light.gels):
        try:
            found.append(_gel(placer, (*path, "gels", k), one))
        except GeometryError:
            raise
        except FalloffError as error:
            raise placed(placer, (*path, "gels", k), error) from error
    return tuple(found)


def _gel(placer: Placer, path: tuple[str | int, ...], one: str | GelFigures) -> Gel:
    if isinstance(one, GelFigures):
        return gel_of_figures("the gel", Figures(one.mired, one.green, one.loss.si))
    item = kit_item(placer, path, KitGel, one)
    if item.film:
        return find_gel(item.film)
    figures = Figures(item.shift_mired, item.green_cc / _FULL_GREEN_CC, item.loss_stops)
    return gel_of_figures(item.name, figures, source=item.provenance)


def _gel_finding(name: str, light: Fixture | Practical, loss_stops: float) -> Finding:
    told = ", ".join(one if isinstance(one, str) else "one by its figures" for one in light.gels)
    says = f"gels on {name} ({told}) take {loss_stops:.1f} stops of its light"
    return Finding(weight=Weight.NOTE, about=name, says=says, do="meter it once with and without")
