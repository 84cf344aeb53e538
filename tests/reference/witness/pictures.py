"""Block means of the camera's picture, and what each block sees.

A picture is rendered in passes with seeds of their own. Kept are, for each block of
6 x 6 pixels, the mean over passes and the variance of that mean as the passes scatter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import mitsuba as mi
import numpy as np
from numpy.typing import NDArray
from tests.reference.witness.receptors import RR_DEPTH
from tests.reference.witness.room import CAMERA, camera, room_scene
from tests.reference.witness.sources import SOURCES

BLOCK = 6
RAYS_ACROSS_PIXEL = 3
RR_DEPTH_SOLID = 16
# The renderer's "multijitter" left these pictures 0.05 to 0.3 % dark: on the left wall under BEAM
# by 11 standard errors, against independent samples and the renderer's own particle tracer.
SAMPLER = "independent"
# Black as reflectors; each is a light in one layer only.
EMITTER_OF = {"WINDOW": "sky", "SOFTBOX": "soft_box_front", "BEAM": "", "GLOBE": "globe"}


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle of blocks rendered for itself, and the blocks whose means it serves."""

    name: str
    rows: slice
    columns: slice
    serves: NDArray[np.bool_]  # (rows, columns) of the whole picture
    rr_depth: int


@dataclass(frozen=True, slots=True)
class Blocks:
    """Mean and variance of the mean, (rows, columns, 3), and passes of each block."""

    mean: NDArray[np.float64]
    variance: NDArray[np.float64]
    passes: NDArray[np.int64]

    def with_pass(self, new: NDArray[np.float64], region: Region) -> Blocks:
        """The same after one more pass over a region (Welford's update)."""
        mean, variance, passes = self.mean.copy(), self.variance.copy(), self.passes.copy()
        at = region.serves
        whole = np.zeros_like(mean)
        whole[region.rows, region.columns] = new
        before, n = passes[at][:, None], passes[at][:, None] + 1
        step = whole[at] - mean[at]
        mean[at] += step / n
        squares = variance[at] * before * np.maximum(before - 1, 0)
        squares += step * (whole[at] - mean[at])
        variance[at] = squares / (n * np.maximum(n - 1, 1))
        passes[at] += 1
        return Blocks(mean, variance, passes)

    def error_stop(self, judged: NDArray[np.bool_]) -> NDArray[np.float64]:
        """Standard error of the judged blocks in stops, first-channel luminance."""
        mean, error = self.mean[judged][:, 0], np.sqrt(self.variance[judged][:, 0])
        return np.asarray(error / np.maximum(mean, 1e-12) / math.log(2.0))


def empty() -> Blocks:
    """No pass yet."""
    shape = (CAMERA.height // BLOCK, CAMERA.width // BLOCK)
    return Blocks(np.zeros((*shape, 3)), np.zeros((*shape, 3)), np.zeros(shape, dtype=np.int64))


def regions(integrator: str, solid_share: NDArray[np.float64]) -> tuple[Region, ...]:
    """The picture, and apart from it the rectangle that holds the dark solid.

    A path that begins on a surface of reflectance 0.03 is ended at RR_DEPTH nearly always, and
    counts thirtyfold if not; so there it is let run longer. Particles do not need this.
    """
    rows, columns = solid_share.shape
    everything = np.ones((rows, columns), dtype=np.bool_)
    whole = (slice(0, rows), slice(0, columns))
    if integrator != "path":
        return (Region("whole", *whole, everything, RR_DEPTH),)
    r, c = (np.flatnonzero(solid_share.any(axis=axis)) for axis in (1, 0))
    about = (slice(int(r[0]), int(r[-1]) + 1), slice(int(c[0]), int(c[-1]) + 1))
    solid = np.zeros((rows, columns), dtype=np.bool_)
    solid[about] = True
    return (
        Region("rest", *whole, ~solid, RR_DEPTH),
        Region("solid", *about, solid, RR_DEPTH_SOLID),
    )


class Painter:
    """One source's scene, ready to render passes of one region's block means."""

    def __init__(self, lit: str, region: Region, *, samples_per_pass: int, integrator: str) -> None:
        view = camera({"type": SAMPLER, "sample_count": samples_per_pass})
        view["film"] |= {
            "crop_offset_x": region.columns.start * BLOCK,
            "crop_offset_y": region.rows.start * BLOCK,
            "crop_width": (region.columns.stop - region.columns.start) * BLOCK,
            "crop_height": (region.rows.stop - region.rows.start) * BLOCK,
        }
        kinds = (("path", "rest"), ("path", "solid"), ("ptracer", "whole"))
        self._seed = SOURCES.index(lit) * 4096 + kinds.index((integrator, region.name)) * 1024
        self._samples = samples_per_pass
        self._scene = mi.load_dict(room_scene(lit))
        self._camera = mi.load_dict(view)
        self._integrator = mi.load_dict(
            {"type": integrator, "max_depth": -1, "rr_depth": region.rr_depth}
        )

    def paint(self, number: int) -> NDArray[np.float64]:
        """Block means of pass `number`, at most 1023."""
        picture = mi.render(
            self._scene,
            sensor=self._camera,
            integrator=self._integrator,
            spp=self._samples,
            seed=mi.UInt32(self._seed + number),
        )
        return block_means(np.array(picture, dtype=np.float64))


def block_means(picture: NDArray[np.float64]) -> NDArray[np.float64]:
    """Means over blocks of 6 x 6 pixels of a (height, width, n) picture."""
    rows, columns, channels = picture.shape
    cut = picture.reshape(rows // BLOCK, BLOCK, columns // BLOCK, BLOCK, channels)
    return np.asarray(cut.mean(axis=(1, 3)))


def contents() -> tuple[list[str], NDArray[np.float64]]:
    """Share of each block that each thing fills: names, and (rows, columns, names) shares.

    "sky" is what rays see that leave through the window.
    """
    scene = mi.load_dict(room_scene(""), optimize=False)
    names = sorted({_thing(shape.id()) for shape in scene.shapes()} | {"sky"})
    seen = _first_hits(scene, {name: i for i, name in enumerate(names)})
    rows, columns = CAMERA.height, CAMERA.width
    shares = np.empty((rows // BLOCK, columns // BLOCK, len(names)))
    for i in range(len(names)):
        filled = (seen == i).mean(axis=2, keepdims=True)
        shares[:, :, i] = block_means(filled)[:, :, 0]
    return names, shares


def judged(lit: str, names: list[str], shares: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Blocks that show some light: not more than half filled by what is black in this layer."""
    black = [t for t in EMITTER_OF.values() if t and t != EMITTER_OF[lit]]
    return np.asarray(sum(shares[:, :, names.index(t)] for t in black) <= 0.5)


def _first_hits(scene: Any, number: dict[str, int]) -> NDArray[np.int16]:
    rows, columns = CAMERA.height, CAMERA.width
    sensor = mi.load_dict(camera({"type": "independent"}))
    grid = (np.arange(RAYS_ACROSS_PIXEL) + 0.5) / RAYS_ACROSS_PIXEL
    seen = np.empty((rows, columns, RAYS_ACROSS_PIXEL**2), dtype=np.int16)
    for row in range(rows):
        for column in range(columns):
            for k, (v, u) in enumerate((v, u) for v in grid for u in grid):
                place = ((column + u) / columns, (row + v) / rows)
                ray, _ = sensor.sample_ray(0.0, 0.5, place, (0.5, 0.5))
                hit = scene.ray_intersect_preliminary(ray)
                thing = _thing(hit.shape.id()) if hit.is_valid() else "sky"
                seen[row, column, k] = number[thing]
    return seen


def _thing(shape_id: str) -> str:
    """A thing's name from that of one of its pieces."""
    for whole in ("wall_far", "outer_face", "reveal", "table_leg", "soft_box_body"):
        if shape_id.startswith(whole):
            return whole
    return shape_id
