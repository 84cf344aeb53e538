"""Light shot from a source: rays of equal flux, to be counted where they land."""

from __future__ import annotations

import math

import numpy as np

from falloff.sources import above_skyline, distance_to_building
from falloff.sources.records import BUILDING_SIZE, HOLE_SIZE, SKY_HEAD
from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_emission import step_of
from falloff.transport.sampling import scrambled_point
from falloff.types import Float32Array, Float64Array


@kernel
def beam_rays(shape, angle_of_share, count, seed, origins, directions):
    """Rays that carry equal flux from all over a beam's mouth."""
    web = shape[16] > 0.0
    radius = math.sqrt(shape[6] * shape[6] + shape[7] * shape[7] + shape[8] * shape[8])
    last = angle_of_share.shape[0] - 1
    ux, uy, uz = shape[6] / radius, shape[7] / radius, shape[8] / radius
    vx, vy, vz = shape[9] / radius, shape[10] / radius, shape[11] / radius
    if web:
        ux, uy, uz = shape[18], shape[19], shape[20]
        vx, vy, vz = shape[21], shape[22], shape[23]
    for r in range(count):
        a, b = scrambled_point(r, seed)
        c, d = scrambled_point(r, seed + 1)
        if web:
            angle, turn = _web_angles(angle_of_share, a, b)
        else:
            at = a * last
            k = min(int(at), last - 1)
            angle = angle_of_share[k] + (at - k) * (angle_of_share[k + 1] - angle_of_share[k])
            turn = 2.0 * math.pi * b
        if shape[17] > 0.0:  # a mouth with four corners
            pu, pv = 2.0 * c - 1.0, 2.0 * d - 1.0
        else:
            ring, spin = math.sqrt(c), 2.0 * math.pi * d
            pu, pv = ring * math.cos(spin), ring * math.sin(spin)
        sine, cosine = math.sin(angle), math.cos(angle)
        cu, cv = sine * math.cos(turn), sine * math.sin(turn)
        for k in range(3):
            origins[r, k] = shape[k] + pu * shape[6 + k] + pv * shape[9 + k] + 1e-4 * shape[3 + k]
        directions[r, 0] = cosine * shape[3] + cu * ux + cv * vx
        directions[r, 1] = cosine * shape[4] + cu * uy + cv * vy
        directions[r, 2] = cosine * shape[5] + cu * uz + cv * vz


@inline
def _web_angles(shares, a, b):
    """Angle from the axis and azimuth of a web's flux at a point of the unit square.

    shares: how many steps s and planes p, s angles, p azimuths, p gaps before and p after them,
    running shares of flux of p planes, and of s angles in each. Each plane stands for its share of
    flux, spread to its neighbours as a tent.
    """
    steps, planes = int(shares[0]), int(shares[1])
    angles, turns = 2, 2 + steps
    running = turns + 3 * planes
    p = 0
    low, high = -1, planes - 1  # the first plane whose running share passes b
    while high - low > 1:
        middle = (low + high) // 2
        if shares[running + middle] > b:
            high = middle
        else:
            low = middle
    p = high
    before = shares[running + p - 1] if p > 0 else 0.0
    part = (b - before) / max(1e-12, shares[running + p] - before)
    left, right = shares[turns + planes + p], shares[turns + 2 * planes + p]
    split = left / (left + right)
    if part < split:  # the tent's rising side, then its falling one
        turn = shares[turns + p] - left * (1.0 - math.sqrt(part / split))
    else:
        turn = shares[turns + p] + right * (1.0 - math.sqrt((1.0 - part) / (1.0 - split)))
    row = running + planes + p * steps
    k = step_of(shares, row, steps, a)
    gap = shares[row + k + 1] - shares[row + k]
    share = min(1.0, (a - shares[row + k]) / gap) if gap > 0.0 else 0.5
    one, other = math.cos(shares[angles + k]), math.cos(shares[angles + k + 1])
    return math.acos(min(1.0, max(-1.0, one + share * (other - one)))), turn


def sun_rays(
    shape: Float64Array,
    table: Float64Array,
    count: int,
    seed: int,
    origins: Float32Array,
    directions: Float32Array,
) -> int:
    """Sunrays of equal flux through the holes of a sun's table that nothing outside shades.

    Writes (r, 3) metres and unit ways; returns how many, of `count` that would come through with
    nothing before them. Not compiled: a place has one sun, and its rays are few.
    """
    built = SKY_HEAD + BUILDING_SIZE * int(table[0])
    row = built + int(table[12])
    holes = table[row + 1 :].reshape(-1, HOLE_SIZE)
    # A rank-one lattice in four dimensions, shifted by the seed. Source of its steps: the root of
    # x⁵ = x + 1, which generalises the golden ratio.
    step = 1.1673039782614187 ** -np.arange(1.0, 5.0)
    a, b, c, d = (((np.arange(count) + 0.5)[:, None] + 7919.0 * seed) * step % 1.0).T
    running = holes[:, 10]
    hole = np.minimum(np.searchsorted(running, a, side="right"), len(holes) - 1)
    before = np.concatenate([[0.0], running[:-1]])[hole]
    a = (a - before) / np.maximum(running[hole] - before, np.finfo(float).tiny)
    rows = holes[hole]
    start = rows[:, :3] + a[:, None] * rows[:, 3:6] + b[:, None] * rows[:, 6:9]
    cosine = 1.0 - c * shape[4]
    sine, turn = np.sqrt(np.maximum(0.0, 1.0 - cosine**2)), 2.0 * math.pi * d
    across = np.cross(np.eye(3)[int(np.argmin(np.abs(shape[:3])))], shape[:3])
    across /= np.linalg.norm(across)
    aside = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * np.cross(shape[:3], across)
    toward = cosine[:, None] * shape[:3] + sine[:, None] * aside
    free = above_skyline(table[built:row], toward)
    for building in table[SKY_HEAD:built].reshape(-1, BUILDING_SIZE):
        free &= np.isinf(distance_to_building(building, start, toward))
    written = int(np.count_nonzero(free))
    origins[:written], directions[:written] = start[free], -toward[free]
    return written
