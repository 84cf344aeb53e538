"""What a moved body touches, so that only those rays are traced again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.stage import Body
from falloff.types import BoolArray, Float32Array

_MARGIN_M: Final = 1e-3
NO_BOXES: Final = np.empty((0, 2, 3), np.float32)
NO_MARKS: Final = np.zeros(0, np.bool_)


@dataclass(frozen=True, slots=True)
class Change:
    """The boxes a body filled and fills, (2, 2, 3) metres, and the ranges that are its own."""

    name: str
    boxes: Float32Array
    elements: tuple[int, int]
    patches: tuple[int, int]

    def tubes(self, slack_m: float) -> Float32Array:
        """The boxes grown on all sides."""
        grown = self.boxes.copy()
        grown[:, 0] -= slack_m
        grown[:, 1] += slack_m
        return grown

    def own_patches(self, count: int) -> BoolArray:
        """Marks of the body's own patches among `count`."""
        marks = np.zeros(count, np.bool_)
        marks[slice(*self.patches)] = True
        return marks

    def own_elements(self, count: int) -> BoolArray:
        """Marks of the body's own elements among `count`."""
        marks = np.zeros(count, np.bool_)
        marks[slice(*self.elements)] = True
        return marks


def change_of(before: Body, after: Body) -> Change:
    """The change from one place of a body to another; it keeps its shape and its cutting."""
    assert before.elements == after.elements
    assert before.patches == after.patches
    boxes = np.array([[before.low, before.high], [after.low, after.high]], np.float32)
    boxes[:, 0] -= _MARGIN_M
    boxes[:, 1] += _MARGIN_M
    return Change(after.name, boxes, after.elements, after.patches)
