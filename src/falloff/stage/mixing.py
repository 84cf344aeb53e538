"""A head of the kit set to a colour: whether it can be, and what that costs in light."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.document import KitLight, SceneDocument
from falloff.findings import Finding, Weight
from falloff.kit import Fixture
from falloff.spectrum import (
    LightColour,
    generic_emitters,
    light_of_kelvin,
    light_of_spectrum,
    mix_emitters,
    working_from_xyz,
)
from falloff.stage.kit_lights import kit_items
from falloff.stage.places import Placer
from falloff.types import Float64Array
from falloff.units import format_stops_tenths

_REACHED: Final = 0.002  # in CIE 1976 u′, v′: half of what two patches side by side show
_LOSS_TOLD: Final = 0.1  # stops
_OFF_LINE: Final = 0.01  # Duv past which no white head is set, whatever its kelvin


def set_to_colour(
    name: str, item: Fixture, wanted: LightColour
) -> tuple[LightColour, float, tuple[Finding, ...]]:
    """The colour that a head gives when it is set to one, the stops lost by it, what to tell.

    Stops are against its own white, which the kit's output and a written one are for. A head that
    mixes colours gives the nearest it can; any other is taken at the word of the scene, and a
    colour that it cannot be set to is told.
    """
    if not item.mixes_colours:
        return wanted, 0.0, _out_of_reach(name, item, wanted)
    emitters = generic_emitters()
    mix = mix_emitters(emitters, wanted.xy)
    usual = mix_emitters(emitters, light_of_kelvin(item.kelvin).xy)
    lost = mix.loss_stops - usual.loss_stops
    found = []
    if mix.distance > _REACHED:
        x, y = mix.xy
        says = (
            f"{name} cannot make that colour with generic red, green, blue and white emitters: "
            f"its nearest, xy [{x:.3f}, {y:.3f}], is taken"
        )
        do = "write a colour within reach, or gel a white head"
        found.append(Finding(weight=Weight.WARNING, about=name, says=says, do=do))
    if abs(lost) >= _LOSS_TOLD:
        says = (
            f"in that colour {name} gives {format_stops_tenths(abs(lost))} stops "
            f"{'less' if lost > 0.0 else 'more'} than at its {item.kelvin:.0f} K (generic "
            "emitters, each at full at most)"
        )
        do = (
            "meter it in that colour: `falloff correct` works out its output, which is of its own "
            "white whatever colour it is set to"
        )
        found.append(Finding(weight=Weight.NOTE, about=name, says=says, do=do))
    assert mix.spectrum is not None  # generic emitters all have one
    return light_of_spectrum(mix.spectrum), lost, tuple(found)


def emitters_of(document: SceneDocument, name: str) -> Float64Array | None:
    """Light (n, 3) of each emitter at full of a fixture that mixes colours; None where none does.

    In the working space, its luminance a share of the light that the head gives in its own white.
    Gels before it are left out.
    """
    light = document.fixtures[name].light
    if not isinstance(light, KitLight):
        return None
    item, _ = kit_items(Placer(document), ("fixtures", name), light)
    if not item.mixes_colours:
        return None
    emitters = generic_emitters()
    usual = mix_emitters(emitters, light_of_kelvin(item.kelvin).xy)
    shares = np.array([one.full_flux_share for one in emitters])
    shares *= 2.0**usual.loss_stops / shares.sum()
    xyz = [(x / y, 1.0, (1.0 - x - y) / y) for x, y in (one.xy for one in emitters)]
    return np.asarray(working_from_xyz(np.array(xyz)) * shares[:, None])


def _out_of_reach(name: str, item: Fixture, wanted: LightColour) -> tuple[Finding, ...]:
    kelvin, duv = wanted.temperature
    low, high = item.kelvin_low, item.kelvin_high
    if (
        kelvin is not None
        and 0.99 * low <= kelvin <= 1.01 * high
        and abs(duv - light_of_kelvin(kelvin).temperature.duv) <= _OFF_LINE
    ):
        return ()
    has = f"{low:.0f} K" if low == high else f"{low:.0f} to {high:.0f} K"
    says = f"{item.name} has {has}: it cannot be set to the colour written for {name}"
    do = "gel it (gels: ...), or take a head that mixes colours; its light is taken as written"
    return (Finding(weight=Weight.WARNING, about=name, says=says, do=do),)
