"""Readings that were noted on a phone, in a pocket copy, as readings to correct a plan by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from falloff.document import SceneDocument, points_of
from falloff.errors import DocumentError, Fault
from falloff.record import Names, Taken, hour_by_clock, lit_told, no_source
from falloff.session.pocket_metered import MeteredReading, read_metered
from falloff.units import lux_from_footcandles, nits_from_footlamberts

_SI: Final = {
    "lx": 1.0,
    "fc": float(lux_from_footcandles(1.0)),
    "cd/m²": 1.0,
    "fL": float(nits_from_footlamberts(1.0)),
}


def setups_of_pocket(path: Path, document: SceneDocument) -> tuple[str, ...]:
    """The setups that were metered in; raises DocumentError where the scene lacks one."""
    setups = tuple(dict.fromkeys(one.setup for one in read_metered(path).readings))
    faults = [
        Fault(f"the scene has no setup called {name!r}", str(path), found=name,
              expected="one of " + ", ".join(document.setups),
              fix="is this of another scene, or was the setup renamed?")
        for name in setups
        if name not in document.setups
    ]  # fmt: skip
    if faults:
        raise DocumentError(*faults)
    return setups


def taken_of_pocket(
    path: Path, document: SceneDocument, names: Mapping[str, Names]
) -> tuple[Taken, ...]:
    """What was metered with a pocket copy: dims and what was on as they were noted with it.

    Raises DocumentError for a file that cannot be read, and for readings and lights that the scene
    has no more.
    """
    file = read_metered(path)
    faults = [fault for one in file.readings for fault in _faults(one, path, document, names)]
    if faults:
        raise DocumentError(*dict.fromkeys(faults))
    count: dict[str, int] = {}
    made = []
    for one in file.readings:
        count[one.name] = count.get(one.name, 0) + 1
        again = f" #{count[one.name]}" if count[one.name] > 1 else ""
        known = names[one.setup]
        made.append(
            Taken(
                name=f"{one.name}{again}",
                reading=one.name,
                value=one.value * _SI[one.unit],
                text=f"{one.value:g} {one.unit}",
                setup=one.setup,
                lit=one.lit,
                knobs={name: knob for name, knob in one.dims.items() if name in one.lit},
                hour=None if one.hour is None else hour_by_clock(one.hour, document),
                on=lit_told(one.lit, known),
            )
        )
    return tuple(made)


def _faults(
    one: MeteredReading, path: Path, document: SceneDocument, names: Mapping[str, Names]
) -> Iterator[Fault]:
    points = {point for several in points_of(document).values() for point in several}
    if one.name not in points:
        yield Fault(
            f"the scene has no reading called {one.name!r}", str(path), found=one.name,
            expected="one of " + ", ".join(sorted(points)),
            fix="was it renamed? Add it under readings: again",
        )  # fmt: skip
    for light in one.lit:
        if light not in names[one.setup].sources:
            yield no_source(light, names[one.setup], str(path))
