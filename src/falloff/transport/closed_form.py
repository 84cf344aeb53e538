"""Closed forms of irradiance from simple sources of unit luminance, cut by the horizon.

All return E/L in steradians: multiply by a uniform luminance in cd/m² to get lux.
"""

from __future__ import annotations

import math

import numpy as np

from falloff.transport.compiled import inline, kernel


@inline
def _angle_of(y, x):
    """atan2(y, x) for y > 0, within 2e-8 rad; a third of the library's time.

    Source: M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", 4.4.49.
    """
    wide = abs(x)
    a = min(wide, y) / max(wide, y)
    s = a * a
    series = -0.0161657367 + s * 0.0028662257
    series = -0.0752896400 + s * (0.0429096138 + s * series)
    series = -0.1420889944 + s * (0.1065626393 + s * series)
    angle = a * (1.0 + s * (-0.3333314528 + s * (0.1999355085 + s * series)))
    angle = 1.5707963267948966 - angle if y > wide else angle
    return angle if x >= 0.0 else 3.141592653589793 - angle


@inline
def _edge(ax, ay, az, bx, by, bz, nx, ny, nz):
    """Angle between two directions times the normal part of their unit cross product."""
    gx, gy, gz = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    sine2 = gx * gx + gy * gy + gz * gz
    sine = math.sqrt(sine2 + 1e-30)
    angle = _angle_of(sine, ax * bx + ay * by + az * bz)
    return angle * (gx * nx + gy * ny + gz * nz) / sine


@kernel
def quad_irradiance(px, py, pz, nx, ny, nz, quad):
    """Irradiance over luminance at a point with unit normal, from a parallelogram.

    quad: (9+) floats, a corner and two edge vectors in metres. It counts as seen from either side.
    The part under the receiver's horizon is cut off exactly. Source: J. H. Lambert's contour sum,
    E = ½ L Σ Θ_i (Γ_i · n), as in M. F. Modest, "Radiative Heat Transfer", chapter 4.
    """
    ax, ay, az = quad[0] - px, quad[1] - py, quad[2] - pz
    bx, by, bz = ax + quad[3], ay + quad[4], az + quad[5]
    cx, cy, cz = bx + quad[6], by + quad[7], bz + quad[8]
    dx, dy, dz = ax + quad[6], ay + quad[7], az + quad[8]
    low_a = min(ax * nx + ay * ny + az * nz, bx * nx + by * ny + bz * nz)
    low_c = min(cx * nx + cy * ny + cz * nz, dx * nx + dy * ny + dz * nz)
    if low_a >= 0.0 and low_c >= 0.0:  # all of it stands above the horizon
        return 0.5 * abs(
            _edge(ax, ay, az, bx, by, bz, nx, ny, nz)
            + _edge(bx, by, bz, cx, cy, cz, nx, ny, nz)
            + _edge(cx, cy, cz, dx, dy, dz, nx, ny, nz)
            + _edge(dx, dy, dz, ax, ay, az, nx, ny, nz)
        )
    return outline_irradiance(px, py, pz, nx, ny, nz, quad, np.int64(0), quad)


@kernel
def outline_irradiance(px, py, pz, nx, ny, nz, frame, corners, outline):
    """The same from a convex outline, cut by the horizon wherever that crosses it.

    frame: (9+) floats, a corner and two edge vectors in metres; outline: (2 corners +) shares of
    the edges at which each corner lies; with no corners it is the parallelogram of the edges.
    """
    total = 0.0
    above = False
    ex, ey, ez, sx, sy, sz = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0  # where the outline sets and rises
    crossed = False
    count = corners if corners > 0 else 4
    ax, ay, az, ah = 0.0, 0.0, 0.0, 0.0
    bx, by, bz, bh = 0.0, 0.0, 0.0, 0.0
    for k in range(count + 2):  # corners, the first one again, and the edge along the horizon
        if k > count:
            if not crossed:
                break
            ux, uy, uz, vx, vy, vz = ex, ey, ez, sx, sy, sz
        else:
            m = k if k < count else 0
            if corners > 0:
                s, t = outline[2 * m], outline[2 * m + 1]
            else:
                s, t = 1.0 if m == 1 or m == 2 else 0.0, 1.0 if m >= 2 else 0.0
            ax, ay, az, ah = bx, by, bz, bh
            bx = frame[0] + s * frame[3] + t * frame[6] - px
            by = frame[1] + s * frame[4] + t * frame[7] - py
            bz = frame[2] + s * frame[5] + t * frame[8] - pz
            bh = bx * nx + by * ny + bz * nz
            if k == 0 or (ah < 0.0 and bh < 0.0):
                continue
            above = True
            ux, uy, uz, vx, vy, vz = ax, ay, az, bx, by, bz
            if ah < 0.0 or bh < 0.0:
                f = ah / (ah - bh)
                hx, hy, hz = ax + f * (bx - ax), ay + f * (by - ay), az + f * (bz - az)
                crossed = True
                if ah < 0.0:
                    ux, uy, uz, sx, sy, sz = hx, hy, hz, hx, hy, hz
                else:
                    vx, vy, vz, ex, ey, ez = hx, hy, hz, hx, hy, hz
        total += _edge(ux, uy, uz, vx, vy, vz, nx, ny, nz)
    return 0.5 * abs(total) if above else 0.0


@kernel
def sphere_irradiance(px, py, pz, nx, ny, nz, sphere):
    """Irradiance over luminance at a point with unit normal, from a sphere, cut by the horizon.

    sphere: (4+) floats, centre and radius in metres.
    Source: J. M. Snyder, "Area Light Sources for Real-Time Graphics", Microsoft Research
    MSR-TR-96-11, 1996. Fully above the horizon it is π (r/d)² cosθ at any distance.
    """
    x, y, z = sphere[0] - px, sphere[1] - py, sphere[2] - pz
    d2 = x * x + y * y + z * z
    h2 = d2 / (sphere[3] * sphere[3])
    if h2 <= 1.0:
        return math.pi
    cos_theta = (x * nx + y * ny + z * nz) / math.sqrt(d2)
    if cos_theta * cos_theta * h2 >= 1.0:  # wholly above or below
        return max(0.0, math.pi * cos_theta / h2)
    sin_theta = math.sqrt(max(1e-18, 1.0 - cos_theta * cos_theta))
    root = math.sqrt(h2 - 1.0)
    yy = -root * cos_theta / sin_theta
    yy = min(1.0, max(-1.0, yy))
    cut = sin_theta * math.sqrt(max(0.0, 1.0 - yy * yy))
    return max(0.0, (cos_theta * math.acos(yy) - root * cut) / h2 + math.atan(cut / root))
