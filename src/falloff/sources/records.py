"""A source as the transport sees it: a kind, sixteen numbers and a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from falloff.types import Float32Array, Float64Array

PANEL: Final = 0  # a matte parallelogram that shines from its front
SPHERE: Final = 1  # a matte ball
BEAM: Final = 2  # a round beam over a disc
SKY: Final = 3  # a hole through which the sky and the ground outside are seen
POLYGON: Final = 4  # a matte convex outline that shines from its front
TUBE: Final = 5  # a matte cylinder that shines from its side
SUN: Final = 6  # a disc at infinity, seen through holes

SHAPE_SIZE: Final = 24
SKY_HEAD: Final = 14
FACES: Final = 5  # of a building: four sides and the top
BUILDING_SIZE: Final = 8 + FACES
CELL_SIDE: Final = 250
SKY_CELLS: Final = CELL_SIDE**2  # of even solid angle, some half a degree wide
MOST_BUILDINGS: Final = (65_534 - SKY_CELLS) // FACES  # so that cells are numbered in two bytes
TELLS_CELL: Final = 2.0  # in a sky's table: it shows which cell is seen in place of its luminance
HOLE_SIZE: Final = 11


@dataclass(frozen=True, slots=True)
class Source:
    """One source at 100 %, white; its colour stays apart since light is linear.

    shape: (24,) float64, by kind, zero where nothing is said:
        PANEL, POLYGON, SKY  0–2 corner, 3–5 and 6–8 edges (m) of a parallelogram that the source
                    fills or, POLYGON, lies in, 9–11 the way it shines, 12 area (m²), 13 luminance
                    or zenith luminance (cd/m²)
        PANEL, POLYGON  16 and 17 depth of an egg crate's cells over their width along each edge
        POLYGON     14 number of corners
        SKY         14 ground luminance (cd/m²)
        SPHERE      0–2 centre, 3 radius (m), 12 area (m²), 13 luminance (cd/m²)
        TUBE        0–2 middle, 3–5 axis, 6 length, 7 radius (m), 12 area (m²), 13 luminance
        BEAM        0–2 centre, 3–5 axis, 6–8 and 9–11 half widths of the mouth (m), 12 area (m²),
                    13 flux (lm), 14 widest angle (rad), 15 how many angles `table` has, 16 how
                    many azimuths, 0 for a round beam, 17 one for a mouth with four corners,
                    18–20 and 21–23 the ways of azimuth zero and of a quarter turn
        SUN         0–2 the way to it, 3 angular radius (rad), 4 one less its cosine, 12 solid
                    angle (sr), 13 luminance (cd/m²)
    table: (n,) by kind, one zero for others:
        BEAM        candela per lumen at even angles from the axis to the widest; or, with
                    azimuths, the angles, the azimuths and candela per lumen, azimuth by azimuth
        POLYGON     corners as shares of the edges, running shares of the area of the triangles
                    between the middle and each side, the middle
        SKY, SUN    SKY_HEAD numbers: how many buildings are seen, one for a general sky in place
                    of the traditional overcast one, its a, b, c, d and e, the way to the sun, one
                    over φ(0) f(Zs), exp(dπ/2), how many steps the skyline has, luminance of what
                    stands on it (cd/m²); then BUILDING_SIZE numbers of each building: centre x and
                    y (m), cosine and sine of its turn, half its width and depth, foot and top (m),
                    luminance (cd/m²) of its sides towards −x, +x, −y and +y of its own and of its
                    top; then the sine of the skyline's altitude at even steps of azimuth, on the
                    plan from x towards y
        SUN         then how many holes, none for an open place, and HOLE_SIZE numbers of each:
                    corner, edges (m), share of light let through, running share of flux
    angle_of_share: (m,), BEAM only: angle (rad) within which each even share of the flux lies, or,
        with azimuths, as `falloff.sources.web_beam.shares_of_web` says.
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
