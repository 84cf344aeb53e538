"""Generic surface materials: luminous reflectance and tint."""

from __future__ import annotations

import functools
import tomllib
from importlib import resources

import msgspec

from falloff.kit.unknown import unknown_name


class Material(msgspec.Struct, frozen=True):
    """A surface: luminous reflectance 0 to 1, relative linear BT.2020 R, G, B, and its coat.

    sheen: reflectance of a smooth coat at right angles, 0 for a matte surface; roughness: of that
    coat, from near 0, a mirror, to 1 (the α of the usual microfacet lobe).
    """

    reflectance: float
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    sheen: float = 0.0
    roughness: float = 0.4


@functools.cache
def _materials() -> dict[str, Material]:
    text = resources.files("falloff.kit").joinpath("data/materials.toml").read_text("utf-8")
    return msgspec.convert(tomllib.loads(text)["material"], dict[str, Material])


def material_names() -> tuple[str, ...]:
    """Every material of the catalogue, in alphabetical order."""
    return tuple(sorted(_materials()))


def find_material(name: str) -> Material:
    """A material by name; raises GeometryError with the nearest known name."""
    found = _materials().get(name)
    if found is None:
        raise unknown_name("material", name, material_names(), otherwise="add it under materials:")
    return found
