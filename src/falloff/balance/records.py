"""What a balance holds: dims, what is wanted and got, what binds, what cannot hold together."""

from __future__ import annotations

import msgspec

from falloff.findings import Finding
from falloff.readings import Judged


class DimSet(msgspec.Struct, frozen=True, kw_only=True):
    """One light as it stands and as it is to stand.

    knob: the dim as a share of full, 0 off; before: the same by setup, as it is written;
    light_stops: what its light changes by in the first setup, None where it goes out or comes on;
    colour: another colour or gel in words, "" as it is; entry: (key, YAML) of the light's own entry
    that make it so; at: "full" or "lowest" where it is at an
    end of its range, "" between; moved: whether it changes in any setup.
    """

    source: str
    before: dict[str, float]
    knob: float
    light_stops: float | None
    colour: str = ""
    entry: tuple[tuple[str, str], ...] = ()
    at: str = ""
    moved: bool = True


class ExposureSet(msgspec.Struct, frozen=True, kw_only=True):
    """A setup's exposure as it stands and as it is to stand, in words, with its stops apart.

    stops: how much more light key is than before.
    """

    setup: str
    before: str
    after: str
    stop: float
    iso: float
    nd_stops: float
    stops: float = 0.0


class TargetGot(msgspec.Struct, frozen=True, kw_only=True):
    """One target in one setup: as things stood and with the answer, and what stands in its way.

    short: by how much it is missed beyond its tolerance, in the target's unit, 0 where it holds;
    binds: what keeps it from being met, as sentences; () where it holds.
    """

    setup: str
    name: str
    before: Judged
    got: Judged
    short: float
    binds: tuple[str, ...] = ()


class Conflict(msgspec.Struct, frozen=True, kw_only=True):
    """Targets that cannot hold together, whatever the dims, in a sentence.

    None of them can be left out of it. smallest: whether no other such set is smaller: not proven
    where more targets exclude each other than the search has time for.
    """

    targets: tuple[tuple[str, str], ...]  # (setup, target)
    smallest: bool
    says: str


class Breaks(msgspec.Struct, frozen=True, kw_only=True):
    """What would break an answer first: a source that is off by so much takes a target out.

    stops: of the source, up (+) or down (-); spread_stops: what one should expect it to stray by;
    the smaller stops over spread, the sooner.
    """

    setup: str
    target: str
    source: str
    stops: float
    spread_stops: float
    says: str


class Balance(msgspec.Struct, frozen=True, kw_only=True):
    """Dims and exposure that bring targets in, as nearly as they can be, and what stands between.

    setups: that the dims are for; missed: weighed sum of squares of what is short, over tolerance,
    as it stood and now. conflicts: each target that nothing can meet, then the smallest set of the
    others that cannot hold together; first_to_break: None where nothing is held.
    """

    scene: str
    setups: tuple[str, ...]
    dims: tuple[DimSet, ...]
    exposures: tuple[ExposureSet, ...]
    targets: tuple[TargetGot, ...]
    missed_before: float
    missed: float
    conflicts: tuple[Conflict, ...]
    first_to_break: Breaks | None
    says: tuple[str, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def holds(self) -> bool:
        """Whether every target is within its tolerance."""
        return all(one.got.holds for one in self.targets)
