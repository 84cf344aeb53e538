"""Run a piece of work over stretches of a list on a few plain threads."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

RAYS_PER_TILE = 24_576
_workers = min(8, os.cpu_count() or 1)
_pool: ThreadPoolExecutor | None = None


def over_tiles(
    total: int,
    tile: int,
    work: Callable[[int, int], None],
    progress: Callable[[float], None] | None = None,
) -> None:
    """Call work(start, stop) for every stretch of `tile` out of `total`; the first error stops."""
    global _pool
    # Short lists are cut so that no worker is left with the rest.
    tile = max(1, min(tile, -(-total // (2 * _workers))))
    starts = range(0, total, tile)
    if len(starts) <= 1 or _workers == 1:
        for start in starts:
            work(start, min(total, start + tile))
        return
    if _pool is None:
        _pool = ThreadPoolExecutor(_workers, thread_name_prefix="rays")
    jobs = [_pool.submit(work, start, min(total, start + tile)) for start in starts]
    for done, job in enumerate(jobs):
        job.result()
        if progress is not None:
            progress((done + 1) / len(jobs))
