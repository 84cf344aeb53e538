"""Pictures for a display, as PNG."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from falloff.camera.atomic_write import write_whole

if TYPE_CHECKING:
    from PIL.Image import Image

# PNG (ISO/IEC 15948:2004) 11.3.3.5: the sRGB chunk, rendering intent 0, "perceptual".
_SRGB_PERCEPTUAL = b"\x00"


def write_png(
    path: str | Path, picture: NDArray[np.uint8] | Image, *, text: Mapping[str, str] | None = None
) -> Path:
    """Write a picture as PNG with an sRGB chunk and text of what it shows; the path.

    picture: (h, w, 3) or (h, w) sRGB 8-bit, or a Pillow image. text: keyword to value, such as
    {"Exposure": describe_settings(settings)}; keywords of 1 to 79 Latin characters (PNG 11.3.4.2).
    Raises OutputError where the file cannot be written.
    """
    from PIL import Image, PngImagePlugin

    image = Image.fromarray(picture) if isinstance(picture, np.ndarray) else picture
    chunks = PngImagePlugin.PngInfo()
    chunks.add(b"sRGB", _SRGB_PERCEPTUAL)
    for keyword, value in (text or {}).items():
        chunks.add_itxt(keyword, value)
    return write_whole(path, lambda part: image.save(part, format="PNG", pnginfo=chunks))
