"""kit compare: two lights at the same spot, how far apart, and how surely."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from typing import Final

import msgspec

from falloff.findings import Finding
from falloff.kit.catalogue import (
    KeySettings,
    angular_size_rad,
    beam_distribution,
    edge_blur_m,
    provenance_of,
    spread_of,
)
from falloff.kit.catalogue.near_field import is_near
from falloff.kit.catalogue.sheet import key_of
from falloff.photometry import web_peak_cd
from falloff.session.kit.figures import three_figures
from falloff.session.kit.find import find_light, open_shelf
from falloff.session.kit.from_light import NOT_SAID
from falloff.session.kit.known_light import KnownLight, Spot, illuminance_at, looks_m, read_spot
from falloff.units import footcandles_from_lux, mired_from_kelvin, stops_from_factor

_ANGLE_SHARE: Final = 0.1  # how far a beam angle may be off: common practice, no source
_LEAST_STOPS: Final = 0.05
# Light of a filament goes by the 3.38th power of its volts, its watts by the 1.54th.
# Source: Illuminating Engineering Society, Lighting Handbook, from memory.
_FILAMENT_POWER: Final = 1.54 / 3.38


class ComparedSide(msgspec.Struct, frozen=True, kw_only=True):
    """One light at the spot; null where it is not known, or where there is no light.

    off_axis_stops: against its own axis at the same distance; edge_per_m: of a shadow's edge, m for
    each metre; lux_per_w: at the spot, for each watt; spread_stops: how far its level may be off.
    """

    name: str
    origin: str
    illuminance_lux: float
    illuminance_footcandles: float
    stops_over_key: float | None
    off_axis_stops: float | None
    angular_size_rad: float
    edge_per_m: float
    kelvin: float | None
    kelvin_low: float | None
    kelvin_high: float | None
    green_cc: float | None
    power_w: float | None
    lux_per_w: float | None
    spread_stops: float
    near: bool


class ComparedAssumption(msgspec.Struct, frozen=True, kw_only=True):
    """A figure that is assumed, and how far it could move the stops apart, either way."""

    light: str
    figure: str
    taken: str
    stops: float
    provenance: str


class KitCompared(msgspec.Struct, frozen=True, kw_only=True):
    """Two lights at one spot; every difference is the second over the first.

    apart_stops: null where either gives no light there; combined_spread_stops: of both levels
    together; within: whether the difference is no more than that; softer_ratio: how many times
    wider the second looks; shift_mired: above 0 where it is warmer; green_cc: where greener;
    same_light_heads: how many of the second the first one's light takes, 1 where it has as much or
    more, null where it gives none; same_light_w: what these draw, dimmed to that light, null where
    watts are not known or it does not dim.
    """

    spot: Spot
    key_lux: float
    first: ComparedSide
    second: ComparedSide
    apart_stops: float | None
    combined_spread_stops: float
    within: bool
    softer_ratio: float
    shift_mired: float | None
    green_cc: float | None
    same_light_heads: int | None
    same_light_w: float | None
    assumptions: tuple[ComparedAssumption, ...]
    findings: tuple[Finding, ...]


def run_kit_compare(
    first: str, second: str, *, at: str = "3 m", own: Path | None = None
) -> KitCompared:
    """Two lights at the same spot, each alone and at full, the receptor facing its front.

    Each is a name of one's own kit or of the catalogue (": BEAM" after it for another than its
    first, " + MODIFIER" for what stands before it) or a photometric file. Raises GeometryError,
    PhotometricFileError and DocumentError.
    """
    shelf, spot = open_shelf(own), read_spot(at)
    lights = find_light(first, shelf), find_light(second, shelf)
    return compare_lights(*lights, spot=spot)


def compare_lights(first: KnownLight, second: KnownLight, *, spot: Spot) -> KitCompared:
    """Two known lights at the same spot."""
    key_lux = float(key_of(KeySettings()))
    told = [*_assumptions(first, spot), *_assumptions(second, spot)]
    a, b = _side(first, spot, key_lux), _side(second, spot, key_lux)
    apart = None
    if a.illuminance_lux > 0.0 and b.illuminance_lux > 0.0:
        apart = float(stops_from_factor(b.illuminance_lux / a.illuminance_lux))
    spread = math.hypot(a.spread_stops, b.spread_stops)
    known = a.kelvin is not None and b.kelvin is not None
    return KitCompared(
        spot=spot,
        key_lux=key_lux,
        first=a,
        second=b,
        apart_stops=apart,
        combined_spread_stops=spread,
        within=apart is not None and abs(apart) <= spread,
        softer_ratio=b.edge_per_m / a.edge_per_m if a.edge_per_m > 0.0 else math.inf,
        shift_mired=_mired(b) - _mired(a) if known else None,
        green_cc=(b.green_cc or 0.0) - (a.green_cc or 0.0) if known else None,
        same_light_heads=None if apart is None else _heads(apart),
        same_light_w=_same_light_w(second, apart),
        assumptions=tuple(sorted(told, key=lambda one: -one.stops)),
        findings=tuple(dict.fromkeys((*first.findings, *second.findings))),
    )


def _side(light: KnownLight, spot: Spot, key_lux: float) -> ComparedSide:
    level = float(illuminance_at(light, spot))
    on_axis = float(illuminance_at(light, Spot(distance_m=spot.distance_m)))
    item, wide = light.item, looks_m(light.opening, spot)
    colour = not provenance_of(item, "kelvin").startswith(NOT_SAID)
    power = item.power_w if item.power_w > 0.0 else None
    return ComparedSide(
        name=light.name,
        origin=light.origin,
        illuminance_lux=level,
        illuminance_footcandles=footcandles_from_lux(level),
        stops_over_key=_stops(level, key_lux),
        off_axis_stops=_stops(level, on_axis),
        angular_size_rad=angular_size_rad(wide, spot.distance_m),
        edge_per_m=edge_blur_m(wide, spot.distance_m, gap_m=1.0),
        kelvin=item.kelvin if colour else None,
        kelvin_low=item.kelvin_low if colour else None,
        kelvin_high=item.kelvin_high if colour else None,
        green_cc=item.green_cc if colour else None,
        power_w=power,
        lux_per_w=None if power is None else level / power,
        spread_stops=math.hypot(*(one.stops for one in _assumptions(light, spot))),
        near=is_near(light.opening, spot.distance_m),
    )


def _assumptions(light: KnownLight, spot: Spot) -> list[ComparedAssumption]:
    """What is assumed of one light, as far as it could move its level at the spot."""
    found = [
        ComparedAssumption(
            light=light.name,
            figure="its light on the axis" if light.cost is None else "the light of its head",
            taken=_light_taken(light),
            stops=_own_spread(light),
            provenance=light.provenance,
        )
    ]
    if light.cost is not None:
        found.append(
            ComparedAssumption(
                light=light.name,
                figure="what its modifiers cost",
                taken=f"{light.cost.total_stops:+.1f} stops",
                stops=_cost_spread(light),
                provenance=light.cost.provenance,
            )
        )
    found += [_shape(light, spot), _nearness(light, spot)]
    return [one for one in found if one.stops >= _LEAST_STOPS or one is found[0]]


def _light_taken(light: KnownLight) -> str:
    if light.cost is not None:
        return f"{three_figures(light.item.flux_lm)} lm"
    peak = light.beam.axis_cd if light.web is None else float(web_peak_cd(light.web))
    return f"{three_figures(peak)} cd"


def _own_spread(light: KnownLight) -> float:
    figure = "flux_lm" if light.cost is not None else "beams"
    return light.spread_stops if light.cost is None else spread_of(light.item, figure)


def _cost_spread(light: KnownLight) -> float:
    """The modifiers' own part of the spread of the light that leaves them."""
    own = _own_spread(light)
    return math.sqrt(max(0.0, light.spread_stops**2 - own**2))


def _shape(light: KnownLight, spot: Spot) -> ComparedAssumption:
    """How far a beam angle a tenth wider or narrower moves the level off the axis."""
    moved = 0.0
    fixed = light.beam.shape in {"matte", "all round", "tube"}
    if light.web is None and not fixed and (spot.off_rad or spot.up_rad):
        level = float(illuminance_at(light, spot))
        for factor in (1.0 - _ANGLE_SHARE, 1.0 + _ANGLE_SHARE):
            angle = min(light.beam.beam_angle_rad * factor, math.radians(175.0))
            other = float(illuminance_at(_with_angle(light, angle), spot))
            if level > 0.0 and other > 0.0:
                moved = max(moved, abs(math.log2(other / level)))
            elif level != other:
                moved = max(moved, 1.0)  # at the very edge of a beam: a stop, at the least
    return ComparedAssumption(
        light=light.name,
        figure="its beam angle",
        taken=f"{math.degrees(light.beam.beam_angle_rad):.0f}°, ± 10 %",
        stops=moved,
        provenance="common practice, no source",
    )


def _with_angle(light: KnownLight, angle_rad: float) -> KnownLight:
    beam = msgspec.structs.replace(light.beam, beam_angle_rad=angle_rad)
    peak = float(beam_distribution(beam).candela_per_lumen.max())
    return dataclasses.replace(
        light, beam=msgspec.structs.replace(beam, flux_lm=beam.axis_cd / peak)
    )


def _nearness(light: KnownLight, spot: Spot) -> ComparedAssumption:
    """How far the level is from inverse square, where a lens's front is near."""
    moved = 0.0
    if is_near(light.opening, spot.distance_m) and light.beam.shape in {"focused", "flat"}:
        near, far = (float(illuminance_at(light, spot, far=far)) for far in (False, True))
        moved = abs(math.log2(near / far)) if near > 0.0 and far > 0.0 else 0.0
    return ComparedAssumption(
        light=light.name,
        figure="how its front is lit, so near",
        taken="evenly, each piece with the whole beam",
        stops=moved,
        provenance="inverse square is that far off",
    )


def _heads(apart: float) -> int:
    """How many lights that give `apart` stops more than another it takes to give as much."""
    return max(1, math.ceil(float(2.0**-apart) - _LEAST_STOPS))


def _same_light_w(light: KnownLight, apart: float | None) -> float | None:
    """What so many lights draw, dimmed alike to the other's light (W)."""
    item = light.item
    if apart is None or item.power_w <= 0.0:
        return None
    heads = _heads(apart)
    share = min(1.0, 2.0**-apart / heads)
    if share < 1.0 - _LEAST_STOPS and not item.dims:
        return None
    filament = item.colour_on_dim.kind == "filament"
    return float(heads * item.power_w * share ** (_FILAMENT_POWER if filament else 1.0))


def _stops(level: float, against: float) -> float | None:
    return float(stops_from_factor(level / against)) if level > 0.0 and against > 0.0 else None


def _mired(side: ComparedSide) -> float:
    assert side.kelvin is not None
    return float(mired_from_kelvin(side.kelvin))
