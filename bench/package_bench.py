"""How long it takes to choose a package: 12 places, 10 lights to choose from at each.

Problems are made by rule: places that light ten readings as in a room, targets as a package could
give them, three circuits, four kinds of head owned, the rest hired. Seconds of one core's time,
median and worst of several.

    python bench/package_bench.py
"""

from __future__ import annotations

import math
import statistics
import time

import numpy as np

from falloff.balance import (
    CircuitRoom,
    PackageProblem,
    PlaceToFill,
    Problem,
    StandIn,
    Stock,
    Table,
    choose_package,
)
from falloff.balance.package.problem import hire_of
from falloff.document import Quantity, Target

PLACES, LIGHTS, READINGS, PROBLEMS = 12, 10, 10, 5
KEY_LUX = 400.0


def problem(seed: int, *, setups: int = 1) -> PackageProblem:
    """Twelve places, ten lights a place; levels that six of the places gave, a stop in hand."""
    rng = np.random.default_rng(seed)
    by_klm = rng.lognormal(2.3, 1.2, (PLACES, READINGS))
    klm = 2.0 * 2.0 ** np.arange(LIGHTS)
    stock = tuple(
        Stock(
            f"h{k}", "fixture", 2 if k < 4 else None, k < 4, 0.0 if k < 4 else 10.0 * 1.5**k,
            weight_kg=1.5**k,
        )
        for k in range(LIGHTS)
    )  # fmt: skip
    places = tuple(
        PlaceToFill(
            f"P{p}",
            tuple(
                StandIn(
                    f"h{k}", (k,), (np.repeat(klm[k] * by_klm[p][:, None], 3, 1),) * setups,
                    lowest=0.01, volt_amps=50.0 * 1.5**k,
                )
                for k in range(LIGHTS)
            ),
            heights_m=(2.0,),
        )
        for p in range(PLACES)
    )  # fmt: skip
    stood = rng.permutation(PLACES)[:6]
    lit = rng.uniform(2.0, 60.0, 6) @ by_klm[stood]
    targets = {
        f"t{r}": Target(
            reading=f"r{r}",
            level=Quantity(round(3.0 * math.log2(lit[r] / KEY_LUX)) / 3.0, ""),
            limit="at most" if r % 3 == 2 else "equal",
        )
        for r in range(READINGS)
    }
    readings = tuple(f"r{r}" for r in range(READINGS))
    tables = tuple(
        Table(
            setup=f"S{t}",
            readings=readings,
            rgb=np.zeros((0, READINGS, 3)),
            now=np.zeros(0),
            spots=np.zeros(READINGS, bool),
            key_lux=KEY_LUX,
            grey_nit=0.18 * KEY_LUX / math.pi,
            balance_kelvin=5600.0,
            targets=targets,
            points={name: (name,) for name in readings},
        )
        for t in range(setups)
    )
    circuits = tuple(
        CircuitRoom(name, amps, 230.0) for name, amps in zip("ABC", (16, 10, 10), strict=True)
    )
    return PackageProblem(
        Problem("Bench", (), tables), (0,) * setups, places, stock, circuits=circuits
    )


def main() -> None:
    """Print what each part takes."""
    for setups in (1, 2):
        best_s, next_s = [], []
        for seed in range(PROBLEMS):
            posed = problem(seed, setups=setups)
            began = time.process_time()
            best = choose_package(posed)
            best_s.append(time.process_time() - began)
            assert best is not None
            began = time.process_time()
            under = choose_package(posed, below=best)
            next_s.append(time.process_time() - began)
            told = "none" if under is None else f"{under.missed:.3f}"
            print(
                f"  {setups} setups, {seed}: {best.pieces} pieces, hire "
                f"{hire_of(posed, best.packed):.0f}, missed {best.missed:.3f}, next {told}: "
                f"{best_s[-1]:.2f} s and {next_s[-1]:.2f} s"
            )
        print(
            f"{setups} setups: the package {statistics.median(best_s):.2f} s "
            f"(worst {max(best_s):.2f}), the next cheaper {statistics.median(next_s):.2f} s "
            f"(worst {max(next_s):.2f})"
        )


if __name__ == "__main__":
    main()
