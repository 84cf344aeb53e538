"""White LEDs, discharge heads, tubes, colour-mixing heads, and the camera's tint."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum as s
from falloff.errors import FalloffError


def known(found: s.ColourTemperature) -> float:
    """The kelvin, where there must be one."""
    assert found.cct_kelvin is not None
    return float(found.cct_kelvin)


@pytest.mark.parametrize("grade", ["ordinary", "good"])
@pytest.mark.parametrize("cct_kelvin", [1800, 2700, 3200, 4300, 5600, 6500, 10000])
@pytest.mark.parametrize("duv", [-0.006, 0.0, 0.003])
def test_white_led_is_of_the_colour_asked_for(
    cct_kelvin: float, duv: float, grade: s.LedGrade
) -> None:
    """pencil: three bands, three equations."""
    found = s.cct_duv(s.white_led(cct_kelvin, duv, grade=grade))
    assert_allclose(known(found), cct_kelvin, rtol=1e-6)
    assert_allclose(found.duv, duv, atol=1e-8)


def test_grades_render_as_they_say() -> None:
    """Common practice, no source: good heads have Ra over 90, ordinary lamps 70 to 85."""
    for cct_kelvin in (2700, 3200, 4000, 5600, 6500, 10000):
        good, ordinary = (
            s.colour_rendering(s.white_led(cct_kelvin, grade=grade))
            for grade in ("good", "ordinary")
        )
        assert good is not None
        assert ordinary is not None
        assert good.ra > 90.0
        assert good.special[8] > 50.0
        assert 70.0 < ordinary.ra < 85.0


def test_white_led_is_like_a_measured_one() -> None:
    """source: CIE 015:2018, LED-B3, a measured phosphor LED: luminous efficacy of radiation.

    Within a tenth: the generic one is no product.
    """
    measured = s.illuminant("LED-B3")
    told = s.cct_duv(measured)
    assert told.cct_kelvin is not None
    ours = s.white_led(told.cct_kelvin, told.duv, grade="ordinary")
    assert_allclose(
        s.visible_efficacy_lm_per_w(ours), s.visible_efficacy_lm_per_w(measured), rtol=0.1
    )


def test_colours_that_no_white_led_has() -> None:
    with pytest.raises(FalloffError, match="a good white LED cannot be of this colour"):
        s.white_led(1100)
    with pytest.raises(FalloffError, match="no such grade of LED"):
        s.white_led(5600, grade="best")  # type: ignore[arg-type]


@pytest.mark.parametrize(("cct_kelvin", "duv"), [(5600, 0.003), (6000, -0.004), (5200, 0.008)])
def test_discharge_head(cct_kelvin: float, duv: float) -> None:
    """Common practice, no source: Ra 85 to 95."""
    light = s.daylight_discharge(cct_kelvin, duv)
    found, rendering = s.cct_duv(light), s.colour_rendering(light)
    assert_allclose(known(found), cct_kelvin, rtol=1e-6)
    assert_allclose(found.duv, duv, atol=1e-7)
    assert rendering is not None
    assert 85.0 < rendering.ra < 95.0
    with pytest.raises(FalloffError, match="no daylight discharge head"):
        s.daylight_discharge(2000)


def test_tubes_are_the_illuminants() -> None:
    """source: CIE 015:2018: FL2 stands for cool white, FL11 for a three-band tube of 4000 K."""
    assert_allclose(s.tube("cool white tube").relative, s.illuminant("FL2").relative)
    assert_allclose(s.tube("three-band cool white tube").relative, s.illuminant("FL11").relative)
    with pytest.raises(FalloffError, match="no such tube"):
        s.tube("green tube")  # type: ignore[arg-type]


def test_a_measured_tube() -> None:
    """A kind that is known, drawn to the colour on the meter; its lines stay lines."""
    drawn = s.steered(s.tube("cool white tube"), 4000.0, duv=0.012)
    found = s.cct_duv(drawn)
    assert_allclose((known(found), found.duv), (4000.0, 0.012), rtol=1e-6)
    assert drawn.relative[435 - 360] > 3.0 * drawn.relative[450 - 360]
    assert "drawn from 4225 K" in drawn.source


# Colour-mixing heads ---------------------------------------------------------------------------

HEADS = [
    ("red", "green", "blue"),
    ("red", "green", "blue", "white"),
    ("red", "green", "blue", "amber", "lime", "white"),
]


@pytest.mark.parametrize("names", HEADS)
@pytest.mark.parametrize("wanted", [(0.4234, 0.399), (0.33, 0.345), (0.25, 0.15), (0.5, 0.3)])
def test_mix_has_the_colour(names: tuple[str, ...], wanted: tuple[float, float]) -> None:
    found = s.mix_emitters(s.generic_emitters(*names), wanted)
    assert found.distance == 0.0
    assert found.spectrum is not None
    assert_allclose(s.xy_of_spectrum(found.spectrum), wanted, atol=1e-8)
    assert found.drive_shares.min() >= 0.0
    assert found.drive_shares.max() == pytest.approx(1.0)  # else there were more light to be had
    assert_allclose(found.light_shares.sum(), 1.0, rtol=1e-12)
    assert found.loss_stops > 0.0


@pytest.mark.parametrize("wanted", [(0.4234, 0.399), (0.33, 0.345), (0.25, 0.15)])
def test_no_mix_is_brighter(wanted: tuple[float, float]) -> None:
    """source: scipy, the same linear programme solved by its own method."""
    optimize = pytest.importorskip("scipy.optimize")
    for names in HEADS:
        head = s.generic_emitters(*names)
        flux = np.array([one.full_flux_share for one in head])
        pulls = np.array([flux * [(one.xy[axis] - wanted[axis]) / one.xy[1] for one in head]
                          for axis in (0, 1)])  # fmt: skip
        told = optimize.linprog(-flux, A_eq=pulls, b_eq=[0.0, 0.0], bounds=(0.0, 1.0))
        found = s.mix_emitters(head, wanted)
        assert_allclose(flux @ found.drive_shares, -told.fun, rtol=1e-7)


def test_emitter_alone_and_two_alone() -> None:
    """pencil: an emitter's own colour is itself at full; half of X+Y+Z each lies half way."""
    head = s.generic_emitters("red", "green", "blue")
    assert_allclose(s.mix_emitters(head, head[0].xy).drive_shares, (1.0, 0.0, 0.0), atol=1e-6)
    pair = [
        s.Emitter("one", np.array([0.6, 0.3]), 3.0),
        s.Emitter("two", np.array([0.2, 0.3]), 6.0),
    ]
    half = s.mix_emitters(pair, (0.4, 0.3))
    # equal y: equal light; the second has twice as much, so it runs at half
    assert_allclose(half.drive_shares, (1.0, 0.5), atol=1e-9)
    assert_allclose(half.loss_stops, np.log2(9.0 / 6.0), rtol=1e-9)


@pytest.mark.parametrize("names", HEADS)
@pytest.mark.parametrize("wanted", [(0.1, 0.8), (0.735, 0.262), (0.16, 0.01), (0.05, 0.35)])
def test_unreachable_colours_get_the_nearest(
    names: tuple[str, ...], wanted: tuple[float, float]
) -> None:
    """pencil: no point of a fine net of mixes is nearer in u′, v′, and the told one is reached."""
    head = s.generic_emitters(*names)
    found = s.mix_emitters(head, wanted)
    assert found.distance > 0.0
    assert found.spectrum is not None
    assert_allclose(s.xy_of_spectrum(found.spectrum), found.xy, atol=1e-7)
    target = s.uv_1976_from_xy(wanted)
    for one, other in itertools.combinations(head, 2):
        line = np.linspace(0.0, 1.0, 400)[:, np.newaxis]
        points = one.xy + line * (other.xy - one.xy)
        away = np.hypot(*(s.uv_1976_from_xy(points) - target).T)
        assert found.distance <= away.min() + 1e-9


def test_white_emitter_helps_white() -> None:
    """Common practice, no source: white in the head makes white light fuller and renders better."""
    three, four = (s.mix_emitters(s.generic_emitters(*names), (0.33, 0.345)) for names in HEADS[:2])
    ra = [s.colour_rendering(mix.spectrum) for mix in (three, four)]
    assert ra[0] is not None
    assert ra[1] is not None
    assert ra[1].ra > ra[0].ra + 20.0


def test_heads_that_there_are_not() -> None:
    with pytest.raises(FalloffError, match="no such emitter"):
        s.generic_emitters("ultraviolet")
    one = s.generic_emitters("red")
    with pytest.raises(FalloffError, match="no colour-mixing head"):
        s.mix_emitters(one, (0.33, 0.33))
    dark = s.Emitter("dark", np.array([0.3, 0.3]), 0.0)
    with pytest.raises(FalloffError, match="no colour-mixing head"):
        s.mix_emitters([*one, dark], (0.33, 0.33))


# The camera's balance ----------------------------------------------------------------------------


def test_balance_on_a_card() -> None:
    """pencil: what was measured becomes neutral and keeps its luminance; 2e-6, rounded weights."""
    for xy in ((0.40, 0.42), (0.30, 0.29)):
        assert_allclose(s.white_balance_of_xy(xy) @ s.colour_of_xy(xy), np.ones(3), atol=2e-6)


def test_balance_by_kelvin_is_balance_by_its_xy() -> None:
    assert_allclose(s.white_balance(3200), s.white_balance_of_xy(s.xy_of_kelvin(3200)), atol=1e-12)
    assert_allclose(s.white_balance(3200, tint_duv=0.0), s.white_balance(3200), atol=0.0)


def test_tint_takes_green_out() -> None:
    """pencil: a light that is greener by so much is neutral under a balance tinted by so much."""
    green = s.xy_of_cct_duv(3200, 0.01)
    assert_allclose(
        s.white_balance(3200, tint_duv=0.01) @ s.colour_of_xy(green), np.ones(3), atol=2e-6
    )
    grey = s.white_balance(3200, tint_duv=0.01) @ s.colour_of_kelvin(3200)
    assert grey[1] < min(grey[0], grey[2])  # untinted light goes magenta
    with pytest.raises(FalloffError):
        s.white_balance(3200, tint_duv=0.2)
