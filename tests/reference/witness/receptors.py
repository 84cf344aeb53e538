"""The twelve flat receptors and how the renderer reads them.

A receptor is read off a tiny white square (2 mm, reflectance 1) that stands 1 mm off its surface:
its radiance seen from straight above, times pi, is the irradiance at its centre. That way
the renderer's own light sampling serves the first hit too, and a point source is seen directly
with its visibility, which an irradiance meter does not do. A second run stops after
the first hit and gives the direct part alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray
from tests.reference.witness.room import BALL_CENTRE, BALL_RADIUS, room_scene
from tests.reference.witness.surfaces import film, rectangle

OFFSET_M = 0.001
HALF_SQUARE_M = 0.001
EYE_ABOVE_M = 0.02
EYE_FIELD_DEG = 1.0  # sees the middle 0.35 mm of the square
BATCHES_ACROSS = 64  # a film of 64 x 64 pixels that all see the same point: 4096 estimates
RR_DEPTH = 5  # unbiased at any depth; 5 costs a third of 20 for the same error here


@dataclass(frozen=True, slots=True)
class Receptor:
    """One flat receptor: point on its surface and outward unit normal, metres."""

    name: str
    surface_point: tuple[float, float, float]
    normal: tuple[float, float, float]

    def point(self) -> NDArray[np.float64]:
        """Where light is read: 1 mm off the surface."""
        return np.array(self.surface_point) + OFFSET_M * np.array(self.normal)


@dataclass(frozen=True, slots=True)
class Estimate:
    """Irradiance of the three channels, lx, its standard error and the number of samples."""

    mean: NDArray[np.float64]
    standard_error: NDArray[np.float64]
    samples: int


def receptors() -> tuple[Receptor, ...]:
    """All twelve, in the order in which they are stored."""
    flat = (
        Receptor("floor_under_window", (2.5, 4.2, 0.0), (0, 0, 1)),
        Receptor("floor_left", (0.8, 3.5, 0.0), (0, 0, 1)),
        Receptor("table", (2.5, 2.0, 0.75), (0, 0, 1)),
        Receptor("ceiling", (3.0, 2.5, 2.7), (0, 0, -1)),
        Receptor("wall_left", (0.0, 3.5, 1.5), (1, 0, 0)),
        Receptor("wall_right", (6.0, 1.5, 1.5), (-1, 0, 0)),
        Receptor("wall_near", (3.0, 0.0, 1.5), (0, 1, 0)),
        Receptor("wall_far", (4.5, 5.0, 1.5), (0, -1, 0)),
    )
    return flat + tuple(
        _on_ball(name, direction)
        for name, direction in (
            ("ball_front", (0.5, -0.8, 0.33)),
            ("ball_left", (-0.9, -0.4, 0.15)),
            ("ball_right", (0.9, 0.35, 0.25)),
            ("ball_top", (0.0, 0.0, 1.0)),
        )
    )


def receptor_scene(receptor: Receptor, lit: str) -> Any:
    """The room with one source lit and one receptor's white square in it."""
    return mi.load_dict({**room_scene(lit), "receptor": white_square(receptor)})


def read(
    scene: Any, receptor: Receptor, *, samples_per_batch: int, direct_only: bool, seed: int
) -> Estimate:
    """Irradiance at a receptor whose square is in the scene; the error is that of 4096 batches."""
    integrator = mi.load_dict(
        {"type": "path", "max_depth": 2 if direct_only else -1, "rr_depth": RR_DEPTH}
    )
    sensor = mi.load_dict(_eye(receptor, samples_per_batch))
    picture = mi.render(
        scene, sensor=sensor, integrator=integrator, seed=mi.UInt32(seed), spp=samples_per_batch
    )
    batches = math.pi * np.array(picture, dtype=np.float64).reshape(-1, 3)
    return Estimate(
        mean=batches.mean(axis=0),
        standard_error=batches.std(axis=0, ddof=1) / math.sqrt(len(batches)),
        samples=len(batches) * samples_per_batch,
    )


def pooled(first: Estimate, second: Estimate) -> Estimate:
    """Two independent estimates as one, weighted by their samples."""
    total = first.samples + second.samples
    a, b = first.samples / total, second.samples / total
    return Estimate(
        mean=a * first.mean + b * second.mean,
        standard_error=np.hypot(a * first.standard_error, b * second.standard_error),
        samples=total,
    )


def _on_ball(name: str, direction: tuple[float, float, float]) -> Receptor:
    normal = np.array(direction) / np.linalg.norm(direction)
    point = np.array(BALL_CENTRE) + BALL_RADIUS * normal
    return Receptor(name, tuple(point.tolist()), tuple(normal.tolist()))


def white_square(receptor: Receptor) -> dict[str, Any]:
    """The square whose radiance is read."""
    normal = np.array(receptor.normal, float)
    aside = np.eye(3)[int(np.argmin(np.abs(normal)))]
    u = np.cross(aside, normal)
    u *= HALF_SQUARE_M / np.linalg.norm(u)
    return {
        **rectangle(receptor.point(), u, np.cross(normal, u)),
        "bsdf": {"type": "diffuse", "reflectance": {"type": "rgb", "value": [1.0] * 3}},
    }


def _eye(receptor: Receptor, samples_per_batch: int) -> dict[str, Any]:
    normal = np.array(receptor.normal, float)
    point = receptor.point()
    return {
        "type": "perspective",
        "fov": EYE_FIELD_DEG,
        "near_clip": EYE_ABOVE_M / 10,
        "to_world": mi.ScalarTransform4f().look_at(
            origin=(point + EYE_ABOVE_M * normal).tolist(),
            target=point.tolist(),
            up=np.eye(3)[int(np.argmin(np.abs(normal)))].tolist(),
        ),
        "film": film(BATCHES_ACROSS, BATCHES_ACROSS),
        "sampler": {"type": "independent", "sample_count": samples_per_batch},
    }
