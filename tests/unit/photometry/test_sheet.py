"""Data sheets: what a few numbers say of a beam, and how far the fit is from them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from numpy.testing import assert_allclose

from falloff.errors import PhotometricFileError
from falloff.findings import Weight
from falloff.photometry import (
    DataSheet,
    Opening,
    SheetFit,
    SheetReading,
    axis_illuminance_lux,
    beam_angle_rad,
    field_angle_rad,
    fit_sheet,
)
from falloff.units import Lux, Metre

DISC = Opening("disc", 0.9, 0.9, 0.0)
SQUARE = Opening("rectangle", 0.9, 0.9, 0.0)


def readings(*pairs: tuple[float, float]) -> tuple[SheetReading, ...]:
    return tuple(SheetReading(Metre(far), Lux(lux)) for far, lux in pairs)


def misses(fit: SheetFit) -> dict[str, float]:
    return {one.datum: one.stops for one in fit.misses}


def weights(fit: SheetFit) -> Sequence[Weight]:
    return [one.weight for one in fit.findings]


@pytest.mark.parametrize(
    ("power", "beam_deg", "field_deg", "lumens"),
    [
        (1, 120.00, 168.52, 3141.6),  # source: PHO-5, cosⁿ per 1000 cd
        (3, 74.93, 124.69, 1570.8),  # source: PHO-5
        (10, 42.17, 74.82, 571.2),  # source: PHO-5
        (50, 19.04, 34.51, 123.2),  # source: PHO-5
    ],
)
def test_a_sheet_of_a_cosine_power_gives_it_back(
    power: int, beam_deg: float, field_deg: float, lumens: float
) -> None:
    beam, field = math.radians(beam_deg), math.radians(field_deg)
    plain = DataSheet(readings((2.0, 250.0)), beam_rad=beam)
    for sheet in (plain, replace(plain, field_rad=field), replace(plain, flux_lm=lumens)):
        fit = fit_sheet(sheet)
        assert_allclose(fit.axis_cd, 1000.0)  # pencil: 250 lx · 4 m²
        assert_allclose(fit.flux_lm, lumens, rtol=2e-3)
        assert_allclose(math.degrees(beam_angle_rad(fit.distribution)), beam_deg, atol=0.05)
        assert_allclose(math.degrees(field_angle_rad(fit.distribution)), field_deg, atol=0.2)
    alone = fit_sheet(DataSheet(axis_cd=1000.0, flux_lm=lumens))
    assert_allclose(math.degrees(beam_angle_rad(alone.distribution)), beam_deg, atol=0.1)
    assert weights(alone) == [Weight.WARNING]


def test_beam_field_and_lumens_of_a_hard_edge() -> None:
    """A field angle near the beam angle is a steep edge; the lumens are then a check."""
    beam, field = math.radians(40.0), math.radians(48.0)
    fit = fit_sheet(DataSheet(axis_cd=10_000.0, beam_rad=beam, field_rad=field, flux_lm=4000.0))
    assert_allclose(beam_angle_rad(fit.distribution), beam, rtol=1e-3)
    assert_allclose(field_angle_rad(fit.distribution), field, rtol=1e-3)
    even = 10_000.0 * 2.0 * math.pi * (1.0 - math.cos(beam / 2.0))  # pencil: level to the half
    assert 0.9 * even < fit.flux_lm < 1.1 * even
    assert misses(fit)["lumens"] == pytest.approx(math.log2(fit.flux_lm / 4000.0))
    assert any("lumens" in one.says and "stop from" in one.says for one in fit.findings) == (
        abs(misses(fit)["lumens"]) > 1 / 3
    )


def test_lumens_shape_what_the_beam_angle_leaves_open() -> None:
    beam = math.radians(40.0)
    plain = fit_sheet(DataSheet(axis_cd=1000.0, beam_rad=beam)).flux_lm
    for share in (0.85, 1.0, 1.4):
        fit = fit_sheet(DataSheet(axis_cd=1000.0, beam_rad=beam, flux_lm=share * plain))
        assert_allclose(fit.flux_lm, share * plain, rtol=1e-3)
        assert_allclose(beam_angle_rad(fit.distribution), beam, rtol=2e-3)
        assert weights(fit) == []


def test_lumens_that_no_beam_of_that_angle_holds_are_told() -> None:
    fit = fit_sheet(DataSheet(axis_cd=1000.0, beam_rad=math.radians(20.0), flux_lm=9000.0))
    assert misses(fit)["lumens"] < -1.0
    assert weights(fit) == [Weight.WARNING]
    assert "9000 given" in fit.findings[0].says


def test_lumens_and_a_beam_angle_are_enough() -> None:
    fit = fit_sheet(DataSheet(flux_lm=3141.6, beam_rad=math.radians(120.0)))
    assert_allclose(fit.axis_cd, 1000.0, rtol=2e-3)  # source: PHO-5, n = 1
    assert weights(fit) == [Weight.NOTE]


def test_readings_that_do_not_agree_are_each_told_in_stops() -> None:
    """pencil: 4000 cd and 1000 cd have their mean, in stops, at 2000 cd: one stop from each."""
    sheet = DataSheet(readings((2.0, 1000.0), (4.0, 62.5)), beam_rad=1.0)
    fit = fit_sheet(sheet)
    assert_allclose(fit.axis_cd, 2000.0)
    assert misses(fit)["lux at 2 m"] == pytest.approx(-1.0)
    assert misses(fit)["lux at 4 m"] == pytest.approx(1.0)
    assert weights(fit).count(Weight.WARNING) == 2
    three = fit_sheet(DataSheet(readings((1.0, 1000.0)), axis_cd=1000.0, beam_rad=1.0))
    assert misses(three)["candela on the axis"] == pytest.approx(0.0)


# Near a wide opening ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameters", "share"),
    [(1, 0.8), (2, 0.9412), (3, 0.9730), (5, 0.9901), (10, 0.9975)],  # source: SOF-6
)
def test_a_disc_falls_off_slower_than_a_point(diameters: int, share: float) -> None:
    far = diameters * 0.9
    assert_allclose(axis_illuminance_lux(far**2, far, opening=DISC), share, atol=1e-4)


@pytest.mark.parametrize(
    ("distance_m", "disc", "square"),
    [
        (1.8, 0.058824, 0.073478),  # source: SOF-4, E/(πL) on the axis of 0.9 m
        (1.2, 0.123288, 0.150963),
        (0.75, 0.264706, 0.311277),
    ],
)
def test_light_on_the_axis(distance_m: float, disc: float, square: float) -> None:
    of_disc = axis_illuminance_lux(math.pi * 0.45**2, distance_m, opening=DISC)
    of_square = axis_illuminance_lux(0.9**2, distance_m, opening=SQUARE)
    assert_allclose([of_disc / math.pi, of_square / math.pi], [disc, square], atol=1e-6)


@pytest.mark.parametrize(
    ("far", "share"),
    [(5.0, 0.98685), (5.0 * math.sqrt(2.0), 0.99338)],  # source: SOF-7, in sides
)
def test_a_square_needs_diagonals(far: float, share: float) -> None:
    unit = Opening("rectangle", 1.0, 1.0, 0.0)
    assert_allclose(axis_illuminance_lux(far**2, far, opening=unit), share, atol=1e-5)


@pytest.mark.parametrize(
    ("lengths", "share"),
    [(1, 0.86365), (2, 0.96055), (3, 0.98193), (5, 0.99339), (10, 0.99834)],  # source: SOF-8
)
def test_a_thin_rectangle_is_a_line(lengths: int, share: float) -> None:
    for line in (Opening("rectangle", 0.0, 1.0, 0.0), Opening("rectangle", 1.0, 1e-4, 0.0)):
        lux = axis_illuminance_lux(lengths**2, float(lengths), opening=line)
        assert_allclose(lux, share, atol=1e-4)


def test_a_near_reading_of_a_wide_light_is_not_scaled_by_the_inverse_square() -> None:
    """pencil: 1000 lx at 0.9 m of a 0.9 m disc: I = E (r² + d²) = 1000 · (0.2025 + 0.81)."""
    sheet = DataSheet(readings((0.9, 1000.0)), beam_rad=math.radians(120.0), opening=DISC)
    fit = fit_sheet(sheet)
    assert_allclose(fit.axis_cd, 1012.5)
    near = fit.findings[0]
    assert near.weight is Weight.NOTE
    assert "not scaled by the inverse square" in near.says
    assert "0.32 stop" in near.says  # pencil: log2 1.25
    both = fit_sheet(
        DataSheet(
            readings((0.9, 1012.5 / 1.0125), (4.5, 1012.5 / (0.2025 + 20.25))),
            beam_rad=math.radians(120.0),
            opening=DISC,
        )
    )
    assert_allclose(both.axis_cd, 1012.5)
    assert max(abs(one.stops) for one in both.misses if "lux" in one.datum) < 1e-9
    assert sum("inverse square" in one.says for one in both.findings) == 1  # the far one is not


def test_gain_of_coming_nearer() -> None:
    """source: SOF-5, from 1.8 to 0.75 m: a disc gains 2.170 stops, a square 2.083."""
    for opening, stops in ((DISC, 2.170), (SQUARE, 2.083), (None, 2.526)):
        near, far = (axis_illuminance_lux(1.0, one, opening=opening) for one in (0.75, 1.8))
        assert_allclose(math.log2(near / far), stops, atol=1e-3)


def test_a_near_reading_without_an_opening_is_a_warning() -> None:
    fit = fit_sheet(DataSheet(readings((0.5, 4000.0)), beam_rad=1.0))
    assert_allclose(fit.axis_cd, 1000.0)  # pencil: as a point
    assert fit.findings[0].weight is Weight.WARNING
    point = DataSheet(
        readings((0.5, 4000.0)), beam_rad=1.0, opening=Opening("point", 0.0, 0.0, 0.0)
    )
    assert fit_sheet(point).axis_cd == fit.axis_cd
    assert weights(fit_sheet(point)) == [Weight.NOTE]


def test_a_globe_or_tube_seen_from_the_side_counts_by_its_breadth() -> None:
    tube = Opening("disc facing x", 0.0, 0.6, 0.6)
    assert_allclose(axis_illuminance_lux(1.0, 1.0, opening=tube), 1.0 / 1.09)  # pencil: r = 0.3


# What is refused -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "word"),
    [
        (DataSheet(), "how much light"),
        (DataSheet(beam_rad=1.0), "how much light"),
        (DataSheet(axis_cd=100.0), "how wide"),
        (DataSheet(flux_lm=100.0), "how wide"),
        (DataSheet(axis_cd=100.0, flux_lm=700.0), "more than a beam"),
        (DataSheet(axis_cd=-1.0, beam_rad=1.0), "candela"),
        (DataSheet(axis_cd=math.nan, beam_rad=1.0), "candela"),
        (DataSheet(axis_cd=math.inf, beam_rad=1.0), "candela"),
        (DataSheet(axis_cd=1.0, beam_rad=math.pi), "beam angle cannot be"),
        (DataSheet(axis_cd=1.0, beam_rad=1.0, field_rad=4.0), "field angle cannot be"),
        (DataSheet(axis_cd=1.0, beam_rad=1.0, field_rad=0.9), "no wider"),
        (DataSheet(flux_lm=0.0, beam_rad=1.0), "lumens cannot be"),
        (DataSheet(readings((0.0, 5.0)), beam_rad=1.0), "distance cannot be"),
        (DataSheet(readings((1.0, 0.0)), beam_rad=1.0), "reading cannot be"),
    ],
)
def test_what_is_no_sheet_is_refused(sheet: DataSheet, word: str) -> None:
    with pytest.raises(PhotometricFileError, match=word) as caught:
        fit_sheet(sheet)
    assert caught.value.faults[0].expected


def test_field_angles_that_no_curve_meets_are_missed_and_told() -> None:
    wide = fit_sheet(DataSheet(axis_cd=1.0, beam_rad=0.1, field_rad=3.0))
    steep = fit_sheet(DataSheet(axis_cd=1.0, beam_rad=1.0, field_rad=1.0001))
    assert abs(misses(wide)["field angle, deg"]) > 1 / 3
    assert weights(wide) == [Weight.WARNING]
    assert 0.0 < misses(steep)["field angle, deg"] < 1 / 3
