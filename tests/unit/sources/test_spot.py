"""Profile spots and their shutters, Fresnels from spot to flood."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.errors import GeometryError
from falloff.photometry import beam_angle_rad
from falloff.photometry.web import IntensityWeb, web_beam_angle_rad, web_flux_lm, web_intensity
from falloff.sources import Shutter, Shutters, fresnel_beam, profile_spot

BEAM = math.radians(26.0)
RIM = math.tan(0.5 * BEAM)


def seen(web: IntensityWeb, left: float, up: float) -> float:
    """Candela at a place of the beam, in half widths of it, left and up from behind."""
    return float(web_intensity(web, np.array([[left * RIM, up * RIM, 1.0]]))[0])


@pytest.mark.parametrize("softness", [0.0, 0.1, 0.5])
def test_open_gate_has_its_beam_angle_and_flux(softness: float) -> None:
    web = profile_spot(BEAM, flux_lm=4000.0, edge_softness_share=softness)
    assert_allclose(web_flux_lm(web), 4000.0, rtol=1e-12)
    assert_allclose(web_beam_angle_rad(web), BEAM, rtol=2e-3)  # pencil: half at the rim


def test_even_field_of_a_hard_spot() -> None:
    """pencil: an even field within the cone, Φ = 2π I (1 − cos β/2)."""
    web = profile_spot(BEAM, flux_lm=4000.0)
    assert_allclose(
        seen(web, 0.3, 0.2), 4000.0 / (2.0 * math.pi * (1.0 - math.cos(BEAM / 2.0))), rtol=2e-3
    )


def test_hard_edge_is_a_tenth_of_a_degree() -> None:
    """From nine tenths to one tenth, at the rim and at a shutter."""
    rim = profile_spot(BEAM, flux_lm=1.0)
    cut = profile_spot(BEAM, flux_lm=1.0, shutters=Shutters(top=Shutter(0.4, 0.3)))
    for web, aside in ((rim, 0.0), (cut, 0.0), (cut, 0.4)):
        angle = np.radians(np.linspace(-13.5, 2.0, 15_501))  # down the beam, aside of its middle
        way = np.stack(
            [np.full_like(angle, aside * RIM), np.tan(angle), np.ones_like(angle)], axis=1
        )
        level = web_intensity(web, way) / seen(web, 0.0, 0.3)
        tenth = angle[np.flatnonzero(level >= 0.1)[0]]
        most = angle[np.flatnonzero(level >= 0.9)[0]]
        assert 0.0 < math.degrees(most - tenth) <= 0.1


@pytest.mark.parametrize(
    ("name", "dark", "bright"),
    [
        ("top", (0.0, -0.8), (0.0, 0.8)),
        ("bottom", (0.0, 0.8), (0.0, -0.8)),
        ("left", (-0.8, 0.0), (0.8, 0.0)),
        ("right", (0.8, 0.0), (-0.8, 0.0)),
    ],
)
def test_shutter_cuts_the_other_side(
    name: str, dark: tuple[float, float], bright: tuple[float, float]
) -> None:
    """The lens turns the gate over: what goes in at the top darkens the bottom."""
    web = profile_spot(BEAM, flux_lm=100.0, shutters=Shutters(**{name: Shutter(0.3)}))
    whole = profile_spot(BEAM, flux_lm=100.0)
    assert seen(web, *dark) == 0.0
    assert_allclose(seen(web, *bright), seen(whole, *bright), rtol=1e-3)  # pencil: as it was


def test_shutter_to_the_middle_halves_the_flux() -> None:
    web = profile_spot(BEAM, flux_lm=100.0, shutters=Shutters(left=Shutter(0.5)))
    assert_allclose(web_flux_lm(web), 50.0, rtol=2e-3)  # pencil: by symmetry
    tilted = profile_spot(BEAM, flux_lm=100.0, shutters=Shutters(left=Shutter(0.5, 0.7)))
    assert_allclose(web_flux_lm(tilted), 50.0, rtol=2e-3)  # pencil: any line through the middle


def test_shutter_turns_anticlockwise_from_behind() -> None:
    """pencil: the top shutter to the middle, its edge level; turned so that the edge rises right.

    Anticlockwise from behind lifts the edge's right end at the gate: gate above it is covered, so
    to the right only the top stays covered. In the beam, turned over, the left end goes down.
    """
    web = profile_spot(BEAM, flux_lm=100.0, shutters=Shutters(top=Shutter(0.5, math.radians(30))))
    slope = math.tan(math.radians(30.0))
    # The edge in the beam is the same line turned by half a turn: rises to the right all the same.
    for left in (-0.5, 0.5):
        edge_up = -left * slope
        assert seen(web, left, edge_up + 0.1) > 0.0
        assert seen(web, left, edge_up - 0.1) == 0.0


def test_four_shutters_leave_a_square() -> None:
    four = Shutters(Shutter(0.25), Shutter(0.25), Shutter(0.25), Shutter(0.25))
    web = profile_spot(BEAM, flux_lm=100.0, shutters=four)
    whole = profile_spot(BEAM, flux_lm=100.0)
    # pencil: solid angle of a square of slope half RIM over that of the cone
    half = 0.5 * RIM
    square = 4.0 * math.asin(half**2 / (1.0 + half**2))
    cone = 2.0 * math.pi * (1.0 - math.cos(BEAM / 2.0))
    assert_allclose(web_flux_lm(web) / web_flux_lm(whole), square / cone, rtol=3e-3)


def test_shutters_that_meet_leave_nothing() -> None:
    with pytest.raises(GeometryError, match="nothing through"):
        profile_spot(BEAM, flux_lm=1.0, shutters=Shutters(Shutter(0.6), Shutter(0.6)))


@pytest.mark.parametrize(
    ("changes", "what"),
    [
        ({"beam_angle_rad": 3.0}, "beam angle"),
        ({"edge_softness_share": 1.5}, "edge"),
        ({"shutters": Shutters(top=Shutter(1.2))}, "depth"),
        ({"shutters": Shutters(left=Shutter(0.2, 2.0))}, "tilt"),
    ],
)
def test_impossible_spots_are_refused(changes: dict[str, object], what: str) -> None:
    with pytest.raises(GeometryError, match=what):
        profile_spot(**({"beam_angle_rad": BEAM, "flux_lm": 1.0} | changes))  # type: ignore[arg-type]


@pytest.mark.parametrize("degrees", [10.0, 25.0, 40.0, 60.0])
def test_fresnel_has_the_beam_it_is_set_to(degrees: float) -> None:
    found = fresnel_beam(
        math.radians(degrees), spot_rad=math.radians(10.0), flood_rad=math.radians(60.0)
    )
    assert_allclose(math.degrees(beam_angle_rad(found)), degrees, rtol=5e-3)


def test_fresnel_gains_on_the_axis_towards_spot() -> None:
    on_axis = [
        fresnel_beam(math.radians(d), spot_rad=0.15, flood_rad=1.1).candela_per_lumen[0]
        for d in (10.0, 20.0, 40.0, 60.0)
    ]
    assert sorted(on_axis, reverse=True) == on_axis


@pytest.mark.parametrize("degrees", [5.0, 70.0])
def test_fresnel_stays_between_its_ends(degrees: float) -> None:
    with pytest.raises(GeometryError, match="Fresnel"):
        fresnel_beam(math.radians(degrees), spot_rad=0.15, flood_rad=1.1)
