"""Any photometric file that can be read is the same after it is written and read again."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose, assert_array_equal
from tests.unit.photometry.made_files import LABELS, eulumdat, lm63

from falloff.photometry import (
    PhotometricFile,
    read_photometric,
    web_flux_lm,
    web_intensity,
    write_photometric,
)

MANY = settings(max_examples=150, deadline=None, derandomize=True)
LIGHT = st.floats(0.0, 1e5, allow_subnormal=False)
FACTOR = st.floats(1e-3, 1e3)
# Latin-1 without the ends of lines, NUL and end of file, which the formats give other meanings.
TEXT = st.text(
    st.characters(
        codec="latin-1", exclude_characters="\r\n\0\x1a\x85\xa0", exclude_categories=["Cc"]
    ),
    max_size=40,
)


def some_light(draw: st.DrawFn, count: int) -> list[float]:
    values = draw(st.lists(LIGHT, min_size=count, max_size=count))
    values[draw(st.integers(0, count - 1))] = draw(st.floats(1.0, 1e5))
    return values


def between(draw: st.DrawFn, last: int) -> list[float]:
    """0, some angles to a thousandth of a degree, and the last."""
    inner = draw(st.sets(st.integers(1, 1000 * last - 1), max_size=5))
    return [0.0, *(k / 1000.0 for k in sorted(inner)), float(last)]


@st.composite
def lm63_files(draw: st.DrawFn) -> bytes:
    v = between(draw, draw(st.sampled_from([90, 180])))
    h = [0.0] if draw(st.booleans()) else between(draw, draw(st.sampled_from([90, 180, 360])))
    values = some_light(draw, len(v) * len(h))
    sizes = " ".join(repr(draw(st.floats(-2.0, 2.0))) for _ in range(3))
    factors = f"{draw(FACTOR)!r} 1 {draw(FACTOR)!r}"
    return lm63(
        draw(
            st.sampled_from(["IESNA91", "IESNA:LM-63-1995", "IESNA:LM-63-2002", "IES:LM-63-2019"])
        ),
        labels=f"{LABELS}[_OWN] {draw(TEXT)}\n[MORE] {draw(TEXT)}\n",
        record=f"{draw(st.integers(1, 9))} {draw(FACTOR)!r} {draw(FACTOR)!r}",
        kind=f"1 {draw(st.integers(1, 2))} {sizes}",
        factors=factors,
        vertical=" ".join(map(repr, v)),
        horizontal=" ".join(map(repr, h)),
        candela=draw(st.sampled_from([" ", "\n", ",", " , "])).join(map(repr, values)),
    )


@st.composite
def eulumdat_files(draw: st.DrawFn) -> bytes:
    symmetry = draw(st.integers(0, 4))
    many = 4 * draw(st.integers(1, 4))
    planes = [360.0 * k / many for k in range(many)]
    stored = [many, 1, many // 2 + 1, many // 2 + 1, many // 4 + 1][symmetry]
    angles = between(draw, draw(st.sampled_from([90, 180])))
    values = some_light(draw, stored * len(angles))
    comma = draw(st.booleans())
    sets = [
        (draw(st.sampled_from([-1, 1, 3])), draw(TEXT), draw(FACTOR), draw(TEXT), draw(TEXT), 36)
        for _ in range(draw(st.integers(1, 3)))
    ]
    return eulumdat(
        symmetry,
        planes,
        angles,
        [repr(one).replace(".", ",") if comma else repr(one) for one in values],
        factor=draw(FACTOR),
        sets=sets,
        fields={1: draw(TEXT), 9: draw(TEXT), 10: draw(TEXT)},
    )


def check_same(content: bytes, name: str) -> PhotometricFile:
    file = read_photometric(content, name)
    written = write_photometric(file)
    again = read_photometric(written, name)
    for field in ("vertical_deg", "horizontal_deg", "values"):
        assert_array_equal(getattr(again, field), getattr(file, field))
    for field in ("labels", "lamp_sets", "multiplier", "ballast_factor", "future_use", "opening",
                  "symmetry", "version", "version_line", "input_power_w"):  # fmt: skip
        assert getattr(again, field) == getattr(file, field)
    for lamp_set in range(len(file.lamp_sets)):
        assert_allclose(again.flux_lm(lamp_set), file.flux_lm(lamp_set), rtol=0)
        assert_allclose(web_flux_lm(file.web(lamp_set)), file.flux_lm(lamp_set), rtol=1e-12)
    assert write_photometric(again) == written
    return file


@MANY
@given(lm63_files())
def test_lm63_is_the_same_again(content: bytes) -> None:
    file = check_same(content, "a.ies")
    web = file.web()
    # pencil: at a stored point the web is the stored value times the file's factors
    c, g = math.radians(file.horizontal_deg[0]), math.radians(file.vertical_deg[1])
    way = np.array([[math.sin(g) * math.cos(c), math.sin(g) * math.sin(c), math.cos(g)]])
    expected = file.values[0, 1] * file.multiplier * file.ballast_factor
    scale = float(web.candela.max())
    assert_allclose(web_intensity(web, way)[0], expected, atol=1e-6 * scale)


@MANY
@given(eulumdat_files())
def test_eulumdat_is_the_same_again(content: bytes) -> None:
    check_same(content, "a.ldt")
