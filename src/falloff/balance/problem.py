"""The problem of balancing: light at the readings by source, what each source can do, targets.

Light is linear: a reading is the sum over sources of light at full times the share of full that
each is dimmed to. Everything here is bare arrays; where they come from is `pose`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import AnyTarget
from falloff.kit import DimCurve
from falloff.spectrum import XYZ_FROM_WORKING, xy_from_xyz
from falloff.types import BoolArray, Float64Array

WEIGHTS: Final = np.array(LUMINANCE_WEIGHTS)
LEAST_SHARE: Final = 2.0**-12  # of full light, below which a light is off
LEAST_CHANNEL: Final = (
    1e-4  # of a light's luminance: what has none of a colour could not be given it
)
KNOB_COSTS: Final = 0.05  # of a target missed by its tolerance: a colour that is turned, not hung
Told = tuple[str, str]  # a target by its setup and its name
_FULL: Final = 0.995  # of its light, from which nothing is in hand
_LOWEST: Final = 1.02  # times its lowest, up to which it is there


@dataclass(frozen=True, slots=True)
class ColourChoice:
    """One colour that a light can have: its light is times `rgb` (3,) of what it is as it stands.

    name: "" as it stands, else in words; costs: how reluctantly it is chosen, in stops of a target
    missed by as much; edits: (key, YAML) of the light's own entry that make it so.
    """

    name: str
    rgb: Float64Array
    costs: float = 0.0
    edits: tuple[tuple[str, str], ...] = ()


LINEAR: Final = DimCurve()
AS_IT_STANDS: Final = ColourChoice("", np.ones(3))


@dataclass(frozen=True, slots=True)
class Mixing:
    """A head that mixes colours: its emitters' light, so that any mix of theirs may be chosen.

    rgb: what each emitter at full is times (n, 3) of the head's light as it stands; colour: of that
    light (3,), of luminance 1; set_to: the choice that a chromaticity x, y is.
    """

    rgb: Float64Array
    colour: Float64Array
    set_to: Callable[[float, float], ColourChoice]

    def mixed(self, drives: Float64Array) -> tuple[ColourChoice, float]:
        """Emitters at shares of full (n,) as a choice and a share of that choice's full light."""
        light = (drives @ self.rgb) * self.colour
        x, y = xy_from_xyz(np.asarray(XYZ_FROM_WORKING) @ light)
        choice = self.set_to(float(x), float(y))
        full = float((choice.rgb * self.colour) @ WEIGHTS)
        return choice, min(1.0, float(light @ WEIGHTS) / full)


@dataclass(frozen=True, slots=True)
class Warming:
    """What dimming does to a colour: at shares of full (n,), ascending, it is times rgb (n, 3)."""

    shares: Float64Array
    rgb: Float64Array

    def at(self, share: float) -> tuple[Float64Array, Float64Array]:
        """What the colour is times at a share of full, and how that goes with the share's stops."""
        stops = np.log2(self.shares)
        x = float(np.clip(np.log2(max(share, 1e-12)), stops[0], stops[-1]))
        k = int(np.clip(np.searchsorted(stops, x) - 1, 0, len(stops) - 2))
        slope = (self.rgb[k + 1] - self.rgb[k]) / (stops[k + 1] - stops[k])
        inside = stops[0] < x < stops[-1]
        return self.rgb[k] + slope * (x - stops[k]), slope if inside else np.zeros(3)


@dataclass(frozen=True, slots=True)
class Lever:
    """What one source can do: its dim now, the shares of full light that it may have, its colours.

    free: whether its dim is to be changed at all; lowest, highest: of its light, as shares of full;
    can_go_out: whether it may be off below its lowest; mixing: None where it does not mix colours,
    or none is asked for; warming: None where its colour stays; spread_stops: what its light may be
    off by; fixed_because: in words, where it is not free; in_shot: a practical.
    """

    source: str
    now: float
    lowest: float = LEAST_SHARE
    highest: float = 1.0
    free: bool = True
    can_go_out: bool = True
    curve: DimCurve = LINEAR
    colours: tuple[ColourChoice, ...] = (AS_IT_STANDS,)
    mixing: Mixing | None = None
    warming: Warming | None = None
    spread_stops: float = 1.0 / 3.0
    fixed_because: str = ""
    in_shot: bool = False

    @property
    def dims(self) -> bool:
        """Whether its dim may be changed, and has a range."""
        return self.free and self.lowest < self.highest

    def is_full(self, share: float) -> bool:
        """Whether a share of full light is all that it has."""
        return bool(share >= _FULL * self.highest)

    def is_lowest(self, share: float) -> bool:
        """Whether it is on and as low as it holds steady."""
        return bool(0.0 < share <= _LOWEST * self.lowest)


@dataclass(frozen=True, slots=True)
class ExposureChoice:
    """One exposure that a setup can have; stops: how much more light key is than as written."""

    stop: float
    iso: float
    nd_stops: float
    stops: float
    costs: float = 0.0


@dataclass(frozen=True, slots=True)
class Table:
    """One setup's light: rgb (s, p, 3) at full and in each source's colour, lx or cd/m².

    now: the share of full (s,) that each source has as the setup is written; readings: names of
    the p; spots: which are luminances; points: of each reading by name; kept: what readings are as
    the scene is written, for targets that keep them; targets: those that are wanted here;
    exposures: what the camera may be set to, the first as written; out_of_frame: spots that its
    camera does not have in frame.
    """

    setup: str
    readings: tuple[str, ...]
    rgb: Float64Array
    now: Float64Array
    spots: BoolArray
    key_lux: float
    grey_nit: float
    balance_kelvin: float | None
    targets: Mapping[str, AnyTarget]
    points: Mapping[str, tuple[str, ...]]
    kept: Mapping[str, float] = field(default_factory=dict)
    exposures: tuple[ExposureChoice, ...] = ()
    out_of_frame: frozenset[str] = frozenset()

    def exposure_stops(self, choice: int) -> float:
        """How much more light key is under one of its exposures than as written, in stops."""
        return self.exposures[choice].stops if self.exposures else 0.0

    def index(self, reading: str) -> int:
        """Which row a reading is."""
        return self.readings.index(reading)


@dataclass(frozen=True, slots=True)
class Problem:
    """Setups that share their lights' dims, and what each light can do; levers by source order."""

    scene: str
    levers: tuple[Lever, ...]
    tables: tuple[Table, ...]

    @property
    def now(self) -> Float64Array:
        """Share of full light of each source (s,) as it stands."""
        return np.array([one.now for one in self.levers])


@dataclass(frozen=True, slots=True)
class Answer:
    """Shares of full light (s,), the colour that each source has, which exposure each setup."""

    shares: Float64Array
    colours: tuple[ColourChoice, ...]
    exposures: tuple[int, ...]


def as_it_stands(problem: Problem) -> Answer:
    """The answer that changes nothing."""
    colours = tuple(lever.colours[0] for lever in problem.levers)
    return Answer(problem.now, colours, (0,) * len(problem.tables))


def coloured(problem: Problem, colours: tuple[ColourChoice, ...]) -> list[Float64Array]:
    """Light (s, p, 3) of each table with the colours that were chosen."""
    by = np.array([one.rgb for one in colours]).reshape(-1, 3)
    return [table.rgb * by[:, None, :] for table in problem.tables]
