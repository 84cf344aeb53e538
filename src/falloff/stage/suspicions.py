"""Sizes that can be, but hardly are: feet written as metres, centimetres as inches."""

from __future__ import annotations

import numpy as np

from falloff.document import Door, Furniture, Skylight, SoftBox, Window
from falloff.findings import Finding, Weight
from falloff.kit.furniture import furniture
from falloff.stage.ceilings import ceiling_height_m, floor_corners_m
from falloff.stage.places import Placer
from falloff.stage.shapes import shape_in
from falloff.units import format_length

# Common practice, no source: beyond these a length is more likely a slip than meant.
_WIDEST_ROOM_M = 60.0
_HIGHEST_ROOM_M = 20.0
_LOWEST_ROOM_M = 1.9
_DOOR_HEIGHTS_M = (1.5, 3.5)
_DOOR_WIDTHS_M = (0.4, 4.0)
_LARGEST_WINDOW_M = 15.0
_LARGEST_SOFT_BOX_M = 6.0
_FURNITURE_RATIO = 2.2  # of a piece's height to the usual one
_MOST_LUMENS = 2e6  # the largest film heads give under a million
_LENSES_M = (0.004, 1.2)
_WHITEST = 0.95  # whiter than fresh snow and white paint
_CHECK = "feet written as metres? check the units"


def suspicious(placer: Placer) -> list[Finding]:
    """Findings about lengths that look as if they were written in another unit."""
    return [*_rooms(placer), *_openings(placer), *_things(placer), *_figures(placer)]


def _rooms(placer: Placer) -> list[Finding]:
    found = []
    for name in placer.room_names:
        room, told = placer.room(name), name or "room"
        corners = floor_corners_m(room)
        gaps = corners[:, None] - corners[None]
        widest = float(np.hypot(gaps[..., 0], gaps[..., 1]).max())
        height = float(ceiling_height_m(room, corners[:, 0], corners[:, 1]).max())
        height = max(height, room.height.si)
        called = name or "the room"
        if widest > _WIDEST_ROOM_M or height > _HIGHEST_ROOM_M:
            says = f"{called} is {widest:.0f} m across and {height:.0f} m high"
            found.append(_finding(told, says))
        elif height < _LOWEST_ROOM_M:
            says = f"the ceiling of {called} is {_said(placer, height)} high"
            found.append(_finding(told, says, "nobody stands upright under it; check the units"))
    return found


def _openings(placer: Placer) -> list[Finding]:
    found = []
    for name, opening in placer.document.openings.items():
        match opening:
            case Door(width=width, height=height):
                odd = not _within(height.si, _DOOR_HEIGHTS_M) or not _within(
                    width.si, _DOOR_WIDTHS_M
                )
                kind, sides = "door", (width.si, height.si)
            case Window(width=width, height=height):
                odd = max(width.si, height.si) > _LARGEST_WINDOW_M
                kind, sides = "window", (width.si, height.si)
            case Skylight(size=(x, y)):
                odd = max(x.si, y.si) > _LARGEST_WINDOW_M
                kind, sides = "skylight", (x.si, y.si)
        if odd:
            first, second = (_said(placer, side) for side in sides)
            size = f"{first} wide and {second} high"
            if kind == "skylight":
                size = f"{first} by {second}"
            found.append(_finding(name, f"{name} is a {kind} {size}"))
    return found


def _things(placer: Placer) -> list[Finding]:
    found = []
    for name, prop in placer.document.props.items():
        if not isinstance(prop.shape, Furniture):
            continue
        kind = prop.shape.kind
        usual = furniture(kind, size_m=None, count=None, open_rad=None).size_m[2]
        height = shape_in(placer.document, name).size_m[2]
        if not usual / _FURNITURE_RATIO < height < usual * _FURNITURE_RATIO:
            says = (
                f"{name} is {_said(placer, height)} high, the usual {kind} {_said(placer, usual)}"
            )
            found.append(_finding(name, says))
    for name, fixture in placer.document.fixtures.items():
        light = fixture.light
        if isinstance(light, SoftBox) and max(s.si for s in light.size) > _LARGEST_SOFT_BOX_M:
            side = _said(placer, max(s.si for s in light.size))
            found.append(_finding(name, f"{name} is a soft box {side} across"))
    return found


def _figures(placer: Placer) -> list[Finding]:
    """Light, lenses and whites that hardly are."""
    document, found = placer.document, []
    for name, light in (*document.fixtures.items(), *document.practicals.items()):
        if light.output is not None and light.output.si > _MOST_LUMENS:
            says = f"{name} gives {light.output.text}: no head gives half as much"
            found.append(_finding(name, says, "lux or candela written as lumens? check the number"))
    for name, camera in document.cameras.items():
        if not _within(camera.lens.si, _LENSES_M):
            says = f"{name} has a lens of {camera.lens.text}"
            found.append(_finding(name, says, "check the number and its unit"))
    for name, material in document.materials.items():
        if material.reflectance > _WHITEST:
            says = f"{name} gives back {100.0 * material.reflectance:.0f} % of light"
            do = "fresh white paint gives back 85 to 90 %; its bounce never dies away otherwise"
            found.append(_finding(name, says, do))
    return found


def _finding(about: str, says: str, do: str = _CHECK) -> Finding:
    return Finding(weight=Weight.WARNING, about=about, says=says, do=do)


def _within(length: float, limits: tuple[float, float]) -> bool:
    return limits[0] <= length <= limits[1]


def _said(placer: Placer, length_m: float) -> str:
    return format_length(length_m, units=placer.document.units)
