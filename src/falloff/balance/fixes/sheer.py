"""A trial of a sheer in an opening: part of its light straight, part of it off the cloth."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.balance.fixes.start import Start
from falloff.balance.fixes.trials import kept_of_bounce, light_of_front
from falloff.sources import panel
from falloff.stage import Probe
from falloff.transport import trace_probes
from falloff.types import Float64Array

_GIVEN_BACK: Final = 0.75  # of what a sheer does not let through, as the stage takes it
_INSIDE_M: Final = 0.01  # a sheer is taken to hang flush with the wall, inside
_CLOTH_PARTS: Final = 4  # along each side, that what falls on it is read at


def through_sheer(start: Start, name: str, *, straight: float, scattered: float) -> Float64Array:
    """Every source's light (s, p, 3) with a sheer in an opening: less of its own straight.

    The rest of it comes off the cloth, evenly in the room, and where a spot meter looks by what
    falls just there; there it also gives back of the room's own light.
    """
    s, stage = start.index(name), start.solution.stage
    old = stage.sources[s]
    low, u, v = start.placer.opening_frame(name)
    inward = old.shape[9:12]
    corner = low + _INSIDE_M * inward
    at = (np.arange(_CLOTH_PARTS) + 0.5) / _CLOTH_PARTS
    places = (corner + at[:, None, None] * u + at[None, :, None] * v).reshape(-1, 3)
    seen = {p: spot for p, one in enumerate(stage.probes)
            if (spot := looked_through(one, corner, u, v)) is not None}  # fmt: skip
    spots = np.array([*places, *seen.values()])
    outward = tuple(Probe(f"out {k}", "flat", one, -inward) for k, one in enumerate(spots))
    straight_on, off_reveal = trace_probes(start.solution, outward, only=(s,)).mean()
    falling = straight_on[s] + off_reveal[s]
    area = float(np.linalg.norm(np.cross(u, v)))
    flux = scattered * float(falling[: len(places)].mean()) * area
    edges = (u, v) if float(np.cross(u, v) @ inward) > 0.0 else (v, u)
    cloth = panel(name, corner, edge_u=edges[0], edge_v=edges[1], flux_lm=flux, colour=old.colour)
    # What went out through the hole for good, the cloth gives back a part of.
    kept = kept_of_bounce(start, -_GIVEN_BACK * (1.0 - straight - scattered) * area)
    light = start.direct + kept * start.bounced
    light[s] = straight * light[s] + light_of_front(start, cloth)
    if seen:
        back = _GIVEN_BACK * (1.0 - straight - scattered) / math.pi
        facing = tuple(Probe(f"in {k}", "flat", one, inward) for k, one in enumerate(seen.values()))
        direct, bounced = trace_probes(start.solution, facing).mean()
        given = back * (direct + bounced) * start.colours[:, None, :]
        for k, p in enumerate(seen):
            light[:, p] += given[:, k]
            light[s, p] += scattered / math.pi * falling[len(places) + k] * start.colours[s]
    return light


def looked_through(
    probe: Probe, corner: Float64Array, u: Float64Array, v: Float64Array
) -> Float64Array | None:
    """Where a spot meter's sight passes a flat hole; None where it does not."""
    if probe.eye is None or probe.instrument != "spot":
        return None
    normal = np.cross(u, v)
    way = probe.point - probe.eye
    across = float(way @ normal)
    if abs(across) < 1e-9:
        return None
    at = float((corner - probe.eye) @ normal) / across
    spot = probe.eye + at * way
    inside = ((spot - corner) @ u / (u @ u), (spot - corner) @ v / (v @ v))
    return spot if at > 0.0 and all(0.0 <= one <= 1.0 for one in inside) else None
