"""The sky and the sun as a scene says them, how far that may be out, and the same corrected."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from msgspec.structs import replace

from falloff.document import (
    Add,
    AtGlass,
    Edit,
    KeyPath,
    Put,
    Quantity,
    SceneDocument,
    Sky,
    Sun,
    put_or_add,
)
from falloff.record.figures import written_like
from falloff.stage.kit_lights import figure
from falloff.stage.openings import SkyHole, sky_holes
from falloff.stage.outdoors import Outdoors, Spread, outdoors_of
from falloff.stage.places import Placer

# A level that was read is never quite that of the next hour, nor is the pane as clean, nor the
# tree before it left out: common practice, no source. That of the sun is steadier.
READ_SKY_SPREAD_STOPS: Final = 0.5
READ_SUN_SPREAD_STOPS: Final = 1.0 / 3.0
PLACED_SUN_SPREAD_STOPS: Final = 0.5  # by turbidity alone, between clean and hazy air
_DARKEST: Final = 0.25  # of a sun that a cloud may hide: two stops are reckoned with


@dataclass(frozen=True, slots=True)
class DaylightSaid:
    """Sky and sun of a scene: the figure that says each, its unit, its spread in stops.

    sky_value: as the scene has it (outside or at_glass: lx; zenith: cd/m²), or lx on open ground
    as its hour is expected to bring; sun_lux: square to it, 0 where none is seen. glass_share:
    part of a reading at the glass that is the sky's, the rest being the sun's off the ground.
    """

    sky: Sky
    sky_value: float
    sky_unit: str
    sky_spread_stops: float
    sun_lux: float
    sun_spread_stops: float
    glass_share: float

    def corrected(self, sky_stops: float, sun_stops: float) -> Sky:
        """The sky so many stops stronger than said, and the sun."""
        sky, level = self.sky, self.level_at(sky_stops, sun_stops)
        if sky.at_glass is not None:
            glass = AtGlass(
                opening=sky.at_glass.opening, reads=_like(level, sky.at_glass.reads, "lx")
            )
            sky = replace(sky, at_glass=glass)
        elif sky.zenith is not None:
            sky = replace(sky, zenith=_like(level, sky.zenith, "cd/m2"))
        elif sky_stops or sky.outside is not None:
            sky = replace(sky, outside=_like(level, sky.outside, "lx"))
        if self.sun_lux > 0.0 and sun_stops:
            sun = sky.sun or Sun()
            lux = self.sun_lux * 2.0**sun_stops
            sky = replace(sky, sun=replace(sun, illuminance=_like(lux, sun.illuminance, "lx")))
        return sky

    def level_at(self, sky_stops: float, sun_stops: float = 0.0) -> float:
        """The figure that says the sky, so many stops stronger."""
        if self.sky.at_glass is None:
            return float(self.sky_value * 2.0**sky_stops)
        by_sky = self.glass_share * 2.0**sky_stops
        by_sun = (1.0 - self.glass_share) * 2.0**sun_stops
        return float(self.sky_value * (by_sky + by_sun))

    def edits(self, document: SceneDocument, sky_stops: float, sun_stops: float) -> list[Edit]:
        """The edits that write the corrected figures into the scene."""
        at: KeyPath = ("sky",)
        made = self.corrected(sky_stops, sun_stops)
        edits: list[Edit] = []
        for key in ("outside", "zenith"):
            told = getattr(made, key)
            if told is not None and sky_stops:
                edits.append(put_or_add(document, at, key, told.text))
        if made.at_glass is not None and (sky_stops or sun_stops):
            edits.append(Put((*at, "at_glass", "reads"), made.at_glass.reads.text))
        if made.sun is not None and made.sun != self.sky.sun:
            assert made.sun.illuminance is not None
            told = made.sun.illuminance.text
            has = document.seen.has((*at, "sun"))
            edits.append(
                put_or_add(document, (*at, "sun"), "illuminance", told)
                if has
                else Add((*at, "sun"), f"{{illuminance: {told}}}")
            )
        return edits


def daylight_said(document: SceneDocument) -> DaylightSaid | None:
    """What a scene says of the light outside; None where none comes in."""
    placer = Placer(document)
    holes = sky_holes(placer)
    sky = document.sky
    if sky is None or not holes:
        return None
    outdoors = outdoors_of(placer, holes)
    sun_lux = outdoors.daylight.sun_normal_lux
    said = sky.outside or sky.zenith or (sky.at_glass.reads if sky.at_glass else None)
    level = outdoors.daylight.horizontal_lux if said is None else said.si
    if sky.sun is not None and sky.sun.illuminance is not None:
        sun_spread = READ_SUN_SPREAD_STOPS
    elif outdoors.instant is None:
        sun_spread = PLACED_SUN_SPREAD_STOPS
    else:
        sun_spread = _half_range(outdoors.sun_spread)
    return DaylightSaid(
        sky=sky,
        sky_value=level,
        sky_unit="cd/m²" if sky.zenith is not None else "lx",
        sky_spread_stops=_half_range(outdoors.sky_spread) if said is None
        else READ_SKY_SPREAD_STOPS,
        sun_lux=sun_lux,
        sun_spread_stops=max(sun_spread, 0.1),
        glass_share=_glass_share(document, holes, outdoors),
    )  # fmt: skip


def _half_range(spread: Spread) -> float:
    """Half the way in stops between the factors that real days lie between, as one spread."""
    return 0.5 * math.log2(spread.high / max(spread.low, _DARKEST))


def _glass_share(document: SceneDocument, holes: tuple[SkyHole, ...], outdoors: Outdoors) -> float:
    """How much of what was read at the glass is the sky's: the level outside is straight in it."""
    sky = document.sky
    assert sky is not None
    if sky.at_glass is None or outdoors.daylight.sun_normal_lux <= 0.0:
        return 1.0
    reads = replace(sky.at_glass, reads=Quantity(1.25 * sky.at_glass.reads.si, "more"))
    more = replace(document, sky=replace(sky, at_glass=reads))
    level = outdoors.daylight.horizontal_lux
    gained = outdoors_of(Placer(more), holes).daylight.horizontal_lux / level - 1.0
    return min(1.0, 0.25 / gained) if gained > 0.0 else 1.0


def _like(value: float, written: Quantity | None, unit: str) -> Quantity:
    """A level of light, in the unit that it was written in, to three or four figures."""
    told = f"{figure(value)} {unit}" if written is None else written_like(value, written.text)
    return Quantity(value, told)
