"""Print how long the shipped workshop takes with a mesh of 300,000 triangles in it, and without.

Run: python bench/mesh_bench.py        (a minute or two; the machine should be otherwise idle)
Figures are medians of repeats taken in turn; the ratio is what to quote. Nothing here is a test.
The mesh is a wrinkled closed ball, the size of a beach ball, that hangs before the wide camera.
"""

from __future__ import annotations

import argparse
import os
import statistics
import struct
import tempfile
import time
from importlib import resources
from pathlib import Path

import numpy as np

from falloff.document import SceneDocument, read_document
from falloff.layers import trace_layers
from falloff.stage import build_stage

SIZE = (640, 360)
BALL = (
    "  BALL: {shape: mesh, file: ball.stl, unit: m, up: z, "
    "at: [2.8 m, 1.3 m, 0.95 m], surface: terracotta}\n"
)


def main() -> None:
    """Trace both scenes in turn and print each step's time."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--repeats", type=int, default=3)
    asked.add_argument("--triangles", type=int, default=300_000)
    options = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        plain, busy = write_scenes(Path(folder), options.triangles)
        run(plain)  # compiles what must be compiled
        times: dict[str, list[dict[str, float]]] = {"without": [], "with": []}
        for _ in range(options.repeats):
            times["without"].append(run(plain))
            times["with"].append(run(busy))
    print(f"{os.cpu_count()} cores, {options.triangles:,} triangles, {SIZE[0]} × {SIZE[1]}\n")
    print(f"{'':<28}{'without':>10}{'with':>10}{'ratio':>8}")
    for step in times["with"][0]:
        a, b = (statistics.median(t[step] for t in times[key]) for key in ("without", "with"))
        print(f"{step:<28}{a:>8.2f} s{b:>8.2f} s{b / a if a > 1e-3 else 0.0:>8.2f}")


def run(path: Path) -> dict[str, float]:
    """Seconds of each step of one scene, from its file to its layers; the mesh is read anew."""
    os.utime(path.parent / "ball.stl")
    began = time.perf_counter()
    document: SceneDocument = read_document(path)
    read = time.perf_counter()
    stage = build_stage(document)
    built = time.perf_counter()
    view = next(iter(stage.views))
    trace_layers(stage, sizes={view: SIZE})
    traced = time.perf_counter()
    return {
        "document read": read - began,
        "stage built": built - read,
        "layers traced": traced - built,
        "all": traced - began,
    }


def write_scenes(folder: Path, triangles: int) -> tuple[Path, Path]:
    """The workshop as shipped, and with the ball in it."""
    shipped = resources.files("falloff.session").joinpath("data/workshop.scene.yaml")
    text = shipped.read_text("utf-8")
    plain, busy = folder / "plain.scene.yaml", folder / "busy.scene.yaml"
    plain.write_text(text, encoding="utf-8")
    busy.write_text(text.replace("\nprops:\n", "\nprops:\n" + BALL, 1), encoding="utf-8")
    write_stl(folder / "ball.stl", wrinkled_ball(triangles))
    return plain, busy


def wrinkled_ball(triangles: int) -> np.ndarray:
    """A closed ball of about 36 cm, wrinkled at two scales, as corners (t, 3, 3) in metres."""
    rows = round((triangles / 4.0) ** 0.5)
    columns = 2 * rows
    around = 2.0 * np.pi * np.arange(columns + 1) / columns
    around[-1] = 0.0
    down, turn = np.meshgrid(np.linspace(0.0, np.pi, rows + 1), around, indexing="ij")
    radius = 0.18 * (1.0 + np.sin(down) * (0.06 * np.sin(17 * turn) * np.sin(13 * down)
                                           + 0.02 * np.sin(61 * turn)))  # fmt: skip
    flat = radius * np.sin(down)
    points = np.stack([flat * np.cos(turn), flat * np.sin(turn), radius * np.cos(down)], 2)
    points[0, :, :2] = points[-1, :, :2] = 0.0
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    return np.concatenate([np.stack([a, b, c], 2), np.stack([a, c, d], 2)]).reshape(-1, 3, 3)


def write_stl(path: Path, corners: np.ndarray) -> None:
    """A binary STL file; its normals are left empty, since readers make their own."""
    rows = np.zeros(len(corners), np.dtype([("n", "<f4", 3), ("at", "<f4", (3, 3)), ("x", "<u2")]))
    rows["at"] = corners
    path.write_bytes(bytes(80) + struct.pack("<I", len(rows)) + rows.tobytes())


if __name__ == "__main__":
    main()
