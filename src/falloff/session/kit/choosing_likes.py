"""Which lights are alike enough to stand at one place: hard or soft, how wide, which colour."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from falloff.document import (
    BookLight,
    FresnelLight,
    Lantern,
    LightPanel,
    OpenFace,
    ProfileSpotLight,
    SceneDocument,
    SoftBox,
    TubeLight,
)
from falloff.document import Globe as GlobeForm
from falloff.photometry import NAMED_PROFILES
from falloff.stage import LightNow
from falloff.stage.kit_lights import WebMouth

Kind = Literal["soft", "hard", "cut", "ball", "tube"]
LIKE_SIZE: Final = 1.4  # either way, of a soft front: common practice, no source
LIKE_BEAM: Final = 1.5  # either way, of a beam's angle: common practice, no source
LIKE_MIRED: Final = 30.0  # as a target of a colour is taken to hold
_TUBE_FROM: Final = 8.0  # times as long as wide
_SOFT_FROM_M: Final = 0.35  # a mouth as wide as that makes soft edges: common practice, no source


@dataclass(frozen=True, slots=True)
class Look:
    """What matters of a light's form: its kind, its width (m) and its beam's full angle (rad).

    width_m: the side of a square as large, or the length of a tube; beam_rad: 0 where it has none.
    """

    kind: Kind
    width_m: float
    beam_rad: float = 0.0

    def like(self, other: Look) -> bool:
        """Whether one may stand in for the other."""
        if self.kind != other.kind:
            return False
        if self.kind in ("hard", "cut"):
            return _within(self.beam_rad, other.beam_rad, LIKE_BEAM)
        return _within(self.width_m, other.width_m, LIKE_SIZE)

    def in_words(self) -> str:
        """The form as people say it."""
        across = f"{100.0 * self.width_m:.0f} cm"
        beam = f"{math.degrees(self.beam_rad):.0f}°"
        return {
            "soft": f"a soft light {across} wide",
            "hard": f"a hard light of {beam}",
            "cut": f"a profile spot of {beam}",
            "ball": f"a lantern {across} wide",
            "tube": f"a tube {across} long",
        }[self.kind]


def look_of(document: SceneDocument, light: LightNow) -> Look | None:
    """The form of a light; None where there is no telling."""
    found: Look | None = None
    match light.form:
        case SoftBox() | LightPanel() | BookLight() as form:
            found = _front(form.size[0].si, form.size[1].si)
        case Lantern() | GlobeForm() as form:
            found = Look("ball", form.diameter.si)
        case TubeLight() as form:
            found = Look("tube", form.length.si)
        case ProfileSpotLight() as form:
            found = Look("cut", form.aperture.si, form.beam.si)
        case FresnelLight() as form:
            found = _mouth(form.aperture.si, form.beam.si)
        case OpenFace() as form:
            found = _mouth(form.aperture.si, _beam_of(document, form))
        case WebMouth() as form:
            wide = _half_angle(form.web.angle_rad, form.web.candela.mean(0))
            found = _mouth(math.sqrt(form.mouth_m[0] * form.mouth_m[1]), 2.0 * wide)
        case _:
            pass
    return found


def near_mired(kelvin: float, other: float) -> bool:
    """Whether two colours are as near as a target of one is held."""
    return abs(1e6 / kelvin - 1e6 / other) <= LIKE_MIRED


def _front(width_m: float, height_m: float) -> Look:
    """An even front; one that is many times as long as wide is a tube to all that it lights."""
    if max(width_m, height_m) >= _TUBE_FROM * min(width_m, height_m):
        return Look("tube", max(width_m, height_m))
    return Look("soft", math.sqrt(width_m * height_m))


def _mouth(width_m: float, beam_rad: float) -> Look:
    return Look("soft" if width_m >= _SOFT_FROM_M else "hard", width_m, beam_rad)


def _within(a: float, b: float, factor: float) -> bool:
    return a > 0.0 and b > 0.0 and max(a, b) <= factor * min(a, b) * (1.0 + 1e-9)


def _beam_of(document: SceneDocument, form: OpenFace) -> float:
    """Full angle at half intensity (rad)."""
    if form.beam is not None:
        return form.beam.si
    own = document.profiles.get(form.profile or "")
    if own is not None:
        return 2.0 * _half_angle(np.array([one.si for one in own.angles]), np.array(own.relative))
    table = np.array(NAMED_PROFILES[form.profile or ""])
    return 2.0 * _half_angle(np.radians(table[:, 0]), table[:, 1])


def _half_angle(angle_rad: np.ndarray, intensity: np.ndarray) -> float:
    """The widest angle at which half the greatest intensity is left."""
    half = 0.5 * float(intensity.max())
    above = np.flatnonzero(intensity >= half)
    last = int(above[-1])
    if last + 1 >= len(angle_rad):
        return float(angle_rad[-1])
    share = (intensity[last] - half) / max(1e-12, intensity[last] - intensity[last + 1])
    return float(angle_rad[last] + share * (angle_rad[last + 1] - angle_rad[last]))
