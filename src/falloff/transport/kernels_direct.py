"""Kernels of direct light: closed forms times the ratio of weighted shadow rays.

E = closed form · Σ w L V / Σ w L₀ over rays of the same receiver. Below the line stand the weights
of the unshaded source, so nothing that a ray meets may touch them. Closed form times the share of
free rays would be biased, by up to 1.6 stops beside a window, and more rays would not heal it.
"""

from __future__ import annotations

import math

from falloff.sources.records import BEAM, PANEL, POLYGON, SKY, SPHERE, SUN, TUBE
from falloff.transport.closed_form import outline_irradiance, quad_irradiance, sphere_irradiance
from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_emission import beam_candela, seen_luminance
from falloff.transport.kernels_rays import crosses, place_of
from falloff.transport.sampling import cosine_direction, frame_around, scrambled_point

_FAR_M = 1e3  # shadow rays to the sun are this long
_SHORT = 0.9998  # shadow rays stop this share of the way to their source
_AHEAD = 0.3 * math.pi  # closed form of a source that a receiver looks at with much of its sight
_OWN_SKIN_M = 1e-3  # a ball or tube does not light its own skin, which is cut a little inside it
_SAME_FACING = 0.995  # cosine between normals of points that share their shadow rays
_SAME_LIFT_M = 0.01
_SAME_PLACE_M2 = 0.1**2


@inline
def receiver_response(dome, cosine):
    """How a receiver weighs light from an angle: a flat one by cosθ, a dome by (1 + cosθ)/2."""
    if dome:
        return 0.5 * (1.0 + cosine)
    return max(0.0, cosine)


@inline
def sample_source(kind, shape, table, dome, px, py, pz, nx, ny, nz, u1, u2):
    """A way to a point of the source (not of unit length), its weight w, and w times luminance.

    Averages of the last are illuminance; w alone is that of a source of luminance one.
    """
    if kind == SPHERE or kind == SUN:
        cx, cy, cz, open_ = shape[0], shape[1], shape[2], shape[4]
        d, d2, r2 = 1.0, 1.0, shape[3] * shape[3]
        if kind == SPHERE:
            cx, cy, cz = cx - px, cy - py, cz - pz
            d2 = cx * cx + cy * cy + cz * cz
            d = math.sqrt(d2)
            if d <= shape[3] + _OWN_SKIN_M:
                return cx, cy, cz, 0.0, 0.0
            cx, cy, cz = cx / d, cy / d, cz / d
            # 1 − cos written so that a far ball does not vanish
            open_ = (r2 / d2) / (1.0 + math.sqrt(1.0 - r2 / d2))
        cosine = 1.0 - u1 * open_
        sine = math.sqrt(max(0.0, 1.0 - cosine * cosine))
        turn = 2.0 * math.pi * u2
        tx, ty, tz, bx, by, bz = frame_around(cx, cy, cz)
        a, b = sine * math.cos(turn), sine * math.sin(turn)
        dx, dy, dz = (
            a * tx + b * bx + cosine * cx,
            a * ty + b * by + cosine * cy,
            a * tz + b * bz + cosine * cz,
        )
        w = 2.0 * math.pi * open_ * receiver_response(dome, dx * nx + dy * ny + dz * nz)
        if kind == SPHERE:
            along = d * cosine
            far = along - math.sqrt(max(0.0, r2 - (d2 - along * along)))
            return far * dx, far * dy, far * dz, w, w * shape[13]
        far = _FAR_M
        if w > 0.0:
            w *= seen_luminance(kind, shape, table, px, py, pz, dx, dy, dz)
        return far * dx, far * dy, far * dz, w, w
    if kind == BEAM:
        if shape[17] > 0.0:  # a mouth with four corners
            a, b = 2.0 * u1 - 1.0, 2.0 * u2 - 1.0
        else:
            ring, spin = math.sqrt(u1), 2.0 * math.pi * u2
            a, b = ring * math.cos(spin), ring * math.sin(spin)
        dx = shape[0] + a * shape[6] + b * shape[9] - px
        dy = shape[1] + a * shape[7] + b * shape[10] - py
        dz = shape[2] + a * shape[8] + b * shape[11] - pz
        d2 = dx * dx + dy * dy + dz * dz
        d = math.sqrt(d2)
        w = beam_candela(shape, table, -dx / d, -dy / d, -dz / d) / d2
        w *= receiver_response(dome, (dx * nx + dy * ny + dz * nz) / d)
        return dx, dy, dz, w, w
    if kind == TUBE:
        # Even steps of angle along the tube, of height across the half that faces the receiver.
        mx, my, mz = shape[0] - px, shape[1] - py, shape[2] - pz
        along = mx * shape[3] + my * shape[4] + mz * shape[5]
        mx, my, mz = mx - along * shape[3], my - along * shape[4], mz - along * shape[5]
        away = math.sqrt(mx * mx + my * my + mz * mz)
        if away <= shape[7] + _OWN_SKIN_M:
            return mx, my, mz, 0.0, 0.0
        low = math.atan((along - 0.5 * shape[6]) / away)
        fan = math.atan((along + 0.5 * shape[6]) / away) - low
        z = away * math.tan(low + u1 * fan)
        edge = shape[7] / away
        half = math.sqrt(1.0 - edge * edge)
        sine = half * (2.0 * u2 - 1.0)
        cosine = math.sqrt(max(1e-12, 1.0 - sine * sine))
        # e looks from the tube's axis to the receiver, f = axis × e across the view
        gx, gy, gz = -mx / away, -my / away, -mz / away
        fx = shape[4] * gz - shape[5] * gy
        fy = shape[5] * gx - shape[3] * gz
        fz = shape[3] * gy - shape[4] * gx
        dx = mx + z * shape[3] + shape[7] * (cosine * gx + sine * fx)
        dy = my + z * shape[4] + shape[7] * (cosine * gy + sine * fy)
        dz = mz + z * shape[5] + shape[7] * (cosine * gz + sine * fz)
        d2 = dx * dx + dy * dy + dz * dz
        d = math.sqrt(d2)
        w = 2.0 * half * shape[7] / cosine * fan * (away + z * z / away)
        w *= max(0.0, away * cosine - shape[7]) / (d2 * d)
        w *= shape[13] * receiver_response(dome, (dx * nx + dy * ny + dz * nz) / d)
        return dx, dy, dz, w, w
    if kind == POLYGON:
        u1, u2 = fan_point(int(shape[14]), table, u1, u2)
    dx = shape[0] + u1 * shape[3] + u2 * shape[6] - px
    dy = shape[1] + u1 * shape[4] + u2 * shape[7] - py
    dz = shape[2] + u1 * shape[5] + u2 * shape[8] - pz
    d2 = dx * dx + dy * dy + dz * dz
    d = math.sqrt(d2)
    cosine = -(dx * shape[9] + dy * shape[10] + dz * shape[11]) / d
    if cosine <= 0.0:
        return dx, dy, dz, 0.0, 0.0
    w = shape[12] * cosine / d2 * receiver_response(dome, (dx * nx + dy * ny + dz * nz) / d)
    if kind != SKY and shape[16] + shape[17] <= 0.0:  # a bare face
        return dx, dy, dz, w, w * shape[13]
    level = seen_luminance(kind, shape, table, px, py, pz, dx / d, dy / d, dz / d)
    return dx, dy, dz, w, w * level


@inline
def sample_ahead(kind, shape, table, px, py, pz, nx, ny, nz, u1, u2):
    """As `sample_source`, of a parallelogram that fills much of what a flat receiver looks at.

    Ways are picked as the receiver weighs them, so that the near part of a window, where all the
    light of its reveals comes from, is not left to chance; ways past the source count as nothing.
    """
    dx, dy, dz = cosine_direction(nx, ny, nz, u1, u2)
    down = -(dx * shape[9] + dy * shape[10] + dz * shape[11])
    high = (px - shape[0]) * shape[9] + (py - shape[1]) * shape[10] + (pz - shape[2]) * shape[11]
    if down <= 1e-6 or high <= 0.0:
        return dx, dy, dz, 0.0, 0.0
    far = high / down
    qx, qy, qz = px + far * dx - shape[0], py + far * dy - shape[1], pz + far * dz - shape[2]
    # shares along the edges, whatever their angle: by the products with the normal
    ux, uy, uz = shape[3], shape[4], shape[5]
    vx, vy, vz = shape[6], shape[7], shape[8]
    gx, gy, gz = shape[9], shape[10], shape[11]
    a = (gx * (qy * vz - qz * vy) + gy * (qz * vx - qx * vz) + gz * (qx * vy - qy * vx)) / shape[12]
    b = (gx * (uy * qz - uz * qy) + gy * (uz * qx - ux * qz) + gz * (ux * qy - uy * qx)) / shape[12]
    if a < 0.0 or a > 1.0 or b < 0.0 or b > 1.0:
        return dx, dy, dz, 0.0, 0.0
    level = seen_luminance(kind, shape, table, px, py, pz, dx, dy, dz)
    return far * dx, far * dy, far * dz, math.pi, math.pi * level


@inline
def fan_point(corners, table, u1, u2):
    """A point of a convex outline, even by area, as shares of its frame's edges.

    table: corners (2 each), running shares of the area of the triangles between the middle and
    each side, and the middle.
    """
    shares = 2 * corners
    k = min(int(u1 * corners), corners - 1)
    while k > 0 and table[shares + k - 1] > u1:
        k -= 1
    while k < corners - 1 and table[shares + k] <= u1:
        k += 1
    low = table[shares + k - 1] if k > 0 else 0.0
    part = (u1 - low) / max(1e-12, table[shares + k] - low)
    out = math.sqrt(u2)
    mx, my = table[3 * corners], table[3 * corners + 1]
    j = 2 * (k + 1) if k + 1 < corners else 0
    x = table[2 * k] + part * (table[j] - table[2 * k])
    y = table[2 * k + 1] + part * (table[j + 1] - table[2 * k + 1])
    return mx + out * (x - mx), my + out * (y - my)


@inline
def closed_form(kind, shape, table, px, py, pz, nx, ny, nz):
    """Illuminance over luminance of the whole unshaded source, on a flat receiver."""
    if kind == SPHERE:
        x, y, z = shape[0] - px, shape[1] - py, shape[2] - pz
        if math.sqrt(x * x + y * y + z * z) <= shape[3] + _OWN_SKIN_M:
            return 0.0
        return sphere_irradiance(px, py, pz, nx, ny, nz, shape)
    height = (px - shape[0]) * shape[9] + (py - shape[1]) * shape[10] + (pz - shape[2]) * shape[11]
    if height <= 0.0:
        return 0.0
    if kind == POLYGON:
        return outline_irradiance(px, py, pz, nx, ny, nz, shape, int(shape[14]), table)
    return quad_irradiance(px, py, pz, nx, ny, nz, shape)


@inline
def _agrees(points, normals, i, j):
    """Whether two points lie on one surface, near enough to share their shadow rays."""
    dx = points[j, 0] - points[i, 0]
    dy = points[j, 1] - points[i, 1]
    dz = points[j, 2] - points[i, 2]
    nx, ny, nz = normals[i, 0], normals[i, 1], normals[i, 2]
    facing = nx * normals[j, 0] + ny * normals[j, 1] + nz * normals[j, 2]
    lift = dx * nx + dy * ny + dz * nz
    return (
        facing > _SAME_FACING
        and abs(lift) < _SAME_LIFT_M
        and dx * dx + dy * dy + dz * dz < _SAME_PLACE_M2
    )


@kernel
def shadow_rays(
    kind,
    shape,
    table,
    middle,
    points,
    normals,
    alive,
    group,
    stride,
    first,
    groups,
    per_point,
    dome,
    pool_all,
    seed,
    boxes,
    tubes,
    renew,
    origins,
    directions,
    lengths,
    weights,
    owners,
    leads,
    below,
    whole,
    touched,
):
    """Shadow rays of groups of receivers to one source.

    A group is the first `group` points of every `stride`. With pool_all its points share one ratio
    and one mean closed form; without, only those that lie on one surface with the first of them
    do, and others stand alone: leads[i] is the point whose sums count for point i.
    The arrays hold this stretch alone; `first` is its first receiver's index in the whole list.
    At a lead, below becomes Σ w, and whole the closed form; touched[g] says whether the group was
    (re)done. middle: (3,) of the source; `tubes` are the boxes grown by the source's radius, so
    that a group whose lines to the middle all miss them keeps its value.
    """
    # These have no closed form: the mean of their rays is all there is.
    plain = dome or kind == BEAM or kind == TUBE or kind == SUN
    count = 0
    for g in range(groups):
        head = g * stride
        if boxes.shape[0] > 0 and not renew[g]:
            near = False
            for j in range(group):
                px, py, pz = place_of(points, head + j)
                dx, dy, dz = middle[0] - px, middle[1] - py, middle[2] - pz
                if alive[head + j] and crosses(tubes, px, py, pz, dx, dy, dz, 1.0):
                    near = True
                    break
            if not near:
                continue
        began = count
        crossed = boxes.shape[0] == 0 or renew[g]
        members = 0
        lead = head
        ahead = False
        for j in range(group):
            i = head + j
            leads[i] = i
            if not alive[i]:
                continue
            if members == 0:
                lead = i
            elif pool_all or _agrees(points, normals, lead, i):
                leads[i] = lead
            mine = leads[i]
            members += 1
            px, py, pz = place_of(points, i)
            nx, ny, nz = place_of(normals, i)
            if plain:
                below[mine] += per_point
            elif pool_all or mine == i:
                form = closed_form(kind, shape, table, px, py, pz, nx, ny, nz)
                whole[mine] += form
                ahead = form > _AHEAD and (kind == PANEL or kind == SKY)
            for k in range(per_point):
                u1, u2 = scrambled_point((first + i) * per_point + k, seed)
                if ahead:
                    dx, dy, dz, w, wl = sample_ahead(
                        kind, shape, table, px, py, pz, nx, ny, nz, u1, u2
                    )
                else:
                    dx, dy, dz, w, wl = sample_source(
                        kind, shape, table, dome, px, py, pz, nx, ny, nz, u1, u2
                    )
                if not plain:
                    below[mine] += w
                if wl <= 0.0:
                    continue
                if not crossed:
                    crossed = crosses(boxes, px, py, pz, dx, dy, dz, 1.0)
                origins[count, 0], origins[count, 1], origins[count, 2] = px, py, pz
                directions[count, 0], directions[count, 1], directions[count, 2] = dx, dy, dz
                lengths[count] = _SHORT
                weights[count] = wl
                owners[count] = mine
                count += 1
        if not crossed:
            count = began
            continue
        touched[g] = True
        if plain:
            for j in range(group):
                whole[head + j] = 1.0
        elif pool_all and members > 1:
            whole[lead] /= members
    return count


@kernel
def add_visible(count, free, weights, owners, above):
    """Add up the weights of rays that reach their source."""
    for r in range(count):
        if free[r] < 0:
            above[owners[r]] += weights[r]


@kernel
def finish_direct(
    groups, group, stride, pool_all, alive, leads, touched, above, below, whole, illuminance
):
    """E = whole · above / below of each point's lead; zero where nothing shines.

    With pool_all there is one value a group, else one a point. Only groups that were done change.
    """
    for g in range(groups):
        if not touched[g]:
            continue
        if pool_all:
            value = 0.0
            for j in range(group):
                i = g * stride + j
                if alive[i]:
                    if below[leads[i]] > 0.0:
                        value = whole[leads[i]] * above[leads[i]] / below[leads[i]]
                    break
            illuminance[g] = value
        else:
            for j in range(group):
                i = g * stride + j
                lead = leads[i]
                lit = alive[i] and below[lead] > 0.0
                illuminance[i] = whole[lead] * above[lead] / below[lead] if lit else 0.0
