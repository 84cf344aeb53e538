"""What kit show tells of an item, a fixture among them as it is used with modifiers."""

from __future__ import annotations

import msgspec

from falloff.findings import Finding
from falloff.kit import Beam, FixtureSheet, Item, Opening
from falloff.session.kit.figures import FigureTold


class SoftAt(msgspec.Struct, frozen=True, kw_only=True):
    """How soft a front is at a distance.

    angular_size_rad: how wide it looks; edge_per_m: width of a shadow's edge (m) for each metre
    from what casts it to where it falls, as long as that is short against the distance.
    """

    distance_m: float
    angular_size_rad: float
    edge_per_m: float


class ModifierFit(msgspec.Struct, frozen=True, kw_only=True):
    """What one modifier costs a fixture's first beam, and what shines then.

    front: its way of use, "" if it has one; against: the fixture's beam; width_m,
    height_m: of the new front, None for a ceiling, where the beam on it says how wide.
    """

    name: str
    front: str
    form: str
    against: str
    beam: Beam
    absorbed_stops: float
    spread_stops: float
    total_stops: float
    expected_spread_stops: float
    width_m: float | None
    height_m: float | None
    provenance: str


class KitShown(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of an item; sheet, softness and fits only of a fixture.

    files: the sheet as drawn, SVG and PNG, where a folder was given.
    """

    name: str
    kind: str
    item: Item
    own: bool
    count: int | None
    figures: tuple[FigureTold, ...]
    sheet: FixtureSheet | None
    opening: Opening | None
    softness: tuple[SoftAt, ...]
    fits: tuple[ModifierFit, ...]
    findings: tuple[Finding, ...]
    files: tuple[str, ...] = ()
