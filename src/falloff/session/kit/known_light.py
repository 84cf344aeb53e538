"""A light of the catalogue, of one's own kit or of a file, and what it gives at a spot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np

from falloff.errors import DocumentError, Fault
from falloff.findings import Finding
from falloff.kit import Beam, Fixture, Opening
from falloff.kit.catalogue import ModifierCost, beam_distribution
from falloff.photometry import IntensityWeb, web_intensity
from falloff.types import Float64Array
from falloff.units import Lux, UnitFault, parse_angle, parse_length

_STEPS: Final = 40  # points across a front: sums within 0.01 stop of closed forms from half a width


class Spot(msgspec.Struct, frozen=True, kw_only=True):
    """Where light is compared: how far from the middle of the front, how far off its axis.

    off_rad: to the side, along the front's width; up_rad: upward, along its height; up to π.
    """

    distance_m: float = 3.0
    off_rad: float = 0.0
    up_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class KnownLight:
    """A light as it is used: its item, the beam that leaves it, the front that the beam leaves.

    origin: "catalogue", "own kit", "file" or "data sheet"; web: its intensities where a file has
    them, z along the axis, x along the width of the front; spread_stops: of its level, either way.
    """

    name: str
    origin: str
    item: Fixture
    beam: Beam
    opening: Opening
    web: IntensityWeb | None
    cost: ModifierCost | None
    spread_stops: float
    provenance: str
    findings: tuple[Finding, ...] = ()


def read_spot(said: str) -> Spot:
    """A spot from "3 m", "10 ft, 20 deg off" or "3 m, 20 deg off, 10 deg up".

    Raises DocumentError where it cannot be read.
    """
    first, *rest = (part.strip() for part in said.split(","))
    try:
        distance_m = float(parse_length(first))
        turns = {"off": 0.0, "up": 0.0}
        for part in rest:
            angle, _, way = part.rpartition(" ")
            if way not in {"off", "up", "down"}:
                raise _unread(part, said)
            turn = float(parse_angle(angle))
            turns["off" if way == "off" else "up"] = -turn if way == "down" else turn
    except UnitFault as error:
        raise _unread(error.faults[0].what, said) from error
    if not 0.01 <= distance_m <= 1000.0:
        raise _unread(f"{first} is no distance of a light", said)
    if any(abs(turn) > math.pi for turn in turns.values()):
        raise _unread("an angle off the axis is at most 180 deg", said)
    return Spot(distance_m=distance_m, off_rad=turns["off"], up_rad=turns["up"])


def illuminance_at(light: KnownLight, spot: Spot, *, far: bool = False) -> Lux:
    """Illuminance at a spot, the receptor facing the middle of the front.

    The front is taken as lit evenly, each piece of it with the whole's beam: on the axis of a matte
    one that is the closed form. far: by inverse square from the middle instead. Valid in front of
    the light and beyond its body; walls give nothing. Source: E = ∫ I cosγ / r² over the front.
    """
    to_spot = spot.distance_m * way_to(spot)
    points = np.zeros((1, 3)) if far else _front_points(light.opening)
    ways = to_spot[None, :] - points
    r2 = np.einsum("nk,nk->n", ways, ways)
    falls = (ways @ to_spot) / (spot.distance_m * np.sqrt(r2))
    candela = intensities(light, ways)
    return Lux(float(np.mean(candela * np.maximum(falls, 0.0) / r2)))


def intensities(light: KnownLight, ways: Float64Array) -> Float64Array:
    """Candela (n,) of a light towards ways (n, 3): x along the width, y up, z along the axis."""
    if light.web is not None:
        return web_intensity(light.web, ways)
    return beam_intensities(light.beam, ways)


def beam_intensities(beam: Beam, ways: Float64Array) -> Float64Array:
    """Candela (n,) of a beam of the kit towards ways (n, 3)."""
    found = beam_distribution(beam)
    scale = beam.axis_cd / float(found.candela_per_lumen.max())
    along = ways[:, 0] if beam.shape == "tube" else ways[:, 2]
    angle = np.arccos(np.clip(along / np.linalg.norm(ways, axis=1), -1.0, 1.0))
    return np.asarray(
        scale * np.interp(angle, found.angle_rad, found.candela_per_lumen, right=0.0), np.float64
    )


def way_to(spot: Spot) -> Float64Array:
    """The unit vector (3,) from the front to the spot."""
    level = math.cos(spot.up_rad)
    x, z = level * math.sin(spot.off_rad), level * math.cos(spot.off_rad)
    return np.array([x, math.sin(spot.up_rad), z])


def looks_m(opening: Opening, spot: Spot) -> float:
    """The widest measure of a front as it looks from a spot, foreshortened (m)."""
    if opening.shape == "ball":
        return opening.width_m
    across, upward, _ = (float(one) for one in way_to(spot))
    wide = opening.width_m * math.sqrt(max(0.0, 1.0 - across**2))
    high = opening.height_m * math.sqrt(max(0.0, 1.0 - upward**2))
    return max(wide, opening.height_m) if opening.shape == "tube" else max(wide, high)


def _front_points(opening: Opening) -> Float64Array:
    """Points spread evenly over a front, (n, 3)."""
    if opening.shape == "ball":
        return np.zeros((1, 3))
    even = (np.arange(_STEPS) + 0.5) / _STEPS - 0.5
    if opening.shape == "tube":
        return np.stack([even * opening.width_m, 0.0 * even, 0.0 * even], axis=1)
    if opening.shape == "disc":
        radius = np.sqrt(even + 0.5) / 2.0
        turn = 2.0 * math.pi * (even + 0.5)
        x = np.outer(radius, np.cos(turn)).ravel() * opening.width_m
        y = np.outer(radius, np.sin(turn)).ravel() * opening.height_m
    else:
        x, y = (one.ravel() for one in np.meshgrid(even * opening.width_m, even * opening.height_m))
    return np.stack([x, y, np.zeros_like(x)], axis=1)


def _unread(what: str, said: str) -> DocumentError:
    return DocumentError(
        Fault(
            what=f"this is no spot: {what}",
            expected="a distance, and perhaps angles off the axis",
            found=said,
            fix="write it like '3 m', '10 ft, 20 deg off' or '3 m, 20 deg off, 10 deg up'",
        )
    )
