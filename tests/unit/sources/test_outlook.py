"""What is seen outside: a skyline, buildings by their faces, the cells that rays are kept by."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numba import njit
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.stages import WHITE

from falloff.daylight import Daylight, general_sky, overcast_sky, sky_luminance
from falloff.sources import (
    BUILDING_SIZE,
    OPEN_COUNTRY,
    SKY_CELLS,
    Outlook,
    Source,
    above_skyline,
    distance_to_building,
    opening_illuminance,
    sky_opening,
    sun,
)
from falloff.sources.outlook import building_met
from falloff.sources.records import CELL_SIDE, FACES, SKY_HEAD
from falloff.transport.kept import (
    behind_skyline,
    evened,
    luminance_outside,
    shaded_outside,
    telling,
)
from falloff.transport.kernels_emission import (
    building_ahead,
    cell_ways,
    outside_cell,
    seen_luminance,
    under_skyline,
)
from falloff.types import Float64Array
from falloff.units import Lux

STEPS = 720
HOUSE = (0.0, 20.0, math.cos(0.3), math.sin(0.3), 6.0, 3.0, -0.3, 8.0, 10.0, 20.0, 30.0, 40.0, 50.0)
SHED = (-8.0, 9.0, 1.0, 0.0, 2.0, 2.0, -0.3, 3.0, 11.0, 21.0, 31.0, 41.0, 51.0)
BUILDINGS = np.array([HOUSE, SHED])
CLEAR = general_sky(
    12, sun_altitude_rad=0.6, sun_azimuth_rad=1.2, horizontal_lux=12_000.0, sun_normal_lux=80_000.0
)
OVERCAST = overcast_sky(Lux(10_000.0))


@njit
def _seen(kind, shape, table, x, y, z, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return seen_luminance(kind, shape, table, x, y, z, dx, dy, dz)


@njit
def _cell(table, x, y, z, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return outside_cell(table, x, y, z, dx, dy, dz)


@njit
def _face(table, x, y, z, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return building_ahead(table, x, y, z, dx, dy, dz)


@njit
def _under(table, dx, dy, dz):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202
    return under_skyline(table, dx, dy, dz)


def ridge(steps: int = STEPS) -> Float64Array:
    """A skyline that rises from level in the east to 20° in the west and back."""
    turn = 2.0 * math.pi * np.arange(steps) / steps
    return np.asarray(np.sin(np.radians(10.0) * (1.0 - np.cos(turn))))


def hole(
    daylight: Daylight = CLEAR,
    *,
    skyline: Float64Array | None = None,
    buildings: Float64Array | None = None,
    straight: float = 1.0,
) -> Source:
    """A hole one metre square in the plane y = 0, with the outside beyond it towards +y."""
    rows = np.empty((0, BUILDING_SIZE)) if buildings is None else buildings
    line = np.empty(0) if skyline is None else skyline
    return sky_opening(
        "w",
        np.array([1.0, 0.0, 1.0]),
        edge_u=np.array([-1.0, 0.0, 0.0]),
        edge_v=np.array([0.0, 0.0, 1.0]),
        daylight=daylight,
        colour=WHITE,
        straight=straight,
        outlook=Outlook(rows, line, 77.0),
    )


def ways(count: int = 4000, seed: int = 3) -> Float64Array:
    """Unit ways, even over the sphere."""
    found = np.random.default_rng(seed).normal(size=(count, 3))
    return np.asarray(found / np.linalg.norm(found, axis=1, keepdims=True))


def way(turn_deg: float, altitude_deg: float) -> Float64Array:
    turn, rise = math.radians(turn_deg), math.radians(altitude_deg)
    flat = math.cos(rise)
    return np.array([flat * math.cos(turn), flat * math.sin(turn), math.sin(rise)])


# The skyline -----------------------------------------------------------------------------


def test_a_table_holds_the_skyline_behind_its_buildings() -> None:
    table = hole(skyline=ridge(), buildings=BUILDINGS).table
    assert (table[0], table[12], table[13]) == (2.0, STEPS, 77.0)
    assert_array_equal(table[SKY_HEAD + 2 * BUILDING_SIZE :], ridge())
    assert hole().table[12] == 0.0


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 135.25, 180.0, 270.0, 359.9])
def test_what_is_lower_than_the_skyline_is_what_stands_on_it(turn_deg: float) -> None:
    """pencil: its altitude at a turn is 10° (1 − cos)."""
    source = hole(skyline=ridge())
    edge = 10.0 * (1.0 - math.cos(math.radians(turn_deg)))
    over = way(turn_deg, edge + 0.01)
    sky = float(sky_luminance(CLEAR, over))
    place = (0.5, 0.0, 1.5)
    assert_allclose(_seen(source.kind, source.shape, source.table, *place, *over), sky, rtol=1e-5)
    if edge > 0.1:
        under = way(turn_deg, edge - 0.01)
        assert _seen(source.kind, source.shape, source.table, *place, *under) == 77.0
    down = way(turn_deg, -1.0)
    assert_allclose(
        _seen(source.kind, source.shape, source.table, *place, *down), CLEAR.ground_nit, rtol=1e-6
    )


def test_between_its_steps_the_sine_runs_straight() -> None:
    """pencil: of four points 0, 0.4, 0, 0 the middle of the first step lies at 0.2."""
    line = np.array([0.0, 0.4, 0.0, 0.0])
    table = hole(skyline=line).table
    for turn_deg, sine in ((45.0, 0.2), (22.5, 0.1), (90.0, 0.4), (112.5, 0.3), (315.0, 0.0)):
        for side in (-1e-4, 1e-4):
            rise = math.degrees(math.asin(max(sine + side, 1e-6)))
            toward = way(turn_deg, rise)
            hidden = side < 0.0 < sine
            assert bool(_under(table, *toward)) is hidden
            assert bool(above_skyline(line, toward)) is not hidden


@pytest.mark.parametrize("line", [ridge(), ridge(7), np.array([0.3, 0.1])])
def test_both_ways_of_asking_agree(line: Float64Array) -> None:
    """Consistency: the array and the kernel."""
    table, toward = hole(skyline=line).table, ways()
    kernel = np.array([_under(table, *one) for one in toward])
    assert_array_equal(kernel, ~above_skyline(line, toward))


def test_level_country_hides_nothing() -> None:
    assert above_skyline(np.empty(0), ways()).all()


def test_a_skyline_takes_its_part_of_what_falls_on_an_opening() -> None:
    """pencil: an even sky over a dark ridge 30° high all round gives cos² 30° of its half.

    Of a level plane: E = π L cos² h; here it is asked of an opening that lies flat.
    """
    even = general_sky(
        5, sun_altitude_rad=1.0, sun_azimuth_rad=0.0, horizontal_lux=1000.0 * math.pi
    )
    line = np.full(STEPS, 0.5)
    inward = np.array([0.0, 0.0, -1.0])
    black = Outlook(OPEN_COUNTRY.buildings, line, 0.0)
    found = opening_illuminance(np.zeros(3), inward, even, black)
    assert_allclose(found, math.pi * 1000.0 * 0.75, rtol=5e-3)
    grey = Outlook(OPEN_COUNTRY.buildings, line, 200.0)
    # pencil: the ridge fills the rest, a quarter of the plane's half sphere by cosine
    assert_allclose(
        opening_illuminance(np.zeros(3), inward, even, grey) - found, math.pi * 200.0 * 0.25,
        rtol=2e-2,
    )  # fmt: skip


# The sun ---------------------------------------------------------------------------------


def sun_behind(outlook: Outlook, toward: Float64Array) -> float:
    """Luminance seen towards the sun's middle from an open place."""
    source = sun("sun", toward_sun=toward, normal_lux=90_000.0, colour=WHITE, outlook=outlook)
    return float(_seen(source.kind, source.shape, source.table, 0.0, 0.0, 1.0, *toward))


@pytest.mark.parametrize(("altitude_deg", "seen"), [(19.9, False), (20.1, True)])
def test_the_sun_behind_the_ridge(altitude_deg: float, seen: bool) -> None:
    """pencil: 20° due west, at a half turn."""
    toward = way(180.0, altitude_deg)
    found = sun_behind(Outlook(OPEN_COUNTRY.buildings, ridge(), 0.0), toward)
    assert (found > 1e9) is seen
    assert sun_behind(OPEN_COUNTRY, toward) > 1e9


@pytest.mark.parametrize(("altitude_deg", "seen"), [(21.0, False), (24.0, True)])
def test_the_sun_behind_a_building(altitude_deg: float, seen: bool) -> None:
    """pencil: its near face at 17 m, its top 7 m above the eye: 22.4° seen square on."""
    row = np.array([[0.0, 20.0, 1.0, 0.0, 6.0, 3.0, -0.3, 8.0, *(5 * [9.0])]])
    found = sun_behind(Outlook(row, np.empty(0), 0.0), way(90.0, altitude_deg))
    assert (found > 1e9) is seen


# Buildings by their faces ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "toward", "face"),
    [
        # pencil, of a building that is not turned: −x, +x, −y, +y, top
        ((-20.0, 9.0, 1.0), (1.0, 0.0, 0.0), 0),
        ((5.0, 9.0, 1.0), (-1.0, 0.0, 0.0), 1),
        ((-8.0, 0.0, 1.0), (0.0, 1.0, 0.0), 2),
        ((-8.0, 20.0, 1.0), (0.0, -1.0, 0.0), 3),
        ((-8.0, 9.0, 9.0), (0.0, 0.0, -1.0), 4),
        ((-8.0, 0.0, 9.0), (0.0, 0.8, -0.6), 4),
    ],
)
def test_which_face_a_ray_meets(
    start: tuple[float, float, float], toward: tuple[float, float, float], face: int
) -> None:
    distance, found = building_met(np.array(SHED), np.array(start), np.array(toward))
    assert np.isfinite(distance)
    assert int(found) == face
    table = hole(buildings=np.array([SHED])).table
    assert _face(table, *start, *toward) == face
    source = hole(buildings=np.array([SHED]))
    seen = _seen(source.kind, source.shape, source.table, *start, *toward)
    assert seen == SHED[8 + face]


def test_both_ways_of_meeting_buildings_agree() -> None:
    """Consistency: the array and the kernel, over many rays from many places."""
    rng = np.random.default_rng(5)
    start = rng.uniform([-20.0, -5.0, 0.5], [20.0, 5.0, 2.5], (3000, 3))
    toward = ways(3000, 6)
    toward[:, 1] = np.abs(toward[:, 1])
    toward[:, 2] *= 0.3
    toward /= np.linalg.norm(toward, axis=1, keepdims=True)
    table = hole(buildings=BUILDINGS).table
    kernel = np.array([_face(table, *a, *b) for a, b in zip(start, toward, strict=True)])
    met = [building_met(row, start, toward) for row in BUILDINGS]
    distance = np.stack([one[0] for one in met])
    first = distance.argmin(0)
    face = np.stack([one[1] for one in met])[first, np.arange(len(start))]
    wanted = np.where(np.isfinite(distance.min(0)), FACES * first + face, -1)
    assert_array_equal(kernel, wanted)
    assert len(set(kernel)) >= 6
    assert_array_equal(distance_to_building(BUILDINGS[0], start, toward), distance[0])


# Cells -----------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def middles() -> Float64Array:
    out = np.empty((SKY_CELLS, 3))
    cell_ways(out)
    return out


def test_the_middle_of_each_cell_lies_in_it(middles: Float64Array) -> None:
    table = hole().table
    assert_allclose(np.linalg.norm(middles, axis=1), 1.0, atol=1e-12)
    assert middles[:, 2].min() > 0.0
    some = np.concatenate([np.arange(0, SKY_CELLS, 7), np.arange(CELL_SIDE * 2)])
    found = [_cell(table, 0.0, 0.0, 1.0, *middles[k]) for k in some]
    assert_array_equal(found, some)


def test_cells_are_of_even_solid_angle() -> None:
    """pencil: 2π over all; by chance, as many rays of a million in each 25 × 25 of them.

    χ² of 99 degrees: 99 ± 14; four of those.
    """
    table, toward = hole().table, ways(200_000, 8)
    toward[:, 2] = np.abs(toward[:, 2])
    found = np.array([_cell(table, 0.0, 0.0, 1.0, *one) for one in toward])
    coarse = (found // CELL_SIDE // 25) * 10 + found % CELL_SIDE // 25
    counts = np.bincount(coarse, minlength=100)
    expected = len(toward) / 100.0
    assert ((counts - expected) ** 2 / expected).sum() < 99.0 + 4.0 * 14.1


def test_no_cell_is_much_wider_than_it_is_high(middles: Float64Array) -> None:
    """Consistency: a ray lies near the middle of its cell; pencil: even ones are 0.57° wide."""
    table, toward = hole().table, ways(4000, 9)
    toward[:, 2] = np.abs(toward[:, 2])
    cells = np.array([_cell(table, 0.0, 0.0, 1.0, *one) for one in toward])
    apart = np.degrees(np.arccos(np.clip((toward * middles[cells]).sum(1), -1.0, 1.0)))
    assert apart.max() < 1.0
    assert apart.mean() < 0.4
    assert_allclose(math.degrees(math.sqrt(2.0 * math.pi / SKY_CELLS)), 0.57, atol=0.01)


def test_ground_and_faces_have_cells_of_their_own() -> None:
    table = hole(buildings=BUILDINGS).table
    assert _cell(table, 0.0, 0.0, 1.0, *way(90.0, -30.0)) == SKY_CELLS
    assert _cell(table, 0.0, 0.0, 1.0, *way(-90.0, -30.0)) == SKY_CELLS
    assert _cell(table, -8.0, 0.0, 1.0, 0.0, 1.0, 0.0) == SKY_CELLS + 1 + FACES + 2  # the shed
    assert SKY_CELLS + 1 + FACES * 2 < 65_535


@pytest.mark.parametrize("daylight", [CLEAR, OVERCAST])
def test_cells_shine_as_what_lies_in_their_middle(
    daylight: Daylight, middles: Float64Array
) -> None:
    """Consistency with the sky itself; ground, faces and skyline are as they are told."""
    source = hole(daylight, skyline=ridge(), buildings=BUILDINGS, straight=0.6)
    found = luminance_outside(source)
    hidden = ~above_skyline(ridge(), middles)
    wanted = np.where(hidden, 77.0, sky_luminance(daylight, middles))
    assert 0.05 < hidden.mean() < 0.3
    assert_allclose(found[:SKY_CELLS], 0.6 * wanted, rtol=1e-5)
    assert_allclose(found[SKY_CELLS], 0.6 * daylight.ground_nit, rtol=1e-6)
    assert_allclose(found[SKY_CELLS + 1 :], 0.6 * BUILDINGS[:, 8:].ravel(), rtol=1e-6)
    assert_array_equal(behind_skyline(source), hidden)


def test_a_sky_in_the_shade_keeps_its_sky_alone(middles: Float64Array) -> None:
    """What the sun lit out there is as the other source has it; the sky's own cells stay."""
    source = hole(skyline=ridge(), buildings=BUILDINGS)
    dark = hole(skyline=ridge(), buildings=BUILDINGS.copy())
    dark.table[13] = 5.0
    dark.shape[14] = 6.0
    dark.table[SKY_HEAD + 8 : SKY_HEAD + 13] = 7.0
    bright, behind = luminance_outside(source), behind_skyline(source)
    found = shaded_outside(bright, dark, behind)
    assert_array_equal(found[:SKY_CELLS][~behind], bright[:SKY_CELLS][~behind])
    assert_allclose(found[:SKY_CELLS][behind], 5.0)
    assert_allclose(found[SKY_CELLS], 6.0)
    assert_allclose(found[SKY_CELLS + 1 : SKY_CELLS + 6], 7.0)
    assert_allclose(found[SKY_CELLS + 6 :], SHED[8:])
    assert bright[SKY_CELLS] != 6.0  # what it was made from is left as it was


def test_twins_shine_one_everywhere_and_tell_their_cells(middles: Float64Array) -> None:
    source = hole(skyline=ridge(), buildings=BUILDINGS, straight=0.3)
    before = source.table.copy()
    even, tells = evened(source), telling(source)
    assert_array_equal(source.table, before)
    place = (0.5, 0.0, 1.5)
    for one in (*ways(300, 11), *middles[::5000]):
        assert _seen(tells.kind, tells.shape, tells.table, *place, *one) == _cell(
            source.table, *place, *one
        )
    assert_array_equal(even.shape[13:15], [1.0, 1.0])
