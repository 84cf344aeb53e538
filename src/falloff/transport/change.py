"""What a moved body touches, so that only those rays are traced again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.stage import FABRIC, Body, Stage
from falloff.types import BoolArray, Float32Array, Float64Array

_MARGIN_M: Final = 1e-3
NO_BOXES: Final = np.empty((0, 2, 3), np.float32)
NO_MARKS: Final = np.zeros(0, np.bool_)


@dataclass(frozen=True, slots=True)
class Change:
    """The boxes a body filled and fills, (2, 2, 3) metres, and the ranges that are its own.

    mirrored: (k, 2, 3) the same boxes, and round their images in every pane and mirror: a ray
    that is sent on by one meets a box just where it would have met its image.
    """

    name: str
    boxes: Float32Array
    mirrored: Float32Array
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


def change_of(before: Body, after: Body, sheets: Float64Array) -> Change:
    """The change from one place of a body to another; it keeps its shape and its cutting.

    sheets: (k, 16) those of both stages.
    """
    assert before.elements == after.elements
    assert before.patches == after.patches
    boxes = np.array([[before.low, before.high], [after.low, after.high]], np.float32)
    boxes[:, 0] -= _MARGIN_M
    boxes[:, 1] += _MARGIN_M
    images = [_image(box, sheet) for sheet in sheets[sheets[:, 13] != FABRIC] for box in boxes]
    mirrored = np.concatenate([boxes, np.array(images, np.float32).reshape(-1, 2, 3)])
    return Change(after.name, boxes, mirrored, after.elements, after.patches)


def _image(box: Float32Array, sheet: Float64Array) -> Float64Array:
    """The box round the image of a box (2, 3) in the plane of a sheet."""
    corners = np.array(np.meshgrid(*box.T)).reshape(3, -1).T.astype(np.float64)
    normal = sheet[9:12]
    away = (corners - sheet[:3]) @ normal
    images = corners - 2.0 * away[:, None] * normal
    return np.array([images.min(0) - _MARGIN_M, images.max(0) + _MARGIN_M])


def both_sheets(before: Stage, after: Stage) -> Float64Array:
    """The sheets of a stage before and after a move; one that moved is there twice."""
    old, new = before.surfaces.sheets, after.surfaces.sheets
    return old if np.array_equal(old, new) else np.concatenate([old, new])
