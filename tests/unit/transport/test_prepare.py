"""Kernels are compiled once, for the very types that they are called with."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from falloff.transport import prepare

# A whole trace in a fresh process after compiling on nothing: a kernel with a second signature was
# compiled for types that the preparation does not know, and would be compiled in the user's time.
TRACE = """
import falloff.transport.prepare as p
p.compile_light(); p.compile_rays(); p.compile_sums()
from falloff.document import parse_document
from falloff.layers import trace_layers
from falloff.stage import build_stage
from falloff.transport import Budget
text = '''
falloff: 1
title: Box
units: metric
room: {floor: [[0 m, 0 m], [3 m, 0 m], [3 m, 3 m], [0 m, 3 m]], height: 2.5 m, floor_surface: oak,
       ceiling_surface: white paint, wall_surface: plaster}
openings: {WINDOW: {wall: 3, along: 1 m, width: 1 m, sill: 1 m, height: 1 m}}
sky: {type: overcast, outside: 9000 lx}
fixtures:
  HEAD: {light: open face, profile: open-face spot, aperture: 10 cm, output: 2000 lm,
         colour: 3200 K, at: [1 m, 1 m, 1.5 m], aim: [1 m, 2 m, 2.5 m]}
practicals:
  LAMP: {light: globe, diameter: 20 cm, output: 400 lm, colour: 2700 K, at: [1.5 m, 1.5 m, 1.4 m]}
cameras: {A: {at: [1.5 m, 0.3 m, 1.3 m], aim: LAMP, lens: 24 mm}}
readings:
  floor: {at: [1 m, 1 m, 0 m], normal: [0, 0, 1]}
  dome: {at: [1 m, 2 m, 1 m], instrument: dome}
  spot: {at: [1.5 m, 3 m, 2.2 m], instrument: spot}
'''
layers = trace_layers(build_stage(parse_document(text)), Budget(), sizes={"A": (48, 27)})
assert any(layers.solution.hot), "the hard head should make the ceiling hot"
for name, kernel in sorted(vars(p).items()):
    if hasattr(kernel, "signatures"):
        print(name, len(kernel.signatures))
"""


def test_kernels_are_compiled_for_the_types_they_are_called_with() -> None:
    done = subprocess.run(
        [sys.executable, "-c", TRACE], check=True, capture_output=True, text=True, timeout=55
    )
    told = dict(line.split() for line in done.stdout.splitlines())
    assert len(told) >= 15
    assert {name: count for name, count in told.items() if count != "1"} == {}


def test_it_is_done_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Any] = []

    class Other:
        def __init__(self, command: list[str], **_: Any) -> None:
            started.append(command)

        def wait(self) -> int:
            """It has long ended, and well."""
            return 0

    monkeypatch.setattr("falloff.transport.prepare.subprocess.Popen", Other)
    prepare.begin_kernels(tmp_path)
    prepare.begin_kernels(tmp_path)
    assert len(started) == 1
    prepare.prepare_kernels(tmp_path)
    assert len(list(tmp_path.iterdir())) == 1
    prepare.prepare_kernels(tmp_path)
    prepare.begin_kernels(tmp_path)
    assert len(started) == 1


def test_a_second_process_that_fails_leaves_no_mark(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(prepare, "_SECOND_PART", "raise SystemExit(3)")
    prepare.prepare_kernels(tmp_path)
    assert list(tmp_path.iterdir()) == []
