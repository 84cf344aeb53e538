"""What stands mirrored in a window's glass, as the camera sees it.

Glass gives back 8 % of what meets one pane square, 15 % two, and more at a slant (Fresnel,
n = 1.52; a fifth at 57° from two panes). At night that is all one sees of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from falloff.session.quick.measure import Measured
from falloff.session.quick.room import lay_out
from falloff.stage import PANE
from falloff.types import Float64Array

_CLEAR_M: Final = 1e-3


@dataclass(frozen=True, slots=True)
class InGlass:
    """The thing mirrored where the window is read, by its face's name, and the key's front.

    key_there: the key's front stands mirrored at the very place that is read; key_seen: its middle
    does somewhere in the glass.
    """

    thing: str
    key_there: bool
    key_seen: bool


def in_glass(base: Measured) -> InGlass | None:
    """What the camera sees mirrored; None where no pane is the first thing on its way."""
    probes = [one for one in base.layers.probes.probes if one.name == "the window"]
    sheets = base.layers.solution.stage.surfaces.sheets
    panes = sheets[sheets[:, 13] == PANE]
    if not probes or probes[0].eye is None or not len(panes):
        return None
    eye, pane = np.asarray(probes[0].eye, np.float64), panes[0]
    met = _mirrored(base, pane, eye, np.asarray(probes[0].point) - eye)
    if met is None:
        return None
    thing, source = met
    return InGlass(thing, source == "KEY", _key_seen(base, pane, eye))


def _key_seen(base: Measured, pane: Float64Array, eye: Float64Array) -> bool:
    """Whether the middle of the key's front is mirrored to the camera by any of the pane."""
    at = lay_out(base.plan).key
    if at is None:
        return False
    lamp = np.array([*at, base.plan.key_height_m])
    image = lamp - 2.0 * ((lamp - pane[:3]) @ pane[9:12]) * pane[9:12]
    met = _mirrored(base, pane, eye, image - eye)
    return met is not None and met[1] == "KEY"


def _mirrored(
    base: Measured, pane: Float64Array, eye: Float64Array, way: Float64Array
) -> tuple[str, str] | None:
    """Names of the face and of the source that a ray from the camera meets by way of a pane."""
    solution = base.layers.solution
    surfaces, normal = solution.stage.surfaces, pane[9:12]
    way = way / np.linalg.norm(way)
    far = _distance_m(pane, eye, way)
    nearer = (_distance_m(one, eye, way) for one in surfaces.sheets if one[13] != PANE)
    if math.isinf(far) or any(one < far for one in nearer):
        return None
    place, back = eye + far * way, way - 2.0 * float(way @ normal) * normal
    hits = solution.scene.first_hit(
        np.array([eye, place + _CLEAR_M * back], np.float32), np.array([way, back], np.float32)
    )
    if (hits.triangle[0] >= 0 and hits.distance[0] < far - _CLEAR_M) or hits.triangle[1] < 0:
        return None
    face = surfaces.triangle_face[hits.triangle[1]]
    source = int(surfaces.face_source[face])
    return (
        surfaces.names[surfaces.face_name[face]],
        solution.stage.sources[source].name if source >= 0 else "",
    )


def _distance_m(sheet: Float64Array, eye: Float64Array, way: Float64Array) -> float:
    """How far along a unit way a sheet is met; infinity where it is missed."""
    across = float(way @ sheet[9:12])
    far = float((sheet[:3] - eye) @ sheet[9:12]) / across if abs(across) > 1e-6 else -1.0
    at = eye + far * way - sheet[:3]
    u, v = sheet[3:6], sheet[6:9]
    inside = 0.0 <= at @ u <= u @ u and 0.0 <= at @ v <= v @ v
    return far if far > 0.0 and inside else math.inf
