"""All layers and their sum in one OpenEXR file, linear."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.camera.atomic_write import write_whole
from falloff.camera.exposure import describe_key, describe_settings, mid_grey_luminance_nit
from falloff.camera.frame import checked_dims, sum_layers
from falloff.errors import Fault, OutputError
from falloff.spectrum import BT2020_PRIMARIES_XY, D65_XY

if TYPE_CHECKING:
    from falloff.camera.settings import CameraSettings

Floats = NDArray[np.floating]

# A half float ends here (IEEE 754-2008, binary16); a lamp in shot may well be brighter.
_HALF_MAX: Final = 65504.0
_LAYER_NAME: Final = re.compile(r"[^\s.\x00-\x1f][^\x00-\x1f]{0,199}(?<![\s.])")


def write_exr(
    path: str | Path,
    layers: Mapping[str, Floats],
    *,
    dims: Mapping[str, ArrayLike] | None = None,
    settings: CameraSettings | None = None,
    comments: str = "",
) -> Path:
    """Write one linear OpenEXR file: a named layer per source and their sum as R, G, B.

    layers: (h, w, 3) working space, cd/m² at full, float16 or float32 (other floats become
    float32). dims: as for `expose`; each layer is written as dimmed, so that the layers sum to
    the picture. settings: told in the header, with middle grey in cd/m². The header holds the
    BT.2020 chromaticities and whiteLuminance 1.0: one unit is one cd/m².
    A float16 layer that would pass 65504 is written as float32. Raises OutputError for a name
    that OpenEXR cannot hold or a place that cannot be written, FalloffError as `expose`.
    Source: OpenEXR technical introduction, "layers" and standard attributes.
    """
    _check_names(layers)
    beauty = sum_layers(layers, dims or {})
    weights = checked_dims(layers, dims or {})
    channels = _channels("", beauty)
    for name, layer in layers.items():
        channels |= _channels(f"{name}.", _as_dimmed(layer, weights[name]))
    header = _header(settings, comments)
    return write_whole(path, lambda part: _write(part, header, channels))


def _write(path: Path, header: dict[str, Any], channels: dict[str, Floats]) -> None:
    import OpenEXR

    with OpenEXR.File(header, channels) as file:
        file.write(str(path))


def _header(settings: CameraSettings | None, comments: str) -> dict[str, Any]:
    import OpenEXR

    chromaticities = tuple(value for xy in (*BT2020_PRIMARIES_XY, D65_XY) for value in xy)
    header: dict[str, Any] = {
        "type": OpenEXR.scanlineimage,
        "compression": OpenEXR.ZIP_COMPRESSION,
        "chromaticities": chromaticities,
        "whiteLuminance": 1.0,
        "software": "Falloff",
    }
    if settings is not None:
        header["exposure"] = f"{describe_settings(settings)}; {describe_key(settings)}"
        header["middleGreyNit"] = float(mid_grey_luminance_nit(settings))
    if comments:
        header["comments"] = comments
    return header


def _channels(prefix: str, picture: Floats) -> dict[str, Floats]:
    return {f"{prefix}{c}": np.ascontiguousarray(picture[..., i]) for i, c in enumerate("RGB")}


def _as_dimmed(layer: Floats, weight: Floats) -> Floats:
    dimmed = np.multiply(layer, weight, dtype=np.float32, casting="same_kind")
    if layer.dtype == np.float16 and float(np.abs(dimmed).max(initial=0.0)) <= _HALF_MAX:
        return dimmed.astype(np.float16)
    return dimmed


def _check_names(layers: Mapping[str, Floats]) -> None:
    faults = [
        Fault(
            "a layer cannot have this name in an OpenEXR file",
            where=repr(name),
            expected="1 to 200 characters, no full stop or space at either end",
            fix="rename the source",
        )
        for name in layers
        if not _LAYER_NAME.fullmatch(name)
    ]
    if faults:
        raise OutputError(*faults)
