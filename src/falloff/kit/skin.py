"""Human skin by plain words: luminous reflectance and tint."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources
from typing import Final

import msgspec

from falloff.kit.unknown import unknown_name

# Deepest first; each returns about a third to half a stop more than the one before.
SKIN_WORDS: Final[tuple[str, ...]] = (
    "very deep",
    "deep",
    "very dark brown",
    "dark brown",
    "brown",
    "tan",
    "beige",
    "light",
    "pale",
    "very pale",
)


class Skin(msgspec.Struct, frozen=True):
    """Skin: luminous reflectance 0 to 1 under D65, relative linear BT.2020 R, G, B.

    All light that comes back is counted, that of the bare surface too (2.8 %).
    """

    reflectance: float
    tint: tuple[float, float, float]


def find_skin(word: str) -> Skin:
    """The skin that one of SKIN_WORDS means; raises GeometryError with the nearest word.

    Valid for healthy bare skin, 4.5 to 55 % luminous reflectance. Source: two words are measured
    (CIE 224:2017), the others modelled after S. L. Jacques; see data/skin.toml.

    >>> find_skin("tan").reflectance
    0.203
    """
    found = _skins().get(word)
    if found is None:
        raise unknown_name(
            "skin",
            word,
            SKIN_WORDS,
            expected="0 to 1, or one of " + ", ".join(SKIN_WORDS),
            otherwise="write a reflectance, such as 0.35",
        )
    return found


@functools.cache
def _skins() -> dict[str, Skin]:
    text = resources.files("falloff.kit").joinpath("data/skin.toml").read_text("utf-8")
    return msgspec.convert(tomllib.loads(text), dict[str, Skin])
