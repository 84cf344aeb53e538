"""Packages against every one there is, each tried by force with another solver."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import cvxpy as cp
import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.unit.balance.packed import dark, head, package, stand_in
from tests.unit.balance.posed import KEY_LUX, level

from falloff.balance import CircuitRoom, PackageProblem, PlaceToFill, choose_package
from falloff.balance.package.problem import hire_of, weight_of

_INSIDE = 0.99  # of a tolerance that an answer stays within
_READINGS = ("face", "wall")
_FLUX = (1.0, 2.5, 7.0)


def _every(posed: PackageProblem) -> Iterator[tuple[int | None, ...]]:
    """Every package that there are pieces and circuits for."""
    ways = [(None, *range(len(place.candidates))) for place in posed.places]
    for taken in itertools.product(*ways):
        packed = _packed(posed, taken)
        enough = all(
            one.count is None or n <= one.count for n, one in zip(packed, posed.stock, strict=True)
        )
        drawn = sum(
            place.candidates[k].volt_amps
            for place, k in zip(posed.places, taken, strict=True)
            if k is not None
        )
        if enough and drawn <= posed.circuits[0].volt_amps:
            yield taken


def _packed(posed: PackageProblem, taken: tuple[int | None, ...]) -> tuple[int, ...]:
    counts = [0] * len(posed.stock)
    for place, k in zip(posed.places, taken, strict=True):
        for part in () if k is None else place.candidates[k].parts:
            counts[part] += 1
    return tuple(counts)


def _holds(posed: PackageProblem, taken: tuple[int | None, ...]) -> bool:
    """Whether dims below the reserve bring every target in: bands written anew, by Clarabel."""
    light = [
        place.candidates[k].light[0][:, 0]
        for place, k in zip(posed.places, taken, strict=True)
        if k is not None
    ]
    (table,) = posed.fixed.tables
    targets = list(table.targets.values())
    if not light:
        return all(one.limit == "at most" for one in targets)  # type: ignore[union-attr]
    shares = cp.Variable(len(light))
    lux = np.array(light).T @ shares
    bands = [shares >= 0.0, shares <= posed.highest]
    margin = cp.Variable()
    for one in targets:
        at = table.readings.index(one.reading)  # type: ignore[union-attr]
        tolerance = _INSIDE * one.tolerance.si  # type: ignore[union-attr]
        wanted = KEY_LUX * 2.0**one.level.si  # type: ignore[union-attr]
        bands.append(lux[at] / wanted <= 2.0**tolerance + margin)
        if one.limit == "equal":  # type: ignore[union-attr]
            bands.append(lux[at] / wanted >= 2.0**-tolerance - margin)
    least = cp.Problem(cp.Minimize(margin), bands).solve(solver="CLARABEL")  # type: ignore[no-untyped-call]
    return bool(least <= 1e-6)


@given(
    lux=st.lists(
        st.lists(st.sampled_from((5.0, 40.0, 120.0, 300.0)), min_size=2, max_size=2),
        min_size=2, max_size=3,
    ),
    rates=st.lists(st.sampled_from((0.0, 12.0, 30.0, 31.0)), min_size=3, max_size=3),
    counts=st.lists(st.sampled_from((1, 2, None)), min_size=3, max_size=3),
    levels=st.lists(st.sampled_from((-2.0, -1.0, 0.0, 1.0)), min_size=2, max_size=2),
    amps=st.sampled_from((2.0, 4.0, 10.0)),
    limit=st.sampled_from(("equal", "at most")),
)  # fmt: skip
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_no_package_that_holds_is_smaller(
    lux: list[list[float]],
    rates: list[float],
    counts: list[int | None],
    levels: list[float],
    amps: float,
    limit: str,
) -> None:
    """Hire first, then pieces, then weight: none of all that hold has less, and none holds else."""
    stock = [
        head(f"h{k}", owned=rate == 0.0, count=count, rate=rate, kg=1.0 + 2.0 * k)
        for k, (rate, count) in enumerate(zip(rates, counts, strict=True))
    ]
    places = [
        PlaceToFill(
            f"P{p}",
            tuple(
                stand_in(
                    f"h{k}", k, [[flux * one for one in mine]], lowest=0.001,
                    volt_amps=100.0 * flux,
                )
                for k, flux in enumerate(_FLUX)
            ),
        )
        for p, mine in enumerate(lux)
    ]  # fmt: skip
    wanted = {
        "face": level("face", levels[0]),
        "wall": level("wall", levels[1], limit=limit),  # type: ignore[arg-type]
    }
    posed = package(
        places, stock, dark(wanted, _READINGS), circuits=(CircuitRoom("WALL", amps, 230.0),)
    )
    chosen = choose_package(posed)
    assert chosen is not None
    costs = {
        taken: _costs(posed, _packed(posed, taken))
        for taken in _every(posed)
        if _holds(posed, taken)
    }
    if not costs:
        assert chosen.missed > 0.0
        return
    assert chosen.missed == 0.0
    assert chosen.candidates in costs
    np.testing.assert_allclose(_costs(posed, chosen.packed), min(costs.values()), atol=1e-6)
    under = choose_package(posed, below=chosen)
    if under is not None:
        assert _costs(posed, under.packed)[:2] < _costs(posed, chosen.packed)[:2]
        assert under.missed > 0.0


def _costs(posed: PackageProblem, packed: tuple[int, ...]) -> tuple[float, float, float]:
    return hire_of(posed, packed), float(sum(packed)), weight_of(posed, packed)
