"""What is told of light and of causes, in a cinematographer's words: stops in thirds."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from falloff.balance.words import capital
from falloff.units import format_stops_thirds


@dataclass(frozen=True, slots=True)
class Telling:
    """How a measure is told: what it is of, and against what: "the shadow side", "the key side".

    plural: whether more than one thing is told of. place: where a flag's shadow would have to
    fall. walls: what walls are called from the camera.
    """

    about: str
    reference: str
    plural: bool = False
    place: str = "it"
    walls: Mapping[str, str] | None = None

    def is_at(self, stops: float) -> str:
        """Where it is: "the shadow side is two thirds under the key side"."""
        return f"{self.about} {'are' if self.plural else 'is'} {against(stops, self.reference)}"

    def would(self, stops: float) -> str:
        """Where it would be."""
        it = "they" if self.plural else "it"
        if stops == -math.inf:
            return f"{it} would have next to no light"
        if not math.isfinite(stops):
            return f"{self.reference} would have next to no light"
        return f"{it} would be {against(stops, self.reference)}"

    def surface(self, name: str) -> str:
        """How one says a surface: "the left wall", "the ceiling", "KEY's body"."""
        return surface_text(name, self.walls or {})


def against(stops: float, reference: str) -> str:
    """Where something lies against a reference, in thirds of a stop."""
    if stops == -math.inf:
        return "without light"
    if stops == math.inf:
        return f"lit where {reference} is dark"
    said = format_stops_thirds(stops, reference=reference)
    level = reference in ("key", "middle grey")
    return said if said.startswith("at ") and level else _beside(said, reference)


def _beside(said: str, reference: str) -> str:
    return f"level with {reference}" if said.startswith("at ") else f"{said} {reference}"


def amount(stops: float) -> str:
    """So many stops, without a sign: "a third of a stop", "1 1/3 stops"."""
    if not math.isfinite(stops):
        return "all of it"
    said = format_stops_thirds(abs(stops)).removesuffix(" over")
    if said.startswith("at "):
        return "less than a third of a stop"
    if said.startswith(("a third", "two thirds")):
        return f"{said} of a stop"
    return f"{said} stop" if said == "1" else f"{said} stops"


def per_cent(share: float) -> str:
    """A share as people say it."""
    value = 100.0 * share
    return f"{value:.0f} %" if value >= 0.95 or value == 0.0 else "less than 1 %"


def surface_text(name: str, walls: Mapping[str, str]) -> str:
    """How one says a surface; walls: names by surface, as the camera sees them."""
    if name in walls:
        return walls[name]
    thing, _, part = name.partition(": ")
    if thing == "room":
        return part if re.match(r"(?:.* )?wall \d", part) else f"the {part}"
    return f"{thing}'s {part}" if part else thing


def spot_text(place: str) -> str:
    """A place of a person as one says it: "left hair edge" of "hair_edge_left"."""
    usual = {"cheek_key": "key side", "cheek_shadow": "shadow side"}
    rest, _, side = place.rpartition("_")
    said = f"{side} {rest}" if side in ("left", "right") else place
    return usual.get(place, said.replace("_", " "))


def the_name(name: str) -> str:
    """A reading as one says it: "the back wall"; names in capitals and levels stay."""
    stays = name in ("key", "middle grey") or not name.islower()
    return name if stays or re.match(r"(?:the|an?)\b", name) else f"the {name}"


def sentence(text: str) -> str:
    """A clause as a sentence."""
    return capital(text) if text.endswith((".", "?")) else f"{capital(text)}."
