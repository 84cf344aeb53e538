"""Corrections as edits of the scene: outputs, reflectances, the sky's reading; nothing else."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Final

from msgspec.structs import replace

from falloff.document import (
    Add,
    Edit,
    KeyPath,
    Put,
    Quantity,
    SceneDocument,
    Screen,
    put_or_add,
    quoted,
    scalar,
)
from falloff.errors import Fault
from falloff.kit import find_material
from falloff.record.figures import written_like
from falloff.record.outside import DaylightSaid
from falloff.record.records import Taken
from falloff.record.unknowns import Unknown
from falloff.stage import light_now
from falloff.stage.dims import section_of
from falloff.stage.kit_lights import figure
from falloff.types import Float64Array

_TRIAL_LM: Final = 1000.0
_SAME_DIM: Final = 5e-3


def edits_of(
    document: SceneDocument, unknowns: Sequence[Unknown], x: Float64Array,
    *, daylight: DaylightSaid | None,
) -> tuple[Edit, ...]:  # fmt: skip
    """The edits that make the scene's plan what the readings say; where x is 0, none."""
    edits: list[Edit] = []
    for name, stops in output_stops(unknowns, x).items():
        if stops:
            edits += _output(document, name, stops)
    edits += _materials(document, unknowns, x)
    if daylight is not None:
        told = {
            one.kind: float(x[u])
            for u, one in enumerate(unknowns)
            if one.kind in {"sky", "sun"} and x[u]
        }
        if told:
            edits += daylight.edits(document, told.get("sky", 0.0), told.get("sun", 0.0))
    return tuple(edits)


def output_stops(unknowns: Sequence[Unknown], x: Float64Array) -> dict[str, float]:
    """How much stronger each light is than assumed, its modifiers with it, stops."""
    found: dict[str, float] = {}
    for u, one in enumerate(unknowns):
        if one.kind in {"output", "modifier"}:
            for name in one.sources:
                found[name] = found.get(name, 0.0) + float(x[u])
    return found


def output_lm(document: SceneDocument, name: str, stops: float) -> float:
    """The `output` to write for a light so that it is so many stops stronger than it is now."""
    wanted = light_now(document, name).flux_lm * 2.0**stops
    section = section_of(document, name)
    lights = dict(getattr(document, section))
    lights[name] = replace(lights[name], output=Quantity(_TRIAL_LM, f"{_TRIAL_LM:g} lm"))
    trial = replace(document, **{section: lights})
    return float(_TRIAL_LM * wanted / light_now(trial, name).flux_lm)


def _output(document: SceneDocument, name: str, stops: float) -> list[Edit]:
    at: KeyPath = (section_of(document, name), name)
    light = document.fixtures.get(name) or document.practicals[name]
    if isinstance(light.light, Screen) and light.light.luminance is not None:
        nit = light.light.luminance
        return [Put((*at, "luminance"), written_like(nit.si * 2.0**stops, nit.text))]
    lumens = output_lm(document, name, stops)
    if light.output is not None:
        return [Put((*at, "output"), written_like(lumens, light.output.text))]
    return [put_or_add(document, at, "output", f"{figure(lumens)} lm")]


def _materials(document: SceneDocument, unknowns: Sequence[Unknown], x: Float64Array) -> list[Edit]:
    edits: list[Edit] = []
    fresh: dict[str, str] = {}
    for u, one in enumerate(unknowns):
        if one.kind != "reflectance" or not x[u]:
            continue
        told = f"{one.value(float(x[u])):.3f}".rstrip("0")
        if one.name in document.materials:
            edits.append(Put(("materials", one.name, "reflectance"), told))
        else:
            known = find_material(one.name)
            tint = ", ".join(f"{value:g}" for value in known.tint)
            coat = f", sheen: {known.sheen:g}, roughness: {known.roughness:g}"
            coat = coat if known.sheen > 0.0 else ""
            fresh[one.name] = f"{{reflectance: {told}, tint: [{tint}]{coat}}}"
    if fresh and not document.materials:
        inside = ", ".join(f"{quoted(name)}: {value}" for name, value in fresh.items())
        return [*edits, Add(("materials",), f"{{{inside}}}")]
    return [*edits, *(Add(("materials", name), value) for name, value in fresh.items())]


def edits_of_readings(
    document: SceneDocument, taken: Sequence[Taken], *, zone_hours: Mapping[str, str]
) -> tuple[Edit, ...]:
    """The edits that keep typed readings under `measured`, each by a name of its own.

    zone_hours: an aware time as ISO 8601 for each hour that a reading tells.
    """
    made: dict[str, str] = {}
    for one in taken:
        name, number = one.name, 2
        while name in document.measured or name in made:
            name, number = f"{one.name} #{number}", number + 1
        text = one.text if _has_unit(one) else f"{figure(one.value)} lx"
        parts = [
            f"reading: {quoted(one.reading)}", f"value: {scalar(text)}",
            f"setup: {quoted(one.setup)}",
        ]  # fmt: skip
        if one.lit is not None:
            parts.append("lit: [" + ", ".join(quoted(light) for light in one.lit) + "]")
        if one.hour is not None:
            parts.append(f"at_time: {json.dumps(zone_hours[one.hour])}")
        made[name] = "{" + ", ".join(parts) + "}"
    if not made:
        return ()
    if document.measured:
        return tuple(Add(("measured", name), value) for name, value in made.items())
    inside = ", ".join(f"{quoted(name)}: {value}" for name, value in made.items())
    return (Add(("measured",), f"{{{inside}}}"),)


def cannot_be_kept(
    document: SceneDocument, taken: Sequence[Taken], *, where: str = "", instead: str
) -> list[Fault]:
    """Why readings cannot be kept under `measured`: their dims are not the setup's.

    instead: what else one may do, in words.
    """
    return [
        Fault(
            what=f"{one.name} was read at a dim that is not the setup's, which no file holds",
            where=where,
            found=", ".join(f"{light} at {100.0 * knob:.3g} %" for light, knob in others.items()),
            fix=f"{instead}, or give the setup that dim",
        )
        for one in taken
        if (others := _other_dims(document, one))
    ]


def _other_dims(document: SceneDocument, one: Taken) -> dict[str, float]:
    """The dims of a reading that are not its setup's."""
    dims = document.setups[one.setup].dims
    return {
        light: knob
        for light, knob in one.knobs.items()
        if abs(knob - (dims[light].si if light in dims else 1.0)) > _SAME_DIM
    }


def _has_unit(one: Taken) -> bool:
    """Whether its text is a level with a unit, as the file has it, and no stop."""
    return one.text[:1].lower() not in {"t", "f"}
