"""Print the bars on transport for all three shipped locations, as one Markdown table.

Run: python bench/locations.py       (some minutes; the machine should be otherwise idle)
One fixture of each location is moved by 20 cm. Where twelve sources are asked for, copies of it
stand a hand's width apart. Errors of pictures are relative, over what is brighter than a tenth of
the layer's mean. The path tracer renders the same source, unmoved, in the witness's own scene (no
panes, no sheen). Figures are medians of repeats in one run; nothing here is a test.
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
from importlib import resources
from pathlib import Path

import msgspec
import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bench.bars import DRAG, SIZE, bare_time, blocks, median_cpu, median_time  # noqa: E402

from falloff.document import (  # noqa: E402
    PointPlace,
    Quantity,
    RelativePlace,
    SceneDocument,
    read_document,
)
from falloff.layers import drag_fixture, move_body, trace_layers  # noqa: E402
from falloff.stage import Stage, build_stage  # noqa: E402
from falloff.transport import Budget, drag_solution, trace_probes  # noqa: E402

MOVED = {"workshop": "BOOK", "kitchen": "MOON", "stairwell": "SHAFT"}
RELEASED = Budget(view_rays=2, gather_rays=16, shadow_rays=2)
FINE = Budget(view_rays=16, gather_rays=64, shadow_rays=16, row_rays=512, seed=97)
STEP_M = 0.2
Row = tuple[str, str]


def main() -> None:
    """Measure every location and print the table."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--repeats", type=int, default=5)
    options = asked.parse_args()
    columns = {name: dict(rows_of(name, options.repeats)) for name in MOVED}
    print(f"{os.cpu_count()} cores\n\n| | bar | {' | '.join(MOVED)} |")
    print("|---|---|---|---|---|")
    for what, bar in BARS.items():
        print(f"| {what} | {bar} | {' | '.join(columns[name][what] for name in MOVED)} |")


BARS = {
    "fixture dragged, 480 × 270": "≤ 0.12 s",
    "bare rays of the same": "printed beside it",
    "pixel relative RMSE of its layer": "≤ 0.12",
    "RMS of its 6 × 6 blocks": "≤ 0.03",
    "path tracer at equal pixel error": "≥ 100 ×",
    "path tracer at equal block error": "≥ 100 ×",
    "readings alone after a move": "≤ 20 ms",
    "released, all of 12 sources": "≤ 1 s",
    "the same from nothing": "printed beside it",
    "greatest difference of a reading between both": "within standard error",
    "memory at 960 × 540": "≤ 1.5 GB",
    "demo, first time": "≤ 15 s",
    "demo, second time": "≤ 5 s",
}


def rows_of(location: str, repeats: int) -> list[Row]:
    """Every row of one location."""
    return [
        *dragged(location, repeats),
        *released(location, repeats),
        memory(location),
        *demo(location),
    ]


def stage_of(location: str, *, step_m: float = 0.0, sources: int = 0) -> Stage:
    """A location, its fixture moved, with copies of it up to a count of sources."""
    shipped = resources.files("falloff.session").joinpath(f"data/{location}.scene.yaml")
    with resources.as_file(shipped) as path:
        document = read_document(path)
    name = MOVED[location]
    fixtures = dict(document.fixtures)
    fixtures[name] = shifted(document, name, step_m)
    stage = build_stage(msgspec.structs.replace(document, fixtures=fixtures), guarded=False)
    for k in range(sources - len(stage.sources)):
        fixtures[f"COPY {k}"] = shifted(document, name, -0.1 * (k + 1))
    return build_stage(msgspec.structs.replace(document, fixtures=fixtures), guarded=False)


def shifted(document: SceneDocument, name: str, step_m: float):  # type: ignore[no-untyped-def]
    """A fixture some way along x, or farther from what it is placed by."""
    fixture = document.fixtures[name]
    match fixture.at:
        case PointPlace(x=x) as at:
            moved = msgspec.structs.replace(at, x=metres(x.si + step_m))
        case RelativePlace(distance=distance) as at:
            moved = msgspec.structs.replace(at, distance=metres(distance.si + step_m))
        case at:
            raise TypeError(at)
    return msgspec.structs.replace(fixture, at=moved)


def metres(length_m: float) -> Quantity:
    return Quantity(length_m, f"{length_m} m")


def dragged(location: str, repeats: int) -> list[Row]:
    """The moved fixture's own layer and readings, and how far off its picture is."""
    name = MOVED[location]
    stage, moved = stage_of(location), stage_of(location, step_m=STEP_M)
    layers = trace_layers(stage, DRAG, sizes={"WIDE": SIZE})
    took = median_time(lambda: drag_fixture(layers, moved, name, view="WIDE"), repeats)
    s = layers.names.index(name)

    def read() -> None:
        trace_probes(drag_solution(layers.solution, moved, s), stage.probes, only=(s,))

    def picture(budget: Budget) -> np.ndarray:
        traced = trace_layers(replace(moved, probes=()), budget, sizes={"WIDE": SIZE})
        view = traced.views["WIDE"]
        return (view.direct[s] + view.bounced[s]).mean(-1).astype(np.float64)

    ours, fine = picture(DRAG), picture(FINE)
    pixel, block = relative_rmse(ours, fine), relative_rmse(blocks(ours), blocks(fine))
    plain = replace(moved, probes=())
    relight = lambda: drag_fixture(layers, plain, name, view="WIDE")  # noqa: E731
    bare = bare_time(layers, moved, repeats, name=name, view="WIDE")
    return [
        ("fixture dragged, 480 × 270", f"{took:.3f} s"),
        ("bare rays of the same", f"{bare:.3f} s, ratio {took / bare:.1f}"),
        ("pixel relative RMSE of its layer", f"{pixel:.3f}"),
        ("RMS of its 6 × 6 blocks", f"{block:.4f}"),
        *path_tracer(location, relight, (pixel, block), repeats),
        ("readings alone after a move", f"{1e3 * median_time(read, repeats):.0f} ms"),
    ]


def relative_rmse(ours: np.ndarray, reference: np.ndarray) -> float:
    """Root mean square of the error over the reference, dark places left out."""
    lit = reference > 0.1 * reference.mean()
    return float(np.sqrt(np.mean((ours[lit] / reference[lit] - 1.0) ** 2)))


def path_tracer(
    location: str, relight: Callable[[], object], ours: tuple[float, float], repeats: int
) -> list[Row]:
    """The witness's renderer brought to our errors by its samples, over our relight."""
    import mitsuba as mi

    mi.set_variant("scalar_rgb")
    from tests.reference.locations.scenes import location_camera, location_scene

    samples = 16
    scene = mi.load_dict(location_scene(location, MOVED[location]))
    camera = location_camera(location, SIZE) | {
        "sampler": {"type": "independent", "sample_count": samples}
    }
    sensor, integrator = mi.load_dict(camera), mi.load_dict({"type": "path", "max_depth": -1})
    pictures, cpus, own = [], [], []
    for seed in range(3):  # in turn, so that both meet the same machine
        cpu = time.process_time()
        shot = mi.render(scene, sensor=sensor, integrator=integrator, spp=samples, seed=seed)
        pictures.append(np.array(shot)[..., :3].mean(-1).astype(np.float64))
        cpus.append(time.process_time() - cpu)
        own.append(median_cpu(relight, repeats))
    theirs_s, ours_s = statistics.median(cpus), statistics.median(own)
    rows = []
    for told, look, error in zip(("pixel", "block"), (np.asarray, blocks), ours, strict=True):
        pairs = [(look(pictures[i]), look(pictures[j])) for i, j in ((0, 1), (1, 2), (0, 2))]
        # Half the difference of two runs is the error of one over the root of two.
        theirs = statistics.median(np.sqrt(2.0) * relative_rmse(a, 0.5 * (a + b)) for a, b in pairs)
        times = theirs_s * (theirs / error) ** 2 / ours_s
        rows.append((f"path tracer at equal {told} error", f"{times:.0f} × (processor time)"))
    return rows


def released(location: str, repeats: int) -> list[Row]:
    """All layers exact after the fixture is let go, beside a trace from nothing."""
    name = MOVED[location]
    stage = stage_of(location, sources=12)
    moved = stage_of(location, step_m=STEP_M, sources=12)
    layers = trace_layers(stage, RELEASED, sizes={"WIDE": SIZE})
    took = median_time(lambda: move_body(layers, moved, name), repeats)
    anew_s = median_time(lambda: trace_layers(moved, RELEASED, sizes={"WIDE": SIZE}), 1)
    one = move_body(layers, moved, name).probes
    other = trace_layers(moved, RELEASED, sizes={"WIDE": SIZE}).probes
    a, b = (np.array(x.direct + x.bounced).sum(0)[:, 1] for x in (one, other))  # of all sources
    apart = np.abs(np.log2(a.mean(-1) / b.mean(-1)))
    error = np.hypot(*(x.std(-1, ddof=1) / x.mean(-1) for x in (a, b))) / np.sqrt(a.shape[-1])
    worst = int(np.argmax(apart))
    return [
        ("released, all of 12 sources", f"{took:.2f} s"),
        ("the same from nothing", f"{anew_s:.2f} s"),
        (
            "greatest difference of a reading between both",
            f"{apart[worst]:.4f} ± {1.4427 * error[worst]:.4f} stop",
        ),
    ]


def memory(location: str) -> Row:
    """Peak of a process that makes the wide picture with nothing cached."""
    code = (
        "import resource, sys; from pathlib import Path\n"
        "from falloff.session.demo import run_demo\n"
        f"run_demo({location!r}, out=Path(sys.argv[1]), width=960)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)"
    )
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {"XDG_CACHE_HOME": folder}
        done = subprocess.run(
            [sys.executable, "-c", code, folder],
            env=environment, check=True, capture_output=True, text=True,
        )  # fmt: skip
    return "memory at 960 × 540", f"{int(done.stdout.split()[-1]) / 1024**2:.2f} GB"


def demo(location: str) -> list[Row]:
    """The demo with nothing compiled or cached, then again; medians of three."""
    command = [shutil.which("falloff") or "falloff", "demo", location, "--json", "--out"]
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(3):
        with tempfile.TemporaryDirectory() as folder:
            environment = os.environ | {"NUMBA_CACHE_DIR": folder, "XDG_CACHE_HOME": folder}
            for kept in times:
                kept.append(timed(lambda: run([*command, f"{folder}/out"], environment)))  # noqa: B023
    first, second = (statistics.median(kept) for kept in times)
    return [("demo, first time", f"{first:.1f} s"), ("demo, second time", f"{second:.1f} s")]


def run(command: list[str], environment: dict[str, str]) -> None:
    subprocess.run(command, env=environment, check=True, capture_output=True)


def timed(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
