"""The colours that heads which mix colours are tried in, where a target asks for a hue."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from falloff.document import HueTarget, SceneDocument
from falloff.errors import FalloffError
from falloff.readings.colour import white_uv
from falloff.spectrum import generic_emitters, mix_emitters, xy_from_uv_1976
from falloff.types import Float64Array

_FAR: Final = 0.4  # in CIE 1976 u′, v′: past every colour of light
_HALVINGS: Final = 10
_REACHED: Final = 1e-4  # in CIE 1976 u′, v′
_SHARES: Final = (0.98, 0.6)  # of the way from white to the deepest that is mixed


def hues_wanted(document: SceneDocument) -> tuple[tuple[float, float], ...]:
    """CIE xy of each hue that targets ask for: as deep as generic emitters have it, and paler."""
    found: dict[tuple[float, float], None] = {}
    balances = {None if one.balance is None else one.balance.si for one in document.setups.values()}
    for target in document.targets.values():
        if not isinstance(target, HueTarget):
            continue
        for balance in balances:
            white = white_uv(balance)
            along = np.array([math.cos(target.hue.si), math.sin(target.hue.si)])
            for share in _SHARES:
                far = xy_from_uv_1976(white + share * _deepest(white, along) * along)
                found[(round(float(far[0]), 4), round(float(far[1]), 4))] = None
    return tuple(found)


def _deepest(white: Float64Array, along: Float64Array) -> float:
    """How far from white in u′, v′ the emitters mix colours along a direction (2,)."""
    emitters = generic_emitters()
    low, high = 0.0, _FAR
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        try:
            mix = mix_emitters(emitters, xy_from_uv_1976(white + middle * along))
            reached = mix.distance < _REACHED
        except FalloffError:  # no light has that colour
            reached = False
        low, high = (middle, high) if reached else (low, middle)
    return low
