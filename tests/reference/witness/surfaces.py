"""Flat pieces, matte coats and the film, in the renderer's own scene language."""

from __future__ import annotations

from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

Scene = dict[str, Any]
Vector = tuple[float, float, float]


def film(width: int, height: int) -> Scene:
    """Linear float film, three channels, box filter: a pixel is the mean of its own samples."""
    return {
        "type": "hdrfilm",
        "width": width,
        "height": height,
        "pixel_format": "rgb",
        "component_format": "float32",
        "rfilter": {"type": "box"},
    }


def matte(reflectance: float | Vector) -> Scene:
    """Matte surface, both sides alike, per channel or grey."""
    rgb = [reflectance] * 3 if isinstance(reflectance, float) else list(reflectance)
    return {
        "type": "twosided",
        "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": rgb}},
    }


def rectangle(centre: Any, half_u: Any, half_v: Any) -> Scene:
    """Rectangle with edges 2 half_u and 2 half_v; its normal is half_u x half_v."""
    u, v = np.asarray(half_u, float), np.asarray(half_v, float)
    normal = np.cross(u, v)
    matrix: NDArray[np.float64] = np.eye(4)
    matrix[:3, 0], matrix[:3, 1] = u, v
    matrix[:3, 2] = normal / np.linalg.norm(normal)
    matrix[:3, 3] = centre
    return {"type": "rectangle", "to_world": mi.ScalarTransform4f(matrix.tolist())}
