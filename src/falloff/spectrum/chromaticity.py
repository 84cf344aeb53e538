"""Chromaticities in three diagrams: CIE 1931 x, y; CIE 1960 u, v; CIE 1976 u′, v′."""

from __future__ import annotations

from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault

Floats = NDArray[np.float64]


def uv_from_xy(xy: ArrayLike) -> Floats:
    """CIE 1960 u, v (..., 2) of CIE 1931 x, y (..., 2). Source: CIE 015:2018, annex."""
    values = np.asarray(xy, dtype=np.float64)
    x, y = values[..., 0], values[..., 1]
    return np.stack([4.0 * x, 6.0 * y], axis=-1) / _scale(-2.0 * x + 12.0 * y + 3.0)


def xy_from_uv(uv: ArrayLike) -> Floats:
    """CIE 1931 x, y (..., 2) of CIE 1960 u, v (..., 2): the inverse of `uv_from_xy`."""
    values = np.asarray(uv, dtype=np.float64)
    u, v = values[..., 0], values[..., 1]
    return np.stack([3.0 * u, 2.0 * v], axis=-1) / _scale(2.0 * u - 8.0 * v + 4.0)


def uv_1976_from_xy(xy: ArrayLike) -> Floats:
    """CIE 1976 u′, v′ (..., 2) of CIE 1931 x, y (..., 2): u′ = u, v′ = 1.5 v (CIE 015:2018)."""
    return uv_from_xy(xy) * (1.0, 1.5)


def xy_from_uv_1976(uv: ArrayLike) -> Floats:
    """CIE 1931 x, y (..., 2) of CIE 1976 u′, v′ (..., 2)."""
    return xy_from_uv(np.asarray(uv, dtype=np.float64) / (1.0, 1.5))


def xy_from_xyz(xyz: ArrayLike) -> Floats:
    """CIE 1931 x, y (..., 2) of tristimulus values (..., 3); FalloffError where there is no light.

    Source: CIE 015:2018, definition of x and y.
    """
    values = np.asarray(xyz, dtype=np.float64)
    total = values.sum(axis=-1, keepdims=True)
    if not np.all(np.isfinite(values)) or not np.all(total > 0.0):
        raise FalloffError(
            Fault(
                "where there is no light there is no colour",
                where="tristimulus values",
                expected="a sum of X, Y and Z above nought",
                found=str(values.tolist()),
            )
        )
    return cast("Floats", values[..., :2] / total)


def checked_xy(xy: ArrayLike) -> Floats:
    """One chromaticity (2,) that a light can have: x, y ≥ 0, y above 0, x + y at most 1."""
    values = np.asarray(xy, dtype=np.float64)
    good = values.shape == (2,) and bool(np.all(np.isfinite(values)))
    if not (good and values[0] >= 0.0 and values[1] > 0.0 and values.sum() <= 1.0):
        raise FalloffError(
            Fault(
                "no light has this chromaticity",
                where="x and y",
                expected="two numbers, x from 0, y above 0, together at most 1",
                found=str(values.tolist()),
                fix="give CIE 1931 x and y, such as 0.3127 and 0.3290 for D65",
            )
        )
    return values


def _scale(values: Floats) -> Floats:
    return np.asarray(values)[..., np.newaxis]
