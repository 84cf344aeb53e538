"""A drawing as SVG and as PNG: the same shapes, at the same places."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
from PIL import Image

from falloff.drawing import (
    Drawing,
    Patch,
    Stroke,
    Words,
    picture_of,
    svg_of,
    width_of_words_mm,
    write_png,
)

SVG = "{http://www.w3.org/2000/svg}"
DRAWN = Drawing(
    40.0,
    20.0,
    "a <title> & more",
    (
        Patch(((2.0, 2.0), (6.0, 2.0), (6.0, 6.0), (2.0, 6.0)), 0.5),
        Stroke(((10.0, 10.0), (30.0, 10.0)), 1.0),
        Stroke(((10.0, 15.0), (30.0, 15.0)), 1.0, dash_mm=(4.0, 6.0)),
        Words("a < b & c", (20.0, 6.0), 4.0, "middle"),
    ),
)


def test_svg_is_xml_to_scale_with_its_words_in_their_room() -> None:
    root = ET.fromstring(svg_of(DRAWN))
    assert root.attrib["width"] == "40mm"
    assert root.attrib["viewBox"] == "0 0 40 20"
    assert root.findtext(f"{SVG}title") == "a <title> & more"
    words = root.find(f"{SVG}text")
    assert words is not None
    assert words.text == "a < b & c"
    assert words.attrib["text-anchor"] == "middle"
    assert float(words.attrib["textLength"]) == round(width_of_words_mm("a < b & c", 4.0), 3)
    assert [one.attrib.get("stroke-dasharray") for one in root.iter(f"{SVG}polyline")] == [
        None,
        "4,6",
    ]


def test_control_characters_do_not_break_the_svg() -> None:
    told = Drawing(10.0, 10.0, "a\x00b", (Words("x\x1by", (1.0, 5.0), 3.0),))
    root = ET.fromstring(svg_of(told))
    assert root.findtext(f"{SVG}text") == "xy"


def test_picture_has_ink_where_the_shapes_are() -> None:
    grey = np.asarray(picture_of(DRAWN, px_per_mm=10.0), np.float64)
    assert grey.shape == (200, 400)
    # pencil: half grey is 128 of 255; the line is 1 mm thick about y = 10 mm
    assert grey[40, 40] == 128
    assert grey[100, 200] == 0
    assert grey[108, 200] == 255
    # pencil: from 10 mm 4 are drawn, 6 left out, 4 drawn, 6 left out
    assert [grey[150, 10 * x] for x in (12, 16, 22, 26)] == [0, 255, 0, 255]
    lettered = np.argwhere(grey[20:70, 100:300] < 128)[:, 1].mean()
    assert abs(lettered - 100.0) < 10.0  # the words stand about their middle, 20 mm


def test_png_prints_at_its_own_size(tmp_path: Path) -> None:
    path = tmp_path / "drawn.png"
    write_png(DRAWN, path)
    with Image.open(path) as picture:
        # pencil: 8 px a mm is 203.2 px an inch
        assert picture.size == (320, 160)
        assert abs(picture.info["dpi"][0] - 203.2) < 0.1
