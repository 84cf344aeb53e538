"""One file from many: pictures as half floats, parts of the page put into its frame."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterable
from importlib import resources
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from falloff.session.pocket_data import PocketScene
from falloff.session.pocket_exposure import base64_of
from falloff.types import Float32Array

Half = NDArray[np.float16]

# In the order in which they are put together: each uses only those before it.
SCRIPTS: Final = (
    "words.js",
    "hours.js",
    "light.js",
    "state.js",
    "answer.js",
    "elements.js",
    "picture.js",
    "day.js",
    "lights.js",
    "camera.js",
    "balance.js",
    "wanted.js",
    "readings.js",
    "units.js",
    "metered.js",
    "main.js",
)
STYLES: Final = ("pocket.css", "controls.css", "lists.css", "wanted.css", "day.css", "desk.css")
_MOST_HALF: Final = 65504.0  # IEEE 754-2008, binary16
_DARKEST_NIT: Final = 1e-9  # a layer without light is kept as if it had this much
_GREY_AT_LEAST: Final = 2.0**-4  # of middle grey as it is kept: ten bits down to nine stops under
_IMPORT: Final = re.compile(r"^import\b[^;]*;\n", flags=re.MULTILINE)
_EXPORT: Final = re.compile(r"^export (?=(?:async )?(?:function|class|const|let)\b)", re.MULTILINE)


def half_layer(layer: Float32Array, grey_nit: float) -> tuple[Half, float]:
    """A layer (h, w, 3), cd/m², as half floats, and what they are to be multiplied by.

    The scale is a power of two, so that no more than rounding to 11 bits is lost: the brightest
    is put near the top of the range, unless middle grey (cd/m²) would go too low by that; what is
    then past the range, 20 stops over grey, is kept at its end.
    """
    most = float(layer.max(initial=0.0))
    low = math.ceil(math.log2(max(most, _DARKEST_NIT) / _MOST_HALF))
    high = math.floor(math.log2(grey_nit / _GREY_AT_LEAST))
    scale = 2.0 ** min(low, high)
    kept = np.clip(layer / np.float32(scale), 0.0, _MOST_HALF)
    return kept.astype(np.float16), scale


def page_of(scene: PocketScene, layers: Iterable[Half]) -> str:
    """The whole file: frame, styles, scripts, what the scene holds, and its layers in base64."""
    texts = {
        "title": html.escape(scene.title),
        "style": "\n".join(_text(name) for name in STYLES),
        "scene": _in_script(msgspec.json.encode(scene).decode()),
        "layers": "\n".join(
            f'<script type="text/plain" id="light-{n}">{base64_of(_bytes(layer))}</script>'
            for n, layer in enumerate(layers)
        ),
        "script": _scripts(),
    }
    # One pass, so that what stands in a text is never taken for a mark.
    marks = re.compile("|".join(f"<!--{name}-->" for name in texts))
    return marks.sub(lambda found: texts[found[0][4:-3]], _text("pocket.html"))


def _scripts() -> str:
    mixer = resources.files("falloff").joinpath("page/static/mixer.js").read_text("utf-8")
    parts = [f"const Mixer = (() => {{\n{_bare(mixer)}\nreturn Mixer;\n}})();"]
    parts += [_bare(_text(name)) for name in SCRIPTS]
    whole = "\n".join(parts)
    assert "</script" not in whole, "a script would end its own element"
    return f'"use strict";\n(() => {{\n{whole}\n}})();'


def _bare(module: str) -> str:
    """A module's text without the words that only a module may have."""
    return _EXPORT.sub("", _IMPORT.sub("", module))


def _text(name: str) -> str:
    return resources.files("falloff.session").joinpath(f"data/pocket/{name}").read_text("utf-8")


def _in_script(json: str) -> str:
    """JSON that cannot end the element that it stands in."""
    return json.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _bytes(layer: Half) -> bytes:
    return layer.astype("<f2").tobytes()
