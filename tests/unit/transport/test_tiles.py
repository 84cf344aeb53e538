"""Work split over threads: every item once, errors told, no tile of nothing."""

from __future__ import annotations

import threading

import pytest
from numpy.testing import assert_array_equal

from falloff.transport.tiles import over_tiles


@pytest.mark.parametrize("tile", [1, 3, 7, 100, 0])
def test_every_item_is_done_once(tile: int) -> None:
    """A tile of nought comes of rays per tile over more rays than that; it must act as one."""
    done: list[int] = []
    lock = threading.Lock()

    def work(start: int, stop: int) -> None:
        with lock:
            done.extend(range(start, stop))

    over_tiles(7, tile, work)
    assert_array_equal(sorted(done), range(7))


def test_nothing_to_do() -> None:
    over_tiles(0, 5, lambda start, stop: pytest.fail(f"called with {start}, {stop}"))


def test_an_error_in_one_tile_is_raised() -> None:
    def work(start: int, stop: int) -> None:
        if start == 2:
            raise ZeroDivisionError(stop)

    with pytest.raises(ZeroDivisionError):
        over_tiles(6, 1, work)
