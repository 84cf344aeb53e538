"""What a camera sees of the outside, and whether the sun shines into it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.sources import Source
from falloff.stage import View
from falloff.transport import NO_CELL, Solution, openings_in, sights_outside, sun_reaches
from falloff.types import Float32Array, Float64Array, Int32Array, Uint16Array

_SIZE: Final = (128, 72)  # pixels that a view out is judged by
_RAYS: Final = 4
_LEAST_PIXELS: Final = 12  # of an opening, to be called in frame
_IN_FRAME_SLACK_RAD: Final = math.radians(0.27)  # the sun's own radius


@dataclass(frozen=True, slots=True)
class WindowsInView:
    """Through which openings a camera sees the outside: cells and weights of its rays by source.

    pixels: how many each opening fills.
    """

    names: Mapping[int, str]
    cells: Uint16Array
    seen: Int32Array
    weights: Float64Array
    pixels: Mapping[int, float]

    @classmethod
    def of(cls, solution: Solution, view: View) -> WindowsInView:
        """Shoot a small picture's rays through a camera."""
        seen, cells, weights = sights_outside(solution, view, _SIZE, _RAYS)
        names = {s: solution.stage.sources[s].name for s in openings_in(solution.stage)}
        whole = seen.reshape(-1, _RAYS)
        pixels = {}
        for s in names:
            # A pixel counts by the share of its rays that look out; panes send some of them back.
            share = ((whole == s) & (cells.reshape(-1, _RAYS) != NO_CELL)).sum(1) / _RAYS
            pixels[s] = float(np.count_nonzero(share >= 0.5))
        return cls(names, cells, seen, weights, pixels)

    def nits(self, luminance: Mapping[int, Float32Array]) -> dict[str, float]:
        """Mean luminance (cd/m²) in the picture of the outside through each opening in frame."""
        found = {}
        for s, name in self.names.items():
            if self.pixels[s] < _LEAST_PIXELS or s not in luminance:
                continue
            mine = (self.seen == s) & (self.cells != NO_CELL)
            pixel = np.repeat(mine.reshape(-1, _RAYS).mean(1) >= 0.5, _RAYS)
            mine &= pixel
            light = luminance[s][self.cells[mine]] * self.weights[mine]
            found[name] = float(light.sum() / np.count_nonzero(pixel))
        return found


@dataclass(frozen=True, slots=True)
class SunInView:
    """Whether the sun stands in a camera's frame, or shines on its front from outside it."""

    solution: Solution
    view: View

    def along(self, sun: Source, way: Float64Array) -> tuple[bool, bool]:
        """As `at`, of a sun that shines and has moved on to another unit way (3,)."""
        shape = sun.shape.copy()
        shape[:3] = way
        return self.at(replace(sun, shape=shape))

    def at(self, sun: Source) -> tuple[bool, bool]:
        """In the frame, on the lens."""
        if sun.flux_lm <= 0.0:
            return False, False
        way = sun.shape[:3]
        ahead = float(way @ self.view.forward)
        if ahead <= 0.0 or not sun_reaches(self.solution, sun, self.view.eye):
            return False, False
        across = abs(float(way @ self.view.right)) / ahead
        upward = abs(float(way @ self.view.up)) / ahead
        slack = math.tan(_IN_FRAME_SLACK_RAD)
        inside = (
            across <= self.view.tan_half_width + slack
            and upward <= self.view.tan_half_height + slack
        )
        return inside, True
