"""Exposure: from the camera's settings to lux and nits, and from those to stops.

N²/t = E·S/C for incident and N²/t = L·S/K for reflected light (ISO 2720:1974), with the T-number
as N and filters as so many stops more light needed.
"""

from __future__ import annotations

import math
from typing import overload

import numpy as np
from numpy.typing import NDArray

from falloff.camera.settings import CameraSettings
from falloff.constants import (
    GREY_CARD_REFLECTANCE,
    METER_CONSTANT_C_LUX,
    METER_CONSTANT_K_NIT,
)
from falloff.errors import FalloffError, Fault
from falloff.units import (
    Lux,
    Nit,
    Stops,
    density_from_stops,
    factor_from_stops,
    format_illuminance,
    stops_from_density,
)

Floats = NDArray[np.floating]


def key_illuminance_lux(settings: CameraSettings) -> Lux:
    """The illuminance that sets a flat receptor to these settings: key.

    E = C·N²/(S·t), times two for each stop of filter. Source: ISO 2720:1974.
    """
    bare = settings.meter_constant_c * settings.t_number**2
    return Lux(bare / (settings.iso * settings.exposure_time_s) * _filter_factor(settings))


def mid_grey_luminance_nit(settings: CameraSettings) -> Nit:
    """The luminance of middle grey: an 18 % matte card square to key light.

    L = 0.18·E/π (Lambert). Source: `key_illuminance_lux`.
    """
    return Nit(GREY_CARD_REFLECTANCE * key_illuminance_lux(settings) / math.pi)


def spot_luminance_nit(
    settings: CameraSettings, *, meter_constant_k: float = METER_CONSTANT_K_NIT
) -> Nit:
    """The luminance at which a spot meter shows these settings: L = K·N²/(S·t) × filters.

    meter_constant_k: 10.6 to 13.4 cd·s/m² by ISO 2720:1974 (14 is also met). Not middle grey:
    with K = 12.5 and C = 250 the meter's grey is 15.7 %, so it reads an 18 % card 0.2 stop over.
    """
    bare = meter_constant_k * settings.t_number**2
    return Nit(bare / (settings.iso * settings.exposure_time_s) * _filter_factor(settings))


@overload
def stops_over_key(illuminance_lux: float, settings: CameraSettings) -> Stops: ...
@overload
def stops_over_key(illuminance_lux: Floats, settings: CameraSettings) -> Floats: ...
def stops_over_key(illuminance_lux: float | Floats, settings: CameraSettings) -> Stops | Floats:
    """Stops over (+) or under (-) key of illuminances of any shape, in lux, none negative.

    No light at all is minus infinity. Raises FalloffError for a negative or a not-a-number.
    """
    return _stops(illuminance_lux, key_illuminance_lux(settings), "illuminance")


@overload
def stops_over_grey(luminance_nit: float, settings: CameraSettings) -> Stops: ...
@overload
def stops_over_grey(luminance_nit: Floats, settings: CameraSettings) -> Floats: ...
def stops_over_grey(luminance_nit: float | Floats, settings: CameraSettings) -> Stops | Floats:
    """Stops over (+) or under (-) middle grey of luminances of any shape, in cd/m².

    Limits and errors as `stops_over_key`.
    """
    return _stops(luminance_nit, mid_grey_luminance_nit(settings), "luminance")


def exposure_value(settings: CameraSettings) -> float:
    """The exposure value log2(N²/t) of stop and shutter alone. Source: ISO 2720:1974."""
    return math.log2(settings.t_number**2 / settings.exposure_time_s)


def exposure_value_100(settings: CameraSettings) -> float:
    """The exposure value at ISO 100 of the same light: log2(N²/t) - log2(S/100) + filters.

    It names the light that suits the settings, so a filter raises it.
    """
    filters = settings.nd_stops + settings.filter_stops
    return exposure_value(settings) - math.log2(settings.iso / 100.0) + filters


def illuminance_of_exposure_value_lux(
    exposure_value_100: float, *, meter_constant_c: float = METER_CONSTANT_C_LUX
) -> Lux:
    """The illuminance of an exposure value at ISO 100: E = (C/100)·2^EV. Source: ISO 2720:1974."""
    return Lux(meter_constant_c / 100.0 * 2.0**exposure_value_100)


def exposure_value_of_illuminance(
    illuminance_lux: float, *, meter_constant_c: float = METER_CONSTANT_C_LUX
) -> float:
    """The exposure value at ISO 100 of an illuminance above nought: log2(100·E/C)."""
    if not (math.isfinite(illuminance_lux) and illuminance_lux > 0.0):
        raise FalloffError(
            Fault(
                "darkness has no exposure value",
                where="illuminance",
                expected="lux above 0",
                found=f"{illuminance_lux:g}",
            )
        )
    return math.log2(100.0 * illuminance_lux / meter_constant_c)


def luminance_of_exposure_value_nit(
    exposure_value_100: float, *, meter_constant_k: float = METER_CONSTANT_K_NIT
) -> Nit:
    """The luminance of an exposure value at ISO 100: L = (K/100)·2^EV. Source: ISO 2720:1974."""
    return Nit(meter_constant_k / 100.0 * 2.0**exposure_value_100)


def sensor_illuminance_lux(luminance_nit: float, settings: CameraSettings) -> Lux:
    """The illuminance of the sensor on the lens's axis: E = πL/(4T²), less the filters.

    Valid for a subject far away against the focal length. Source: radiometry of a thin lens,
    e.g. ISO 12232:2019, annex on exposure (from memory).
    """
    aperture = math.pi / (4.0 * settings.t_number**2)
    return Lux(luminance_nit * aperture / _filter_factor(settings))


def sensor_exposure_lxs(luminance_nit: float, settings: CameraSettings) -> float:
    """The exposure H = E·t of the sensor, in lux seconds. Source: `sensor_illuminance_lux`."""
    return sensor_illuminance_lux(luminance_nit, settings) * settings.exposure_time_s


def describe_settings(settings: CameraSettings) -> str:
    """The settings in a line: "T2.8, ISO 800, 1/48 s, ND 0.9 (3 stops)"."""
    parts = [
        f"T{settings.t_number:.3g}",
        f"ISO {settings.iso:g}",
        _shutter(settings.exposure_time_s),
        _density(settings.nd_stops) if settings.nd_stops else "",
        f"filters {_stops_told(settings.filter_stops)}" if settings.filter_stops else "",
        f"balance {settings.balance_kelvin:g} K" if settings.balance_kelvin else "balance D65",
    ]
    return ", ".join(part for part in parts if part)


def describe_key(settings: CameraSettings) -> str:
    """What key is, with the meter constant: "key 118 lx (10.9 fc), meter constant C 250"."""
    key_lux = key_illuminance_lux(settings)
    return (
        f"key {format_illuminance(key_lux)} ({format_illuminance(key_lux, units='imperial')}), "
        f"meter constant C {settings.meter_constant_c:g}"
    )


def _density(nd_stops: float) -> str:
    """Neutral density as it is sold, with its stops, or in stops where none is sold like that."""
    density = round(density_from_stops(nd_stops), 1)
    told = _stops_told(nd_stops)
    if density > 0.0 and abs(stops_from_density(density) - nd_stops) < 0.02:
        return f"ND {density:.1f} ({told})"
    return f"ND of {told}"


def _stops_told(stops: float) -> str:
    size = f"{stops:.1f}".removesuffix(".0")
    return f"{size} stop{'' if size == '1' or stops < 1.0 else 's'}"


def _filter_factor(settings: CameraSettings) -> float:
    return factor_from_stops(settings.nd_stops + settings.filter_stops)


def _stops(value: float | Floats, reference: float, name: str) -> Stops | Floats:
    light = np.asarray(value)
    if light.dtype.kind != "f":
        light = light.astype(np.float64)
    # One pass finds both faults: a minimum is not-a-number if any value is.
    lowest = float(light.min()) if light.size else 0.0
    if not lowest >= 0.0:
        raise FalloffError(
            Fault(f"{name} cannot be negative", where=name, expected="0 or more", found=str(lowest))
        )
    with np.errstate(divide="ignore"):
        stops = np.log2(light * light.dtype.type(1.0 / reference))
    return stops if isinstance(value, np.ndarray) else Stops(float(stops))


def _shutter(exposure_time_s: float) -> str:
    if exposure_time_s >= 0.3:
        return f"{exposure_time_s:.3g} s"
    return f"1/{1.0 / exposure_time_s:.4g} s"
