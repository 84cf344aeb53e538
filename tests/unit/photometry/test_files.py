"""Both formats: told apart, written back without loss, opened from a path."""

from __future__ import annotations

import time
import tracemalloc
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.unit.photometry.made_files import LABELS, eulumdat, lm63

from falloff.errors import PhotometricFileError
from falloff.findings import Weight
from falloff.photometry import (
    Label,
    PhotometricFile,
    read_photometric,
    read_photometric_file,
    write_photometric,
)
from falloff.photometry.plain_text import MOST_BYTES, plain

SETS = [(1, "a", 500.25, "3000 K", "80", " 36 "), (-1, "b", 2000, "", "", "n/a")]
ODD_LABELS = LABELS + "\n  [_OWN]   kept as it stands  \n[MORE] caf\xe9\nfree\tline\n"
GOOD = {
    "2002": lm63(labels=ODD_LABELS, record="3 -1 1.2345678901"),
    "2019": lm63("IES:LM-63-2019", factors="1 1.111 45.6", record="3 0.1 1"),
    "1995": lm63("IESNA:LM-63-1995", kind="1 1 0 2.5 -0.5", candela="1e2 0"),
    "1991": lm63("IESNA91", factors="0.9 0.8 1"),
    "1986": lm63("", labels="made up\n\nby hand\n", kind="1 1 -1 0 0"),
    "nearly": lm63("IESNA95"),
    "unknown": lm63("IESNA:LM-63-2044"),
    "moved": lm63()
    .replace(b"IESNA:LM-63-2002\r\n", b"")
    .replace(b"TILT", b"IESNA:LM-63-2002\r\nTILT"),
    "tilt": lm63(tilt="TILT=INCLUDE\n1\n3\n0 30 90\n1 0.95 0.87"),
    "tilt by name": lm63(tilt="tilt = a lamp.tlt "),
    "many": lm63(
        vertical=" ".join(str(k) for k in range(91)),
        horizontal="0 45 90",
        candela=" ".join(f"{k / 7:.6f}" for k in range(273, 0, -1)),
    ),
    "type b": lm63(kind="2 2 -1 0 -1", vertical="0 90", horizontal="-90 0 90", candela="1 2 " * 3),
    "type a": lm63(kind="3 2 -1 -1 1", vertical="-90 90", horizontal="0 90", candela="1 2 3 4"),
    "after": lm63() + b"1 2 three\r\n\r\nthe end",
    "utf-8": lm63().replace(b"[TEST] t", "[TEST] Größe Ω".encode()),
    "utf-16": lm63().decode().replace("[TEST] t", "[TEST] Ω").encode("utf-16"),
    "nul": lm63(labels=LABELS + "[OTHER] a\0b\n"),
    "ldt 0": eulumdat(0, (0.0, 90.0, 200.0, 270.0), values=[1.5, 2, 3, 4, 5, 6, 7, 8]),
    "ldt 3": eulumdat(3, (0.0, 90.0, 180.0, 270.0), values=[1, "2,25", 3, 4, 5, 6], sets=SETS),
    "ldt odd": eulumdat(fields={2: "?", 9: "Stra\xdfe", 13: "1.2 m", 33: "", 5: " 7"}),
    "ldt by field": eulumdat(
        sets=[(1, -2, "tube", "pair", 500, 900), ("3000", "warm", "80", "90", 36, 60)]
    ),
    "ldt after": eulumdat() + b"x\r\n\r\n12\r\n",
}


def assert_same(one: PhotometricFile, other: PhotometricFile) -> None:
    for field in fields(one):
        if field.name in {"findings", "tilt", "encoding"}:
            continue
        a, b = getattr(one, field.name), getattr(other, field.name)
        if isinstance(a, np.ndarray):
            assert_array_equal(a, b, err_msg=field.name)
        else:
            assert a == b, field.name
    assert one.tilt.written == other.tilt.written
    assert_array_equal(one.tilt.angle_deg, other.tilt.angle_deg)
    assert_array_equal(one.tilt.factor, other.tilt.factor)


@pytest.mark.parametrize("name", GOOD)
def test_what_is_written_reads_the_same(name: str) -> None:
    """source: PHO-11."""
    file = read_photometric(GOOD[name], name)
    written = write_photometric(file)
    again = read_photometric(written, name)
    assert_same(file, again)
    assert_allclose(again.flux_lm(), file.flux_lm(), rtol=0)
    assert write_photometric(again) == written
    assert b"\n" not in written.replace(b"\r\n", b"")


@pytest.mark.parametrize("name", GOOD)
def test_numbers_stay_on_lines_that_any_version_allows(name: str) -> None:
    # source: check values, section 10: 80 characters with the line end, in the oldest
    lines = write_photometric(read_photometric(GOOD[name], name)).split(b"\r\n")
    assert max(map(len, lines)) <= 78


def test_lines_of_text_are_written_as_they_stood() -> None:
    file = read_photometric(GOOD["2002"], "a.ies")
    head = GOOD["2002"].split(b"TILT")[0]
    assert write_photometric(file).startswith(head)
    assert b"[OTHER] a\0b\r\n" in write_photometric(read_photometric(GOOD["nul"], "a.ies"))


def test_numbers_of_a_file_cannot_be_changed() -> None:
    file = read_photometric(GOOD["2002"], "a.ies")
    for array in (file.values, file.vertical_deg, file.horizontal_deg):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_a_change_is_written() -> None:
    file = read_photometric(GOOD["ldt 3"], "a.ldt")
    changed = read_photometric(write_photometric(replace(file, multiplier=2.5)), "a.ldt")
    assert changed.multiplier == 2.5
    assert_allclose(changed.flux_lm(), 2.5 * file.flux_lm())


def test_letters_that_latin_1_lacks_are_written_as_utf_8() -> None:
    file = read_photometric(GOOD["2002"], "a.ies")
    named = replace(file, labels=(*file.labels, Label("_OHM", "Ω", "[_OHM] Ω")))
    again = read_photometric(write_photometric(named), "a.ies")
    assert again.keyword("_OHM") == "Ω"
    assert again.labels == named.labels
    marked = read_photometric(b"\xef\xbb\xbf" + write_photometric(named), "a.ies")
    assert marked.labels == named.labels
    assert [one.says for one in marked.findings if "UTF-8" in one.says] == []


def test_numbers_in_the_fewest_characters() -> None:
    for value in (0.1, 1e-7, 123456789.125, 3.0, 1e22, -0.25):
        assert float(plain(value)) == value
    assert plain(3.0) == "3"


@pytest.mark.parametrize(
    ("content", "name", "kind"),
    [
        (lm63(), "a.txt", "LM-63"),
        (lm63(), "a.ldt", "LM-63"),
        (eulumdat(), "a.txt", "EULUMDAT"),
        (eulumdat(fields={9: "TILT=NONE"}), "a.ldt", "EULUMDAT"),
    ],
)
def test_formats_are_told_by_what_they_hold(content: bytes, name: str, kind: str) -> None:
    assert read_photometric(content, name).format == kind


def test_a_name_decides_what_is_missing() -> None:
    with pytest.raises(PhotometricFileError, match="no TILT line"):
        read_photometric(b"something else", "a.IES")
    with pytest.raises(PhotometricFileError, match="too early"):
        read_photometric(b"something else", "a.ldt")


def test_from_a_path(tmp_path: Path) -> None:
    path = tmp_path / "a.ies"
    path.write_bytes(lm63(tilt="TILT=lamp.tlt"))
    alone = read_photometric_file(path)
    assert [one.weight for one in alone.findings] == [Weight.WARNING]
    assert "lamp.tlt" in alone.findings[0].do
    (tmp_path / "lamp.tlt").write_bytes(b"1\r\n2\r\n0 90\r\n1 0.8\r\n")
    beside = read_photometric_file(path)
    assert beside.findings == ()
    assert beside.tilt.factor_at(45.0) == 0.9  # pencil
    assert b"TILT=lamp.tlt\r\n1 -1" in write_photometric(beside)
    plain_one = tmp_path / "b.ldt"
    plain_one.write_bytes(eulumdat())
    assert read_photometric_file(plain_one).name == "b.ldt"


@pytest.mark.parametrize("name", ["../up.tlt", "a\\b.tlt", "..", "no.tlt", "nul\0.tlt"])
def test_a_tilt_file_elsewhere_is_not_read(name: str, tmp_path: Path) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    (tmp_path / "up.tlt").write_bytes(b"1\r\n2\r\n0 90\r\n1 0.8\r\n")
    (folder / "a.ies").write_bytes(lm63(tilt=f"TILT={name}"))
    file = read_photometric_file(folder / "a.ies")
    assert file.tilt.angle_deg.size == 0
    assert file.findings[-1].weight is Weight.WARNING


def test_what_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(PhotometricFileError, match="cannot be opened"):
        read_photometric_file(tmp_path / "none.ies")
    with pytest.raises(PhotometricFileError, match="cannot be opened"):
        read_photometric_file(tmp_path)
    (tmp_path / "big.ies").write_bytes(b" " * (MOST_BYTES + 5))
    with pytest.raises(PhotometricFileError, match="too large"):
        read_photometric_file(tmp_path / "big.ies")


@pytest.mark.parametrize(
    "content",
    [
        lm63().replace(b"1 -1 1 2 1", b"1 -1 1 900000 900000"),
        lm63(tilt="TILT=INCLUDE\n1\n999999999\n0 90\n1 1"),
        eulumdat(fields={4: 99999999, 6: 99999999}),
        eulumdat(fields={26: 99999999}),
        b"[A]" + b" " * 400_000 + b"x\nTILT=" + b" " * 400_000 + b"x",
        b"IES" + b"-" * 400_000 + b"LM" + b"-" * 400_000 + b"\n[A]\nTILT=NONE\n",
        b"TILT=NONE\n" + b", " * 200_000,
        b"TILT=NONE\n" + b"1" * 800_000,
        b"\r\n" * 400_000,
        b"TILT=NONE\n1 -1 1 2 300000 1 2 0 0 0 1 1 1 0 90\n" + b"1 " * 400_000,
    ],
)
def test_absurd_files_cost_little(content: bytes) -> None:
    tracemalloc.start()
    began = time.process_time()
    with pytest.raises(PhotometricFileError):
        read_photometric(content, "a")
    took = time.process_time() - began
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 100 * len(content) + 1_000_000  # bytes: a token of one character costs about 70
    assert took < 10.0


def test_large_files_are_read_in_time() -> None:
    angles = " ".join(f"{0.5 * k:g}" for k in range(361))
    turns = " ".join(map(str, range(361)))
    candela = ("123.4 " * 361 + "\n") * 361
    began = time.process_time()
    file = read_photometric(lm63(vertical=angles, horizontal=turns, candela=candela), "a.ies")
    assert time.process_time() - began < 10.0
    assert_allclose(file.flux_lm(), 123.4 * 4.0 * np.pi, rtol=1e-12)  # pencil: the same all round
