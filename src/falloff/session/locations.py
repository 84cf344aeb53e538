"""The shipped locations by name."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from typing import Final, Literal

Location = Literal["workshop", "kitchen", "stairwell"]
LOCATIONS: Final[tuple[Location, ...]] = ("workshop", "kitchen", "stairwell")


def location_file(location: Location) -> Traversable:
    """A shipped location's scene file."""
    return resources.files("falloff.session").joinpath(f"data/{location}.scene.yaml")
