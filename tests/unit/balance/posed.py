"""Problems of a few sources and readings, written by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from falloff.balance import ExposureChoice, Lever, Problem, Table
from falloff.document import AnyTarget, Limit, Quantity, Target

KEY_LUX = 400.0
WRITTEN = ExposureChoice(4.0, 800.0, 0.0, 0.0)


def level(
    reading: str, stops: float, *, over: str | None = None, limit: Limit = "equal",
    tolerance: float = 1.0 / 3.0, weight: float = 1.0,
) -> Target:  # fmt: skip
    """A target in stops."""
    return Target(
        reading=reading, level=Quantity(stops, f"{stops:g} stops"), over=over, limit=limit,
        tolerance=Quantity(tolerance, f"{tolerance:g} stop"), weight=weight,
    )  # fmt: skip


def table(
    light: Mapping[str, Sequence[float]],
    targets: Mapping[str, AnyTarget],
    *,
    spots: Sequence[str] = (),
    setup: str = "WIDE",
    exposures: tuple[ExposureChoice, ...] = (WRITTEN,),
    tint: Mapping[str, Sequence[float]] | None = None,
) -> Table:
    """A table from lux of every source at each reading; grey light but where a tint is given.

    light: by reading, one number a source.
    """
    names = tuple(light)
    lux = np.array([light[name] for name in names], np.float64).T
    colours = np.ones((lux.shape[0], 3))
    for s, rgb in (tint or {}).items():
        colours[int(s)] = rgb
    return Table(
        setup=setup,
        readings=names,
        rgb=lux[:, :, None] * colours[:, None, :],
        now=np.ones(lux.shape[0]),
        spots=np.array([name in spots for name in names], bool),
        key_lux=KEY_LUX,
        grey_nit=0.18 * KEY_LUX / math.pi,
        balance_kelvin=5600.0,
        targets=dict(targets),
        points={name: (name,) for name in names},
        exposures=exposures,
    )


def problem(levers: Sequence[Lever], *tables: Table) -> Problem:
    """A problem of these."""
    return Problem("Bench", tuple(levers), tables)


def lever(name: str, now: float = 1.0, **given: object) -> Lever:
    """A light that may be dimmed to one per cent of its light."""
    return Lever(name, now, **({"lowest": 0.01} | given))  # type: ignore[arg-type]


def window(name: str = "WINDOW") -> Lever:
    """Light that has no dim."""
    return Lever(name, 1.0, free=False, can_go_out=False, fixed_because=f"{name} has no dim")
