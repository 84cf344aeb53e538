"""LM-63: every version, type, tilt and symmetry; what is forgiven and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.photometry.made_files import LABELS, lm63

from falloff.errors import PhotometricFileError
from falloff.findings import Weight
from falloff.photometry import PhotometricFile, read_photometric, web_flux_lm, web_intensity

# pencil: 100 cd straight down to nothing at 90°: 2π · 100 (1 − 2/π)
CONE_LM = 200.0 * math.pi * (1.0 - 2.0 / math.pi)


def read(content: bytes) -> PhotometricFile:
    return read_photometric(content, "a.ies")


def says(file: PhotometricFile) -> str:
    return " | ".join(f"{one.weight}: {one.says}" for one in file.findings)


@pytest.mark.parametrize(
    ("version", "year", "x", "factor"),
    [
        ("", "1986", "0.9", 0.9),  # source: check values: X is a factor up to 1991
        ("IESNA91", "1991", "0.9", 0.9),
        ("IESNA:LM-63-1995", "1995", "0.9", 1.0),  # source: as above: never from 1995 on
        ("IESNA:LM-63-2002", "2002", "2", 1.0),
        ("IES:LM-63-2019", "2019", "1.11100", 1.0),  # source: as above: a code
        ("IES:LM-63-2019", "2019", "1.00001", 1.0),
    ],
)
def test_versions_and_their_factors(version: str, year: str, x: str, factor: float) -> None:
    labels = LABELS if version else "made up\nfree text\n"
    file = read(lm63(version, labels=labels, record="1 -1 3", factors=f"0.5 {x} 40"))
    assert file.version == year
    assert_allclose(file.flux_lm(), 3 * 0.5 * factor * CONE_LM)  # pencil: multiplier · ballast · X
    assert file.input_power_w == 40.0
    assert file.declared_flux_lm() is None
    assert ("note" in says(file)) == (year != "2019")


def test_declared_lumens_are_of_all_lamps() -> None:
    file = read(lm63(record="2 125 1"))
    assert file.declared_flux_lm() == 250.0  # pencil
    assert "-9 %" in says(file)  # pencil: 228.32/250 − 1


@pytest.mark.parametrize(
    ("horizontal", "planes", "flux"),
    [
        # pencil: each plane 100 on the axis, its last value at 90°: Φ = 2π(100(1−2/π) + m 2/π),
        # m the mean over the turn of the values at 90°
        ("0", [0], 0.0),
        ("0 90", [0, 80], 40.0),
        ("0 45 90", [0, 80, 0], 40.0),
        ("0 90 180", [0, 80, 40], 50.0),
        ("90 180 270", [80, 40, 0], 40.0),
        ("-90 0 90", [80, 40, 0], 40.0),
        ("0 90 180 270 360", [0, 80, 40, 20, 0], 35.0),
        ("0 90 180 270", [0, 80, 40, 20], 35.0),
        ("0 180 300", [0, 60, 60], 40.0),
    ],
)
def test_symmetries_of_type_c(horizontal: str, planes: list[int], flux: float) -> None:
    candela = "\n".join(f"100 {one}" for one in planes)
    file = read(lm63(horizontal=horizontal, candela=candela))
    assert_allclose(file.flux_lm(), CONE_LM + 4.0 * flux)
    assert file.findings == ()


def test_planes_of_a_symmetry_lie_where_they_should() -> None:
    about_90 = read(lm63(horizontal="90 180 270", candela="100 80 100 40 100 10")).web()
    ways = np.array([[0, 1, 0], [-1, 0, 0], [1, 0, 0], [0, -1, 0]], float)
    # pencil: C90 as stored, C180 as stored, C0 as C180, C270 as stored
    assert_allclose(web_intensity(about_90, ways), [80.0, 40.0, 40.0, 10.0], atol=1e-9)
    quarters = read(lm63(horizontal="0 90", candela="100 80 100 40")).web()
    assert_allclose(web_intensity(quarters, ways), [40.0, 80.0, 80.0, 40.0], atol=1e-9)


def test_light_upwards_only() -> None:
    """pencil: 100 cd all over the upper half is 2π · 100 lm."""
    file = read(lm63(vertical="90 180", candela="100 100"))
    assert_allclose(file.flux_lm(), 200.0 * math.pi, rtol=1e-7)
    assert web_intensity(file.web(), np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 1.0]])).tolist() == [
        0,
        0,
    ]


def test_angles_that_end_early_are_told() -> None:
    file = read(lm63(vertical="0 60", candela="100 100"))
    assert_allclose(file.flux_lm(), 100.0 * math.pi)  # pencil: 2π(1 − cos 60°)
    assert "no light is taken beyond" in says(file)


def test_numbers_wrap_anywhere_and_commas_part_them() -> None:
    content = lm63().replace(b"100 0\r\n", b"100\r\n\r\n ,0").replace(b"1 -1 1", b"1,-1,\t1\r\n")
    content = content.replace(b"0 90\r\n", b"0,90.0e0\n")
    file = read(content)
    assert_allclose(file.flux_lm(), CONE_LM)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda c: b"\xef\xbb\xbf" + c, "byte order mark"),
        (lambda c: c.replace(b"\r\n", b"\n"), "LF alone"),
        (lambda c: c + b"\0\0\x1a", "NUL"),
        (lambda c: c.replace(b"[TEST] t", "[TEST] Größe".encode()), "UTF-8"),
        (lambda c: c.decode().encode("utf-16"), "UTF-16"),
        (lambda c: c.replace(b"IESNA:LM-63-2002", b"IESNA02"), "no version as written"),
        (lambda c: c.replace(b"IESNA:LM-63-2002", b"IESNA:LM-63-2044"), "unknown"),
        (lambda c: c.replace(b"IESNA:LM-63-2002\r\n", b""), "no version line"),
        (lambda c: b"text first\r\n" + c, "not on the first"),
        (lambda c: c.replace(b"TILT=NONE", b" tilt = none"), "TILT line is written"),
        (lambda c: c + b"7 8", "numbers remain"),
        (lambda c: c + b"the end", "text stands after"),
        (lambda c: c.replace(b"[TESTLAB]", b"[LAB]"), "missing: [TESTLAB]"),
        (lambda c: c.replace(b"[TEST]", b"free text\r\n[TEST]"), "without a keyword"),
        (lambda c: c.replace(b"[TEST]", b"[MORE] x\r\n[TEST]"), "continues nothing"),
        (lambda c: c.replace(b"1 -1 1", b"1 0 1"), "declares no lumens"),
        (lambda c: c.replace(b"1 1 100", b"1 1 -3"), "watts are below"),
        (lambda c: c.replace(b"90\r\n0\r\n", b"90\r\n5\r\n"), "taken as round"),
    ],
)
def test_what_is_forgiven_changes_no_light_and_is_told(change: object, word: str) -> None:
    assert callable(change)
    file = read(change(lm63()))
    assert_allclose(file.flux_lm(), CONE_LM)
    assert word in says(file)


def test_latin_1_text_is_kept() -> None:
    file = read(lm63(labels=LABELS + "[LUMINAIRE] caf\xe9\n[MORE] \xfcber zwei\n[_OWN] 1\n"))
    assert file.keyword("LUMINAIRE") == "café\nüber zwei"
    assert file.keyword("_OWN") == "1"
    assert file.keyword("LAMP") == ""
    assert file.findings == ()


def test_seam_that_differs_is_told() -> None:
    file = read(lm63(horizontal="0 180 360", candela="100 0 100 0 100 50"))
    assert "same place" in says(file)


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (lm63(tilt="TILT NONE"), "no TILT line"),
        (lm63(tilt="TILT="), "TILT says nothing"),
        (lm63(tilt="TILT=INCLUDE"), "so many tilt angles"),
        (lm63(tilt="TILT=INCLUDE\n4\n2\n0 90\n1 1"), "geometry is unknown"),
        (lm63(tilt="TILT=INCLUDE\n1\n2\n90 0\n1 1"), "tilt angles do not ascend"),
        (lm63(tilt="TILT=INCLUDE\n1\n2\n0 90\n1 -1"), "tilt factor is below"),
        (lm63(tilt="TILT=INCLUDE\n1\n0\n"), "so many tilt angles"),
        (lm63(record="1 -1 x"), "no number"),
        (lm63(record="1 -1 nan"), "no number"),
        (lm63(record="1 -1 1_0"), "no number"),
        (lm63(record="1 -1 1e999"), "no number"),
        (lm63(record="1 -1 \xb2"), "no number"),
        (lm63(record="1 -1 " + "1" * 50), "no number"),
        (lm63(record="1 -1,,1"), "no number"),
        (lm63(record="1 -1 0"), "multiplier cannot be"),
        (lm63(record="1 -2 1"), "lumens cannot be"),
        (lm63(record="-1 -1 1"), "number of lamps"),
        (lm63(record="1.5 -1 1"), "whole number"),
        (lm63(kind="4 2 0 0 0"), "type is unknown"),
        (lm63(kind="1 3 0 0 0"), "unit of length"),
        (lm63(factors="0 1 1"), "ballast factor cannot be"),
        (lm63("IESNA91", factors="1 0 1"), "ballast-lamp factor"),
        (lm63("IESNA95", factors="1 1.1 1"), "unclear"),  # X multiplies or not by the version
        (lm63("IESNA:LM-63-2044", factors="1 1.1 1"), "unclear"),
        (lm63("", factors="1 1.1 1"), "unclear"),
        (lm63(vertical="0"), "so many vertical"),
        (lm63(vertical="90 0"), "do not ascend"),
        (lm63(vertical="0 0"), "do not ascend"),
        (lm63(vertical="5 90"), "part of the light unknown"),
        (lm63(vertical="0 190"), "part of the light unknown"),
        (lm63(horizontal="0 45", candela="1 1 1 1"), "part of the light unknown"),
        (lm63(horizontal="10 90", candela="1 1 1 1"), "part of the light unknown"),
        (lm63(horizontal="0 5 190", candela="1 1 1 1 1 1").replace(b"190", b"370"), "unknown"),
        (lm63(kind="2 2 0 0 0"), "too few horizontal"),
        (lm63(kind="2 2 0 0 0", vertical="10 90", horizontal="0 90", candela="1 1 1 1"), "vert"),
        (lm63(kind="3 2 0 0 0", horizontal="0 100", candela="1 1 1 1"), "horizontal angles"),
        (lm63(candela="100"), "missing"),
        (lm63(candela="100 -1"), "below nothing"),
        (lm63(candela="0 0"), "no light"),
        (lm63(candela="1e14 0"), "beyond any lamp"),
        (lm63().replace(b"1 -1 1 2 1", b"1 -1 1 2 999999999"), "so many horizontal"),
        (lm63().replace(b"1 -1 1 2 1", b"1 -1 1 999999999 1"), "so many vertical"),
        (b"", "no TILT line"),
        (b"TILT=NONE", "ends too early"),
        (b"TILT=NONE\n1 100", "ends too early"),
        (b"TILT=NONE\n1 -1 1 9 1 1 2 0 0 0 1 1 1 0 90", "before all vertical angles"),
    ],
)
def test_light_at_stake_is_refused(content: bytes, word: str) -> None:
    with pytest.raises(PhotometricFileError, match=word) as caught:
        read(content)
    fault = caught.value.faults[0]
    assert fault.where.startswith("a.ies")
    assert fault.expected


def test_a_fault_names_its_line() -> None:
    with pytest.raises(PhotometricFileError) as caught:
        read(lm63(candela="100 zero"))
    # pencil: version, four labels, TILT, two records, two lines of angles, then candela: line 11
    assert caught.value.faults[0].line == 11
    assert caught.value.faults[0].found == "zero"


def test_a_gap_in_the_turn_is_refused() -> None:
    wide = lm63(horizontal="0 30 60 90 120 150 200", candela="1 1 " * 7)
    with pytest.raises(PhotometricFileError, match="part of the light unknown"):
        read(wide)
    open_end = lm63(horizontal="0 90 180 270", candela="1 1 " * 4)
    assert_allclose(read(open_end).flux_lm(), 2.0 * math.pi)  # pencil: 1 cd, half the sphere


def test_tilt_included() -> None:
    tilt = "TILT=INCLUDE\n2\n3\n0 45 90\n1 0.9\n0.8"
    file = read(lm63(tilt=tilt))
    assert file.tilt.geometry == 2
    assert_allclose(file.tilt.factor_at(22.5), 0.95)  # pencil: half way from 1 to 0.9
    assert "when tilted" in says(file)
    assert_allclose(file.flux_lm(), CONE_LM)  # untilted
    level = read(lm63(tilt="TILT=INCLUDE\n1\n2\n0 90\n1 1"))
    assert level.findings == ()
    assert read(lm63()).tilt.factor_at(50.0) == 1.0


def test_tilt_by_file_is_kept_by_name() -> None:
    assert read(lm63(tilt="TILT=lamp.tlt")).tilt.written == "lamp.tlt"
    assert "no TILT by file" in says(read(lm63("IES:LM-63-2019", tilt="TILT=lamp.tlt")))


@pytest.mark.parametrize("weight", [Weight.WARNING])
def test_more_lumens_than_declared_is_a_warning(weight: Weight) -> None:
    file = read(lm63(record="1 200 1"))
    assert [one.weight for one in file.findings] == [weight]
    assert "228.3 lm" in says(file)  # pencil: CONE_LM
    assert "200 lm" in says(file)
    assert read(lm63(record="1 220 1")).findings == ()  # pencil: 3.8 % more


def test_no_such_lamp_set() -> None:
    with pytest.raises(PhotometricFileError, match="no such lamp set"):
        read(lm63()).web(1)


def test_web_and_planes_have_one_flux() -> None:
    file = read(lm63(horizontal="0 30 90", candela="100 0 100 20 100 60"))
    assert_allclose(web_flux_lm(file.web()), file.flux_lm(), rtol=1e-12)
