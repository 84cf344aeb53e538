"""What a source shows in one direction: luminance of its face, intensity of a beam, the sky."""

from __future__ import annotations

import math

import numpy as np

from falloff.sources.records import (
    BEAM,
    BUILDING_SIZE,
    CELL_SIDE,
    FACES,
    HOLE_SIZE,
    SKY,
    SKY_CELLS,
    SKY_HEAD,
    SPHERE,
    SUN,
    TELLS_CELL,
    TUBE,
)
from falloff.transport.compiled import inline, kernel

_FLOAT_MIN = 1e-12


@inline
def seen_luminance(kind, shape, table, x, y, z, dx, dy, dz):
    """Luminance (cd/m²) at 100 % of a source's face at a point, looked at along a unit d."""
    if kind == SPHERE or kind == TUBE:
        return shape[13]
    if kind == BEAM:
        cosine = -(dx * shape[3] + dy * shape[4] + dz * shape[5])
        if cosine <= 1e-3:
            return 0.0
        return beam_candela(shape, table, -dx, -dy, -dz) / (shape[12] * cosine)
    if kind == SUN or kind == SKY:
        return outside_luminance(kind, shape, table, x, y, z, dx, dy, dz)
    return shape[13] * crate_share(shape, dx, dy, dz)


@inline
def crate_share(shape, dx, dy, dz):
    """Share of a face that is seen along d past the black cells of an egg crate before it."""
    if shape[16] + shape[17] <= 0.0:
        return 1.0
    uu = math.sqrt(shape[3] * shape[3] + shape[4] * shape[4] + shape[5] * shape[5])
    vv = math.sqrt(shape[6] * shape[6] + shape[7] * shape[7] + shape[8] * shape[8])
    down = max(_FLOAT_MIN, abs(dx * shape[9] + dy * shape[10] + dz * shape[11]))
    a = abs(dx * shape[3] + dy * shape[4] + dz * shape[5]) / (uu * down)
    b = abs(dx * shape[6] + dy * shape[7] + dz * shape[8]) / (vv * down)
    return max(0.0, 1.0 - shape[16] * a) * max(0.0, 1.0 - shape[17] * b)


@inline
def through_hole(hole, ox, oy, oz, dx, dy, dz):
    """Whether a ray goes out through a parallelogram that shines in: (9+) corner and edges."""
    ux, uy, uz = hole[3], hole[4], hole[5]
    vx, vy, vz = hole[6], hole[7], hole[8]
    gx, gy, gz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    gg = gx * gx + gy * gy + gz * gz
    down = dx * gx + dy * gy + dz * gz
    if down >= -1e-6 * math.sqrt(gg):
        return False
    wx, wy, wz = hole[0] - ox, hole[1] - oy, hole[2] - oz
    far = (wx * gx + wy * gy + wz * gz) / down
    px, py, pz = far * dx - wx, far * dy - wy, far * dz - wz
    # Along the edges, whatever their angle: parts of p by p × v and u × p over u × v.
    a = (gx * (py * vz - pz * vy) + gy * (pz * vx - px * vz) + gz * (px * vy - py * vx)) / gg
    b = (gx * (uy * pz - uz * py) + gy * (uz * px - ux * pz) + gz * (ux * py - uy * px)) / gg
    return far > 0.0 and 0.0 <= a <= 1.0 and 0.0 <= b <= 1.0


@inline
def outside_luminance(kind, shape, table, x, y, z, dx, dy, dz):
    """What is seen along a unit d out of a hole: the nearest building, sky or ground; or the sun.

    The sun is seen within its disc, past every building and above the skyline, through one of the
    holes that its table names, if it names any.
    """
    if kind == SUN:
        if not _in_disc(shape, table, dx, dy, dz):
            return 0.0
        row = SKY_HEAD + BUILDING_SIZE * int(table[0]) + int(table[12])
        holes = int(table[row])
        luminance = shape[13] if holes == 0 else 0.0
        for k in range(holes):
            at = row + 1 + HOLE_SIZE * k
            if through_hole(table[at:], x, y, z, dx, dy, dz):
                luminance = shape[13] * table[at + 9]
                break
        if luminance > 0.0 and building_ahead(table, x, y, z, dx, dy, dz) >= 0:
            return 0.0
        return luminance
    if table[1] == TELLS_CELL:
        return float(outside_cell(table, x, y, z, dx, dy, dz))
    face = building_ahead(table, x, y, z, dx, dy, dz)
    if face >= 0:
        return face_luminance(table, face)
    return open_luminance(shape, table, dx, dy, dz)


@inline
def _in_disc(shape, table, dx, dy, dz):
    """Whether a unit d looks into the sun's disc, above the skyline."""
    if dx * shape[0] + dy * shape[1] + dz * shape[2] < 1.0 - shape[4] * (1.0 + 1e-6):
        return False
    return not under_skyline(table, dx, dy, dz)


@inline
def open_luminance(shape, table, dx, dy, dz):
    """Luminance (cd/m²) along a unit d of the sky, of what stands on the skyline, or the ground."""
    if dz <= 0.0:
        return shape[14]
    if under_skyline(table, dx, dy, dz):
        return table[13]
    if table[1] == 0.0:
        return shape[13] * (1.0 + 2.0 * dz) / 3.0
    near = min(1.0, max(-1.0, dx * table[7] + dy * table[8] + dz * table[9]))
    ring = table[4] * (math.exp(table[5] * math.acos(near)) - table[11])
    ring += 1.0 + table[6] * near * near
    return shape[13] * (1.0 + table[2] * math.exp(table[3] / dz)) * ring * table[10]


@inline
def under_skyline(table, dx, dy, dz):
    """Whether a unit d looks lower than the skyline, which may not be told."""
    steps = int(table[12])
    if steps == 0:
        return False
    at = math.atan2(dy, dx) / (2.0 * math.pi)
    at = (at - math.floor(at)) * steps
    k = min(int(at), steps - 1)
    first = SKY_HEAD + BUILDING_SIZE * int(table[0])
    low = table[first + k]
    return dz < low + (at - k) * (table[first + (k + 1) % steps] - low)


@inline
def building_ahead(table, x, y, z, dx, dy, dz):
    """The nearest building's face that a ray meets, or −1.

    A face is FACES times the building's row, and 0 to 4 for that towards −x, +x, −y and +y of its
    own and the top.
    """
    nearest, found = 1e30, -1
    for k in range(int(table[0])):
        row = SKY_HEAD + BUILDING_SIZE * k
        ox, oy = x - table[row], y - table[row + 1]
        cosine, sine = table[row + 2], table[row + 3]
        near, far = 0.0, nearest
        face = 4
        for axis in range(3):
            if axis == 0:
                o, d = ox * cosine + oy * sine, dx * cosine + dy * sine
                low, high = -table[row + 4], table[row + 4]
            elif axis == 1:
                o, d = oy * cosine - ox * sine, dy * cosine - dx * sine
                low, high = -table[row + 5], table[row + 5]
            else:
                o, d, low, high = z, dz, table[row + 6], table[row + 7]
            if abs(d) < _FLOAT_MIN:
                if o < low or o > high:
                    near, far = 1.0, 0.0
            else:
                a, b = (low - o) / d, (high - o) / d
                if min(a, b) > near:
                    near = min(a, b)
                    face = 4 if axis == 2 else 2 * axis + (0 if d > 0.0 else 1)
                far = min(far, max(a, b))
        if near < far:
            nearest, found = near, FACES * k + face
    return found


@inline
def face_luminance(table, face):
    """Luminance (cd/m²) of a building's face, by its number."""
    return table[SKY_HEAD + BUILDING_SIZE * (face // FACES) + 8 + face % FACES]


@inline
def outside_cell(table, x, y, z, dx, dy, dz):
    """The number of the cell of what is outside that a ray looks at: sky, ground or a face."""
    face = building_ahead(table, x, y, z, dx, dy, dz)
    if face >= 0:
        return SKY_CELLS + 1 + face
    if dz <= 0.0:
        return SKY_CELLS
    return sky_cell(dx, dy, dz)


@inline
def sky_cell(dx, dy, dz):
    """The cell of the sky that a unit d above the horizon looks at."""
    # The half sphere laid flat so that areas stay alike, and the disc drawn out to a square.
    # Source: P. Shirley and K. Chiu, "A Low Distortion Map Between Disk and Square", 1997.
    ring = math.sqrt(max(0.0, 1.0 - dz))
    turn = math.atan2(dy, dx)
    if turn < -0.25 * math.pi:
        turn += 2.0 * math.pi
    side = 4.0 / math.pi
    if turn < 0.25 * math.pi:
        a, b = ring, ring * turn * side
    elif turn < 0.75 * math.pi:
        a, b = -ring * (turn - 0.5 * math.pi) * side, ring
    elif turn < 1.25 * math.pi:
        a, b = -ring, -ring * (turn - math.pi) * side
    else:
        a, b = ring * (turn - 1.5 * math.pi) * side, -ring
    i = min(CELL_SIDE - 1, max(0, int(0.5 * (a + 1.0) * CELL_SIDE)))
    j = min(CELL_SIDE - 1, max(0, int(0.5 * (b + 1.0) * CELL_SIDE)))
    return CELL_SIDE * i + j


@kernel
def cell_ways(out):
    """Unit ways to the middles of the cells of the sky; out: (SKY_CELLS, 3)."""
    for i in range(CELL_SIDE):
        for j in range(CELL_SIDE):
            a = 2.0 * (i + 0.5) / CELL_SIDE - 1.0
            b = 2.0 * (j + 0.5) / CELL_SIDE - 1.0
            if abs(a) > abs(b):
                ring, turn = a, 0.25 * math.pi * b / a
            else:
                ring = b
                turn = 0.5 * math.pi - 0.25 * math.pi * a / b if b != 0.0 else 0.0
            flat = ring * math.sqrt(2.0 - ring * ring)
            k = CELL_SIDE * i + j
            out[k, 0], out[k, 1] = flat * math.cos(turn), flat * math.sin(turn)
            out[k, 2] = 1.0 - ring * ring


@kernel
def cell_luminances(shape, table, ways, which, start, stop, out):
    """Luminance (cd/m²) of some cells of the sky, as a source shows them; ways as `cell_ways`."""
    for i in range(start, stop):
        k = which[i]
        out[k] = open_luminance(shape, table, ways[k, 0], ways[k, 1], ways[k, 2])


@kernel
def cells_of_rays(table, origins, directions, out):
    """The cells outside that rays (r, 3) of any length look at, by a sky's table."""
    for r in range(out.shape[0]):
        dx, dy, dz = directions[r, 0], directions[r, 1], directions[r, 2]
        size = math.sqrt(dx * dx + dy * dy + dz * dz)
        out[r] = outside_cell(
            table, origins[r, 0], origins[r, 1], origins[r, 2], dx / size, dy / size, dz / size
        )


@kernel
def seen_outside(shape, table, ways, cells, luminance, out):
    """Luminance along unit ways (r, 3) that look at cells (r,): exact where a way looks there.

    Rays that a pane or a mirror has sent on look elsewhere than their way: they take their cell's.
    """
    for r in range(cells.shape[0]):
        cell = np.int64(cells[r])
        out[r] = luminance[cell]
        dx, dy, dz = ways[r, 0], ways[r, 1], ways[r, 2]
        if cell < SKY_CELLS and dz > 0.0 and sky_cell(dx, dy, dz) == cell:
            out[r] = open_luminance(shape, table, dx, dy, dz)


@inline
def beam_candela(shape, table, dx, dy, dz):
    """Intensity (cd) of a beam along a unit d that leaves it."""
    cosine = dx * shape[3] + dy * shape[4] + dz * shape[5]
    angle = math.acos(min(1.0, max(-1.0, cosine)))
    if angle >= shape[14]:
        return 0.0
    steps = int(shape[15])
    if shape[16] == 0.0:  # round
        at = angle / shape[14] * (steps - 1)
        k = min(int(at), steps - 2)
        return shape[13] * (table[k] + (at - k) * (table[k + 1] - table[k]))
    x = dx * shape[18] + dy * shape[19] + dz * shape[20]
    y = dx * shape[21] + dy * shape[22] + dz * shape[23]
    turn = math.atan2(y, x)
    turn = turn + 2.0 * math.pi if turn < 0.0 else turn
    planes = int(shape[16])
    k = step_of(table, np.int64(0), steps, angle)
    j = step_of(table, steps, planes, turn)
    s = (angle - table[k]) / (table[k + 1] - table[k])
    first = steps + j
    t = (turn - table[first]) / (table[first + 1] - table[first])
    row = steps + planes + j * steps + k
    low = table[row] + s * (table[row + 1] - table[row])
    row += steps
    high = table[row] + s * (table[row + 1] - table[row])
    return shape[13] * (low + t * (high - low))


@inline
def step_of(values, first, count, wanted):
    """The step of ascending values[first : first + count] that holds a number: 0 to count − 2."""
    low, high = 0, count - 1
    while high - low > 1:
        middle = (low + high) // 2
        if values[first + middle] <= wanted:
            low = middle
        else:
            high = middle
    return low
