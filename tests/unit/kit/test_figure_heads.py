"""What a head turns by, the skin under its hair, and the marks for what is worn on it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from falloff.kit import Figure, figure_names, find_figure

REGIONS = ("skin", "lips", "hair", "brows", "sclera", "iris", "top", "trousers", "shoes")
Points = NDArray[np.float64]


@pytest.fixture(params=figure_names())
def figure(request: pytest.FixtureRequest) -> Figure:
    return find_figure(request.param)


def part(figure: Figure, *regions: str) -> NDArray[np.int32]:
    numbers = [figure.region_names.index(region) for region in regions]
    return figure.triangles[np.isin(figure.triangle_region, numbers)]


def in_the_head(figure: Figure, point: NDArray[Any]) -> Points:
    """A point to the right, ahead and up of the head's pivot."""
    held: Points = figure.head_axes.astype(np.float64) @ (point - figure.head_pivot_m)
    return held


def test_head_weight_is_one_on_the_head_and_none_on_cloth(figure: Figure) -> None:
    for region in ("hair", "lips", "brows", "sclera", "iris"):
        assert_allclose(figure.head_weight[np.unique(part(figure, region))], 1.0, rtol=0, atol=0)
    for region in ("top", "trousers", "shoes"):
        assert figure.head_weight[np.unique(part(figure, region))].max() == 0.0
    assert figure.head_weight.min() >= 0.0
    assert figure.head_weight.max() <= 1.0


def test_head_weight_is_smooth_over_the_neck(figure: Figure) -> None:
    skin = part(figure, "skin")
    # our own bar: no more than a tenth per millimetre, so that a turned neck has no steps
    for a, b in ((0, 1), (1, 2), (2, 0)):
        one, other = skin[:, a], skin[:, b]
        step = np.abs(figure.head_weight[one] - figure.head_weight[other])
        gap = np.linalg.norm(figure.vertices[one] - figure.vertices[other], axis=1)
        assert (step <= 0.01 + gap / 0.010).all()


def test_head_axes_are_square_and_right_handed(figure: Figure) -> None:
    axes = figure.head_axes.astype(np.float64)
    # pencil: a rotation times its transpose is the unit matrix, its determinant is one
    assert_allclose(axes @ axes.T, np.eye(3), rtol=0, atol=1e-6)
    assert_allclose(np.linalg.det(axes), 1.0, rtol=0, atol=1e-6)


def test_eyes_are_balls_about_their_centres(figure: Figure) -> None:
    eyes = np.unique(part(figure, "sclera", "iris"))
    balls = figure.vertices[eyes].astype(np.float64)
    apart = np.linalg.norm(balls[:, None] - figure.eye_centres_m, axis=2).min(axis=1)
    # the iris is domed by up to 0.6 mm: drawn so; 0.1 mm for what is lost in the file
    assert apart.min() > figure.eye_radius_m - 2e-4
    assert apart.max() < figure.eye_radius_m + 8e-4
    assert in_the_head(figure, figure.eye_centres_m[0])[0] < 0


def test_without_hair_the_head_is_closed_and_bald(figure: Figure) -> None:
    rest = part(figure, *(set(REGIONS) - {"hair"}))
    places, merged = np.unique(figure.vertices, axis=0, return_inverse=True)
    triangles = merged.reshape(-1)[rest].astype(np.int64)
    edges = np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    forward = edges[:, 0] * len(places) + edges[:, 1]
    backward = edges[:, 1] * len(places) + edges[:, 0]
    assert np.array_equal(np.sort(forward), np.sort(backward))


def test_scalp_lies_under_the_hair(figure: Figure) -> None:
    hair = figure.vertices[part(figure, "hair")].astype(np.float64)
    deep = np.nonzero(figure.scalp_m > 0.03)[0]
    assert len(deep) > 200
    skin = set(np.unique(part(figure, "skin")).tolist())
    assert set(np.nonzero(figure.scalp_m)[0].tolist()) <= skin
    a, b, c = np.moveaxis(hair, 1, 0)
    for point in figure.vertices[deep[:: len(deep) // 12]].astype(np.float64):
        # pencil: a point within the closed hair shell is wound round once
        angles = _solid_angles(a - point, b - point, c - point)
        assert abs(angles.sum() / (4 * np.pi)) > 0.5


def _solid_angles(a: Points, b: Points, c: Points) -> Points:
    """Of triangles (n, 3) from the origin; Van Oosterom and Strackee, 1983 (from memory)."""
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    above = np.einsum("ij,ij->i", a, np.cross(b, c))
    dots = [np.einsum("ij,ij->i", p, q) for p, q in ((a, b), (b, c), (c, a))]
    return np.asarray(
        2 * np.arctan2(above, la * lb * lc + dots[0] * lc + dots[1] * la + dots[2] * lb)
    )


def test_marks_stand_where_their_names_say(figure: Figure) -> None:
    at = {name: in_the_head(figure, point) for name, point in figure.head_marks_m.items()}
    assert at["crown"][2] > at["hairline_front"][2] > at["brow_middle"][2] > at["nose_bridge"][2]
    assert at["nape"][1] < at["crown"][1] < at["nose_bridge"][1]
    for name in ("ear", "temple", "jaw"):
        left, right = at[f"{name}_left"], at[f"{name}_right"]
        assert left[0] < -0.03 < 0.03 < right[0]
        # pencil: mirror images; our own bar: the mesh's points are some millimetres apart
        assert_allclose(left * [-1, 1, 1], right, rtol=0, atol=0.008)
    assert at["temple_left"][1] > at["ear_left"][1]
    assert at["jaw_left"][2] < at["ear_left"][2]
    skin = figure.vertices[np.unique(part(figure, "skin", "brows"))].astype(np.float64)
    for point in figure.head_marks_m.values():
        assert np.linalg.norm(skin - point, axis=1).min() < 0.008
