"""How long fixes take at readings: all candidates of a scene weighed, as a ratio to its trace.

The workshop with a key that is far too weak and a window that is far too bright, so that every kind
of fix has something to do. Other hours are timed apart: their rays outside are shot once.

    python bench/fixes_bench.py
"""

from __future__ import annotations

import functools
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from falloff.balance.fixes.find import candidates_of, find_fixes
from falloff.balance.fixes.start import start_of
from falloff.balance.fixes.weighing import weigh
from falloff.balance.fixes.windows import hour_problems
from falloff.document import read_text
from falloff.layers import trace_layers, warm_up
from falloff.session import location_file
from falloff.session.balance import posed_setup
from falloff.session.fixes import case_of
from falloff.session.scene import open_scene

TARGETS = """
  wall down: {reading: the back wall, level: -1 stop, limit: at most}
  wall lit: {reading: the right wall, level: 0 stops, limit: at least}
  bench dark: {reading: the bench, level: -2 stops, over: key cheek, limit: at most}
  edge: {reading: "the hair edge, shadow side", level: 0 stops, limit: at least}
"""


def main() -> None:
    """Print a table."""
    text = (
        location_file("workshop").read_text("utf-8").replace("output: 7600 lm", "output: 1900 lm")
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "workshop.scene.yaml"
        path.write_text(text.rstrip() + TARGETS)
        scene = open_scene(path)
        (standing,) = scene.arrangements
        warm_up()
        began = time.process_time()
        traced = _seconds(lambda: trace_layers(standing.stage, sizes={}))
        traced_cpu = time.process_time() - began
        layers = trace_layers(standing.stage, sizes={})
        posed = tuple(posed_setup(standing, name, layers) for name in standing.setups)
        case = case_of(posed, scene.document, read_text(path))
        find_fixes(case, hours=False)  # kernels and imports
        start_s = _seconds(lambda: start_of(case))
        start = start_of(case)
        made_s = _seconds(lambda: candidates_of(start))
        every = candidates_of(start_of(case))
        took: dict[str, float] = {}
        counts: Counter[str] = Counter()
        for one in every:
            spent = _seconds(functools.partial(weigh, start, one))
            took[one.kind] = took.get(one.kind, 0.0) + spent
            counts[one.kind] += 1
        began = time.process_time()
        whole = _seconds(lambda: find_fixes(case, hours=False))
        whole_cpu = time.process_time() - began
        hours_s = _seconds(lambda: hour_problems(start))
    print(f"{len(every)} fixes weighed in {whole:.2f} s: {whole / traced:.2f} of a trace")
    print(f"that is {30.0 * whole / len(every):.2f} s for 30 (bar: 3 s); a trace is {traced:.2f} s")
    print(f"processor time: {whole_cpu:.2f} s, of a trace {traced_cpu:.2f} s")
    print(f"balance first {start_s:.2f} s, candidates {made_s:.2f} s; hours apart {hours_s:.2f} s")
    print("| kind | fixes | s |\n|---|---|---|")
    for kind, count in counts.items():
        print(f"| {kind} | {count} | {took[kind]:.2f} |")


def _seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


if __name__ == "__main__":
    main()
