"""How long a balance takes: 12 sources, 20 targets, dims alone and with gels and exposures.

Problems are made by rule, of light levels spread as in a room; medians of several.

    python bench/balance_bench.py
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np

from falloff.balance import (
    ColourChoice,
    ExposureChoice,
    Lever,
    Problem,
    Table,
    balance,
)
from falloff.balance.choices import choose
from falloff.balance.levels import settle_levels
from falloff.balance.problem import AS_IT_STANDS, as_it_stands
from falloff.balance.terms import terms_of
from falloff.document import ColourTarget, Quantity, Target
from falloff.spectrum import colour_of_kelvin

SOURCES, TARGETS, PROBLEMS = 12, 20, 9
GELS = (2800.0, 3200.0, 3800.0, 4300.0, 4800.0)


def problem(seed: int, *, coloured: bool, reachable: bool) -> Problem:
    """Twelve lights and twenty targets; coloured: four of them of colour, five gels a light."""
    rng = np.random.default_rng(seed)
    own = colour_of_kelvin(5600.0)
    light = rng.lognormal(4.5, 1.3, (SOURCES, TARGETS, 1)) * own
    true = 2.0 ** -rng.uniform(0.5, 5.0, SOURCES)
    level = np.log2(np.einsum("s,sp->p", true, light @ (0.2627, 0.6780, 0.0593)) / 400.0)
    if not reachable:
        level = level + rng.normal(0.0, 1.0, TARGETS)
    targets: dict[str, Target | ColourTarget] = {
        f"t{k}": Target(reading=f"r{k}", level=Quantity(float(level[k]), ""))
        for k in range(TARGETS - 4 if coloured else TARGETS)
    }
    if coloured:
        for k in range(TARGETS - 4, TARGETS):
            wanted = float(rng.choice([3200.0, 4300.0, 5600.0]))
            targets[f"t{k}"] = ColourTarget(reading=f"r{k}", colour=Quantity(wanted, ""))
    choices = tuple(
        ColourChoice(f"{kelvin:.0f} K", colour_of_kelvin(kelvin) / own * 0.6, 0.3)
        for kelvin in GELS
    )
    exposures = tuple(
        ExposureChoice(
            4.0, iso, nd, nd - np.log2(iso / 800.0), 0.1 * (nd + abs(iso - 800.0) / 800.0)
        )
        for nd in (0.0, 1.0, 2.0)
        for iso in (800.0, 400.0, 1600.0)
    )
    table = Table(
        setup="WIDE",
        readings=tuple(f"r{k}" for k in range(TARGETS)),
        rgb=light,
        now=np.ones(SOURCES),
        spots=np.zeros(TARGETS, bool),
        key_lux=400.0,
        grey_nit=22.9,
        balance_kelvin=5600.0,
        targets=targets,
        points={f"r{k}": (f"r{k}",) for k in range(TARGETS)},
        exposures=exposures if coloured else exposures[:1],
    )
    levers = tuple(
        Lever(
            f"L{s}",
            1.0,
            lowest=0.01,
            colours=(AS_IT_STANDS, *choices) if coloured else (AS_IT_STANDS,),
        )
        for s in range(SOURCES)
    )
    return Problem("bench", levers, (table,))


def median_ms(work: Callable[[Problem], object], problems: list[Problem]) -> tuple[float, float]:
    """Median and greatest of one run of each, in milliseconds."""
    took = []
    for one in problems:
        began = time.perf_counter()
        work(one)
        took.append(1e3 * (time.perf_counter() - began))
    return statistics.median(took), max(took)


def main() -> None:
    """Print a table."""
    rows: list[tuple[str, Callable[[Problem], object], bool, bool]] = [
        (
            "dims alone, within reach",
            lambda p: settle_levels(p, terms_of(p, as_it_stands(p)), as_it_stands(p)),
            False,
            True,
        ),
        (
            "dims alone, out of reach",
            lambda p: settle_levels(p, terms_of(p, as_it_stands(p)), as_it_stands(p)),
            False,
            False,
        ),
        ("choices: on or off", lambda p: choose(p, terms_of(p, as_it_stands(p))), False, False),
        (
            "choices: 6 colours a light, 9 exposures",
            lambda p: choose(p, terms_of(p, as_it_stands(p))),
            True,
            True,
        ),
        ("choices, out of reach", lambda p: choose(p, terms_of(p, as_it_stands(p))), True, False),
        ("whole balance with words, within reach", balance, False, True),
        ("whole balance with words, out of reach", balance, False, False),
        ("whole balance with colours, out of reach", balance, True, False),
    ]
    settle = rows[0][1]
    settle(problem(0, coloured=False, reachable=True))  # imports
    print("| what | median ms | greatest ms |\n|---|---|---|")
    for name, work, coloured, reachable in rows:
        problems = [problem(k, coloured=coloured, reachable=reachable) for k in range(PROBLEMS)]
        middle, most = median_ms(work, problems)
        print(f"| {name} | {middle:.1f} | {most:.1f} |")


if __name__ == "__main__":
    main()
