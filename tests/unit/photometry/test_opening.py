"""Luminous openings: every form of signs that a version of LM-63 or EULUMDAT knows."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from falloff.findings import Weight
from falloff.photometry.opening import eulumdat_opening, lm63_opening
from falloff.photometry.plain_text import Notes

Sizes = tuple[float, float, float]


@pytest.mark.parametrize(
    ("year", "written", "shape", "size"),
    [
        # source: check values, section 10: width, length, height of LM-63-2002 and 2019;
        # width lies along y, length along x
        (2002, (0, 0, 0), "point", (0, 0, 0)),
        (2002, (2, 3, 0), "rectangle", (3, 2, 0)),
        (2019, (2, 3, 4), "box", (3, 2, 4)),
        (2002, (-2, -2, 0), "disc", (2, 2, 0)),
        (2002, (-2, -3, 0), "ellipse", (3, 2, 0)),
        (2002, (-2, -2, 4), "upright cylinder", (2, 2, 4)),
        (2002, (-2, -3, 4), "upright elliptic cylinder", (3, 2, 4)),
        (2002, (-2, -2, -2), "sphere", (2, 2, 2)),
        (2002, (-2, -3, -4), "ellipsoid", (3, 2, 4)),
        (2019, (-2, -2, -4), "ellipsoid", (2, 2, 4)),
        (2002, (-2, 3, -2), "cylinder along x", (3, 2, 2)),
        (2002, (3, -2, -2), "cylinder along y", (2, 3, 2)),
        (2002, (-2, 0, -2), "disc facing x", (0, 2, 2)),
        (2002, (-2, 0, -3), "ellipse facing x", (0, 2, 3)),
        (2002, (0, -2, -3), "ellipse facing x", (0, 2, 3)),
        # source: as above, LM-63-1986 and 1991
        (1986, (-2, 0, 0), "disc", (2, 2, 0)),
        (1991, (-2, 0, 4), "upright cylinder", (2, 2, 4)),
        (1991, (-2, 3, 0), "ellipse", (3, 2, 0)),
        (1986, (1, 2, 0), "rectangle", (2, 1, 0)),
        # source: as above, LM-63-1995
        (1995, (-2, 0, 0), "disc", (2, 2, 0)),
        (1995, (-2, 0, 4), "upright cylinder", (2, 2, 4)),
        (1995, (-2, 0, -2), "sphere", (2, 2, 2)),
        (1995, (0, 3, -2), "cylinder along x", (3, 2, 2)),
        (1995, (3, 0, -2), "cylinder along y", (2, 3, 2)),
        (1995, (-2, 3, 4), "upright elliptic cylinder", (3, 2, 4)),
        (1995, (2, -3, 4), "upright elliptic cylinder", (3, 2, 4)),
        (1995, (-2, 3, -4), "ellipsoid", (3, 2, 4)),
        (1995, (2, -3, 0), "ellipse", (3, 2, 0)),
    ],
)
def test_forms_of_their_version(year: int, written: Sizes, shape: str, size: Sizes) -> None:
    notes = Notes("a.ies")
    found = lm63_opening(written, feet=False, year=year, notes=notes)
    assert found.shape == shape
    assert (found.x_m, found.y_m, found.height_m) == size
    assert found.largest_m == max(size)
    assert notes.found == []


@pytest.mark.parametrize(
    ("year", "written", "shape"),
    [
        (2002, (-2, 0, 0), "disc"),  # source: check values: accept it in any version
        (1995, (-2, -2, 0), "disc"),
        (1986, (-2, -2, 0), "disc"),
        (1991, (-1, -1, -1), "sphere"),
    ],
)
def test_forms_of_another_version_are_forgiven(year: int, written: Sizes, shape: str) -> None:
    notes = Notes("a.ies")
    found = lm63_opening(written, feet=False, year=year, notes=notes)
    assert found.shape == shape
    assert [one.weight for one in notes.found] == [Weight.NOTE]
    assert "another version" in notes.found[0].says


def test_signs_that_no_version_knows_are_a_warning() -> None:
    notes = Notes("a.ies")
    found = lm63_opening((1.0, 0.0, -2.0), feet=False, year=1986, notes=notes)
    assert found.shape == "cylinder along y"  # 1995 knows this one
    unknown = lm63_opening((0.0, 0.0, -2.0), feet=False, year=2002, notes=notes)
    assert unknown.shape == "box"
    assert [one.weight for one in notes.found] == [Weight.NOTE, Weight.WARNING]


def test_feet_become_metres_and_absurd_sizes_are_told() -> None:
    notes = Notes("a.ies")
    found = lm63_opening((1.0, 2.0, 0.0), feet=True, year=2002, notes=notes)
    assert_allclose([found.y_m, found.x_m], [0.3048, 0.6096])  # source: the foot is exact
    assert notes.found == []
    lm63_opening((600.0, 600.0, 0.0), feet=False, year=2002, notes=notes)
    assert notes.found[0].weight is Weight.WARNING


@pytest.mark.parametrize(
    ("length", "width", "heights", "shape", "size"),
    [
        # source: EULUMDAT's field list: a width of 0 is a circle; mm. Length along y: from memory
        (0.0, 0.0, (0.0,) * 4, "point", (0, 0, 0)),
        (300.0, 0.0, (0.0,) * 4, "disc", (0.3, 0.3, 0)),
        (300.0, 0.0, (50.0,) * 4, "upright cylinder", (0.3, 0.3, 0.05)),
        (1200.0, 300.0, (0.0,) * 4, "rectangle", (0.3, 1.2, 0)),
        (1200.0, 300.0, (10.0, 0.0, 20.0, 0.0), "box", (0.3, 1.2, 0.02)),
    ],
)
def test_openings_of_eulumdat(
    length: float, width: float, heights: tuple[float, ...], shape: str, size: Sizes
) -> None:
    found = eulumdat_opening(length, width, heights_mm=heights)
    assert found.shape == shape
    assert_allclose((found.x_m, found.y_m, found.height_m), size)
