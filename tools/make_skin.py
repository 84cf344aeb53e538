"""Remake the skin words that `falloff.kit` ships; needs the `test` extra.

Run from the root of the repository: `python tools/make_skin.py`. Two words are measured human
skins; the others come from a published model of light in skin whose free numbers are fitted to
those two. A third measured skin takes no part and is the check that is printed.

The model, formulae from memory of S. L. Jacques's pages and review (Phys. Med. Biol. 58, 2013):
a surface that returns a fixed share; below it an epidermis that only absorbs (melanin), passed
twice; below that a deep dermis that scatters and absorbs (blood), by diffusion.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, least_squares

from falloff import spectrum

Floats = NDArray[np.float64]

ROOT: Final = Path(__file__).parents[1]
OUT: Final = ROOT / "src" / "falloff" / "kit" / "data" / "skin.toml"
WAVELENGTHS_NM: Final = np.arange(380.0, 781.0, 5.0)
FITTED_NM: Final = (400.0, 700.0)  # where the fit is judged: beyond it light hardly counts

# Constants of the model, all from memory (Jacques 1998 and 2013; Flock et al. 1989 for the
# diffusion formula, Egan and Hilgeman 1979 for the inner reflection, van Veen et al. 2002 for
# blood that keeps to vessels).
REFRACTIVE_INDEX: Final = 1.4
EPIDERMIS_CM: Final = 0.006
PATH_FACTOR: Final = 4.0  # there and back, each way twice the thickness in diffuse light
VESSEL_RADIUS_CM: Final = 0.002
BLOOD_G_PER_LITRE: Final = 150.0
HAEMOGLOBIN_G_PER_MOL: Final = 64500.0
LEAST_MELANIN: Final = 0.013  # volume fraction of melanosomes, palest skin


@dataclass(frozen=True, slots=True)
class Dermis:
    """Blood as a volume fraction, scattering against the usual skin, oxygen saturation."""

    blood: float
    scattering: float
    oxygen: float


# Word, luminous reflectance, and where it comes from; deepest first. Steps of 0.3 to 0.5 stop.
MEASURED: Final = {"tan": "dark skin", "light": "light skin"}
REFLECTANCES: Final = {
    "very deep": 0.045,
    "deep": 0.060,
    "very dark brown": 0.080,
    "dark brown": 0.105,
    "brown": 0.145,
    "tan": None,
    "beige": 0.275,
    "light": None,
    "pale": 0.45,
    "very pale": 0.55,
}

HEAD: Final = """\
# Skin by words of our own, deepest first. Made by tools/make_skin.py; do not edit by hand.
#
# reflectance: luminous, CIE 1931 2 degree observer under D65; tint: relative linear BT.2020 of the
# same, luminance 1. All light that comes back counts, the {surface:.1f} % of the bare surface too:
# whoever adds a sheen of its own takes it off first.
#
# measured: the two samples of human skin among the 99 of CIE 224:2017 (its numbers 15 and 18),
#   from colour-science {version} (BSD-3-Clause). "tan" and "light" are these and nothing else.
# modelled: light in skin by S. L. Jacques's formulae (constants from memory, see the script):
#   melanin in the epidermis over a dermis with blood, haemoglobin as compiled by S. Prahl. The
#   dermis is fitted to each of the two measured skins over 400 to 700 nm; what is left of their
#   spectra is {fits} (rms).
#   Darker than "tan": its dermis, with more melanin. "beige": half way between the two dermes,
#   with the melanin that gives its reflectance. Paler than "light": its dermis, with the least
#   melanin (volume fraction {least}) and with less blood.
#   The reflectances of the modelled words are chosen, about a third to half a stop apart; only
#   their tints are computed. The two ends are the model's reach, not anybody's measurement.
# check: a third measured skin (test sample 15, a complexion, which that library lists with those of
#   CIE 13.3; luminous reflectance {seen:.3f}) took no part. A skin of its reflectance, modelled as
#   "beige" is, has its red, green and blue within {check_stops:.2f} stop.
#
# Hair, make-up, sunburn and shine are not in these words: a reading of the person is better.
"""


def main() -> None:
    """Write the words and print how well the model fits."""
    skins = measured_spectra()
    fits = {word: fitted(skins[word]) for word in ("tan", "light")}
    print({word: (dermis, f"{error:.4f}") for word, (_, dermis, error) in fits.items()})
    text = header(skins, fits)
    for word, reflectance in REFLECTANCES.items():
        sheet, basis = spectrum_of(word, reflectance, skins, fits)
        luminous, tint = colour_of(sheet)
        print(f"{word:16s} {luminous:.4f} {np.round(tint, 3)} {basis}")
        numbers = ", ".join(f"{channel:.3f}" for channel in tint)
        text += f'\n["{word}"]\nreflectance = {luminous:.3f}\ntint = [{numbers}]\n'
        text += f'basis = "{basis}"\n'
    OUT.write_text(text, encoding="ascii", newline="\n")


def header(skins: dict[str, Floats], fits: dict[str, Any]) -> str:
    """What the file says of itself."""
    import importlib.metadata

    told = ", ".join(f'{error:.3f} for "{word}"' for word, (_, _, error) in fits.items())
    reflectance, tint = colour_of(skins["check"])
    modelled = colour_of(between(reflectance, fits))[1]
    return HEAD.format(
        surface=100.0 * surface_reflectance(),
        version=importlib.metadata.version("colour-science"),
        fits=told,
        least=LEAST_MELANIN,
        seen=reflectance,
        check_stops=float(np.max(np.abs(np.log2(modelled / tint)))),
    )


def spectrum_of(
    word: str, reflectance: float | None, skins: dict[str, Floats], fits: dict[str, Any]
) -> tuple[Floats, str]:
    """The reflectance spectrum of a word, and what it rests on."""
    tan, light = fits["tan"][1], fits["light"][1]
    if reflectance is None:
        return skins[word], "measured"
    if reflectance < colour_of(skins["tan"])[0]:
        sheet, melanin = with_melanin(reflectance, tan)
        return sheet, f"modelled: melanin {melanin:.3f}"
    if reflectance < colour_of(skins["light"])[0]:
        return between(reflectance, fits), "modelled: between tan and light"

    def excess(log_blood: float) -> float:
        dermis = replace(light, blood=math.exp(log_blood))
        return colour_of(skin(LEAST_MELANIN, dermis))[0] - reflectance

    blood = math.exp(brentq(excess, math.log(1e-5), math.log(light.blood)))
    sheet = skin(LEAST_MELANIN, replace(light, blood=blood))
    return sheet, f"modelled: melanin {LEAST_MELANIN}, blood {blood:.4f}"


def between(reflectance: float, fits: dict[str, Any]) -> Floats:
    """A skin of this luminous reflectance over a dermis half way between the two fitted ones."""
    tan, light = fits["tan"][1], fits["light"][1]
    half = Dermis(
        math.sqrt(tan.blood * light.blood),
        math.sqrt(tan.scattering * light.scattering),
        0.5 * (tan.oxygen + light.oxygen),
    )
    return with_melanin(reflectance, half)[0]


def with_melanin(reflectance: float, dermis: Dermis) -> tuple[Floats, float]:
    """The spectrum with the melanin that gives a luminous reflectance, and that melanin."""

    def excess(log_melanin: float) -> float:
        return colour_of(skin(math.exp(log_melanin), dermis))[0] - reflectance

    melanin = math.exp(brentq(excess, math.log(1e-5), math.log(0.9)))
    return skin(melanin, dermis), melanin


# The model -------------------------------------------------------------------------------


def skin(melanin: float, dermis: Dermis) -> Floats:
    """Reflectance (81,) of skin at WAVELENGTHS_NM; melanin: volume fraction of melanosomes."""
    surface = surface_reflectance()
    bloodless = 0.244 + 85.3 * np.exp(-(WAVELENGTHS_NM - 154.0) / 66.2)  # cm-1
    melanosome = 6.6e11 * WAVELENGTHS_NM**-3.33  # cm-1
    epidermis = melanin * melanosome + (1.0 - melanin) * bloodless
    passed = np.exp(-PATH_FACTOR * EPIDERMIS_CM * epidermis)
    absorbed = dermis.blood * in_vessels(blood(dermis.oxygen))
    absorbed = absorbed + (1.0 - dermis.blood) * bloodless
    scattered = dermis.scattering * 46.0 * (WAVELENGTHS_NM / 500.0) ** -1.421  # cm-1, reduced
    return surface + (1.0 - surface) * passed * deep_reflectance(scattered, absorbed)


def surface_reflectance() -> float:
    """Fresnel's reflectance at right angles to the surface."""
    return ((REFRACTIVE_INDEX - 1.0) / (REFRACTIVE_INDEX + 1.0)) ** 2


def blood(oxygen: float) -> Floats:
    """Absorption (81,) of whole blood, cm-1."""
    table = np.loadtxt(
        Path(__file__).parent / "skin_parts" / "haemoglobin.csv", delimiter=",", skiprows=4
    )
    with_oxygen, without = (np.interp(WAVELENGTHS_NM, table[:, 0], table[:, n]) for n in (1, 2))
    molar = oxygen * with_oxygen + (1.0 - oxygen) * without
    mixed: Floats = math.log(10.0) * molar * BLOOD_G_PER_LITRE / HAEMOGLOBIN_G_PER_MOL
    return mixed


def in_vessels(absorption: Floats) -> Floats:
    """What blood absorbs when it keeps to vessels that light cannot cross unweakened."""
    depth = 2.0 * VESSEL_RADIUS_CM * absorption
    return absorption * (1.0 - np.exp(-depth)) / depth


def deep_reflectance(scattered: Floats, absorbed: Floats) -> Floats:
    """Diffuse reflectance of a deep medium under a surface of REFRACTIVE_INDEX."""
    n = REFRACTIVE_INDEX
    inner = -1.440 / n**2 + 0.710 / n + 0.668 + 0.0636 * n
    k = (1.0 + inner) / (1.0 - inner)
    albedo = scattered / (scattered + absorbed)
    rest = np.sqrt(3.0 * (1.0 - albedo))
    result: Floats = albedo / (1.0 + 2.0 * k * (1.0 - albedo) + (1.0 + 2.0 * k / 3.0) * rest)
    return result


def fitted(target: Floats) -> tuple[float, Dermis, float]:
    """Melanin and dermis nearest to a measured spectrum, and the rms of what is left."""
    judged = (FITTED_NM[0] <= WAVELENGTHS_NM) & (FITTED_NM[1] >= WAVELENGTHS_NM)

    def of(free: Floats) -> tuple[float, Dermis]:
        oxygen = 1.0 / (1.0 + math.exp(-free[3]))
        return math.exp(free[0]), Dermis(math.exp(free[1]), math.exp(free[2]), oxygen)

    def left(free: Floats) -> Floats:
        return (skin(*of(free)) - target)[judged]

    found = least_squares(left, [math.log(0.03), math.log(0.01), 0.0, 1.0])
    melanin, dermis = of(found.x)
    return melanin, dermis, float(np.sqrt(np.mean(found.fun**2)))


# Measured skins and colour ---------------------------------------------------------------


def measured_spectra() -> dict[str, Floats]:
    """Spectra (81,) at WAVELENGTHS_NM: the two words that are measured, and the check."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
        from colour.quality import SDS_TCS
        from colour.quality.cfi2017 import load_TCS_CIE2017

    shape = colour.SpectralShape(380, 780, 5)
    samples = np.asarray(load_TCS_CIE2017(shape).values)
    check = np.asarray(SDS_TCS["CIE 2024"]["TCS15"].copy().align(shape).values)
    return {"light": samples[:, 14], "tan": samples[:, 17], "check": check}


def colour_of(sheet: Floats) -> tuple[float, Floats]:
    """Luminous reflectance and tint (3,) of a spectrum under D65."""
    table = spectrum.observer_table()
    picked = np.searchsorted(table[:, 0], WAVELENGTHS_NM)
    weights = table[picked, 1:] * daylight()[:, None]
    xyz = (weights * sheet[:, None]).sum(axis=0) / weights[:, 1].sum()
    rgb = spectrum.working_from_xyz(xyz)
    luminous = float(spectrum.luminance(rgb))
    return luminous, rgb / luminous


def daylight() -> Floats:
    """Relative power (81,) of D65 at WAVELENGTHS_NM."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    shape = colour.SpectralShape(380, 780, 5)
    return np.asarray(colour.SDS_ILLUMINANTS["D65"].copy().align(shape).values)


if __name__ == "__main__":
    main()
