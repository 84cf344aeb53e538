"""The edits that write answers into their scene, every other setup kept as it stands."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from falloff.balance import Balance, ExposureSet
from falloff.document import (
    Add,
    Edit,
    KeyPath,
    SceneDocument,
    Setup,
    dim_written,
    put_or_add,
    quoted,
    rewrite_or_add,
    scalar,
)
from falloff.units import density_from_stops, stops_from_density

_SOLD: Final = 0.02  # stops within which a density is told as it is sold
_FULL: Final = dim_written(1.0)


def edits_of(document: SceneDocument, *results: Balance) -> tuple[Edit, ...]:
    """The edits that write answers into their scene: dims of each setup, colours, exposure.

    A setup that is like one that changes keeps what it had of it, or has what its own answer says.
    """
    edits: list[Edit] = []
    for one in (dim for result in results for dim in result.dims):
        section = "fixtures" if one.source in document.fixtures else "practicals"
        edits += [
            rewrite_or_add(document, (section, one.source, key), yaml_text)
            for key, yaml_text in one.entry
        ]
    wanted = _wanted(document, results)
    for setup in document.setups:
        edits += _dim_edits(document, setup, wanted)
        edits += _exposure_edits(document, setup, wanted)
    return tuple(dict.fromkeys(edits))


@dataclass(frozen=True, slots=True)
class _Set:
    """What a setup's dims and exposure are to be, as the file has it."""

    dims: dict[str, str]
    exposure: dict[str, str]


def _wanted(document: SceneDocument, results: Sequence[Balance]) -> dict[str, _Set]:
    """Of every setup: as it stands, with what its own answer changes."""
    found = {
        name: _Set(
            {source: dim_written(knob.si) for source, knob in setup.dims.items()},
            _exposed(setup),
        )
        for name, setup in document.setups.items()
    }
    for result in results:
        for setup in result.setups:
            told = {one.source: dim_written(one.knob) for one in result.dims if one.moved}
            found[setup].dims.update(told)
        for exposure in result.exposures:
            if exposure.after != exposure.before:
                found[exposure.setup].exposure.update(_exposure(document, exposure))
    return found


def _exposed(setup: Setup) -> dict[str, str]:
    """A setup's stop, ISO and ND as it stands."""
    return {"stop": setup.stop.text, "iso": f"{setup.iso:g}", "nd": setup.nd.text}


def _exposure(document: SceneDocument, exposure: ExposureSet) -> dict[str, str]:
    """What changes of a setup's stop, ISO and ND."""
    was = document.setups[exposure.setup]
    told = {
        "stop": (was.stop.si, exposure.stop, f"T{exposure.stop:.3g}"),
        "iso": (was.iso, exposure.iso, f"{exposure.iso:g}"),
        "nd": (was.nd.si, exposure.nd_stops, nd_written(exposure.nd_stops)),
    }
    return {key: text for key, (before, after, text) in told.items() if before != after}


def exposure_edits(document: SceneDocument, exposure: ExposureSet) -> list[Edit]:
    """The edits that write another exposure into its setup."""
    at: KeyPath = ("setups", exposure.setup)
    return [
        put_or_add(document, at, key, text) for key, text in _exposure(document, exposure).items()
    ]


def _dim_edits(document: SceneDocument, setup: str, wanted: Mapping[str, _Set]) -> list[Edit]:
    """The dims that are to be other than the setup has of its own, or of the one it is like."""
    dims: KeyPath = ("setups", setup, "dims")
    base = document.setups[setup].like
    has = {} if base is None or base not in wanted else dict(wanted[base].dims)
    own = document.setups[setup].dims
    has |= {
        name: dim_written(knob.si) for name, knob in own.items() if document.seen.has((*dims, name))
    }
    told = {name: text for name, text in wanted[setup].dims.items() if has.get(name) != text}
    told |= {name: _FULL for name in has if name not in wanted[setup].dims and has[name] != _FULL}
    if not told or document.seen.has(dims):
        return [put_or_add(document, dims, name, text) for name, text in told.items()]
    inside = ", ".join(f"{quoted(name)}: {scalar(text)}" for name, text in told.items())
    return [Add(dims, f"{{{inside}}}")]


def _exposure_edits(document: SceneDocument, setup: str, wanted: Mapping[str, _Set]) -> list[Edit]:
    """The same of stop, ISO and ND."""
    at: KeyPath = ("setups", setup)
    base = document.setups[setup].like
    own = _exposed(document.setups[setup])
    found: list[Edit] = []
    for key, text in wanted[setup].exposure.items():
        inherits = base in wanted and not document.seen.has((*at, key))
        has = wanted[base].exposure[key] if inherits and base is not None else own[key]
        if text != has:
            found.append(put_or_add(document, at, key, text))
    return found


def others_kept(document: SceneDocument, edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """The edits, and those that keep a setup's exposure where one that it is like changes it."""
    changed = {edit.key_path[1:] for edit in edits if edit.key_path[0] == "setups"}
    found = list(edits)
    for setup, was in document.setups.items():
        for key, text in _exposed(was).items():
            if (setup, key) not in changed and _giver(document, setup, key) in changed:
                found.append(put_or_add(document, ("setups", setup), key, text))
    return tuple(found)


def _giver(document: SceneDocument, setup: str, key: str) -> tuple[str, str]:
    """The setup whose own key it is that a setup has."""
    while not document.seen.has(("setups", setup, key)):
        like = document.setups[setup].like
        if like is None:
            break
        setup = like
    return setup, key


def nd_written(stops: float) -> str:
    """Neutral density as a scene file has it: as sold, or in stops; "0 stops" for none."""
    if stops <= 0.0:
        return "0 stops"
    density = round(density_from_stops(stops), 1)
    if math.isclose(stops_from_density(density), stops, abs_tol=_SOLD):
        return f"ND {density:.1f}"
    return f"{stops:.2f} stops"
