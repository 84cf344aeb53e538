"""Colour rendering: how near colours look to what they look like under a reference."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from falloff.spectrum.chromaticity import uv_from_xy, xy_from_xyz
from falloff.spectrum.loci import observer_table
from falloff.spectrum.spectra import (
    Spectrum,
    daylight_phase,
    planckian,
    xy_of_spectrum,
    xyz_of_spectrum,
)
from falloff.spectrum.tables import sample_reflectances
from falloff.spectrum.temperature import cct_duv

Floats = NDArray[np.float64]

# CIE 13.3-1995, section 5.3: farther than this from its reference, an index says little.
FARTHEST_FROM_REFERENCE: Final = 5.4e-3
_REFERENCE_CHANGES_KELVIN: Final = 5000.0  # CIE 13.3-1995, section 5.2


@dataclass(frozen=True, slots=True, eq=False)
class ColourRendering:
    """CIE colour rendering: ra, the mean of the first eight; special (14,), R1 to R14.

    reference_kelvin: of the reference. doubtful: the light lies so far off the locus (over 5.4e-3
    in u, v from its reference) that CIE 13.3 warns against the index.
    """

    ra: float
    special: Floats
    reference_kelvin: float
    doubtful: bool


def colour_rendering(spectrum: Spectrum | None) -> ColourRendering | None:
    """Ra and R1 to R14 of a spectrum; None, unknown, where none is known or it has no CCT.

    Source: CIE 13.3-1995; reference Planck's below 5000 K, CIE daylight from there; correlated
    colour temperature as in `cct_duv`.
    """
    if spectrum is None:
        return None
    cct_kelvin = cct_duv(spectrum).cct_kelvin
    if cct_kelvin is None:
        return None
    cool = cct_kelvin >= _REFERENCE_CHANGES_KELVIN
    reference = daylight_phase(cct_kelvin) if cool else planckian(cct_kelvin)
    own_uv = uv_from_xy(xy_of_spectrum(spectrum))
    reference_uv = uv_from_xy(xy_of_spectrum(reference))
    seen = _under(spectrum, own_uv, reference_uv)
    wanted = _under(reference, reference_uv, reference_uv)
    special = 100.0 - 4.6 * np.linalg.norm(seen - wanted, axis=1)
    special.setflags(write=False)
    return ColourRendering(
        ra=float(special[:8].mean()),
        special=special,
        reference_kelvin=float(cct_kelvin),
        doubtful=bool(np.hypot(*(own_uv - reference_uv)) > FARTHEST_FROM_REFERENCE),
    )


def _under(spectrum: Spectrum, own_uv: Floats, reference_uv: Floats) -> Floats:
    """CIE 1964 U*, V*, W* (14, 3) of the test colours, adapted to the reference's white."""
    xyz = (sample_reflectances() * spectrum.relative) @ observer_table()[:, 1:]
    xyz = xyz * (100.0 / xyz_of_spectrum(spectrum)[1])
    uv = _adapted(uv_from_xy(xy_from_xyz(xyz)), own_uv, reference_uv)
    lightness = 25.0 * np.cbrt(xyz[:, 1:2]) - 17.0
    return np.hstack([13.0 * lightness * (uv - reference_uv), lightness])


def _adapted(uv: Floats, own_uv: Floats, reference_uv: Floats) -> Floats:
    """Von Kries's adaptation in the form that CIE 13.3-1995 gives it, (n, 2)."""
    c, d = _cone_terms(uv)
    own_c, own_d = _cone_terms(own_uv)
    reference_c, reference_d = _cone_terms(reference_uv)
    c, d = c * reference_c / own_c, d * reference_d / own_d
    below = 16.518 + 1.481 * c - d
    return np.stack([(10.872 + 0.404 * c - 4.0 * d) / below, 5.520 / below], axis=-1)


def _cone_terms(uv: Floats) -> tuple[Floats, Floats]:
    u, v = uv[..., 0], uv[..., 1]
    return (4.0 - u - 10.0 * v) / v, (1.708 * v + 0.404 - 1.481 * u) / v
