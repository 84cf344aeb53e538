"""Our light in the three locations beside the stored witness, source by source."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from tests.reference.locations import load, scenes

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.stage import Grain
from falloff.transport import (
    Budget,
    Solution,
    picture_bounced,
    picture_direct,
    trace,
    trace_probes,
    trace_view,
)
from falloff.types import BoolArray, Float64Array

SEEDS = (20, 77, 1234, 5, 808)
STOPS = 1.0 / math.log(2.0)


@dataclass(frozen=True, slots=True)
class Ours:
    """A location traced from nothing with each seed, white and at 100 %.

    readings_lx, error_lx: (seeds, s, r, 3); direct_lx: the direct part of it; blocks: (seeds, s,
    rows, columns, 4) luminance and three channels, cd/m²; shows_source: (s, rows, columns).
    """

    sources: tuple[str, ...]
    readings_lx: Float64Array
    error_lx: Float64Array
    direct_lx: Float64Array
    blocks: Float64Array
    shows_source: BoolArray


@dataclass(frozen=True, slots=True)
class Differences:
    """Differences of one source, ours over the witness's, in stops of luminance, and their noise.

    reading_stops: (seeds, r), own_error and their_error (r,) in stops of one seed and the witness;
    judged: (r,), where the source gives its share. block_stops: (seeds, b) of the blocks that are
    judged, those of `kept` (rows, columns); block_own, block_theirs: (b,) likewise; mean_stops:
    (b,) of the mean over seeds. blurred: blocks that the witness does not know well enough.
    """

    location: str
    source: str
    names: tuple[str, ...]
    ours_lx: Float64Array
    theirs_lx: Float64Array
    reading_stops: Float64Array
    own_error: Float64Array
    their_error: Float64Array
    judged: BoolArray
    block_stops: Float64Array
    mean_stops: Float64Array
    block_own: Float64Array
    block_theirs: Float64Array
    kept: BoolArray
    blurred: int

    @property
    def reading_left(self) -> Float64Array:
        """√(d² − σ²) of each seed and reading: what is left once noise of both is told off."""
        noise = self.own_error**2 + self.their_error**2
        return np.sqrt(np.maximum(0.0, self.reading_stops**2 - noise))

    @property
    def block_left(self) -> Float64Array:
        """The same (b,) of the mean over seeds, whose own noise is less by the root of them."""
        noise = self.block_own**2 / len(self.block_stops) + self.block_theirs**2
        return np.sqrt(np.maximum(0.0, self.mean_stops**2 - noise))


def traced(
    name: str,
    *,
    seeds: tuple[int, ...] = SEEDS,
    grain: Grain | None = None,
    budget: Budget | None = None,
) -> Ours:
    """A location as Falloff lights it."""
    stage, probes = scenes.location_stage(name, grain=grain), scenes.location_probes(name)
    wanted = budget or Budget()
    parts = []
    for seed in seeds:
        solution = trace(stage, replace(wanted, seed=seed))
        light = trace_probes(solution, probes)
        whole = light.direct + light.bounced
        error = whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1])
        blocks, seen = _blocks(solution)
        parts.append((whole.mean(-1), error, light.direct.mean(-1), blocks, seen))
    readings, errors, direct, blocks, seen = (np.stack(one) for one in zip(*parts, strict=True))
    names = tuple(source.name for source in stage.sources)
    return Ours(names, readings, errors, direct, blocks, np.asarray(seen.any(0)))


def _blocks(solution: Solution) -> tuple[Float64Array, BoolArray]:
    """Luminance and channels of all sources' blocks, and blocks that show a source's face."""
    stage, (width, height) = solution.stage, scenes.PICTURE
    seen = trace_view(solution, stage.views[scenes.VIEW], width=width, height=height)
    pictures, faces = [], []
    rays = len(seen.sights.seen) // (width * height)
    looked = np.empty((height * width, rays), np.int32)
    looked[seen.order] = seen.sights.seen.reshape(-1, rays)
    for s in range(len(stage.sources)):
        picture = picture_direct(seen, stage, s).astype(np.float64)
        picture += picture_bounced(seen, solution, solution.radiosity[s], solution.hot[s])
        luminance = picture @ np.array(LUMINANCE_WEIGHTS)
        pictures.append(_means(np.concatenate([luminance[..., None], picture], 2)))
        face = (looked == s).any(1).reshape(height, width, 1)
        faces.append(_means(face.astype(np.float64))[..., 0] > 0.0)
    return np.stack(pictures), np.stack(faces)


def _means(picture: Float64Array) -> Float64Array:
    rows, columns, block = scenes.ROWS, scenes.COLUMNS, scenes.BLOCK
    whole = picture[: rows * block, : columns * block]
    return np.asarray(whole.reshape(rows, block, columns, block, -1).mean((1, 3)))


def differences(name: str, ours: Ours, stored: load.StoredLocation) -> list[Differences]:
    """Ours beside the witness's, for every source that the witness has."""
    weights = np.array(LUMINANCE_WEIGHTS)
    held = stored.arrays
    theirs = held["mean_lx"] @ weights
    # the three channels of a reading share their samples, so their errors add up as they are
    their_error = held["standard_error_lx"] @ weights
    total = theirs.sum(0)
    found = []
    for s, source in enumerate(stored.sources):
        mine = ours.sources.index(source)
        reading, own = ours.readings_lx[:, mine] @ weights, ours.error_lx[:, mine] @ weights
        mean = held["mean"][s, ..., 0].astype(np.float64)
        lit = load.judged_blocks(mean, held["shows_source"][s] | ours.shows_source[mine])
        error = STOPS * np.sqrt(held["variance"][s, ..., 0]) / np.where(lit, mean, 1.0)
        kept = lit & (error <= load.SHARP_STOP)
        block = ours.blocks[:, mine, ..., 0][:, kept]
        with np.errstate(divide="ignore"):
            block_stops = np.log2(block / mean[kept])
            mean_stops = np.log2(block.mean(0) / mean[kept])
        found.append(
            Differences(
                location=name,
                source=source,
                names=tuple(held["names"].tolist()),
                ours_lx=reading,
                theirs_lx=theirs[s],
                reading_stops=np.log2(reading / theirs[s]),
                own_error=STOPS * own.mean(0) / reading.mean(0),
                their_error=STOPS * their_error[s] / theirs[s],
                judged=theirs[s] >= load.LEAST_SHARE * total,
                block_stops=block_stops,
                mean_stops=mean_stops,
                block_own=STOPS * block.std(0, ddof=1) / block.mean(0),
                block_theirs=error[kept],
                kept=kept,
                blurred=int((lit & ~kept).sum()),
            )
        )
    return found
