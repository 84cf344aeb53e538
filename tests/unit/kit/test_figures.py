"""The shipped figures are closed, believable in size, and their places mean what they say."""

from __future__ import annotations

import hashlib
import re
from importlib import resources
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from falloff.errors import GeometryError
from falloff.kit import Figure, figure_names, find_figure

REGIONS = ("skin", "lips", "hair", "brows", "sclera", "iris", "top", "trousers", "shoes")
PLACES = {
    "face",
    "forehead",
    "chin",
    "chest",
    "cheek_left",
    "cheek_right",
    "eye_left",
    "eye_right",
    "hair_edge_left",
    "hair_edge_right",
}
Points = NDArray[np.float64]


@pytest.fixture(params=figure_names())
def figure(request: pytest.FixtureRequest) -> Figure:
    return find_figure(request.param)


def corners(figure: Figure) -> Points:
    return figure.vertices[figure.triangles].astype(np.float64)


def winding_number(figure: Figure, point: Points) -> float:
    """Solid angle of the whole mesh from a point over 4 pi: 0 outside, 1 inside a closed surface.

    source: Van Oosterom and Strackee, The Solid Angle of a Plane Triangle, 1983, equation 8
    (from memory).
    """
    a, b, c = np.moveaxis(corners(figure) - point, 1, 0)
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    above = np.einsum("ij,ij->i", a, np.cross(b, c))
    dots = [np.einsum("ij,ij->i", p, q) for p, q in ((a, b), (b, c), (c, a))]
    below = la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb
    return float(2 * np.arctan2(above, below).sum() / (4 * np.pi))


def distance_m(figure: Figure, point: Points) -> float:
    """From a point to the nearest spot of the nearest of the triangles around it."""
    trimesh_triangles = pytest.importorskip("trimesh").triangles
    mesh = corners(figure)
    near = mesh[np.linalg.norm(mesh.mean(axis=1) - point, axis=1) < 0.05]
    spots = trimesh_triangles.closest_point(near, np.tile(point, (len(near), 1)))
    return float(np.linalg.norm(spots - point, axis=1).min())


def test_seated_is_in_the_catalogue() -> None:
    assert "seated" in figure_names()


def test_unknown_name_tells_the_nearest() -> None:
    with pytest.raises(GeometryError) as caught:
        find_figure("seatde")
    fault = caught.value.faults[0]
    assert "seated" in fault.fix
    assert fault.found == "seatde"
    assert "seated" in fault.expected


def test_name_like_none_still_tells_what_to_write() -> None:
    with pytest.raises(GeometryError) as caught:
        find_figure("")
    assert "seated" in caught.value.faults[0].fix


def test_checksums_equal_the_provenance() -> None:
    folder = resources.files("falloff.kit").joinpath("data", "figures")
    told = dict(
        re.findall(r"\| (\S+\.npz) \| \d+ \| `(\w+)`", folder.joinpath("PROVENANCE.md").read_text())
    )
    shipped = {
        item.name: hashlib.sha256(item.read_bytes()).hexdigest()
        for item in folder.iterdir()
        if item.name.endswith(".npz")
    }
    assert shipped == told
    assert shipped


def test_arrays_have_their_types_and_shapes(figure: Figure) -> None:
    count = len(figure.vertices)
    assert figure.vertices.shape == figure.vertex_normals.shape == (count, 3)
    assert figure.triangles.shape == (len(figure.triangle_region), 3)
    assert figure.vertices.dtype == figure.vertex_normals.dtype == np.float32
    assert figure.triangles.dtype == np.int32
    assert figure.triangle_region.dtype == np.uint8
    assert np.array_equal(np.unique(figure.triangles), np.arange(count))
    assert 20_000 <= len(figure.triangles) <= 40_000  # our own budget


def test_arrays_cannot_be_written(figure: Figure) -> None:
    held: list[NDArray[Any]] = [
        figure.vertices,
        figure.vertex_normals,
        figure.triangles,
        figure.triangle_region,
    ]
    held += [figure.hand_left_m, figure.hand_right_m]
    held += [*figure.places.values(), *figure.place_normals.values()]
    assert not any(array.flags.writeable for array in held)
    with pytest.raises(TypeError):
        figure.places["face"] = np.zeros(3, np.float32)  # type: ignore[index]


def test_every_number_is_finite(figure: Figure) -> None:
    assert np.isfinite(figure.vertices).all()
    assert np.isfinite(figure.vertex_normals).all()


def test_normals_are_unit(figure: Figure) -> None:
    # pencil: unit by definition; float32 carries seven digits
    lengths = np.linalg.norm(figure.vertex_normals.astype(np.float64), axis=1)
    assert_allclose(lengths, 1.0, rtol=0, atol=1e-6)


def test_normals_agree_with_the_triangles(figure: Figure) -> None:
    mesh = corners(figure)
    facing = np.cross(mesh[:, 1] - mesh[:, 0], mesh[:, 2] - mesh[:, 0])
    area = np.linalg.norm(facing, axis=1)
    agree = np.einsum("ij,ikj->ik", facing, figure.vertex_normals[figure.triangles]) > 0
    # our own bar: fold lines turn a few corners away, less than a thousandth of the surface
    assert area[~agree.all(axis=1)].sum() < 1e-3 * area.sum()


def test_no_triangle_is_without_area(figure: Figure) -> None:
    mesh = corners(figure)
    area = np.linalg.norm(np.cross(mesh[:, 1] - mesh[:, 0], mesh[:, 2] - mesh[:, 0]), axis=1) / 2
    assert area.min() > 1e-9


def test_each_edge_joins_two_triangles_run_in_opposite_directions(figure: Figure) -> None:
    places, merged = np.unique(figure.vertices, axis=0, return_inverse=True)
    triangles = merged.reshape(-1)[figure.triangles].astype(np.int64)
    edges = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    forward = edges[:, 0] * len(places) + edges[:, 1]
    backward = edges[:, 1] * len(places) + edges[:, 0]
    assert len(np.unique(forward)) == len(forward)
    assert np.array_equal(np.sort(forward), np.sort(backward))


def test_volume_is_that_of_an_adult(figure: Figure) -> None:
    a, b, c = np.moveaxis(corners(figure), 1, 0)
    volume_m3 = float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)
    assert 0.05 < volume_m3 < 0.12  # 50 to 120 kg at about the density of water; no source


def test_stands_on_the_floor(figure: Figure) -> None:
    # pencil: the frame's origin is on the floor; the lowest point is a sole
    lowest = figure.triangles[np.argmin(corners(figure)[:, :, 2].min(axis=1))][0]
    owner = figure.triangle_region[(figure.triangles == lowest).any(axis=1)][0]
    assert_allclose(figure.vertices[:, 2].min(), 0.0, rtol=0, atol=1e-6)
    assert figure.region_names[owner] == "shoes"


def test_every_region_is_named_and_present(figure: Figure) -> None:
    assert figure.region_names == REGIONS
    assert np.array_equal(np.unique(figure.triangle_region), np.arange(len(REGIONS)))


def test_places_lie_on_the_surface(figure: Figure) -> None:
    assert set(figure.places) == set(figure.place_normals) == PLACES
    for point in figure.places.values():
        assert distance_m(figure, point.astype(np.float64)) < 0.005


def test_place_normals_are_unit_and_point_outward(figure: Figure) -> None:
    for name, normal in figure.place_normals.items():
        point = figure.places[name].astype(np.float64)
        way = normal.astype(np.float64)
        assert_allclose(np.linalg.norm(way), 1.0, rtol=0, atol=1e-6)
        # pencil: a closed surface winds 0 times about a point outside, at least once inside
        assert_allclose(winding_number(figure, point + 0.004 * way), 0.0, rtol=0, atol=1e-3)
        assert winding_number(figure, point - 0.004 * way) > 1 - 1e-3


def test_places_look_ahead(figure: Figure) -> None:
    # the figure faces +y: the face within 5 degrees, every place at least forward
    ahead = {name: normal[1] for name, normal in figure.place_normals.items()}
    assert ahead["face"] > np.cos(np.radians(5))
    assert min(ahead.values()) > 0


def test_left_is_the_figures_own_left(figure: Figure) -> None:
    # pencil: x runs to the figure's right, so its left has negative x
    for name in ("cheek", "eye", "hair_edge"):
        left, right = figure.places[f"{name}_left"], figure.places[f"{name}_right"]
        assert left[0] < -0.015
        assert right[0] > 0.015
        # our own bar: a head turned or tilted a little still has its two sides at one height
        assert_allclose(left[2], right[2], rtol=0, atol=0.01)
    assert figure.hand_left_m[0] < -0.03 < 0.03 < figure.hand_right_m[0]


def test_places_stand_in_the_order_of_a_face(figure: Figure) -> None:
    height = {name: point[2] for name, point in figure.places.items()}
    assert height["forehead"] > height["eye_left"] > height["face"] > height["cheek_left"]
    assert height["cheek_left"] > height["chin"] > height["chest"]
    assert height["hair_edge_left"] > height["eye_left"]
    # eyes 52 to 78 mm apart: common range of adults, from memory
    apart = np.linalg.norm(figure.places["eye_right"] - figure.places["eye_left"])
    assert 0.052 < apart < 0.078


def test_places_belong_to_their_regions(figure: Figure) -> None:
    expected = {
        "eye_left": "iris",
        "eye_right": "iris",
        "chest": "top",
        "hair_edge_left": "hair",
        "hair_edge_right": "hair",
        "cheek_left": "skin",
        "cheek_right": "skin",
        "chin": "skin",
        "forehead": "skin",
        "face": "skin",
    }
    middles = corners(figure).mean(axis=1)
    for name, region in expected.items():
        nearest = np.argmin(np.linalg.norm(middles - figure.places[name], axis=1))
        assert figure.region_names[figure.triangle_region[nearest]] == region, name


def test_seated_figure_sits_as_people_do() -> None:
    figure = find_figure("seated")
    top_m = float(figure.vertices[:, 2].max())
    assert 0.44 < figure.seat_height_m < 0.52  # a stool; common practice, no source
    assert 1.5 < figure.stature_m < 1.95
    # sitting height is about 52 % of stature, from memory; hair adds, a bent back takes away
    assert 0.46 < (top_m - figure.seat_height_m) / figure.stature_m < 0.56
    # hands as on a bench 0.75 to 0.8 m high, before the body
    for hand in (figure.hand_left_m, figure.hand_right_m):
        assert 0.75 < hand[2] < 0.85
        assert hand[1] > 0.3


def test_underside_is_flat_on_the_seat() -> None:
    figure = find_figure("seated")
    near = np.hypot(figure.vertices[:, 0], figure.vertices[:, 1]) < 0.17
    over = figure.vertices[near & (figure.vertices[:, 2] > 0.3)]
    # pencil: nothing over a stool of 0.17 m radius lies below its top, and much lies on it
    assert over[:, 2].min() >= figure.seat_height_m - 1e-6
    assert (over[:, 2] < figure.seat_height_m + 1e-6).sum() > 50


def test_no_bare_skin_below_the_neck_but_hands() -> None:
    figure = find_figure("seated")
    skin = figure.region_names.index("skin")
    mesh = corners(figure)
    middles = mesh[figure.triangle_region == skin].mean(axis=1)
    lower = middles[middles[:, 2] < figure.places["chin"][2] - 0.15]
    hands = np.stack([figure.hand_left_m, figure.hand_right_m])
    reach = np.linalg.norm(lower[:, None] - hands, axis=2).min(axis=1)
    away = lower[reach > 0.16]
    # what is left is the closed stump within a trouser end: inside the figure or its cloth
    for point in away[:: max(1, len(away) // 20)]:
        assert winding_number(figure, point + np.array([0.0, 0.0, 0.002])) > 0.9
