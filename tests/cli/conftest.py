"""A small scene, and the terminal run as a person runs it, its cache kept apart."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from falloff.cli import main

SMALL = """\
falloff: 1
title: Small room
units: metric

room:
  floor: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
  height: 2.5 m
  floor_surface: planks
  ceiling_surface: white paint
  wall_surface: plaster

practicals:
  GLOBE: {light: globe, diameter: 20 cm, output: 800 lm, colour: 2700 K, at: [2 m, 1.5 m, 1.8 m]}

cameras:
  WIDE: {at: [0.4 m, 0.4 m, 1.5 m], aim: [3 m, 2.5 m, 1.2 m], lens: 18 mm, aspect: 16:9}

setups:
  ROOM: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg}
  DIM ROOM: {camera: WIDE, stop: T2.8, iso: 800, shutter: 180 deg, dims: {GLOBE: 50 %}}

readings:
  the wall: {at: {wall: 3, along: 2 m, height: 1.2 m}}
  the corner: {at: [3.8 m, 2.8 m, 1 m], instrument: spot}
"""


@dataclass(frozen=True, slots=True)
class Told:
    """What the terminal said, and its exit code."""

    out: str
    err: str
    code: int


Falloff = Callable[..., Told]


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for kept layers, shared by the tests of the terminal."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def falloff(
    cache: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Falloff:
    """Run the terminal in this process, as the installed command does."""
    monkeypatch.setattr("falloff.layers.store._cache_folder", lambda: cache)

    def run(*arguments: str | Path) -> Told:
        monkeypatch.setattr(sys, "argv", ["falloff", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            main()
        told = capsys.readouterr()
        return Told(told.out, told.err, int(ended.value.code or 0))

    return run


@pytest.fixture
def scene(tmp_path: Path) -> Path:
    """The small scene, written down."""
    path = tmp_path / "small.scene.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return path
