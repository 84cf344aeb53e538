"""Light shot from a source: rays of equal flux, to be counted where they land."""

from __future__ import annotations

import math

from falloff.sources.records import BUILDING_SIZE, HOLE_SIZE, SKY_HEAD
from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_emission import building_ahead, step_of, under_skyline
from falloff.transport.sampling import frame_around, scrambled_point


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


@kernel
def sun_rays(shape, table, count, seed, origins, directions):
    """Sunrays of equal flux through the holes of a sun's table that nothing outside shades.

    Writes (r, 3) metres and unit ways; returns how many, of `count` that would come through with
    nothing before them.
    """
    row = SKY_HEAD + BUILDING_SIZE * int(table[0]) + int(table[12])
    holes = int(table[row])
    tx, ty, tz, bx, by, bz = frame_around(shape[0], shape[1], shape[2])
    written = 0
    for r in range(count):
        # A rank-one lattice in four dimensions, shifted by the seed. Source of its steps: the root
        # of x⁵ = x + 1, which generalises the golden ratio.
        n = r + 0.5 + 7919.0 * seed
        a, b = n * 0.8566748838545029 % 1.0, n * 0.7338918566271259 % 1.0
        c, d = n * 0.6287067210378087 % 1.0, n * 0.5385972572236101 % 1.0
        before = 0.0
        at = row + 1
        for k in range(holes):
            at = row + 1 + HOLE_SIZE * k
            if a < table[at + 10] or k == holes - 1:
                break
            before = table[at + 10]
        a = (a - before) / max(1e-12, table[at + 10] - before)
        x = table[at] + a * table[at + 3] + b * table[at + 6]
        y = table[at + 1] + a * table[at + 4] + b * table[at + 7]
        z = table[at + 2] + a * table[at + 5] + b * table[at + 8]
        cosine = 1.0 - c * shape[4]
        sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
        u, v = sine * math.cos(2.0 * math.pi * d), sine * math.sin(2.0 * math.pi * d)
        dx = cosine * shape[0] + u * tx + v * bx
        dy = cosine * shape[1] + u * ty + v * by
        dz = cosine * shape[2] + u * tz + v * bz
        if under_skyline(table, dx, dy, dz) or building_ahead(table, x, y, z, dx, dy, dz) >= 0:
            continue
        origins[written, 0], origins[written, 1], origins[written, 2] = x, y, z
        directions[written, 0], directions[written, 1], directions[written, 2] = -dx, -dy, -dz
        written += 1
    return written
