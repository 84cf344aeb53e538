"""The sun: how much, where its patch falls, how soft its edge is, and what keeps it out."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.scenes.stages import WHITE, box_room, rectangle, stage_of

from falloff.daylight import overcast_sky
from falloff.rays import RayScene
from falloff.sources import SUN_RADIUS_RAD, Outlook, Source, sky_opening, sun
from falloff.stage import Grain, Stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.stage.solids import add_box
from falloff.transport import Budget, Solution, retrace, revise, trace
from falloff.transport.direct import Receivers, direct_light
from falloff.transport.sights import empty_sights, read_sights
from falloff.types import Float32Array, Float64Array
from falloff.units import Lux

NORMAL_LUX = 90_000.0
ROOM = (4.0, 3.0, 2.5)
# The window, 1 × 1.2 m, in the wall y = 0, looked at from within; edge_u × edge_v points to +y.
WINDOW = np.array([[2.5, 0.0, 0.8, -1.0, 0.0, 0.0, 0.0, 0.0, 1.2]])
# 40° up, out through the wall y = 0, a little towards −x.
ALTITUDE = math.radians(40.0)
TOWARD = np.array(
    [
        -math.cos(ALTITUDE) * math.sin(0.2),
        -math.cos(ALTITUDE) * math.cos(0.2),
        math.sin(ALTITUDE),
    ]
)


def room_with_a_window() -> list[Piece]:
    """A box whose wall y = 0 is open but for four sheets round the window."""
    room = box_room(ROOM, grain=Grain(0.2, 0.1), leave_out=("y0",), materials={"z0": "oak"})
    rows = (
        ("left", (0.0, 0.0, 0.0), (1.5, 2.5)),
        ("right", (2.5, 0.0, 0.0), (1.5, 2.5)),
        ("under", (1.5, 0.0, 0.0), (1.0, 0.8)),
        ("over", (1.5, 0.0, 2.0), (1.0, 0.5)),
    )
    sheets = [
        rectangle(name, low, edge_u=(0.0, 0.0, size[1]), edge_v=(size[0], 0.0, 0.0))
        for name, low, size in rows
    ]
    return [room, *sheets]


def sunlight(**changes: object) -> Source:
    given: dict[str, object] = {"holes": WINDOW} | changes
    return sun("SUN", toward_sun=TOWARD, normal_lux=NORMAL_LUX, colour=WHITE, **given)  # type: ignore[arg-type]


def light_at(
    scene: RayScene, source: Source, points: Float64Array, *, normal: Float64Array, rays: int = 1024
) -> Float32Array:
    receivers = Receivers(
        points.astype(np.float32),
        np.tile(normal.astype(np.float32), (len(points), 1)),
        np.ones(len(points), np.bool_),
    )
    return direct_light(scene, source, receivers, per_point=rays, seed=6)


UP = np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize("degrees", [0.0, 30.0, 80.0, 120.0])
def test_open_ground_gets_the_cosine(degrees: float) -> None:
    floor = rectangle("floor", (-1.0, -1.0, -9.0), edge_u=(2.0, 0.0, 0.0), edge_v=(0.0, 2.0, 0.0))
    scene = RayScene(stage_of([floor]).surfaces.corners)
    aside = np.array([math.sin(math.radians(degrees)), 0.0, math.cos(math.radians(degrees))])
    source = sun("SUN", toward_sun=UP, normal_lux=NORMAL_LUX, colour=WHITE)
    found = light_at(scene, source, np.zeros((1, 3)), normal=aside)[0]
    expected = NORMAL_LUX * max(0.0, math.cos(math.radians(degrees)))  # pencil
    assert_allclose(found, expected, rtol=1e-4, atol=1e-6)


def test_luminance_of_the_disc() -> None:
    """From memory: some 1.6e9 cd/m² for 100 000 lx; pencil: E/(π sin²α)."""
    source = sun("SUN", toward_sun=UP, normal_lux=100_000.0, colour=WHITE)
    assert_allclose(source.shape[13], 1.47e9, rtol=0.01)
    assert_allclose(source.shape[12], 6.80e-5, rtol=2e-3)  # source: the sun's 6.8e-5 sr


@pytest.mark.parametrize("height_m", [0.5, 1.0, 3.0])
def test_penumbra(height_m: float) -> None:
    """SOF-10: 9.30 mm wide for each metre from the edge that throws it; a disc's share in it."""
    screen = rectangle(
        "screen", (-8.0, -4.0, height_m), edge_u=(0.0, 8.0, 0.0), edge_v=(8.0, 0.0, 0.0)
    )
    scene = RayScene(stage_of([screen]).surfaces.corners)
    source = sun("SUN", toward_sun=UP, normal_lux=1.0, colour=WHITE)
    radius = height_m * math.tan(SUN_RADIUS_RAD)
    x = np.linspace(-1.2, 1.2, 241) * radius
    points = np.stack([x, np.zeros(241), np.zeros(241)], 1)
    light = light_at(scene, source, points, normal=UP, rays=4096).astype(np.float64)
    lit, dark = x[light > 0.999].min(), x[light < 0.001].max()
    assert_allclose((lit - dark) / height_m, 0.00930, rtol=0.04)  # source: SOF-10; 1 % of its area
    assert_allclose(light, _share_of_disc(x / radius), atol=0.005)
    # The width of the disc's share that fits best.
    widths = np.linspace(0.0088, 0.0098, 501) * height_m
    misfit = [np.square(light - _share_of_disc(2.0 * x / width)).sum() for width in widths]
    found = widths[int(np.argmin(misfit))] / height_m
    assert_allclose(found, 0.00930, rtol=5e-3)  # source: SOF-10


def _share_of_disc(t: Float64Array) -> Float64Array:
    """pencil: share of a disc on one side of a line t radii past its middle."""
    t = np.clip(t, -1.0, 1.0)
    return np.asarray(0.5 + (t * np.sqrt(1.0 - t**2) + np.arcsin(t)) / math.pi)


@pytest.fixture(scope="module")
def sunny() -> tuple[Stage, Solution]:
    stage = stage_of(room_with_a_window(), sources=[sunlight()], reflectances={"oak": 0.3})
    return stage, trace(stage, Budget())


def test_patch_on_the_floor_lies_where_the_window_throws_it(
    sunny: tuple[Stage, Solution],
) -> None:
    """pencil: a corner of the window at height h lands h/tan(altitude) away from it."""
    _, solution = sunny
    reach = 1.0 / math.tan(ALTITUDE)
    along = np.array([math.sin(0.2), math.cos(0.2)]) * reach
    x, y = np.meshgrid(np.linspace(0.1, 3.9, 77), np.linspace(0.05, 2.95, 59))
    points = np.stack([x.ravel(), y.ravel(), np.full(x.size, 1e-3)], 1)
    light = light_at(solution.scene, sunlight(), points, normal=UP, rays=64)
    height = points[:, 1] / along[1]
    across = points[:, 0] - height * along[0]
    inside = np.minimum(
        np.minimum(across - 1.5, 2.5 - across), np.minimum(height - 0.8, 2.0 - height)
    )
    lit, dark = inside > 0.02, inside < -0.02
    assert lit.sum() > 200
    assert_allclose(light[lit], NORMAL_LUX * math.sin(ALTITUDE), rtol=1e-3)
    assert_array_equal(light[dark], 0.0)


def test_flux_that_comes_in_lands(sunny: tuple[Stage, Solution]) -> None:
    """pencil: E_n cosθ A of the window, within 0.0003 stop, and each element its own lux."""
    stage, solution = sunny
    expected = NORMAL_LUX * math.cos(ALTITUDE) * math.cos(0.2) * 1.2
    assert_allclose(stage.sources[0].flux_lm, expected)
    area = stage.surfaces.element_area_m2.astype(np.float64)
    landed = float(solution.direct[0].astype(np.float64) @ area)
    assert abs(math.log2(landed / expected)) < 0.0003
    lit = solution.direct[0] > 0.9 * NORMAL_LUX * math.sin(ALTITUDE)
    assert 100 <= lit.sum() <= 190  # pencil: 1.43 m² of patch in elements of 0.01 m², rim and all
    middle = np.median(solution.direct[0][lit])
    assert_allclose(middle, NORMAL_LUX * math.sin(ALTITUDE), rtol=0.02)


def test_share_let_through_scales_all() -> None:
    plain, glazed = sunlight(), sunlight(straight_share=np.array([0.7]))
    assert_allclose(glazed.flux_lm, 0.7 * plain.flux_lm)  # pencil
    scene = RayScene(stage_of(room_with_a_window()).surfaces.corners)
    point = np.array([[2.2, 1.6, 1e-3]])
    bare, under = (float(light_at(scene, s, point, normal=UP)[0]) for s in (plain, glazed))
    assert_allclose(under, 0.7 * bare, rtol=1e-6)
    assert bare > 50_000.0


def _building(top_m: float) -> Float64Array:
    """A wall 10 m before the window, as wide as a street."""
    return np.array([[0.0, -15.0, 1.0, 0.0, 50.0, 5.0, 0.0, top_m, *(5 * [100.0])]])


def test_building_across_the_street_keeps_the_sun_out() -> None:
    """pencil: its edge at 10 m hides the sun from below 10 m · tan 40° / cos 0.2 less than it."""
    scene = RayScene(stage_of(room_with_a_window()).surfaces.corners)
    point = np.array([[2.2, 1.6, 1e-3]])
    # From the point the near face is 11.6 m away along −y.
    edge = 11.6 * math.tan(ALTITUDE) / math.cos(0.2)
    over, under = (
        float(
            light_at(
                scene, sunlight(outlook=Outlook(_building(top), np.empty(0))), point, normal=UP
            )[0]
        )
        for top in (edge + 0.1, edge - 0.1)
    )
    assert over == 0.0
    assert_allclose(under, NORMAL_LUX * math.sin(ALTITUDE), rtol=1e-3)


def test_building_that_shades_half_the_window_takes_half_the_flux() -> None:
    """pencil: its shadow's edge falls on the window's middle, 1.4 m up."""
    top = 1.4 + 10.0 * math.tan(ALTITUDE) / math.cos(0.2)
    stage = stage_of(
        room_with_a_window(), sources=[sunlight(outlook=Outlook(_building(top), np.empty(0)))]
    )
    solution = trace(stage, Budget())
    area = stage.surfaces.element_area_m2.astype(np.float64)
    landed = float(solution.direct[0].astype(np.float64) @ area)
    assert_allclose(landed / sunlight().flux_lm, 0.5, atol=5e-3)


def test_board_before_the_window_shades_the_room() -> None:
    """A thing outside, higher up the rays, takes its share of flux and of readings alike."""
    board = rectangle(
        "board", (-3.0, -1.0, 0.0), edge_u=(0.0, 0.0, 9.0), edge_v=(9.0, 0.0, 0.0)
    )  # looks towards −y, so that rays from the room meet its back
    stage = stage_of([*room_with_a_window(), board], sources=[sunlight()])
    solution = trace(stage, Budget())
    room = slice(0, stage.bodies["board"].elements[0])
    assert_array_equal(solution.direct[0][room], 0.0)  # pencil
    point = np.array([[2.2, 1.6, 1e-3]])
    assert light_at(solution.scene, sunlight(), point, normal=UP)[0] == 0.0  # pencil


def test_sun_behind_the_house_gives_nothing() -> None:
    source = sun(
        "SUN",
        toward_sun=TOWARD * (1.0, -1.0, 1.0),
        normal_lux=NORMAL_LUX,
        colour=WHITE,
        holes=WINDOW,
    )
    assert source.flux_lm == 0.0  # pencil
    solution = trace(stage_of(room_with_a_window(), sources=[source]), Budget())
    assert_array_equal(solution.direct, 0.0)


def test_camera_sees_the_disc_before_the_sky() -> None:
    """Rays from the patch towards the sun see it; beside it, the sky."""
    sky = sky_opening(
        "SKY",
        WINDOW[0, 0:3],
        edge_u=WINDOW[0, 3:6],
        edge_v=WINDOW[0, 6:9],
        daylight=overcast_sky(Lux(10_000.0)),
        colour=WHITE,
    )
    for order in ((sky, sunlight()), (sunlight(), sky)):
        stage = stage_of(room_with_a_window(), sources=order)
        aside = np.cross(TOWARD, UP) / np.linalg.norm(np.cross(TOWARD, UP))
        ways = np.stack([TOWARD + math.tan(a * SUN_RADIUS_RAD) * aside for a in (0.0, 0.97, 1.03)])
        ways /= np.linalg.norm(ways, axis=1, keepdims=True)
        sights = empty_sights(3)
        read_sights(
            stage,
            RayScene(stage.surfaces.corners),
            3,
            np.tile(np.array([2.2, 1.6, 0.01], np.float32), (3, 1)),
            ways.astype(np.float32),
            np.arange(3),
            sights,
        )
        names = [stage.sources[s].name for s in sights.seen]
        assert names == ["SUN", "SUN", "SKY"]
        assert_allclose(
            sights.luminance[:2], NORMAL_LUX / (math.pi * math.sin(SUN_RADIUS_RAD) ** 2), rtol=1e-6
        )


def _with_box(x_m: float) -> Stage:
    builder = PieceBuilder("box", Grain())
    axes = (np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), np.array([0, 0, 1.0]))
    add_box(builder, np.array([x_m, 1.2, 0.5]), axes, (0.3, 0.3, 1.0), "oak", "")
    return stage_of(
        [*room_with_a_window(), builder.build()], sources=[sunlight()], reflectances={"oak": 0.3}
    )


def test_moved_body_equals_a_new_trace() -> None:
    before, after = _with_box(2.0), _with_box(2.4)
    moved = retrace(trace(before, Budget()), after, "box")
    anew = trace(after, Budget())
    assert_array_equal(moved.direct, anew.direct)
    assert_array_equal(moved.radiosity, anew.radiosity)


def test_stronger_sun_is_scaled() -> None:
    pieces = room_with_a_window()
    first = trace(stage_of(pieces, sources=[sunlight()]), Budget())
    half = sun("SUN", toward_sun=TOWARD, normal_lux=0.5 * NORMAL_LUX, colour=WHITE, holes=WINDOW)
    later = revise(first, stage_of(pieces, sources=[half]))
    assert_allclose(later.direct, 0.5 * first.direct, rtol=1e-6)  # pencil
