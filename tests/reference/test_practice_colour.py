"""Questions about the colour of light that people ask who light small shoots.

Source: practitioners' cases gathered from public pages and forums; the numbers beside each are the
case's own, or physics by pencil where it says so. Each is held to the tolerance that it states.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum as s

WITHIN_MIRED = 20.0  # C38's tolerance, and that of the generic gel families


def known(found: s.ColourTemperature) -> float:
    """The kelvin, where there must be one."""
    assert found.cct_kelvin is not None
    return float(found.cct_kelvin)


# C19: tungsten kit in a daylight room: gel the lamps or the window? ------------------------


@pytest.mark.parametrize(
    ("name", "least_stops", "most_stops"),
    # the case: full blue 1.5 to 2 stops, half blue about 1, full orange 2/3 to 1.1
    [("full blue", 1.5, 2.0), ("half blue", 0.8, 1.2), ("full orange", 2.0 / 3.0, 1.1)],
)
def test_what_gels_cost(name: str, least_stops: float, most_stops: float) -> None:
    lost = s.apply_gel(s.light_of_kelvin(3200 if "blue" in name else 5600), s.find_gel(name))
    assert least_stops <= lost.loss_stops <= most_stops


@pytest.mark.parametrize(
    ("name", "shift_mired", "to_kelvin"), [("half blue", -80, 4300), ("full blue", -137, 5700)]
)
def test_blue_on_tungsten(name: str, shift_mired: float, to_kelvin: float) -> None:
    """C19: 3200 to 4300 K is -80 mired, 3200 to 5700 K is -137; makers stray by 20."""
    assert_allclose(1e6 / to_kelvin - 1e6 / 3200, shift_mired, atol=0.5)  # pencil
    for light in (s.light_of_kelvin(3200), s.light_of_spectrum(s.planckian(3200))):
        after = s.apply_gel(light, s.find_gel(name))
        assert after.shift is not None
        assert_allclose(after.shift.shift_mired, shift_mired, atol=WITHIN_MIRED)
        assert_allclose(1e6 / known(after.light.temperature), 1e6 / to_kelvin, atol=WITHIN_MIRED)


def test_half_blue_still_reads_warm_by_the_window() -> None:
    """C19: a half-gelled lamp against a 5600 K window still reads +54 mired warm."""
    half = s.apply_gel(s.light_of_spectrum(s.planckian(3200)), s.find_gel("half blue"))
    left = s.distance_from_balance(half.light, 5600)
    assert_allclose(left.shift_mired, 54.0, atol=WITHIN_MIRED)
    # pencil, exact: with the case's own -80 mired there are +53.9 left.
    measured = s.gel_of_figures("own half blue", s.GelFigures(shift_mired=-79.94, loss_stops=1.0))
    exact = s.distance_from_balance(s.apply_gel(s.light_of_kelvin(3200), measured).light, 5600)
    assert_allclose(exact.shift_mired, 53.99, atol=0.01)


def test_gel_the_lamp_or_the_window() -> None:
    """C19: the two ways to one colour, with what each costs and leaves."""
    lamp, window = s.light_of_kelvin(3200), s.light_of_kelvin(5600)
    on_lamp, on_window = s.gel_choices(lamp, window)[0], s.gel_choices(window, lamp)[0]
    assert [gel.name for gel in on_lamp.gels] == ["full blue"]
    assert "full orange" in [gel.name for gel in on_window.gels]
    assert abs(on_lamp.residual.shift_mired) <= 5.0
    assert abs(on_window.residual.shift_mired) <= WITHIN_MIRED
    assert on_lamp.result.loss_stops > on_window.result.loss_stops  # blue costs more than orange


def test_orange_with_density_for_a_window() -> None:
    """C19: combined sheets; a density of 0.6 is two stops (pencil: 0.6/log10 2 = 1.993)."""
    day = s.light_of_spectrum(s.daylight_phase(5600))
    plain = s.apply_gel(day, s.find_gel("full orange"))
    thick = s.apply_gel(day, s.find_gel("full orange neutral 0.6"))
    assert_allclose(thick.loss_stops - plain.loss_stops, 0.6 / np.log10(2.0), atol=0.05)
    assert_allclose(thick.light.xy, plain.light.xy, atol=1e-6)


# C36: window, practicals, one white balance ---------------------------------------------------


def test_how_far_each_is_from_the_balance() -> None:
    """pencil: in mired, 10⁶/T less 10⁶/4300: window −54, practical +137.8, studio lamp +79.9."""
    for cct_kelvin, expected in ((5600, -53.99), (2700, 137.81), (3200, 79.94)):
        found = s.distance_from_balance(s.light_of_kelvin(cct_kelvin), 4300)
        assert_allclose(found.shift_mired, expected, atol=0.02)


def test_dimmed_practical_goes_warmer() -> None:
    """C36's choice of a dim: two stops down, 2700 K falls to 2700·0.25^(0.42/3.4) = 2275 K."""
    dimmed = s.lamp_at_light(2700, 0.25)
    assert_allclose(dimmed.cct_kelvin, 2275.0, atol=1.0)  # pencil, with the handbooks' exponents
    full = s.distance_from_balance(s.light_of_kelvin(2700), 5600)
    low = s.distance_from_balance(s.light_of_kelvin(dimmed.cct_kelvin), 5600)
    assert_allclose(low.shift_mired - full.shift_mired, 1e6 / 2275 - 1e6 / 2700, atol=0.5)


def test_gels_for_one_balance_with_losses() -> None:
    """C36: a 2700 K practical towards 4300 K: about a full blue's shift, told with its loss."""
    best = s.gel_choices(s.light_of_kelvin(2700), s.light_of_kelvin(4300))[0]
    assert abs(best.residual.shift_mired) <= WITHIN_MIRED
    assert 1.0 <= best.result.loss_stops <= 2.3
    assert best.result.spread_stops > 0.0


# C37: daylight discharge head or tungsten with blue? --------------------------------------------


def test_discharge_against_gelled_tungsten() -> None:
    """C37: 2 stops of efficacy and 1.5 to 2 of gel: 3.5 to 4 stops, ±0.5; 1.2 kW is 14 to 19 kW."""
    gel = s.apply_gel(s.light_of_spectrum(s.planckian(3200)), s.find_gel("full blue"))
    gained_stops = 2.0 + gel.loss_stops  # the case: four times the light for each watt
    assert 3.5 <= gained_stops <= 4.0
    assert 14.0 <= 1.2 * 2.0**gained_stops <= 19.0
    discharge = s.light_of_spectrum(s.daylight_discharge(5600))
    apart = s.colour_shift(discharge, gel.light)
    assert abs(apart.shift_mired) <= WITHIN_MIRED


# C38: unbleached muslin turned the key warm ----------------------------------------------------


@pytest.mark.parametrize("name", ["unbleached muslin", "unbleached muslin, off it"])
def test_unbleached_muslin(name: str) -> None:
    """C38: a 5600 K lamp lands near 4000 K, +71 mired, ±20; twice doubles it."""
    lamp, cloth = s.light_of_spectrum(s.daylight_phase(5600)), s.generic_surfaces()[name]
    once, twice = s.after_surface(lamp, cloth), s.after_surface(lamp, cloth, times=2)
    assert once.shift is not None
    assert twice.shift is not None
    assert_allclose(once.shift.shift_mired, 71.0, atol=WITHIN_MIRED)
    assert_allclose(1e6 / known(once.light.temperature), 1e6 / 4000.0, atol=WITHIN_MIRED)
    assert_allclose(twice.shift.shift_mired, 2.0 * once.shift.shift_mired, atol=WITHIN_MIRED)
    assert_allclose(twice.shift.shift_mired, 142.0, atol=2.0 * WITHIN_MIRED)


def test_patchwork_and_bleached() -> None:
    """C38: bleached and tinted squares near 5000 K, +21 mired, ±20; bleached keeps the colour."""
    lamp, cloths = s.light_of_spectrum(s.daylight_phase(5600)), s.generic_surfaces()
    raw, white = cloths["unbleached muslin"], cloths["bleached muslin"]
    sewn = s.after_surface(lamp, s.patchwork("squares", [(raw, 1.0), (white, 1.0)]))
    plain = s.after_surface(lamp, white)
    assert sewn.shift is not None
    assert plain.shift is not None
    assert_allclose(sewn.shift.shift_mired, 21.0, atol=WITHIN_MIRED)
    assert_allclose(plain.shift.shift_mired, 0.0, atol=WITHIN_MIRED)
    # the case: both about two stops in transmission, so that they differ in colour only
    lost = [-np.log2(s.after_surface(lamp, one).light_share) for one in (raw, white)]
    assert_allclose(lost, (2.0, 2.0), atol=0.25)


@pytest.mark.parametrize(
    ("name", "warm", "green"),
    # common practice, no source: which way each is known to throw its colour
    [("grass", None, True), ("red brick", True, False), ("pine boards", True, None)],
)
def test_casts_of_the_ground(name: str, warm: bool | None, green: bool | None) -> None:
    cast = s.after_surface(s.light_of_spectrum(s.illuminant("D55")), s.generic_surfaces()[name])
    assert cast.shift is not None
    if warm is not None:
        assert (cast.shift.shift_mired > 50.0) == warm
    if green is not None:
        assert (cast.shift.green_cc > 10.0) == green


# C39: office with green ceiling tubes ------------------------------------------------------------


def dye(width_nm: float, density: float, *, plus: bool) -> np.ndarray:
    """pencil: a dye's band at 545 nm by its density; plus green leaves it out."""
    band = np.exp(-4.0 * np.log(2.0) * ((s.GRID_NM - 545.0) / width_nm) ** 2)
    return np.asarray(10.0 ** -(density * (1.0 - band if plus else band)))


@pytest.mark.parametrize("name", ["A", "D55"])
@pytest.mark.parametrize("width_nm", [80.0, 100.0, 110.0])
@pytest.mark.parametrize("cc", [30.0, 15.0, 8.0])
@pytest.mark.parametrize("plus", [True, False])
def test_green_axis_in_cc(name: str, width_nm: float, cc: float, plus: bool) -> None:
    """C39: full, half and quarter gels are 30, 15 and 8 CC; ±5 CC on any light, for any dye."""
    light = s.light_of_spectrum(s.illuminant(name))
    curve = dye(width_nm, cc / 100.0, plus=plus)
    assert light.spectrum is not None
    shift = s.colour_shift(light, s.light_of_spectrum(s.through(light.spectrum, curve)))
    assert_allclose(shift.green_cc, cc if plus else -cc, atol=5.0)


@pytest.mark.parametrize(
    ("name", "cc"),
    [("full plus green", 30.0), ("half plus green", 15.0), ("quarter plus green", 8.0),
     ("full minus green", -30.0), ("half minus green", -15.0), ("quarter minus green", -8.0)],
)  # fmt: skip
def test_green_gels(name: str, cc: float) -> None:
    """C39: ±5 CC, and a full plus green costs a lamp a third to half a stop."""
    for light in (s.light_of_spectrum(s.planckian(3200)), s.light_of_spectrum(s.illuminant("D55"))):
        found = s.apply_gel(light, s.find_gel(name))
        assert found.shift is not None
        assert_allclose(found.shift.green_cc, cc, atol=5.0)
        if name == "full plus green":
            assert 1.0 / 3.0 <= found.loss_stops <= 0.5


def test_match_the_tubes_or_correct_them() -> None:
    """C39: plus green on the added lamp when tubes are too many, or minus green on the tubes."""
    tubes = s.light_of_spectrum(s.steered(s.tube("cool white tube"), 4200.0, duv=0.014))
    lamp = s.light_of_kelvin(4200, 0.0)
    match = s.gel_choices(lamp, tubes)[0]
    assert any(gel.figures.green_share > 0.0 for gel in match.gels)
    assert abs(match.residual.green_cc) <= 5.0
    correct = s.gel_choices(tubes, lamp)[0]
    assert any(gel.figures.green_share < 0.0 for gel in correct.gels)
    assert abs(correct.residual.green_cc) <= 5.0
    # "then correct in camera": a balance taken on a card under them leaves nothing.
    neutral = s.white_balance_of_xy(tubes.xy) @ s.colour_of_xy(tubes.xy)
    assert_allclose(neutral, np.ones(3), atol=2e-6)
    # kelvin alone cannot describe it: a balance of 4200 K leaves the green.
    left = s.white_balance(4200) @ s.colour_of_xy(tubes.xy)
    assert left[1] > 1.02 * left[0]
    assert left[1] > 1.02 * left[2]
