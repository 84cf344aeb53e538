"""What a lens and the filters before it let through."""

from __future__ import annotations

import math

from falloff.kit.catalogue.records import Filter, Lens
from falloff.units import Stops


def t_number_by_glass(lens: Lens) -> float:
    """The T-number that f-number and transmission give, f / √share."""
    return lens.f_number / math.sqrt(lens.transmitted_share)


def t_number(lens: Lens) -> float:
    """The T-number to expose by: as engraved, or by the glass where none is engraved."""
    return lens.t_number if lens.t_number is not None else t_number_by_glass(lens)


def loss_against_engraving_stops(lens: Lens) -> Stops:
    """How many stops less a lens passes by its glass than its T or f as engraved says."""
    engraved = lens.t_number if lens.t_number is not None else lens.f_number
    return Stops(2.0 * math.log2(t_number_by_glass(lens) / engraved))


def filters_loss_stops(*filters: Filter) -> Stops:
    """Stops that filters take together: they add."""
    return Stops(sum(one.loss_stops for one in filters))


def covers(lens: Lens, gate_width_m: float, *, gate_height_m: float) -> bool | None:
    """Whether a lens's image circle covers a gate's diagonal; None where it is not known."""
    if lens.image_circle_m is None:
        return None
    return lens.image_circle_m >= math.hypot(gate_width_m, gate_height_m)
