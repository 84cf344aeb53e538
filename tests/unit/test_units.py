"""units: reading, converting and writing, against published factors and an independent library."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from astropy import units as oracle  # type: ignore[import-untyped]
from numpy.testing import assert_allclose

from falloff import units
from falloff.units import UnitFault

EXACT = 4e-16  # two roundings of a double


# Reading ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "length_m"),
    [
        # source: the international foot of 1959 is 0.3048 m exactly; an inch is a twelfth of it
        ("4 ft", 1.2192),
        ("4ft", 1.2192),
        ("4 feet", 1.2192),
        ("4'", 1.2192),
        ("5' 6\"", 1.6764),
        ("5'6\"", 1.6764),
        ("5’ 6”", 1.6764),  # typographic quotes
        ("5′ 6″", 1.6764),  # primes
        ("5 ft 6 in", 1.6764),
        ("-5' 6\"", -1.6764),
        ("5' 6 1/2\"", 1.6891),
        ("8 in", 0.2032),
        ('8"', 0.2032),
        ("1 1/2 in", 0.0381),
        ("1½ in", 0.0381),
        ("½ ft", 0.1524),
        ("0' 0\"", 0.0),
        # pencil: decimal multiples
        ("1.2 m", 1.2),
        ("1.2m", 1.2),
        ("120 cm", 1.2),
        ("35 mm", 0.035),
        ("+.5 m", 0.5),
        ("−2 m", -2.0),  # a true minus sign
        ("1e2 cm", 1.0),
        ("3\u00a0metres", 3.0),
    ],
)
def test_lengths(written: str, length_m: float) -> None:
    assert_allclose(units.parse_length(written), length_m, rtol=EXACT, atol=0.0)


def test_decimal_units_divide_so_that_no_digit_is_added() -> None:
    # pencil: the double nearest to 0.036, which 36 · 0.001 is not
    assert units.parse_length("36 mm") == 0.036
    assert units.parse_fraction("35 %") == 0.35


@pytest.mark.parametrize(
    ("parse", "written", "unit", "oracle_unit"),
    [
        (units.parse_length, "7.3 ft", "m", "imperial.foot"),
        (units.parse_length, "7.3 in", "m", "imperial.inch"),
        (units.parse_length, "7.3 mm", "m", "mm"),
        (units.parse_angle, "7.3 deg", "rad", "deg"),
        (units.parse_angle, "7.3 rad", "rad", "rad"),
        (units.parse_temperature, "7.3 K", "K", "K"),
        (units.parse_time, "7.3 ms", "s", "ms"),
        (units.parse_time, "7.3 µs", "s", "us"),
        (units.parse_flux, "7.3 lm", "lm", "lm"),
        (units.parse_illuminance, "7.3 lx", "lx", "lx"),
        (units.parse_illuminance, "7.3 klx", "lx", "klx"),
        (units.parse_luminance, "7.3 cd/m2", "cd/m2", "cd/m2"),
        (units.parse_intensity, "7.3 cd", "cd", "cd"),
        (units.parse_power, "7.3 kW", "W", "kW"),
        (units.parse_voltage, "7.3 V", "V", "V"),
        (units.parse_current, "7.3 A", "A", "A"),
    ],
)
def test_units_agree_with_an_independent_library(
    parse: Callable[[object], float], written: str, unit: str, oracle_unit: str
) -> None:
    # source: astropy.units
    given = (
        getattr(oracle.imperial, oracle_unit.removeprefix("imperial."))
        if oracle_unit.startswith("imperial.")
        else oracle.Unit(oracle_unit)
    )
    assert_allclose(parse(written), (7.3 * given).to_value(oracle.Unit(unit)), rtol=1e-15)


@pytest.mark.parametrize(
    ("parse", "written", "value"),
    [
        # pencil
        (units.parse_angle, "30°", math.pi / 6.0),
        (units.parse_angle, "-90 degrees", -math.pi / 2.0),
        (units.parse_temperature, "5600 k", 5600.0),
        (units.parse_time, "1/48 s", 1.0 / 48.0),
        (units.parse_time, "20 ms", 0.02),
        (units.parse_illuminance, "30 fc", 30.0 * 10.763910417),
        (units.parse_illuminance, "30 foot-candles", 30.0 * 10.763910417),
        (units.parse_luminance, "2 fL", 2.0 * 3.4262591),
        (units.parse_luminance, "100 nit", 100.0),
        (units.parse_luminance, "100 cd/m²", 100.0),
        (units.parse_voltage, "230 volts", 230.0),
        (units.parse_current, "16 amps", 16.0),
        (units.parse_current, "1 ampere", 1.0),
        (units.parse_fraction, "60 %", 0.6),
        (units.parse_fraction, "60%", 0.6),
        (units.parse_level, "60 %", 0.6),
        (units.parse_level, "-2 stops", 0.25),
        (units.parse_level, "+1 stop", 2.0),
        (units.parse_stops, "-2 stops", -2.0),
        (units.parse_stops, "+1/3 stop", 1.0 / 3.0),
        (units.parse_stops, "1 1/3 stops", 4.0 / 3.0),
        (units.parse_stops, "-1 1/3 stops", -4.0 / 3.0),
        (units.parse_fps, "24 fps", 24.0),
        (units.parse_fps, 24, 24.0),
        (units.parse_fps, "23.976", 23.976),
        (units.parse_fps, "24000/1001 fps", 24000.0 / 1001.0),
    ],
)
def test_other_quantities(parse: Callable[[object], float], written: object, value: float) -> None:
    # rtol: the foot-candle and foot-lambert are given to eight figures here
    assert_allclose(parse(written), value, rtol=1e-8)


@pytest.mark.parametrize(
    ("parse", "written", "fix"),
    [
        (units.parse_length, "4", "write 4 m, 4 cm, 4 mm, 4 ft or 4 in"),
        (units.parse_length, 4, "write 4 m, 4 cm, 4 mm, 4 ft or 4 in"),
        (units.parse_length, 4.5, "write 4.5 m, 4.5 cm, 4.5 mm, 4.5 ft or 4.5 in"),
        (units.parse_length, "4 furlongs", "write 4 m, 4 cm, 4 mm, 4 ft or 4 in"),
        (units.parse_length, "4 kg", "write 4 m, 4 cm, 4 mm, 4 ft or 4 in"),
        (units.parse_length, "1,2 m", "write decimals with a point, and thousands without a comma"),
        (units.parse_length, "", "write 10 m, 10 cm, 10 mm, 10 ft or 10 in"),
        (units.parse_length, None, "write 10 m, 10 cm, 10 mm, 10 ft or 10 in"),
        (units.parse_length, True, "write 10 m, 10 cm, 10 mm, 10 ft or 10 in"),
        (units.parse_length, "nan m", "write 10 m, 10 cm, 10 mm, 10 ft or 10 in"),
        (units.parse_length, "5' 6", "write 5 m, 5 cm, 5 mm, 5 ft or 5 in"),
        (units.parse_angle, "30", "write 30 deg or 30 rad"),
        (units.parse_temperature, "5600", "write 5600 K"),
        (units.parse_illuminance, "12000", "write 12000 lx or 12000 fc"),
        (units.parse_fraction, 0.6, "write 60 %"),
        (units.parse_stop, "2.8", "write T2.8 or f/2.8"),
        (units.parse_stop, 4, "write T4 or f/4"),
        (units.parse_stop, "T0", "write T2.8 or f/2.8"),
    ],
)
def test_a_value_without_its_unit_is_refused_and_shown_how_to_write(
    parse: Callable[[object], object], written: object, fix: str
) -> None:
    # snapshot: our own wording
    with pytest.raises(UnitFault) as caught:
        parse(written)
    assert caught.value.fault.fix == fix


@pytest.mark.parametrize(
    ("parse", "written"),
    [
        (units.parse_length, "1e999 m"),
        (units.parse_length, "9" * 5000 + " m"),
        (units.parse_length, "1/0 m"),
        (units.parse_length, "9" * 400 + "' 1\""),
        (units.parse_voltage, "0 V"),
        (units.parse_voltage, "-230 V"),
        (units.parse_voltage, "230 A"),
        (units.parse_current, "0 A"),
        (units.parse_current, "16"),
        (units.parse_temperature, "0 K"),
        (units.parse_temperature, "-5 K"),
        (units.parse_time, "0 s"),
        (units.parse_fps, 0),
        (units.parse_fps, "-24 fps"),
        (units.parse_level, "-1 %"),
        (units.parse_level, "2000 stops"),
        (units.parse_stop, "T1e999"),
        (units.parse_stop, "2.8T"),
        (units.parse_stops, "2"),
    ],
)
def test_impossible_values_are_refused(parse: Callable[[object], object], written: object) -> None:
    with pytest.raises(UnitFault):
        parse(written)


def test_a_faulty_text_is_not_repeated_at_length() -> None:
    with pytest.raises(UnitFault) as caught:
        units.parse_length("9" * 5000)
    assert len(str(caught.value)) < 300  # pencil: twice 60 characters and two sentences


@pytest.mark.parametrize(
    ("written", "number", "mark"),
    [
        ("T2.8", 2.8, "T"),
        ("t/2.8", 2.8, "T"),
        ("T 2", 2.0, "T"),
        ("f/5.6", 5.6, "f"),
        ("F4", 4.0, "f"),
    ],
)
def test_a_stop_is_taken_as_written(written: str, number: float, mark: str) -> None:
    stop = units.parse_stop(written)
    assert (stop.number, stop.mark) == (number, mark)
    assert "as written" in stop.note
    assert ("T-stop" in stop.note) == (mark == "f")


@pytest.mark.parametrize(
    ("written", "stops"),
    [
        # source: an optical density takes D / log10 2 stops (definition); values EXP-17
        ("ND 0.3", 0.9966),
        ("0.6 density", 1.9932),
        ("ND 0.9", 2.9897),
        ("ND0.9", 2.9897),
        ("nd .9", 2.9897),
        ("0.9", 2.9897),
        ("ND 3.0", 9.9658),
        # pencil: powers of two
        ("3 stops", 3.0),
        ("1 stop", 1.0),
        ("ND2", 1.0),
        ("ND4", 2.0),
        ("ND 8", 3.0),
        ("ND64", 6.0),
        ("ND1000", 9.9658),
        ("0 stops", 0.0),
    ],
)
def test_neutral_densities(written: str, stops: float) -> None:
    assert_allclose(units.parse_nd(written), stops, atol=5e-5)


@pytest.mark.parametrize(
    "written", [0.9, 3, "3", "ND3", "ND6", "ND9", "ND12", "ND", "-1 stop", "ND -0.3", "dark", None]
)
def test_an_ambiguous_neutral_density_is_refused(written: object) -> None:
    with pytest.raises(UnitFault) as caught:
        units.parse_nd(written)
    assert caught.value.fault.fix or "light away" in caught.value.fault.what


# Shutter ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "fps", "time_s"),
    [
        # pencil: t = angle / (360 · fps), EXP-19
        ("180 deg", 24.0, 1 / 48),
        ("172.8 deg", 24.0, 1 / 50),
        ("180 deg", 25.0, 1 / 50),
        ("144°", 24.0, 1 / 60),
        ("180 deg", 23.976, 1 / 47.952),
        ("180 deg", 48.0, 1 / 96),
        ("360 deg", 24.0, 1 / 24),
        ("1/48 s", 24.0, 1 / 48),
        ("1/24 s", 24.0, 1 / 24),
        ("20 ms", 25.0, 1 / 50),
    ],
)
def test_shutter(written: str, fps: float, time_s: float) -> None:
    assert_allclose(units.parse_shutter(written, fps), time_s, rtol=EXACT)


@pytest.mark.parametrize(
    "written", ["180", 180, "361 deg", "0 deg", "1/20 s", "half", "T2.8", None]
)
def test_an_impossible_shutter_is_refused(written: object) -> None:
    with pytest.raises(UnitFault):
        units.parse_shutter(written, 24.0)


# Converting ------------------------------------------------------------------------------


def test_footcandles_and_footlamberts() -> None:
    # source: 1 fc = 10.763910417 lx, 1 fL = 3.4262591 cd/m² (from the foot of 1959)
    assert_allclose(units.lux_from_footcandles(1.0), 10.763910417, rtol=1e-10)
    assert_allclose(units.nits_from_footlamberts(1.0), 3.4262591, rtol=1e-7)
    assert_allclose(units.footcandles_from_lux(units.lux_from_footcandles(7.0)), 7.0, rtol=EXACT)
    assert_allclose(
        units.footlamberts_from_nits(units.nits_from_footlamberts(7.0)), 7.0, rtol=EXACT
    )
    # source: astropy.units, lumen per square foot
    per_foot = (1.0 * oracle.lm / oracle.imperial.foot**2).to_value(oracle.lx)
    assert_allclose(units.lux_from_footcandles(1.0), per_foot, rtol=1e-14)


@pytest.mark.parametrize(
    ("start_kelvin", "end_kelvin", "shift_mired"),
    # pencil: 10⁶ (1/T₂ - 1/T₁), COL-5
    [
        (5500, 3200, 130.68),
        (5600, 3200, 133.93),
        (6500, 3200, 158.65),
        (3200, 4300, -79.94),
        (5600, 4300, 53.99),
    ],
)
def test_mired_shift(start_kelvin: float, end_kelvin: float, shift_mired: float) -> None:
    shift = units.mired_from_kelvin(end_kelvin) - units.mired_from_kelvin(start_kelvin)
    assert_allclose(shift, shift_mired, atol=0.01)


@pytest.mark.parametrize(
    ("start_kelvin", "shift_mired", "end_kelvin"),
    # pencil: 10⁶ / (10⁶/T + shift), COL-6
    [(5600, 131, 3230), (3200, -131, 5510), (5600, 159, 2962), (5600, 64, 4123), (6500, 131, 3511)],
)
def test_a_gel_shifts_mired(start_kelvin: float, shift_mired: float, end_kelvin: float) -> None:
    shifted = units.kelvin_from_mired(units.mired_from_kelvin(start_kelvin) + shift_mired)
    assert_allclose(shifted, end_kelvin, atol=1.0)


def test_densities_and_factors_in_stops() -> None:
    densities = [0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.1, 3.0]
    # source: D / log10 2 (definition), EXP-17
    told = [0.9966, 1.993, 2.990, 3.986, 4.983, 5.979, 6.976, 9.966]
    assert_allclose([units.stops_from_density(d) for d in densities], told, atol=1e-3)
    factors = [2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 1000.0]
    # source: log2 and log10 of the factor (definition), EXP-18
    assert_allclose(
        [units.stops_from_factor(f) for f in factors], [1, 2, 3, 4, 5, 6, 9.966], atol=1e-3
    )
    assert_allclose(
        [units.density_from_stops(units.stops_from_factor(f)) for f in factors],
        [0.301, 0.602, 0.903, 1.204, 1.505, 1.806, 3.000],
        atol=1e-3,
    )


def test_no_light_is_minus_infinite_stops_and_too_many_are_infinite() -> None:
    assert units.stops_from_factor(0.0) == -math.inf  # pencil: log2 0
    assert units.factor_from_stops(2000.0) == math.inf  # pencil: beyond a double
    assert units.factor_from_stops(-math.inf) == 0.0  # pencil


@pytest.mark.parametrize(
    ("ratio", "stops"),
    # pencil: 2 log2 of the ratio of distances, EXP-20
    [(math.sqrt(2), 1.0), (1.5, 1.170), (2.0, 2.0), (3.0, 3.170), (10.0, 6.644)],
)
def test_inverse_square_in_stops(ratio: float, stops: float) -> None:
    assert_allclose(units.stops_from_distances(1.3, 1.3 * ratio), stops, atol=1e-3)


# Writing ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("length_m", "metric", "imperial"),
    [
        # pencil: 1 ft = 0.3048 m, 1 in = 0.0254 m, rounded to the centimetre and the inch
        (1.2, "1.20 m", "3 ft 11 in"),
        (1.6764, "1.68 m", "5 ft 6 in"),
        (0.2032, "0.20 m", "8 in"),
        (3.6576, "3.66 m", "12 ft"),
        (1.8287, "1.83 m", "6 ft"),
        (0.0, "0.00 m", "0 in"),
        (-0.001, "0.00 m", "0 in"),
        (-1.6764, "-1.68 m", "-5 ft 6 in"),
    ],
)
def test_lengths_are_written_as_people_read_them(
    length_m: float, metric: str, imperial: str
) -> None:
    assert units.format_length(length_m) == metric
    assert units.format_length(length_m, units="imperial") == imperial


@pytest.mark.parametrize(
    ("illuminance_lux", "metric", "imperial"),
    [
        # pencil: three figures; 1 fc = 10.7639 lx
        (1250.0, "1250 lx", "116 fc"),
        (12345.0, "12300 lx", "1150 fc"),
        (10.7639, "10.8 lx", "1.00 fc"),
        (0.0, "0 lx", "0 fc"),
        (0.5, "0.500 lx", "0.0465 fc"),
    ],
)
def test_illuminances_to_three_figures(illuminance_lux: float, metric: str, imperial: str) -> None:
    assert units.format_illuminance(illuminance_lux) == metric
    assert units.format_illuminance(illuminance_lux, units="imperial") == imperial


def test_luminance_to_show() -> None:
    # pencil: 1 fL is 1/π cd/ft² = 3.4263 cd/m²
    assert units.format_luminance(250.0) == "250 nit"
    assert units.format_luminance(250.0, units="imperial") == "73.0 fL"


@pytest.mark.parametrize(
    ("stops", "thirds", "tenths"),
    [
        # pencil: nearest third and nearest tenth, halves away from zero
        (0.0, "at key", "0.0"),
        (-0.04, "at key", "0.0"),
        (0.16, "at key", "+0.2"),
        (0.17, "a third over", "+0.2"),
        (0.33, "a third over", "+0.3"),
        (0.66, "two thirds over", "+0.7"),
        (1.0, "1 over", "+1.0"),
        (-1.33, "1 1/3 under", "-1.3"),
        (2.7, "2 2/3 over", "+2.7"),
        (-0.3, "a third under", "-0.3"),
        (-2.96, "3 under", "-3.0"),
        (-math.inf, "no light", "no light"),
    ],
)
def test_stops_in_thirds_for_people_and_tenths_for_tables(
    stops: float, thirds: str, tenths: str
) -> None:
    assert units.format_stops_thirds(stops) == thirds
    assert units.format_stops_tenths(stops) == tenths


def test_the_reference_is_named() -> None:
    assert units.format_stops_thirds(0.0, reference="middle grey") == "at middle grey"


@pytest.mark.parametrize(
    ("value_si", "as_written", "written"),
    [
        # pencil
        (1.35, "1.2 m", "1.35 m"),
        (1.35, "120 cm", "135 cm"),
        (0.036, "35mm", "36mm"),
        (1.905, "6' 2\"", "6' 3\""),
        (-1.905, "6' 2\"", "-6' 3\""),
        (1.905, "6 ft", "6.25 ft"),
        (0.6, "50 %", "60 %"),
        (math.pi / 4.0, "30°", "45°"),
        (4300.0, "5600 K", "4300 K"),
        (0.0, "1.2 m", "0 m"),
        (-1e-12, "1.2 m", "0 m"),
        (0.1 + 0.2, "1.2 m", "0.3 m"),
        (0.0208333, "1/50 s", "0.020833 s"),
    ],
)
def test_a_new_value_keeps_the_unit_of_the_old(
    value_si: float, as_written: str, written: str
) -> None:
    assert units.format_like(value_si, as_written) == written


@pytest.mark.parametrize(("value_si", "as_written"), [(1.0, "4"), (1.0, "wide"), (math.nan, "1 m")])
def test_no_unit_to_keep_is_refused(value_si: float, as_written: str) -> None:
    with pytest.raises(UnitFault):
        units.format_like(value_si, as_written)
