"""Skies and the sun of a scene: how strong, where from, what is told."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import ROOM, document_of, source_of, stage_of, told_of

from falloff.document import instant_of, parse_document
from falloff.errors import DocumentError, GeometryError
from falloff.sources import SUN, opening_illuminance
from falloff.stage import skies_by_hour
from falloff.stage.openings import sky_holes
from falloff.stage.outdoors import clear_sun_lux, outdoors_of, toward_sun
from falloff.stage.places import Placer

WINDOW = "openings:\n  WINDOW: {wall: 1, along: 2 m, width: 2 m, sill: 1 m, height: 1 m}\n"


METERED = """cameras:
  WIDE: {at: [4 m, 3 m, 1.5 m], aim: [2 m, 1 m, 1 m], lens: 24 mm}
readings:
  floor: {at: [3 m, 1 m, 1 m], normal: [0, 0, 1]}
measured:
  noon: {reading: floor, value: 320 lx, lit: [sun]}
"""


def sky(said: str) -> str:
    return f"{WINDOW}sky: {{{said}}}\n"


@pytest.mark.parametrize(
    ("azimuth", "north", "way"),
    [
        # pencil: north up the plan (+y): south is −y, east is +x
        ("180 deg", "90 deg", (0.0, -1.0)),
        ("90 deg", "90 deg", (1.0, 0.0)),
        ("270 deg", "90 deg", (-1.0, 0.0)),
        # pencil: north along +x: east is then −y
        ("90 deg", "0 deg", (0.0, -1.0)),
    ],
)
def test_the_sun_stands_where_the_compass_says(
    azimuth: str, north: str, way: tuple[float, float]
) -> None:
    said = f"type: clear, outside: 10000 lx, north: {north}, "
    document = document_of(sky(f"{said}sun: {{altitude: 30 deg, azimuth: {azimuth}}}"))
    assert document.sky is not None
    found = toward_sun(document.sky)
    cosine = math.cos(math.radians(30.0))
    assert_allclose(found, [cosine * way[0], cosine * way[1], 0.5], atol=1e-12)


@pytest.mark.parametrize(
    "kind", ["overcast", "uniform", "broken cloud", "thin cloud", "clear", *map(str, range(1, 16))]
)
def test_the_sun_may_be_named_where_it_is_a_source(kind: str) -> None:
    """Of a sky with an hour: what a reading was lit by is refused where no such source is made."""
    hour = "location: {latitude: 51.5 N, longitude: 0.13 W, zone: Europe/London}\n"
    text = falloff_2(f"{hour}{sky(f'type: {kind}, at: 2026-06-21 13:40')}")
    document = parse_document(text, "hour.scene.yaml")
    instant = instant_of(document)
    assert instant is not None
    named = text + METERED
    if "sun" in {one.name for one in skies_by_hour(document)(instant, None).sources}:
        assert parse_document(named, "hour.scene.yaml").measured["noon"].lit == ("sun",)
    else:
        with pytest.raises(DocumentError, match="there is no source 'sun'"):
            parse_document(named, "hour.scene.yaml")


def falloff_2(sections: str) -> str:
    """The plain room as a scene that may have an hour."""
    return ROOM.replace("falloff: 1", "falloff: 2").replace("SURFACE", "plaster") + sections


def test_the_sun_brings_its_lux_through_the_hole() -> None:
    said = "type: clear, outside: 10000 lx, sun: {altitude: 30 deg, azimuth: 180 deg, "
    source = source_of(sky(f"{said}illuminance: 80000 lx}}"), "sun")
    assert source.kind == SUN
    # pencil: 2 m² seen at cos 30° from square
    assert_allclose(source.flux_lm, 80000.0 * 2.0 * math.cos(math.radians(30.0)), rtol=1e-9)


def test_the_sun_of_a_clear_day_from_its_turbidity() -> None:
    # pencil: overhead the air mass is 1 (0.99971 by the formula): 133800 e^(−0.3/1.0045)
    overhead = clear_sun_lux(0.5 * math.pi, turbidity=3.0)
    assert_allclose(overhead, 133_800.0 * math.exp(-0.3 / 1.0045), rtol=2e-4)
    # from memory: some 100 klx square to a high sun on a clear day, half of it at 15 degrees
    assert 90e3 < overhead < 110e3
    low = clear_sun_lux(math.radians(15.0), turbidity=3.0)
    assert 0.35 < low / overhead < 0.6


def test_a_sun_said_to_be_hidden_is_no_source() -> None:
    hidden = "sun: {altitude: 30 deg, azimuth: 180 deg, illuminance: 0 lx}"
    stage = stage_of(sky(f"type: clear, outside: 10000 lx, {hidden}"))
    assert [one.name for one in stage.sources] == ["WINDOW"]
    dull = stage_of(sky("type: 2, outside: 10000 lx, sun: {altitude: 30 deg, azimuth: 180 deg}"))
    assert [one.name for one in dull.sources] == ["WINDOW"]
    assert "only the sky shines" in told_of(dull, "sun")


def test_a_uniform_sky_is_its_lux_over_pi_everywhere() -> None:
    document = document_of(sky("type: uniform, outside: 10000 lx"))
    placer = Placer(document)
    assert document.sky is not None
    daylight = outdoors_of(placer, sky_holes(placer)).daylight
    assert_allclose(daylight.zenith_nit, 10000.0 / math.pi, rtol=2e-4)  # pencil: E = πL
    by_zenith = document_of(sky(f"type: 5, zenith: {10000.0 / math.pi} nit"))
    assert by_zenith.sky is not None
    other = outdoors_of(Placer(by_zenith), sky_holes(placer)).daylight
    assert_allclose(other.horizontal_lux, 10000.0, rtol=2e-4)


@pytest.mark.parametrize("kind", ["overcast", "clear", "7"])
def test_a_reading_at_the_glass_is_what_falls_on_it(kind: str) -> None:
    sun = "" if kind == "overcast" else ", sun: {altitude: 40 deg, azimuth: 200 deg}"
    at = "at_glass: {opening: WINDOW, reads: 9000 lx}"
    document = document_of(sky(f"type: {kind}, {at}{sun}"))
    placer = Placer(document)
    assert document.sky is not None
    (hole,) = sky_holes(placer)
    daylight = outdoors_of(placer, (hole,)).daylight
    middle = hole.corner + 0.5 * (hole.edge_u + hole.edge_v)
    inward = np.array([0.0, 1.0, 0.0])  # pencil: wall 1 lies along x, the room is above it
    assert_allclose(opening_illuminance(middle, inward, daylight), 9000.0, rtol=1e-9)


def test_a_reading_below_what_the_sun_alone_puts_there_is_a_fault() -> None:
    sun = "sun: {altitude: 60 deg, azimuth: 180 deg, illuminance: 90000 lx}"
    at = "at_glass: {opening: WINDOW, reads: 500 lx}"
    with pytest.raises(GeometryError, match="the sun alone puts more on the glass"):
        stage_of(sky(f"type: clear, {at}, {sun}"))


def test_nothing_else_may_be_called_sun_beside_it() -> None:
    said = "type: clear, outside: 10000 lx, sun: {altitude: 30 deg, azimuth: 180 deg}"
    light = "fixtures:\n  sun: {light: lantern, diameter: 20 cm, output: 1 lm, colour: 5600 K, "
    with pytest.raises(GeometryError, match="own sun"):
        stage_of(sky(said) + light + "at: [3 m, 3 m, 2 m]}\n")


def test_a_clear_sky_without_a_colour_is_told_to_be_bluer() -> None:
    said = "type: clear, outside: 10000 lx, sun: {altitude: 30 deg, azimuth: 180 deg}"
    assert "bluer" in told_of(stage_of(sky(said)), "sky")
    assert "bluer" not in told_of(stage_of(sky(f"{said}, colour: 11000 K")), "sky")
    assert "bluer" not in told_of(stage_of(sky("type: uniform, outside: 10000 lx")), "sky")
