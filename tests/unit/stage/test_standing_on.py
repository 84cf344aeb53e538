"""What is placed by its middle and stands on a table stands on it with its lowest point."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import document_of, stage_of

from falloff.stage.places import Placer

TABLE = (
    "props:\n  TABLE: {shape: table, at: [3 m, 2.5 m], size: [50 cm, 50 cm, 60 cm], surface: oak}\n"
)
ON = "at: {on: TABLE, offset: [5 cm, 0 cm]}"
WARM = "output: 600 lm, colour: 2700 K"
AHEAD = "aim: [0.05 m, 2.5 m, 0.75 m]"
SHADE = "shade: {top: 20 cm, bottom: 35 cm, height: 25 cm, fabric: bleached muslin}"


@pytest.mark.parametrize(
    ("section", "form", "middle_m", "within_m"),
    [
        # pencil: half a height, or a radius, over a table top at 0.6 m
        ("practicals", f"light: bulb in shade, {SHADE}, {WARM}", 0.725, 1e-5),
        ("practicals", f"light: globe, diameter: 20 cm, {WARM}", 0.7, 1e-3),
        ("practicals", "light: candle", 0.61, 1e-3),
        # as high as it is level with what it is aimed at, so that it is upright
        ("practicals", f"light: screen, size: [40 cm, 30 cm], luminance: 200 nit, colour: 6500 K, "
         f"{AHEAD}", 0.75, 1e-3),
        ("practicals", f"light: tube, length: 60 cm, diameter: 4 cm, roll: 90 deg, {WARM}, "
         "aim: [0.05 m, 2.5 m, 0.9 m]", 0.9, 6e-3),
        ("practicals", f"light: tube, length: 60 cm, diameter: 4 cm, {WARM}, {AHEAD}", 0.62, 2e-3),
        ("fixtures", f"light: panel, size: [40 cm, 20 cm], {WARM}, aim: [0.05 m, 2.5 m, 0.7 m]",
         0.7, 3e-3),
        ("grip", f"kind: bounce, size: [40 cm, 30 cm], {AHEAD}", 0.75, 1e-3),
    ],
)  # fmt: skip
def test_its_middle_is_half_its_height_over_the_top(
    section: str, form: str, middle_m: float, within_m: float
) -> None:
    document = document_of(f"{TABLE}{section}:\n  LAMP: {{{form}, {ON}}}\n")
    found = Placer(document).origin("LAMP")
    assert_allclose(found[:2], [3.05, 2.5], atol=1e-9)
    assert_allclose(found[2], middle_m, atol=within_m)


def test_nothing_of_a_lampshade_is_in_the_table() -> None:
    lamp = f"practicals:\n  LAMP: {{light: bulb in shade, {SHADE}, {WARM}, at: {{on: TABLE}}}}\n"
    stage = stage_of(TABLE + lamp)
    sheets = stage.surfaces.sheets
    low = sheets[:, 2] + sheets[:, [5, 8]].clip(max=0.0).sum(1)
    # pencil: the shade of 25 cm reaches from the top of the table at 60 cm to 85 cm
    assert_allclose(low.min(), 0.6, atol=1e-5)
    assert_allclose((sheets[:, 2] + sheets[:, [5, 8]].clip(min=0.0).sum(1)).max(), 0.85, atol=1e-5)
    # and the bulb, which shines from its middle, is 12.5 cm over it
    (source,) = stage.sources
    assert_allclose(source.shape[:3], [3.0, 2.5, 0.725], atol=1e-5)


def test_what_is_placed_by_a_lamp_and_aimed_at_it_follows() -> None:
    lamp = f"practicals:\n  LAMP: {{light: bulb in shade, {SHADE}, {WARM}, at: {{on: TABLE}}}}\n"
    key = (
        "fixtures:\n  KEY: {light: open face, aperture: 12 cm, beam: 40 deg, "
        "output: 900 lm, colour: 3200 K, at: [1 m, 2.5 m, 0.725 m], aim: LAMP}\n"
    )
    placer = Placer(document_of(TABLE + lamp + key))
    way = placer.aim_direction(placer.origin("KEY"), placer.document.fixtures["KEY"].aim)  # type: ignore[arg-type]
    assert_allclose(way, [1.0, 0.0, 0.0], atol=1e-6)  # pencil: level, at the bulb


def test_one_that_its_stand_holds_stays_where_its_front_is_put() -> None:
    panel = f"light: panel, size: [40 cm, 20 cm], {WARM}, {AHEAD}"
    stand = f"fixtures:\n  LAMP: {{{panel}, stand: true, {ON}}}\n"
    assert_allclose(Placer(document_of(TABLE + stand)).origin("LAMP")[2], 0.6, atol=1e-9)
