"""Kernels of light through flat sheets: fabrics that pass some of it straight, panes, mirrors.

A sheet is a row of `Surfaces.sheets`; it is no triangle of the scene, so rays that were traced
without it are told here what it does to them. A ray that would meet a sheet and go on has two
ends; one is picked by chance, so that a hit list keeps one element for each ray, and what the
sheet sends out is kept divided by the chance of landing on it.
"""

from __future__ import annotations

import math

import numpy as np

from falloff.stage.records import FABRIC, PANE
from falloff.transport.compiled import inline, kernel
from falloff.transport.kernels_rays import SETTLED
from falloff.transport.sampling import hash32

_NEAR = 1e-5  # a sheet this near where a ray begins is the one it begins on (ray lengths)
_GLASS_INDEX = 1.52  # of window glass
_MOST_SHEETS = 8  # crossed by one ray


@inline
def sheet_distance(sheets, k, ox, oy, oz, dx, dy, dz):
    """How many lengths of d along a ray sheet k lies; −1 where it is missed."""
    along = dx * sheets[k, 9] + dy * sheets[k, 10] + dz * sheets[k, 11]
    if abs(along) < 1e-12:
        return -1.0
    wx, wy, wz = sheets[k, 0] - ox, sheets[k, 1] - oy, sheets[k, 2] - oz
    t = (wx * sheets[k, 9] + wy * sheets[k, 10] + wz * sheets[k, 11]) / along
    if t <= _NEAR:
        return -1.0
    px, py, pz = t * dx - wx, t * dy - wy, t * dz - wz
    ux, uy, uz = sheets[k, 3], sheets[k, 4], sheets[k, 5]
    vx, vy, vz = sheets[k, 6], sheets[k, 7], sheets[k, 8]
    a = (px * ux + py * uy + pz * uz) / (ux * ux + uy * uy + uz * uz)
    b = (px * vx + py * vy + pz * vz) / (vx * vx + vy * vy + vz * vz)
    if a < 0.0 or a > 1.0 or b < 0.0 or b > 1.0:
        return -1.0
    return t


@inline
def face_reflectances(cosine, index):
    """What one face of glass gives back of light across and along the plane of incidence (s, p).

    cosine: of the angle to its normal, outside; index: of refraction. Source: Fresnel's formulas.
    """
    inside = math.sqrt(1.0 - (1.0 - cosine * cosine) / (index * index))
    s = (cosine - index * inside) / (cosine + index * inside)
    p = (index * cosine - inside) / (index * cosine + inside)
    return s * s, p * p


@inline
def panes_pass(face, panes):
    """What so many panes pass of one polarisation, of which each of their faces gives `face` back.

    Without absorption; bounces within and between panes are counted. Of one pane it is
    (1 − r)/(1 + r), and 1/T − 1 adds up over panes: (1 − r)/(1 + (2m − 1) r).
    """
    return (1.0 - face) / (1.0 + (2.0 * panes - 1.0) * face)


@inline
def glazing_passes(cosine, panes):
    """What so many panes one behind another pass of unpolarised light, at an angle's cosine.

    Light keeps its polarisation from pane to pane.
    """
    s, p = face_reflectances(cosine, _GLASS_INDEX)
    return 0.5 * (panes_pass(s, panes) + panes_pass(p, panes))


@inline
def straight_share(sheets, k, cosine, from_sky):
    """The share of light that passes sheet k unturned, at an angle's cosine to its normal.

    from_sky: whether the light's own source holds already what panes pass at right angles.
    """
    if sheets[k, 13] == PANE:
        at_angle = glazing_passes(cosine, sheets[k, 14])
        return (
            at_angle / glazing_passes(1.0, sheets[k, 14])
            if from_sky
            else (sheets[k, 12] * at_angle)
        )
    return sheets[k, 12]


@inline
def next_sheet(sheets, skip, far, ox, oy, oz, dx, dy, dz):
    """The nearest sheet on a ray beyond `skip` and before `far` lengths, and where; −1 for none."""
    best, nearest = far, -1
    for k in range(sheets.shape[0]):
        t = sheet_distance(sheets, k, ox, oy, oz, dx, dy, dz)
        if skip < t < best:
            best, nearest = t, k
    return nearest, best


@kernel
def dim_by_sheets(count, origins, directions, lengths, weights, sheets, from_sky):
    """Weaken the weights of shadow rays by every sheet that they pass."""
    for r in range(count):
        dx, dy, dz = directions[r, 0], directions[r, 1], directions[r, 2]
        size = math.sqrt(dx * dx + dy * dy + dz * dz)
        for k in range(sheets.shape[0]):
            t = sheet_distance(sheets, k, origins[r, 0], origins[r, 1], origins[r, 2], dx, dy, dz)
            if 0.0 < t < lengths[r]:
                along = dx * sheets[k, 9] + dy * sheets[k, 10] + dz * sheets[k, 11]
                weights[r] *= straight_share(sheets, k, abs(along) / size, from_sky)


@kernel
def land_on_sheets(
    count,
    origins,
    directions,
    slots,
    triangle,
    distance,
    normal,
    sheets,
    sheet_faces,
    seed,
    carry_light,
    reflected_origins,
    reflected_directions,
    reflected_slots,
):
    """End rays on sheets by chance, and send those that are reflected on their way.

    carry_light: whether rays are light shot from a source, of which glass and gels keep their
    part; a ray of the bounce that goes out through a window is lost anyway. A ray that ends on a
    face of a sheet gets −2 − face for its triangle. Of one that is reflected the rest is written
    to the last three arrays, and its own hit becomes SETTLED. Returns how many were reflected.
    """
    again = 0
    for r in range(count):
        ox, oy, oz = origins[r, 0], origins[r, 1], origins[r, 2]
        dx, dy, dz = directions[r, 0], directions[r, 1], directions[r, 2]
        far = distance[r] if triangle[r] >= 0 else 1e9
        skip = 0.0
        for step in range(_MOST_SHEETS):
            k, t = next_sheet(sheets, skip, far, ox, oy, oz, dx, dy, dz)
            if k < 0:
                break
            along = dx * sheets[k, 9] + dy * sheets[k, 10] + dz * sheets[k, 11]
            passes = straight_share(sheets, k, abs(along), False)
            word = hash32(np.uint64(slots[r]) * np.uint64(8) + np.uint64(step + 8191 * seed))
            u = np.int64(word) * 2.3283064365386963e-10
            back = sheets[k, 15]
            if sheets[k, 13] == PANE:
                clear = glazing_passes(abs(along), sheets[k, 14])
                back = 1.0 - clear
                passes = min(passes, clear) if carry_light else clear
            if u < passes:
                skip = t
                continue
            if sheets[k, 13] == FABRIC:
                side = 0 if along < 0.0 else 1
                sign = 1.0 if along < 0.0 else -1.0
                triangle[r], distance[r] = -2 - sheet_faces[k, side], t
                for axis in range(3):
                    normal[r, axis] = sign * sheets[k, 9 + axis]
                break
            if u >= 1.0 - back:
                for axis in range(3):
                    reflected_origins[again, axis] = origins[r, axis] + t * directions[r, axis]
                    reflected_directions[again, axis] = (
                        directions[r, axis] - 2.0 * along * sheets[k, 9 + axis]
                    )
                reflected_slots[again] = slots[r]
                again += 1
                triangle[r] = SETTLED
            else:
                triangle[r] = -1
            break
    return again


@kernel
def split_on_sheets(
    count,
    origins,
    directions,
    slots,
    triangle,
    distance,
    normal,
    sheets,
    sheet_faces,
    round_,
    weight,
    far_side,
    reflected_origins,
    reflected_directions,
    reflected_slots,
):
    """Deal a camera's rays out evenly over what a sheet passes, sends on and gives back.

    Neighbouring slots take turns, so that four rays of a pixel are split two and two; what each
    counts is multiplied into weight[slot]. far_side[slot] says that the sheet is seen by the light
    on its other side. Else as `land_on_sheets`.
    """
    again = 0
    for r in range(count):
        ox, oy, oz = origins[r, 0], origins[r, 1], origins[r, 2]
        dx, dy, dz = directions[r, 0], directions[r, 1], directions[r, 2]
        far = distance[r] if triangle[r] >= 0 else 1e9
        skip, slot = 0.0, slots[r]
        bits = slot >> (2 * round_)
        for _ in range(_MOST_SHEETS):
            k, t = next_sheet(sheets, skip, far, ox, oy, oz, dx, dy, dz)
            if k < 0:
                break
            along = dx * sheets[k, 9] + dy * sheets[k, 10] + dz * sheets[k, 11]
            passes = straight_share(sheets, k, abs(along), True)
            if sheets[k, 13] == FABRIC:
                if passes > 0.0 and bits & 1 == 0:
                    weight[slot] *= 2.0 * passes
                    bits >>= 1
                    skip = t
                    continue
                if passes > 0.0:
                    weight[slot] *= 2.0
                    bits >>= 1
                other = bits & 1
                weight[slot] *= 2.0
                far_side[slot] = other == 1
                side = other if along < 0.0 else 1 - other
                sign = 1.0 if side == 0 else -1.0
                triangle[r], distance[r] = -2 - sheet_faces[k, side], t
                for axis in range(3):
                    normal[r, axis] = sign * sheets[k, 9 + axis]
                break
            if sheets[k, 13] == PANE:
                if bits & 3 < 3:
                    weight[slot] *= 4.0 / 3.0 * passes
                    bits >>= 2
                    skip = t
                    continue
                weight[slot] *= 4.0 * (1.0 - glazing_passes(abs(along), sheets[k, 14]))
            else:
                weight[slot] *= sheets[k, 15]
            for axis in range(3):
                reflected_origins[again, axis] = origins[r, axis] + t * directions[r, axis]
                reflected_directions[again, axis] = (
                    directions[r, axis] - 2.0 * along * sheets[k, 9 + axis]
                )
            reflected_slots[again] = slot
            again += 1
            triangle[r] = SETTLED
            break
    return again
