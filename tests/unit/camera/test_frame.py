"""Layers, dims and what the camera clips."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.camera import CameraSettings, expose, mid_grey_luminance_nit
from falloff.errors import FalloffError
from falloff.types import Float32Array

SETTINGS = CameraSettings(2.8, 800, 1 / 48, highlight_stops=4.0, shadow_stops=5.0)
GREY_NIT = mid_grey_luminance_nit(SETTINGS)


def layers(height: int = 37, width: int = 5) -> dict[str, Float32Array]:
    """Three layers of noise; 37 rows are not a whole number of strips."""
    rng = np.random.default_rng(7)
    return {n: rng.random((height, width, 3), dtype=np.float32) for n in ("KEY", "FILL", "WINDOW")}


def test_sum_of_dimmed_layers() -> None:
    """pencil: light is linear; a source without a dim is at full, a dim may be per channel."""
    three = layers()
    tint = np.array([0.2, 0.1, 0.0])
    frame = expose(three, {"KEY": 0.25, "FILL": tint}, SETTINGS)
    expected = 0.25 * three["KEY"].astype(float) + tint * three["FILL"] + three["WINDOW"]
    assert_allclose(frame.picture, expected, rtol=1e-5)
    assert frame.picture.dtype == frame.stops_over_grey.dtype == np.float32
    assert frame.settings is SETTINGS


def test_doubling_every_dim_is_a_stop() -> None:
    """pencil: log2 of two."""
    three = layers()
    once = expose(three, dict.fromkeys(three, 0.3), SETTINGS)
    twice = expose(three, dict.fromkeys(three, 0.6), SETTINGS)
    assert_allclose(twice.stops_over_grey - once.stops_over_grey, 1.0, atol=1e-5)


def test_limits_are_those_of_the_camera() -> None:
    """pencil: neutral patches just inside and just past +4 and -5, and black."""
    stops = np.array([[3.99, 4.01, -4.99, -5.01, -np.inf]])
    patch = np.repeat((GREY_NIT * 2.0**stops)[..., np.newaxis], 3, axis=2).astype(np.float32)
    frame = expose({"ONLY": patch}, {}, SETTINGS)
    assert_allclose(frame.stops_over_grey, stops, atol=1e-5)
    assert frame.highlights_clipped.tolist() == [[False, True, False, False, False]]
    assert frame.shadows_clipped.tolist() == [[False, False, False, True, True]]


def test_layers_are_left_alone_and_the_frame_is_read_only() -> None:
    """A caller keeps the layers for the next dim; nobody edits a frame in place."""
    three = layers()
    before = {name: layer.copy() for name, layer in three.items()}
    frame = expose(three, {"KEY": 0.0}, SETTINGS)
    for name, layer in three.items():
        np.testing.assert_array_equal(layer, before[name])
    with pytest.raises(ValueError, match="read-only"):
        frame.picture[0, 0, 0] = 1.0


def test_half_float_layers() -> None:
    """pencil: the sum is made in single precision whatever the layers are."""
    half = {"A": np.full((3, 4, 3), 1000.0, np.float16), "B": np.full((3, 4, 3), 0.25, np.float16)}
    assert_allclose(expose(half, {}, SETTINGS).picture, 1000.25, rtol=1e-7)


@pytest.mark.parametrize("dim", [-0.1, float("nan"), float("inf"), (1.0, 2.0)])
def test_impossible_dims(dim: float | tuple[float, float]) -> None:
    """The refusal names the source."""
    with pytest.raises(FalloffError, match="KEY: a dim is a fraction of full"):
        expose(layers(), {"KEY": dim}, SETTINGS)


def test_unknown_source() -> None:
    """The nearest name is offered."""
    with pytest.raises(FalloffError, match="did you mean FILL"):
        expose(layers(), {"FIL": 0.5}, SETTINGS)


def test_nothing_and_unequal_sizes() -> None:
    """Both are refused before any sum."""
    with pytest.raises(FalloffError, match="nothing to expose"):
        expose({}, {}, SETTINGS)
    unequal = layers() | {"SKY": np.zeros((2, 2, 3), np.float32)}
    with pytest.raises(FalloffError, match="SKY: a layer is not a picture"):
        expose(unequal, {}, SETTINGS)
