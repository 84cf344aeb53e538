"""Sample points: one Owen-scrambled (0,2) sequence, and the maps from the unit square.

The sequence is the first two Sobol dimensions. Neighbouring pixels take neighbouring stretches of
it (their rank along the Morton curve), which measured half the error of independent points at
equal cost. Scrambling follows B. Burley, "Practical Hash-based Owen Scrambling", Journal of
Computer Graphics Techniques 9(4), 2020; the hash is S. Laine and T. Karras's permutation with the
constants of N. Vegdahl's revision. All integers are masked to 32 bits by hand: the compiler widens
them to 64, and an unmasked hash leaves direct light right and bounced light wrong by a stop.
"""

from __future__ import annotations

import math

import numpy as np

from falloff.transport.compiled import inline, kernel
from falloff.types import Uint32Array

_MASK = np.uint64(0xFFFFFFFF)


@inline
def _reverse_bits(x):
    x = ((x >> np.uint64(1)) & np.uint64(0x55555555)) | (
        (x & np.uint64(0x55555555)) << np.uint64(1)
    )
    x = ((x >> np.uint64(2)) & np.uint64(0x33333333)) | (
        (x & np.uint64(0x33333333)) << np.uint64(2)
    )
    x = ((x >> np.uint64(4)) & np.uint64(0x0F0F0F0F)) | (
        (x & np.uint64(0x0F0F0F0F)) << np.uint64(4)
    )
    x = ((x >> np.uint64(8)) & np.uint64(0x00FF00FF)) | (
        (x & np.uint64(0x00FF00FF)) << np.uint64(8)
    )
    return ((x >> np.uint64(16)) | (x << np.uint64(16))) & _MASK


@inline
def _permute(x, seed):
    """Each bit is flipped by a hash of the bits below it."""
    # No masks in between: low bits of sums and products never depend on higher ones.
    x += seed
    x ^= x * np.uint64(0x6C50B47C)
    x ^= x * np.uint64(0xB82F1E52)
    x ^= x * np.uint64(0xC7AFE638)
    x ^= x * np.uint64(0x8D22F6E6)
    x &= _MASK
    return x


@inline
def hash32(x):
    """A 32-bit integer hash (finaliser of MurmurHash3), for seeds."""
    x = x & _MASK
    x ^= x >> np.uint64(16)
    x = (x * np.uint64(0x85EBCA6B)) & _MASK
    x ^= x >> np.uint64(13)
    x = (x * np.uint64(0xC2B2AE35)) & _MASK
    x ^= x >> np.uint64(16)
    return x


@kernel
def scrambled_point(index, seed):
    """Point `index` of the scrambled (0,2) sequence of `seed`, as two floats in [0, 1).

    Aligned blocks of 2^k indices stay stratified. Different seeds also reorder the blocks, so two
    dimension pairs of one ray do not march together.
    """
    seed64 = hash32(np.uint64(seed) * np.uint64(0x9E3779B9) + np.uint64(1))
    # Shuffle the index: bits are decided by the bits above them, so blocks map to blocks.
    i = _reverse_bits(_permute(_reverse_bits(np.uint64(index) & _MASK), seed64))
    # Kept bit-reversed, the first dimension is the index itself, and the second is the index read
    # as a polynomial over GF(2) with x + 1 put for x, which takes five steps.
    j = i ^ ((i >> np.uint64(16)) & np.uint64(0x0000FFFF))
    j ^= (j >> np.uint64(8)) & np.uint64(0x00FF00FF)
    j ^= (j >> np.uint64(4)) & np.uint64(0x0F0F0F0F)
    j ^= (j >> np.uint64(2)) & np.uint64(0x33333333)
    j ^= (j >> np.uint64(1)) & np.uint64(0x55555555)
    x = _reverse_bits(_permute(i, hash32(seed64 + np.uint64(0x68BC21EB))))
    y = _reverse_bits(_permute(j, hash32(seed64 + np.uint64(0x02E5BE93))))
    scale = 2.3283064365386963e-10  # 2^-32
    # Signed, since turning unsigned integers to floats is slow.
    return min(np.int64(x) * scale, 0.99999994), min(np.int64(y) * scale, 0.99999994)


@inline
def frame_around(nx, ny, nz):
    """Two unit vectors that make a right-handed frame with a unit normal.

    T. Duff et al., "Building an Orthonormal Basis, Revisited", JCGT 6(1), 2017.
    """
    sign = 1.0 if nz >= 0.0 else -1.0
    a = -1.0 / (sign + nz)
    b = nx * ny * a
    return (
        1.0 + sign * nx * nx * a,
        sign * b,
        -sign * nx,
        b,
        sign + ny * ny * a,
        -ny,
    )


@inline
def _sine_cosine(x):
    """Sine and cosine for |x| ≤ π/4 by their series; the error is under 4e-9."""
    q = x * x
    sine = x * (1.0 + q * (-1.0 / 6.0 + q * (1.0 / 120.0 + q * (-1.0 / 5040.0 + q / 362880.0))))
    cosine = 1.0 + q * (
        -0.5 + q * (1.0 / 24.0 + q * (-1.0 / 720.0 + q * (1.0 / 40320.0 - q / 3628800.0)))
    )
    return sine, cosine


@inline
def cosine_direction(nx, ny, nz, u1, u2):
    """A direction about a unit normal with density cosθ/π, by the concentric disc map."""
    a = 2.0 * u1 - 1.0
    b = 2.0 * u2 - 1.0
    if abs(a) > abs(b):
        phi = 0.7853981633974483 * b / a
        sine, cosine = _sine_cosine(phi)
        px, py = a * cosine, a * sine
    else:
        phi = 0.7853981633974483 * a / (b if b != 0.0 else 1.0)
        sine, cosine = _sine_cosine(phi)
        px, py = b * sine, b * cosine
    pz = math.sqrt(max(1e-12, 1.0 - px * px - py * py))
    tx, ty, tz, bx, by, bz = frame_around(nx, ny, nz)
    return (
        px * tx + py * bx + pz * nx,
        px * ty + py * by + pz * ny,
        px * tz + py * bz + pz * nz,
    )


@inline
def cardioid_direction(nx, ny, nz, u1, u2):
    """A direction over the whole sphere with density (1 + cosθ)/4π."""
    cos_theta = 2.0 * math.sqrt(u1) - 1.0
    sin_theta = math.sqrt(max(0.0, 1.0 - cos_theta * cos_theta))
    phi = 6.283185307179586 * u2
    px, py = sin_theta * math.cos(phi), sin_theta * math.sin(phi)
    tx, ty, tz, bx, by, bz = frame_around(nx, ny, nz)
    return (
        px * tx + py * bx + cos_theta * nx,
        px * ty + py * by + cos_theta * ny,
        px * tz + py * bz + cos_theta * nz,
    )


def morton_order(width: int, height: int) -> Uint32Array:
    """Pixel indices (row · width + column) along the Morton curve; (width · height,) uint32."""
    y, x = np.divmod(np.arange(width * height, dtype=np.uint32), np.uint32(width))
    code = np.zeros(width * height, np.uint64)
    for bit in range(16):
        code |= ((x.astype(np.uint64) >> bit) & 1) << (2 * bit)
        code |= ((y.astype(np.uint64) >> bit) & 1) << (2 * bit + 1)
    return np.argsort(code, kind="stable").astype(np.uint32)
