"""CIE 171:2006 once more: glass, the whole wall open, and a mask outside.

Source: cases C171-19, 20 and 25 to 27 (sections 5.10 to 5.13), as in test_cie171.py: points A–F on
a wall, G–N on the floor of a black room of 4 × 4 × 3 m, in per cent of the sky's light outside.

The glass of 5.10 and 5.12 is a measured pane of 6 mm, a polynomial in cosθ: 0.8788 at right angles.
Ours is a clear pane by Fresnel (n = 1.52, no loss inside), brought to the share that is written. So
it lacks the longer way through glass that absorbs, and passes more than the published pane at a
slant: 0.7 % at 60°, 1.6 % at 70°, 3.1 % at 80°. Each glass case is therefore held three times:

- a quadrature with the published law gives the table (0.01);
- ours is the same quadrature with Fresnel's law, within the table's own tolerance for what has no
  noise (0.02 or 0.5 %, whichever is larger);
- ours is the table within 0.02 or 1.5 %, the laws' difference at 70°, and within 3.5 %, their
  difference at 80°, at the one point that sees all of its glass from 76° on (N of C171-26).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, box_room, probe_at, rectangle, stage_of

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.daylight import Daylight, general_sky
from falloff.document import parse_document
from falloff.sources import Source, sky_opening
from falloff.stage import Grain, Probe
from falloff.stage.build import build_stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.transport import Budget, trace, trace_probes
from falloff.types import BoolArray, Float64Array

HEIGHTS = (2.75, 2.25, 1.75, 1.25, 0.75, 0.25)
DEPTHS = tuple(0.25 + 0.5 * k for k in range(8))
WALL = tuple(probe_at(f"{z}", (2.0, 0.0, z), (0.0, 1.0, 0.0)) for z in HEIGHTS)
FAR_WALL = tuple(probe_at(f"{z}", (2.0, 4.0, z), (0.0, -1.0, 0.0)) for z in HEIGHTS)
FLOOR = tuple(probe_at(f"{y}", (2.0, y, 0.0), (0.0, 0.0, 1.0)) for y in DEPTHS)
FLOOR_INWARD = FLOOR[::-1]  # G is the farthest from a window
COARSE = Grain(0.5, 0.5)
BUDGET = Budget(row_rays=64, element_points=1, element_rays=1, reading_shadow_rays=2048)

PASSES = 0.8788  # source: the law of 5.10 at right angles
# source: CIE 171:2006, 5.5 and 5.10; powers of cosθ from 0 up
PUBLISHED_LAW = (-0.028378, 3.156075, -3.058376, -1.428919, 4.014235, -1.775827)
LAWS_APART = 0.015
LAWS_APART_GRAZING = 0.035
READS_GRAZING = ("C171-26", 13)  # the case and its point

Law = Callable[[Float64Array], Float64Array]
Passes = Callable[[Float64Array, Float64Array], BoolArray]


def published(cosine: Float64Array) -> Float64Array:
    return np.asarray(np.polynomial.polynomial.polyval(cosine, PUBLISHED_LAW))


def fresnel(cosine: Float64Array) -> Float64Array:
    """A pane of n = 1.52 without absorption, inner bounces counted, PASSES at right angles."""
    inside = np.sqrt(1.0 - (1.0 - cosine**2) / 1.52**2)
    s = ((cosine - 1.52 * inside) / (cosine + 1.52 * inside)) ** 2
    p = ((1.52 * cosine - inside) / (1.52 * cosine + inside)) ** 2
    clear = 0.5 * ((1.0 - s) / (1.0 + s) + (1.0 - p) / (1.0 + p))
    straight = 2.0 * 1.52 / (1.52**2 + 1.0)  # pencil: (1 − r)/(1 + r) at right angles
    return np.asarray(PASSES * clear / straight)


def unglazed(cosine: Float64Array) -> Float64Array:
    return np.ones_like(cosine)


@dataclass(frozen=True, slots=True)
class Case:
    """An opening (m), its sky, and what the tables say of a wall and of the floor."""

    corner: tuple[float, float, float]
    edge_u: tuple[float, float, float]
    edge_v: tuple[float, float, float]
    kind: int
    wall: list[float]
    floor: list[float]

    def roof(self) -> bool:
        return self.corner[2] == 3.0

    def probes(self) -> tuple[Probe, ...]:
        return WALL + FLOOR if self.roof() else FAR_WALL + FLOOR_INWARD

    def table(self) -> Float64Array:
        return np.array(self.wall + self.floor)

    def daylight(self) -> Daylight:
        """100 lx, the sun 60° up; a roof's wall A–F faces it, or the window does."""
        azimuth = 90.0 if self.roof() else 270.0
        return general_sky(
            self.kind,
            sun_altitude_rad=math.radians(60.0),
            sun_azimuth_rad=math.radians(azimuth),
            horizontal_lux=100.0,
            ground_reflectance=0.0 if self.roof() else 0.3,
        )


# source: C171-19, 20, 26 and 25, by quadrature; two decimals
SMALL_ROOF = Case(
    (1.5, 1.5, 3.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0), 5,
    [0.35, 1.69, 2.12, 1.87, 1.47, 1.11],
    [1.71, 2.22, 2.68, 2.96, 2.96, 2.68, 2.22, 1.71],
)  # fmt: skip
OPEN_ROOF = Case(
    (0.0, 0.0, 3.0), (0.0, 4.0, 0.0), (4.0, 0.0, 0.0), 16,
    [27.49, 25.44, 22.05, 18.37, 14.99, 12.12],
    [27.39, 32.16, 35.66, 37.48, 37.48, 35.66, 32.16, 27.39],
)  # fmt: skip
WINDOW = Case(
    (3.0, 0.0, 1.0), (-2.0, 0.0, 0.0), (0.0, 0.0, 1.0), 12,
    [0.84, 0.94, 2.10, 4.34, 5.11, 4.41],
    [1.75, 2.45, 3.55, 5.33, 8.22, 12.27, 12.71, 2.16],
)  # fmt: skip
OPEN_WALL = Case(
    (4.0, 0.0, 0.0), (-4.0, 0.0, 0.0), (0.0, 0.0, 3.0), 5,
    [6.18, 8.96, 11.34, 13.22, 14.56, 15.41],
    [5.79, 7.63, 10.19, 13.77, 18.74, 25.47, 34.15, 44.49],
)  # fmt: skip
GLAZED = {"C171-19": SMALL_ROOF, "C171-20": OPEN_ROOF, "C171-26": WINDOW}


# By the tracer ---------------------------------------------------------------------------


def read(source: Source, probes: tuple[Probe, ...], *pieces: Piece) -> Float64Array:
    """Illuminance (p,) at the probes in a black room."""
    direct, bounced = trace_probes(trace(stage_of(pieces, sources=[source]), BUDGET), probes).mean()
    assert_allclose(bounced, 0.0)  # pencil: nothing reflects
    return np.asarray(direct[0, :, 0])


def traced(case: Case, *, glazed: bool) -> Float64Array:
    """A case's points (14,) in the room without the face that the opening is in."""
    corner, u, v = (np.array(edge) for edge in (case.corner, case.edge_u, case.edge_v))
    source = sky_opening(
        "opening", corner, edge_u=u, edge_v=v, daylight=case.daylight(), colour=WHITE,
        straight=PASSES if glazed else 1.0,
    )  # fmt: skip
    builder = PieceBuilder("room", COARSE)
    if glazed:
        # 1 cm inside, and 20 cm wider all round: no ray passes beside it.
        normal, wider = source.shape[9:12], 0.2 / np.array([np.linalg.norm(u), np.linalg.norm(v)])
        builder.add_pane(
            corner + 0.01 * normal - wider[0] * u - wider[1] * v,
            edge_u=(1.0 + 2.0 * wider[0]) * u,
            edge_v=(1.0 + 2.0 * wider[1]) * v,
            passes=PASSES,
        )
    # The pane's piece needs a face: one far under the floor.
    builder.add_rectangle(
        np.array([0.0, 0.0, -9.0]), edge_u=np.eye(3)[0], edge_v=np.eye(3)[1], material="black"
    )
    room = box_room((4.0, 4.0, 3.0), grain=COARSE, leave_out=("z1" if case.roof() else "y0",))
    return read(source, case.probes(), room, builder.build())


# By quadrature ---------------------------------------------------------------------------

# source: ISO 15469:2004, a b c d e
COEFFICIENTS = {
    1: (4.0, -0.7, 0.0, -1.0, 0.0),
    5: (0.0, -1.0, 0.0, -1.0, 0.0),
    12: (-1.0, -0.32, 10.0, -3.0, 0.45),
}
# source: SKY-6 and SKY-2, the sun 60° up: horizontal illuminance over the zenith's luminance
OVER_ZENITH = {1: 2.44954, 5: math.pi, 12: 3.19057, 16: 7.0 * math.pi / 9.0}


def seen(kind: int, toward: Float64Array, *, sun_ahead: float, ground: float) -> Float64Array:
    """Luminance along unit ways (..., 3) when the sky gives 100 lx; sun_ahead: its way's sign."""
    rise = np.maximum(1e-9, toward[..., 2])
    if kind == 16:
        sky = (1.0 + 2.0 * rise) / 3.0
    else:
        a, b, c, d, e = COEFFICIENTS[kind]
        near = toward @ np.array([0.0, 0.5 * sun_ahead, math.sin(math.radians(60.0))])

        def ring(angle: Float64Array) -> Float64Array:
            rest = np.exp(d * angle) - math.exp(0.5 * math.pi * d)
            return np.asarray(1.0 + c * rest + e * np.cos(angle) ** 2)

        sky = (1.0 + a * np.exp(b / rise)) * ring(np.arccos(np.clip(near, -1.0, 1.0)))
        sky = sky / ((1.0 + a * math.exp(b)) * ring(np.array(math.radians(30.0))))
    return np.where(toward[..., 2] > 0.0, 100.0 / OVER_ZENITH[kind] * sky, 100.0 * ground / math.pi)


def summed(case: Case, law: Law, *, passes: Passes | None = None) -> Float64Array:
    """A case's points (14,) by a sum over the opening; passes: of a start and ways, which do."""
    node, weight = np.polynomial.legendre.leggauss(8)
    cells = 100
    share = ((np.arange(cells)[:, None] + 0.5 * (node + 1.0)) / cells).ravel()
    each = np.tile(0.5 * weight / cells, cells)
    corner, u, v = (np.array(edge) for edge in (case.corner, case.edge_u, case.edge_v))
    place = corner + share[:, None, None] * u + share[None, :, None] * v
    area = np.linalg.norm(np.cross(u, v)) * each[:, None] * each
    inward = np.cross(u, v) / np.linalg.norm(np.cross(u, v))
    found = []
    for probe in case.probes():
        way = place - probe.point
        distance = np.linalg.norm(way, axis=-1)
        way = way / distance[..., None]
        across, facing = -way @ inward, np.maximum(0.0, way @ probe.normal)
        light = seen(case.kind, way, sun_ahead=1.0 if case.roof() else -1.0,
                     ground=0.0 if case.roof() else 0.3)  # fmt: skip
        if passes is not None:
            light = np.where(passes(probe.point, way), light, 0.0)
        found.append((light * law(across) * across * facing / distance**2 * area).sum())
    return np.array(found)


def within_table(found: Float64Array, expected: Float64Array) -> None:
    """The tables' own tolerance for what is not noisy: 0.02 or 0.5 %, whichever is larger."""
    off = np.abs(found - expected)
    assert (off <= np.maximum(0.02, 0.005 * expected)).all(), np.stack([found, expected])


# The cases -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "more"), [(0, 0.0), (30, 0.001), (45, 0.006), (60, 0.007), (70, 0.016), (80, 0.031)]
)
def test_how_far_the_laws_of_glass_lie_apart(degrees: int, more: float) -> None:
    """Measured: what a clear pane brought to the same share passes over the published one."""
    cosine = np.array([math.cos(math.radians(degrees))])
    assert_allclose(fresnel(cosine) / published(cosine) - 1.0, more, atol=6e-4)


@pytest.mark.parametrize("name", sorted(GLAZED))
def test_glass_by_the_published_law_is_the_table(name: str) -> None:
    """The quadrature that the next test leans on; the tables have two decimals."""
    assert_allclose(summed(GLAZED[name], published), GLAZED[name].table(), atol=0.01)


@pytest.mark.parametrize("name", sorted(GLAZED))
def test_glass(name: str) -> None:
    """C171-19, 20 (5.10) and 26 (5.12), through a pane in the opening; without noise."""
    case = GLAZED[name]
    found = traced(case, glazed=True)
    within_table(found, summed(case, fresnel))
    apart = np.full(14, LAWS_APART)
    if name == READS_GRAZING[0]:
        apart[READS_GRAZING[1]] = LAWS_APART_GRAZING
    off = np.abs(found - case.table())
    assert (off <= np.maximum(0.02, apart * case.table())).all(), np.stack([found, case.table()])


DOCUMENT = """
falloff: 1
title: Glass
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 3 m
  wall_thickness: 0.2 m
  floor_surface: black
  ceiling_surface: black
  wall_surface: black
openings:
  WINDOW: {wall: 1, along: 1 m, width: 2 m, sill: 1 m, height: 1 m, glass: 0.8788}
materials:
  black: {reflectance: 0.0}
sky: {type: 12, outside: 100 lx, ground: 0.3, sun: {altitude: 60 deg, azimuth: 180 deg,
  illuminance: 0 lx}}
"""


def test_glass_written_in_a_document() -> None:
    """The room of C171-26 as a scene has it: the same window through a wall of 20 cm."""
    stage = build_stage(parse_document(DOCUMENT, "glass.scene.yaml"))
    direct, bounced = trace_probes(trace(stage, BUDGET), WINDOW.probes()).mean()
    assert_allclose(bounced, 0.0)  # pencil: nothing reflects
    found = direct[0] @ np.array(LUMINANCE_WEIGHTS)

    def through_the_wall(start: Float64Array, way: Float64Array) -> BoolArray:
        inner = start + (start[1] / -way[..., 1:2]) * way
        across, up = np.abs(inner[..., 0] - 2.0) < 1.0, np.abs(inner[..., 2] - 1.5) < 0.5
        return np.asarray(across & up)

    outside = Case(
        (3.0, -0.2, 1.0), WINDOW.edge_u, WINDOW.edge_v, WINDOW.kind, WINDOW.wall, WINDOW.floor
    )
    within_table(found, summed(outside, fresnel, passes=through_the_wall))


def test_whole_wall_open() -> None:
    """C171-25 (5.11): 4 × 3 m, sky type 5, ground of reflectance 0.3; without noise."""
    assert_allclose(summed(OPEN_WALL, unglazed), OPEN_WALL.table(), atol=0.01)
    within_table(traced(OPEN_WALL, glazed=False), OPEN_WALL.table())


# source: C171-27, the sky's part on the floor from G on
UNDER_A_MASK = [0.87, 1.31, 2.02, 3.20, 4.66, 5.60, 3.84, 0.0]


def test_mask_outside() -> None:
    """C171-27 (5.13): a black mask 1 m deep, level with the ceiling and without ends, sky type 1.

    Where the mask ends, z = 3 and y = −1, our sky begins: an opening there, seen through the window
    alone. Most shadow rays to it are hidden, so that readings are noisy; it was 0.3 % at worst, so
    the tolerance is that of the cases without noise, not the 3 % allowed to noisy ones.
    """

    def under_the_mask(start: Float64Array, way: Float64Array) -> BoolArray:
        return np.asarray(start[2] + (start[1] + 1.0) * way[..., 2] / -way[..., 1] < 3.0)

    case = Case(WINDOW.corner, WINDOW.edge_u, WINDOW.edge_v, 1, [0.0] * 6, UNDER_A_MASK)
    by_sum = summed(case, unglazed, passes=under_the_mask)[6:]
    assert_allclose(by_sum, UNDER_A_MASK, atol=0.01)
    source = sky_opening(
        "outside", np.array([5.0, -1.0, 1.0]), edge_u=np.array([-6.0, 0.0, 0.0]),
        edge_v=np.array([0.0, 0.0, 2.0]), daylight=case.daylight(), colour=WHITE,
    )  # fmt: skip
    wall = [
        rectangle(name, low, edge_u=(0.0, 0.0, size[1]), edge_v=(size[0], 0.0, 0.0), grain=COARSE)
        for name, low, size in (
            ("left", (0.0, 0.0, 0.0), (1.0, 3.0)),
            ("right", (3.0, 0.0, 0.0), (1.0, 3.0)),
            ("under", (1.0, 0.0, 0.0), (2.0, 1.0)),
            ("over", (1.0, 0.0, 2.0), (2.0, 1.0)),
        )
    ]
    room = box_room((4.0, 4.0, 3.0), grain=COARSE, leave_out=("y0",))
    found = read(source, FLOOR_INWARD, room, *wall)
    within_table(found, np.array(UNDER_A_MASK))
