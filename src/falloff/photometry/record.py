"""What a photometric file holds, as read: enough to make a web of it and to write it again."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from falloff.findings import Finding
from falloff.photometry.opening import Opening
from falloff.photometry.plain_text import fault
from falloff.photometry.unfold import (
    PhotometricType,
    Symmetry,
    type_b_flux_lm,
    web_of_planes,
    web_of_type_a,
    web_of_type_b,
)
from falloff.photometry.web import IntensityWeb, web_flux_lm
from falloff.types import Float64Array
from falloff.units import Lumen

FileFormat = Literal["LM-63", "EULUMDAT"]


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text: its keyword ("" for a free line), its value, and the line as read."""

    keyword: str
    value: str
    line: str


@dataclass(frozen=True, slots=True)
class LampSet:
    """The lamps of one measurement; the sets of a EULUMDAT file are alternatives.

    count: lamps, negative in EULUMDAT for absolute photometry; flux_lm: of all of them together,
    None if not declared; kind, colour, rendering, power: as written in EULUMDAT; each_lm: LM-63's
    lumens of one lamp as written, -1 for absolute photometry.
    """

    count: int
    flux_lm: float | None
    kind: str = ""
    colour: str = ""
    rendering: str = ""
    power: str = ""
    each_lm: float = -1.0


@dataclass(frozen=True, slots=True)
class Tilt:
    """How the lamp's output hangs on the light's tilt: LM-63's TILT, as written and as read.

    written: what follows TILT=; geometry: 1 to 3, or 0 for none; angle_deg and factor: (n,) or
    empty. The web is of the light as measured, untilted.
    """

    written: str
    geometry: int
    angle_deg: Float64Array
    factor: Float64Array

    def factor_at(self, tilted_deg: float) -> float:
        """The factor on all light at a tilt in degrees, linear between those given; else 1."""
        if self.angle_deg.size == 0:
            return 1.0
        return float(np.interp(tilted_deg, self.angle_deg, self.factor))


NO_TILT = Tilt("NONE", 0, np.zeros(0), np.zeros(0))


@dataclass(frozen=True, slots=True)
class PhotometricFile:
    """One photometric file.

    version: "1986" to "2019" for LM-63, "" for EULUMDAT; version_line: LM-63's line of it, "" if
    none. multiplier: LM-63's candela multiplier or EULUMDAT's conversion factor. future_use:
    LM-63's second number of the second record, a factor only up to 1991. vertical_deg: (v,);
    horizontal_deg: (h,) as listed; values: (p, v), plane by plane in the order stored.
    written_sizes: LM-63's width, length, height with their signs, in feet if `feet`. after: lines
    that follow the last intensity.
    """

    name: str
    format: FileFormat
    version: str
    version_line: str
    labels: tuple[Label, ...]
    lamp_sets: tuple[LampSet, ...]
    multiplier: float
    ballast_factor: float
    future_use: float
    input_power_w: float | None
    photometric_type: PhotometricType
    symmetry: Symmetry
    opening: Opening
    written_sizes: tuple[float, float, float]
    feet: bool
    tilt: Tilt
    vertical_deg: Float64Array
    horizontal_deg: Float64Array
    values: Float64Array
    encoding: str
    after: tuple[str, ...]
    findings: tuple[Finding, ...]

    def keyword(self, word: str) -> str:
        """The value of a keyword, lines of [MORE] joined to it by line ends; "" if none."""
        parts: list[str] = []
        inside = False
        for label in self.labels:
            if label.keyword != "MORE":
                inside = label.keyword == word and not parts
            if inside:
                parts.append(label.value)
        return "\n".join(parts)

    def declared_flux_lm(self, lamp_set: int = 0) -> Lumen | None:
        """Lumens that the file declares of its lamps; None where photometry is absolute."""
        lamps = self._lamps(lamp_set)
        absolute = lamps.flux_lm is None or lamps.count < 0
        return None if absolute or lamps.flux_lm is None else Lumen(lamps.flux_lm)

    def candela_per_value(self, lamp_set: int = 0) -> float:
        """What a stored value is multiplied by to be candela (LM-63-2002; EULUMDAT)."""
        lamps = self._lamps(lamp_set)
        if self.format == "EULUMDAT":
            return self.multiplier * (lamps.flux_lm or 0.0) / 1000.0
        old = self.future_use if self.version in {"1986", "1991"} else 1.0
        return self.multiplier * self.ballast_factor * old

    def stored_azimuth_deg(self) -> Float64Array:
        """Horizontal angle of each stored plane, (p,), ascending, from -90 where C270 is first."""
        listed, planes = self.horizontal_deg, self.values.shape[0]
        if self.format == "EULUMDAT" and self.symmetry == "about C90-C270":
            before = listed.size - 3 * listed.size // 4
            return np.concatenate([listed[-before:] - 360.0, listed[: planes - before]])
        return listed[:planes]

    def web(self, lamp_set: int = 0) -> IntensityWeb:
        """The web in absolute candela, of one lamp set: symmetry undone, A and B turned to C.

        Exact at the stored points for types A and C; within 0.1 % in flux for type B.
        """
        candela = self.values * self.candela_per_value(lamp_set)
        angles = (self.stored_azimuth_deg(), self.vertical_deg)
        if self.photometric_type == "A":
            return web_of_type_a(*angles, candela=candela)
        if self.photometric_type == "B":
            return web_of_type_b(*angles, candela=candela)
        return web_of_planes(*angles, candela=candela, symmetry=self.symmetry)

    def flux_lm(self, lamp_set: int = 0) -> Lumen:
        """All light that the intensities make, exact for their own planes."""
        if self.photometric_type == "B":
            per_value = self.candela_per_value(lamp_set)
            return type_b_flux_lm(
                self.horizontal_deg, self.vertical_deg, candela=self.values * per_value
            )
        return web_flux_lm(self.web(lamp_set))

    def aim(self) -> tuple[float, float, float]:
        """Where the light is meant to point in its web's frame: along z, but x for type A."""
        return (1.0, 0.0, 0.0) if self.photometric_type == "A" else (0.0, 0.0, 1.0)

    def _lamps(self, lamp_set: int) -> LampSet:
        if not 0 <= lamp_set < len(self.lamp_sets):
            expected = f"0 to {len(self.lamp_sets) - 1}"
            raise fault(self.name, "there is no such lamp set", expected, str(lamp_set))
        return self.lamp_sets[lamp_set]
