"""Rays that reach the sky, kept by what they look at, so that any hour is a sum over them.

What a receiver gets through an opening is Σ weight · luminance of the cell outside that each of its
rays looks at. Cells are some half a degree wide; the rays are those of a trace, so that the same
sky gives what the trace gave, and another one costs no ray.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from falloff.sources import SKY, SKY_CELLS, SUN, TELLS_CELL, Source, above_skyline
from falloff.sources.records import BUILDING_SIZE, FACES, SKY_HEAD
from falloff.transport.kernels_emission import cell_luminances, cell_ways
from falloff.transport.kernels_kept import shine
from falloff.transport.tiles import over_tiles
from falloff.types import BoolArray, Float32Array, Float64Array, Int32Array, IntArray, Uint16Array

NO_CELLS: Final = np.empty(0, np.uint16)
_NO_OWNERS: Final = np.empty(0, np.int32)
_CELLS_AT_ONCE: Final = 8192
_NOTHING: Final = np.empty(0, np.float32)


@dataclass(frozen=True, slots=True)
class KeptPart:
    """Rays of one stretch of receivers, not sorted out yet; coats: None where all is matte."""

    cells: Uint16Array
    owners: Int32Array
    weights: Float32Array
    coats: Float32Array | None


@dataclass(frozen=True, slots=True)
class KeptSky:
    """The rays of one opening that reach the outside.

    cells, owners, weights: (k,) what each looks at, the receiver whose sum it is in, illuminance
    over luminance (lx per cd/m²); coats: (k,) sheen over luminance, or (0,) where all is matte;
    leads: (m, n) the sum that stands for each receiver, −1 for none, straight and by way of each
    mirror; receivers' own sums are numbered through, n for each way.
    """

    cells: Uint16Array
    owners: Int32Array
    weights: Float32Array
    coats: Float32Array
    leads: Int32Array

    @property
    def count(self) -> int:
        """How many receivers there are."""
        return int(self.leads.shape[1])

    def light(self, luminance: Float32Array) -> Float32Array:
        """Illuminance (n,) lux of every receiver under cells of these luminances."""
        return self._summed(self.weights, luminance)

    def sheen(self, luminance: Float32Array) -> Float32Array:
        """Luminance (n,) of every receiver's coat; zero where all is matte."""
        if not self.coats.size:
            return np.zeros(self.count, np.float32)
        return self._summed(self.coats, luminance)

    def _summed(self, weights: Float32Array, luminance: Float32Array) -> Float32Array:
        sums = np.zeros(self.leads.size + 1)  # the last stands for none
        shine(self.cells, self.owners, weights, luminance, sums)
        return np.asarray(sums[self.leads].sum(0), np.float32)


@dataclass(slots=True)
class Keeping:
    """Gathers kept rays while direct light is traced, straight and then by way of each mirror.

    count: of the receivers; stride: how many of them share one sum, 1 where each has its own.
    """

    count: int
    stride: int = 1
    parts: list[tuple[int, KeptPart]] = field(default_factory=list)
    leads: list[Int32Array] = field(default_factory=list)

    @property
    def sums(self) -> int:
        """How many sums there are of one way."""
        return self.count // self.stride

    def begin(self) -> None:
        """Another way that light comes: straight, or by a mirror."""
        self.leads.append(np.full(self.sums, -1, np.int32))

    def add(
        self,
        part: KeptPart,
        free: Int32Array,
        scale: Float64Array,
        leads: Int32Array,
        first: int,
    ) -> None:
        """Keep the free rays of a stretch of receivers that begins at `first`.

        scale: (m,) closed form over Σ w of each that leads; leads: (m,) within the stretch.
        """
        kept = np.flatnonzero((free < 0) & (part.weights > 0.0))
        owners = part.owners[kept]
        by = scale[owners]
        coats = None if part.coats is None else (part.coats[kept] * by).astype(np.float32)
        weights = (part.weights[kept] * by).astype(np.float32)
        start, size = first // self.stride, len(leads) // self.stride
        base = (len(self.leads) - 1) * self.sums + start
        if self.stride > 1:
            owners = owners // self.stride
            self.leads[-1][start : start + size] = base + np.arange(size)
        else:
            self.leads[-1][start : start + size] = base + leads
        found = KeptPart(part.cells[kept], (base + owners).astype(np.int32), weights, coats)
        self.parts.append((base, found))

    def done(self, alive: BoolArray) -> KeptSky:
        """All that was kept; alive: (n,) which sums count."""
        parts = [part for _, part in sorted(self.parts, key=lambda one: one[0])]
        glossy = any(one.coats is not None for one in parts)
        coats = [
            np.zeros(len(part.cells), np.float32) if part.coats is None else part.coats
            for part in parts
            if glossy
        ]
        return KeptSky(
            np.concatenate([NO_CELLS, *(part.cells for part in parts)]),
            np.concatenate([_NO_OWNERS, *(part.owners for part in parts)]),
            np.concatenate([_NOTHING, *(part.weights for part in parts)]),
            np.concatenate([_NOTHING, *coats]),
            np.where(alive, np.array(self.leads), -1).astype(np.int32),
        )


def evened(source: Source) -> Source:
    """An opening to an outside of luminance one everywhere, so that rays weigh what they are."""
    twin = telling(source)
    table = twin.table
    # The uniform sky of ISO 15469: φ and f are one everywhere.
    table[1:12] = (1.0, 0.0, -1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 1.0, 1.0, 0.0)
    table[13] = 1.0
    built = table[SKY_HEAD : SKY_HEAD + BUILDING_SIZE * int(table[0])]
    built.reshape(-1, BUILDING_SIZE)[:, BUILDING_SIZE - FACES :] = 1.0
    return twin


def telling(source: Source) -> Source:
    """An opening that shows each ray the number of the cell it looks at for a luminance."""
    assert source.kind == SKY
    shape, table = source.shape.copy(), source.table.copy()
    shape[13], shape[14], table[1] = 1.0, 1.0, TELLS_CELL
    return replace(source, shape=shape, table=table)


def unseen(source: Source) -> Source:
    """A source that is not seen, so that the sun hides no sky; others stay what they are."""
    if source.kind != SUN:
        return source
    shape = source.shape.copy()
    shape[13] = 0.0
    return replace(source, shape=shape)


def luminance_outside(source: Source, cells: IntArray | None = None) -> Float32Array:
    """Luminance (cd/m², at 100 % and white) of every cell as an opening's source shows it.

    cells: of the sky, those that are wanted, all where None; others are nought.
    """
    out = np.zeros(SKY_CELLS + 1 + FACES * int(source.table[0]), np.float32)
    ways, which = _ways(), np.arange(SKY_CELLS) if cells is None else cells

    def work(start: int, stop: int) -> None:
        cell_luminances(source.shape, source.table, ways, which, start, stop, out)

    over_tiles(len(which), _CELLS_AT_ONCE, work)
    _write_low(source, out)
    return out


def shaded_outside(luminance: Float32Array, source: Source, behind: BoolArray) -> Float32Array:
    """The cells of a sky, with ground, buildings and skyline as another source shows them.

    luminance: by `luminance_outside` of a source with the same sky; behind: by `behind_skyline`.
    """
    out = luminance.copy()
    out[:SKY_CELLS][behind] = source.table[13]
    _write_low(source, out)
    return out


def behind_skyline(source: Source) -> BoolArray:
    """Which cells of the sky what stands on the skyline hides (SKY_CELLS,)."""
    steps = int(source.table[12])
    first = SKY_HEAD + BUILDING_SIZE * int(source.table[0])
    return ~above_skyline(source.table[first : first + steps], _ways())


def _write_low(source: Source, out: Float32Array) -> None:
    out[SKY_CELLS] = source.shape[14]
    count = int(source.table[0])
    built = source.table[SKY_HEAD : SKY_HEAD + BUILDING_SIZE * count]
    out[SKY_CELLS + 1 :] = built.reshape(-1, BUILDING_SIZE)[:, BUILDING_SIZE - FACES :].ravel()


@functools.cache
def _ways() -> Float64Array:
    out = np.empty((SKY_CELLS, 3))
    cell_ways(out)
    return out
