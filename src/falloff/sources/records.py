"""A source as the transport sees it: a kind, sixteen numbers and a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from falloff.types import Float32Array, Float64Array

PANEL: Final = 0  # a matte parallelogram that shines from its front
SPHERE: Final = 1  # a matte ball
BEAM: Final = 2  # a round beam over a disc
SKY: Final = 3  # a hole through which the sky and the ground outside are seen

SHAPE_SIZE: Final = 16
BUILDING_SIZE: Final = 9


@dataclass(frozen=True, slots=True)
class Source:
    """One source at 100 %, white; its colour stays apart since light is linear.

    shape: (16,) float64, by kind:
        PANEL, SKY  0–2 corner, 3–5 and 6–8 edges (m), 9–11 the way it shines, 12 area (m²),
                    13 luminance or zenith luminance (cd/m²), 14 ground luminance (cd/m²),
                    15 luminance of light scattered on its way in (cd/m²)
        SPHERE      0–2 centre, 3 radius (m), 12 area (m²), 13 luminance (cd/m²)
        BEAM        0–2 centre, 3–5 axis, 6–8 and 9–11 radii of the mouth (m), 12 area (m²),
                    13 flux (lm), 14 widest angle (rad), 15 how many values `table` has
    table: (n,) by kind: BEAM, candela per lumen at even angles from the axis to the widest; SKY,
        how many buildings are seen through it, then BUILDING_SIZE numbers of each: centre x and y
        (m), cosine and sine of its turn, half its width and depth, foot and top (m), luminance
        (cd/m²); one zero for others.
    angle_of_share: (m,) angle (rad) within which each even share of the flux lies, BEAM only.
    colour: (3,) working space, luminance 1.
    """

    name: str
    kind: int
    shape: Float64Array
    table: Float64Array
    angle_of_share: Float64Array
    colour: Float32Array
    flux_lm: float
    power_w: float | None
