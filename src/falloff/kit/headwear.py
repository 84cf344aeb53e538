"""Hair, head coverings and spectacles made for a figure's own head when a scene asks for them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from falloff.kit.coverings import KINDS, find_cover
from falloff.kit.figures import Figure
from falloff.kit.hair_locks import no_limit, smooth_step
from falloff.kit.hair_styles import STYLES, styled_hair
from falloff.kit.head_shape import HeadShape, shape_of_head
from falloff.kit.shells import Closed
from falloff.kit.spectacles import spectacle_frame
from falloff.kit.unknown import unknown_name

HAIR_STYLES: tuple[str, ...] = ("own", "bald", *STYLES)
COVERINGS: tuple[str, ...] = KINDS
_COVERED_STYLE = "short"  # what stands for a figure's own hair below a covering


@dataclass(frozen=True, slots=True)
class HeadPart:
    """A closed piece of hair, covering or spectacles in the figure's frame.

    material_role: "hair", "covering" or "spectacles"; corners, normals (t, 3, 3), metres and unit
    vectors, counter-clockwise seen from outside; head_weight (t, 3): 1 what turns with the head,
    down to 0 what lies on the shoulders. All arrays are read-only.
    """

    material_role: str
    corners: NDArray[np.float64]
    normals: NDArray[np.float64]
    head_weight: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class HeadDress:
    """Regions of the figure that are left out, and the pieces that are put on."""

    drop_regions: tuple[str, ...]
    parts: tuple[HeadPart, ...]


def dressed_head(
    figure: Figure, *, hair_style: str | None, covering: str | None, spectacles: bool
) -> HeadDress:
    """What to leave out of a figure and what to put on it.

    hair_style: one of HAIR_STYLES, None for "own"; covering: one of COVERINGS or None. Raises
    GeometryError with the nearest known name. Below a covering, the figure's own hair gives way
    to short hair pressed flat, as its own would not fit.
    """
    style = _known("hair style", hair_style or "own", HAIR_STYLES)
    if covering is not None:
        _known("head covering", covering, COVERINGS)
    if style == "own" and covering is None and not spectacles:
        return HeadDress((), ())
    shape = shape_of_head(figure)
    cover = None if covering is None else find_cover(shape, covering)
    kept = style == "own" and cover is None
    hair: list[Closed] = []
    if not kept and style != "bald" and not (cover and cover.hides_hair):
        worn = _COVERED_STYLE if style == "own" else style
        limit = cover.limit if cover else no_limit
        hair = styled_hair(shape, worn, limit, low=cover is not None)
    parts = _parts(shape, "hair", hair)
    parts += _parts(shape, "covering", cover.parts if cover else ())
    if spectacles:
        parts += _parts(shape, "spectacles", spectacle_frame(shape))
    return HeadDress(() if kept else ("hair",), tuple(parts))


def _known(what: str, name: str, names: tuple[str, ...]) -> str:
    if name in names:
        return name
    raise unknown_name(what, name, names)


def _parts(shape: HeadShape, role: str, pieces: Sequence[Closed]) -> list[HeadPart]:
    parts = []
    for piece in pieces:
        weight = smooth_step((piece.corners[..., 2] + 0.20) / 0.09)
        if role == "spectacles":
            weight = np.ones_like(weight)
        arrays = (shape.to_figure(piece.corners), piece.normals @ shape.axes, weight)
        for array in arrays:
            array.setflags(write=False)
        parts.append(HeadPart(role, *arrays))
    return parts
