"""Readings with lights on and off: shares by subtraction, and which reading cannot be right."""

from __future__ import annotations

import contextlib
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from falloff.balance.why.given import AMBIENT, REST, OnOff, shares_given
from falloff.balance.why.read import read_file, read_lines
from falloff.errors import DocumentError

LINE = "key cheek: all 320 lx, BOOK 210, WALL HEAD 20, ambient 60"


def shares(line: str, *units: str) -> dict[str, float]:
    """Light by source of a line, in its unit."""
    (one,) = read_lines((line,))
    found = shares_given(one, units or one.units, reference=1.0)
    return {part.source: part.light for part in found.lit.given}


def faults(*lines: str) -> list[str]:
    """What is told of lines that cannot be right."""

    def read() -> None:
        for one in read_lines(lines):
            shares_given(one, one.units, reference=1.0)

    with pytest.raises(DocumentError) as told:
        read()
    return [fault.sentence() for fault in told.value.faults]


def test_a_line_is_read() -> None:
    (one,) = read_lines((LINE,))
    assert one == OnOff(
        "key cheek", "lx", 320.0, alone={"BOOK": 210.0, "WALL HEAD": 20.0}, ambient=60.0,
        assumed=("BOOK", "WALL HEAD", "ambient"),
    )  # fmt: skip


def test_near_enough_is_scaled_to_the_whole() -> None:
    """Pencil: 290 of 320, 0.14 stop."""
    found = shares(LINE)
    assert_allclose(sum(found.values()), 320.0)
    assert_allclose(found["BOOK"], 210.0 * 320.0 / 290.0)


def test_what_is_missing_follows_by_subtraction() -> None:
    """Pencil: 320 − 210 − 60 = 50; 320 − 140 = 180."""
    assert shares("k: all 320 lx, BOOK 210, ambient 60", "BOOK", "HEAD")["HEAD"] == 50.0
    assert shares("k: all 320 lx, BOOK 210", "BOOK")[AMBIENT] == 110.0
    assert shares("k: all 320 lx, BOOK 210", "BOOK", "HEAD")[REST] == 110.0
    assert shares("k: all 320 lx, without BOOK 140")["BOOK"] == 180.0
    assert shares("k: all 320 lx, BOOK off 140, ambient 140") == {"BOOK": 180.0, AMBIENT: 140.0}


def test_a_shaded_meter_tells_bounce_from_straight_light() -> None:
    (one,) = read_lines(("shadow: all 120 lx, KEY 120, KEY shaded 90",))
    (key,) = (p for p in shares_given(one, ("KEY",), reference=1.0).lit.given if p.source == "KEY")
    assert (key.direct, key.bounced, key.split) == (30.0, 90.0, True)


def test_units_read_with_the_ambient_on_are_taken_so() -> None:
    """Pencil: (270 − 60) + (80 − 60) + 60 = 290 of 320; as they stand 410, 0.36 stop too much."""
    (one,) = read_lines(("k: all 320 lx, BOOK 270, HEAD 80, ambient 60",))
    found = shares_given(one, one.units, reference=1.0)
    parts = {part.source: part.light for part in found.lit.given}
    assert_allclose(parts["BOOK"] / parts["HEAD"], 210.0 / 20.0)
    assert "ambient was on with each" in found.notes[0]


def test_parts_that_do_not_add_up_are_told_with_what_would_mend_them() -> None:
    """Pencil: 236 for 320 is log2(320/236) = 0.44 stop."""
    (told,) = faults("key cheek: all 320 lx, BOOK 210, WALL HEAD 20, ambient 6")
    assert "0.4 stops apart" in told
    assert "BOOK 294 in place of 210" in told
    assert "ambient 90 in place of 6" in told


def test_a_second_reading_tells_which_one_is_wrong() -> None:
    """Pencil: BOOK 210 and 110 without it are the 320, so neither is wrong, nor the whole."""
    (told,) = faults("k: all 320 lx, BOOK 210, without BOOK 110, HEAD 5, ambient 6")
    assert "all 221" not in told
    assert "BOOK 2" not in told.split("→")[1]
    assert "HEAD 104 in place of 5" in told


def test_what_is_left_without_a_unit_must_fit_it() -> None:
    (told,) = faults("k: all 320 lx, BOOK 210, without BOOK 300, ambient 110")
    assert "without BOOK cannot be right" in told


def test_a_part_is_not_more_than_the_whole() -> None:
    (told,) = faults("k: all 100 lx, BOOK 210")
    assert "BOOK is more than everything together" in told
    (told,) = faults("k: all 300 lx, BOOK 100, BOOK shaded 200")
    assert "more with the meter shaded" in told


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("key cheek: all 320, BOOK 210", "a level without its unit"),
        ("key cheek: all 320 W", "no unit of illuminance"),
        ("key cheek: all 320 lx, BOOK 20 nit", "mixed"),
        ("key cheek: BOOK", "a unit and its level"),
        ("key cheek: ambient 20 lx", "neither everything on"),
        ("key cheek", "no reading with its lights on and off"),
        ("key cheek: all 320 lx, all 300", "told twice"),
        ("key cheek: all -5 lx", "below nought"),
        ("key cheek: all 1e3x lx", "unit"),
    ],
)
def test_what_cannot_be_read_is_told(line: str, says: str) -> None:
    with pytest.raises(DocumentError) as told:
        read_lines((line,))
    assert any(says in fault.sentence() for fault in told.value.faults)


def test_all_faults_are_told_together() -> None:
    assert len(faults("a: all 320", "b: 12", "c: all 3 W")) == 3


def test_feet_and_thousands() -> None:
    """1 fc = 10.76391 lx (ANSI/IES LM-63)."""
    (one,) = read_lines(("key: all 1,000 fc, SUN 900 fc",))
    assert one.whole is not None
    assert_allclose(one.whole, 10763.91, rtol=1e-6)
    assert_allclose(one.alone["SUN"], 9687.519, rtol=1e-6)
    (spot,) = read_lines(("window: all 400 cd/m2",))
    assert spot.unit == "cd/m²"


def test_numbers_are_told_as_they_were_written() -> None:
    """Nobody who wrote fc is told of lx; pencil: 60 fc are 646 lx."""
    (told,) = faults("key: all 20 fc, BOOK 60, ambient 2")
    assert "BOOK 60 + ambient 2 = 62 fc" in told
    assert "all 62 in place of 20 or BOOK 18 in place of 60" in told
    assert "646" not in told
    (told,) = faults("key: all 320 lx, BOOK 210 lx, ambient 60 fc")
    assert "ambient 646 lx (written 60 fc) = 856 lx" in told


def test_a_number_without_a_unit_needs_a_line_of_one_unit() -> None:
    """In a line of two units nobody can tell which is meant: it is asked about, each by itself."""
    told = faults("key: all 646, BOOK 400 lx, HEAD 20, ambient 12 fc")
    assert len(told) == 2
    assert told[0].startswith("key, all: a level without its unit in a line that has lx and fc")
    assert "found all 646" in told[0]
    assert "write '646 lx or 646 fc'" in told[0]
    (one,) = read_lines(("key: all 646, BOOK 400, ambient 12 fc",))
    assert one.assumed == ("all", "BOOK")
    assert one.unit_told == "fc"


def test_what_cannot_be_compared_is_not_told_in_stops() -> None:
    (told,) = faults("k: all 0 lx, BOOK 20, ambient 0")
    assert "inf" not in told


def test_a_file_is_read(tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    path.write_text(
        'camera = "T2.8, ISO 800"\nunit = "lx"\n[readings."key cheek"]\nall = 320\nBOOK = "210"\n'
        'ambient = "60 lx"\n',
        encoding="utf-8",
    )
    found = read_file(path)
    assert found.camera == "T2.8, ISO 800"
    assert found.readings == (OnOff("key cheek", "lx", 320.0, alone={"BOOK": 210.0}, ambient=60.0,
                                    assumed=("all", "BOOK")),)  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("camera = ", "not TOML"),
        ("kamera = 1", "no key 'kamera'"),
        ("", "no readings"),
        ("[readings]\nkey = 3", "a table of levels"),
        ("[readings.key]\nall = true", "no level"),
    ],
)
def test_a_faulty_file_is_told(tmp_path: Path, text: str, says: str) -> None:
    path = tmp_path / "day.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(DocumentError) as told:
        read_file(path)
    assert any(says in fault.sentence() for fault in told.value.faults)


@given(st.lists(st.floats(1.0, 1e4), min_size=1, max_size=5), st.floats(0.0, 1e4))
def test_exact_parts_are_kept_exactly(parts: list[float], ambient: float) -> None:
    alone = {f"U{k}": light for k, light in enumerate(parts)}
    one = OnOff("place", "lx", sum(parts) + ambient, alone=alone, ambient=ambient)
    found = shares_given(one, list(alone), reference=1.0)
    assert found.notes == ()
    for part in found.lit.given:
        expected = ambient if part.source == AMBIENT else alone[part.source]
        assert_allclose(part.light, expected, rtol=1e-9)


@given(st.floats(0.0, 1.2).filter(lambda apart: abs(apart - 1.0 / 3.0) > 1e-6))
def test_a_third_of_a_stop_is_the_bar(apart: float) -> None:
    one = OnOff("place", "lx", 100.0 * 2.0**apart, alone={"A": 60.0, "B": 30.0}, ambient=10.0)
    if apart > 1.0 / 3.0:
        with pytest.raises(DocumentError):
            shares_given(one, ["A", "B"], reference=1.0)
    else:
        found = shares_given(one, ["A", "B"], reference=1.0)
        assert math.isclose(found.lit.light, 100.0 * 2.0**apart)


@given(
    st.text(max_size=80)
    | st.from_regex(r"[a-z ]{1,8}: (all|KEY|ambient) -?[0-9.,]{1,6} ?(lx|fc|W)?")
)
def test_no_line_crashes(line: str) -> None:
    with contextlib.suppress(DocumentError):
        for one in read_lines((line,)):
            assert shares_given(one, one.units, reference=1.0).lit.light >= 0.0


def test_a_unit_on_and_off_is_everything_with_it_and_without_it() -> None:
    """Pencil: 100 lx with BOOK, 80 without: it gives 20 of them, a fifth."""
    assert shares("k: BOOK on 100 lx, BOOK off 80 lx") == {"BOOK": 20.0, AMBIENT: 80.0}
    assert shares("k: BOOK on 100 lx, BOOK off 80, ambient 80") == {"BOOK": 20.0, AMBIENT: 80.0}
    two = "k: BOOK on 100 lx, BOOK off 80 lx, HAIR on 100 lx, HAIR off 70 lx"
    assert shares(two) == {"BOOK": 20.0, "HAIR": 30.0, AMBIENT: 50.0}


def test_a_unit_alone_and_all_but_it_make_the_whole() -> None:
    """Pencil: 20 alone and 80 without it are 100."""
    assert shares("k: BOOK alone 20 lx, without BOOK 80 lx") == {"BOOK": 20.0, AMBIENT: 80.0}


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("k: HAIR 100 lx, BOOK off 80 lx", "BOOK off"),
        ("k: BOOK on 100 lx, BOOK off 80 lx, HAIR on 300 lx, HAIR off 80 lx", "everything on"),
        ("k: BOOK on 80 lx, BOOK off 300 lx", "more than everything"),
    ],
)
def test_a_unit_off_that_tells_nothing_is_not_dropped(line: str, told: str) -> None:
    with pytest.raises(DocumentError, match=told):
        shares(line)
