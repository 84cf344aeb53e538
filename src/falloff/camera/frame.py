"""From one linear layer per source to the exposed frame."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.camera.exposure import stops_over_grey
from falloff.camera.settings import CameraSettings
from falloff.errors import FalloffError, Fault
from falloff.spectrum import luminance
from falloff.types import BoolArray, Float32Array

# Rows summed at a time, so that a strip of every layer's sum stays in the processor's cache.
_ROWS_PER_STRIP: Final = 16


@dataclass(frozen=True, slots=True)
class ExposedFrame:
    """What the camera sees at its settings; arrays are read-only.

    picture: (h, w, 3) float32, linear working space, cd/m², before white balance.
    stops_over_grey: (h, w) float32, of the luminance; minus infinity where there is no light.
    highlights_clipped, shadows_clipped: (h, w), past the camera's limits in `settings`.
    """

    picture: Float32Array
    stops_over_grey: Float32Array
    highlights_clipped: BoolArray
    shadows_clipped: BoolArray
    settings: CameraSettings


def expose(
    layers: Mapping[str, NDArray[np.floating]],
    dims: Mapping[str, ArrayLike],
    settings: CameraSettings,
) -> ExposedFrame:
    """Sum the layers at their dims and judge the sum by the camera's settings.

    layers: one (h, w, 3) picture per source, cd/m² at full. dims: fraction of full (0 and up) per
    source, or three such, one a channel, for a change of colour; a source not named is at full.
    Raises FalloffError for no layers, sizes that differ, an unknown source or a dim that is
    negative or not finite. Source: light is linear.
    """
    picture = sum_layers(layers, dims)
    stops = stops_over_grey(luminance(picture), settings)
    highlights = stops > settings.highlight_stops
    shadows = stops < -settings.shadow_stops
    for array in (picture, stops, highlights, shadows):
        array.setflags(write=False)
    return ExposedFrame(
        picture, stops.astype(np.float32, copy=False), highlights, shadows, settings
    )


def sum_layers(
    layers: Mapping[str, NDArray[np.floating]], dims: Mapping[str, ArrayLike]
) -> Float32Array:
    """The (h, w, 3) float32 sum of the layers at their dims; terms and errors as `expose`."""
    shape = _shape(layers)
    weights = checked_dims(layers, dims)
    total = np.zeros(shape, dtype=np.float32)
    scaled = np.empty((_ROWS_PER_STRIP, *shape[1:]), dtype=np.float32)
    lit = [(layers[name], weight) for name, weight in weights.items() if np.any(weight)]
    for start in range(0, shape[0], _ROWS_PER_STRIP):
        rows = slice(start, min(start + _ROWS_PER_STRIP, shape[0]))
        room = scaled[: rows.stop - start]
        for layer, weight in lit:
            np.multiply(layer[rows], weight, out=room, casting="same_kind")
            total[rows] += room
    return total


def checked_dims(
    layers: Mapping[str, NDArray[np.floating]], dims: Mapping[str, ArrayLike]
) -> dict[str, Float32Array]:
    """The dim of every layer, () or (3,) float32; errors as `expose`."""
    faults = [_unknown(name, layers) for name in dims if name not in layers]
    weights = {}
    for name in layers:
        weight = np.asarray(dims.get(name, 1.0), dtype=np.float32)
        if weight.shape not in ((), (3,)) or not np.all(np.isfinite(weight) & (weight >= 0.0)):
            faults.append(_bad_dim(name, dims[name]))
        weights[name] = weight
    if faults:
        raise FalloffError(*faults)
    return weights


def _shape(layers: Mapping[str, NDArray[np.floating]]) -> tuple[int, int, int]:
    if not layers:
        raise FalloffError(Fault("there is nothing to expose", expected="one layer or more"))
    first_name, first = next(iter(layers.items()))
    for name, layer in layers.items():
        if layer.ndim != 3 or layer.shape[2] != 3 or layer.shape != first.shape:
            raise FalloffError(
                Fault(
                    "a layer is not a picture of three channels, as large as the others",
                    where=name,
                    expected=f"(height, width, 3), as {first_name} has {first.shape}",
                    found=str(layer.shape),
                    fix="trace all layers for one camera at one size",
                )
            )
    return first.shape


def _unknown(name: str, layers: Mapping[str, NDArray[np.floating]]) -> Fault:
    near = difflib.get_close_matches(name, layers, n=1)
    return Fault(
        "a dim names a source that has no layer",
        where=name,
        expected=f"one of {', '.join(layers)}",
        fix=f"did you mean {near[0]}?" if near else "",
    )


def _bad_dim(name: str, dim: ArrayLike) -> Fault:
    return Fault(
        "a dim is a fraction of full, or three of them",
        where=name,
        expected="0 or more, 1 for full",
        found=str(dim),
        fix="write 60 % as 0.6",
    )
