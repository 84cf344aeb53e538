"""What a sheet on a case says of a fixture: light at distances, softness, power, colour."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from falloff.constants import METER_CONSTANT_C_LUX
from falloff.errors import Fault, GeometryError
from falloff.findings import Finding, Weight
from falloff.kit.catalogue import dimming
from falloff.kit.catalogue.beams import beam_distribution
from falloff.kit.catalogue.cost import ModifierCost, modifier_cost
from falloff.kit.catalogue.dimming import Dimmed
from falloff.kit.catalogue.near_field import (
    FAR,
    angular_size_rad,
    beam_diameter_m,
    edge_blur_m,
    is_near,
    matte_illuminance_lux,
    widest_m,
)
from falloff.kit.catalogue.records import (
    Beam,
    Fixture,
    Modifier,
    Opening,
    provenance_of,
    spread_of,
)
from falloff.units import (
    Ampere,
    Kelvin,
    Lux,
    Metre,
    Radian,
    Stops,
    footcandles_from_lux,
    parse_length,
    stops_from_factor,
)

METRIC_M: Final = tuple(Metre(float(d)) for d in (1, 2, 3, 5, 8))
IMPERIAL_M: Final = tuple(parse_length(f"{feet} ft") for feet in (3, 6, 10, 15, 25))
SUPPLIES_V: Final = (120.0, 230.0)
_GAP_M: Final = 0.0254  # from the tip of a nose to the cheek beside it: common practice, no source
_POLAR_STEPS: Final = 73
_HARMLESS_HZ: Final = 10_000.0  # pulses so quick leave under 0.01 stop at 1/48 s (pencil: n = 208)


class KeySettings(msgspec.Struct, frozen=True, kw_only=True):
    """The camera that a sheet's stops are over or under."""

    t_number: float = 2.8
    iso: float = 800.0
    exposure_time_s: float = 1.0 / 48.0
    meter_constant_c: float = METER_CONSTANT_C_LUX


class AtDistance(msgspec.Struct, frozen=True, kw_only=True):
    """A beam at a distance: light square to it, width at half intensity, how large the front looks.

    stops_over_key: over (+) or under (-) the sheet's key. blur_m: of the edge of a nose's shadow
    on the cheek, an inch behind it. near: worked out for a wide front, not by inverse square.
    beam_diameter_m: None for a beam of 180° or more.
    """

    distance_m: Metre
    beam_diameter_m: Metre | None
    illuminance_lux: Lux
    illuminance_footcandles: float
    stops_over_key: Stops
    angular_size_rad: Radian
    blur_m: Metre
    near: bool


class BeamSheet(msgspec.Struct, frozen=True, kw_only=True):
    """One beam at distances in metres and in feet, and its polar curve: (angle, cd) pairs."""

    beam: Beam
    metric: tuple[AtDistance, ...]
    imperial: tuple[AtDistance, ...]
    polar_rad_cd: tuple[tuple[float, float], ...]


class PowerDrawn(msgspec.Struct, frozen=True, kw_only=True):
    """What a fixture draws at a voltage; at switch-on for a moment, None where it is not known."""

    voltage_v: float
    current_amps: Ampere
    switch_on_amps: Ampere | None


class FixtureSheet(msgspec.Struct, frozen=True, kw_only=True):
    """All that a sheet says; findings are what a reader must know besides."""

    fixture: Fixture
    key: KeySettings
    key_lux: Lux
    cost: ModifierCost | None
    beams: tuple[BeamSheet, ...]
    power: tuple[PowerDrawn, ...]
    spread_stops: Stops
    provenance: str
    findings: tuple[Finding, ...]


def describe(
    fixture: Fixture, *modifiers: Modifier, key: KeySettings | None = None
) -> FixtureSheet:
    """The sheet of a fixture as the catalogue, or the user's own measuring, has it.

    modifiers: from the head outward; with any, their front is the sheet's one beam, and its cost is
    told. Stops are against key, by E = C T² / (ISO · t), ISO 2720. Valid square before the front.
    """
    settings = key or KeySettings()
    key_lux = key_of(settings)
    cost = modifier_cost(fixture, *modifiers) if modifiers else None
    fronts = [one.opening for one in modifiers if one.opening is not None]
    opening = fronts[-1] if fronts else fixture.opening
    beams = (cost.front,) if cost else fixture.beams
    return FixtureSheet(
        fixture=fixture,
        key=settings,
        key_lux=key_lux,
        cost=cost,
        beams=tuple(_beam_sheet(one, opening, key_lux) for one in beams),
        power=power_drawn(fixture),
        spread_stops=cost.expected_spread_stops if cost else Stops(spread_of(fixture, "beams")),
        provenance=provenance_of(fixture, "beams"),
        findings=_findings(fixture, beams, opening),
    )


def key_of(key: KeySettings) -> Lux:
    """The illuminance that makes an incident meter show the settings, C T² / (ISO · t)."""
    return Lux(key.meter_constant_c * key.t_number**2 / (key.iso * key.exposure_time_s))


def power_drawn(fixture: Fixture) -> tuple[PowerDrawn, ...]:
    """Amps at 120 V and 230 V, W / (V · power factor); nothing for a flame or a battery lamp."""
    if fixture.power_w == 0.0 or not fixture.supply.startswith("mains"):
        return ()
    drawn = []
    for voltage_v in SUPPLIES_V:
        amps = fixture.power_w / (voltage_v * fixture.power_factor)
        inrush = fixture.inrush_ratio
        drawn.append(
            PowerDrawn(
                voltage_v=voltage_v,
                current_amps=Ampere(amps),
                switch_on_amps=None if inrush is None else Ampere(amps * inrush),
            )
        )
    return tuple(drawn)


def dimmed(fixture: Fixture, knob_share: float) -> Dimmed:
    """A fixture with its knob at a share of full: light, colour, and whether it is steady there.

    Raises GeometryError where it does not dim and is not at full, or at a share outside 0 to 1.
    """
    if not fixture.dims and knob_share not in (0.0, 1.0):
        raise GeometryError(
            Fault(what=f"{fixture.name} does not dim", expected="0 or 1", found=f"{knob_share:g}",
                  fix="put a wire or a net before it, or move it away")
        )  # fmt: skip
    light = dimming.light_share(fixture.dim, knob_share)
    colour = fixture.kelvin
    if light > 0.0:
        colour = dimming.kelvin_at_light(fixture.colour_on_dim, fixture.kelvin, light)
    return Dimmed(
        knob_share=knob_share,
        light_share=light,
        light_stops=stops_from_factor(light),
        colour_kelvin=Kelvin(colour),
        steady=knob_share == 0.0 or knob_share >= fixture.lowest_steady_share,
    )


def at_distance(beam: Beam, opening: Opening, *, distance_m: float, key_lux: float) -> AtDistance:
    """A beam from an opening at a distance above 0, square before it.

    A matte beam is worked out for the whole opening, near it too; others by inverse square from the
    front, which fails nearer than five of its widths, and then `near` says so.
    """
    if beam.shape == "matte":
        level = matte_illuminance_lux(opening, beam.axis_cd, distance_m)
    else:
        level = Lux(beam.axis_cd / distance_m**2)
    wide = widest_m(opening)
    return AtDistance(
        distance_m=Metre(distance_m),
        beam_diameter_m=beam_diameter_m(beam.beam_angle_rad, distance_m),
        illuminance_lux=level,
        illuminance_footcandles=footcandles_from_lux(level),
        stops_over_key=stops_from_factor(level / key_lux),
        angular_size_rad=angular_size_rad(wide, distance_m),
        blur_m=edge_blur_m(wide, distance_m, gap_m=_GAP_M),
        near=is_near(opening, distance_m),
    )


def _beam_sheet(beam: Beam, opening: Opening, key_lux: Lux) -> BeamSheet:
    return BeamSheet(
        beam=beam,
        metric=tuple(at_distance(beam, opening, distance_m=d, key_lux=key_lux) for d in METRIC_M),
        imperial=tuple(
            at_distance(beam, opening, distance_m=d, key_lux=key_lux) for d in IMPERIAL_M
        ),
        polar_rad_cd=_polar(beam),
    )


def _polar(beam: Beam) -> tuple[tuple[float, float], ...]:
    """Angle from the axis and intensity, evenly over the beam; a tube's is from its length."""
    found = beam_distribution(beam)
    scale = beam.axis_cd / float(found.candela_per_lumen.max())
    step = (found.angle_rad.size - 1) / (_POLAR_STEPS - 1)
    picks = [round(n * step) for n in range(_POLAR_STEPS)]
    return tuple(
        (float(found.angle_rad[n]), scale * float(found.candela_per_lumen[n])) for n in picks
    )


def _findings(fixture: Fixture, beams: tuple[Beam, ...], opening: Opening) -> tuple[Finding, ...]:
    found = []
    far_m = FAR * widest_m(opening)
    if far_m > METRIC_M[0] and any(beam.shape in {"focused", "flat"} for beam in beams):
        found.append(
            Finding(
                weight=Weight.NOTE,
                about=fixture.name,
                says=f"nearer than {far_m:.1f} m its figures are by inverse square, and too high",
                do="meter it where it will stand",
            )
        )
    if fixture.cri is None:
        found.append(
            Finding(weight=Weight.NOTE, about=fixture.name, says="its colour rendering is unknown",
                    do="look at a face under it through the camera")
        )  # fmt: skip
    quick = (fixture.flicker.frequency_hz or 0.0) >= _HARMLESS_HZ
    if fixture.flicker.kind in {"unknown", "mains-driven", "refreshed", "PWM"} and not quick:
        found.append(_flicker_finding(fixture))
    found += _cautions(fixture)
    return tuple(found)


def _flicker_finding(fixture: Fixture) -> Finding:
    hint, dimmed = fixture.flicker, " when dimmed" if fixture.flicker.dimmed_only else ""
    says = {
        "unknown": "whether it flickers is unknown",
        "mains-driven": "it pulses at twice the mains frequency",
    }.get(hint.kind, f"it pulses at {hint.frequency_hz or math.nan:g} a second{dimmed}")
    if hint.modulation_share is not None:
        says += f", {100.0 * hint.modulation_share:.0f} % up and down"
    return Finding(
        weight=Weight.NOTE, about=fixture.name, says=says,
        do="shoot a test at the dim, the frame rate and the shutter of the day",
    )  # fmt: skip


def _cautions(fixture: Fixture) -> list[Finding]:
    """Heat, fire, ultraviolet: what could hurt someone."""
    says = {
        "tungsten": ("it gets hot enough to burn and to light cloth, gel and paper",
                     "keep half a metre and more to anything that burns, and let it cool"),
        "daylight discharge": ("it gets hot, and without its glass gives ultraviolet",
                               "never run it without its front glass; let it cool before moving"),
        "flame": ("it is an open flame",
                  "keep a watch and an extinguisher by it, and ask whose building it is"),
    }.get(fixture.family)  # fmt: skip
    if says is None:
        return []
    return [Finding(weight=Weight.CAUTION, about=fixture.name, says=says[0],
                    do=f"{says[1]}; local codes and licensed people decide")]  # fmt: skip
