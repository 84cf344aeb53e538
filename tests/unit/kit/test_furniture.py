"""Furniture: closed solids of real sections that stand, fill their size, and know their levels."""

from __future__ import annotations

import functools
import itertools
import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from falloff.errors import GeometryError
from falloff.kit import (
    FURNITURE_KINDS,
    BoxSolid,
    CylinderSolid,
    FurniturePiece,
    MeshSolid,
    Solid,
    find_material,
    furniture,
    solid_mesh,
    solid_volume_m3,
)
from falloff.kit.furniture import meshes
from falloff.kit.furniture.catalogue import _KINDS
from falloff.kit.furniture.solids import CYLINDER_SIDES, mesh_volume_m3

if TYPE_CHECKING:
    from falloff.types import Float64Array

SIZES = (0.8, 1.0, 1.3)
CASES = list(itertools.product(FURNITURE_KINDS, SIZES))
TOUCH_M = 0.004  # boards that meet are a millimetre or two apart
SAME_M = 1e-6
# pencil: things of the kit that stand alone or in a row, few or many
SOLIDS_MOST = {"shelves": 80, "counter": 80, "refrigerator": 80, "books": 80, "letterboxes": 80}


@functools.cache
def made(kind: str, scale: float = 1.0) -> FurniturePiece:
    usual = furniture(kind).size_m
    size = tuple(scale * side for side in usual)
    return furniture(kind) if scale == 1.0 else furniture(kind, size_m=size)


def as_trimesh(corners: Float64Array) -> Any:
    import trimesh

    points, index = np.unique(np.round(corners.reshape(-1, 3), 6), axis=0, return_inverse=True)
    return trimesh.Trimesh(points, index.reshape(-1, 3), process=False)


def bounds(solids: tuple[Solid, ...]) -> tuple[Float64Array, Float64Array]:
    corners = np.concatenate([solid_mesh(solid)[0].reshape(-1, 3) for solid in solids])
    return corners.min(axis=0), corners.max(axis=0)


def volume(piece: FurniturePiece, *parts: str) -> float:
    return sum(solid_volume_m3(solid) for solid in piece.solids if solid.part in parts)


# What holds for every kind --------------------------------------------------------------------


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_every_solid_is_closed_and_faces_outward(kind: str, scale: float) -> None:
    for solid in made(kind, scale).solids:
        shape = as_trimesh(solid_mesh(solid)[0])
        assert shape.is_watertight, solid.part
        assert shape.is_winding_consistent, solid.part
        assert shape.volume > 0.0, solid.part


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_volumes_agree_with_an_independent_mesh_library(kind: str, scale: float) -> None:
    for solid in made(kind, scale).solids:
        corners = solid_mesh(solid)[0]
        assert_allclose(mesh_volume_m3(corners), as_trimesh(corners).volume, rtol=2e-3)


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_normals_are_unit_and_look_the_way_their_triangle_does(kind: str, scale: float) -> None:
    for solid in made(kind, scale).solids:
        corners, normals = solid_mesh(solid)
        assert_allclose(np.linalg.norm(normals, axis=2), 1.0, atol=1e-9)
        flat = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        assert np.einsum("ti,tki->tk", flat, normals).min() > 0.0, solid.part


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_a_piece_fills_its_size(kind: str, scale: float) -> None:
    piece = made(kind, scale)
    # Of a sink, tap and rim stand above the height of its worktop.
    solids = tuple(s for s in piece.solids if s.part not in {"tap", "basin"})
    low, high = bounds(solids)
    width, depth, height = piece.size_m
    base = -height if kind == "pendant lamp" else 0.0
    if kind == "handrail":
        base = height - 0.9  # pencil: rise of the flight; its first post stands on the first tread
        base /= _KINDS[kind].count_for(piece.size_m)  # type: ignore[misc]
    assert_allclose(low, (-0.5 * width, -0.5 * depth, base), atol=1e-3)
    assert_allclose(high, (0.5 * width, 0.5 * depth, base + height if base < 0 else height),
                    atol=1e-3)  # fmt: skip


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_nothing_floats(kind: str, scale: float) -> None:
    """All solids hang together; a handrail's posts may stand on its flight instead."""
    piece = made(kind, scale)
    shapes = [as_trimesh(solid_mesh(solid)[0]) for solid in piece.solids]
    group = list(range(len(shapes)))

    def root(k: int) -> int:
        while group[k] != k:
            k = group[k]
        return k

    for a, b in itertools.combinations(range(len(shapes)), 2):
        if root(a) != root(b) and _touch(shapes[a], shapes[b]):
            group[root(b)] = root(a)
    alone = {piece.solids[root(k)].part for k in range(len(shapes))}
    assert len({root(k) for k in range(len(shapes))}) == 1, alone


def _touch(one: Any, other: Any) -> bool:
    near = TOUCH_M
    if (one.bounds[0] > other.bounds[1] + near).any() or (
        other.bounds[0] > one.bounds[1] + near
    ).any():
        return False
    if len(one.faces) == len(other.faces) == 12 and _is_level(one) and _is_level(other):
        return True
    pairs = ((one, other), (other, one))
    return any(_crosses(*pair) for pair in pairs) or any(_near(*pair) for pair in pairs)


def _is_level(shape: Any) -> bool:
    return bool(np.abs(np.abs(shape.face_normals).max(axis=1) - 1.0).max() < 1e-9)


def _crosses(one: Any, other: Any) -> bool:
    """Whether an edge of one passes through a face of the other (Möller and Trumbore's test)."""
    low, high = other.bounds
    ends = one.vertices[one.edges_unique]
    ends = ends[((ends.min(axis=1) <= high) & (ends.max(axis=1) >= low)).all(axis=1)]
    low, high = one.bounds
    faces = other.triangles
    faces = faces[((faces.min(axis=1) <= high) & (faces.max(axis=1) >= low)).all(axis=1)]
    if not len(ends) or not len(faces):
        return False
    first, second = faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0]
    for chunk in np.array_split(ends, max(1, len(ends) * len(faces) // 300_000)):
        way = (chunk[:, 1] - chunk[:, 0])[:, None]
        start = chunk[:, None, 0] - faces[None, :, 0]
        across = np.cross(way, second)
        det = np.einsum("efi,fi->ef", across, first)
        with np.errstate(all="ignore"):
            u = np.einsum("efi,efi->ef", start, across) / det
            turn = np.cross(start, first)
            v = np.einsum("efi,efi->ef", np.broadcast_to(way, turn.shape), turn) / det
            t = np.einsum("efi,fi->ef", turn, second) / det
            hit = (u >= 0) & (v >= 0) & (u + v <= 1) & (t >= 0) & (t <= 1)
        if hit.any():
            return True
    return False


def _near(one: Any, other: Any) -> bool:
    """Whether points spread over one lie within TOUCH_M of the other's faces, or inside it."""
    import trimesh

    low, high = other.bounds[0] - TOUCH_M, other.bounds[1] + TOUCH_M
    share = np.array([(i, j, 8 - i - j) for i in range(9) for j in range(9 - i)]) / 8.0
    points = np.einsum("kc,tcd->tkd", share, one.triangles).reshape(-1, 3)
    points = points[((points >= low) & (points <= high)).all(axis=1)]
    if not len(points):
        return False
    points = points[:: max(1, len(points) // 600)]
    boxes = other.triangles.min(axis=1) - TOUCH_M, other.triangles.max(axis=1) + TOUCH_M
    reach = ((boxes[0] <= points.max(axis=0)) & (boxes[1] >= points.min(axis=0))).all(axis=1)
    faces = other.triangles[reach]
    if not len(faces):
        return False
    for chunk in np.array_split(points, max(1, len(points) * len(faces) // 400_000)):
        pairs = np.repeat(faces, len(chunk), axis=0), np.tile(chunk, (len(faces), 1))
        closest = trimesh.triangles.closest_point(*pairs)  # type: ignore[no-untyped-call]
        if np.linalg.norm(closest - pairs[1], axis=1).min() <= TOUCH_M:
            return True
    return False


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_no_two_boards_share_a_face(kind: str, scale: float) -> None:
    """Coincident faces flicker and double the light; boards that meet leave a gap."""
    boxes = [s for s in made(kind, scale).solids if isinstance(s, BoxSolid)]
    boxes = [s for s in boxes if (s.axes == np.eye(3)).all()]
    low = np.array([s.centre - 0.5 * s.size for s in boxes]).reshape(-1, 3)
    high = np.array([s.centre + 0.5 * s.size for s in boxes]).reshape(-1, 3)
    for axis in range(3):
        others = [k for k in range(3) if k != axis]
        for a, b in itertools.combinations(range(len(boxes)), 2):
            cover = np.minimum(high[a], high[b]) - np.maximum(low[a], low[b])
            if (cover[others] <= 1e-3).any():
                continue
            planes = np.array([low[a, axis], high[a, axis]])
            gap = np.abs(planes[:, None] - np.array([low[b, axis], high[b, axis]]))
            assert gap.min() > 3e-4, (boxes[a].part, boxes[b].part, "xyz"[axis])


@pytest.mark.parametrize("kind", FURNITURE_KINDS)
def test_parts_are_named_and_their_materials_exist(kind: str) -> None:
    piece = made(kind)
    assert {solid.part for solid in piece.solids} == set(piece.part_names)
    assert len(set(piece.part_names)) == len(piece.part_names)
    assert piece.part_names[0] not in piece.default_surfaces
    assert set(piece.default_surfaces) < set(piece.part_names)
    for surface in piece.default_surfaces.values():
        find_material(surface)


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_levels_lie_on_the_piece(kind: str, scale: float) -> None:
    piece = made(kind, scale)
    assert list(piece.rests_m) == sorted(piece.rests_m)
    if piece.rests_m:
        assert piece.usual_rest_m in piece.rests_m
    if "lamp" in kind:
        return  # the level is the middle of a bulb
    tops = [float(solid_mesh(solid)[0][..., 2].max()) for solid in piece.solids]
    inside = [float(z) for s in piece.solids if isinstance(s, MeshSolid)
              for z in np.unique(np.round(s.corners[..., 2], 5))]  # fmt: skip
    for rest in piece.rests_m:
        assert np.abs(np.array(tops + inside) - rest).min() < 2e-3, rest


@pytest.mark.parametrize("kind", FURNITURE_KINDS)
def test_the_same_piece_comes_out_each_time(kind: str) -> None:
    first, second = furniture(kind), furniture(kind)
    assert len(first.solids) == len(second.solids)
    for one, other in zip(first.solids, second.solids, strict=True):
        assert one.part == other.part
        assert_array_equal(solid_mesh(one)[0], solid_mesh(other)[0])


@pytest.mark.parametrize(("kind", "scale"), CASES)
def test_pieces_stay_light(kind: str, scale: float) -> None:
    piece = made(kind, scale)
    assert len(piece.solids) <= SOLIDS_MOST.get(kind, 40)
    for solid in piece.solids:
        if solid.part == "leaves":
            assert len(solid_mesh(solid)[0]) <= 4000


@pytest.mark.parametrize("kind", FURNITURE_KINDS)
def test_arrays_cannot_be_written(kind: str) -> None:
    for solid in made(kind).solids:
        arrays = (
            (solid.corners, solid.normals) if isinstance(solid, MeshSolid)
            else (solid.low, solid.high) if isinstance(solid, CylinderSolid)
            else (solid.centre, solid.size, solid.axes)
        )  # fmt: skip
        assert not any(array.flags.writeable for array in arrays)


@pytest.mark.parametrize(
    ("kind", "count"),
    [(kind, count) for kind in FURNITURE_KINDS if (spec := _KINDS[kind]).counts
     for count in spec.counts],
)  # fmt: skip
def test_the_least_and_most_counts_can_be_made(kind: str, count: int) -> None:
    spec = _KINDS[kind]
    size = list(furniture(kind).size_m if spec.size_for is None else spec.size_for(count))
    if spec.each is not None and spec.size_for is None:
        size[spec.each.side] = count * 0.5 * (spec.each.least_m + spec.each.most_m)
    size = [max(side, least) for side, least in zip(size, spec.least_m, strict=True)]
    piece = furniture(kind, size_m=(size[0], size[1], size[2]), count=count)
    for solid in piece.solids:
        assert as_trimesh(solid_mesh(solid)[0]).is_watertight


@pytest.mark.parametrize("kind", FURNITURE_KINDS)
def test_the_least_size_can_be_made(kind: str) -> None:
    piece = furniture(kind, size_m=_KINDS[kind].least_m)
    for solid in piece.solids:
        shape = as_trimesh(solid_mesh(solid)[0])
        assert shape.is_watertight, solid.part
        assert shape.volume > 0.0, solid.part
        if isinstance(solid, BoxSolid):
            assert solid.size.min() > 0.0


# Volumes and places by pencil -----------------------------------------------------------------


def test_the_boards_of_a_bookcase() -> None:
    piece = furniture("shelves", size_m=(0.90, 0.30, 1.90), count=5)
    # pencil: depth 0.30 less a back of 6 mm and a gap of 1 mm; boards 22 mm thick
    sides = 2 * 0.022 * 0.293 * 1.90
    inner = 0.90 - 2 * 0.022 - 2 * 0.001
    boards = 5 * inner * (0.293 - 0.001 - 0.002) * 0.022
    plinth = inner * 0.018 * 0.07
    assert_allclose(volume(piece, "boards"), sides + boards + plinth, rtol=1e-9)
    assert_allclose(volume(piece, "back"), 0.90 * 0.006 * 1.90, rtol=1e-9)


def test_boards_of_a_wider_bookcase_keep_their_thickness() -> None:
    wide = furniture("shelves", size_m=(1.80, 0.30, 1.90), count=5)
    boards = [s for s in wide.solids if isinstance(s, BoxSolid) and s.size[0] > 1.7]
    thin = [s.size[2] for s in boards if s.part == "boards" and s.size[2] < 0.05]
    assert_allclose(thin, [0.022] * 5, rtol=1e-9)  # pencil: as in the narrow one


def test_levels_of_a_bookcase() -> None:
    piece = furniture("shelves", size_m=(0.90, 0.30, 1.90), count=3)
    # pencil: lowest on a plinth of 7 cm and a gap of 1 mm, highest 2 mm under the top, one between
    assert_allclose(piece.rests_m, (0.093, 0.9955, 1.898), atol=1e-9)
    assert piece.usual_rest_m == piece.rests_m[1]


def test_the_top_of_a_table() -> None:
    piece = furniture("table", size_m=(1.60, 0.90, 0.74))
    assert_allclose(volume(piece, "top"), 1.60 * 0.90 * 0.030, rtol=1e-9)  # pencil
    assert piece.rests_m == (0.74,)


def test_steps_of_a_flight() -> None:
    piece = furniture("stairs", size_m=(1.00, 3.92, 2.70), count=15)
    treads = [s for s in piece.solids if s.part == "treads"]
    assert len(treads) == 15
    # pencil: 2.70 m / 15 = 18 cm a step; run of 26 cm and a nosing of 2 cm, less a gap of 1 mm
    assert_allclose(piece.rests_m, 0.18 * np.arange(1, 16), rtol=1e-12)
    assert isinstance(treads[0], BoxSolid)
    assert_allclose(treads[0].size, (1.00, 0.279, 0.032), rtol=1e-9)
    assert piece.usual_rest_m == pytest.approx(2.70)  # pencil: the uppermost tread


def test_the_body_of_a_low_flight() -> None:
    piece = furniture("stairs", size_m=(1.008, 0.52, 0.36), count=2)
    # pencil: two steps of 25 × 18 cm, so short that the underside is below the floor; the body
    # ends 33 mm (tread and gap) under each step and 4 mm inside each side
    body = 1.000 * 0.25 * ((0.18 - 0.033) + (0.36 - 0.033))
    assert_allclose(volume(piece, "flight"), body, rtol=1e-9)


def test_a_handrail_stands_on_the_treads_of_its_flight() -> None:
    flight = furniture("stairs", count=12)
    rail = furniture("handrail", count=12)
    treads = [s for s in flight.solids if s.part == "treads"]
    for post in (s for s in rail.solids if s.part == "posts"):
        assert isinstance(post, CylinderSolid)
        foot = post.low
        under = [
            s for s in treads
            if isinstance(s, BoxSolid) and abs(foot[1] - s.centre[1]) <= 0.5 * s.size[1]
        ]  # fmt: skip
        assert min(abs(s.centre[2] + 0.5 * s.size[2] - foot[2]) for s in under) < 1e-3


def test_seats_and_worktops_have_everyday_heights() -> None:
    # common practice, no source: seat 45 cm, table 74 cm, worktop 90 cm
    assert furniture("chair").usual_rest_m == pytest.approx(0.45, abs=0.01)
    assert furniture("table").usual_rest_m == pytest.approx(0.74, abs=0.01)
    assert furniture("counter").usual_rest_m == pytest.approx(0.90, abs=0.01)
    assert furniture("sink").usual_rest_m == pytest.approx(0.90, abs=0.01)
    assert furniture("sofa").usual_rest_m == pytest.approx(0.45, abs=0.02)


def test_a_pendant_lamp_hangs_from_its_place() -> None:
    low, high = bounds(furniture("pendant lamp", size_m=(0.4, 0.4, 0.9)).solids)
    assert_allclose((low[2], high[2]), (-0.9, 0.0), atol=1e-6)  # pencil


def test_a_count_widens_a_row() -> None:
    assert furniture("counter", count=4).size_m[0] == pytest.approx(2.4)  # pencil: 4 × 60 cm
    assert len([s for s in furniture("letterboxes", count=8).solids if s.part == "doors"]) == 8
    assert len([s for s in furniture("books", count=20).solids if s.part == "pages"]) == 20


# A door that opens ----------------------------------------------------------------------------


def test_a_refrigerator_opens_about_its_right_edge() -> None:
    shut, wide = furniture("refrigerator"), furniture("refrigerator", open_rad=0.5 * math.pi)
    low, high = bounds(wide.solids)
    width = shut.size_m[0]
    shut_low, _ = bounds(shut.solids)
    # pencil: square to the body, the door reaches its own width out in front of its hinge, which
    # lies behind handle (30 mm), door (55 mm) and half its gap (5 mm)
    hinge = shut_low[1] + 0.030 + 0.055 + 0.005
    assert_allclose(low[1], hinge - width, atol=1e-6)
    # pencil: and door, gap and handle stand out on the right
    assert_allclose(high[0], 0.5 * width + 0.005 + 0.055 + 0.030, atol=1e-6)
    assert_allclose(low[0], -0.5 * width, atol=1e-6)
    assert wide.size_m == shut.size_m


def test_an_open_refrigerator_is_hollow_and_keeps_things() -> None:
    piece = furniture("refrigerator", open_rad=math.radians(100.0))
    body = [s for s in piece.solids if s.part == "body"]
    middle = np.array([0.0, 0.0, 1.6])
    for solid in body:
        low, high = bounds((solid,))
        if isinstance(solid, BoxSolid):
            assert ((middle < low) | (middle > high)).any()
    assert not as_trimesh(solid_mesh(body[1])[0]).contains([middle])[0]
    assert {"goods", "bottles"} <= {solid.part for solid in piece.solids}
    assert len(piece.rests_m) >= 3


@pytest.mark.parametrize("kind", ["cupboard", "wall cupboard", "counter", "sink"])
def test_open_cupboards_show_their_shelves(kind: str) -> None:
    shut, wide = furniture(kind), furniture(kind, open_rad=math.radians(80.0))
    assert len(wide.rests_m) > len(shut.rests_m)
    assert wide.usual_rest_m == shut.usual_rest_m
    assert bounds(wide.solids)[0][1] < bounds(shut.solids)[0][1] - 0.2
    assert volume(wide, "body") < 0.35 * volume(shut, "body")


# Faults ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"kind": "tabel"}, "did you mean 'table'?"),
        ({"kind": "chair", "size_m": (0.43, 0.5, 0.2)}, "height (expected at least 50 cm; found"),
        ({"kind": "chair", "size_m": (0.1, 0.1, 0.9)}, "its width"),
        ({"kind": "sofa", "size_m": (math.nan, 1.0, 1.0)}, "not a number of metres"),
        ({"kind": "shelves", "count": 1}, "expected 2 to 12; found 1"),
        ({"kind": "chair", "count": 4}, "a chair has nothing to count"),
        ({"kind": "table", "open_rad": 0.5}, "a table has nothing that opens"),
        ({"kind": "refrigerator", "open_rad": 3.0}, "0 deg (shut) to 120 deg"),
        ({"kind": "refrigerator", "open_rad": -0.2}, "cannot stand so"),
        ({"kind": "stairs", "size_m": (1.0, 3.0, 2.7), "count": 5}, "a count from 11 to 27 fits"),
        ({"kind": "counter", "size_m": (1.2, 0.63, 0.9), "count": 8}, "a count from 2 to 4 fits"),
    ],
)  # fmt: skip
def test_faults_say_what_and_what_to_do(given: dict[str, Any], said: str) -> None:
    with pytest.raises(GeometryError) as caught:
        furniture(**given)
    assert said in str(caught.value)
    assert all(fault.what and fault.fix for fault in caught.value.faults)


# Shapes ---------------------------------------------------------------------------------------


def test_a_soft_box_has_the_volume_of_a_rounded_box() -> None:
    solid = BoxSolid("it", np.zeros(3), np.array([0.6, 0.5, 0.2]), np.eye(3), 0.05)
    # pencil: core 0.5 × 0.4 × 0.1 with five centimetres added all round
    core = 0.5 * 0.4 * 0.1
    slabs = 2 * 0.05 * (0.5 * 0.4 + 0.4 * 0.1 + 0.1 * 0.5)
    quarters = math.pi * 0.05**2 * (0.5 + 0.4 + 0.1)
    ball = 4 / 3 * math.pi * 0.05**3
    assert_allclose(solid_volume_m3(solid), core + slabs + quarters + ball, rtol=1e-12)
    corners, normals = solid_mesh(solid)
    assert_allclose(mesh_volume_m3(corners), solid_volume_m3(solid), rtol=0.01)  # four facets
    assert_allclose(corners.reshape(-1, 3).max(axis=0), (0.3, 0.25, 0.1), atol=1e-12)
    assert len(normals) == 300  # pencil: 6 faces of 5 × 5 cells, two triangles each


def test_a_soft_box_is_shaded_flat_on_its_faces() -> None:
    corners, normals = meshes.rounded_box_mesh((0.6, 0.5, 0.2), 0.02)
    top = (corners[..., 2] > 0.0999999).all(axis=1)
    assert top.sum() == 2  # pencil: the flat middle of the face is one cell
    assert_allclose(normals[top], np.broadcast_to((0.0, 0.0, 1.0), (2, 3, 3)), atol=1e-12)


def test_a_plate_is_shaded_flat_on_its_faces() -> None:
    outline = meshes.rounded_rectangle((0.4, 0.4), 0.05)
    corners, normals = meshes.plate(outline, low=0.0, high=0.03, ease=0.008)
    top = (corners[..., 2] > 0.0299999).all(axis=1)
    middle = top & (np.linalg.norm(corners[..., :2], axis=2).min(axis=1) < 1e-9)
    assert middle.any()
    assert_allclose(normals[middle][..., 2], 1.0, atol=1e-6)  # pencil: the face is level


def test_a_box_softer_than_it_is_thick_becomes_a_pill() -> None:
    solid = BoxSolid("it", np.zeros(3), np.array([0.4, 0.4, 0.1]), np.eye(3), 0.2)
    assert as_trimesh(solid_mesh(solid)[0]).is_watertight
    assert_allclose(bounds((solid,))[1], (0.2, 0.2, 0.05), atol=1e-12)


def test_a_tapered_cylinder() -> None:
    solid = CylinderSolid("it", np.zeros(3), np.array([0.0, 0.3, 0.4]), 0.10, 0.05)
    # pencil: a frustum 0.5 m long
    whole = math.pi * 0.5 / 3 * (0.01 + 0.005 + 0.0025)
    assert_allclose(solid_volume_m3(solid), whole, rtol=1e-12)
    # pencil: a regular polygon's area is (n / 2π) sin(2π / n) of its circle's
    facets = CYLINDER_SIDES / (2 * math.pi) * math.sin(2 * math.pi / CYLINDER_SIDES)
    assert_allclose(as_trimesh(solid_mesh(solid)[0]).volume, facets * whole, rtol=1e-4)


def test_a_cone_runs_to_a_point() -> None:
    solid = CylinderSolid("it", np.zeros(3), np.array([0.0, 0.0, 0.3]), 0.1, 0.0)
    assert as_trimesh(solid_mesh(solid)[0]).is_watertight
    assert_allclose(solid_volume_m3(solid), math.pi * 0.01 * 0.1, rtol=1e-12)  # pencil


def test_a_lathe_turns_a_ball() -> None:
    angle = np.linspace(-0.5 * math.pi, 0.5 * math.pi, 61)
    profile = np.stack([np.cos(angle), np.sin(angle)], 1)
    corners, normals = meshes.lathe(profile, sides=96)
    assert_allclose(mesh_volume_m3(corners), 4 / 3 * math.pi, rtol=2e-3)  # pencil
    assert_allclose(normals, corners, atol=0.03)  # pencil: a ball's normals are its points


def test_an_open_shade_has_two_sides() -> None:
    ring = [(0.20, 0.0), (0.15, 0.3), (0.148, 0.3), (0.198, 0.0)]
    corners, normals = meshes.lathe(ring, sides=128, hollow=True)
    # pencil: mean girth 2π · 0.174 m, wall 2 mm wide, 0.3 m high
    assert_allclose(mesh_volume_m3(corners), 2 * math.pi * 0.174 * 0.002 * 0.3, rtol=1e-3)
    out = np.einsum("tki,tki->tk", corners[..., :2], normals[..., :2])
    assert (out > 0.1).any()
    assert (out < -0.1).any()


def test_a_prism_of_a_hollow_outline() -> None:
    outline = [(0, 0), (3, 0), (3, 1), (1, 1), (1, 2), (3, 2), (3, 3), (0, 3)]
    corners, _ = meshes.prism(outline, axis="y", low=-1.0, high=1.0)
    assert as_trimesh(corners).is_watertight
    assert_allclose(mesh_volume_m3(corners), 2 * (9 - 2), rtol=1e-12)  # pencil: a square less a bay


def test_a_prism_forgives_an_outline_drawn_clockwise() -> None:
    corners, _ = meshes.prism([(0, 0), (0, 2), (1, 0)], axis="z", low=0.0, high=3.0)
    assert_allclose(mesh_volume_m3(corners), 3.0, rtol=1e-12)  # pencil


def test_a_sheet_has_its_thickness() -> None:
    x, y = np.meshgrid(np.linspace(0, 2, 9), np.linspace(0, 1, 5), indexing="ij")
    corners, _ = meshes.sheet(np.stack([x, y, np.zeros_like(x)], 2), 0.01)
    assert_allclose(mesh_volume_m3(corners), 2 * 1 * 0.01, rtol=1e-9)  # pencil
    assert as_trimesh(corners).is_watertight


def test_a_mitred_frame() -> None:
    corners, _ = meshes.surround((0.5, 0.4), [(0, 0), (0, 0.02), (0.03, 0.02), (0.03, 0)])
    # pencil: outer less inner rectangle, 2 cm deep
    assert_allclose(mesh_volume_m3(corners), (0.5 * 0.4 - 0.44 * 0.34) * 0.02, rtol=1e-9)
    assert_allclose(corners[..., 1].min(), -0.02, atol=1e-12)  # its front


def test_a_bent_rod_keeps_its_section() -> None:
    angle = np.linspace(0.0, math.pi, 61)
    path = np.stack([np.cos(angle), np.zeros_like(angle), np.sin(angle)], 1)
    corners, _ = meshes.tube(path, 0.05, sides=48)
    # pencil: by Pappus, the section times the way of its middle
    assert_allclose(mesh_volume_m3(corners), math.pi * 0.05**2 * math.pi, rtol=5e-3)


@pytest.mark.parametrize(
    ("kind", "angle_rad"),
    [(kind, share * spec.open_most_rad) for kind, spec in _KINDS.items()
     if spec.open_most_rad for share in (0.5, 1.0)],
)  # fmt: skip
def test_opened_pieces_are_closed_solids_too(kind: str, angle_rad: float) -> None:
    for solid in furniture(kind, open_rad=angle_rad).solids:
        shape = as_trimesh(solid_mesh(solid)[0])
        assert shape.is_watertight, solid.part
        assert shape.volume > 0.0, solid.part
