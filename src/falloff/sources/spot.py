"""Spots with a lens: a profile spot with four shutters, a Fresnel from spot to flood."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.kit.catalogue.beams import distribution
from falloff.photometry.profile import IntensityDistribution
from falloff.photometry.web import IntensityWeb, intensity_web, web_flux_lm

_HARD_RAD: Final = math.radians(0.1)  # a hard edge takes no more than this
_TURN_RAD: Final = 2.0 * math.pi


@dataclass(frozen=True, slots=True)
class Shutter:
    """One shutter at a profile spot's gate.

    depth_share: 0 out, 0.5 to the middle, 1 all across; tilt_rad: how far its edge is turned about
    the middle of that edge, anticlockwise as seen from behind the unit, −π/2 to π/2.
    """

    depth_share: float = 0.0
    tilt_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class Shutters:
    """The four shutters, named by where they stand in the gate, left and right from behind."""

    top: Shutter = Shutter()
    bottom: Shutter = Shutter()
    left: Shutter = Shutter()
    right: Shutter = Shutter()


_ALL_OUT: Final = Shutters()


def profile_spot(
    beam_angle_rad: float,
    *,
    flux_lm: float,
    edge_softness_share: float = 0.0,
    shutters: Shutters = _ALL_OUT,
) -> IntensityWeb:
    """The web of a profile spot with an even field, in lumens through its open gate.

    The lens turns the gate's image over: a shutter pushed in from the top of the gate cuts the
    bottom of the beam, one from the left cuts its right. The web's azimuth zero is left as seen
    from behind the unit, a quarter turn is up. beam_angle_rad: full angle at half intensity, above
    0 and below 2.6; edge_softness_share: width of the edge over half the width of the beam, 0 to
    1; an edge is never harder than a tenth of a degree. What the shutters stop is lost: intensity
    in the open part stays as it was and the flux goes down. Raises GeometryError outside the ranges
    and where nothing is left.
    """
    _check_spot(beam_angle_rad, edge_softness_share, shutters)
    radius = math.tan(0.5 * beam_angle_rad)
    open_web = _gate_web(radius, edge_softness_share, _ALL_OUT)
    candela = flux_lm / float(web_flux_lm(open_web))
    web = open_web if shutters == _ALL_OUT else _gate_web(radius, edge_softness_share, shutters)
    return intensity_web(web.azimuth_rad, web.angle_rad, candela=candela * web.candela)


def fresnel_beam(
    beam_angle_rad: float, *, spot_rad: float, flood_rad: float
) -> IntensityDistribution:
    """A Fresnel's round beam of one lumen, focused to a full angle at half intensity.

    beam_angle_rad: between spot_rad and flood_rad, the narrowest and the widest the unit can be
    set to, below 2.6. Its shape is that of the kit's focused beams, so that a unit that is
    written by its figures gives what the kit's gives. Raises GeometryError outside the range.
    """
    if not 0.0 < spot_rad < flood_rad < 2.6 or not spot_rad <= beam_angle_rad <= flood_rad:
        low, high = math.degrees(spot_rad), math.degrees(flood_rad)
        raise GeometryError(
            Fault(
                what="the Fresnel cannot be set to that beam",
                expected=f"a beam angle from {low:g} to {high:g} deg",
                found=f"{math.degrees(beam_angle_rad):g} deg",
                fix="stay between its spot and its flood, or take another unit",
            )
        )
    return distribution("focused", beam_angle_rad)


def _gate_web(radius: float, softness: float, shutters: Shutters) -> IntensityWeb:
    """Relative intensity of a gate whose rim is at this slope from the axis."""
    half = math.atan(radius)
    step = max(_HARD_RAD, 0.125 * softness * half) * 0.6
    blur = max(softness * radius, step)
    last = math.atan(radius + 0.5 * blur)
    if shutters == _ALL_OUT:
        edge = np.linspace(math.atan(max(0.0, radius - 0.5 * blur)), last, 65)
        angle = np.unique(np.concatenate([[0.0], edge]))
        azimuth = np.array([0.0, _TURN_RAD])
    else:
        angle = np.linspace(0.0, last, 2 + int(last / step))
        azimuth = np.linspace(0.0, _TURN_RAD, 2 + int(_TURN_RAD * math.sin(last) / step))
    slope = np.tan(angle)[None, :]
    left, up = slope * np.cos(azimuth)[:, None], slope * np.sin(azimuth)[:, None]
    beyond = np.broadcast_to(slope, left.shape) - radius
    for (way_left, way_up), shutter in (
        ((0.0, 1.0), shutters.top),
        ((0.0, -1.0), shutters.bottom),
        ((1.0, 0.0), shutters.left),
        ((-1.0, 0.0), shutters.right),
    ):
        if shutter.depth_share > 0.0:
            # As seen from behind, left runs against the plane's first axis, so a turn to the left
            # runs the other way round here; and the lens turns both axes over.
            reach = radius * (1.0 - 2.0 * shutter.depth_share)
            cosine, sine = math.cos(shutter.tilt_rad), math.sin(shutter.tilt_rad)
            normal_left = cosine * way_left + sine * way_up
            normal_up = cosine * way_up - sine * way_left
            x, y = -left - reach * way_left, -up - reach * way_up
            beyond = np.maximum(beyond, x * normal_left + y * normal_up)
    across = np.clip(-2.0 * beyond / blur, -1.0, 1.0)
    # How much of a small disc lies on one side of a line.
    open_part = 0.5 + (across * np.sqrt(1.0 - across**2) + np.arcsin(across)) / math.pi
    open_part = np.clip(open_part, 0.0, 1.0)
    open_part[-1] = open_part[0]
    if not bool((open_part > 0.0).any()):
        raise GeometryError(
            Fault(
                what="the shutters let nothing through",
                expected="a part of the gate that is open",
                found="shutters that meet",
                fix="pull one of them out",
            )
        )
    return intensity_web(azimuth, angle, candela=open_part)


def _check_spot(beam_angle_rad: float, softness: float, shutters: Shutters) -> None:
    faults = []
    if not 0.0 < beam_angle_rad < 2.6:
        faults.append(("its beam angle", "above 0 and below 149 deg", math.degrees(beam_angle_rad)))
    if not 0.0 <= softness <= 1.0:
        faults.append(("how soft its edge is", "a share from 0 to 1", softness))
    for shutter in (shutters.top, shutters.bottom, shutters.left, shutters.right):
        if not 0.0 <= shutter.depth_share <= 1.0:
            faults.append(("a shutter's depth", "a share from 0 to 1", shutter.depth_share))
        if not abs(shutter.tilt_rad) <= 0.5 * math.pi:
            faults.append(("a shutter's tilt", "up to 90 deg", math.degrees(shutter.tilt_rad)))
    for what, expected, found in faults:
        raise GeometryError(
            Fault(
                what=f"the profile spot cannot be set so: {what}",
                expected=expected,
                found=f"{found:g}",
            )
        )
