"""What of a scene has room in one file that a telephone opens: width, hours, setups."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np

from falloff.document import SceneDocument, arrangement_key
from falloff.errors import BudgetExceeded, Fault
from falloff.session.picture import sizes_of
from falloff.session.pocket_hours import PocketMoment, check_hours, has_hours, moments_to_hold
from falloff.session.scene import Scene

MOST_BYTES: Final = 15_000_000  # of the file: what a telephone opens and a message carries
WIDTH_PX: Final = 480
_LEAST_WIDTH_PX: Final = 240  # below that an hour or a setup is rather left out
_LEAST_ALONE_PX: Final = 96  # of one setup alone, without other hours
_WIDTH_STEP_PX: Final = 16
_BYTES_PER_PIXEL: Final = 8  # three half floats in base64
_PAGE_BYTES: Final = 250_000  # frame, styles and scripts
_SETUP_BYTES: Final = 40_000  # a setup's lists, tone table and readings
_SOURCE_BYTES: Final = 8_000  # a source's gains
_HOUR_BYTES: Final = 300  # an hour's own words
_PART_BYTES: Final = 50  # of a reading and a source at an hour

Hours = dict[str, tuple[PocketMoment, ...]]


@dataclass(frozen=True, slots=True)
class PocketFit:
    """The setups that the file holds, how wide their pictures are, and hours besides their own.

    hours, hours_left_out: by setup, empty in a scene without an hour.
    """

    setups: tuple[str, ...]
    width_px: int
    hours: Hours
    hours_left_out: Hours


def fitting(scene: Scene, asked: tuple[str, ...] = ()) -> PocketFit:
    """What has room: first pictures grow small, then hours are left out, then setups.

    asked: hours as they were asked for. Raises BudgetExceeded where one setup has too many sources,
    and as `check_hours` and `moments_to_hold`.
    """
    check_hours(scene.document, asked)
    wanted = _wanted(scene, asked)
    names = scene.setups
    while names:
        most = max((len(wanted[name]) for name in names if name in wanted), default=0)
        for count in range(most, -1, -1):
            hours = {name: wanted[name][:count] for name in names if name in wanted}
            width = _width(scene, names, hours)
            if width is not None:
                out = {name: wanted[name][count:] for name in hours}
                return PocketFit(names, width, hours, out)
        names = names[:-1]
    first = scene.setups[0]
    raise BudgetExceeded(
        Fault(
            what="one setup alone has more light than a pocket copy holds",
            where=first,
            expected=f"at most {MOST_BYTES // 1_000_000} MB",
            found=f"{_sources(scene, first)} sources",
            fix="take lights that matter little out of this setup: without: [...]",
        )
    )


def hours_key(document: SceneDocument, setup: str) -> Hashable:
    """Equal for setups whose daylight at the same hour is the same: they share its pictures.

    Where a meter has read the light outside, what it says hangs on the setup's own hour.
    """
    sky = document.sky
    assert sky is not None
    read = (sky.outside, sky.zenith, sky.at_glass, sky.sun and sky.sun.illuminance)
    if any(one is not None for one in read):
        return arrangement_key(document, setup)
    timeless = {
        name: msgspec.structs.replace(one, at=None) for name, one in document.setups.items()
    }
    return arrangement_key(msgspec.structs.replace(document, setups=timeless), setup)


def _wanted(scene: Scene, asked: tuple[str, ...]) -> Hours:
    found: Hours = {}
    for standing in scene.arrangements:
        if has_hours(standing.document):
            moments = tuple(moments_to_hold(standing.document, asked))
            found |= dict.fromkeys(standing.setups, moments)
    return found


def _width(scene: Scene, names: tuple[str, ...], hours: Hours) -> int | None:
    alone = len(names) == 1 and not any(hours.values())
    least = _LEAST_ALONE_PX if alone else _LEAST_WIDTH_PX
    for width in range(WIDTH_PX, least - 1, -_WIDTH_STEP_PX):
        if _bytes_at(scene, names, hours, width=width) <= MOST_BYTES:
            return width
    return None


def _bytes_at(scene: Scene, names: tuple[str, ...], hours: Hours, *, width: int) -> int:
    """Bytes of the file with these setups' pictures at a width; alike ones share layers."""
    total = _PAGE_BYTES
    pictures: dict[Hashable, int] = {}
    for name in names:
        standing = scene.arrangement_of(name)
        camera = standing.document.setups[name].camera
        sources = _sources(scene, name)
        total += _SETUP_BYTES + _SOURCE_BYTES * sources
        pixels = int(np.prod(sizes_of(standing, (name,), width)[camera]))
        pictures[standing.setups, camera] = pixels * sources
        if name not in hours:
            continue
        parts = len(standing.stage.probes) * sources
        total += (len(hours[name]) + 1) * (_HOUR_BYTES + _PART_BYTES * parts)
        alike = hours_key(scene.document, name)
        pictures |= {(alike, camera, one.instant): pixels for one in hours[name]}
    return total + _BYTES_PER_PIXEL * sum(pictures.values())


def _sources(scene: Scene, name: str) -> int:
    return len(scene.arrangement_of(name).stage.sources)
