"""The camera's settings: what decides how much light key is."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from falloff.constants import METER_CONSTANT_C_LUX, USUAL_HIGHLIGHT_STOPS, USUAL_SHADOW_STOPS
from falloff.errors import FalloffError, Fault


class CameraSettings(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Stop, sensitivity, shutter and filters, with the camera's limits and white balance.

    t_number: T-stop, 0.5 to 64. iso: exposure index, 6 to 409600. exposure_time_s: shutter,
    above 0 to 3600 s. nd_stops, filter_stops: light lost in neutral density and in other filters,
    0 to 30 stops. meter_constant_c: calibration constant for incident light, 240 to 540 lx·s
    (ISO 2720:1974; 250 is usual for a flat receptor). balance_kelvin: white balance, 1000 to
    25000 K, or None for D65. highlight_stops, shadow_stops: how far over and under middle grey
    the camera holds, 1 to 16 stops, both written as positive numbers.
    Raises FalloffError with every fault at once.
    """

    t_number: float
    iso: float
    exposure_time_s: float
    nd_stops: float = 0.0
    filter_stops: float = 0.0
    meter_constant_c: float = METER_CONSTANT_C_LUX
    balance_kelvin: float | None = None
    highlight_stops: float = USUAL_HIGHLIGHT_STOPS
    shadow_stops: float = USUAL_SHADOW_STOPS

    def __post_init__(self) -> None:
        """Refuse settings that no camera has."""
        faults = [
            fault
            for name, (low, high, fix) in _RANGES.items()
            if (fault := _fault(name, getattr(self, name), low, high, fix)) is not None
        ]
        if faults:
            raise FalloffError(*faults)


_RANGES: Final = {
    "t_number": (0.5, 64.0, "give the T-stop marked on the lens, such as 2.8"),
    "iso": (6.0, 409_600.0, "give the exposure index, such as 800"),
    "exposure_time_s": (1e-6, 3600.0, "180 degrees at 24 frames a second is 1/48 s"),
    "nd_stops": (0.0, 30.0, "ND 0.9 is 3 stops"),
    "filter_stops": (0.0, 30.0, "give the stops lost, as a positive number"),
    "meter_constant_c": (240.0, 540.0, "250 for a flat receptor, 320 to 340 for a dome"),
    "balance_kelvin": (1000.0, 25_000.0, "3200 for tungsten, 5600 for daylight"),
    "highlight_stops": (1.0, 16.0, "give the stops over middle grey, such as 6"),
    "shadow_stops": (1.0, 16.0, "give the stops under middle grey as a positive number"),
}


def _fault(name: str, value: float | None, low: float, high: float, fix: str) -> Fault | None:
    if value is None and name == "balance_kelvin":
        return None
    if value is not None and math.isfinite(value) and low <= value <= high:
        return None
    return Fault(
        "not a setting a camera can have",
        where=f"camera.{name}",
        expected=f"{low:g} to {high:g}",
        found=str(value),
        fix=fix,
    )
