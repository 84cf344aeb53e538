"""Readings that were noted on a phone, in a pocket copy, as readings to correct a plan by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from falloff.document import SceneDocument, points_of
from falloff.document.cursor import nearest_fix
from falloff.errors import DocumentError, Fault
from falloff.record import Names, Taken, hour_by_clock, lit_told, no_source
from falloff.session.pocket_metered import MeteredFile, MeteredReading, read_metered
from falloff.units import lux_from_footcandles, nits_from_footlamberts

_SI: Final = {
    "lx": 1.0,
    "fc": float(lux_from_footcandles(1.0)),
    "cd/m²": 1.0,
    "fL": float(nits_from_footlamberts(1.0)),
}
_SPOT_UNITS: Final = ("cd/m²", "fL")


@dataclass(frozen=True, slots=True)
class Noted:
    """What was noted in a pocket copy, and the file it came from."""

    path: Path
    file: MeteredFile


def noted_in(path: Path) -> Noted:
    """What a pocket copy saved; raises DocumentError for a file that cannot be read."""
    return Noted(path, read_metered(path))


def setups_of_pocket(noted: Noted, document: SceneDocument) -> tuple[str, ...]:
    """The setups that were metered in; raises DocumentError where the scene lacks one."""
    setups = tuple(dict.fromkeys(one.setup for one in noted.file.readings))
    faults = [
        Fault(f"the scene has no setup called {name!r}", str(noted.path), found=name,
              expected="one of " + ", ".join(document.setups),
              fix="is this of another scene, or was the setup renamed?")
        for name in setups
        if name not in document.setups
    ]  # fmt: skip
    if faults:
        raise DocumentError(*faults)
    return setups


def taken_of_pocket(
    noted: Noted, document: SceneDocument, names: Mapping[str, Names]
) -> tuple[Taken, ...]:
    """What was metered with a pocket copy: dims and what was on as they were noted with it.

    Raises DocumentError for readings and lights that the scene has no more, and for values that no
    meter says.
    """
    readings, where = noted.file.readings, str(noted.path)
    spot = {
        point: document.readings[name].instrument == "spot"
        for name, points in points_of(document).items()
        for point in points
    }
    faults = [fault for one in readings for fault in _faults(one, where, spot, names[one.setup])]
    if faults:
        raise DocumentError(*dict.fromkeys(faults))
    count: dict[str, int] = {}
    made = []
    for one in readings:
        count[one.name] = count.get(one.name, 0) + 1
        again = f" #{count[one.name]}" if count[one.name] > 1 else ""
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
                on=lit_told(one.lit, names[one.setup]),
            )
        )
    return tuple(made)


def _faults(
    one: MeteredReading, where: str, spot: Mapping[str, bool], names: Names
) -> Iterator[Fault]:
    """spot: by every reading of the scene, whether it is read with a spot meter."""
    if one.name not in spot:
        yield Fault(
            f"the scene has no reading called {one.name!r}", where, found=one.name,
            expected="one of " + ", ".join(sorted(spot)),
            fix=nearest_fix(one.name, spot) or "was it renamed? Add it under readings: again",
        )  # fmt: skip
    elif spot[one.name] != (one.unit in _SPOT_UNITS):
        yield Fault(
            f"{one.name} is read with {'a spot meter' if spot[one.name] else 'an incident meter'}",
            where, found=f"{one.value:g} {one.unit}",
            expected=" or ".join(unit for unit in _SI if (unit in _SPOT_UNITS) == spot[one.name]),
            fix="was its instrument changed since? Meter it again",
        )  # fmt: skip
    if one.value < 0.0:
        yield Fault("no meter reads less than nothing", where, expected="0 or more",
                    found=f"{one.name}: {one.value:g} {one.unit}")  # fmt: skip
    for light, knob in one.dims.items():
        if not 0.0 <= knob <= 1.0:
            yield Fault(f"{light} cannot be dimmed to {100.0 * knob:.3g} %", where,
                        expected="0 to 1", found=f"{knob:g}")  # fmt: skip
    for light in one.lit:
        if light not in names.sources:
            yield no_source(light, names, where)
