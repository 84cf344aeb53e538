"""What a person is told when a picture is not yet the one pictured: the answer, causes, a cure."""

from __future__ import annotations

import msgspec

from falloff.findings import Finding


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    """One cause, and by how many stops what is complained of would be better without it.

    brief: the cause alone, in two or three words. stops: above nought is better; None where
    nothing would be left to measure, or where what is missing cannot be told in stops. source,
    surface: whose light it is and what it last came off, None where that is not the point; share:
    of the reading's light, 0 to 1. first_order: light that meets the surface again by way of
    others is not counted.
    """

    says: str
    brief: str = ""
    stops: float | None
    source: str | None = None
    surface: str | None = None
    share: float | None = None
    first_order: bool = False


class Why(msgspec.Struct, frozen=True, kw_only=True):
    """Why one thing is wrong in one setup: sentences with the answer first, causes ranked.

    complaint: in the tool's words; stops: what it is told in, as it is; wanted_stops: the nearest
    value that would do, of a target where the scene has one; off_stops: by how much it is off, 0
    where it is as it should be. cure: what costs least, by arithmetic, with the stops that it
    gains; cure_light: where it is a dim or a gel alone, the source and the factor on its light;
    target: of the scene that it is told by, None where what is usual tells. fix: what a search of
    the plan found to cost least, None where none was made. seen: whether the setup's camera sees
    it at all.
    """

    complaint: str
    setup: str
    says: tuple[str, ...]
    causes: tuple[Cause, ...] = ()
    stops: float | None = None
    wanted_stops: float | None = None
    off_stops: float = 0.0
    cure: str | None = None
    cure_stops: float | None = None
    cure_light: tuple[str, float] | None = None
    target: str | None = None
    fix: str | None = None
    seen: bool = True

    @property
    def wrong(self) -> bool:
        """Whether it is off at all."""
        return self.off_stops > 0.0


class Whys(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that was asked about, what is worst first; asked: whether a complaint was made."""

    scene: str
    whys: tuple[Why, ...]
    says: tuple[str, ...]
    asked: bool = True
    findings: tuple[Finding, ...] = ()
