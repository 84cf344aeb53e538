"""The page of surfaces and `falloff kit list surface` name every material, with its figures."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from numpy.testing import assert_allclose
from tests.cli.conftest import Falloff

from falloff.kit import find_material, material_names
from falloff.session.kit import run_kit_list

PAGE = (Path(__file__).parents[2] / "docs" / "surfaces.md").read_text(encoding="utf-8")


def test_the_page_has_every_surface_and_its_figures() -> None:
    rows = re.findall(r"^\| `(.+?)` \| (.+?) % \| (.+?) \| (.*?) \|$", PAGE, flags=re.MULTILINE)
    assert [name for name, *_ in rows] == list(material_names())
    for name, share, stops, sheen in rows:
        found = find_material(name)
        assert_allclose(float(share) / 100.0, found.reflectance, rtol=0.02, err_msg=name)
        # pencil: stops from an 18 % card in the same light
        over = math.log2(found.reflectance / 0.18)
        assert_allclose(float(stops.replace("−", "-")), over, atol=0.051, err_msg=name)
        assert bool(sheen) is (found.sheen > 0.0)


@pytest.mark.parametrize("kind", ["surface", "Surfaces", "materials"])
def test_surfaces_are_listed_when_they_are_asked_for(kind: str) -> None:
    listed = run_kit_list(kind).items
    assert [one.name for one in listed] == list(material_names())
    assert {one.kind for one in listed} == {"surface"}
    oak = next(one for one in listed if one.name == "oak")
    assert oak.says == "30 %, +0.7 stops, with a sheen"  # pencil: log2(0.30 / 0.18) = 0.74


def test_a_word_finds_surfaces_too() -> None:
    assert [one.name for one in run_kit_list(search="wool").items] == ["red wool"]
    assert "surface" not in {one.kind for one in run_kit_list().items}
    assert run_kit_list("gel", search="wool").items == ()


def test_the_terminal_says_what_the_names_are_for(falloff: Falloff) -> None:
    told = falloff("kit", "list", "surface")
    assert told.code == 0
    assert "oak" in told.out
    assert "wall_surface: oak" in told.out
    assert "falloff kit list surface" in " ".join(falloff("kit", "list", "gel").out.split())
