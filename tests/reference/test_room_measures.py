"""Rooms measured with a pencil: areas of floors, slopes and walls less their holes, and volumes.

Source: plane geometry by hand. Volumes by the divergence theorem over the triangles, so that a
missing or turned face shows; rays from inside, so that a crack or a hole too many shows.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.houses import (
    areas_m2,
    box,
    built,
    crosses,
    deg,
    door,
    escapes,
    house,
    m,
    room,
    skylight,
    triangle_areas_m2,
    volume_m3,
    window,
)

from falloff.document import Gable, LeanTo, Opening, Room
from falloff.stage.openings import sky_holes
from falloff.stage.records import Piece
from falloff.types import Float64Array

AREA_TOLERANCE = 1e-4  # of itself; element areas are kept as float32
VOLUME_TOLERANCE = 1e-5
INSIDE = np.array([[1.0, 1.0, 1.1], [1.4, 1.6, 0.4], [1.7, 0.7, 1.9]])

L_SHAPE = [(0.0, 0.0), (5.0, 0.0), (5.0, 2.0), (2.2, 2.0), (2.2, 4.0), (0.0, 4.0)]
ALCOVE = [(0, 0), (1.5, 0), (1.5, -0.5), (2.7, -0.5), (2.7, 0), (5, 0), (5, 4), (0, 4)]
RECTANGLE = box(0.0, 0.0, width=5.0, depth=4.0)


def turned(corners: list[tuple[float, float]], degrees: float) -> list[tuple[float, float]]:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return [(c * x - s * y, s * x + c * y) for x, y in corners]


def gable(eaves: float, ridge: float, along: float = 0.0) -> Gable:
    return Gable(eaves=m(eaves), ridge=m(ridge), ridge_along=deg(along))


def lean_to(low: float, high: float, toward: float) -> LeanTo:
    return LeanTo(low=m(low), high=m(high), rises_toward=deg(toward))


def walls_m2(areas: dict[str, float]) -> float:
    return sum(area for name, area in areas.items() if name.startswith("wall "))


def check_closed(piece: Piece, origins: Float64Array = INSIDE) -> None:
    _, _, out = escapes(piece, origins)
    assert out.sum() == 0


# Closed rooms ----------------------------------------------------------------------------

# pencil, all of it: floor, ceiling, walls together (m²), volume (m³)
CLOSED = {
    # 5 × 2 + 2.2 × 2; round it 18 m, 2.5 m high
    "L": (room(L_SHAPE, 2.5), 14.4, 14.4, 45.0, 36.0),
    # 5 × 4 + 1.2 × 0.5; round it 18 m + 2 × 0.5 m, 2.6 m high
    "alcove": (room(ALCOVE, 2.6), 20.6, 20.6, 49.4, 53.56),
    # two slopes that rise 2 m over 2 m; eaves 2 × 5 × 1.2, gables 2 × 4 × (1.2 + 3.2) / 2
    "gable attic": (
        room(RECTANGLE, 3.2, slope=gable(1.2, 3.2)), 20.0, 20.0 * math.sqrt(2.0), 29.6, 44.0,
    ),
    # the same with its eaves on the floor: no walls at the eaves, gables 2 × 4 × 2 / 2
    "tent": (room(RECTANGLE, 2.0, slope=gable(0.0, 2.0)), 20.0, 20.0 * math.sqrt(2.0), 8.0, 20.0),
    # over the L the ridge is at y = 2: a half with 5 × 2 and one with 2.2 × 2, both 2.2 m on
    # average; walls 5 × 1.2, 2 × 2.2, 2.8 × 3.2 under the ridge, 2 × 2.2, 2.2 × 1.2, 4 × 2.2
    "gable over an L": (
        room(L_SHAPE, 3.2, slope=gable(1.2, 3.2)),
        14.4, 14.4 * math.sqrt(2.0), 6.0 + 4.4 + 8.96 + 4.4 + 2.64 + 8.8, 31.68,
    ),
    "gable, all of it turned": (
        room(turned(RECTANGLE, 30.0), 3.2, slope=gable(1.2, 3.2, 30.0)),
        20.0, 20.0 * math.sqrt(2.0), 29.6, 44.0,
    ),
    # rises 1.2 m over 4 m; walls 5 × 2.2 + 5 × 3.4 + 2 × 4 × 2.8
    "lean-to": (
        room(RECTANGLE, 3.4, slope=lean_to(2.2, 3.4, 90.0)),
        20.0, 5.0 * math.hypot(4.0, 1.2), 50.4, 56.0,
    ),
    # rises 1.5 m over 5 m toward −x; walls 2 × 5 × 2.75 + 4 × 2 + 4 × 3.5
    "lean-to the other way": (
        room(RECTANGLE, 3.5, slope=lean_to(2.0, 3.5, 180.0)),
        20.0, 4.0 * math.hypot(5.0, 1.5), 49.5, 55.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CLOSED)
def test_a_closed_room(name: str) -> None:
    held, floor, ceiling, walls, volume = CLOSED[name]
    piece = built(house(held))
    areas = areas_m2(piece)
    assert_allclose(areas["floor"], floor, rtol=AREA_TOLERANCE)
    assert_allclose(areas["ceiling"], ceiling, rtol=AREA_TOLERANCE)
    assert_allclose(walls_m2(areas), walls, rtol=AREA_TOLERANCE)
    assert_allclose(volume_m3(piece), volume, rtol=VOLUME_TOLERANCE)
    check_closed(piece, inside(name))


def inside(name: str) -> Float64Array:
    """Points inside a room of CLOSED."""
    if name == "tent":
        return np.array([[1.0, 1.7, 0.9], [4.0, 2.2, 0.4]])
    if "turned" in name:
        return np.array([[*turned([(x, y)], 30.0)[0], z] for x, y, z in INSIDE])
    return INSIDE


@pytest.mark.parametrize("name", CLOSED)
def test_elements_cover_the_triangles_of_each_surface(name: str) -> None:
    piece = built(house(CLOSED[name][0]))
    elements, triangles = areas_m2(piece), triangle_areas_m2(piece)
    assert elements.keys() == triangles.keys()
    for surface, area in triangles.items():
        assert_allclose(elements[surface], area, rtol=AREA_TOLERANCE, err_msg=surface)


def test_each_wall_of_a_gable() -> None:
    areas = areas_m2(built(house(CLOSED["gable attic"][0])))
    # pencil: eaves 5 × 1.2, gables 4 × 2.2
    for wall, area in ((1, 6.0), (2, 8.8), (3, 6.0), (4, 8.8)):
        assert_allclose(areas[f"wall {wall}"], area, rtol=AREA_TOLERANCE)


def test_every_surface_of_a_sloped_room_looks_inward() -> None:
    piece = built(house(CLOSED["gable attic"][0]))
    toward = np.array([2.5, 2.0, 1.1]) - piece.element_points
    assert ((toward * piece.element_normals).sum(-1) > 0.0).all()


# Doors -----------------------------------------------------------------------------------

HALL = room(box(1.0, 4.15, width=3.0, depth=2.0), 2.4)
# pencil: 0.86 × 2.02 with a frame of 7 cm, on each side
HOLE, FRAMED = 0.86 * 2.02, 1.0 * 2.09
FRAME = (FRAMED - HOLE) + 0.015 * (2 * 2.09 + 1.0) + 0.015 * (2 * 2.02 + 0.86)
# pencil: panels 0.64 wide, 0.22 to 0.909 and 1.019 to 1.91 up, 8 mm deep
PANELS, RECESS = 0.64 * (0.689 + 0.891), 0.008 * 2 * (0.64 + 0.689 + 0.64 + 0.891)
LEAF_FACE = HOLE + RECESS
LEAF_EDGES = 2 * (0.86 + 2.02) * 0.04
LEAF_VOLUME = HOLE * 0.04 - 2 * 0.008 * PANELS
HANDLE_VOLUME = 0.016**2 * (0.04 + 0.11)


def joined(swings: str, hinge: str, opened: float) -> Piece:
    """The rectangle and a hall 15 cm beyond its wall 3, with a door between."""
    leaf = {"swings": swings, "hinge": hinge, "open": deg(opened)}
    return built(
        house(
            room(RECTANGLE, 2.5),
            rooms={"HALL": HALL},
            openings={"DOOR": door(3, 1.7, to="HALL", **leaf)},
        )
    )


@pytest.mark.parametrize("swings", ["in", "out"])
@pytest.mark.parametrize(("hinge", "opened"), [("left", 70.0), ("right", 110.0)])
def test_two_rooms_joined_by_an_open_door(swings: str, hinge: str, opened: float) -> None:
    piece = joined(swings, hinge, opened)
    areas = areas_m2(piece)
    # pencil
    for surface, area in {
        "wall 3": 12.5 - FRAMED,
        "HALL wall 1": 3.0 * 2.4 - FRAMED,
        "HALL floor": 6.0,
        "HALL ceiling": 6.0,
        "HALL wall 2": 4.8,
        "DOOR frame": 2 * FRAME,
        "DOOR lining": 0.15 * (2 * 2.02 + 0.86),
        "DOOR threshold": 0.15 * 0.86,
        "DOOR leaf": 2 * LEAF_FACE + LEAF_EDGES,
    }.items():
        assert_allclose(areas[surface], area, rtol=AREA_TOLERANCE, err_msg=surface)
    bodies = LEAF_VOLUME + 2 * 0.015 * (FRAMED - HOLE) + 2 * HANDLE_VOLUME
    assert_allclose(
        volume_m3(piece), 50.0 + 14.4 + 0.15 * HOLE - bodies, rtol=VOLUME_TOLERANCE
    )  # pencil
    check_closed(piece, np.vstack([INSIDE, [[1.5, 5.0, 1.0], [3.5, 6.0, 2.0]]]))


@pytest.mark.parametrize("swings", ["in", "out"])
def test_two_rooms_with_the_door_shut(swings: str) -> None:
    piece = joined(swings, "left", 0.0)
    areas = areas_m2(piece)
    # pencil: the leaf hides 4 cm of the lining, its edges are in it
    assert_allclose(areas["DOOR lining"], 0.11 * (2 * 2.02 + 0.86), rtol=AREA_TOLERANCE)
    assert_allclose(areas["DOOR leaf"], 2 * LEAF_FACE, rtol=AREA_TOLERANCE)
    bodies = LEAF_VOLUME + 2 * 0.015 * (FRAMED - HOLE) + 2 * HANDLE_VOLUME
    assert_allclose(
        volume_m3(piece), 50.0 + 14.4 + 0.15 * HOLE - bodies, rtol=VOLUME_TOLERANCE
    )  # pencil
    check_closed(piece, np.vstack([INSIDE, [[1.5, 5.0, 1.0], [3.5, 6.0, 2.0]]]))


def test_light_of_one_room_reaches_the_other_only_through_an_open_door() -> None:
    """Rays from the first room end in the hall where the door is open, and nowhere else."""
    far = {opened: _ends_in_hall(joined("in", "left", opened)) for opened in (0.0, 90.0)}
    assert far[0.0] == 0
    assert far[90.0] > 20


def _ends_in_hall(piece: Piece) -> int:
    starts, ways, _ = escapes(piece, np.array([[3.6, 2.0, 1.2]]))
    names = np.array([name.startswith("room: HALL") for name in piece.face_name])
    from falloff.rays import RayScene

    hits = RayScene(piece.corners).first_hit(starts.astype(np.float32), ways.astype(np.float32))
    return int(names[piece.triangle_face[hits.triangle]].sum())


@pytest.mark.parametrize("swings", ["in", "out"])
def test_a_shut_door_out_of_the_scene_closes_the_room(swings: str) -> None:
    piece = built(
        house(room(RECTANGLE, 2.5), openings={"DOOR": door(1, 2.0, swings=swings, hinge="right")})
    )
    areas = areas_m2(piece)
    # pencil: a wall of 20 cm, the leaf 4 cm; a leaf flush with the wall shows no lining
    depth = 0.0 if swings == "in" else 0.16
    assert_allclose(areas.get("DOOR lining", 0.0), depth * (2 * 2.02 + 0.86), rtol=AREA_TOLERANCE)
    added = depth * HOLE + 0.008 * PANELS - 0.015 * (FRAMED - HOLE) - HANDLE_VOLUME
    assert_allclose(volume_m3(piece), 50.0 + added, rtol=VOLUME_TOLERANCE)  # pencil
    check_closed(piece)


# Holes -----------------------------------------------------------------------------------


def test_a_window_with_a_board_at_its_sill() -> None:
    opening = window(2, 1.0, size=(1.2, 1.1), sill=0.9, sill_board=m(0.2))
    areas = areas_m2(built(house(room(RECTANGLE, 2.5), openings={"WINDOW": opening})))
    # pencil: the board is 2.5 cm thick and 3 cm longer at each end
    assert_allclose(areas["wall 2"], 10.0 - 1.32 - 1.26 * 0.025, rtol=AREA_TOLERANCE)
    assert_allclose(areas["WINDOW reveal"], 2 * (1.2 + 1.1) * 0.2, rtol=AREA_TOLERANCE)
    board = 2 * (1.26 * 0.2 + 0.2 * 0.025) + 1.26 * 0.025
    assert_allclose(areas["WINDOW sill"], board, rtol=AREA_TOLERANCE)


def test_a_window_as_high_as_its_wall_leaves_two_walls() -> None:
    opening = window(1, 1.0, size=(1.5, 2.5), sill=0.0)
    areas = areas_m2(built(house(room(RECTANGLE, 2.5), openings={"WINDOW": opening})))
    assert_allclose(areas["wall 1"], 12.5 - 3.75, rtol=AREA_TOLERANCE)  # pencil


def test_a_window_that_is_all_of_its_wall_leaves_none() -> None:
    opening = window(1, 0.0, size=(5.0, 2.5), sill=0.0)
    areas = areas_m2(built(house(room(RECTANGLE, 2.5), openings={"WINDOW": opening})))
    assert "wall 1" not in areas
    assert_allclose(areas["WINDOW reveal"], 2 * 7.5 * 0.2, rtol=AREA_TOLERANCE)  # pencil


@pytest.mark.parametrize(
    ("held", "slope"),
    [
        (room(RECTANGLE, 2.5), 0.0),
        (room(RECTANGLE, 3.4, slope=lean_to(2.2, 3.4, 90.0)), 0.3),
        (room(RECTANGLE, 3.2, slope=gable(1.2, 3.2)), 1.0),
    ],
)
@pytest.mark.parametrize("turn", [0.0, 25.0])
def test_a_skylight(held: Room, slope: float, turn: float) -> None:
    opening = skylight(2.0, 1.0, size=(1.0, 0.8), turn=deg(turn), shaft=m(0.4))
    areas = areas_m2(built(house(held, openings={"SKYLIGHT": opening})))
    # pencil: 0.8 m² of the plan; the sides of an upright shaft are its height by their length
    # on the plan, sloped or not
    ceiling = 20.0 * math.hypot(1.0, slope)
    stretch = math.hypot(1.0, slope)
    assert_allclose(areas["ceiling"], ceiling - 0.8 * stretch, rtol=AREA_TOLERANCE)
    assert_allclose(areas["SKYLIGHT shaft"], 2 * 1.8 * 0.4, rtol=AREA_TOLERANCE)


HOLED: dict[str, tuple[Room, dict[str, Opening]]] = {
    "window": (room(RECTANGLE, 2.5), {"A": window(1, 1.0, size=(1.2, 1.1), sill=0.9)}),
    "window in an alcove": (room(ALCOVE, 2.5), {"A": window(3, 0.1, size=(1.0, 1.1), sill=0.9)}),
    "window down to the floor": (
        room(RECTANGLE, 2.5), {"A": window(2, 0.5, size=(1.2, 2.1), sill=0.0)},
    ),
    "window in a gable": (
        room(RECTANGLE, 3.2, slope=gable(1.2, 3.2)),
        {"A": window(2, 1.5, size=(1.0, 1.6), sill=1.0)},
    ),
    "door to the outside": (
        room(RECTANGLE, 2.5), {"A": door(1, 1.0, to="outside", open=deg(170.0))},
    ),
    "skylight": (room(RECTANGLE, 2.5), {"A": skylight(2.0, 1.0, size=(1.0, 0.8))}),
    "skylight in a slope": (
        room(RECTANGLE, 3.4, slope=lean_to(2.2, 3.4, 90.0)),
        {"A": skylight(2.0, 1.0, size=(1.0, 0.8), turn=deg(20.0))},
    ),
    "two of them": (
        room(L_SHAPE, 3.2, slope=gable(1.8, 3.2)),
        {"A": skylight(2.0, 1.0, size=(1.0, 0.8)), "B": window(1, 3.0, size=(0.8, 0.8), sill=0.8)},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", HOLED)
def test_rays_leave_only_through_the_holes(name: str) -> None:
    """A ray leaves only if it passes both ends of a hole; and if it does, unless it meets the
    leaf of the door or the mouth of the alcove on its way.
    """
    held, openings = HOLED[name]
    placer = house(held, openings=openings)
    starts, ways, out = escapes(built(placer), INSIDE, count=6000)
    through = np.zeros(len(starts), bool)
    for hole in sky_holes(placer):
        low, first, second = placer.opening_frame(hole.name)
        near = crosses(starts, ways, low, first, second)
        far = crosses(starts, ways, hole.corner, hole.edge_u, hole.edge_v)
        through |= near & far
    assert out.sum() > 20
    if "door" in name or "alcove" in name:
        assert not (out & ~through).any()
        assert out.sum() > 0.5 * through.sum()
    else:
        assert (out != through).sum() <= 1  # a ray along an edge may be told either way


def test_sky_holes_face_the_room() -> None:
    for held, openings in HOLED.values():
        placer = house(held, openings=openings)
        for hole in sky_holes(placer):
            normal = np.cross(hole.edge_u, hole.edge_v)
            middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)
            assert (normal @ (INSIDE - middle).T > 0.0).all()
