"""What shines in from outside: the sky, the ground and the buildings seen through each hole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

import numpy as np

from falloff.daylight import without_sun
from falloff.document import SceneDocument, Sky, has_sun, instant_of
from falloff.findings import Finding, Weight
from falloff.sources import FINE_STEPS, Source, opening_illuminance, sky_opening, sun
from falloff.stage.openings import SkyHole, sky_holes
from falloff.stage.outdoors import (
    KINDS,
    SAID_KELVIN,
    Outdoors,
    Weather,
    outdoors_of,
    sun_normal_lux,
)
from falloff.stage.places import Placer
from falloff.types import Float32Array

SUN_NAME: Final = "sun"
_CLEAR_KINDS: Final = range(11, 16)
_STEPS: Final = 14  # of the quadratures that share out a window's colour and its flux by hours


def build_skies(placer: Placer) -> tuple[Source, ...]:
    """A source for each hole through which the outside is seen, and the sun if it shines."""
    holes = sky_holes(placer)
    sky = placer.document.sky
    if not holes:
        return ()
    if sky is None:
        raise placer.fault(
            ("openings", holes[0].name),
            what=f"{holes[0].name} looks out on nothing",
            expected="a sky, since there is a window",
            fix="add sky: {type: overcast, outside: 12000 lx}",
        )
    return skies_under(placer, holes, outdoors_of(placer, holes))


def skies_under(
    placer: Placer, holes: tuple[SkyHole, ...], outdoors: Outdoors
) -> tuple[Source, ...]:
    """The same under another light outside.

    Where the scene has an hour the sun is there even while it does not shine, so that what is
    listed does not change from hour to hour; under an overcast sky it never is.
    """
    skies = [_source(hole, outdoors) for hole in holes]
    daylight = outdoors.daylight
    if daylight.sun_normal_lux > 0.0 or (outdoors.instant is not None and has_sun(outdoors.word)):
        skies.append(_sun(placer, holes, outdoors))
    return tuple(skies)


@dataclass(frozen=True, slots=True)
class HourOutside:
    """What shines in at one moment; openings in the order of the document, then the sun.

    The sun is not among the sources under a sky that never shows it.

    in_shade: the openings as they would shine were the sun's disc hidden; outdoors: the light
    outside that they are made of.
    """

    sources: tuple[Source, ...]
    in_shade: tuple[Source, ...]
    outdoors: Outdoors


def skies_by_hour(document: SceneDocument) -> Callable[[datetime, str | None], HourOutside]:
    """What shines in at an aware instant, under the scene's sky or another word's, ready to ask.

    The scene has a location, a sky with an hour and an opening to the outside.
    """
    placer = Placer(document)
    holes = sky_holes(placer)
    weather = Weather(placer, holes)

    def at(instant: datetime, word: str | None = None) -> HourOutside:
        outdoors = weather.at(instant, word)
        shade = replace(
            outdoors,
            daylight=without_sun(outdoors.daylight),
            outlook=outdoors.outlook_in_shade,
        )
        skies = [_source(hole, outdoors, steps=_STEPS) for hole in holes]
        in_shade = tuple(_plain(hole, shade, shade.sky_colour, 0.0) for hole in holes)
        if has_sun(outdoors.word):
            skies.append(_sun(placer, holes, outdoors))
        return HourOutside(tuple(skies), in_shade, outdoors)

    return at


def sky_findings(placer: Placer) -> list[Finding]:
    """What was taken of the sky and the sun where the scene does not say it."""
    document = placer.document
    sky = document.sky
    if sky is None or not sky_holes(placer):
        return []
    if instant_of(document) is not None:
        return _hour_findings(placer, sky)
    if sky.sun is None:
        return []
    found = []
    lux = sun_normal_lux(sky)
    if KINDS[sky.type] in _CLEAR_KINDS and sky.colour is None:
        says = f"a clear sky is bluer than the {SAID_KELVIN:g} K that are taken: 10000 K and more"
        do = "write the sky's colour, such as 12000 K"
        found.append(Finding(weight=Weight.NOTE, about="sky", says=says, do=do))
    if sky.sun.illuminance is None and lux > 0.0:
        says = (
            f"the sun is taken to give {_round(lux)} lx square to it, at turbidity "
            f"{sky.sun.turbidity:g}; between very clear and hazy air it may be 0.7 stop either way"
        )
        do = "meter it outside, square to the sun, and write it as the sun's illuminance"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    if sky.sun.illuminance is None and lux == 0.0:
        says = f"no sun is seen through a sky of type {sky.type}: only the sky shines"
        do = "write the sun's illuminance if it comes through"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    return found


def _hour_findings(placer: Placer, sky: Sky) -> list[Finding]:
    """What the hour alone is expected to bring, and how far it may be out."""
    outdoors = outdoors_of(placer, sky_holes(placer))
    instant = outdoors.instant
    assert instant is not None
    daylight, found = outdoors.daylight, []
    if sky.outside is None and sky.zenith is None and sky.at_glass is None:
        spread = np.log2([outdoors.sky_spread.low, outdoors.sky_spread.high])
        says = (
            f"the sky is expected to give {_round(daylight.horizontal_lux)} lx on open ground "
            f"without the sun, {spread[0]:+.1f} to {spread[1]:+.1f} stop"
        )
        do = "meter it outside, meter up, in your own shadow, and write it as `outside`"
        found.append(Finding(weight=Weight.NOTE, about="sky", says=says, do=do))
    lux = daylight.sun_normal_lux
    if lux == 0.0 and has_sun(outdoors.word):
        down = float(outdoors.toward_sun[2]) <= 0.0
        says = (
            f"the sun is down at {instant:%H:%M}"
            if down
            else f"the sun stands behind the skyline at {instant:%H:%M}"
        )
        do = "falloff day tells when it shines in"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    if lux > 0.0 and (sky.sun is None or sky.sun.illuminance is None):
        low, high = outdoors.sun_spread.low, outdoors.sun_spread.high
        least = f"{np.log2(low):+.1f}" if low > 0.0 else "none at all"
        says = (
            f"the sun is expected to give {_round(lux)} lx square to it, "
            f"{least} to {np.log2(high):+.1f} stop"
        )
        do = "meter it outside, square to the sun, and write it as the sun's illuminance"
        found.append(Finding(weight=Weight.NOTE, about=SUN_NAME, says=says, do=do))
    return found


def _round(lux: float) -> str:
    return f"{float(f'{lux:.3g}'):.10g}"


def _sun(placer: Placer, holes: tuple[SkyHole, ...], outdoors: Outdoors) -> Source:
    """The sun's disc through every hole; panes and cloths in them are sheets of their own."""
    document = placer.document
    taken = (*document.fixtures, *document.practicals, *document.openings)
    if SUN_NAME in taken:
        section = next(
            one
            for one in ("fixtures", "practicals", "openings")
            if SUN_NAME in getattr(document, one)
        )
        raise placer.fault(
            (section, SUN_NAME),
            what=f"{SUN_NAME!r} is the name of the sky's own sun",
            fix="call it something else",
        )
    return sun(
        SUN_NAME,
        toward_sun=outdoors.toward_sun,
        normal_lux=outdoors.daylight.sun_normal_lux,
        colour=outdoors.sun_colour,
        holes=np.array([np.concatenate([one.corner, one.edge_u, one.edge_v]) for one in holes]),
        outlook=outdoors.outlook,
    )


def _source(hole: SkyHole, outdoors: Outdoors, *, steps: int = FINE_STEPS) -> Source:
    inward = np.cross(hole.edge_u, hole.edge_v)
    inward /= np.linalg.norm(inward)
    middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)
    daylight = outdoors.daylight
    falling = opening_illuminance(middle, inward, daylight, outdoors.outlook, steps=steps)
    colour = outdoors.sky_colour
    if outdoors.instant is not None and daylight.sun_normal_lux > 0.0 < falling:
        # What it takes in is the sky's, and the sun's off ground and buildings. Without an hour
        # there is one colour for all of it, as it was said.
        by_sky = opening_illuminance(
            middle, inward, without_sun(daylight), outdoors.outlook_in_shade, steps=steps
        )
        share = by_sky / falling
        colour = share * outdoors.sky_colour + (1.0 - share) * outdoors.sun_colour
    return _plain(hole, outdoors, colour, falling)


def _plain(hole: SkyHole, outdoors: Outdoors, colour: Float32Array, falling_lux: float) -> Source:
    return sky_opening(
        hole.name,
        hole.corner,
        edge_u=hole.edge_u,
        edge_v=hole.edge_v,
        daylight=outdoors.daylight,
        colour=np.asarray(colour, np.float32),
        straight=hole.passes,
        outlook=outdoors.outlook,
        falling_lux=falling_lux,
    )
