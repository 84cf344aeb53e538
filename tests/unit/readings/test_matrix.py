"""Readings as a matrix: what is weighed from it is what is taken from the layers themselves."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings
from falloff.document import parse_document
from falloff.layers import LightLayers, trace_layers
from falloff.readings import (
    ReadingsMatrix,
    SetupLight,
    read_matrix,
    readings_matrix,
    take_readings,
)
from falloff.stage import build_stage
from falloff.transport import Budget, trace_probes

SETTINGS = CameraSettings(t_number=4.0, iso=400.0, exposure_time_s=1.0 / 48.0)
WIDE_OPEN = CameraSettings(t_number=2.0, iso=400.0, exposure_time_s=1.0 / 48.0)
TINT = np.array([1.3, 0.95, 0.6])
SCENE = """
falloff: 2
title: A corner
units: metric
room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]
  height: 2.6 m
  floor_surface: oak
  ceiling_surface: white paint
  wall_surface: green paint
openings:
  WINDOW: {wall: 4, along: 1.5 m, width: 1 m, sill: 1 m, height: 1 m}
sky: {type: overcast, outside: 5000 lx, colour: 7500 K}
props:
  TABLE: {shape: box, size: [1 m, 80 cm, 74 cm], at: [2 m, 2 m], surface: walnut}
fixtures:
  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 4000 lm, colour: 5600 K,
        at: [3.2 m, 0.8 m, 1.9 m], aim: TABLE}
practicals:
  LAMP: {light: globe, diameter: 10 cm, output: 400 lm, colour: 2700 K, at: [0.5 m, 3.5 m, 1.4 m]}
cameras:
  A: {at: [2 m, 0.3 m, 1.3 m], aim: TABLE, lens: 35 mm}
  B: {at: [3.5 m, 0.3 m, 1.3 m], aim: TABLE, lens: 35 mm}
readings:
  table: {at: {on: TABLE}}
  wall: {at: {wall: 3, along: 2 m, height: 1.5 m}}
  lamp: {at: [0.5 m, 3.5 m, 1.4 m], instrument: spot}
  air: {at: [1 m, 1 m, 1.2 m], normal: [0, 1, 0]}
"""


@pytest.fixture(scope="module")
def layers() -> LightLayers:
    budget = Budget(reading_gather_rays=128, row_rays=64)
    return trace_layers(build_stage(parse_document(SCENE)), budget, sizes={})


@pytest.fixture(scope="module")
def matrix(layers: LightLayers) -> ReadingsMatrix:
    return readings_matrix(layers.solution, layers.probes)


def gains_of(layers: LightLayers, setup: SetupLight) -> dict[str, np.ndarray]:
    return setup.gains(dict(zip(layers.names, layers.colours, strict=True)))


SETUPS = [
    SetupLight("ONE", "A", SETTINGS, {}),
    SetupLight(
        "TWO",
        "B",
        WIDE_OPEN,
        {"KEY": 0.25, "LAMP": 0.6},
        "table",
    ),
    SetupLight("THREE", "A", SETTINGS, {"KEY": 0.0}, knobs={"KEY": 0.0}, tints={"LAMP": TINT}),
    SetupLight("DARK", "A", SETTINGS, {"KEY": 0.0, "LAMP": 0.0, "WINDOW": 0.0}),
]


@pytest.mark.parametrize("setup", SETUPS, ids=lambda setup: setup.name)
def test_weighing_is_taking(layers: LightLayers, matrix: ReadingsMatrix, setup: SetupLight) -> None:
    taken = take_readings(layers, setup)
    read = read_matrix(matrix, setup, gains_of(layers, setup))
    for key in ("scene", "setup", "camera", "key_reading", "exposure", "sources", "dims"):
        assert getattr(read, key) == getattr(taken, key), key
    assert_allclose([read.key_lux, read.mid_grey_nit], [taken.key_lux, taken.mid_grey_nit])
    assert [one.name for one in read.readings] == ["table", "wall", "lamp", "air"]
    for a, b in zip(read.readings, taken.readings, strict=True):
        for key in ("name", "instrument", "place", "faces", "unit", "position_m", "normal"):
            assert getattr(a, key) == getattr(b, key), key
        for key in ("value", "direct", "bounced"):
            assert_allclose(getattr(a, key), getattr(b, key), rtol=1e-5, atol=1e-9)
        assert (a.uv is None) == (b.uv is None) == (a.value == 0.0)
        assert_allclose(a.uv or (), b.uv or (), atol=1e-6)
        for key in ("stops_over_key", "stops_over_grey"):
            assert_alike(getattr(a, key), getattr(b, key))
        for part, other in zip(a.parts, b.parts, strict=True):
            assert part.source == other.source
            assert_allclose(
                [part.direct, part.bounced, part.share],
                [other.direct, other.bounced, other.share],
                rtol=1e-5,
                atol=1e-9,
            )
            assert_alike(part.stops_over_key, other.stops_over_key)
        # the shares are weighed as white: a hundredth of the whole is told
        for surface in {*a.bounce_from, *b.bounce_from}:
            share, other_share = (one.bounce_from.get(surface, 0.0) for one in (a, b))
            assert_allclose(share, other_share, atol=0.01, err_msg=f"{a.name}: {surface}")


def assert_alike(a: float | None, b: float | None) -> None:
    assert (a is None) == (b is None)
    if a is not None and b is not None:
        assert_allclose(a, b, atol=1e-5)


def test_a_reading_is_the_documented_sum(matrix: ReadingsMatrix, layers: LightLayers) -> None:
    """pencil, docs/page.md: Σ over s and c of w[c]·g[s][c]·(direct + bounced)[s][p][c]."""
    gains = {"WINDOW": [1.0, 1.0, 1.0], "KEY": [0.5, 0.25, 0.125], "LAMP": [0.0, 0.0, 2.0]}
    weights = [0.2627, 0.6780, 0.0593]  # source: ITU-R BT.2020, luminance of its primaries
    table = 0.0
    for s, source in enumerate(matrix.sources):
        for c in range(3):
            light = matrix.direct[s][0][c] + matrix.bounced[s][0][c]
            table += weights[c] * gains[source][c] * light
    read = read_matrix(matrix, SETUPS[0], {k: np.array(v) for k, v in gains.items()})
    assert_allclose(read.readings[0].value, table, rtol=1e-3)


def test_places_that_only_one_camera_sees(matrix: ReadingsMatrix) -> None:
    assert [one.view for one in matrix.readings] == [None, None, "A", "B", None]
    assert [one.unit for one in matrix.readings] == ["lx", "lx", "cd/m²", "cd/m²", "lx"]
    assert [one.albedo is None for one in matrix.readings] == [False, False, True, True, True]


def test_it_can_be_sent_and_read_back(matrix: ReadingsMatrix) -> None:
    sent = msgspec.msgpack.encode(matrix)
    assert msgspec.msgpack.decode(sent, type=ReadingsMatrix) == matrix


def test_one_sources_row_is_put_in_the_place_of_its_old_one(
    matrix: ReadingsMatrix, layers: LightLayers
) -> None:
    s = matrix.sources.index("KEY")
    alone = trace_probes(layers.solution, layers.solution.stage.probes, only=(s,))
    twice = msgspec.structs.replace(
        matrix, direct=[[[2.0 * c for c in rgb] for rgb in row] for row in matrix.direct]
    )
    mixed = readings_matrix(layers.solution, alone, only=(s,), before=twice)
    for k, row in enumerate(mixed.direct):
        factor = 1.0 if k == s else 2.0
        assert_allclose(row, factor * np.array(matrix.direct[k]), rtol=1e-5, atol=1e-6)
    assert_allclose(mixed.bounced, matrix.bounced, rtol=1e-5, atol=1e-6)
    assert mixed.shares[:s] == matrix.shares[:s]
    assert mixed.readings == matrix.readings


def test_no_light_at_all(matrix: ReadingsMatrix, layers: LightLayers) -> None:
    for reading in read_matrix(matrix, SETUPS[3], gains_of(layers, SETUPS[3])).readings:
        assert (reading.value, reading.stops_over_key, reading.bounce_from) == (0.0, None, {})
        assert all(part.share == 0.0 for part in reading.parts)


def test_a_stop_less_is_a_stop_less_everywhere(matrix: ReadingsMatrix, layers: LightLayers) -> None:
    full = gains_of(layers, SETUPS[0])
    whole = read_matrix(matrix, SETUPS[0], full)
    half = read_matrix(matrix, SETUPS[0], {name: 0.5 * one for name, one in full.items()})
    for a, b in zip(whole.readings, half.readings, strict=True):
        assert_allclose(math.log2(a.value / b.value), 1.0)  # pencil
