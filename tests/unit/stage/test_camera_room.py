"""A camera needs room round its lens: in people, and between the boards of open furniture."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import parse_document
from falloff.errors import GeometryError
from falloff.stage import Grain, build_stage
from falloff.stage.inside import distance_m
from falloff.stage.places import Placer
from falloff.stage.shapes import shape_in

SCENE = """falloff: 2
title: Small
units: metric
room: {{floor: [[0 m, 0 m], [5 m, 0 m], [5 m, 4 m], [0 m, 4 m]], height: 2.5 m,
       floor_surface: oak, ceiling_surface: white paint, wall_surface: plaster}}
props:
  SHELVES: {{shape: shelves, at: [4 m, 3 m], surface: pine}}
  TABLE: {{shape: table, at: [2.5 m, 3 m], surface: oak}}
subjects:
  HOST: {{figure: man standing, at: [1 m, 2 m], facing: -90 deg, skin: 0.3, hair: dark hair,
         top: grey cotton, trousers: dark denim}}
cameras:
  A: {{at: [{x} m, {y} m, {z} m], aim: [2 m, 0.5 m, 1 m], lens: 35 mm}}
"""


def told(x: float, y: float, z: float) -> list[str]:
    document = parse_document(SCENE.format(x=x, y=y, z=z), "small.scene.yaml")
    try:
        build_stage(document, grain=Grain(1.0, 0.5))
    except GeometryError as error:
        return [fault.what for fault in error.faults if fault.line and fault.fix]
    return []


def boards() -> tuple[float, float]:
    """The upper faces of the two lowest boards (m)."""
    shape = shape_in(parse_document(SCENE.format(x=1, y=1, z=1)), "SHELVES")
    return shape.rests_m[0], shape.rests_m[1]


def test_between_boards_a_camera_may_stand() -> None:
    low, high = boards()
    assert high - low > 0.25  # there is room at all
    assert told(4.0, 3.0, 0.5 * (low + high)) == []


def test_too_near_a_board_or_in_one_it_may_not() -> None:
    low, high = boards()
    # pencil: 4 cm over a board; a board is 22 mm thick, so 11 mm under its face is its middle
    assert told(4.0, 3.0, low + 0.04) == ["A stands in SHELVES: a camera has no room there"]
    assert told(4.0, 3.0, high - 0.011) == ["A is inside SHELVES"]
    # pencil: outside of the box round them, nearer than that to their front
    depth = shape_in(parse_document(SCENE.format(x=1, y=1, z=1)), "SHELVES").size_m[1]
    assert told(4.0, 3.0 - 0.5 * depth - 0.03, high - 0.011) == []


def test_under_a_table_a_camera_may_stand() -> None:
    assert told(2.5, 3.0, 0.4) == []


@pytest.mark.parametrize(
    ("ahead", "said"),
    [
        (-0.1, ["A is inside HOST"]),
        (0.03, ["A stands in HOST: a camera has no room there"]),
        (0.09, ["A stands in HOST: a camera has no room there"]),
        (0.2, []),
    ],
)
def test_in_a_person_and_nearer_than_a_hand_it_may_not(ahead: float, said: list[str]) -> None:
    """Ahead of the face by so much (m); it faces -y."""
    placer = Placer(parse_document(SCENE.format(x=1, y=1, z=1)))
    face = placer.subject("HOST").points["face"]
    assert told(*(round(float(part), 4) for part in face - [0.0, ahead, 0.0])) == said


def test_a_distance_is_to_a_face_an_edge_or_a_corner() -> None:
    corners = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]])
    # pencil: over the middle, beside the edge at y = 0, beyond the corner at x = 1
    for point, far in (
        ((0.2, 0.2, 0.3), 0.3),
        ((0.4, -0.3, 0.4), 0.5),
        ((1.3, 0.0, -0.4), 0.5),
        ((1.0, 1.0, 0.0), math.sqrt(0.5)),
    ):
        assert_allclose(distance_m(np.array(point), corners), far, atol=1e-12)
        turned = corners[:, ::-1]
        assert_allclose(distance_m(np.array(point), turned), far, atol=1e-12)
