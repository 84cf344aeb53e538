"""Flux of a photometric file from its bytes, by other means than the package's.

Nothing here is shared with the readers: numbers are taken by splitting, planes are weighed by how
often symmetry repeats them, and the polar integral is Gauss-Legendre. Valid only for files that the
strict readers accept; what it gives for others means nothing.
"""

from __future__ import annotations

import re

import numpy as np

from falloff.types import Float64Array

NODES, WEIGHTS = np.polynomial.legendre.leggauss(8)
NEW = ("IESNA:LM-63-1995", "IESNA:LM-63-2002", "IES:LM-63-2019")
GAP = re.compile(r"[ \t\f\v\r\n,]+")


def text_lines(content: bytes) -> list[str]:
    """Lines, in one-byte letters: numbers are the same in all encodings that the tests write."""
    text = content.decode("latin-1").removeprefix("\xef\xbb\xbf")
    return re.split(r"\r\n|\r|\n", text.rstrip("\0\x1a \t\r\n\f\v"))


def polar(angle_deg: Float64Array, values: Float64Array, shift_deg: float) -> Float64Array:
    """∫ I sin(γ + shift) dγ of each row of values, (p,), linear between the angles."""
    low, high = np.radians(angle_deg[:-1]), np.radians(angle_deg[1:])
    half = (high - low)[:, None] / 2.0
    angle = (high + low)[:, None] / 2.0 + half * NODES
    share = (NODES + 1.0) / 2.0
    between = values[:, :-1, None] * (1.0 - share) + values[:, 1:, None] * share
    weight = np.sin(angle + np.radians(shift_deg)) * half * WEIGHTS
    return np.asarray((between * weight).sum(axis=(1, 2)), np.float64)


def round_the_axis(azimuth_deg: Float64Array, planes: Float64Array, whole_deg: float) -> float:
    """Trapezoids over azimuth, scaled up to the whole turn by how much is stored."""
    if planes.size == 1:
        return float(2.0 * np.pi * planes[0])
    if whole_deg == 360.0 and azimuth_deg[-1] < 360.0:
        azimuth_deg, planes = np.append(azimuth_deg, 360.0), np.append(planes, planes[0])
    part = float(np.trapezoid(planes, np.radians(azimuth_deg)))
    return part * 360.0 / whole_deg


def lm63_flux_lm(content: bytes) -> float:
    """Lumens of an LM-63 file by its own numbers."""
    lines = text_lines(content)
    at = next(
        k for k, line in enumerate(lines) if re.match(r"TILT\s*=", line.strip(), re.IGNORECASE)
    )
    new = any(line.strip().upper() in NEW for line in lines[:at])
    words = [word for word in GAP.split("\n".join(lines[at + 1 :])) if word]
    if lines[at].split("=")[1].strip().upper() == "INCLUDE":
        words = words[2 + 2 * int(float(words[1])) :]
    _, _, multiplier, nv, nh, kind, *_ = map(float, words[:7])
    ballast, x = float(words[10]), float(words[11])
    v = np.array([float(word) for word in words[13 : 13 + int(nv)]])
    rest = words[13 + int(nv) :]
    h = np.array([float(word) for word in rest[: int(nh)]])
    values = np.array([float(word) for word in rest[int(nh) : int(nh) + int(nv) * int(nh)]])
    values = values.reshape(int(nh), int(nv)) * multiplier * ballast
    if not new and not any(
        re.fullmatch(r"IES.*(95|02|19)", s.strip(), re.IGNORECASE) for s in lines[:1]
    ):
        values = values * x
    if kind == 1.0:
        span = float(h[-1] - h[0])
        return round_the_axis(h, polar(v, values, 0.0), span if span in {90.0, 180.0} else 360.0)
    twice = (2.0 if h[0] == 0.0 else 1.0) * (2.0 if v[0] == 0.0 else 1.0)
    if kind == 3.0:
        return twice * float(np.trapezoid(polar(v, values, 90.0), np.radians(h)))
    return twice * float(np.trapezoid(polar(h, values.T, 90.0), np.radians(v)))


def eulumdat_flux_lm(content: bytes, lumens: float) -> float:
    """Lumens of a EULUMDAT file by its own numbers, of a lamp set of so many lumens."""
    lines = text_lines(content)

    def number(k: int) -> float:
        return float(lines[k].strip().replace(",", "."))

    symmetry, listed, angles, sets = (int(number(k)) for k in (2, 3, 5, 25))
    at = 26 + 6 * sets + 10
    azimuth = np.array([number(at + k) for k in range(listed)])
    v = np.array([number(at + listed + k) for k in range(angles)])
    stored = {0: listed, 1: 1, 4: listed // 4 + 1}.get(symmetry, listed // 2 + 1)
    at += listed + angles
    values = np.array([number(at + k) for k in range(stored * angles)]).reshape(stored, angles)
    planes = polar(v, values * number(23) * lumens / 1000.0, 0.0)
    if symmetry == 3:
        azimuth = np.roll(azimuth, listed - 3 * listed // 4)
        azimuth = np.where(azimuth >= 270.0, azimuth - 360.0, azimuth)
    whole = {2: 180.0, 3: 180.0, 4: 90.0}.get(symmetry, 360.0)
    return round_the_axis(azimuth[:stored], planes, whole)
