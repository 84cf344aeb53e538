"""A plan's document as another plan has it, where that needs no new text: reading one is slow."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from msgspec.structs import replace

from falloff.document import Quantity, RelativePlace, SceneDocument, Window, WindowGel
from falloff.session.quick.plan import Plan
from falloff.session.quick.room import scene_hour


def differing(old: Plan, new: Plan) -> set[str]:
    """Names of the plan's fields that differ."""
    return {name for name in old.__struct_fields__ if getattr(old, name) != getattr(new, name)}


def varied(document: SceneDocument, old: Plan, new: Plan) -> SceneDocument | None:
    """The document of the new plan made from the old plan's, or None where text must be written."""
    fields = differing(old, new)
    if not fields <= _CHANGES.keys():
        return None
    for name in fields:
        changed = _CHANGES[name](document, new)
        if changed is None:
            return None
        document = changed
    return document


def _material(name: str, field: str) -> Callable[[SceneDocument, Plan], SceneDocument]:
    def change(document: SceneDocument, plan: Plan) -> SceneDocument:
        own = replace(document.materials[name], reflectance=getattr(plan, field))
        return replace(document, materials={**document.materials, name: own})

    return change


def _skin(document: SceneDocument, plan: Plan) -> SceneDocument:
    people = {name: replace(one, skin=plan.skin) for name, one in document.subjects.items()}
    return replace(document, subjects=people)


def _glass(document: SceneDocument, plan: Plan) -> SceneDocument:
    return _windowed(document, glass=plan.glass)


def _gel(document: SceneDocument, plan: Plan) -> SceneDocument | None:
    """Bare glass and gels differ in nothing but the light; other dressing is another surface."""
    window = document.openings["WINDOW"]
    assert isinstance(window, Window)
    if plan.dressing not in ("bare", "gel") or not _clear(window):
        return None
    gels = (WindowGel(_quantity(plan.gel_stops, "stops")),) if plan.dressing == "gel" else ()
    return _windowed(document, dressing=gels)


def _clear(window: Window) -> bool:
    return all(isinstance(one, WindowGel) for one in window.dressing)


def _outside(document: SceneDocument, plan: Plan) -> SceneDocument:
    assert document.sky is not None
    sky = replace(
        document.sky,
        outside=_quantity(plan.outside_lux, "lx"),
        colour=_quantity(plan.outside_kelvin, "K"),
        ground=plan.ground_reflectance,
    )
    return replace(document, sky=sky)


def _key_light(document: SceneDocument, plan: Plan) -> SceneDocument:
    assert plan.key is not None
    return _keyed(document, output=_quantity(plan.key.flux_lm * plan.key_trim, "lm"))


def _key_place(document: SceneDocument, plan: Plan) -> SceneDocument:
    at = document.fixtures["KEY"].at
    assert isinstance(at, RelativePlace)
    moved = replace(
        at,
        distance=_quantity(plan.key_distance_m, "m"),
        height=_quantity(plan.key_height_m, "m"),
        clock_hour=scene_hour(plan, plan.key_clock),
    )
    return _keyed(document, at=moved)


def _camera(document: SceneDocument, plan: Plan) -> SceneDocument:
    shot = replace(
        document.setups["SHOT"],
        stop=Quantity(plan.t_number, plan.stop_text),
        iso=plan.iso,
        nd=_quantity(plan.nd_stops, "stops"),
    )
    return replace(document, setups={"SHOT": shot})


def _windowed(document: SceneDocument, **changes: object) -> SceneDocument:
    window = replace(document.openings["WINDOW"], **changes)
    return replace(document, openings={**document.openings, "WINDOW": window})


def _keyed(document: SceneDocument, **changes: object) -> SceneDocument:
    key = replace(document.fixtures["KEY"], **changes)
    return replace(document, fixtures={**document.fixtures, "KEY": key})


def _quantity(value: float, unit: str) -> Quantity:
    return Quantity(value, f"{value:.6g} {unit}")


_CHANGES: Final[Mapping[str, Callable[[SceneDocument, Plan], SceneDocument | None]]] = {
    "wall_reflectance": _material("the walls", "wall_reflectance"),
    "ceiling_reflectance": _material("the ceiling", "ceiling_reflectance"),
    "floor_reflectance": _material("the floor", "floor_reflectance"),
    "skin": _skin,
    "glass": _glass,
    "dressing": _gel,
    "gel_stops": _gel,
    "outside_lux": _outside,
    "outside_kelvin": _outside,
    "ground_reflectance": _outside,
    "key_trim": _key_light,
    "key_distance_m": _key_place,
    "key_height_m": _key_place,
    "key_clock": _key_place,
    "t_number": _camera,
    "iso": _camera,
    "nd_stops": _camera,
}
