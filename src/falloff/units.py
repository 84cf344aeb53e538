"""Quantities crossing a package border, and the only place where units are converted.

SI inside: metres, seconds, radians, kelvin, candela, lumen, lux, cd/m² (nit), watts, volts,
amperes; levels are fractions of full flux and exposure differences are stops (powers of two).
Reading is strict: a number without its unit is refused with an example of how to write it. Longer
than other modules so that there is one converter and one only.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from typing import Final, Literal, NewType

from falloff import constants
from falloff.errors import FalloffError, Fault

Metre = NewType("Metre", float)
Second = NewType("Second", float)
Radian = NewType("Radian", float)
Kelvin = NewType("Kelvin", float)
Mired = NewType("Mired", float)
Lumen = NewType("Lumen", float)
Candela = NewType("Candela", float)
Lux = NewType("Lux", float)
Nit = NewType("Nit", float)
Watt = NewType("Watt", float)
Volt = NewType("Volt", float)
Ampere = NewType("Ampere", float)
Stops = NewType("Stops", float)
Fraction = NewType("Fraction", float)

System = Literal["metric", "imperial"]

STOP_NOTE: Final = "a stop is taken as written: 2.8 is 2.8, not 2.8284 (0.03 stop apart)"
F_STOP_NOTE: Final = f"{STOP_NOTE}; an f-stop is taken as a T-stop: the glass loses nothing"


class UnitFault(FalloffError):
    """A value that cannot be read; `fault` says why, and knows no place in a document yet."""

    @property
    def fault(self) -> Fault:
        """The one fault."""
        return self.faults[0]


@dataclass(frozen=True, slots=True)
class Stop:
    """A lens stop as written: `number` is nominal (2.8 is 2.8), `mark` is "T" or "f"."""

    number: float
    mark: Literal["T", "f"]

    @property
    def note(self) -> str:
        """What is assumed about the number, for people."""
        return STOP_NOTE if self.mark == "T" else F_STOP_NOTE


@dataclass(frozen=True, slots=True)
class _Kind:
    """One dimension: its name in a sentence, its units in SI, and the units to show."""

    name: str
    si_per_unit: dict[str, float]
    shown: tuple[str, ...]


_FOOT, _INCH = constants.METRES_PER_FOOT, constants.METRES_PER_INCH
_FC, _FL = constants.LUX_PER_FOOTCANDLE, constants.NITS_PER_FOOTLAMBERT
_FEET: Final = dict.fromkeys(("ft", "foot", "feet", "'"), _FOOT)
_INCHES: Final = dict.fromkeys(("in", "inch", "inches", '"', "''"), _INCH)
_METRES: Final = dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0)
_DEGREES: Final = dict.fromkeys(("deg", "degree", "degrees", "°"), math.pi / 180.0)
_SECONDS: Final = dict.fromkeys(("s", "sec", "second", "seconds"), 1.0)
_FOOTCANDLES: Final = dict.fromkeys(("fc", "footcandle", "footcandles"), _FC)
_FOOTLAMBERTS: Final = dict.fromkeys(("fl", "footlambert", "footlamberts"), _FL)
_NITS: Final = dict.fromkeys(("cd/m2", "cd/m²", "cd/m^2", "nit", "nits"), 1.0)

_LENGTH: Final = _Kind(
    "length", _METRES | {"cm": 0.01, "mm": 0.001} | _FEET | _INCHES, ("m", "cm", "mm", "ft", "in")
)
_ANGLE: Final = _Kind("angle", _DEGREES | {"rad": 1.0, "radians": 1.0}, ("deg", "rad"))
_TEMPERATURE: Final = _Kind("colour temperature", {"k": 1.0, "kelvin": 1.0}, ("K",))
_TIME: Final = _Kind("time", _SECONDS | {"ms": 1e-3, "µs": 1e-6, "us": 1e-6}, ("s", "ms"))
_FLUX: Final = _Kind("luminous flux", {"lm": 1.0, "lumen": 1.0, "lumens": 1.0}, ("lm",))
_ILLUMINANCE: Final = _Kind(
    "illuminance", {"lx": 1.0, "lux": 1.0, "klx": 1e3} | _FOOTCANDLES, ("lx", "fc")
)
_LUMINANCE: Final = _Kind("luminance", _NITS | _FOOTLAMBERTS, ("cd/m2", "nit"))
_INTENSITY: Final = _Kind("luminous intensity", {"cd": 1.0, "candela": 1.0}, ("cd",))
_POWER: Final = _Kind("electrical power", {"w": 1.0, "watt": 1.0, "watts": 1.0, "kw": 1e3}, ("W",))
_VOLTAGE: Final = _Kind("voltage", {"v": 1.0, "volt": 1.0, "volts": 1.0}, ("V",))
_AMPERES: Final = dict.fromkeys(("a", "amp", "amps", "ampere", "amperes"), 1.0)
_CURRENT: Final = _Kind("electrical current", _AMPERES, ("A",))
_FRACTION: Final = _Kind("percentage", {"%": 0.01, "per cent": 0.01, "percent": 0.01}, ("%",))
_STOPS: Final = _Kind("number of stops", {"stop": 1.0, "stops": 1.0}, ("stops",))
_FRAMES: Final = _Kind("frame rate", {"fps": 1.0}, ("fps",))
_KINDS: Final = (
    _LENGTH, _ANGLE, _TEMPERATURE, _TIME, _FLUX, _ILLUMINANCE, _LUMINANCE, _INTENSITY, _POWER,
    _VOLTAGE, _CURRENT, _FRACTION, _STOPS, _FRAMES,
)  # fmt: skip

_MOST_SHOWN: Final = 60  # characters of a faulty text repeated in a fault

_DECIMAL = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
_UNSIGNED = rf"(?:(?:[0-9]+ )?[0-9]+/[0-9]+|{_DECIMAL})"
_WRITTEN = re.compile(rf"([+-]? ?{_UNSIGNED}) ?([^0-9\s.,+-].*)?")
_FEET_INCHES = re.compile(rf"([+-]?[0-9]+) ?(ft|foot|feet|') ?({_UNSIGNED}) ?(\D+)")
_STOP = re.compile(rf"([tTfF]) ?/? ?({_DECIMAL})")
_DENSITY = re.compile(r"(?:ND ?)?([0-9]*\.[0-9]+)|([0-9]*\.?[0-9]+) ?density", re.IGNORECASE)
_ND_FACTOR = re.compile(r"ND ?([0-9]{1,7})", re.IGNORECASE)
_TYPOGRAPHY = str.maketrans("\u2019\u2032\u201d\u2033\u2212\u00a0\u202f\u2009", "''\"\"-   ")


# Reading ---------------------------------------------------------------------------------


def parse_length(written: object) -> Metre:
    """Metres from "1.2 m", "120 cm", "35 mm", "4 ft", `5' 6"` or "8 in"; UnitFault if unread."""
    text = _tidy(written)
    compound = _FEET_INCHES.fullmatch(text)
    if compound and compound[4].lower() in _INCHES:
        feet, inches = float(compound[1]), _number(compound[3], text)
        sign = -1.0 if compound[1].startswith("-") else 1.0
        return Metre(sign * _finite((abs(feet) * 12.0 + inches) * _INCH, text))
    return Metre(_parse(written, _LENGTH))


def parse_angle(written: object) -> Radian:
    """Radians from "30 deg", "30°" or "0.5 rad"; UnitFault if unread."""
    return Radian(_parse(written, _ANGLE))


def parse_temperature(written: object) -> Kelvin:
    """Kelvin from "5600 K"; above 0; UnitFault if unread."""
    return Kelvin(_above_zero(_parse(written, _TEMPERATURE), written, _TEMPERATURE))


def parse_time(written: object) -> Second:
    """Seconds from "20 ms", "0.5 s" or "1/48 s"; above 0; UnitFault if unread."""
    return Second(_above_zero(_parse(written, _TIME), written, _TIME))


def parse_shutter(written: object, frames_per_second: float) -> Second:
    """Exposure time of a frame from "180 deg" (0 to 360) or "1/48 s"; UnitFault if unread.

    frames_per_second turns the angle into a time, and is what the time must fit in.
    """
    text = _tidy(written)
    unit = _unit_of(text)
    if unit in _DEGREES:
        degrees = _parse(text, _Kind("shutter angle", dict.fromkeys(_DEGREES, 1.0), ("deg",)))
        if not 0.0 < degrees <= 360.0:
            raise _fault("the shutter cannot be that far open", "above 0, up to 360 deg", text)
        return exposure_time_of_angle(degrees, frames_per_second)
    if unit not in _TIME.si_per_unit:
        fix = "write 180 deg or 1/48 s"
        what = f"{text} has no unit" if _is_number(text) else "this is no shutter"
        raise _fault(what, "an angle or a time with its unit", _shown(written), fix)
    time_s = parse_time(text)
    if time_s * frames_per_second > 1.0 + 1e-9:
        what = f"the shutter stays open longer than a frame at {frames_per_second:g} fps"
        raise _fault(what, f"at most 1/{frames_per_second:g} s", text)
    return time_s


def parse_stop(written: object) -> Stop:
    """The stop from "T2.8" or "f/2.8", kept as written; UnitFault if unread."""
    text = _tidy(written)
    found = _STOP.fullmatch(text)
    if not found or not math.isfinite(float(found[2])) or float(found[2]) == 0.0:
        fix = f"write T{text} or f/{text}" if _is_number(text) else "write T2.8 or f/2.8"
        raise _fault("this is no stop", "a T-stop or an f-stop", _shown(written), fix)
    return Stop(float(found[2]), "T" if found[1] in "tT" else "f")


def parse_nd(written: object) -> Stops:
    """Stops that a neutral density takes: "ND 0.9" or "0.9 density", "3 stops", "ND8" (factor).

    A decimal after ND, or a text with a decimal point, is a density; a whole number after ND is
    a factor and must be a power of two or at least 100. A bare number is refused, as are ND3 and
    the like, which are read as densities by some and as stops by others; UnitFault if unread.
    """
    text = _tidy(written)
    density, factor = _DENSITY.fullmatch(text), _ND_FACTOR.fullmatch(text)
    if isinstance(written, str) and density:
        return stops_from_density(_finite(float(density[1] or density[2]), text))
    if factor and _is_nd_factor(int(factor[1])):
        return stops_from_factor(float(factor[1]))
    if _unit_of(text) in _STOPS.si_per_unit:
        stops = _parse(text, _STOPS)
        if stops < 0.0:
            raise _fault("a neutral density only takes light away", "0 stops or more", text)
        return Stops(stops)
    what = "this could be a density, a factor or stops" if text[-1:].isdigit() else "this is no ND"
    raise _fault(what, "", _shown(written), "write ND 0.9 (density), 3 stops or ND8 (factor)")


def parse_flux(written: object) -> Lumen:
    """Lumens from "6200 lm"; UnitFault if unread."""
    return Lumen(_parse(written, _FLUX))


def parse_illuminance(written: object) -> Lux:
    """Lux from "12000 lx" or "30 fc"; UnitFault if unread."""
    return Lux(_parse(written, _ILLUMINANCE))


def parse_luminance(written: object) -> Nit:
    """Candela per square metre from "100 cd/m2", "100 nit" or "30 fL"; UnitFault if unread."""
    return Nit(_parse(written, _LUMINANCE))


def parse_intensity(written: object) -> Candela:
    """Candela from "5000 cd"; UnitFault if unread."""
    return Candela(_parse(written, _INTENSITY))


def parse_power(written: object) -> Watt:
    """Electrical watts from "300 W" or "1.2 kW"; UnitFault if unread."""
    return Watt(_parse(written, _POWER))


def parse_voltage(written: object) -> Volt:
    """Volts from "230 V"; above 0; UnitFault if unread."""
    return Volt(_above_zero(_parse(written, _VOLTAGE), written, _VOLTAGE))


def parse_current(written: object) -> Ampere:
    """Amperes from "16 A"; above 0; UnitFault if unread."""
    return Ampere(_above_zero(_parse(written, _CURRENT), written, _CURRENT))


def parse_fraction(written: object) -> Fraction:
    """A fraction from "60 %"; UnitFault if unread."""
    return Fraction(_parse(written, _FRACTION))


def parse_level(written: object) -> Fraction:
    """A fraction of full flux, 0 or more, from "60 %" or "-2 stops"; UnitFault if unread."""
    text = _tidy(written)
    if _unit_of(text) in _STOPS.si_per_unit:
        return Fraction(_finite(factor_from_stops(parse_stops(text)), text))
    fraction = parse_fraction(written)
    if fraction < 0.0:
        raise _fault("a level cannot be below nothing", "0 % or more, or stops", text)
    return fraction


def parse_stops(written: object) -> Stops:
    """A difference in stops from "-2 stops", "+1/3 stop" or "1 1/3 stops"; UnitFault if unread."""
    return Stops(_parse(written, _STOPS))


def parse_fps(written: object) -> float:
    """Frames a second from "24 fps", "24000/1001 fps" or a bare 24; UnitFault if unread."""
    text = _tidy(written)
    bare = f"{text} fps" if _is_number(text) else written
    return _above_zero(_parse(bare, _FRAMES), written, _FRAMES)


# Converting ------------------------------------------------------------------------------


def lux_from_footcandles(footcandles: float) -> Lux:
    """Lux; 1 fc is one lumen a square foot, 10.7639 lx."""
    return Lux(footcandles * _FC)


def footcandles_from_lux(illuminance_lux: float) -> float:
    """Foot-candles."""
    return illuminance_lux / _FC


def nits_from_footlamberts(footlamberts: float) -> Nit:
    """Candela per square metre; 1 fL is 1/π candela a square foot, 3.42626 cd/m²."""
    return Nit(footlamberts * _FL)


def footlamberts_from_nits(luminance_nit: float) -> float:
    """Foot-lamberts."""
    return luminance_nit / _FL


def mired_from_kelvin(temperature_kelvin: float) -> Mired:
    """Reciprocal megakelvin, 10⁶ / T; T above 0."""
    return Mired(1e6 / temperature_kelvin)


def kelvin_from_mired(colour_mired: float) -> Kelvin:
    """Kelvin, 10⁶ / mired; mired above 0."""
    return Kelvin(1e6 / colour_mired)


def stops_from_factor(factor: float) -> Stops:
    """log2 of a ratio of light; the factor above 0, or 0 for minus infinity."""
    return Stops(math.log2(factor) if factor > 0.0 else -math.inf)


def factor_from_stops(stops: float) -> float:
    """2 to the power of the stops; infinite beyond what a float holds."""
    return 2.0**stops if stops < 1024.0 else math.inf


def stops_from_density(density: float) -> Stops:
    """Stops that an optical density takes, D / log10 2: 0.3 is 0.997 stop."""
    return Stops(density / math.log10(2.0))


def density_from_stops(stops: float) -> float:
    """Optical density, stops · log10 2."""
    return stops * math.log10(2.0)


def stops_from_distances(near_m: float, far_m: float) -> Stops:
    """Stops lost from near_m to far_m by the inverse square, 2 log2(far / near); both above 0."""
    return Stops(2.0 * math.log2(far_m / near_m))


def exposure_time_of_angle(shutter_angle_deg: float, frames_per_second: float) -> Second:
    """Exposure time of one frame, angle / (360 · fps)."""
    return Second(shutter_angle_deg / 360.0 / frames_per_second)


# Writing ---------------------------------------------------------------------------------


def format_length(length_m: float, *, units: System = "metric") -> str:
    """A length to the centimetre ("1.20 m") or to the inch ("5 ft 6 in")."""
    if units == "metric":
        return f"{length_m:.2f} m" if abs(length_m) >= 0.005 else "0.00 m"
    total = _nearest(abs(length_m) / _INCH)
    feet, inches = divmod(total, 12)
    parts = [f"{feet} ft"] * bool(feet) + [f"{inches} in"] * bool(inches or not feet)
    return "-" * (length_m < 0.0 and total > 0) + " ".join(parts)


def format_illuminance(illuminance_lux: float, *, units: System = "metric") -> str:
    """An illuminance to three figures, in lux ("1250 lx") or foot-candles ("116 fc")."""
    if units == "metric":
        return f"{_three_figures(illuminance_lux)} lx"
    return f"{_three_figures(footcandles_from_lux(illuminance_lux))} fc"


def format_luminance(luminance_nit: float, *, units: System = "metric") -> str:
    """A luminance to three figures, in nit ("250 nit") or foot-lamberts ("73 fL")."""
    if units == "metric":
        return f"{_three_figures(luminance_nit)} nit"
    return f"{_three_figures(footlamberts_from_nits(luminance_nit))} fL"


def format_stops_thirds(stops: float, *, reference: str = "key") -> str:
    """Stops as people say them: "at key", "a third over", "1 1/3 under"; no light if -inf."""
    if stops == -math.inf:
        return "no light"
    thirds = _nearest(abs(stops) * 3.0)
    if thirds == 0:
        return f"at {reference}"
    whole, rest = divmod(thirds, 3)
    alone = ("", "a third", "two thirds")[rest]
    size = f"{whole}{('', ' 1/3', ' 2/3')[rest]}" if whole else alone
    return f"{size} {'over' if stops > 0.0 else 'under'}"


def format_stops_tenths(stops: float) -> str:
    """Stops to a tenth with their sign, for tables: "+1.3", "0.0"; "no light" if -inf."""
    if stops == -math.inf:
        return "no light"
    tenths = math.copysign(_nearest(abs(stops) * 10.0), stops)
    return f"{tenths / 10.0:+.1f}" if tenths else "0.0"


def format_like(value_si: float, as_written: str) -> str:
    """A new SI value in the unit, and to a fitting number of figures, of an older text.

    `as_written` is any text that the parse functions with plain units read ("1.2 m", `5' 6"`,
    "30 deg", "60 %"); UnitFault if it has no unit.
    """
    text = _tidy(as_written)
    if _FEET_INCHES.fullmatch(text):
        total = _nearest(abs(value_si) / _INCH * 4.0) / 4.0
        sign = "-" if value_si < 0.0 and total else ""
        return f"{sign}{int(total // 12)}' {total % 12:g}\""
    unit = _unit_of(text)
    scale = next((kind.si_per_unit[unit] for kind in _KINDS if unit in kind.si_per_unit), None)
    if scale is None or not math.isfinite(value_si):
        raise _fault("a number cannot be written like this", "a number with its unit", as_written)
    gap = " " if " " in text.removesuffix(_unit_text(text)) else ""
    return f"{_plain(value_si / scale)}{gap}{_unit_text(text)}"


# Parts -----------------------------------------------------------------------------------


def _parse(written: object, kind: _Kind) -> float:
    """SI value of a number with a unit of this kind."""
    text = _tidy(written)
    found = _WRITTEN.fullmatch(text)
    article = "an" if kind.name[0] in "aeiou" else "a"
    expected = f"{article} {kind.name} with its unit"
    if _is_number(text):
        fix = f"write {_examples(kind, text)}"
        raise _fault(f"{text[:_MOST_SHOWN]} has no unit", expected, text, fix)
    if not found or not found[2]:
        comma = "," in text and any(character.isdigit() for character in text)
        fix = "write decimals with a point, and thousands without a comma" if comma else ""
        what = f"this is no {kind.name}"
        raise _fault(what, expected, _shown(written), fix or f"write {_examples(kind)}")
    scale = kind.si_per_unit.get(_unit_of(text))
    if scale is None:
        what = f"{found[2][:_MOST_SHOWN]} is no unit of {kind.name}"
        raise _fault(what, expected, text, f"write {_examples(kind, found[1])}")
    return _finite(_scaled(_number(found[1], text), scale), text)


def _tidy(written: object) -> str:
    """The text with plain spaces, quotes and minus signs; vulgar fractions as n/d."""
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        return ""
    text = str(written).translate(_TYPOGRAPHY)
    opened = (
        " " + unicodedata.normalize("NFKC", one).replace("\u2044", "/")
        if unicodedata.decomposition(one).startswith("<fraction>")
        else one
        for one in text
    )
    return " ".join("".join(opened).split())


def _number(text: str, whole_text: str) -> float:
    """A signed decimal, fraction or mixed number."""
    sign = -1.0 if text.startswith("-") else 1.0
    size = text.lstrip("+- ")
    if "/" not in size:
        return sign * float(size)
    whole, _, fraction = size.rpartition(" ")
    above, below = fraction.split("/")
    if float(below) == 0.0:
        raise _fault("this divides by zero", "", whole_text)
    return sign * (float(whole or 0) + float(above) / float(below))


def _scaled(number: float, scale: float) -> float:
    """Number times scale, divided where the unit is a whole part, so that 36 mm is 0.036 m."""
    parts = round(1.0 / scale) if scale < 1.0 else 0
    return number / parts if parts and math.isclose(parts * scale, 1.0) else number * scale


def _is_number(text: str) -> bool:
    found = _WRITTEN.fullmatch(text)
    return bool(found and not found[2])


def _unit_text(text: str) -> str:
    found = _WRITTEN.fullmatch(text)
    return (found[2] or "").strip() if found else ""


def _unit_of(text: str) -> str:
    return _unit_text(text).lower().replace("μ", "µ").replace("foot-", "foot")


def _examples(kind: _Kind, number: str = "") -> str:
    usual = "2" if kind is _STOPS else "10"
    written = number if 0 < len(number) <= _MOST_SHOWN else usual
    if kind.shown == ("%",) and 0.0 < float(written) <= 1.0:
        written = f"{100.0 * float(written):g}"  # 0.6 means 60 %
    *most, last = (f"{written} {unit}" for unit in kind.shown)
    return f"{', '.join(most)} or {last}" if most else last


def _is_nd_factor(factor: int) -> bool:
    return factor >= 1 and (factor & (factor - 1) == 0 or 100 <= factor <= 10**6)


def _finite(value: float, text: str) -> float:
    if not math.isfinite(value):
        raise _fault("this number is too large to hold", "a finite number", text)
    return value


def _above_zero(value: float, written: object, kind: _Kind) -> float:
    if value <= 0.0:
        raise _fault(f"a {kind.name} must be above zero", "more than 0", _shown(written))
    return value


def _nearest(value: float) -> int:
    """Nearest whole number, halves away from zero; the value is 0 or more."""
    return math.floor(value + 0.5)


def _three_figures(value: float) -> str:
    if value == 0.0:
        return "0"
    rounded = float(f"{value:.2e}")
    decimals = 2 - math.floor(math.log10(abs(rounded)))
    return f"{rounded:.{max(0, min(decimals, 6))}f}"


def _plain(value: float) -> str:
    """A decimal of at least five figures, without exponent, trailing zeros or a negative zero."""
    size = math.floor(math.log10(abs(value))) if value else 0
    text = f"{value:.{min(6, max(4, 4 - size))}f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def _shown(written: object) -> str:
    if isinstance(written, str) and written.strip():
        return written
    return "nothing" if written is None or written == "" else repr(written)


def _fault(what: str, expected: str, found: str, fix: str = "") -> UnitFault:
    shown = found if len(found) <= _MOST_SHOWN else found[:_MOST_SHOWN] + "…"
    return UnitFault(Fault(what, expected=expected, found=shown, fix=fix))
