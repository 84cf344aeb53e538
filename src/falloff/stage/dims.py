"""From a dim's per cent to light: a light's own curve, what dimming does to its colour."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.document import Fixture, KitLight, Practical, SceneDocument
from falloff.findings import Finding, Weight
from falloff.kit import DimCurve, format_dim
from falloff.kit.catalogue import ColourOnDim, kelvin_at_light, light_share, spread_of
from falloff.spectrum import Gel, apply_gels, colour_of_xy, light_of_kelvin
from falloff.stage.kit_lights import kit_items
from falloff.stage.lights import gels_of
from falloff.stage.places import Placer
from falloff.types import Float64Array

# How far a light's output may be from what a scene says of it: common practice, no source.
USUAL_OUTPUT_SPREAD_STOPS: Final = 1.0 / 3.0
_TUNGSTEN_KELVIN = (1800.0, 3600.0)  # that a filament may have at full


@dataclass(frozen=True, slots=True)
class DimmedLight:
    """A light at a knob: its share of full light, what its colour is times (3,), what to tell."""

    light_share: float
    tint: Float64Array
    findings: tuple[Finding, ...]


_LINEAR: Final = DimCurve()
_STEADY: Final = ColourOnDim()


@dataclass(frozen=True, slots=True)
class Dimming:
    """How a light dims: knob to light, its colour then, the lowest knob that is steady, if at all.

    kelvin: at full, before gels; 0 where it is not told. low_kelvin, high_kelvin: that it can be
    set to; alike where it cannot be set.
    """

    curve: DimCurve = _LINEAR
    colour: ColourOnDim = _STEADY
    lowest_share: float = 0.0
    dims: bool = True
    kelvin: float = 0.0
    low_kelvin: float = 0.0
    high_kelvin: float = 0.0
    spread_stops: float = USUAL_OUTPUT_SPREAD_STOPS


def dimming_of(document: SceneDocument, name: str) -> Dimming:
    """How a fixture or practical dims, by the scene or else by the kit; linear where none tells.

    Raises GeometryError where the kit has no such light.
    """
    light = _light(document, name)
    found = Dimming()
    if isinstance(light.light, KitLight):
        item, _ = kit_items(Placer(document), (section_of(document, name), name), light.light)
        spread = spread_of(item, "flux_lm")
        found = Dimming(
            item.dim, item.colour_on_dim, item.lowest_steady_share, item.dims, item.kelvin,
            item.kelvin_low, item.kelvin_high, spread,
        )  # fmt: skip
    if light.dimming is not None:
        found = replace(found, curve=DimCurve(kind=light.dimming))
    if light.warms is not None:
        found = replace(found, colour=ColourOnDim(kind="filament" if light.warms else "steady"))
    if light.colour is not None:
        found = replace(found, kelvin=light.colour.si)
    return found


def section_of(document: SceneDocument, name: str) -> str:
    """The section of the scene that a light stands in: "fixtures" or "practicals"."""
    return "fixtures" if name in document.fixtures else "practicals"


def _light(document: SceneDocument, name: str) -> Fixture | Practical:
    light: Fixture | Practical = getattr(document, section_of(document, name))[name]
    return light


def dimmed_light(document: SceneDocument, name: str, knob_share: float) -> DimmedLight:
    """A fixture or practical with its knob at a share of full, 0 to 1.

    tint: what its colour at full is to be multiplied by, luminance kept. Linear unless the scene or
    the kit says otherwise. Raises GeometryError where the kit has no such light.
    """
    found = dimming_of(document, name)
    curve, colour, lowest, kelvin = found.curve, found.colour, found.lowest_share, found.kelvin
    dims, light = found.dims, _light(document, name)
    share = light_share(curve, knob_share)
    findings = _findings(name, knob_share, share, lowest, dims=dims)
    if not 0.0 < share < 1.0 or colour.kind == "steady":
        return DimmedLight(share, np.ones(3), findings)
    low, high = _TUNGSTEN_KELVIN
    if light.xy is not None or (colour.kind == "filament" and not low <= kelvin <= high):
        says = f"how warm {name} goes when dimmed is not known: its colour is no filament's"
        do = "give its colour in kelvin, as that of tungsten, or take `warms` out"
        note = Finding(weight=Weight.NOTE, about=name, says=says, do=do)
        return DimmedLight(share, np.ones(3), (*findings, note))
    warm = float(kelvin_at_light(colour, kelvin, share))
    gels = gels_of(Placer(document), (section_of(document, name), name), light)
    before = _colour(kelvin, light.duv, gels)
    after = _colour(warm, light.duv, gels)
    return DimmedLight(share, after / np.maximum(before, 1e-9), findings)


KNOB_STEPS: Final = 100  # a dim's gains are told at each whole per cent


def dim_gains(document: SceneDocument, name: str) -> Float64Array:
    """What a light's layer in its own colour is times (101, 3) at knob 0, 1 %, ... 100 %."""
    dimmed = (dimmed_light(document, name, step / KNOB_STEPS) for step in range(KNOB_STEPS + 1))
    return np.array([one.light_share * one.tint for one in dimmed])


def colour_factor(document: SceneDocument, name: str, kelvin: float) -> Float64Array:
    """What a light's colour is to be multiplied by (3,) if it were of another kelvin, gels kept.

    Luminance is kept; ones where its colour is given by its chromaticity or not known.
    """
    section, light = section_of(document, name), _light(document, name)
    now = _kelvin_now(document, section, name, light)
    if light.xy is not None or now <= 0.0:
        return np.ones(3)
    gels = gels_of(Placer(document), (section, name), light)
    return np.asarray(
        _colour(kelvin, light.duv, gels) / np.maximum(_colour(now, light.duv, gels), 1e-9)
    )


def kelvin_of(document: SceneDocument, name: str) -> float | None:
    """A light's colour temperature at full; None where it has none that is told."""
    section, light = section_of(document, name), _light(document, name)
    kelvin = _kelvin_now(document, section, name, light)
    return kelvin if kelvin > 0.0 and light.xy is None else None


def _kelvin_now(
    document: SceneDocument, section: str, name: str, light: Fixture | Practical
) -> float:
    if light.colour is not None:
        return light.colour.si
    if isinstance(light.light, KitLight):
        return kit_items(Placer(document), (section, name), light.light)[0].kelvin
    return 0.0


def _colour(kelvin: float, duv: float | None, gels: tuple[Gel, ...]) -> Float64Array:
    return np.asarray(colour_of_xy(apply_gels(light_of_kelvin(kelvin, duv), gels).light.xy))


def _findings(
    name: str, knob: float, share: float, lowest: float, *, dims: bool
) -> tuple[Finding, ...]:
    """A dim that the light cannot keep."""
    told = format_dim(knob, share)
    if not dims and 0.0 < knob < 1.0:
        says = f"{name} does not dim, but a setup has it at {told}"
        do = "put a wire or a net before it, or move it away"
        return (Finding(weight=Weight.WARNING, about=name, says=says, do=do),)
    if 0.0 < knob < lowest:
        says = f"{name} at {told} is below {100.0 * lowest:g} %, the lowest that it holds steady"
        do = "put a net or ND on it and dim it less, or move it away"
        return (Finding(weight=Weight.WARNING, about=name, says=says, do=do),)
    return ()
