"""Generic lamps: white LED, daylight discharge, and the CIE's tubes under plain names."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.loci import observer_table
from falloff.spectrum.spectra import (
    Spectrum,
    daylight_phase,
    illuminant,
    through,
    xyz_of_spectrum,
)
from falloff.spectrum.steering import steering_curve
from falloff.spectrum.tables import GRID_NM, shipped_toml
from falloff.spectrum.temperature import cct_duv, xy_of_cct_duv

Floats = NDArray[np.float64]
LedGrade = Literal["ordinary", "good"]
Tube = Literal[
    "cool white tube", "warm white tube", "white tube", "daylight tube", "broad-band daylight tube",
    "broad-band white tube", "three-band cool white tube", "three-band warm white tube",
    "three-band daylight-white tube", "high-pressure sodium",
]  # fmt: skip

# CIE 015:2018, what its fluorescent and sodium illuminants stand for; plain names are ours.
_TUBES: Final[dict[Tube, str]] = {
    "daylight tube": "FL1",
    "cool white tube": "FL2",
    "white tube": "FL3",
    "warm white tube": "FL4",
    "broad-band daylight tube": "FL7",
    "broad-band white tube": "FL8",
    "three-band daylight-white tube": "FL10",
    "three-band cool white tube": "FL11",
    "three-band warm white tube": "FL12",
    "high-pressure sodium": "HP1",
}


def white_led(cct_kelvin: float, duv: float = 0.0, *, grade: LedGrade = "good") -> Spectrum:
    """A generic white LED of this CCT and Duv: a blue pump and two phosphor humps.

    "good" has Ra over 90 from 2700 to 10000 K on the locus, "ordinary" 70 to 80; from 1800 to
    25000 K. Raises FalloffError outside what its bands can mix. Source: bands from memory,
    generic; their amounts are solved so that CCT and Duv are exact. The grade of a real head
    shows in its own spectrum only.
    """
    lamps = shipped_toml("lamps.toml")
    if grade not in get_args(LedGrade):
        raise _unknown("grade of LED", grade, get_args(LedGrade))
    bands = np.array([band_curve(one) for one in lamps["white_led"][grade]["bands"]])
    x, y = xy_of_cct_duv(cct_kelvin, duv)
    wanted = np.array([x / y, 1.0, (1.0 - x - y) / y])
    amounts = np.linalg.solve((bands @ observer_table()[:, 1:]).T, wanted)
    if amounts.min() < 0.0:
        raise FalloffError(
            Fault(
                f"a {grade} white LED cannot be of this colour",
                where="white LED",
                expected="about 1800 to 25000 K, Duv within 0.01 of the locus",
                found=f"{cct_kelvin:g} K, Duv {duv:+g}",
                fix="use a colour-mixing head, or a gel",
            )
        )
    name = f"white LED, {grade}, {cct_kelvin:g} K"
    return Spectrum(amounts @ bands, name, lamps["source"])


def daylight_discharge(cct_kelvin: float = 5600.0, duv: float = 0.003) -> Spectrum:
    """A generic daylight discharge head of this CCT and Duv, 3000 to 10000 K.

    Such lamps lose kelvin with age and leave the factory some hundreds of kelvin and ±0.005 Duv
    apart. Raises FalloffError outside that range. Source: CIE daylight with lines from memory,
    generic, taken to CCT and Duv by a smooth filter.
    """
    if not 3000.0 <= cct_kelvin <= 10000.0:
        raise FalloffError(
            Fault(
                "no daylight discharge head is of this colour",
                where="daylight discharge",
                expected="3000 K to 10000 K",
                found=f"{cct_kelvin:g} K",
            )
        )
    lamps = shipped_toml("lamps.toml")
    part = lamps["discharge"]
    daylight = daylight_phase(part["daylight_kelvin"])
    flux = xyz_of_spectrum(daylight)[1]
    curve = daylight.relative.copy()
    for share, peak_nm, width_nm in part["lines"]:
        line = band_curve([peak_nm, 0.5 * width_nm, 0.5 * width_nm])
        curve += line * (share * flux / float(line @ observer_table()[:, 2]))
    raw = Spectrum(curve, f"daylight discharge {cct_kelvin:g} K", lamps["source"])
    return through(raw, steering_curve(raw, xy_of_cct_duv(cct_kelvin, duv)))


def tube(name: Tube) -> Spectrum:
    """A tube or street lamp by a plain name: the CIE illuminant that stands for its kind.

    Raises FalloffError for another name. Source: CIE 015:2018, FL1 to FL12 and HP1.
    """
    if name not in _TUBES:
        raise _unknown("tube", name, tuple(_TUBES))
    return Spectrum(illuminant(_TUBES[name]).relative, name, f"CIE 015:2018, {_TUBES[name]}")


def steered(spectrum: Spectrum, cct_kelvin: float, *, duv: float) -> Spectrum:
    """A spectrum drawn smoothly to another CCT and Duv, as a lamp of its kind that was measured.

    Meant for small moves, where the kind of a lamp is known and its colour was read on a meter.
    Raises FalloffError where no smooth filter reaches that colour. Source: ours, see
    `steering_curve`.
    """
    before = cct_duv(spectrum)
    curve = steering_curve(spectrum, xy_of_cct_duv(cct_kelvin, duv))
    told = f"{before.cct_kelvin:.0f} K" if before.cct_kelvin else "its own colour"
    source = f"{spectrum.source}; drawn from {told} to {cct_kelvin:g} K, Duv {duv:+g}"
    return Spectrum(spectrum.relative * curve, f"{spectrum.name}, {cct_kelvin:g} K", source)


def band_curve(band: Sequence[float]) -> Floats:
    """A band (471,) of height 1: its peak, and half widths to the short and long side, nm."""
    peak_nm, short_nm, long_nm = (float(one) for one in band)
    half = np.where(peak_nm > GRID_NM, short_nm, long_nm)
    return np.asarray(np.exp2(-(((GRID_NM - peak_nm) / half) ** 2)))


def _unknown(what: str, found: str, known: tuple[str, ...]) -> FalloffError:
    return FalloffError(
        Fault(f"no such {what}", where=what, expected="one of " + ", ".join(known), found=found)
    )
