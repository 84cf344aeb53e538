"""The page on the kit is true: its examples are read, and it names every key of every item."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest

from falloff.errors import DocumentError
from falloff.kit.catalogue import parse_own_kit
from falloff.kit.catalogue.records import KINDS, Beam, Item, ModifierBeam, Opening

PAGE = (Path(__file__).parents[2] / "docs" / "kit.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```toml\n(.*?)```", PAGE, flags=re.DOTALL)


def test_the_examples_are_a_kit() -> None:
    kit = parse_own_kit("\n".join(BLOCKS), "van.kit.toml")
    assert [one.name for one in kit.items] == ["big LED", "hall head"]  # pencil: as on the page


def test_the_page_names_every_key() -> None:
    words = set(re.findall(r"[a-z_0-9]+", " ".join(re.findall(r"`([^`\n]+)`", PAGE))))
    records: tuple[type[msgspec.Struct], ...] = (Item, Beam, ModifierBeam, Opening, *KINDS.values())
    for record in records:
        assert {one.name for one in msgspec.structs.fields(record)} - words == set()
    assert {kind.replace(" ", "_") for kind in KINDS} - words == set()


def test_an_item_written_whole_with_faults_is_told_of_these_alone() -> None:
    broken = BLOCKS[1].replace("weight_kg = 3\n", "")
    with pytest.raises(DocumentError) as caught:
        parse_own_kit("falloff_kit = 1\n" + broken, "van.kit.toml")
    assert "weight_kg" in str(caught.value)
    assert "the catalogue has no" not in str(caught.value)
