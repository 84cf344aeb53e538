"""Gels, smooth filters, tinted surfaces and dimmed lamps."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum as s
from falloff.errors import FalloffError

WAVES = [380.0, 780.0]


def known(found: s.ColourTemperature) -> float:
    """The kelvin, where there must be one."""
    assert found.cct_kelvin is not None
    return float(found.cct_kelvin)


def test_steered_light_has_the_colour_asked_for() -> None:
    for name in ("A", "D65", "FL2", "LED-B3"):
        for cct_kelvin, duv in ((2500.0, 0.0), (4000.0, 0.01), (6500.0, -0.008)):
            wanted, light = s.xy_of_cct_duv(cct_kelvin, duv), s.illuminant(name)
            curve = s.steering_curve(light, wanted)
            assert curve.min() > 0.0
            assert_allclose(s.xy_of_spectrum(s.through(light, curve)), wanted, atol=1e-8)
            assert_allclose(curve[560 - 360], 1.0, rtol=1e-12)


def test_steering_to_its_own_colour_does_nothing() -> None:
    light = s.illuminant("FL2")
    assert_allclose(s.steering_curve(light, s.xy_of_spectrum(light)), np.ones(471), atol=1e-7)


def test_steering_a_hot_body_gives_nearly_another() -> None:
    """source: Wien's law: a density that goes with 1/λ turns one temperature into another."""
    light, wanted = s.planckian(3200), s.planckian(4300)
    passed = s.through(light, s.steering_curve(light, s.xy_of_spectrum(wanted)))
    visible = slice(420 - 360, 680 - 360)
    scaled = passed.relative / passed.relative[560 - 360]
    # 2 % is how far Wien's law is from Planck's at the red end.
    assert_allclose(scaled[visible], wanted.relative[visible], rtol=0.02)


def test_a_line_cannot_be_steered() -> None:
    line = np.zeros(471)
    line[200] = 1.0
    with pytest.raises(FalloffError, match="no smooth filter"):
        s.steering_curve(s.Spectrum(line, "a line"), (0.33, 0.33))


def test_gel_by_figures_on_a_bare_kelvin_is_mired_arithmetic() -> None:
    """pencil: 10⁶/(10⁶/5600 + 131) = 3230 K, and 0.9 stops as stated; told to be approximate."""
    gel = s.gel_of_figures("own", s.GelFigures(shift_mired=131.0, loss_stops=0.9))
    found = s.apply_gel(s.light_of_kelvin(5600), gel)
    assert_allclose(known(found.light.temperature), 1e6 / (1e6 / 5600 + 131.0), rtol=1e-9)
    assert found.loss_stops == 0.9
    assert found.light.spectrum is None
    assert [finding.about for finding in found.findings] == ["own"]
    assert "approximate" in found.findings[0].says


@pytest.mark.parametrize("shift_mired", [-134.0, -35.0, 49.0, 149.0])
def test_gel_by_figures_on_its_own_light_is_exact(shift_mired: float) -> None:
    """pencil: the smooth curve was solved for it: shift, Duv and loss as stated."""
    light = s.planckian(3200) if shift_mired < 0 else s.daylight_phase(5600)
    gel = s.gel_of_figures("own", s.GelFigures(shift_mired=shift_mired, loss_stops=1.2))
    found = s.apply_gel(s.light_of_spectrum(light), gel)
    assert found.shift is not None
    assert_allclose(found.shift.shift_mired, shift_mired, atol=1e-3)
    assert_allclose(found.shift.shift_duv, 0.0, atol=1e-6)
    assert_allclose(found.loss_stops, 1.2, atol=1e-9)
    assert len(found.findings) == 1


def test_gel_by_curve_on_a_spectrum_needs_no_note() -> None:
    """pencil: a flat half is one stop and no shift."""
    gel = s.gel_of_curve("half", WAVES, transmittance=[0.5, 0.5])
    found = s.apply_gel(s.light_of_spectrum(s.illuminant("FL11")), gel)
    assert found.findings == ()
    assert_allclose(found.loss_stops, 1.0, rtol=1e-12)
    assert_allclose(found.light.xy, s.xy_of_spectrum(s.illuminant("FL11")), atol=1e-12)
    assert_allclose((gel.figures.shift_mired, gel.figures.loss_stops), (0.0, 1.0), atol=1e-9)


def test_gel_by_curve_on_a_bare_kelvin_is_told() -> None:
    gel = s.gel_of_curve("warm", [380.0, 500.0, 780.0], transmittance=[0.2, 0.6, 0.9])
    bare, known = s.light_of_kelvin(3200), s.light_of_spectrum(s.planckian(3200))
    one, other = s.apply_gel(bare, gel), s.apply_gel(known, gel)
    assert_allclose(one.light.xy, other.light.xy, atol=1e-6)
    assert "kelvin only" in one.findings[0].says


def test_neutral_keeps_every_colour() -> None:
    for light in (s.light_of_kelvin(5600), s.light_of_xy((0.15, 0.05)),
                  s.light_of_spectrum(s.illuminant("FL2"))):  # fmt: skip
        found = s.apply_gel(light, s.find_gel("neutral 0.6"))
        assert_allclose(found.light.xy, light.xy, atol=1e-9)
        assert_allclose(found.loss_stops, 2.0, atol=1e-9)


def test_gels_in_turn_add_up() -> None:
    """pencil: losses add, spreads by their squares, mireds along the locus add."""
    two = [s.find_gel("half blue"), s.find_gel("quarter blue")]
    found = s.apply_gels(s.light_of_kelvin(3200), two)
    assert_allclose(found.loss_stops, 1.6, rtol=1e-12)
    assert_allclose(found.spread_stops, math.hypot(0.25, 0.25), rtol=1e-12)
    assert found.shift is not None
    assert_allclose(found.shift.shift_mired, -73.0 - 35.0, atol=1e-9)
    assert s.apply_gels(s.light_of_kelvin(3200), []).loss_stops == 0.0


def test_order_of_gels_does_not_matter_on_a_spectrum() -> None:
    light = s.light_of_spectrum(s.illuminant("D55"))
    gels = [s.find_gel("half orange"), s.find_gel("half minus green"), s.find_gel("straw")]
    one, other = s.apply_gels(light, gels), s.apply_gels(light, gels[::-1])
    assert_allclose(one.light.xy, other.light.xy, atol=1e-12)
    assert_allclose(one.loss_stops, other.loss_stops, atol=1e-12)


def test_strong_light_without_spectrum_meets_no_colour_gel() -> None:
    for name in ("half blue", "red", "half plus green"):
        with pytest.raises(FalloffError, match="too strongly coloured"):
            s.apply_gel(s.light_of_xy((0.15, 0.05)), s.find_gel(name))


@pytest.mark.parametrize(
    "figures",
    [
        s.GelFigures(shift_mired=500.0),
        s.GelFigures(green_share=-4.0),
        s.GelFigures(loss_stops=-0.1),
        s.GelFigures(loss_stops=float("nan")),
    ],
)
def test_figures_that_no_gel_has(figures: s.GelFigures) -> None:
    with pytest.raises(FalloffError, match="no gel is like that"):
        s.gel_of_figures("own", figures)


@pytest.mark.parametrize("shares", [[0.5, 1.2], [-0.1, 0.5], [0.0, 0.0]])
def test_curves_that_no_gel_has(shares: list[float]) -> None:
    with pytest.raises(FalloffError, match="own: a gel passes between nothing and all"):
        s.gel_of_curve("own", WAVES, transmittance=shares)


def test_stops_of_a_transmittance() -> None:
    """pencil: a quarter is two stops."""
    assert_allclose(s.stops_lost(0.25), 2.0, rtol=1e-12)
    with pytest.raises(FalloffError, match="a gel passes some light"):
        s.stops_lost(0.0)


# source: common practice, from memory: the range that makers' sheets of each strength span.
@pytest.mark.parametrize(
    ("name", "least_mired", "most_mired"),
    [
        ("full orange", 131, 167), ("half orange", 68, 109), ("quarter orange", 35, 64),
        ("eighth orange", 20, 26), ("full blue", -137, -131), ("half blue", -78, -68),
        ("quarter blue", -35, -35), ("eighth blue", -18, -18),
    ],
)  # fmt: skip
def test_generic_families(name: str, least_mired: float, most_mired: float) -> None:
    figures = s.find_gel(name).figures
    assert least_mired <= figures.shift_mired <= most_mired
    assert figures.spread_mired == 20.0


def test_every_generic_gel() -> None:
    """Each has a source and a spread, loses light, and stronger members lose more."""
    gels = s.generic_gels()
    assert len({gel.name for gel in gels}) == len(gels)
    for gel in gels:
        assert "from memory" in gel.source
        assert gel.figures.spread_stops > 0.0
        assert 0.1 <= gel.figures.loss_stops <= 8.0
    for family in ("warming", "cooling"):
        losses = [gel.figures.loss_stops for gel in gels if gel.family == family]
        assert losses == sorted(losses, reverse=True)


# common practice, no source: on which side of white each accent lies (CIE 1931 x, y).
@pytest.mark.parametrize(
    ("name", "x", "y"),
    [("red", 0.65, 0.32), ("amber", 0.54, 0.44), ("deep blue", 0.15, 0.07), ("green", 0.23, 0.57),
     ("magenta", 0.44, 0.22), ("cyan", 0.18, 0.29)],
)  # fmt: skip
def test_accents_are_what_their_names_say(name: str, x: float, y: float) -> None:
    light = s.light_of_spectrum(s.illuminant("D55"))
    assert_allclose(s.apply_gel(light, s.find_gel(name)).light.xy, (x, y), atol=0.03)


def test_unknown_gel_tells_the_nearest() -> None:
    with pytest.raises(FalloffError, match="did you mean 'half blue'"):
        s.find_gel("haf blue")
    assert s.find_gel("Half  Blue").name == "half blue"


def test_choices_begin_with_the_simplest_that_is_near() -> None:
    alike = s.gel_choices(s.light_of_kelvin(5600), s.light_of_kelvin(5500))
    assert alike[0].gels == ()
    assert alike[0].result.loss_stops == 0.0
    far = s.gel_choices(s.light_of_kelvin(3200), s.light_of_kelvin(5600))
    assert [gel.name for gel in far[0].gels] == ["full blue"]
    # pencil: every choice is told; the worst are far off
    assert far[-1].shades > far[0].shades
    assert any(len(one.gels) == 2 for one in far)


def test_choices_from_one_s_own_gels() -> None:
    own = [s.gel_of_figures("own", s.GelFigures(shift_mired=-100.0, loss_stops=1.4))]
    found = s.gel_choices(s.light_of_kelvin(3200), s.light_of_kelvin(4700), gels=own)
    assert [len(one.gels) for one in found] == [1, 0]


# Tinted surfaces -----------------------------------------------------------------------------


def test_grey_surface_takes_light_only() -> None:
    """pencil: 18 % of the light, no shift, by curve and by channels."""
    curve = s.surface_of_curve("grey", WAVES, reflectance=[0.18, 0.18])
    channels = s.surface_of_tint("grey", 0.18, tint=(1.0, 1.0, 1.0))
    for surface in (curve, channels):
        found = s.after_surface(s.light_of_spectrum(s.illuminant("D55")), surface)
        assert_allclose(found.light_share, 0.18, rtol=1e-9)
        assert found.shift is not None
        assert_allclose(found.shift.shift_mired, 0.0, atol=1e-6)
    assert_allclose(
        s.after_surface(s.light_of_kelvin(5600), curve, times=3).light_share, 0.18**3, rtol=1e-9
    )


def test_channels_against_the_engine_s_own_sum() -> None:
    """pencil: the working-space colour times the three reflectances."""
    surface = s.surface_of_tint("wall", 0.5, tint=(1.0, 0.8, 0.5))
    found = s.after_surface(s.light_of_kelvin(5600), surface)
    rgb = s.colour_of_kelvin(5600) * s.tint_to_reflectance(0.5, (1.0, 0.8, 0.5))
    assert_allclose(found.light_share, float(s.luminance(rgb)), rtol=1e-9)
    assert_allclose(s.colour_of_xy(found.light.xy), rgb / s.luminance(rgb), rtol=1e-9)
    assert "three channels" in found.findings[0].says
    assert found.light.spectrum is None


def test_patchwork_is_the_mean_by_area() -> None:
    """pencil: one part of 0.2 and three of 0.6 pass 0.5."""
    dark = s.surface_of_curve("dark", WAVES, reflectance=[0.2, 0.2])
    pale = s.surface_of_curve("pale", WAVES, reflectance=[0.6, 0.6])
    sewn = s.patchwork("both", [(dark, 1.0), (pale, 3.0)])
    assert_allclose(s.after_surface(s.light_of_kelvin(5600), sewn).light_share, 0.5, rtol=1e-9)
    tint = s.surface_of_tint("tint", 0.5, tint=(1.0, 1.0, 1.0))
    for parts in ([(dark, 1.0), (tint, 1.0)], [(dark, 0.0)], [(dark, -1.0), (pale, 3.0)]):
        with pytest.raises(FalloffError, match="cannot be sewn"):
            s.patchwork("bad", parts)


def test_surfaces_that_there_are_not() -> None:
    with pytest.raises(FalloffError, match="no surface returns more"):
        s.surface_of_curve("shiny", WAVES, reflectance=[0.5, 1.1])
    with pytest.raises(FalloffError, match="once or a few times"):
        s.after_surface(s.light_of_kelvin(5600), s.generic_surfaces()["grass"], times=0)


# Dimmed lamps ---------------------------------------------------------------------------------


def test_dimmed_lamp() -> None:
    """source: handbooks' exponents, from memory; pencil: 0.5^3.4 = 0.0947, 3200·0.5^0.42 = 2392."""
    found = s.lamp_at_voltage(3200, 0.5)
    assert_allclose(found.light_share, 0.0947, atol=5e-5)
    assert_allclose(found.cct_kelvin, 2392.0, atol=1.0)
    assert_allclose(found.watts_share, 0.344, atol=5e-4)
    assert not found.extrapolated
    assert s.lamp_at_voltage(3200, 0.4).extrapolated
    full = s.lamp_at_voltage(2700, 1.0)
    assert (full.light_share, full.cct_kelvin) == (1.0, 2700.0)


def test_lamp_there_and_back() -> None:
    for light_share in (0.02, 0.25, 1.0, 1.5):
        found = s.lamp_at_light(3000, light_share)
        assert_allclose(found.light_share, light_share, rtol=1e-9)
        assert_allclose(s.light_at_kelvin(3000, found.cct_kelvin), light_share, rtol=1e-9)


def test_exponents_agree_with_planck_s_law() -> None:
    """pencil: a filament's light goes as its luminance; a third of a stop from 3200 to 2700 K.

    An independent witness: the handbooks' exponents are of lamps, Planck's law is of black bodies.
    """
    by_lamp = s.light_at_kelvin(3200, 2700)
    by_planck = s.planckian_luminance_nit(2700) / s.planckian_luminance_nit(3200)
    assert abs(math.log2(by_lamp / by_planck)) < 1.0 / 3.0


def test_next_to_no_light_stays_at_the_coolest() -> None:
    assert s.lamp_at_light(3200, 1e-9).cct_kelvin == 1000.0


@pytest.mark.parametrize(
    ("rated_kelvin", "share"), [(5600, 0.5), (3200, 0.0), (3200, 2.0), (1000, 0.5)]
)
def test_lamps_that_there_are_not(rated_kelvin: float, share: float) -> None:
    with pytest.raises(FalloffError):
        s.lamp_at_voltage(rated_kelvin, share)
    with pytest.raises(FalloffError):
        s.lamp_at_light(rated_kelvin, share)


def test_a_colour_that_dimming_does_not_reach() -> None:
    with pytest.raises(FalloffError, match="cannot be dimmed to this colour"):
        s.light_at_kelvin(3200, 5600)
