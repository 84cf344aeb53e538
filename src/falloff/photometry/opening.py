"""The luminous opening of a light: its shape and size, from the signs that files give it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from falloff.constants import METRES_PER_FOOT
from falloff.photometry.plain_text import Notes, plain

OpeningShape = Literal[
    "point",
    "rectangle",
    "box",
    "disc",
    "ellipse",
    "upright cylinder",
    "upright elliptic cylinder",
    "sphere",
    "ellipsoid",
    "cylinder along x",
    "cylinder along y",
    "disc facing x",
    "ellipse facing x",
]

LARGEST_M: Final = 30.0  # a light longer than this was more likely written in another unit


@dataclass(frozen=True, slots=True)
class Opening:
    """The shining part of a light in the web's frame: x photometric horizontal, z the axis.

    x_m, y_m, height_m: its size along x, y and z, 0 or more.
    """

    shape: OpeningShape
    x_m: float
    y_m: float
    height_m: float

    @property
    def largest_m(self) -> float:
        """The largest dimension, by which nearness is judged."""
        return max(self.x_m, self.y_m, self.height_m)


Signs = tuple[int, int, int]

# Signs of width, length and height (width along y, length along x).
# Source: LM-63-2002 and 2019, table of luminous openings, by public transcriptions.
_SINCE_2002: Final[dict[Signs, OpeningShape]] = {
    (0, 0, 0): "point",
    (-1, -1, 0): "ellipse",
    (-1, -1, 1): "upright elliptic cylinder",
    (-1, -1, -1): "ellipsoid",
    (-1, 1, -1): "cylinder along x",
    (1, -1, -1): "cylinder along y",
    (-1, 0, -1): "ellipse facing x",
    (0, -1, -1): "ellipse facing x",
}
# Source: LM-63-1995, as above; one negative of width and length marks an ellipse.
_OF_1995: Final[dict[Signs, OpeningShape]] = {
    (0, 0, 0): "point",
    (-1, 0, 0): "disc",
    (-1, 0, 1): "upright cylinder",
    (-1, 0, -1): "sphere",
    (0, 1, -1): "cylinder along x",
    (1, 0, -1): "cylinder along y",
    (-1, 1, 0): "ellipse",
    (1, -1, 0): "ellipse",
    (-1, 1, 1): "upright elliptic cylinder",
    (1, -1, 1): "upright elliptic cylinder",
    (-1, 1, -1): "ellipsoid",
    (1, -1, -1): "ellipsoid",
}
# Source: LM-63-1986 and 1991, as above.
_OF_1986: Final[dict[Signs, OpeningShape]] = {
    (0, 0, 0): "point",
    (-1, 0, 0): "disc",
    (-1, 0, 1): "upright cylinder",
    (-1, 1, 0): "ellipse",
}
# Two equal widths make the round one of a kind.
_ROUND: Final[dict[OpeningShape, OpeningShape]] = {
    "ellipse": "disc",
    "upright elliptic cylinder": "upright cylinder",
    "ellipsoid": "sphere",
    "ellipse facing x": "disc facing x",
}


def lm63_opening(
    sizes: tuple[float, float, float], *, feet: bool, year: int, notes: Notes
) -> Opening:
    """The opening that width, length and height stand for in a version of LM-63.

    A form of another version is forgiven with a note; signs that no version knows are taken as
    straight sides with a warning, for the opening decides how soft a light is, not how much.
    """
    tables = [_SINCE_2002, _OF_1995, _OF_1986]
    own = _SINCE_2002 if year >= 2002 else _OF_1995 if year >= 1995 else _OF_1986
    signs = (_sign(sizes[0]), _sign(sizes[1]), _sign(sizes[2]))
    scale = METRES_PER_FOOT if feet else 1.0
    width, length, height = (abs(one) * scale for one in sizes)
    written = " ".join(plain(one) for one in sizes)
    if min(signs) >= 0 and signs != (0, 0, 0):
        shape: OpeningShape = "box" if height > 0.0 else "rectangle"
    elif signs in own:
        shape = own[signs]
    else:
        shape = next((table[signs] for table in tables if signs in table), "box")
        if any(signs in table for table in tables):
            notes.note(f"the luminous opening {written} is a form of another version: {shape}")
        else:
            notes.warn(
                f"the luminous opening {written} is no form of any version: taken as a box",
                "check how wide the light is: it decides how soft it looks",
            )
    if max(width, length, height) > LARGEST_M:
        notes.warn(f"the luminous opening {written} is more than {LARGEST_M:g} m wide")
    return _sized(shape, width, length, height)


def _sized(shape: OpeningShape, width: float, length: float, height: float) -> Opening:
    """One diameter of a round thing stands for all that are not written."""
    wide = width or length
    if shape in {"disc", "upright cylinder"}:
        return Opening(shape, length or wide, wide, height)
    if shape == "sphere":
        return Opening(shape, wide, wide, wide)
    if shape == "cylinder along x":
        return Opening(shape, length, width or height, height)
    if shape == "cylinder along y":
        return Opening(shape, length or height, width, height)
    if shape == "ellipse facing x":
        across = width or length
        return Opening("disc facing x" if across == height else shape, 0.0, across, height)
    round_one = shape in _ROUND and width == length and (shape != "ellipsoid" or height == width)
    return Opening(_ROUND[shape] if round_one else shape, length, width, height)


def eulumdat_opening(
    length_mm: float, width_mm: float, *, heights_mm: tuple[float, ...]
) -> Opening:
    """The opening of EULUMDAT's luminous length (or diameter), width and four heights, in mm.

    A width of 0 means a circle. Length lies along C90, width along C0 (from memory).
    """
    length, width = abs(length_mm) / 1000.0, abs(width_mm) / 1000.0
    height = max(abs(one) for one in heights_mm) / 1000.0
    if length == 0.0 and width == 0.0:
        return Opening("point", 0.0, 0.0, 0.0)
    if width == 0.0:
        return Opening("upright cylinder" if height > 0.0 else "disc", length, length, height)
    return Opening("box" if height > 0.0 else "rectangle", width, length, height)


def _sign(value: float) -> int:
    return (value > 0.0) - (value < 0.0)
