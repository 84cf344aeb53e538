"""The witness data judged by themselves: whole, sharp enough, and true to closed forms.

Expected values are pencil values worked out in the tests from the room's drawing. Renderings are
judged by their own standard errors, because they are samples.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from tests.reference.witness import load

READINGS = {reading.name: reading for reading in load.load_readings()}


def test_renderer_agrees_with_closed_forms() -> None:
    # pencil, one text per check in the data; 4 standard errors for 11 checks: p about 0.0007;
    # 2e-6 for the renderer's single precision where nothing is random. The plain room's
    # value is itself known to 0.3 %.
    for check in load.load_checks():
        slack = 0.003 if check.source.startswith("source:") else 2e-6
        room = 4.0 * check.standard_error_lx + slack * check.expected_lx
        assert abs(check.mean_lx - check.expected_lx) <= room, check.name


def test_errors_of_readings_are_far_below_the_bar_they_serve() -> None:
    # bar: readings within 0.05 stop; the witness's own error is kept ten times smaller
    for reading in READINGS.values():
        for source, light in reading.total.items():
            error_stop = light.standard_error_lx / light.mean_lx / math.log(2.0)
            assert np.all(error_stop <= 0.005), (reading.name, source)


def test_direct_part_is_never_more_than_the_total() -> None:
    for reading in READINGS.values():
        for source, total in reading.total.items():
            direct = reading.direct[source]
            error = np.hypot(total.standard_error_lx, direct.standard_error_lx)
            assert np.all(direct.mean_lx <= total.mean_lx + 4.0 * error), (reading.name, source)


@pytest.mark.parametrize("name", ["wall_left", "ceiling"])
def test_beam_falls_directly_as_by_pencil(name: str) -> None:
    # pencil: I0 = flux / (2 pi (1 - (sin c - sin b)/(c - b))), b = 15, c = 25 degrees; E = I cos/d2
    # (nothing stands between; all other receptors lie outside the cone or behind something)
    reading = READINGS[name]
    b, c = math.radians(15.0), math.radians(25.0)
    peak = 5000.0 / (2.0 * math.pi * (1.0 - (math.sin(c) - math.sin(b)) / (c - b)))
    position, aim = np.array((5.4, 4.2, 2.2)), np.array((1.2, 3.4, 2.7))
    way = reading.point_m - position
    distance = float(np.linalg.norm(way))
    axis = (aim - position) / np.linalg.norm(aim - position)
    angle = math.acos(float(way @ axis) / distance)
    intensity = peak * min(1.0, max(0.0, (c - angle) / (c - b)))
    expected = intensity * float(-way @ reading.normal) / distance**3
    # 1e-3: the white square is seen over 0.35 mm, and single precision
    assert_allclose(reading.direct["BEAM"].mean_lx, expected, rtol=1e-3)


def test_beam_misses_every_other_receptor() -> None:
    # pencil: outside 25 degrees of the axis, or facing away
    for name, reading in READINGS.items():
        if name not in ("wall_left", "ceiling"):
            assert_array_equal(reading.direct["BEAM"].mean_lx, 0.0, err_msg=name)


@pytest.mark.parametrize("name", ["floor_left", "wall_left", "floor_under_window"])
def test_window_falls_directly_as_by_quadrature(name: str) -> None:
    # pencil: midpoint sum of L cos cos' / d2 over the outer opening, rays to pass the inner one;
    # nothing else stands between these receptors and the window. 1e-3: the sum's own error
    reading = READINGS[name]
    x, z = (np.linspace(a, b, 801) for a, b in ((1.0, 2.6), (0.9, 2.2)))
    x, z = (x[1:] + x[:-1]) / 2, (z[1:] + z[:-1]) / 2
    outer = np.stack(np.broadcast_arrays(x[:, None], 5.2, z[None, :]), axis=-1)
    way = outer - reading.point_m
    distance = np.linalg.norm(way, axis=2)
    at_inner = reading.point_m + way * ((5.0 - reading.point_m[1]) / way[:, :, 1])[:, :, None]
    passes = (np.abs(at_inner[:, :, 0] - 1.8) <= 0.8) & (np.abs(at_inner[:, :, 2] - 1.55) <= 0.65)
    sine = way[:, :, 2] / distance
    zenith = 12000.0 * 9.0 / (7.0 * math.pi)
    luminance = np.where(sine >= 0, zenith * (1 + 2 * sine) / 3, 0.2 * 12000.0 / math.pi)
    cosine = np.maximum(way @ reading.normal, 0.0) / distance
    sample = luminance * passes * cosine * way[:, :, 1] / distance**3
    expected = float(sample.mean()) * 1.6 * 1.3
    light = reading.direct["WINDOW"]
    room = 4.0 * float(light.standard_error_lx.max()) + 1e-3 * expected
    assert_allclose(light.mean_lx, expected, rtol=0, atol=room)


@pytest.mark.parametrize("name", ["table", "ceiling", "wall_left"])
def test_globe_falls_directly_as_by_pencil(name: str) -> None:
    # pencil: flux cos / (4 pi d2), exact for a matte sphere wholly above the receptor's horizon
    reading = READINGS[name]
    way = reading.point_m - np.array((1.5, 1.0, 1.25))
    distance = float(np.linalg.norm(way))
    expected = 600.0 / (4.0 * math.pi) * float(-way @ reading.normal) / distance**3
    light = reading.direct["GLOBE"]
    assert_allclose(light.mean_lx, expected, atol=4.0 * light.standard_error_lx.max(), rtol=1e-3)


@pytest.mark.parametrize("source", load.SOURCES)
def test_blocks_are_whole_and_sharp(source: str) -> None:
    # bar: block error at most 0.05 stop at the 99th percentile, black blocks left out
    blocks, contents = load.load_blocks(source), load.load_block_contents()
    assert blocks.mean_cd_m2.shape == blocks.variance_cd2_m4.shape == (45, 80, 3)
    seen = contents.black_share(source) <= 0.5
    mean, variance = blocks.mean_cd_m2[seen][:, 0], blocks.variance_cd2_m4[seen][:, 0]
    error_stop = np.sqrt(variance) / mean / math.log(2.0)
    assert float(np.quantile(error_stop, 0.99)) <= 0.05


def test_sky_is_seen_through_the_window_with_its_own_luminance() -> None:
    # pencil: camera ray of the block's middle, width 2 tan(31 deg) of the picture plane;
    # L = Lz (1 + 2 sin g) / 3 above the horizon, 0.2 E_h / pi below; E_h = 12 000 lx = 7 pi Lz / 9.
    # 0.5 %: a block is 0.9 degrees high and the mean of its luminance is not that of its middle
    blocks, contents = load.load_blocks("WINDOW"), load.load_block_contents()
    sine = _sine_of_elevation_of_blocks(*blocks.mean_cd_m2.shape[:2])
    whole = (contents.emitter_share("WINDOW") > 0.999) & (np.abs(sine) > 0.02)
    assert (whole & (sine > 0)).sum() >= 20
    assert (whole & (sine < 0)).sum() >= 20
    zenith = 12000.0 * 9.0 / (7.0 * math.pi)
    expected = np.where(sine > 0, zenith * (1 + 2 * sine) / 3, 0.2 * 12000.0 / math.pi)
    assert_allclose(blocks.mean_cd_m2[:, :, 0][whole], expected[whole], rtol=5e-3)


def _sine_of_elevation_of_blocks(rows: int, columns: int) -> load.FloatArray:
    origin, target = np.array((3.6, 0.35, 1.5)), np.array((2.3, 3.2, 1.15))
    forward = (target - origin) / np.linalg.norm(target - origin)
    right = np.cross(forward, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    up = np.cross(right, forward)
    half_width = math.tan(math.radians(31.0))
    u = ((np.arange(columns) + 0.5) / columns * 2 - 1) * half_width
    v = (1 - (np.arange(rows) + 0.5) / rows * 2) * half_width * rows / columns
    way = forward + u[None, :, None] * right + v[:, None, None] * up
    return np.asarray(way[:, :, 2] / np.linalg.norm(way, axis=2))


def test_no_other_source_is_seen_directly() -> None:
    # pencil: globe 48 and soft box 74 degrees off the camera's axis in plan, half field 31
    contents = load.load_block_contents()
    for source in ("SOFTBOX", "BEAM", "GLOBE"):
        assert_array_equal(contents.emitter_share(source), 0.0)


def test_path_and_particle_tracers_agree_on_the_beam() -> None:
    # two integrators of the renderer, block by block. Mean z 0.1: noise that all blocks of the
    # particle picture share is 0.06 %, a block's own error 2 to 3 %, so 0.03 is one standard error.
    # Seen red: pictures by the "multijitter" sampler, 0.2 % dark, gave 0.14.
    path, particles = load.load_blocks("BEAM"), load.load_blocks("BEAM", particles=True)
    seen = load.load_block_contents().black_share("BEAM") <= 0.5
    gap = (path.mean_cd_m2 - particles.mean_cd_m2)[seen][:, 0]
    variance = (path.variance_cd2_m4 + particles.variance_cd2_m4)[seen][:, 0]
    z = gap / np.sqrt(variance)
    assert abs(float(np.mean(z))) <= 0.1
    assert float(np.quantile(np.abs(z), 0.99)) <= 4.0


def test_every_file_belongs_to_the_room_described_now() -> None:
    mitsuba = pytest.importorskip("mitsuba", reason="the room is described in its language")
    mitsuba.set_variant("scalar_rgb")
    from tests.reference.witness import room

    names = [path.stem for path in sorted(load.DATA.glob("*.toml"))]
    assert {"checks", "readings", "block_contents", "blocks_SOFTBOX"} <= set(names)
    for name in names:
        assert load.load_record(name)["geometry_sha256"] == room.checksum(), name
