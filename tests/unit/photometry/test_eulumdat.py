"""EULUMDAT: every symmetry, lamp sets, decimal commas; what is forgiven and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.photometry.made_files import eulumdat

from falloff.errors import PhotometricFileError
from falloff.findings import Weight
from falloff.photometry import PhotometricFile, read_photometric, web_flux_lm, web_intensity

# pencil: 100 cd straight down to nothing at 90°: 2π · 100 (1 − 2/π)
CONE_LM = 200.0 * math.pi * (1.0 - 2.0 / math.pi)
QUARTERS = (0.0, 90.0, 180.0, 270.0)
EIGHTHS = tuple(45.0 * k for k in range(8))


def read(content: bytes) -> PhotometricFile:
    return read_photometric(content, "a.ldt")


def says(file: PhotometricFile) -> str:
    return " | ".join(f"{one.weight}: {one.says}" for one in file.findings)


def planes(*at_90: float) -> list[float]:
    """100 cd/klm on the axis of each plane, these at 90°."""
    return [number for one in at_90 for number in (100.0, one)]


@pytest.mark.parametrize(
    ("symmetry", "listed", "values", "mean"),
    [
        # pencil: Φ = 2π(100(1−2/π) + m 2/π), m the mean over the turn of the values at 90°
        (0, QUARTERS, planes(0, 80, 40, 20), 35.0),
        (0, (*QUARTERS, 360.0), planes(0, 80, 40, 20, 0), 35.0),
        (1, (0.0,), planes(40), 40.0),
        (1, EIGHTHS, planes(40), 40.0),
        (2, QUARTERS, planes(0, 80, 40), 50.0),
        (3, QUARTERS, planes(0, 40, 80), 40.0),
        (3, EIGHTHS, planes(0, 10, 40, 70, 80), 40.0),
        (4, QUARTERS, planes(0, 80), 40.0),
        (4, EIGHTHS, planes(0, 10, 80), 25.0),
    ],
)
def test_symmetries(
    symmetry: int, listed: tuple[float, ...], values: list[float], mean: float
) -> None:
    file = read(eulumdat(symmetry, listed, values=values))
    assert_allclose(file.flux_lm(), CONE_LM + 4.0 * mean)
    assert_allclose(web_flux_lm(file.web()), file.flux_lm())
    assert file.findings == ()


def test_symmetry_3_begins_at_c270() -> None:
    """source: check values, section 10: stored from C270 through C0 to C90."""
    web = read(eulumdat(3, EIGHTHS, values=planes(5, 10, 40, 70, 80))).web()
    root = math.sqrt(0.5)
    ways = np.array(
        [[0, -1, 0], [root, -root, 0], [1, 0, 0], [root, root, 0], [0, 1, 0], [-root, root, 0],
         [-1, 0, 0], [-root, -root, 0]]
    )  # fmt: skip
    # pencil: C270, C315, C0, C45, C90 as stored; C135 as C45, C180 as C0, C225 as C315
    assert_allclose(web_intensity(web, ways), [5, 10, 40, 70, 80, 70, 40, 10], rtol=1e-9)


def test_candela_by_set_and_factor() -> None:
    """source: PHO-10, 2200 cd/klm of a 500 lm set is 1100 cd."""
    sets = [(1, "a", 500, "3000", "80", 36), (-1, "b", 2000, "4000", "90", "72,5")]
    file = read(eulumdat(values=(2200, 0), sets=sets))
    assert file.web().candela[0, 0] == 1100.0
    assert file.web(1).candela[0, 0] == 4400.0  # pencil: 2.2 · 2000
    assert file.declared_flux_lm() == 500.0
    assert file.declared_flux_lm(1) is None  # a count below nothing: absolute
    assert file.lamp_sets[1].flux_lm == 2000.0
    assert file.input_power_w == 36.0
    doubled = read(eulumdat(values=(2200, 0), sets=sets, factor="2,0"))
    assert doubled.web().candela[0, 0] == 2200.0


def test_lamp_sets_grouped_by_field() -> None:
    by_field = [(1, -2, "tube", "pair", 500, 900), ("3000", "warm", "80", "90", 36, 60)]
    file = read(eulumdat(sets=by_field))
    assert [one.flux_lm for one in file.lamp_sets] == [500.0, 900.0]
    assert [one.kind for one in file.lamp_sets] == ["tube", "pair"]
    assert [one.count for one in file.lamp_sets] == [1, -2]
    assert "grouped by field" in says(file)


def test_lamp_sets_in_doubt_are_a_warning() -> None:
    numbers = [(1, "2", 500, "4", "5", "6"), (7, "8", 900, "10", "11", "12")]
    file = read(eulumdat(sets=numbers))
    assert [one.flux_lm for one in file.lamp_sets] == [500.0, 900.0]
    assert "warning: its lamp sets could be grouped" in says(file)


def test_flux_against_the_share_that_leaves() -> None:
    good = eulumdat(sets=[(1, "", 1000, "", "", "")], share="22.83")  # pencil: CONE_LM / 1000
    assert read(good).findings == ()
    bad = read(eulumdat(share=50))
    assert [one.weight for one in bad.findings] == [Weight.WARNING]
    assert "228.3 lm" in says(bad)
    assert "500 lm" in says(bad)
    many = read(eulumdat(sets=[(1, "", 1000, "", "", ""), (1, "", 800, "", "", "")], share=50))
    assert "lamp set 2" in says(many)


@pytest.mark.parametrize(
    ("fields", "word"),
    [
        ({2: "point"}, "light type is no number"),
        ({5: ""}, "plane step is no number"),
        ({7: 5}, "angle step of 5 deg is not that"),
        ({13: "1.200,5"}, "length mm is no number"),
        ({16: ""}, "luminous length mm is no number"),
        ({25: 10}, "measured tilted"),
        ({32: "n/a"}, "watts"),
        ({27: 0}, "no lamps"),
        ({33: "x"}, "direct ratio 1 is no number"),
        ({29: "1000,0"}, "with a comma"),
        ({47: "0\r\nthe end"}, "text stands after"),
    ],
)
def test_what_is_forgiven_changes_no_light_and_is_told(
    fields: dict[int, object], word: str
) -> None:
    file = read(eulumdat(fields=fields))
    assert_allclose(file.flux_lm(), CONE_LM)
    assert word in says(file)


def test_text_may_be_blank_or_in_any_letters() -> None:
    blank = dict.fromkeys((1, 8, 9, 10, 11, 12, 28, 30, 31), "")
    file = read(eulumdat(fields=blank))
    assert file.findings == ()
    named = read(eulumdat(fields={9: "Stra\xdfe 75\xb0"}))
    assert named.keyword("luminaire name") == "Straße 75°"


def test_lines_after_the_end() -> None:
    assert "text stands after" in says(read(eulumdat() + b"made by hand\r\n"))
    assert "numbers remain" in says(read(eulumdat() + b"\r\n5\r\n"))
    assert read(eulumdat() + b"\r\n\r\n\x1a").after == ()
    with pytest.raises(PhotometricFileError, match="order is in doubt"):
        read(eulumdat(3, QUARTERS, values=planes(0, 40, 80, 40)))


def test_upward_light() -> None:
    file = read(eulumdat(angles=(90.0, 180.0), values=(100, 100)))
    assert_allclose(file.flux_lm(), 200.0 * math.pi, rtol=1e-7)  # pencil: half a sphere of 100 cd


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "too early"),
        (b"\r\n" * 30, "too early|no number"),
        (eulumdat(fields={3: 5}), "symmetry cannot be"),
        (eulumdat(fields={3: ""}), "symmetry is no number"),
        (eulumdat(fields={3: "1.5"}), "symmetry cannot be"),
        (eulumdat(fields={4: 0}), "planes cannot be"),
        (eulumdat(fields={4: 999999999}), "planes cannot be"),
        (eulumdat(fields={6: 999999999}), "angles cannot be"),
        (eulumdat(fields={6: 1}), "angles cannot be"),
        (eulumdat(fields={6: 3}), "too early"),
        (eulumdat(fields={24: 0}), "conversion factor cannot be"),
        (eulumdat(fields={24: "1,000.5"}), "conversion factor is no number"),
        (eulumdat(fields={26: 0}), "lamp sets cannot be"),
        (eulumdat(fields={26: 999999999}), "lamp sets cannot be"),
        (eulumdat(fields={27: "one"}), "number of lamps cannot be"),
        (eulumdat(fields={29: ""}), "flux of a lamp set"),
        (eulumdat(fields={29: -5}), "flux of a lamp set"),
        (eulumdat(2, (0.0, 90.0, 180.0), values=planes(1, 1)), "multiple of 2"),
        (eulumdat(4, (0.0, 180.0), values=planes(1)), "multiple of 4"),
        (eulumdat(2, (0.0, 90.0, 170.0, 270.0), values=planes(1, 1, 1)), "C180 at place 3"),
        (eulumdat(3, (0.0, 80.0, 180.0, 270.0), values=planes(1, 1, 1)), "C90 at place 2"),
        (eulumdat(4, (10.0, 90.0, 180.0, 270.0), values=planes(1, 1)), "C0 at place 1"),
        (eulumdat(0, (0.0,), values=planes(1)), "do not fit"),
        (eulumdat(0, (0.0, 30.0, 60.0), values=planes(1, 1, 1)), "do not fit"),
        (eulumdat(0, (0.0, 200.0, 370.0), values=planes(1, 1, 1)), "do not fit"),
        (eulumdat(0, (90.0, 0.0, 180.0, 270.0), values=planes(1, 1, 1, 1)), "do not ascend"),
        (eulumdat(angles=(90.0, 0.0)), "do not ascend"),
        (eulumdat(angles=(10.0, 90.0)), "part of the light unknown"),
        (eulumdat(values=("", 100)), "intensity is no number"),
        (eulumdat(values=(100, "nan")), "intensity is no number"),
        (eulumdat(values=(100, "1 2")), "intensity is no number"),
        (eulumdat(values=(100, -1)), "below nothing"),
        (eulumdat(values=(0, 0)), "no light"),
        (eulumdat(values=(1e15, 0)), "beyond any lamp"),
        (eulumdat(values=(1e-15, 0)), "beyond any lamp"),
    ],
)
def test_light_at_stake_is_refused(content: bytes, word: str) -> None:
    with pytest.raises(PhotometricFileError, match=word) as caught:
        read(content)
    assert caught.value.faults[0].where.startswith("a.ldt")
    assert caught.value.faults[0].expected


def test_a_fault_names_its_line() -> None:
    with pytest.raises(PhotometricFileError) as caught:
        read(eulumdat(values=(100, "zero")))
    # pencil: 26 fields, 6 of the set, 10 ratios, 1 plane, 2 angles, the second intensity
    assert caught.value.faults[0].line == 47
