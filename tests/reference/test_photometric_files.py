"""Photometric files and webs against closed forms, pencil work and another reader.

Sources: closed forms of zonal constants and cosine-power beams; LM-63-1986 to 2019 and EULUMDAT by
their public field lists; luxpy's reader of both formats where it is installed. The two files in
tests/data/photometric are made up, each with its lumens worked out by hand; see there.
Tolerances are those of the tables of check values, or the rounding of the values given.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.unit.photometry.made_files import eulumdat, lm63

from falloff.photometry import (
    IntensityWeb,
    intensity_web,
    read_photometric,
    read_photometric_file,
    web_beam_angle_rad,
    web_field_angle_rad,
    web_flux_lm,
    web_intensity,
    web_zones,
    write_photometric,
)
from falloff.types import Float64Array

DATA = Path(__file__).parents[1] / "data" / "photometric"
# source: closed form 2π(cosθ1 − cosθ2), PHO-2
ZONAL_CONSTANTS = [0.0955, 0.2835, 0.4629, 0.6282, 0.7744, 0.8972, 0.9926, 1.0579, 1.0911]


def round_file(angle: Float64Array, candela: Float64Array) -> IntensityWeb:
    """The web of an LM-63 file with one plane."""
    content = lm63(
        vertical="\n".join(f"{one:g}" for one in angle),
        candela="\n".join(f"{one:.10g}" for one in candela),
    )
    return read_photometric(content, "a.ies").web()


def test_isotropic() -> None:
    """source: PHO-4, 795.7747 cd all round is 10 000 lm, within 1e-4 %."""
    web = round_file(np.array([0.0, 90.0, 180.0]), np.full(3, 795.7747))
    assert_allclose(web_flux_lm(web), 10_000.0, rtol=1e-6)
    zones = web_zones(web, np.radians(np.arange(0.0, 91.0, 10.0)))
    assert_allclose(zones / 795.7747, ZONAL_CONSTANTS, atol=1e-4)


@pytest.mark.parametrize(
    ("step_deg", "lumens"),
    [
        (5.0, 3139.6),  # source: PHO-3, straight lines between the angles of a file
        # source: PHO-3, π · 1000, which the trade's zonal sum gives for any step: 0.064 % more;
        # straight lines come within 1e-4 of it at steps of one degree
        (1.0, 3141.60),
        (0.25, 3141.60),
    ],
)
def test_lambertian_in_steps(step_deg: float, lumens: float) -> None:
    angle = np.linspace(0.0, 90.0, round(90.0 / step_deg) + 1)
    web = round_file(angle, 1000.0 * np.maximum(np.cos(np.radians(angle)), 0.0))
    assert_allclose(web_flux_lm(web), lumens, rtol=1e-4)


@pytest.mark.parametrize(
    ("power", "beam_deg", "field_deg", "lumens"),
    [
        (1, 120.00, 168.52, 3141.6),  # source: PHO-5, closed form of cosⁿ per 1000 cd
        (3, 74.93, 124.69, 1570.8),
        (10, 42.17, 74.82, 571.2),
        (50, 19.04, 34.51, 123.2),
    ],
)
def test_cosine_power_beams(power: int, beam_deg: float, field_deg: float, lumens: float) -> None:
    angle = np.linspace(0.0, 90.0, 361)
    web = round_file(angle, 1000.0 * np.maximum(np.cos(np.radians(angle)), 0.0) ** power)
    assert_allclose(math.degrees(web_beam_angle_rad(web)), beam_deg, atol=0.01)
    assert_allclose(math.degrees(web_field_angle_rad(web)), field_deg, atol=0.01)
    assert_allclose(web_flux_lm(web), lumens, rtol=3e-4)  # the values given have four figures


def test_beam_and_field_are_of_the_greatest_intensity() -> None:
    """source: PHO-6, the IES definition; pencil: half at 25°, a tenth at 29°, not of the middle."""
    web = round_file(np.array([0.0, 10.0, 20.0, 30.0, 90.0]), np.array([50.0, 100, 100, 0, 0]))
    assert_allclose(math.degrees(web_beam_angle_rad(web)), 50.0)
    assert_allclose(math.degrees(web_field_angle_rad(web)), 58.0)


def test_candela_of_eulumdat() -> None:
    """source: PHO-10, 2200 cd/klm with a set of 500 lm and a factor of 1 is 1100 cd, exactly."""
    sets = [(1, "lamp", 500, "", "", "")]
    file = read_photometric(eulumdat(values=(2200, 0), sets=sets), "a.ldt")
    assert file.web().candela[0, 0] == 1100.0


def test_the_code_of_2019_is_no_factor() -> None:
    """source: check values, section 10: 1.10000 would give ten per cent more light."""
    new = read_photometric(lm63("IES:LM-63-2019", factors="1 1.10000 9"), "a.ies")
    old = read_photometric(lm63("IESNA91", labels="[A] b\n", factors="1 1.10000 9"), "a.ies")
    assert_allclose(old.flux_lm() / new.flux_lm(), 1.1)


def test_an_lm63_file_written_by_hand() -> None:
    """pencil: 2 · 0.5 of 1000 cd on the axis, to 0 at 90° in C0 and to 500 in C90, four quarters.

    Straight lines: Φ = 2π (1000 (1 − 2/π) + 250 · 2/π) = 2000π − 3000 lm.
    """
    file = read_photometric_file(DATA / "pencil.ies")
    assert_allclose(file.flux_lm(), 2000.0 * math.pi - 3000.0, rtol=1e-12)
    web = file.web()
    assert_allclose(web_flux_lm(web), 2000.0 * math.pi - 3000.0, rtol=1e-12)
    ways = np.array([[1, 0, 0], [0, -1, 0], [1, 1, 0], [0, 1, 1]], float)
    assert_allclose(web_intensity(web, ways), [0.0, 500.0, 250.0, 750.0], atol=1e-9)  # pencil
    assert_allclose(math.degrees(web_beam_angle_rad(web)), 90.0)  # pencil: half way down at 45°
    assert_allclose(math.degrees(web_beam_angle_rad(web, math.pi / 2)), 180.0)
    assert file.opening.shape == "disc"
    assert file.opening.x_m == 0.3
    assert file.input_power_w == 120.0
    assert file.keyword("LUMINAIRE").endswith("\nflux 2000 pi - 3000 lm")
    assert file.keyword("_OWN") == "kept"
    assert file.findings == ()  # pencil: 3283.2 of 3300 declared is 0.5 % less


def test_a_eulumdat_file_written_by_hand() -> None:
    """pencil: 100 cd on the axis; at 90° 0 towards C270, 40 at C0 and C180, 80 towards C90.

    2 · 500/1000 of the stored values. Φ = 2π (100 (1 − 2/π) + 40 · 2/π) = 200π − 240 lm.
    """
    file = read_photometric_file(DATA / "pencil.ldt")
    assert_allclose(file.flux_lm(), 200.0 * math.pi - 240.0, rtol=1e-12)
    assert_allclose(file.flux_lm(1), 400.0 * math.pi - 480.0, rtol=1e-12)  # 1000 lm for 500
    ways = np.array([[1, 0, 0], [0, 1, 0], [-1, 0, 0], [0, -1, 0]], float)
    assert_allclose(web_intensity(file.web(), ways), [40.0, 80.0, 40.0, 0.0], atol=1e-9)
    assert file.opening.shape == "rectangle"
    assert (file.opening.x_m, file.opening.y_m) == (0.2, 1.0)  # length along C90: from memory
    assert [one.says for one in file.findings] == ["its decimals are written with a comma"]


@pytest.mark.parametrize("name", ["pencil.ies", "pencil.ldt"])
def test_written_back_a_file_is_the_same(name: str) -> None:
    """source: PHO-11."""
    content = (DATA / name).read_bytes()
    written = write_photometric(read_photometric(content, name))
    again = read_photometric(written, name)
    assert_allclose(again.flux_lm(), read_photometric(content, name).flux_lm(), rtol=0)
    # the numbers alone may be written in other words: .5 as 0.5, 77,6 as it was
    assert [line for line in written.split(b"\r\n") if b"[" in line] == [
        line for line in content.split(b"\r\n") if b"[" in line
    ]


# Another reader --------------------------------------------------------------------------

LUXPY = "luxpy is no part of the test extra: where it is installed the two readers are compared"


def by_luxpy(content: bytes) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Azimuths and angles in degrees, stored values by plane, all round, by luxpy's reader."""
    reader: Any = pytest.importorskip("luxpy.toolboxes.iolidfiles", reason=LUXPY)
    text = content.decode("latin-1").replace("\r\n", "\n")
    whole = reader.read_lamp_data(text, normalize=None)["map"]
    return np.array(whole["phis"]), np.array(whole["thetas"]), np.array(whole["values"])


def spread() -> tuple[list[float], list[float], Float64Array]:
    """Planes each 15° over a quarter, angles each 5° to 180°, uneven values."""
    planes, angles = [15.0 * k for k in range(7)], [5.0 * k for k in range(37)]
    values = np.random.default_rng(7).uniform(1.0, 900.0, (7, 37)).round(2)
    values[:, [0, -1]] = values[0, [0, -1]]
    return planes, angles, values


@pytest.mark.parametrize("kind", ["LM-63", "EULUMDAT"])
def test_all_directions_against_luxpy(kind: str) -> None:
    """source: luxpy's iolidfiles, which undoes the symmetry of four quarters in both formats."""
    planes, angles, values = spread()
    if kind == "LM-63":
        content = lm63(
            "IESNA:LM-63-1995",
            vertical=" ".join(f"{one:g}" for one in angles),
            horizontal=" ".join(f"{one:g}" for one in planes),
            candela="\n".join(" ".join(f"{one:g}" for one in row) for row in values),
        )
        scale = 1.0
    else:
        turn = [15.0 * k for k in range(24)]
        content = eulumdat(4, turn, angles, [float(one) for one in values.ravel()])
        scale = 1.0  # pencil: 1000 lm, cd/klm
    azimuth, angle, table = by_luxpy(content)
    c, g = np.meshgrid(np.radians(azimuth), np.radians(angle), indexing="ij")
    ways = np.stack([np.sin(g) * np.cos(c), np.sin(g) * np.sin(c), np.cos(g)], axis=-1)
    web = read_photometric(content, "a").web()
    found = web_intensity(web, ways.reshape(-1, 3)).reshape(c.shape)
    assert_allclose(found, scale * table, rtol=1e-9)


def test_a_web_of_its_own_planes_has_the_flux_of_a_fine_sum() -> None:
    """pencil: the integral of I over directions, by midpoints on a fine grid."""
    planes, angles, values = spread()
    azimuth = np.radians([*planes, 360.0])
    closed = intensity_web(
        azimuth, np.radians(angles), candela=np.concatenate([values, values[:1]])
    )
    n = 1440
    g = math.pi * (np.arange(n) + 0.5) / n
    c = 2.0 * math.pi * (np.arange(n) + 0.5) / n
    cc, gg = (one.ravel() for one in np.meshgrid(c, g))
    ways = np.stack([np.sin(gg) * np.cos(cc), np.sin(gg) * np.sin(cc), np.cos(gg)], axis=1)
    summed = float((web_intensity(closed, ways) * np.sin(gg)).mean()) * 2.0 * math.pi**2
    assert_allclose(web_flux_lm(closed), summed, rtol=1e-5)
