"""From the knob to the light and back, how low a dim is steady, and what colour it has."""

from __future__ import annotations

import bisect
import itertools
import math
from typing import Literal

import msgspec

from falloff.errors import Fault, GeometryError
from falloff.spectrum.incandescent import lamp_at_light
from falloff.units import Kelvin, Stops, format_stops_tenths, stops_from_factor

CurveKind = Literal["linear", "square-law", "S-curve", "measured"]


class DimCurve(msgspec.Struct, frozen=True, kw_only=True):
    """How much light a knob gives.

    points: of a measured curve only, (knob share, light share) from 0 to 1, knob ascending.
    """

    kind: CurveKind = "linear"
    points: tuple[tuple[float, float], ...] = ()


class ColourOnDim(msgspec.Struct, frozen=True, kw_only=True):
    """What dimming does to the colour: nothing, a filament's warming, or a warm-dim LED's.

    kind "toward": the mired go evenly with the light's stops to `low_kelvin` at `low_light_share`.
    """

    kind: Literal["steady", "filament", "toward"] = "steady"
    low_kelvin: float | None = None
    low_light_share: float = 0.01


class Dimmed(msgspec.Struct, frozen=True, kw_only=True):
    """A fixture at a dim: knob and light as shares of full, light in stops, colour, steadiness."""

    knob_share: float
    light_share: float
    light_stops: Stops
    colour_kelvin: Kelvin
    steady: bool


def light_share(curve: DimCurve, knob_share: float) -> float:
    """Share of full light at a knob share, both 0 to 1; raises GeometryError outside.

    Linear: k; square law: k²; S-curve: k² (3 − 2 k); measured: straight between its points.
    Source: common practice, no source.
    """
    _inside(knob_share, "knob")
    if curve.kind == "linear":
        return knob_share
    if curve.kind == "square-law":
        return knob_share**2
    if curve.kind == "S-curve":
        return knob_share**2 * (3.0 - 2.0 * knob_share)
    knobs, lights = zip(*_measured(curve), strict=True)
    return _between(knobs, lights, knob_share)


def knob_share(curve: DimCurve, light_share: float) -> float:
    """The knob that gives a share of full light, both 0 to 1: the lowest where several do."""
    _inside(light_share, "light")
    if curve.kind == "linear":
        return light_share
    if curve.kind == "square-law":
        return math.sqrt(light_share)
    if curve.kind == "S-curve":  # the middle root of 2 k³ − 3 k² + y = 0, by the sine of thirds
        return 0.5 - math.sin(math.asin(1.0 - 2.0 * light_share) / 3.0)
    points = _measured(curve)
    if light_share <= points[0][1]:
        return 0.0
    above = next(n for n, (_, light) in enumerate(points) if light >= light_share)
    (low_knob, low), (high_knob, high) = points[above - 1], points[above]
    return low_knob + (high_knob - low_knob) * (light_share - low) / (high - low)


def curve_faults(curve: DimCurve) -> list[Fault]:
    """Why a curve cannot be used: a measured one may not turn back or end short of full."""
    what = _curve_fault(curve)
    return [_fault(what, curve)] if what else []


def _curve_fault(curve: DimCurve) -> str:
    if curve.kind != "measured":
        return "only a measured curve has points" if curve.points else ""
    if len(curve.points) < 2:
        return "a measured dim curve needs two points or more"
    values = [value for point in curve.points for value in point]
    knobs = [knob for knob, _ in curve.points]
    lights = [light for _, light in curve.points]
    wrong = {
        "a dim curve's shares go from 0 to 1": not all(0.0 <= value <= 1.0 for value in values),
        "a dim curve goes from knob 0 to knob 1, where the light is 1": (
            knobs[0] != 0.0 or knobs[-1] != 1.0 or lights[-1] != 1.0
        ),
        "the knob of a dim curve must ascend": any(b <= a for a, b in itertools.pairwise(knobs)),
        "the light of a dim curve must not go down as the knob goes up": any(
            b < a for a, b in itertools.pairwise(lights)
        ),
    }
    return next((what for what, is_so in wrong.items() if is_so), "")


def kelvin_at_light(colour: ColourOnDim, full_kelvin: float, light_share: float) -> Kelvin:
    """The colour temperature at a share of full light, above 0 and up to 1.

    Filament: T = T₀ · share^(0.42/3.4), of 1800 to 3600 K at full; below a tenth of the light it is
    stretched, and a little warmer than told. Source: `spectrum.incandescent`. Raises
    GeometryError where there is no light.
    """
    if not 0.0 < light_share <= 1.0:
        _inside(light_share, "light")
        raise GeometryError(_shares_fault("no light has no colour", light_share))
    if colour.kind == "filament":
        return lamp_at_light(full_kelvin, light_share).cct_kelvin
    if colour.kind == "toward" and colour.low_kelvin is not None:
        part = min(1.0, math.log(light_share) / math.log(colour.low_light_share))
        return Kelvin(1.0 / ((1.0 - part) / full_kelvin + part / colour.low_kelvin))
    return Kelvin(full_kelvin)


def format_dim(knob_share: float, light_share: float) -> str:
    """A dim for people, per cent always with its stops: "50 % (-2.0 stops of light)"."""
    return f"{_per_cent(knob_share)} % ({format_light(light_share)})"


def format_light(light_share: float) -> str:
    """A share of full light in stops: "full light", "-2.0 stops of light", "no light"."""
    stops = stops_from_factor(light_share)
    if stops == -math.inf:
        return "no light"
    told = format_stops_tenths(stops)
    return "full light" if told == "0.0" else f"{told} {_stops_word(told)} of light"


def _stops_word(told: str) -> str:
    return "stop" if abs(float(told)) <= 1.0 else "stops"


def _per_cent(share: float) -> str:
    per_cent = 100.0 * share
    return f"{per_cent:.0f}" if per_cent >= 10.0 or per_cent == 0.0 else f"{per_cent:.2g}"


def _measured(curve: DimCurve) -> tuple[tuple[float, float], ...]:
    faults = curve_faults(curve)
    if faults:
        raise GeometryError(*faults)
    return curve.points


def _between(xs: tuple[float, ...], ys: tuple[float, ...], x: float) -> float:
    """Straight between ascending points that span x."""
    k = min(max(bisect.bisect_right(xs, x), 1), len(xs) - 1)
    part = (x - xs[k - 1]) / (xs[k] - xs[k - 1])
    return ys[k - 1] + part * (ys[k] - ys[k - 1])


def _inside(share: float, what: str) -> None:
    if not 0.0 <= share <= 1.0:
        raise GeometryError(_shares_fault(f"the {what} cannot be at {share:g}", share))


def _shares_fault(what: str, share: float) -> Fault:
    return Fault(
        what=what,
        expected="a share from 0 to 1",
        found=f"{share:g}",
        fix="give 0.6 for 60 %",
    )


def _fault(what: str, curve: DimCurve) -> Fault:
    return Fault(
        what=what,
        expected="points (knob, light) from (0, …) to (1, 1), neither going down",
        found=", ".join(f"({knob:g}, {light:g})" for knob, light in curve.points) or "none",
        fix="meter the light at five knobs or more and write each as a share of full",
    )
