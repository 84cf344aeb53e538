"""What lights, grip, shades and the sun do at a meter, against numbers worked by hand."""

from __future__ import annotations

import math

import numpy as np
from numpy.testing import assert_allclose
from tests.unit.stage.lit_rooms import fixture, stage_of

from falloff.camera import CameraSettings
from falloff.layers import trace_layers
from falloff.readings import Reading, SetupLight, take_readings

SETTINGS = CameraSettings(t_number=4.0, iso=400.0, exposure_time_s=1.0 / 48.0)
CAMERA = "cameras:\n  A: {at: [3 m, 0.4 m, 1.4 m], aim: [3 m, 4 m, 1.4 m], lens: 35 mm}\n"
PANEL = "light: panel, size: [10 cm, 10 cm]"
AHEAD = "  ahead: {at: [3 m, 3 m, 1.5 m], normal: [0, -1, 0]}\n"
FLAT = "size: [1 m, 1 m], at: [3 m, 2 m, 1.5 m], aim: [3 m, 4 m, 1.5 m]"


def read(sections: str, wanted: str, setup: SetupLight | None = None) -> dict[str, Reading]:
    """Readings in a room that gives nothing back."""
    stage = stage_of(f"{sections}{CAMERA}readings:\n{wanted}", surface="pitch")
    layers = trace_layers(stage, sizes={})
    taken = take_readings(layers, setup or SetupLight("ONE", "A", SETTINGS, {}))
    return {one.name: one for one in taken.readings}


def grip(said: str) -> str:
    return f"grip:\n  FLAT: {{{said}, {FLAT}}}\n"


def test_a_net_takes_its_stops_and_a_solid_all() -> None:
    bare = read(fixture(PANEL), AHEAD)["ahead"].value
    # pencil: 1000 lm over π is the intensity straight ahead, at 2 m; 10 cm wide is near a point
    assert_allclose(bare, 1000.0 / math.pi / 4.0, rtol=2e-3)
    net = read(fixture(PANEL) + grip("kind: net, loss: 1 stop"), AHEAD)["ahead"]
    assert_allclose(net.direct, 0.5 * bare, rtol=2e-3)
    solid = read(fixture(PANEL) + grip("kind: solid"), AHEAD)["ahead"]
    assert solid.value <= 1e-6 * bare


def test_a_silk_before_a_small_light_is_a_light_of_its_own() -> None:
    fabric = "{straight: 0, scattered: 0.4, reflected: 0.4}"
    found = read(fixture(PANEL) + grip(f"kind: frame, fabric: {fabric}"), AHEAD)["ahead"]
    side = (np.arange(200) + 0.5) / 200.0 - 0.5
    x, z = np.meshgrid(side, side)
    # pencil: 1 m on either side of the silk, E = (1000/π) cos⁴ on it and (0.4/π) E cos⁴ from each
    # of its parts, cos² = 1/(1 + r²)
    cos_squared = 1.0 / (1.0 + x**2 + z**2)
    wanted = 0.4 / math.pi * 1000.0 / math.pi * float((cos_squared**4).mean())
    assert_allclose(found.value, wanted, rtol=0.02)
    assert found.direct <= 1e-6 * found.value


def test_a_barndoor_cuts_the_side_it_stands_on() -> None:
    sides = "".join(
        f"  {name}: {{at: [{x} m, 2.5 m, 1.5 m], normal: [0, -1, 0]}}\n"
        for name, x in (("left", 1.5), ("right", 4.5))
    )
    form = "light: open face, aperture: 10 cm, beam: 90 deg"
    plain = read(fixture(form), sides)
    cut = read(fixture(f"{form}, barndoors: {{left: 0 deg, length: 30 cm}}"), sides)
    # pencil: aimed along +y, left as seen from behind is −x; a leaf straight ahead hides all that
    # goes more than atan(0.1/0.3) = 18 deg left
    assert_allclose(plain["left"].direct, plain["right"].direct, rtol=1e-3)
    assert cut["left"].direct <= 1e-6 * plain["left"].direct
    assert_allclose(cut["right"].direct, plain["right"].direct, rtol=1e-3)


def test_a_bulb_shines_through_its_shade_and_out_below() -> None:
    fabric = "{straight: 0, scattered: 0.4, reflected: 0}"
    shade = f"{{top: 30 cm, bottom: 30 cm, height: 25 cm, fabric: {fabric}}}"
    found = read(
        f"practicals:\n  LIGHT: {{light: bulb in shade, shade: {shade}, output: 700 lm, "
        "colour: 6504 K, at: [3 m, 2 m, 1.4 m]}\n",
        "  on it: {at: [3 m, 1.8534 m, 1.4 m], instrument: spot}\n"
        "  under: {at: [3 m, 2 m, 0.4 m], normal: [0, 0, 1]}\n",
    )
    # pencil: the facet lies at π r cos 15° / (12 sin 15°) = 0.14657 m; E = 700/4π over its square
    inside = 700.0 / (4.0 * math.pi) / 0.14657**2
    assert_allclose(found["on it"].value, 0.4 * inside / math.pi, rtol=0.03)
    assert_allclose(found["under"].direct, 700.0 / (4.0 * math.pi), rtol=5e-3)  # pencil: at 1 m


def test_the_sun_falls_on_the_floor_inside_its_patch_only() -> None:
    sky = (
        "openings:\n  WINDOW: {wall: 1, along: 2 m, width: 2 m, sill: 1 m, height: 1.5 m}\n"
        "sky: {type: clear, outside: 10000 lx, sun: {altitude: 45 deg, azimuth: 180 deg, "
        "illuminance: 80000 lx}}\n"
    )
    spots = "".join(
        f"  {name}: {{at: [{x} m, 1.5 m, 0 m], normal: [0, 0, 1]}}\n"
        for name, x in (("lit", 3.0), ("dark", 1.0))
    )
    found = read(sky, spots)
    by_sun = {
        name: next(part.direct for part in one.parts if part.source == "sun")
        for name, one in found.items()
    }
    # pencil: 80000 sin 45°; the patch reaches from 0.8 to 2.3 m into the room, wide as the window
    assert_allclose(by_sun["lit"], 80000.0 * math.sin(math.radians(45.0)), rtol=5e-3)
    assert by_sun["dark"] == 0.0


def test_a_tint_changes_the_colour_of_one_source_alone() -> None:
    tint = np.array([1.2, 0.95, 0.684])
    plain = read(fixture(PANEL), AHEAD)["ahead"]
    setup = SetupLight("ONE", "A", SETTINGS, {"LIGHT": 0.5}, tints={"LIGHT": tint})
    warm = read(fixture(PANEL), AHEAD, setup)["ahead"]
    # pencil: half of it, times the tint's own luminance by BT.2020's weights (white light)
    factor = float(tint @ np.array([0.2627, 0.6780, 0.0593]))
    assert_allclose(warm.value, 0.5 * factor * plain.value, rtol=2e-3)
