"""Kernels of bounced light: the solve over patches, and the gather to receivers."""

from __future__ import annotations

import math

import numpy as np

from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_rays import crosses, place_of
from falloff.transport.sampling import frame_around, scrambled_point


@kernel
def tilt(normals, out):
    """Write unit vectors 37 degrees off the normals; both (n, 3)."""
    for i in range(normals.shape[0]):
        nx, ny, nz = place_of(normals, i)
        tx, ty, tz, _, _, _ = frame_around(nx, ny, nz)
        out[i, 0] = 0.8 * nx + 0.6 * tx
        out[i, 1] = 0.8 * ny + 0.6 * ty
        out[i, 2] = 0.8 * nz + 0.6 * tz


@kernel
def mark_crossing(origins, directions, boxes, marks):
    """Mark the rays (n, 3) that meet any of the boxes, however far; other marks stay."""
    for i in range(origins.shape[0]):
        if not marks[i]:
            ox, oy, oz = place_of(origins, i)
            dx, dy, dz = place_of(directions, i)
            marks[i] = crosses(boxes, ox, oy, oz, dx, dy, dz, 1e9)


@kernel
def first_bounce(ids, start, stop, radiosity, share, out):
    """out[p] = mean radiosity met by the rays of patch p; radiosity: (e + 2,), last two zero."""
    for p in range(start, stop):
        total = 0.0
        for k in range(ids.shape[1]):
            total += radiosity[ids[p, k]]
        out[p] = total * share[p]


@kernel
def solve_bounce(
    patch_ids, first, reflectance, through, partner, share, tolerance, most, leaving, out
):
    """Irradiance of every patch from light bounced any number of times: H = H₀ + F (ρ H + τ H').

    patch_ids: (p, k) the patch each ray meets, p or p + 1 for none; first: (p,) H₀ in lux;
    reflectance, through (from the patch behind, `partner`), share (one over the count of valid
    rays): (p,); leaving: (p + 2,) to work in, its last two zero. Gauss and Seidel's iteration,
    which takes about half the turns of plain repeated bounces. Returns the turns taken.
    """
    count = first.shape[0]
    for p in range(count):
        out[p] = first[p]
    for p in range(count):
        leaving[p] = reflectance[p] * out[p] + through[p] * out[partner[p]]
    for turn in range(most):
        change, size = 0.0, 0.0
        for p in range(count):
            total = np.float32(0.0)
            for k in range(patch_ids.shape[1]):
                total += leaving[patch_ids[p, k]]
            new = first[p] + total * share[p]
            change += abs(new - out[p])
            size += abs(new)
            out[p] = new
            q = partner[p]
            leaving[p] = reflectance[p] * new + through[p] * out[q]
            if q != p:
                leaving[q] = reflectance[q] * out[q] + through[q] * new
        if change <= tolerance * size:
            return turn + 1
    return most


@kernel
def gather_views(ids, start, stop, rays, radiosity, material, albedo, weight, scale, out):
    """out[pixel] += scale · Σ over its rays of albedo · mean radiosity gathered by each.

    ids: (pixels · rays, k); radiosity: (e + 2,); albedo: (m,) of one channel; weight: (rays,).
    """
    width = ids.shape[1]
    for pixel in range(start, stop):
        total = np.float32(0.0)
        for j in range(rays):
            ray = pixel * rays + j
            part = np.float32(0.0)
            for k in range(width):
                part += radiosity[ids[ray, k]]
            total += weight[ray] * albedo[material[ray]] * part
        out[pixel] = total * (scale / (width * rays))


@inline
def gathered_share(spots, e, px, py, pz, nx, ny, nz, dome, gather_rays, hot_rays):
    """The share of a hot element's light that a receiver takes from its gather rays.

    The rest is taken from its rays to hot elements: each way counts by how densely its rays fall
    on the element, judged at its middle, so that neither is asked for what it rarely finds.
    Any share from 0 to 1 would be right in the mean. Source: E. Veach, "Robust Monte Carlo Methods
    for Light Transport Simulation", 1997, section 9.2, the balance heuristic.
    spots: (e + 2, 8) middles, normals, areas, and chance by area of being picked (1/m²).
    """
    dx, dy, dz = spots[e, 0] - px, spots[e, 1] - py, spots[e, 2] - pz
    d2 = dx * dx + dy * dy + dz * dz
    d = math.sqrt(d2) + 1e-9
    leaving = -(dx * spots[e, 3] + dy * spots[e, 4] + dz * spots[e, 5]) / d
    arriving = (dx * nx + dy * ny + dz * nz) / d
    arriving = 0.25 * (1.0 + arriving) if dome else arriving
    falling = max(0.05, arriving) * max(0.05, leaving) / (math.pi * d2 + spots[e, 6])
    gathered = gather_rays * falling
    return gathered / (gathered + hot_rays * spots[e, 7])


@kernel
def gather_views_hot(
    ids,
    start,
    stop,
    rays,
    spots,
    points,
    normals,
    dome,
    hot_rays,
    radiosity,
    material,
    albedo,
    weight,
    scale,
    out,
):
    """Add to out (3, pixels) the gathered share of the hot elements that gather rays met.

    radiosity: (3, e + 2); albedo: (m, 3); weight: (rays,); hot_rays: how many each receiver has.
    """
    width = ids.shape[1]
    share = scale / (width * rays)
    for pixel in range(start, stop):
        for j in range(rays):
            ray = pixel * rays + j
            for k in range(width):
                e = np.int64(ids[ray, k])
                if spots[e, 7] > 0.0:
                    part = (
                        weight[ray]
                        * share
                        * gathered_share(
                            spots,
                            e,
                            points[ray, 0],
                            points[ray, 1],
                            points[ray, 2],
                            normals[ray, 0],
                            normals[ray, 1],
                            normals[ray, 2],
                            dome,
                            width,
                            hot_rays,
                        )
                    )
                    m = material[ray]
                    for c in range(3):
                        out[c, pixel] += part * albedo[m, c] * radiosity[c, e]


@inline
def pick(running, u):
    """The first place where a running sum reaches u; the last place at most."""
    low, high = 0, running.shape[0] - 1
    while low < high:
        middle = (low + high) // 2
        if running[middle] < u:
            low = middle + 1
        else:
            high = middle
    return low


@kernel
def hot_rays(
    hot_elements,
    hot_share,
    hot_chance,
    element_points,
    element_normals,
    element_area_m2,
    spots,
    gather_rays,
    points,
    normals,
    alive,
    start,
    stop,
    per_point,
    dome,
    seed,
    origins,
    directions,
    lengths,
    weights,
    slots,
    elements,
):
    """Shadow rays from receivers to hot elements, picked in proportion to what they send out.

    hot_elements, hot_share (running sum of chances, ending at 1), hot_chance: (h,).
    The weight times an element's radiosity is what the receiver's gather rays leave of its light.
    gather_rays: how many each receiver has; spots as in `gathered_share`.
    """
    count = 0
    for i in range(start, stop):
        if not alive[i]:
            continue
        for k in range(per_point):
            u1, u2 = scrambled_point(i * per_point + k, seed)
            h = pick(hot_share, u1)
            e = np.int64(hot_elements[h])
            j = min(int(u2 * 16.0), 15)
            dx = element_points[e, j, 0] - points[i, 0]
            dy = element_points[e, j, 1] - points[i, 1]
            dz = element_points[e, j, 2] - points[i, 2]
            d2 = dx * dx + dy * dy + dz * dz
            d = math.sqrt(d2)
            leaving = (
                -(
                    dx * element_normals[e, j, 0]
                    + dy * element_normals[e, j, 1]
                    + dz * element_normals[e, j, 2]
                )
                / d
            )
            arriving = (dx * normals[i, 0] + dy * normals[i, 1] + dz * normals[i, 2]) / d
            if dome:
                arriving = 0.5 * (1.0 + arriving)
            if leaving <= 0.0 or arriving <= 0.0:
                continue
            origins[count, 0] = points[i, 0]
            origins[count, 1] = points[i, 1]
            origins[count, 2] = points[i, 2]
            directions[count, 0], directions[count, 1], directions[count, 2] = dx, dy, dz
            lengths[count] = 0.9998
            taken = 1.0 - gathered_share(
                spots,
                e,
                points[i, 0],
                points[i, 1],
                points[i, 2],
                normals[i, 0],
                normals[i, 1],
                normals[i, 2],
                dome,
                gather_rays,
                per_point,
            )
            weights[count] = (taken * leaving * arriving * element_area_m2[e]) / (
                math.pi * d2 * hot_chance[h] * per_point
            )
            slots[count] = i
            elements[count] = e
            count += 1
    return count


@kernel
def add_hot(count, free, weights, slots, elements, radiosity, out):
    """out[i, c] += weight · radiosity of the element for each free ray; radiosity: (3, e + 2)."""
    for r in range(count):
        if free[r] < 0:
            i = slots[r]
            for c in range(3):
                out[i, c] += weights[r] * radiosity[c, elements[r]]


@kernel
def blend_rays(start, stop, rays, direct, material, albedo, weight, seen, luminance, source, out):
    """Mean luminance of a pixel's rays from direct light and from faces of a source looked into.

    Direct light leaves as 1/π · albedo · E, and a ray counts by its weight; albedo: (m, 3), of
    what is seen; out: (pixels, 3).
    """
    for pixel in range(start, stop):
        r, g, b = 0.0, 0.0, 0.0
        for j in range(rays):
            ray = pixel * rays + j
            m = material[ray]
            w = weight[ray]
            e = w * direct[ray] * 0.3183098861837907
            r += albedo[m, 0] * e
            g += albedo[m, 1] * e
            b += albedo[m, 2] * e
            if seen[ray] == source:
                r += w * luminance[ray]
                g += w * luminance[ray]
                b += w * luminance[ray]
        out[pixel, 0], out[pixel, 1], out[pixel, 2] = r / rays, g / rays, b / rays
