"""A fixture of the kit with its modifiers, as a form, a flux and a colour."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.document import (
    BookLight,
    FresnelLight,
    Globe,
    KitLight,
    LightPanel,
    OpenFace,
    ProfileSpotLight,
    Quantity,
    SoftBox,
    TubeLight,
)
from falloff.errors import FalloffError
from falloff.findings import Finding, Weight
from falloff.kit import Beam, Fixture, Modifier, Opening, modifier_cost
from falloff.kit.catalogue import beam_distribution, find_beam, provenance_of, spread_of
from falloff.photometry import IntensityWeb, round_web
from falloff.sources import EggCrate, crate_kept_share
from falloff.stage.own_kit import kit_item, measured_findings, owned_line, placed
from falloff.stage.places import Placer
from falloff.units import format_stops_tenths, stops_from_factor

_FLAT_EDGE: Final = 0.16  # width of the edge of the kit's even beams over half of them
_BOX_DEPTH: Final = 0.45  # of a soft box over its longer side: common practice, no source
_FRONT_FORMS: Final = ("soft box", "diffusion front")
_LENSES: Final = ("Fresnel", "profile spot")


@dataclass(frozen=True, slots=True)
class WebMouth:
    """Light of a web over a mouth: (width, height) and how deep its body is, m."""

    web: IntensityWeb
    mouth_m: tuple[float, float]
    square: bool
    depth_m: float


Form = (
    SoftBox
    | LightPanel
    | BookLight
    | OpenFace
    | FresnelLight
    | ProfileSpotLight
    | TubeLight
    | Globe
    | WebMouth
)


@dataclass(frozen=True, slots=True)
class KitOutfit:
    """What the kit knows of a light: form, flux that leaves it, its item, what to tell.

    flux_lm: before an egg crate of the form, if it has one.
    """

    form: Form
    flux_lm: float
    item: Fixture
    findings: tuple[Finding, ...]


def kit_outfit(placer: Placer, path: tuple[str, str], light: KitLight) -> KitOutfit:
    """A fixture of the kit as it is used; raises GeometryError that points into the file."""
    name = path[1]
    item, modifiers = kit_items(placer, path, light)
    crates = [one for one in modifiers if one.form == "egg crate" and one.cutoff_rad]
    given, told = _given_beam(placer, path, light, item)
    plain = tuple(one for one in modifiers if one not in crates)
    crate = light.crate
    if crates and crate is None:
        crate = 1.0 / math.tan(0.5 * float(crates[-1].cutoff_rad or math.pi))
    front, opening, findings = given, item.opening, []
    if plain:
        used = item if given in item.beams else _set_to(item, given)
        cost = modifier_cost(used, *plain, beam=given.name)
        front = cost.front
        opening = next((one.opening for one in reversed(plain) if one.opening), item.opening)
        says = (
            f"{' and '.join(one.name for one in plain)} costs {name} "
            f"{format_stops_tenths(cost.total_stops)} stops on the axis against its "
            f"{cost.against.name} beam: {format_stops_tenths(cost.absorbed_stops)} absorbed, "
            f"{format_stops_tenths(cost.spread_stops)} spread ({cost.provenance}; give or take "
            f"{cost.expected_spread_stops:.1f} stop)"
        )
        findings.append(_note(name, says, "meter it once, and write its output"))
    form = _form(light, item, plain, front, opening, crate)
    if crate is not None and not isinstance(form, SoftBox | LightPanel):
        says = f"the egg crate of {name} is left out: its beam is not that of an even front"
        findings.append(_warning(name, says, "write a soft box or a panel with its own crate"))
    elif crate is not None:
        kept = crate_kept_share(crate_of(crate) or EggCrate(0.0, 0.0))
        says = (
            f"the egg crate of {name} lets {100.0 * kept:.0f} % of its light through, straight "
            "ahead none is lost: cells with black sides are taken"
        )
        findings.append(_note(name, says, "meter it once with and without"))
    said = item.name + (f" with {' and '.join(one.name for one in modifiers)}" if modifiers else "")
    whose = "the kit's" if owned_line(placer, light.kit) is None else "your kit's"
    says = (
        f"{name} is {whose} {said}{told}: {figure(front.flux_lm)} lm leave its front "
        f"({provenance_of(item, 'flux_lm')}; give or take {spread_of(item, 'flux_lm'):.1f} stop)"
    )
    findings.insert(0, _note(name, says, "a meter reading or its data sheet is worth more"))
    findings += measured_findings(placer, light.kit)
    if any(one.form == "barndoors" for one in modifiers) and light.barndoors is None:
        says = f"the barndoors of {name} stand wide open: nothing says where their leaves are"
        findings.append(_note(name, says, "write barndoors: {left: 30 deg, ...}"))
    return KitOutfit(form, front.flux_lm, item, tuple(findings))


def kit_items(
    placer: Placer, path: tuple[str, str], light: KitLight
) -> tuple[Fixture, tuple[Modifier, ...]]:
    """The kit's records of a light and of its modifiers."""
    item = kit_item(placer, (*path, "kit"), Fixture, light.kit)
    at = (*path, "modifier")
    return item, tuple(kit_item(placer, at, Modifier, one) for one in light.modifier)


def crate_of(crate: Quantity | float | None) -> EggCrate | None:
    """An egg crate by its cut-off from straight ahead (rad), or by depth over width."""
    if crate is None:
        return None
    ratio = crate if isinstance(crate, float) else 1.0 / math.tan(crate.si)
    return EggCrate(ratio, ratio) if ratio > 0.0 else None


# Beams -----------------------------------------------------------------------------------


def _given_beam(
    placer: Placer, path: tuple[str, str], light: KitLight, item: Fixture
) -> tuple[Beam, str]:
    """The beam that leaves the head as it is used, and how that is told."""
    try:
        if not isinstance(light.beam, Quantity):
            beam = find_beam(item, light.beam or "")
            several = len(item.beams) > 1
            return beam, f", {beam.name}" if several else ""
    except FalloffError as error:
        raise placed(placer, (*path, "beam"), error) from error
    wanted, ways = light.beam.si, sorted(item.beams, key=lambda one: one.beam_angle_rad)
    low, high = ways[0].beam_angle_rad, ways[-1].beam_angle_rad
    if item.form not in _LENSES or not low - 1e-9 <= wanted <= high + 1e-9:
        raise placer.fault(
            (*path, "beam"),
            what=f"{item.name} cannot be set to that beam",
            expected=f"{math.degrees(low):.0f} to {math.degrees(high):.0f} deg"
            if item.form in _LENSES
            else "one of " + ", ".join(one.name for one in item.beams),
            found=light.beam.text,
            fix="take another head, or leave it out",
        )
    flux = float(
        np.interp(wanted, [one.beam_angle_rad for one in ways], [one.flux_lm for one in ways])
    )
    shape = ways[0].shape
    axis = flux * float(
        beam_distribution(
            Beam(name="", shape=shape, beam_angle_rad=wanted, flux_lm=flux, axis_cd=1.0)
        ).candela_per_lumen.max()
    )
    beam = Beam(
        name=light.beam.text, shape=shape, beam_angle_rad=wanted, flux_lm=flux, axis_cd=axis
    )
    return beam, f", set to {light.beam.text}"


def _set_to(item: Fixture, beam: Beam) -> Fixture:
    from msgspec.structs import replace

    return replace(item, beams=(beam, *item.beams))


# Forms -----------------------------------------------------------------------------------


def _form(
    light: KitLight,
    item: Fixture,
    modifiers: tuple[Modifier, ...],
    front: Beam,
    opening: Opening,
    crate: Quantity | float | None,
) -> Form:
    """The form of what shines; sizes that are written take the place of the kit's."""
    size = light.size or (_metres(opening.width_m), _metres(opening.height_m))
    if front.shape == "all round" or opening.shape == "ball":
        return Globe(size[0])
    if front.shape == "tube":
        return TubeLight(*size)
    if front.shape == "matte":
        return _matte_form(light, modifiers, opening, size, crate)
    return _beam_form(light, item, modifiers, front, opening, size)


def _beam_form(
    light: KitLight,
    item: Fixture,
    modifiers: tuple[Modifier, ...],
    front: Beam,
    opening: Opening,
    size: tuple[Quantity, Quantity],
) -> OpenFace | FresnelLight | ProfileSpotLight | WebMouth:
    """The form of a light that throws a beam."""
    angle = _radians(front.beam_angle_rad)
    if opening.shape == "disc":
        if item.form == "profile spot" and not modifiers:
            edge = light.edge or Quantity(_FLAT_EDGE, f"{100.0 * _FLAT_EDGE:g} %")
            return ProfileSpotLight(size[0], angle, edge, light.shutters)
        if item.form == "Fresnel" and front.shape == "focused" and not modifiers:
            ways = [one.beam_angle_rad for one in item.beams]
            low, high = min(*ways, front.beam_angle_rad), max(*ways, front.beam_angle_rad)
            if low < high:
                return FresnelLight(size[0], angle, _radians(low), _radians(high), light.barndoors)
        if front.shape == "focused":
            return OpenFace(aperture=size[0], beam=angle, barndoors=light.barndoors)
    web = round_web(beam_distribution(front), 1.0)
    square = opening.shape != "disc"
    depth = 0.1 if light.depth is None else light.depth.si
    return WebMouth(web, (size[0].si, size[1].si), square, depth)


def _matte_form(
    light: KitLight,
    modifiers: tuple[Modifier, ...],
    opening: Opening,
    size: tuple[Quantity, Quantity],
    crate: Quantity | float | None,
) -> SoftBox | LightPanel | BookLight:
    last = modifiers[-1] if modifiers else None
    shape = "rectangle"
    if opening.shape == "disc":
        octagon = last is not None and "octagon" in last.name
        shape = "octagon" if octagon else "round"
    if last is not None and last.form == "book light":
        return BookLight(size)
    if last is not None and last.form in _FRONT_FORMS:
        depth = light.depth or _metres(_BOX_DEPTH * max(size[0].si, size[1].si))
        return SoftBox(size, depth, shape, crate)  # type: ignore[arg-type]
    return LightPanel(size, light.depth or _metres(0.04), shape, crate)  # type: ignore[arg-type]


def _metres(length_m: float) -> Quantity:
    return Quantity(length_m, f"{length_m:g} m")


def _radians(angle_rad: float) -> Quantity:
    return Quantity(angle_rad, f"{math.degrees(angle_rad):.4g} deg")


def _note(about: str, says: str, do: str) -> Finding:
    return Finding(weight=Weight.NOTE, about=about, says=says, do=do)


def _warning(about: str, says: str, do: str) -> Finding:
    return Finding(weight=Weight.WARNING, about=about, says=says, do=do)


def override_finding(
    about: str, written_lm: float, own_lm: float, *, whose: str = "kit"
) -> Finding:
    """That a written output takes the place of the kit's, or of a file's."""
    stops = format_stops_tenths(stops_from_factor(written_lm / own_lm))
    says = (
        f"the output written for {about}, {figure(written_lm)} lm, takes the place of the "
        f"{whose}'s {figure(own_lm)} lm ({stops} stops)"
    )
    return _note(about, says, f"take `output` out for the {whose}'s own figure")


def colour_finding(about: str, written: str, own_kelvin: float) -> Finding:
    """That a written colour takes the place of the kit's."""
    says = f"{about} is {written} as written; the kit has it at {figure(own_kelvin)} K"
    return _note(about, says, "take `colour` out for the kit's own")


def figure(value: float) -> str:
    """A number to four figures, without an exponent."""
    return f"{float(f'{value:.4g}'):.10g}"
