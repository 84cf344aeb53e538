"""Kernels of sheen: what a smooth coat gives back of direct light towards an eye."""

from __future__ import annotations

import math

from falloff.transport.compiled import inline, kernel


@inline
def coat_lobe(f0, alpha, facing_light, facing_eye, facing_half, half_light):
    """Luminance over illuminance (1/sr) of a coat's lobe, all cosines above zero.

    f0: reflectance at right angles; alpha: roughness. Source: B. Walter et al., "Microfacet Models
    for Refraction through Rough Surfaces", EGSR 2007 (its GGX), with E. Heitz's joint masking
    (JCGT 3(2), 2014) and C. Schlick's Fresnel term (1994).
    """
    a2 = alpha * alpha
    spread = facing_half * facing_half * (a2 - 1.0) + 1.0
    density = a2 / (math.pi * spread * spread)
    light = facing_eye * math.sqrt(facing_light * facing_light * (1.0 - a2) + a2)
    eye = facing_light * math.sqrt(facing_eye * facing_eye * (1.0 - a2) + a2)
    fresnel = f0 + (1.0 - f0) * (1.0 - half_light) ** 5
    return 0.5 * density * fresnel / max(1e-9, light + eye)


@kernel
def sheen_of_rays(
    count, directions, owners, weights, points, normals, material, coats, eye, seen_weights
):
    """seen_weights[r] = weight · lobe towards the eye, for each shadow ray of a glossy point.

    coats: (m, 2) reflectance at right angles and roughness of each material, the first 0 for a
    matte one; eye: (3,). Returns whether any is glossy.
    """
    any_ = False
    for r in range(count):
        i = owners[r]
        seen_weights[r] = 0.0
        f0 = coats[material[i], 0]
        if f0 <= 0.0:
            continue
        nx, ny, nz = normals[i, 0], normals[i, 1], normals[i, 2]
        ex, ey, ez = eye[0] - points[i, 0], eye[1] - points[i, 1], eye[2] - points[i, 2]
        lx, ly, lz = directions[r, 0], directions[r, 1], directions[r, 2]
        scale = 1.0 / math.sqrt(ex * ex + ey * ey + ez * ez)
        ex, ey, ez = ex * scale, ey * scale, ez * scale
        scale = 1.0 / math.sqrt(lx * lx + ly * ly + lz * lz)
        lx, ly, lz = lx * scale, ly * scale, lz * scale
        facing_light = nx * lx + ny * ly + nz * lz
        facing_eye = nx * ex + ny * ey + nz * ez
        if facing_light <= 1e-4 or facing_eye <= 1e-4:
            continue
        hx, hy, hz = ex + lx, ey + ly, ez + lz
        scale = 1.0 / math.sqrt(max(1e-12, hx * hx + hy * hy + hz * hz))
        facing_half = (nx * hx + ny * hy + nz * hz) * scale
        half_light = (lx * hx + ly * hy + lz * hz) * scale
        seen_weights[r] = weights[r] * coat_lobe(
            f0, coats[material[i], 1], facing_light, facing_eye, facing_half, half_light
        )
        any_ = True
    return any_
