"""A head in words as the kit's item of its kind and nearest power: flux, mouth, beam, spread."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final

from msgspec.structs import replace

from falloff.kit import Beam, Fixture, Outfit, list_items, read_outfit
from falloff.units import Kelvin, Lumen, Watt, parse_power

# Families of the catalogue by the word for the head.
_FAMILIES: Final[Mapping[str, str]] = {
    "LED": "LED white",
    "bi-colour LED": "LED bi-colour",
    "tungsten": "tungsten",
    "daylight discharge": "daylight discharge",
}


def as_item(head: str, form: str, *, power_w: float, count: int = 1, way: str = "") -> Outfit:
    """Heads of a kind and form ("Fresnel", "open face", "parabolic") as the catalogue has them.

    The item of the nearest power on a log scale lends flux, power and colour by the ratio of rated
    powers, mouth and beam as they are. way: a beam's name, the first if not said. A kind that has
    no such item takes the white LED's, by the lumens per watt of the two kinds.
    """
    family = _FAMILIES[head]
    item, share, spread = _nearest(family, form, power_w), 1.0, 0.0
    if item is None:
        item, own = _nearest("LED white", form, power_w), read_outfit(f"100 W {head}")
        share, spread = own.bare_lm / read_outfit("100 W LED").bare_lm, own.head_spread_stops
    assert item is not None
    beam = next((one for one in item.beams if one.name == way), item.beams[0])
    outfit = _outfit(item, beam, head=head, count=count, power_w=power_w, share=share)
    return replace(outfit, head_spread_stops=max(spread, outfit.head_spread_stops))


def bulb_item(family: str, power_w: float) -> Fixture:
    """The household bulb of a family that is nearest in power."""
    item = _nearest(family, "bulb", power_w)
    assert item is not None
    return item


def rated_power_w(item: Fixture) -> Watt:
    """The power in an item's name, by which it is called; what it draws may be more."""
    said = re.match(r"[0-9.]+ k?W\b", item.name)
    return parse_power(said[0]) if said else Watt(item.power_w)


def _nearest(family: str, form: str, power_w: float) -> Fixture | None:
    """The item of a family and form that is nearest in rated power; None where there is none."""
    found = [
        one
        for one in list_items("fixture")
        if isinstance(one, Fixture) and (one.family, one.form) == (family, form)
    ]
    return min(found, key=lambda one: abs(math.log(rated_power_w(one) / power_w)), default=None)


def _outfit(
    item: Fixture, beam: Beam, *, head: str, count: int, power_w: float, share: float
) -> Outfit:
    ratio = count * power_w / rated_power_w(item)
    angles = [one.beam_angle_rad for one in item.beams]
    lens = item.form == "Fresnel"
    return Outfit(
        said=item.name,
        head=f"{head}, {item.form}",
        modifier=None,
        form="fresnel" if lens else "open face",
        size_m=(item.opening.width_m, item.opening.height_m),
        count=count,
        power_w=Watt(item.power_w * ratio),
        flux_lm=Lumen(beam.flux_lm * ratio * share),
        colour_kelvin=Kelvin(item.kelvin),
        power_factor=item.power_factor,
        head_spread_stops=item.spread_stops,
        modifier_spread_stops=0.0,
        bare_lm=Lumen(item.flux_lm * ratio * share),
        beam_rad=beam.beam_angle_rad,
        spot_rad=min(angles) if lens else None,
        flood_rad=max(angles) if lens else None,
    )
