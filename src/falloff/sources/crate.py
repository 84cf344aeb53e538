"""Egg crates: a grid of black cells before an even face, and what it keeps and cuts off."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass

import numpy as np

from falloff.errors import Fault, GeometryError
from falloff.units import Radian


@dataclass(frozen=True, slots=True)
class EggCrate:
    """Depth of a crate's cells over their width, across and up the face; 0 where there is none."""

    across: float
    upward: float

    def __post_init__(self) -> None:
        for ratio in (self.across, self.upward):
            if not (math.isfinite(ratio) and ratio >= 0.0):
                raise GeometryError(
                    Fault(
                        what="an egg crate cannot be that deep",
                        expected="depth over width of a cell, 0 or more",
                        found=f"{ratio:g}",
                        fix="1 for cells as deep as wide; 0 without a crate",
                    )
                )


@functools.lru_cache(maxsize=256)
def crate_kept_share(crate: EggCrate) -> float:
    """Share of a matte face's light that leaves an egg crate with black cells, 0 to 1.

    By quadrature of (1 − a |tan θu|)⁺ (1 − b |tan θv|)⁺ over a matte face's light; that is the
    view factor between the ends of a cell.
    """
    node, weight = np.polynomial.legendre.leggauss(256)
    half = 0.5 * (node + 1.0)
    u_most = math.atan2(1.0, crate.across)
    v_most = math.atan2(1.0, crate.upward)
    u, v = np.tan(u_most * half)[:, None], np.tan(v_most * half)[None, :]
    steps = (0.5 * u_most * weight * (1.0 + u[:, 0] ** 2))[:, None] * (
        0.5 * v_most * weight * (1.0 + v[0] ** 2)
    )[None, :]
    # With slopes u and v, cosθ dΩ is du dv / (1 + u² + v²)²; four quarters alike.
    free = (1.0 - crate.across * u) * (1.0 - crate.upward * v)
    return float(4.0 / math.pi * (steps * free / (1.0 + u * u + v * v) ** 2).sum())


def crate_cutoff_rad(crate: EggCrate) -> tuple[Radian, Radian]:
    """Angles from the face's normal, across and upward, past which nothing of it is seen."""
    return (
        Radian(math.atan2(1.0, crate.across)),
        Radian(math.atan2(1.0, crate.upward)),
    )
