"""Print the bars on speed in one table: our time, the bar, and what it is compared with.

Run: python bench/bars.py            (a few minutes; the machine should be otherwise idle)
Figures are medians of repeats in one run; ratios are what to quote. Nothing here is a test.
The scene is the witness's room (tests/reference/scenes), whose errors are known.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from falloff.document import PointPlace, Quantity, parse_document  # noqa: E402
from falloff.layers import drag_fixture, move_body, trace_layers  # noqa: E402
from falloff.rays import RayScene  # noqa: E402
from falloff.stage import Stage, build_stage  # noqa: E402
from falloff.stage.records import Probe  # noqa: E402
from falloff.transport import Budget, trace  # noqa: E402
from falloff.transport.kernels_direct import shadow_rays  # noqa: E402

SIZE = (480, 270)
DRAG = Budget(
    view_rays=2,
    gather_rays=16,
    shadow_rays=1,
    element_points=2,
    element_rays=1,
    reading_gather_rays=256,
)
SCENE = ROOT / "tests/reference/scenes/test_room.scene.yaml"


def main() -> None:
    """Measure every bar and print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--repeats", type=int, default=7)
    asked.add_argument("--no-path-tracer", action="store_true")
    options = asked.parse_args()
    rows: list[tuple[str, str, str]] = []
    rows += drag_rows(options.repeats, with_path_tracer=not options.no_path_tracer)
    rows += release_rows(3)
    rows += demo_rows()
    rows += [("import falloff", f"{import_time():.3f} s", "≤ 0.2 s")]
    width = max(len(row[0]) for row in rows)
    print(f"{os.cpu_count()} cores\n")
    for what, value, bar in rows:
        print(f"{what:<{width}}  {value:<44}  {bar}")


def median_time(work: Callable[[], object], repeats: int) -> float:
    """Median wall time of a piece of work after one warm-up (s)."""
    work()
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def median_cpu(work: Callable[[], object], repeats: int) -> float:
    """Median processor time of a piece of work over all threads (s); steadier on a busy machine."""
    times = []
    for _ in range(repeats):
        began = time.process_time()
        work()
        times.append(time.process_time() - began)
    return statistics.median(times)


def room(*, soft_box_at: tuple[float, float, float] | None = None, sources: int = 4) -> Stage:
    """The witness's room, its soft box elsewhere or with more soft boxes along a wall."""
    document = parse_document(SCENE.read_text(encoding="utf-8"), str(SCENE))
    fixtures = dict(document.fixtures)
    if soft_box_at is not None:
        fixtures["SOFTBOX"] = msgspec.structs.replace(
            fixtures["SOFTBOX"], at=PointPlace(*(Quantity(c, f"{c} m") for c in soft_box_at))
        )
    for k in range(sources - 4):
        x, y = 1.0 + 0.5 * k, 1.0 if k % 2 else 4.0
        fixtures[f"EXTRA {k}"] = msgspec.structs.replace(
            fixtures["SOFTBOX"],
            at=PointPlace(*(Quantity(c, f"{c} m") for c in (x, y, 2.05))),
        )
    return replace(
        build_stage(msgspec.structs.replace(document, fixtures=fixtures), guarded=False),
        probes=receptors(),
    )


def receptors() -> tuple[Probe, ...]:
    """The witness's twelve receptors."""
    from tests.reference.witness.load import load_readings

    return tuple(Probe(r.name, "flat", r.point_m, r.normal) for r in load_readings())


def drag_rows(repeats: int, *, with_path_tracer: bool) -> list[tuple[str, str, str]]:
    """A soft fixture dragged, its readings alone, and the same by a path tracer."""
    stage, moved = room(), room(soft_box_at=(4.2, 1.5, 1.9))
    layers = trace_layers(stage, DRAG, sizes={"CAMERA": SIZE})
    took = median_time(lambda: drag_fixture(layers, moved, "SOFTBOX", view="CAMERA"), repeats)
    picture_only = replace(moved, probes=())

    def relight() -> object:
        return drag_fixture(layers, picture_only, "SOFTBOX", view="CAMERA")

    bare = bare_time(layers, moved, repeats)
    pixel, block = errors(DRAG, moved)
    rows = [
        (
            "soft fixture dragged, 480 × 270",
            f"{took:.3f} s; bare rays {bare:.3f} s, ratio {took / bare:.2f}",
            "≤ 0.12 s",
        ),
        (
            "  its errors: pixel relative RMSE, block RMS",
            f"{pixel:.3f}, {block:.4f}",
            "≤ 0.12, ≤ 0.03",
        ),
        (
            "readings alone after a move",
            f"{1e3 * readings_time(layers, moved, repeats):.1f} ms",
            "≤ 20 ms",
        ),
    ]
    if with_path_tracer:
        rows += path_tracer_rows(relight, pixel, block, repeats)
    start = time.perf_counter()
    trace(stage, DRAG)
    rows.append(
        (
            "F, elements and solve of 4 sources, once",
            f"{time.perf_counter() - start:.2f} s",
            "quoted apart",
        )
    )
    return rows


def bare_time(  # type: ignore[no-untyped-def]
    layers, stage: Stage, repeats: int, *, name: str = "SOFTBOX", view: str = "CAMERA"
) -> float:
    """The engine alone over the very shadow rays of a drag, on two threads."""
    from falloff.transport.change import NO_BOXES, NO_MARKS
    from falloff.transport.direct import middle_of
    from falloff.transport.tiles import over_tiles

    traced = layers.views[view].trace
    receivers = traced.sights.receivers(len(stage.surfaces.albedo))
    source = stage.sources[layers.names.index(name)]
    scene = RayScene(stage.surfaces.corners)
    per, most = DRAG.shadow_rays, 24_576
    tiles = []
    for first in range(0, len(receivers.points), most // per):
        part = slice(first, first + most // per)
        size = len(receivers.points[part])
        o, d = np.empty((size * per, 3), np.float32), np.empty((size * per, 3), np.float32)
        far, weight = np.empty(size * per, np.float32), np.empty(size * per, np.float32)
        owner = np.empty(size * per, np.int32)
        count = shadow_rays(
            source.kind,
            source.shape,
            source.table,
            middle_of(source)[0],
            receivers.points[part],
            receivers.normals[part],
            receivers.alive[part],
            1,
            1,
            first,
            size,
            per,
            False,
            False,
            1,
            NO_BOXES,
            NO_BOXES,
            NO_MARKS,
            o,
            d,
            far,
            weight,
            owner,
            np.zeros(size, np.int32),
            np.zeros(size),
            np.zeros(size),
            np.zeros(size, np.bool_),
        )
        tiles.append((o[:count].copy(), d[:count].copy(), far[:count].copy()))

    def work(start: int, stop: int) -> None:
        for o, d, far in tiles[start:stop]:
            scene.reaches(o, d, far)

    return median_time(lambda: over_tiles(len(tiles), 1, work), repeats)


def readings_time(layers, stage: Stage, repeats: int) -> float:  # type: ignore[no-untyped-def]
    """Direct light and solve of the moved source, read at the probes; no picture."""
    from falloff.transport import drag_solution, trace_probes

    s = layers.names.index("SOFTBOX")

    def work() -> None:
        solution = drag_solution(layers.solution, stage, s)
        trace_probes(solution, stage.probes, only=(s,))

    return median_time(work, repeats)


def errors(budget: Budget, stage: Stage) -> tuple[float, float]:
    """Pixel and 6 × 6 block relative RMSE of the soft box's layer against a far finer trace."""
    fine = Budget(view_rays=16, gather_rays=64, shadow_rays=16, row_rays=512, seed=97)
    ours = _soft_box_picture(stage, budget)
    reference = _soft_box_picture(stage, fine)
    return relative_rmse(ours, reference), relative_rmse(blocks(ours), blocks(reference))


def _soft_box_picture(stage: Stage, budget: Budget) -> np.ndarray:
    layers = trace_layers(replace(stage, probes=()), budget, sizes={"CAMERA": SIZE})
    s = layers.names.index("SOFTBOX")
    view = layers.views["CAMERA"]
    return (view.direct[s] + view.bounced[s]).mean(-1).astype(np.float64)


def blocks(picture: np.ndarray) -> np.ndarray:
    """Means of 6 × 6 pixels."""
    rows, columns = picture.shape[0] // 6, picture.shape[1] // 6
    return picture[: rows * 6, : columns * 6].reshape(rows, 6, columns, 6).mean((1, 3))


def relative_rmse(ours: np.ndarray, reference: np.ndarray) -> float:
    """Root mean square of the error over the reference, black places left out."""
    lit = reference > 1e-3 * np.median(reference)
    return float(np.sqrt(np.mean((ours[lit] / reference[lit] - 1.0) ** 2)))


def path_tracer_rows(
    relight: Callable[[], object], pixel: float, block: float, repeats: int
) -> list[tuple[str, str, str]]:
    """The witness's own renderer on the soft box alone, brought to our errors by its spp.

    Ours is the same relight: direct light, solve and picture of the moved soft box, no readings.
    """
    import mitsuba as mi

    mi.set_variant("scalar_rgb")
    from tests.reference.witness.room import camera, room_scene

    samples = 16
    scene = mi.load_dict(room_scene("SOFTBOX"))
    sensor = mi.load_dict(camera({"type": "independent", "sample_count": samples}))
    integrator = mi.load_dict({"type": "path", "max_depth": -1})
    pictures, walls, cpus, ours_wall, ours_cpu = [], [], [], [], []
    for seed in range(3):  # in turn, so that both meet the same machine
        wall, cpu = time.perf_counter(), time.process_time()
        shot = mi.render(scene, sensor=sensor, integrator=integrator, spp=samples, seed=seed)
        pictures.append(np.array(shot)[..., :3].mean(-1).astype(np.float64))
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
        ours_wall.append(median_time(relight, repeats))
        ours_cpu.append(median_cpu(relight, repeats))
    seconds, theirs_cpu = statistics.median(walls), statistics.median(cpus)
    took, took_cpu = statistics.median(ours_wall), statistics.median(ours_cpu)
    # Half the difference of two runs is the error of one over the root of two.
    pairs = [(pictures[i], pictures[j]) for i, j in ((0, 1), (1, 2), (0, 2))]
    theirs_pixel, theirs_block = (
        statistics.median(
            np.sqrt(2.0) * relative_rmse(look(a), 0.5 * (look(a) + look(b))) for a, b in pairs
        )
        for look in (np.asarray, blocks)
    )
    rows = []
    for name, theirs, ours in (("pixel", theirs_pixel, pixel), ("block", theirs_block, block)):
        more = (theirs / ours) ** 2
        rows.append(
            (
                f"path tracer at equal {name} RMSE, undenoised",
                f"{seconds * more:.1f} s against {took:.3f} s: {seconds * more / took:.0f} ×; "
                f"by processor time {theirs_cpu * more / took_cpu:.0f} ×",
                "≥ 100 ×",
            )
        )
    return rows


def release_rows(repeats: int) -> list[tuple[str, str, str]]:
    """All layers of twelve sources once the fixture is let go."""
    budget = Budget(view_rays=2, gather_rays=16, shadow_rays=2)
    stage, moved = room(sources=12), room(sources=12, soft_box_at=(4.2, 1.5, 1.9))
    layers = trace_layers(stage, budget, sizes={"CAMERA": SIZE})
    took = median_time(lambda: move_body(layers, moved, "SOFTBOX"), repeats)
    anew = median_time(lambda: trace_layers(moved, budget, sizes={"CAMERA": SIZE}), 1)
    return [
        ("released: all layers of 12 sources exact", f"{took:.2f} s (anew {anew:.2f} s)", "≤ 1 s")
    ]


def demo_rows() -> list[tuple[str, str, str]]:
    """The installed demo with nothing compiled or cached, then again."""
    with tempfile.TemporaryDirectory() as folder:
        kernels, cache, out = (Path(folder) / name for name in ("kernels", "cache", "out"))
        environment = os.environ | {
            "NUMBA_CACHE_DIR": str(kernels),
            "XDG_CACHE_HOME": str(cache),
        }
        command = [shutil.which("falloff") or "falloff", "demo", "--json", "--out", str(out)]
        times = []
        for _ in range(2):
            began = time.perf_counter()
            subprocess.run(command, env=environment, check=True, capture_output=True)
            times.append(time.perf_counter() - began)
    return [
        ("demo, first time", f"{times[0]:.1f} s", "≤ 15 s"),
        ("demo, second time", f"{times[1]:.1f} s", "≤ 5 s"),
    ]


def import_time() -> float:
    """Median time of `import falloff` over a bare interpreter's start (s)."""

    def once(code: str) -> float:
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], check=True)
        return time.perf_counter() - began

    bare = statistics.median(once("pass") for _ in range(5))
    return statistics.median(once("import falloff") for _ in range(5)) - bare


if __name__ == "__main__":
    main()
