"""falloff kit as someone types it."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from tests.cli.conftest import Falloff
from tests.cli.test_commands import documented

from falloff.session.kit import (
    ComparedAssumption,
    ComparedSide,
    DatumMissed,
    FigureTold,
    ListedItem,
    ModifierFit,
    PlaneRead,
    SoftAt,
)

PENCIL = Path(__file__).parents[1] / "data" / "photometric"
HEAD = "300 W LED, open face"


@pytest.mark.parametrize(
    ("title", "record"),
    [
        ("A line of the kit's list", ListedItem),
        ("A figure of an item", FigureTold),
        ("Softness at a distance", SoftAt),
        ("A modifier that fits", ModifierFit),
        ("A plane of a photometric file", PlaneRead),
        ("A figure of a data sheet", DatumMissed),
        ("A light that is compared", ComparedSide),
        ("What is assumed of it", ComparedAssumption),
    ],
)
def test_the_page_tells_every_field(title: str, record: type) -> None:
    assert documented(title) == set(record.__struct_fields__)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("arguments", "title"),
    [
        (("list", "lens"), "falloff kit list"),
        (("show", HEAD, "--with", "90 cm soft box"), "falloff kit show"),
        (("show", "full blue gel"), "falloff kit show"),
        (("import", str(PENCIL / "pencil.ies")), "falloff kit import"),
        (("import", "--lux", "3200 lx at 1 m", "--beam", "45deg"), "falloff kit import"),
        (("compare", HEAD, "2 kW tungsten, Fresnel"), "falloff kit compare"),
    ],
)
def test_json_is_as_documented(falloff: Falloff, arguments: tuple[str, ...], title: str) -> None:
    told = falloff("kit", *arguments, "--json")
    assert (told.code, told.err) == (0, "")
    assert set(json.loads(told.out)) == documented(title)


def test_a_sheet_in_eighty_columns(falloff: Falloff) -> None:
    told = falloff("kit", "show", HEAD)
    assert told.code == 0
    assert max(map(len, told.out.splitlines())) <= 80
    for said in ("2.6 A at 120 V", "25 000", "90 cm soft box", "from memory, ± 0.4 stop",
                 "local codes and licensed"):  # fmt: skip
        assert said in told.out
    imperial = falloff("kit", "show", HEAD, "--units", "imperial").out
    assert "ft" in imperial


def test_a_sheet_is_drawn_as_svg_and_png(falloff: Falloff, tmp_path: Path) -> None:
    told = falloff("kit", "show", HEAD, "--out", tmp_path / "sheets", "--json")
    files = [Path(one) for one in json.loads(told.out)["files"]]
    assert [one.name for one in files] == ["300-w-led-open-face.svg", "300-w-led-open-face.png"]
    assert files[0].read_text(encoding="utf-8").startswith("<?xml")
    assert files[1].read_bytes().startswith(b"\x89PNG")


def test_compare_tells_how_surely(falloff: Falloff) -> None:
    told = falloff(
        "kit", "compare", HEAD, "300 W bi-colour LED, open face", "--at", "3 m, 20 deg off"
    )
    assert told.code == 0
    assert max(map(len, told.out.splitlines())) <= 80
    words = " ".join(told.out.split())
    assert "within what their data allow" in words
    assert "What is assumed" in words
    assert "common practice, from memory" in words


def test_an_import_goes_into_the_kit_and_is_listed(falloff: Falloff, tmp_path: Path) -> None:
    own = tmp_path / "mine.kit.toml"
    told = falloff("kit", "import", PENCIL / "pencil.ldt", "--as", "the tube", "--own", own)
    assert told.code == 0
    assert "comma" in told.out  # what was forgiven
    assert "% of the 500 lm declared" in told.out
    listed = json.loads(falloff("kit", "list", "--own", own, "--search", "the tube", "--json").out)
    assert [(one["name"], one["own"], one["count"]) for one in listed["items"]] == [
        ("the tube", True, 1)
    ]
    shown = falloff("kit", "show", "the tube", "--own", own, "--out", tmp_path)
    assert (shown.code, "photometric file pencil.ldt" in shown.out) == (0, True)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("show", "300 W LED open fac"), "300 W LED, open face"),
        (("show", HEAD, "--with", "90 cm sofft box"), "90 cm soft box"),
        (("show", HEAD, "--units", "cubits"), "there is no system of units"),
        (("list", "gadgets"), "no kind of item is called"),
        (("import", "no-such.ies"), "cannot be opened"),
        (("import", "--lux", "3200 lx", "--beam", "45 deg"), "--lux cannot be read"),
        (("compare", HEAD, "full blue gel"), "no fixture is called"),
        (("compare", HEAD, HEAD, "--at", "3"), "this is no spot"),
        (("list", "--own", "no-such.kit.toml"), "the kit file cannot be read"),
    ],
)
def test_faults_are_plain(falloff: Falloff, arguments: tuple[str, ...], said: str) -> None:
    told = falloff("kit", *arguments)
    assert (told.code, told.out) == (2, "")
    assert said in told.err
    assert "Traceback" not in told.err


def test_the_kit_starts_without_the_tracer() -> None:
    program = (
        "import sys; sys.argv = ['falloff', 'kit', 'compare', '60 W LED', '100 W LED', '--json']\n"
        "from falloff.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = ('numba', 'scipy', 'embreex', 'trimesh', 'shapely', 'PIL', 'OpenEXR')\n"
        "print([name for name in heavy if name in sys.modules], file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert json.loads(ran.stdout)["within"] is not None
    assert ran.stderr.strip() == "[]"
