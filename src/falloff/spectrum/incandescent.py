"""Incandescent lamps dimmed: what voltage, light, colour and watts have to do with each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from falloff.errors import FalloffError, Fault
from falloff.spectrum.loci import COOLEST_CCT_KELVIN
from falloff.units import Kelvin

# Characteristic exponents of gas-filled tungsten lamps over their voltage, as in the handbooks of
# lighting engineering (from memory): light V^3.4, colour temperature V^0.42, watts V^1.54.
LIGHT_EXPONENT: Final = 3.4
KELVIN_EXPONENT: Final = 0.42
WATTS_EXPONENT: Final = 1.54
_LAMPS_KELVIN: Final = (1800.0, 3600.0)
_MOST_VOLTAGE: Final = 1.15


@dataclass(frozen=True, slots=True)
class DimmedLamp:
    """An incandescent lamp at a dim; shares are of its rated voltage, light and watts.

    extrapolated: below half of the rated voltage the exponents are stretched, and dim light is
    a little warmer and weaker than told.
    """

    voltage_share: float
    light_share: float
    watts_share: float
    cct_kelvin: Kelvin
    extrapolated: bool


def lamp_at_voltage(rated_kelvin: float, voltage_share: float) -> DimmedLamp:
    """A lamp of a rated kelvin, 1800 to 3600, at a share of its voltage, above 0 to 1.15.

    Colour stays at 1000 K where it would fall below: there is next to no light. Raises
    FalloffError outside the ranges. Source: see this module's exponents.
    """
    _check(rated_kelvin, voltage_share, _MOST_VOLTAGE, "voltage")
    kelvin = rated_kelvin * voltage_share**KELVIN_EXPONENT
    return DimmedLamp(
        voltage_share=voltage_share,
        light_share=voltage_share**LIGHT_EXPONENT,
        watts_share=voltage_share**WATTS_EXPONENT,
        cct_kelvin=Kelvin(max(kelvin, COOLEST_CCT_KELVIN)),
        extrapolated=voltage_share < 0.5,
    )


def lamp_at_light(rated_kelvin: float, light_share: float) -> DimmedLamp:
    """A lamp of a rated kelvin dimmed to a share of its light, above 0 to 1.15^3.4 (1.6).

    Raises FalloffError outside the ranges. Source: as `lamp_at_voltage`.
    """
    _check(rated_kelvin, light_share, _MOST_VOLTAGE**LIGHT_EXPONENT, "light")
    voltage_share = min(light_share ** (1.0 / LIGHT_EXPONENT), _MOST_VOLTAGE)
    return lamp_at_voltage(rated_kelvin, voltage_share)


def light_at_kelvin(rated_kelvin: float, cct_kelvin: float) -> float:
    """The share of its light that a lamp gives when dimmed to a kelvin, 1000 K to its over-voltage.

    Raises FalloffError outside the ranges. Source: as `lamp_at_voltage`.
    """
    _check(rated_kelvin, 1.0, _MOST_VOLTAGE, "voltage")
    hottest = rated_kelvin * _MOST_VOLTAGE**KELVIN_EXPONENT
    if not COOLEST_CCT_KELVIN <= cct_kelvin <= hottest:
        raise FalloffError(
            Fault(
                "that lamp cannot be dimmed to this colour",
                where=f"incandescent lamp of {rated_kelvin:g} K",
                expected=f"{COOLEST_CCT_KELVIN:g} to {hottest:.0f} K",
                found=f"{cct_kelvin:g} K",
                fix="use a gel or another lamp",
            )
        )
    return float((cct_kelvin / rated_kelvin) ** (LIGHT_EXPONENT / KELVIN_EXPONENT))


def _check(rated_kelvin: float, share: float, most: float, what: str) -> None:
    coolest, hottest = _LAMPS_KELVIN
    if not coolest <= rated_kelvin <= hottest:
        raise FalloffError(
            Fault(
                "no incandescent lamp is of this colour at full voltage",
                where="rated kelvin",
                expected=f"{coolest:g} to {hottest:g} K",
                found=f"{rated_kelvin:g} K",
                fix="household lamps are near 2700 K, studio lamps 3200 K",
            )
        )
    if not 0.0 < share <= most * (1.0 + 1e-12):
        raise FalloffError(
            Fault(
                f"a lamp cannot be run at this share of its {what}",
                where="dim",
                expected=f"above 0, to {most:.3g}",
                found=f"{share:g}",
                fix="write 60 % as 0.6; a lamp at nought has no colour",
            )
        )
