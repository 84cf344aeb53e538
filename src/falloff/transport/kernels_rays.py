"""Kernels that make rays and read their hits. Bare arrays in SI; tiles of a list at a time.

Every maker writes only the rays it is asked for and returns how many: all of them, or, where
`boxes` (k, 2, 3) has any, only those that cross a box or whose owner is marked in `renew`.
Since a ray follows from its index and seed alone, that is how a moved body is paid for.
"""

from __future__ import annotations

import math

import numpy as np

from falloff.sources.records import SKY, SUN
from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_emission import seen_luminance, through_hole
from falloff.transport.sampling import (
    cardioid_direction,
    cosine_direction,
    scrambled_point,
)

_FLOAT_MIN = 1e-12
SETTLED = -1_000_000  # a hit that a later round writes


@inline
def place_of(rows, i):
    """Row i of (n, 3) in double precision, so that what takes it is compiled for one type."""
    return np.float64(rows[i, 0]), np.float64(rows[i, 1]), np.float64(rows[i, 2])


@inline
def crosses(boxes, ox, oy, oz, dx, dy, dz, longest):
    """Whether a ray from o along d, up to `longest` lengths, meets any of the boxes."""
    for k in range(boxes.shape[0]):
        near, far = 0.0, longest
        for axis in range(3):
            o = ox if axis == 0 else (oy if axis == 1 else oz)
            d = dx if axis == 0 else (dy if axis == 1 else dz)
            if abs(d) < _FLOAT_MIN:
                if o < boxes[k, 0, axis] or o > boxes[k, 1, axis]:
                    near, far = 1.0, 0.0
            else:
                a, b = (boxes[k, 0, axis] - o) / d, (boxes[k, 1, axis] - o) / d
                if a > b:
                    a, b = b, a
                near, far = max(near, a), min(far, b)
        if near <= far:
            return True
    return False


@kernel
def camera_rays(
    order, width, height, view, start, stop, per_pixel, seed, boxes, origins, directions, slots
):
    """Rays of the pixels ranked start to stop along `order`; slot = rank · per_pixel + k.

    view: (14,) eye, forward, right, up, tangents of half the width and half the height.
    """
    count = 0
    for rank in range(start, stop):
        row, column = divmod(np.int64(order[rank]), width)
        for k in range(per_pixel):
            index = rank * per_pixel + k
            u1, u2 = scrambled_point(index, seed)
            x = (2.0 * (column + u1) / width - 1.0) * view[12]
            y = (1.0 - 2.0 * (row + u2) / height) * view[13]
            dx = view[3] + x * view[6] + y * view[9]
            dy = view[4] + x * view[7] + y * view[10]
            dz = view[5] + x * view[8] + y * view[11]
            scale = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
            dx, dy, dz = dx * scale, dy * scale, dz * scale
            if boxes.shape[0] > 0 and not crosses(
                boxes, view[0], view[1], view[2], dx, dy, dz, 1e9
            ):
                continue
            origins[count, 0], origins[count, 1], origins[count, 2] = view[0], view[1], view[2]
            directions[count, 0], directions[count, 1], directions[count, 2] = dx, dy, dz
            slots[count] = index
            count += 1
    return count


@kernel
def hemisphere_rays(
    points,
    normals,
    alive,
    start,
    stop,
    per_point,
    dome,
    seed,
    boxes,
    renew,
    origins,
    directions,
    slots,
):
    """Cosine-weighted rays over receivers start to stop, or over the whole sphere for a dome."""
    count = 0
    for i in range(start, stop):
        if not alive[i]:
            continue
        all_of_it = boxes.shape[0] == 0 or renew[i]
        px, py, pz = place_of(points, i)
        nx, ny, nz = place_of(normals, i)
        for k in range(per_point):
            index = i * per_point + k
            u1, u2 = scrambled_point(index, seed)
            if dome:
                dx, dy, dz = cardioid_direction(nx, ny, nz, u1, u2)
            else:
                dx, dy, dz = cosine_direction(nx, ny, nz, u1, u2)
            if not all_of_it and not crosses(boxes, px, py, pz, dx, dy, dz, 1e9):
                continue
            origins[count, 0], origins[count, 1], origins[count, 2] = px, py, pz
            directions[count, 0], directions[count, 1], directions[count, 2] = dx, dy, dz
            slots[count] = index
            count += 1
    return count


@kernel
def row_rays(
    patch_first,
    element_area_m2,
    points,
    normals,
    exposed,
    start,
    stop,
    per_row,
    seed,
    boxes,
    renew,
    origins,
    directions,
    slots,
):
    """Cosine-weighted rays of patches start to stop, their starts spread by area.

    points, normals: (e, 16, 3); exposed: (e, 16), False where a point is buried in a solid.
    A ray whose start is buried is not written.
    """
    count = 0
    for p in range(start, stop):
        first, last = patch_first[p], patch_first[p + 1]
        total = 0.0
        for e in range(first, last):
            total += element_area_m2[e]
        all_of_it = boxes.shape[0] == 0 or renew[p]
        e = first
        passed = element_area_m2[first]
        for k in range(per_row):
            wanted = (k + 0.5) / per_row * total
            while passed < wanted and e + 1 < last:
                e += 1
                passed += element_area_m2[e]
            index = p * per_row + k
            j = (index * 5 + k // 16) % 16
            if not exposed[e, j]:
                continue
            # The scrambled index, so that direction does not march with the start.
            u1, u2 = scrambled_point(p * per_row + (k * 37) % per_row, seed)
            nx, ny, nz = place_of(normals[e], j)
            dx, dy, dz = cosine_direction(nx, ny, nz, u1, u2)
            ox, oy, oz = place_of(points[e], j)
            if not all_of_it and not crosses(boxes, ox, oy, oz, dx, dy, dz, 1e9):
                continue
            origins[count, 0], origins[count, 1], origins[count, 2] = ox, oy, oz
            directions[count, 0], directions[count, 1], directions[count, 2] = dx, dy, dz
            slots[count] = index
            count += 1
    return count


@inline
def element_at(t, triangle, x, y, z, triangle_face, triangle_element, frame, grid, step, cells):
    """The element that holds the point (x, y, z) of a triangle."""
    if triangle < -1:  # a fabric's face
        f = -2 - triangle
    else:
        element = triangle_element[triangle]
        if element >= 0:
            return element
        f = triangle_face[triangle]
    x, y, z = x - frame[f, 0], y - frame[f, 1], z - frame[f, 2]
    u = x * frame[f, 3] + y * frame[f, 4] + z * frame[f, 5]
    v = x * frame[f, 6] + y * frame[f, 7] + z * frame[f, 8]
    column = min(max(int(u / step[f, 0]), 0), grid[f, 0] - 1)
    row = min(max(int(v / step[f, 1]), 0), grid[f, 1] - 1)
    return cells[grid[f, 2] + row * grid[f, 0] + column]


@kernel
def read_elements(
    count,
    origins,
    directions,
    slots,
    triangle,
    distance,
    normal,
    triangle_face,
    triangle_element,
    frame,
    grid,
    step,
    cells,
    escaped,
    dropped,
    ids,
):
    """Write the element that each ray meets into ids[slot].

    `escaped` stands for none, `dropped` for the back of a face: the ray began inside a solid.
    """
    for r in range(count):
        t = triangle[r]
        if t == -1:
            ids[slots[r]] = escaped
            continue
        if t == SETTLED:
            continue
        dx, dy, dz = directions[r, 0], directions[r, 1], directions[r, 2]
        if normal[r, 0] * dx + normal[r, 1] * dy + normal[r, 2] * dz > 0.0:
            ids[slots[r]] = dropped
            continue
        s = distance[r]
        element = element_at(
            s,
            t,
            origins[r, 0] + s * dx,
            origins[r, 1] + s * dy,
            origins[r, 2] + s * dz,
            triangle_face,
            triangle_element,
            frame,
            grid,
            step,
            cells,
        )
        ids[slots[r]] = element if element >= 0 else dropped


@kernel
def read_views(
    count,
    origins,
    directions,
    slots,
    triangle,
    distance,
    bary_u,
    bary_v,
    normal,
    corner_normals,
    triangle_face,
    face_material,
    face_source,
    kinds,
    shapes,
    tables,
    offset,
    nothing,
    far_side,
    points,
    normals,
    material,
    seen,
    luminance,
):
    """Write what each ray sees into its slot.

    That is a lifted point, shading normal and material, or the source it looks into and that
    source's luminance. Sources stand in rows of `shapes`; a fabric that is seen by the light on
    its other side has its material past `nothing`.
    """
    for r in range(count):
        slot = slots[r]
        t = triangle[r]
        if t == SETTLED:
            continue
        seen[slot], luminance[slot], material[slot] = -1, 0.0, nothing
        ox, oy, oz = place_of(origins, r)
        dx, dy, dz = place_of(directions, r)
        if t < -1:  # a fabric, by the light on this side or on the other
            f = -2 - t
            for axis in range(3):
                n = normal[r, axis]
                points[slot, axis] = (
                    origins[r, axis] + distance[r] * directions[r, axis] + offset * n
                )
                normals[slot, axis] = n
            material[slot] = face_material[f] + (nothing + 1 if far_side[slot] else 0)
            continue
        if t < 0:
            for s in range(kinds.shape[0]):
                # The sun outshines the sky that it stands before.
                if kinds[s] == SKY:
                    if seen[slot] >= 0 or not through_hole(shapes[s], ox, oy, oz, dx, dy, dz):
                        continue
                elif kinds[s] != SUN:
                    continue
                level = seen_luminance(kinds[s], shapes[s], tables[s], ox, oy, oz, dx, dy, dz)
                if kinds[s] == SKY or level > 0.0:
                    seen[slot], luminance[slot] = s, level
            continue
        f = triangle_face[t]
        gx, gy, gz = normal[r, 0], normal[r, 1], normal[r, 2]
        scale = 1.0 / math.sqrt(gx * gx + gy * gy + gz * gz)
        gx, gy, gz = gx * scale, gy * scale, gz * scale
        if gx * dx + gy * dy + gz * dz > 0.0:
            continue  # the back of a face: nothing of the room is there
        s = face_source[f]
        far = distance[r]
        x, y, z = ox + far * dx, oy + far * dy, oz + far * dz
        if s >= 0:
            seen[slot] = s
            luminance[slot] = seen_luminance(kinds[s], shapes[s], tables[s], x, y, z, dx, dy, dz)
        u, v = bary_u[r], bary_v[r]
        w = 1.0 - u - v
        nx = w * corner_normals[t, 0, 0] + u * corner_normals[t, 1, 0] + v * corner_normals[t, 2, 0]
        ny = w * corner_normals[t, 0, 1] + u * corner_normals[t, 1, 1] + v * corner_normals[t, 2, 1]
        nz = w * corner_normals[t, 0, 2] + u * corner_normals[t, 1, 2] + v * corner_normals[t, 2, 2]
        scale = 1.0 / math.sqrt(max(_FLOAT_MIN, nx * nx + ny * ny + nz * nz))
        points[slot, 0], points[slot, 1], points[slot, 2] = (
            x + offset * gx,
            y + offset * gy,
            z + offset * gz,
        )
        normals[slot, 0], normals[slot, 1], normals[slot, 2] = nx * scale, ny * scale, nz * scale
        material[slot] = face_material[f]
