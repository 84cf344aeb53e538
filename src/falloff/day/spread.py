"""Targets at one moment of a day: as expected, and over the spread of what a sky may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from falloff.document import AnyTarget, Target, readings_in
from falloff.readings import Judged, Metered, judge

Light = Mapping[str, Metered]


@dataclass(frozen=True, slots=True)
class Judging:
    """What the targets of a setup are judged by, besides the light at a moment.

    kept: what readings are as the scene is written; points: of every reading by name.
    """

    targets: Mapping[str, AnyTarget]
    key_lux: float
    grey_nit: float
    balance_kelvin: float | None
    points: Mapping[str, tuple[str, ...]]
    kept: Mapping[str, float]

    def at(self, expected: Light, low: Light, high: Light) -> dict[str, Spread]:
        """Every target in a moment's light, and in the least and the most that it may be."""
        return {
            name: Spread(*(self._one(name, target, light) for light in (expected, low, high)))
            for name, target in self.targets.items()
        }

    def _one(self, name: str, target: AnyTarget, light: Light) -> Judged | None:
        return judge(
            name,
            target,
            light,
            key_lux=self.key_lux,
            grey_nit=self.grey_nit,
            balance_kelvin=self.balance_kelvin,
            kept=self.kept,
            points=self.points,
        )

    def level(self, target: AnyTarget, spread: Spread, light: Light) -> float | None:
        """The stops that a level target has; None without light, and for targets of other kinds."""
        one = spread.expected
        if not isinstance(target, Target) or one is None or one.off is None:
            return None
        points = [point for name in readings_in(target) for point in self.points.get(name, (name,))]
        if any(light[point].value <= 0.0 for point in points if point in light):
            return None
        return target.level.si + one.off


@dataclass(frozen=True, slots=True)
class Spread:
    """A target judged three times; None where its reading is not taken."""

    expected: Judged | None
    low: Judged | None
    high: Judged | None

    @property
    def margin(self) -> float | None:
        """How far within its tolerance it is expected; below zero where it is missed."""
        return None if self.expected is None else self.expected.margin

    @property
    def least(self) -> float | None:
        """The same at the worse end of the spread; None where either end tells nothing."""
        ends = [None if one is None else one.margin for one in (self.low, self.high)]
        known = [one for one in ends if one is not None]
        return min(known) if len(known) == len(ends) else None

    @property
    def holds(self) -> bool | None:
        """True over the whole spread, None over a part or as expected alone, False nowhere."""
        told = [one for one in (self.expected, self.low, self.high) if one is not None]
        if not told:
            return False
        if all(one.holds for one in told):
            return True
        return None if self._reached() or any(one.holds for one in told) else False

    def _reached(self) -> bool:
        """Whether what is wanted lies somewhere between the ends."""
        ends = [one.off for one in (self.low, self.high) if one is not None and one.off is not None]
        return len(ends) == 2 and min(ends) <= 0.0 <= max(ends)
