"""What a package is told as: its lines, what stands where and how it is set, what circuits bear."""

from __future__ import annotations

import msgspec

from falloff.balance.records import Breaks, ExposureSet, TargetGot
from falloff.findings import Finding


class PackageLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of a package: an item, how many, whose, what a day of one costs.

    day_rate: 0 for what is owned; assumed: whether it is a guess by power; weight_kg: of one;
    places: that it goes to.
    """

    item: str
    kind: str
    count: int
    owned: bool
    day_rate: float
    assumed: bool
    weight_kg: float
    places: tuple[str, ...]


class PlaceFilled(msgspec.Struct, frozen=True, kw_only=True):
    """What stands at one place and how it is set; light "" where nothing is needed.

    dims: knob by setup, 0 off; in_hand: stops by setup between its light and full, None where it
    is off; nets: whether that light is taken away by nets or wires, as it does not dim.
    """

    place: str
    light: str
    instead_of: str
    circuit: str
    stands: tuple[str, ...]
    dims: dict[str, float]
    in_hand: dict[str, float | None]
    nets: bool = False


class CircuitLoad(msgspec.Struct, frozen=True, kw_only=True):
    """What a circuit bears with all that a package plugs into it, at full.

    allowed_amps: of its breaker for hours; inrush_amps: of the worst light as it is switched on,
    None where none is known.
    """

    circuit: str
    power_w: float
    amps: float
    allowed_amps: float
    inrush_amps: float | None


class Package(msgspec.Struct, frozen=True, kw_only=True):
    """What to bring: lines, what stands where, circuits, exposures that change, targets then.

    hire: a day of what is hired, in the kit's currency; pieces: stands among them; first_to_break:
    the source that need stray least to take a held target out, None where none does within reach,
    or where it was not traced as it would stand.
    """

    lines: tuple[PackageLine, ...]
    places: tuple[PlaceFilled, ...]
    circuits: tuple[CircuitLoad, ...]
    exposures: tuple[ExposureSet, ...]
    targets: tuple[TargetGot, ...]
    hire: float
    pieces: int
    weight_kg: float
    first_to_break: Breaks | None = None

    @property
    def holds(self) -> bool:
        """Whether every target is within its tolerance."""
        return all(one.got.holds for one in self.targets)


class PackageChoice(msgspec.Struct, frozen=True, kw_only=True):
    """The smallest package that brings the targets in, and the next cheaper with what it misses.

    cheaper: None where there is none; in_the_way: limits but for which all targets would hold,
    where they do not. confirmed: whether the package was traced as it would stand. with_hire: the
    package with the catalogue for hire besides, where the kit alone does not bring all targets in.
    """

    scene: str
    setups: tuple[str, ...]
    reserve_stops: float
    currency: str
    best: Package
    cheaper: Package | None
    in_the_way: tuple[str, ...]
    says: tuple[str, ...]
    findings: tuple[Finding, ...]
    confirmed: bool = False
    with_hire: Package | None = None
