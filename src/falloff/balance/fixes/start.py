"""Where every fix starts from: setups with their light, the best dims, what is missed and why."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.judging import judged, short_of
from falloff.balance.posing import Posed, pose
from falloff.balance.problem import WEIGHTS, Answer, Problem, Told
from falloff.balance.search import best_answer
from falloff.balance.terms import LevelTerm, gains, terms_of, totals
from falloff.document import Edit, SceneDocument, readings_asked
from falloff.readings import Judged
from falloff.stage import Standing, stand
from falloff.stage.places import Placer
from falloff.transport import Grasp, Solution, take_hold
from falloff.types import Float64Array

_AT_EDGE: Final = 0.15  # of a tolerance, within which what holds stands at its edge
DARK_STOPS: Final = 15.0  # missed by more than that there is no light at all
# A trial is weighed by readings alone: fewer rays make its bounce, and its error is checked.
_COARSE = {"element_rays": 1, "opening_rays": 4, "reading_gather_rays": 256, "hot_reading_rays": 32}


@dataclass(frozen=True, slots=True)
class FixCase:
    """Setups in which everything stands alike, and how their scene is edited.

    posed: one of each setup; document: the scene whole, as its file says; text: of that file;
    edited: the scene after edits, whole, raises what reading finds wrong; standing_in: the same as
    it stands in a setup.
    """

    posed: tuple[Posed, ...]
    document: SceneDocument
    text: str
    edited: Callable[[Sequence[Edit]], SceneDocument]
    standing_in: Callable[[SceneDocument, str], SceneDocument]

    @property
    def setups(self) -> tuple[str, ...]:
        """Their names."""
        return tuple(one.setup for one in self.posed)


@dataclass(frozen=True)
class Start:
    """The case with its best dims; what trials need is made when it is first asked for."""

    case: FixCase
    problem: Problem
    answer: Answer
    judged: dict[Told, Judged]

    @property
    def document(self) -> SceneDocument:
        """The scene as it stands in these setups."""
        return self.case.posed[0].document

    @property
    def solution(self) -> Solution:
        """The settled light."""
        return self.case.posed[0].layers.solution

    @property
    def missed(self) -> tuple[Told, ...]:
        """What no dim brings in."""
        return tuple(key for key, one in self.judged.items() if not one.holds)

    def judged_dark(self, key: Told) -> bool:
        """Whether a target is missed because its reading has no light."""
        one = self.judged[key]
        return one.unit == "stops" and short_of(one) > DARK_STOPS

    @functools.cached_property
    def coarse(self) -> Solution:
        """The settled light with the rays of a trial."""
        return replace(self.solution, budget=replace(self.solution.budget, **_COARSE))

    @functools.cached_property
    def placer(self) -> Placer:
        """Where everything stands."""
        return Placer(self.document)

    @functools.cached_property
    def standing(self) -> Standing:
        """The stage with its pieces, so that one body is moved quickly."""
        return stand(self.document)

    @functools.cached_property
    def colours(self) -> Float64Array:
        """Of the sources (s, 3), luminance 1."""
        return np.asarray(self.case.posed[0].layers.colours, np.float64)

    @functools.cached_property
    def direct(self) -> Float64Array:
        """Direct light (s, p, 3) of every source at full at every probe."""
        white = self.case.posed[0].layers.probes.direct.mean(-1)
        return np.asarray(white * self.colours[:, None, :], np.float64)

    @functools.cached_property
    def bounced(self) -> Float64Array:
        """Bounced light (s, p, 3)."""
        white = self.case.posed[0].layers.probes.bounced.mean(-1)
        return np.asarray(white * self.colours[:, None, :], np.float64)

    @functools.cached_property
    def holds(self) -> dict[str, Grasp]:
        """Bodies that were taken hold of."""
        return {}

    def hold(self, name: str) -> Grasp:
        """All that stays where it is while a body is moved."""
        if name not in self.holds:
            self.holds[name] = take_hold(self.solution.stage, name)
        return self.holds[name]

    def index(self, source: str) -> int:
        """Which row a source is."""
        return self.source_names.index(source)

    @property
    def source_names(self) -> tuple[str, ...]:
        """Of the sources, in the order of every array."""
        return self.case.posed[0].layers.names

    @functools.cached_property
    def probe_rows(self) -> tuple[tuple[int, ...], ...]:
        """Of each table, the probes that its readings are taken with."""
        probes = self.case.posed[0].layers.probes.probes
        return tuple(
            tuple(k for k, probe in enumerate(probes) if probe.view in {None, one.light.camera})
            for one in self.case.posed
        )

    @functools.cached_property
    def asked(self) -> frozenset[str]:
        """The readings, point by point, that any target is told of."""
        return frozenset(
            point
            for table in self.problem.tables
            for target in table.targets.values()
            for name in readings_asked(target)
            for point in table.points.get(name, (name,))
        )

    @functools.cached_property
    def needs(self) -> tuple[Float64Array, ...]:
        """Of each table, which readings (p,) want more light (+) or less (-) for what is missed."""
        return needs_of(self.problem, self.answer, set(self.missed))

    @functools.cached_property
    def less(self) -> Float64Array:
        """Of each source (s,), its shares of the readings that want less light, summed."""
        return self._shares(self.answer, -1.0)

    @functools.cached_property
    def more_at_full(self) -> Float64Array:
        """Of those that want more, were every light that dims at full."""
        return self._shares(self._full, 1.0)

    @property
    def _full(self) -> Answer:
        highest = np.array([one.highest if one.free else one.now for one in self.problem.levers])
        return replace(self.answer, shares=np.maximum(highest, self.answer.shares))

    def _shares(self, answer: Answer, sign: float) -> Float64Array:
        by, found = gains(self.problem, answer), np.zeros(len(self.problem.levers))
        for table, need in zip(self.problem.tables, self.needs, strict=True):
            parts = np.einsum("spc,sc->sp", table.rgb, by * WEIGHTS)
            shares = parts / np.maximum(parts.sum(0), 1e-12)
            found += shares @ np.maximum(0.0, sign * need)
        return found

    def parts(self, t: int, *, full: bool = False) -> Float64Array:
        """What each source gives (s, p) of a table's readings with the best dims, or at full."""
        by = gains(self.problem, self._full if full else self.answer)
        return np.asarray(np.einsum("spc,sc->sp", self.problem.tables[t].rgb, by * WEIGHTS))

    def with_light(self, light: Float64Array) -> Problem:
        """The problem with other light (s, p, 3) at the probes, coloured, at full."""
        tables = tuple(
            replace(table, rgb=light[:, list(rows)])
            for table, rows in zip(self.problem.tables, self.probe_rows, strict=True)
        )
        return replace(self.problem, tables=tables)


def start_of(case: FixCase, *, only: Sequence[str] | None = None) -> Start:
    """The case posed and balanced; only: targets by name, all where None."""
    problem = pose(case.posed, only=None if only is None else dict.fromkeys(case.setups, only))
    answer = best_answer(problem)
    return Start(case, problem, answer, judged(problem, answer))


def needs_of(problem: Problem, answer: Answer, missed: set[Told]) -> tuple[Float64Array, ...]:
    """Of each table, by reading (p,): how much more (+) or less (-) light is asked for, in all.

    A target that holds at its edge asks too: it is what keeps others from being met. Colours ask
    for neither: their readings count as wanting both a little.
    """
    lights = totals(problem, answer)
    found = [np.zeros(len(table.readings)) for table in problem.tables]
    for term in terms_of(problem, answer):
        table = problem.tables[term.table]
        if not isinstance(term, LevelTerm):
            continue
        off = stops_off(term, lights[term.table])
        if table.exposures and term.keyed:
            off -= table.exposures[answer.exposures[term.table]].stops
        edge = 0.0 if (table.setup, term.target) in missed else _AT_EDGE * term.scale
        sign = 1.0 if off < term.low + edge else -1.0 if off > term.high - edge else 0.0
        found[term.table][term.reading] += sign * term.weight
        if term.over is not None:
            found[term.table][term.over] -= sign * term.weight
    return tuple(found)


def stops_off(term: LevelTerm, light: Float64Array) -> float:
    """How far a term's level is over what it wants, at light (p, 3) and the written exposure."""
    stops = np.log2(max(float(light[term.reading] @ WEIGHTS), 1e-12))
    if term.over is not None:
        stops -= np.log2(max(float(light[term.over] @ WEIGHTS), 1e-12))
    return float(stops - term.reference - term.wanted)
