"""The scene file of a quick start, as text that a person can read and go on from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from falloff.kit import Outfit
from falloff.session.quick.frame import framing
from falloff.session.quick.marks import nd_text
from falloff.session.quick.plan import Plan
from falloff.session.quick.room import (
    FACES_AT_TABLE_DEG,
    FIGURES,
    SEAT_OFF_M,
    Layout,
    clock_text,
    facing_deg,
    fill_distance_m,
    fill_height_m,
    fill_hour,
    lay_out,
    scene_hour,
)

_TITLES = {
    "window": "One person by a window",
    "table": "Two at a table",
    "interview": "Standing interview",
    "kitchen": "Kitchen",
}
_HEAD = """\
# Written by a quick start: whatever was not answered is assumed. Change it and meter again.
# The camera stands at 6 o'clock, seen from above; wall 1 is behind it, 2 on its right, 3 behind
# the person, 4 on its left.
"""
Group = Mapping[str, Any]


def scene_text(plan: Plan) -> str:
    """The whole scene file."""
    layout = lay_out(plan)
    scene: dict[str, Any] = {
        "falloff": 2,
        "title": _TITLES[plan.situation],
        "units": plan.units,
        "room": _room(plan),
        "materials": {
            "the walls": {"reflectance": f"{plan.wall_reflectance:.3g}"},
            "the ceiling": {"reflectance": f"{plan.ceiling_reflectance:.3g}"},
            "the floor": {
                "reflectance": f"{plan.floor_reflectance:.3g}",
                "tint": "[1.25, 0.95, 0.6]",
            },
        },
        "house_power": {"supply": f"{plan.supply_volts:g} V"},
    }
    if plan.window is not None:
        scene |= _window(plan, layout)
    scene |= {
        "props": _props(plan, layout),
        "subjects": _people(plan, layout),
        "fixtures": _fixtures(plan, layout),
        "grip": _grip(plan),
        "cameras": _cameras(plan, layout),
        "setups": _setups(plan),
        "readings": _readings(plan, layout),
    }
    return _HEAD + "\n".join(_lines({key: part for key, part in scene.items() if part})) + "\n"


def _lines(group: Group, depth: int = 0) -> Iterator[str]:
    """A group as YAML lines; sections stand apart, and a comment stands under the key "#"."""
    pad = "  " * depth
    for key, value in group.items():
        if isinstance(value, Mapping):
            if depth == 0:
                yield ""
            yield f"{pad}{key}:"
            yield from _lines(value, depth + 1)
        else:
            yield f"{pad}# {value}" if key == "#" else f"{pad}{key}: {value}"


def _room(plan: Plan) -> Group:
    x, y = _m(plan, plan.width_m), _m(plan, plan.depth_m)
    zero = _m(plan, 0.0)
    return {
        "floor": f"[[{zero}, {zero}], [{x}, {zero}], [{x}, {y}], [{zero}, {y}]]",
        "height": _m(plan, plan.ceiling_m),
        "floor_surface": "the floor",
        "ceiling_surface": "the ceiling",
        "wall_surface": "the walls",
    }


def _window(plan: Plan, layout: Layout) -> Group:
    assert plan.window is not None
    window: dict[str, Any] = {
        "wall": layout.window_wall,
        "along": _m(plan, layout.window_along_m),
        "width": _m(plan, plan.window.width_m),
        "sill": _m(plan, layout.sill_m),
        "height": _m(plan, plan.window.height_m),
        "glass": f"{plan.glass:.3g}",
    }
    dressing = {
        "sheer": "[{kind: sheer, straight: 0.3, scattered: 0.3}]",
        "blind": "[{kind: blind, slat: 5 cm, tilt: 40 deg}]",
        "gel": f"[{{kind: gel, loss: {plan.gel_stops:.3g} stops}}]",
        "blackout": "[{kind: curtain, open: 0 %, surface: black cloth}]",
    }.get(plan.dressing)
    if dressing:
        window["dressing"] = dressing
    sky = {
        "type": "overcast",
        "outside": f"{_figure(plan.outside_lux)} lx",
        "colour": f"{plan.outside_kelvin:g} K",
        "ground": f"{plan.ground_reflectance:.3g}",
    }
    return {"openings": {"WINDOW": window}, "sky": sky}


# What stands in the room -----------------------------------------------------------------


def _props(plan: Plan, layout: Layout) -> Group:
    """What belongs to the situation, and what furnishes the room where there is room for it."""
    x, y = layout.person
    props: dict[str, Any] = {}
    if plan.situation == "table":
        props["TABLE"] = _table(plan, (x, y))
    if plan.situation == "kitchen":
        props["WORKTOP"] = _worktop(plan, layout)
    window_behind = plan.window is not None and plan.window.clock_hour == 12
    if not plan.furnished or window_behind:
        return props
    behind_m = plan.depth_m - y
    if behind_m > 1.0 and plan.width_m > 2.6:
        side = plan.width_m - 0.75 if x < 0.6 * plan.width_m else 0.75
        props["SHELVES"] = _prop(plan, "shelves", (side, plan.depth_m - 0.2), "pine")
    seats = plan.situation in ("window", "interview")
    if seats and behind_m > 1.6 and plan.width_m > 4.0:
        at = (0.5 * plan.width_m - 0.3, plan.depth_m - 0.55)
        props["SOFA"] = _prop(plan, "sofa", at, "canvas")
    return props


def _table(plan: Plan, at: tuple[float, float]) -> Group:
    size = ", ".join(_m(plan, side) for side in (0.9, 0.8, 0.74))
    return {"shape": "table", "size": f"[{size}]", "at": _at(plan, at), "surface": "oak"}


def _worktop(plan: Plan, layout: Layout) -> Group:
    """A worktop along the wall that the person works at, under the window if there is one."""
    wall = layout.window_wall or 4
    x, y = layout.person
    along = plan.width_m if wall == 3 else plan.depth_m
    length = min(2.4, along - 0.1)
    low, high = 0.5 * length + 0.02, along - 0.5 * length - 0.02
    at, turn = {
        4: ((0.32, min(max(y, low), high)), 90.0),
        2: ((plan.width_m - 0.32, min(max(y, low), high)), -90.0),
        3: ((min(max(x, low), high), plan.depth_m - 0.32), 0.0),
    }[wall]
    size = ", ".join(_m(plan, side) for side in (length, 0.62, 0.9))
    return {
        "shape": "counter",
        "size": f"[{size}]",
        "at": _at(plan, at),
        "turn": f"{turn:g} deg",
        "surface": "white paint",
    }


def _prop(plan: Plan, kind: str, at: tuple[float, float], surface: str) -> Group:
    return {"shape": kind, "at": _at(plan, at), "surface": surface}


def _people(plan: Plan, layout: Layout) -> Group:
    x, y = layout.person
    if plan.situation == "table":
        return {
            "LEFT": _person(plan, "woman seated", (x - SEAT_OFF_M, y), FACES_AT_TABLE_DEG[0]),
            "RIGHT": _person(plan, "man seated", (x + SEAT_OFF_M, y), FACES_AT_TABLE_DEG[1]),
        }
    figure = FIGURES[plan.situation]
    return {"PERSON": _person(plan, figure, (x, y), facing_deg(plan, layout))}


def _person(plan: Plan, figure: str, at: tuple[float, float], facing: float) -> Group:
    person = {
        "figure": figure,
        "at": _at(plan, at),
        "facing": f"{facing:g} deg",
        "skin": plan.skin,
        "hair": "dark hair",
        "top": "blue cotton",
        "trousers": "dark denim",
    }
    return person | ({"seat": "oak"} if "seated" in figure else {})


def _fixtures(plan: Plan, layout: Layout) -> Group:
    key = plan.key
    if key is None:
        return {}
    who = "TABLE" if plan.situation == "table" else "PERSON"
    clock = clock_text(scene_hour(plan, plan.key_clock))
    distance, height = _m(plan, plan.key_distance_m), _m(plan, plan.key_height_m)
    aim = _point(plan, (*layout.person, 1.15)) if who == "TABLE" else "PERSON.face"
    fixture = {
        "#": f"{key.said}; what leaves its front is the kit's usual figure",
        **_form(plan, key),
        "output": f"{_figure(key.flux_lm * plan.key_trim)} lm",
        "colour": f"{key.colour_kelvin:g} K",
        "power": f"{key.power_w:g} W",
        "at": f'{{from: {who}, distance: {distance}, clock: "{clock}", height: {height}}}',
        "aim": aim,
        "stand": "true",
    }
    return {"KEY": fixture}


def _form(plan: Plan, key: Outfit) -> Group:
    width, height = (_m(plan, side) for side in key.size_m)
    size = f"[{width}, {height}]"
    match key.form:
        case "soft box":
            depth = _m(plan, 0.45 * max(key.size_m))
            return {"light": "soft box", "size": size, "depth": depth}
        case "open face":
            return {"light": "open face", "beam": _angle(key.beam_rad), "aperture": width}
        case "fresnel":
            return {
                "light": "fresnel",
                "aperture": width,
                "beam": _angle(key.beam_rad),
                "spot": _angle(key.spot_rad),
                "flood": _angle(key.flood_rad),
            }
        case form:
            return {"light": form, "size": size}


def _angle(angle_rad: float | None) -> str:
    assert angle_rad is not None
    return f"{math.degrees(angle_rad):.4g} deg"


def _grip(plan: Plan) -> Group:
    if plan.fill == "none":
        return {}
    who = "TABLE" if plan.situation == "table" else "PERSON"
    clock = clock_text(scene_hour(plan, fill_hour(plan)))
    size = ", ".join(_m(plan, side) for side in plan.fill_size_m)
    distance, height = _m(plan, fill_distance_m(plan)), _m(plan, fill_height_m(plan))
    flag = {
        "kind": "solid" if plan.fill == "black" else "bounce",
        "size": f"[{size}]",
        "at": f'{{from: {who}, distance: {distance}, clock: "{clock}", height: {height}}}',
        "aim": "LEFT.face" if who == "TABLE" else "PERSON.face",
    }
    return {"BLACK" if plan.fill == "black" else "BOARD": flag}


# Cameras, setups, readings ---------------------------------------------------------------


def _cameras(plan: Plan, layout: Layout) -> Group:
    frame = framing(plan, layout)
    camera = {
        "at": _point(plan, (*layout.camera, layout.camera_height_m)),
        "aim": "PERSON.face" if frame.at_face else _point(plan, frame.aim),
        "lens": f"{frame.lens_m * 1000.0:g} mm",
        "gate": "super 35",
        "aspect": "16:9",
    }
    return {"CAMERA": camera}


def _setups(plan: Plan) -> Group:
    setup = {
        "camera": "CAMERA",
        "stop": plan.stop_text,
        "iso": f"{plan.iso:g}",
        "shutter": plan.shutter_text,
        "balance": "5600 K",
        "key": "key cheek",
    }
    if plan.fps != 24.0:
        setup["fps"] = f"{plan.fps:g}"
    if plan.nd_stops:
        setup["nd"] = nd_text(plan.nd_stops)
    return {"SHOT": setup}


def _readings(plan: Plan, layout: Layout) -> Group:
    who = "LEFT" if plan.situation == "table" else "PERSON"
    along, height = _m(plan, _along_wall_behind(plan, layout)), _m(plan, 1.6)
    readings = {
        "key cheek": f"{{at: {who}.cheek_key}}",
        "shadow cheek": f"{{at: {who}.cheek_shadow}}",
        "the face at the camera": f"{{at: {who}.face, instrument: dome}}",
        "the wall behind": f"{{at: {{wall: 3, along: {along}, height: {height}}}}}",
    }
    if who == "LEFT":
        readings["the other face, key cheek"] = "{at: RIGHT.cheek_key}"
        readings["the other face, shadow cheek"] = "{at: RIGHT.cheek_shadow}"
    if plan.window is not None and plan.dressing != "blackout":
        at = _point(plan, _window_point(plan, layout))
        readings["the window"] = f"{{at: {at}, instrument: spot}}"
    return readings


def _along_wall_behind(plan: Plan, layout: Layout) -> float:
    """Where the wall behind is read: beside the person, or beside a window that is in it."""
    if plan.window is not None and layout.window_wall == 3:
        left = layout.window_along_m
        right = plan.width_m - left - plan.window.width_m
        return 0.5 * left if left > right else plan.width_m - 0.5 * right
    return plan.width_m - min(max(layout.person[0] + 0.5, 0.3), plan.width_m - 0.3)


def _window_point(plan: Plan, layout: Layout) -> tuple[float, float, float]:
    """A place in the window, off its middle where the person would stand before that."""
    window = plan.window
    assert window is not None
    share = 0.85 if layout.window_wall == 3 else 0.5
    along = layout.window_along_m + share * window.width_m
    z = layout.sill_m + 0.7 * window.height_m
    return {
        2: (plan.width_m, along, z),
        3: (plan.width_m - along, plan.depth_m, z),
        4: (0.0, plan.depth_m - along, z),
    }[layout.window_wall or 4]


def _at(plan: Plan, at: tuple[float, float]) -> str:
    return f"[{_m(plan, at[0])}, {_m(plan, at[1])}]"


def _point(plan: Plan, at: tuple[float, float, float]) -> str:
    return f"[{_m(plan, at[0])}, {_m(plan, at[1])}, {_m(plan, at[2])}]"


def _m(plan: Plan, length_m: float) -> str:
    """A length in the plan's own units, to the millimetre or the thousandth of a foot."""
    if plan.units == "metric":
        return f"{length_m:.3f}".rstrip("0").rstrip(".") + " m"
    return f"{length_m / 0.3048:.3f}".rstrip("0").rstrip(".") + " ft"


def _figure(value: float) -> str:
    """A number to four figures, never with an exponent."""
    return f"{float(f'{value:.4g}'):.10g}"
