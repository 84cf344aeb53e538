"""Colour of light against published white points, loci and adaptation matrices.

Works: CIE 015:2018 (white points, daylight locus, CIE 1931 2 degree observer); Planck's law with
c2 = 1.4388e-2 m K; ICC.1:2010 annex E (Bradford). Second witness:
colour-science 0.4 (BSD-3-Clause).
Tolerances are those of the rounding in the tables, in chromaticity.
"""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum

# source: CIE 015:2018, table of illuminants.
A_XY = (0.44758, 0.40745)
D50_XY = (0.34567, 0.35850)
D65_XY = (0.31272, 0.32903)


@pytest.fixture(scope="module")
def colour() -> Any:
    """The second witness; it warns of optional parts that it does without."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

        return colour


# source: computed once with colour-science 0.4.7, `sd_blackbody`, 360-830 nm at 1 nm,
# c2 = 1.4388e-2 m K; five decimals.
PLANCKIAN = [
    (2000, 0.52668, 0.41330),
    (2700, 0.45986, 0.41060),
    (3000, 0.43693, 0.40408),
    (3200, 0.42336, 0.39895),
    (4000, 0.38044, 0.37675),
    (5000, 0.34510, 0.35161),
    (5600, 0.33020, 0.33908),
    (6500, 0.31353, 0.32363),
    (10000, 0.28063, 0.28829),
]


@pytest.mark.parametrize(("cct_kelvin", "x", "y"), PLANCKIAN)
def test_planckian_locus(cct_kelvin: float, x: float, y: float) -> None:
    """Within the rounding and the difference of c2 from its exact value."""
    assert_allclose(spectrum.xy_of_kelvin(cct_kelvin, locus="planckian"), (x, y), atol=5e-5)


# pencil: the polynomials of CIE 015:2018 worked by hand; colour-science gives the same.
DAYLIGHT = [(5600, 0.33016, 0.34555), (6504, 0.31271, 0.32912), (10000, 0.27880, 0.29197)]


@pytest.mark.parametrize(("cct_kelvin", "x", "y"), DAYLIGHT)
def test_daylight_locus(cct_kelvin: float, x: float, y: float) -> None:
    """Within the rounding of five decimals; "auto" is daylight here."""
    assert_allclose(spectrum.xy_of_kelvin(cct_kelvin, locus="daylight"), (x, y), atol=2e-5)
    assert_allclose(spectrum.xy_of_kelvin(cct_kelvin), (x, y), atol=2e-5)


def test_illuminant_a_is_planckian_at_2856_kelvin() -> None:
    """source: CIE 015:2018, A is 2856 K with c2 = 1.4388e-2; with the exact c2, 2855.5 K."""
    assert_allclose(spectrum.xy_of_kelvin(2855.5), A_XY, atol=2e-5)


# source: CIE 015:2018: D50, D55, D65 and D75 are nominal temperatures times 1.4388/1.4380. The
# locus and the tabulated spectra agree to two units of the fourth decimal, no better.
@pytest.mark.parametrize(
    ("nominal_kelvin", "xy"),
    [
        (5000, D50_XY),
        (5500, (0.33243, 0.34744)),
        (6500, D65_XY),
        (7500, (0.29903, 0.31488)),
    ],
)
def test_daylight_illuminants(nominal_kelvin: float, xy: tuple[float, float]) -> None:
    """The named illuminants lie on the daylight locus."""
    cct_kelvin = nominal_kelvin * 1.4388 / 1.4380
    assert_allclose(spectrum.xy_of_kelvin(cct_kelvin, locus="daylight"), xy, atol=2e-4)


def test_bradford_cone_responses() -> None:
    """source: ICC.1:2010, annex E."""
    assert_allclose(
        spectrum.bradford_adaptation(D65_XY, D65_XY), np.eye(3), atol=1e-12, err_msg="no change"
    )
    from falloff.spectrum.adaptation import BRADFORD_FROM_XYZ

    assert BRADFORD_FROM_XYZ.tolist() == [
        [0.8951, 0.2664, -0.1614],
        [-0.7502, 1.7135, 0.0367],
        [0.0389, -0.0685, 1.0296],
    ]


def test_bradford_from_a_to_d65() -> None:
    """source: computed once with colour-science 0.4.7, D65 to four decimals as BT.2020 has it."""
    expected = [
        [0.84467, -0.11795, 0.39501],
        [-0.13665, 1.10413, 0.12924],
        [0.07989, -0.13498, 3.19359],
    ]
    assert_allclose(spectrum.bradford_adaptation(A_XY, spectrum.D65_XY), expected, atol=1e-5)


def test_bradford_from_d65_to_d50() -> None:
    """source: as above, both whites to four decimals, on which the last figures hang."""
    expected = [
        [1.04793, 0.02295, -0.05019],
        [0.02963, 0.99043, -0.01707],
        [-0.00924, 0.01506, 0.75187],
    ]
    found = spectrum.bradford_adaptation(spectrum.D65_XY, (0.3457, 0.3585))
    assert_allclose(found, expected, atol=1e-5)


def test_bradford_by_the_second_witness(colour: Any) -> None:
    """source: colour-science, von Kries adaptation in Bradford's cones, run here."""
    from colour.adaptation import matrix_chromatic_adaptation_VonKries

    for from_xy, to_xy in ((A_XY, D50_XY), (D50_XY, D65_XY), ((0.44, 0.42), (0.28, 0.29))):
        whites = (spectrum.xyz_from_xy(from_xy), spectrum.xyz_from_xy(to_xy))
        expected = matrix_chromatic_adaptation_VonKries(*whites, transform="Bradford")
        assert_allclose(spectrum.bradford_adaptation(from_xy, to_xy), expected, atol=1e-9)


def test_matrices_agree_with_the_second_witness(colour: Any) -> None:
    """source: colour-science, ITU-R BT.2020 and sRGB, with derived matrices."""
    bt2020 = colour.RGB_COLOURSPACES["ITU-R BT.2020"].copy()
    bt709 = colour.RGB_COLOURSPACES["ITU-R BT.709"].copy()
    bt2020.use_derived_transformation_matrices(True)
    bt709.use_derived_transformation_matrices(True)
    assert_allclose(spectrum.XYZ_FROM_WORKING, bt2020.matrix_RGB_to_XYZ, atol=1e-9)
    to_709 = bt709.matrix_XYZ_to_RGB @ bt2020.matrix_RGB_to_XYZ
    assert_allclose(spectrum.SRGB_LINEAR_FROM_WORKING, to_709, atol=1e-9)


def test_published_matrix_to_bt709() -> None:
    """source: ITU-R BT.2407-0 (2017), item 2.2; from memory, four decimals."""
    expected = [
        [1.6605, -0.5876, -0.0728],
        [-0.1246, 1.1329, -0.0083],
        [-0.0182, -0.1006, 1.1187],
    ]
    assert_allclose(spectrum.SRGB_LINEAR_FROM_WORKING, expected, atol=1e-4)


def test_luminance_weights_are_those_of_the_primaries() -> None:
    """source: ITU-R BT.2020-2, table 3, rounded to four decimals."""
    assert_allclose(spectrum.XYZ_FROM_WORKING[1], (0.2627, 0.6780, 0.0593), atol=5e-6)


@pytest.mark.parametrize(
    "cct_kelvin", [1500, 2700, 3200, 4000, 4200, 4500, 4800, 5000, 6504, 12000]
)
def test_colour_temperature_read_back(colour: Any, cct_kelvin: float) -> None:
    """source: colour-science, Ohno (2013): what we call so many kelvin has that temperature.

    15 K in 10,000: the CIE daylight formula itself is that far from its nominal temperature.
    """
    rgb = spectrum.colour_of_kelvin(cct_kelvin)
    xyz = spectrum.xyz_from_working(rgb)
    uv = colour.xy_to_UCS_uv(xyz[:2] / xyz.sum())
    found_kelvin, _ = colour.temperature.uv_to_CCT_Ohno2013(uv)
    assert_allclose(found_kelvin, cct_kelvin, rtol=1.5e-3)


def test_tungsten_in_bt709(colour: Any) -> None:
    """source: primaries of BT.709 mixed to Planck 3200 K at Y = 1, by colour-science 0.4.7."""
    rgb = spectrum.working_to_srgb_linear(spectrum.colour_of_kelvin(3200))
    assert_allclose(rgb, (1.6798, 0.8659, 0.3258), atol=1e-3)
    witness = colour.XYZ_to_sRGB(
        spectrum.xyz_from_xy(spectrum.xy_of_kelvin(3200)), apply_cctf_encoding=False
    )
    # The witness uses the four-decimal matrix of IEC 61966-2-1.
    assert_allclose(rgb, witness, atol=5e-4)


@pytest.mark.parametrize("by_kelvin", [True, False])
def test_gains_of_a_camera_balanced_for_tungsten(by_kelvin: bool) -> None:
    """source: COL-22: what balancing for illuminant A does to its red and blue over its green.

    In a camera of BT.709's primaries balanced to D65 the gains are 0.4476 and 3.542.
    """
    light = spectrum.colour_of_xy(A_XY)
    # 2855.5 K is A with the exact c2; three decimals of it are worth 1e-3 of blue
    balance = spectrum.white_balance(2855.5) if by_kelvin else spectrum.white_balance_of_xy(A_XY)
    before = spectrum.working_to_srgb_linear(light)
    after = spectrum.working_to_srgb_linear(balance @ light)
    gain = after / before
    assert_allclose(gain[[0, 2]] / gain[1], (0.4476, 3.542), rtol=3e-4, atol=1e-4)


def test_shipped_observer_is_the_witness_s(colour: Any) -> None:
    """source: CIE 015:2018 by way of colour-science; no value has been changed."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    table = spectrum.observer_table()
    assert_allclose(table[:, 0], observer.wavelengths)
    assert_allclose(table[:, 1:], observer.values, rtol=1e-11)
