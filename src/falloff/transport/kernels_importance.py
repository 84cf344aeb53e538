"""Kernels of importance: what light anywhere is worth to a reading, bounce by bounce backwards."""

from __future__ import annotations

import numpy as np

from falloff.transport.compiled import kernel
from falloff.transport.kernels_bounce import gathered_share


@kernel
def share_gathered(ids, turned, spots, points, normals, weights, dome, hot_rays, out):
    """out[c, e] += what a unit of radiosity of e is worth by the gather rays that met it.

    ids: (n, k); turned: (n · k,) rays that met it by way of a pane or a mirror, as no ray is sent;
    weights: (n, 3) of each receiver in the reading; spots, hot_rays as in `gathered_share`.
    """
    width = ids.shape[1]
    nothing = spots.shape[0] - 2
    for i in range(ids.shape[0]):
        for k in range(width):
            e = np.int64(ids[i, k])
            if e >= nothing:
                continue
            part = 1.0
            if not turned[i * width + k]:
                part = gathered_share(
                    spots,
                    e,
                    points[i, 0],
                    points[i, 1],
                    points[i, 2],
                    normals[i, 0],
                    normals[i, 1],
                    normals[i, 2],
                    dome,
                    width,
                    hot_rays,
                )
            for c in range(3):
                out[c, e] += part * weights[i, c] / width


@kernel
def share_sampled(count, free, weights, slots, elements, by, out):
    """out[c, e] += what rays sent to the elements themselves add to it; by: (n, 3) as weights."""
    for r in range(count):
        if free[r] < 0:
            for c in range(3):
                out[c, elements[r]] += weights[r] * by[slots[r], c]


@kernel
def settle_importance(
    patch_ids, ids, first, reflectance, through, partner, share, tolerance, most, work, out, sent
):
    """The worth of light on patches and of what leaves elements: y = y0 + (F B)ᵀ y; F as rows.

    first: (p,) y0, worth of light on each patch in the reading itself; reflectance, through,
    partner, share as in `solve_bounce`; ids: (p, k) the elements that each patch's rays meet;
    work: (p + 2,); out: (p,) y; sent: (e + 2,) worth of what leaves each element into rays of
    patches. Returns the turns taken.
    """
    count = first.shape[0]
    turn = 0
    last = np.empty(count, np.float64)
    for p in range(count):
        out[p] = first[p]
        last[p] = first[p]
    while turn < most:
        turn += 1
        for p in range(count + 2):
            work[p] = 0.0
        for p in range(count):
            part = last[p] * share[p]
            for k in range(patch_ids.shape[1]):
                work[patch_ids[p, k]] += part
        size, change = 0.0, 0.0
        for p in range(count):
            q = partner[p]
            last[p] = reflectance[p] * work[p] + (through[q] * work[q] if q != p else 0.0)
            out[p] += last[p]
            change += abs(last[p])
            size += abs(out[p])
        if change <= tolerance * size:
            break
    for e in range(sent.shape[0]):
        sent[e] = 0.0
    for p in range(count):
        part = out[p] * share[p]
        for k in range(ids.shape[1]):
            sent[ids[p, k]] += part
    return turn
