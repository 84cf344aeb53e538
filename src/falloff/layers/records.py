"""What light layers hold."""

from __future__ import annotations

from dataclasses import dataclass

from falloff.transport import ProbeTrace, Solution, ViewTrace
from falloff.types import Float32Array, Float64Array


@dataclass(frozen=True, slots=True)
class ViewLayers:
    """A camera's picture of every source alone, at 100 % and white: (s, h, w, 3) cd/m² each.

    trace: the rays behind it, kept so that a moved body is cheap; None when read from the cache.
    """

    direct: Float32Array
    bounced: Float32Array
    trace: ViewTrace | None


@dataclass(frozen=True, slots=True)
class LightLayers:
    """All that a stage's light is made of, source by source; dims, colours and exposure come after.

    names: of the sources, the first axis of every array. colours: (s, 3), luminance 1.
    """

    names: tuple[str, ...]
    colours: Float64Array
    solution: Solution
    probes: ProbeTrace
    views: dict[str, ViewLayers]

    def pictures(self, view: str) -> dict[str, Float32Array]:
        """Each source's own picture (h, w, 3) in its own colour at 100 %, cd/m²."""
        layers = self.views[view]
        return {
            name: (layers.direct[s] + layers.bounced[s]) * self.colours[s].astype("float32")
            for s, name in enumerate(self.names)
        }


@dataclass(frozen=True, slots=True)
class Dragged:
    """A fixture's own layer at a new place, exact but for bounce off what else it may hide.

    source: its index; direct, bounced: (h, w, 3) cd/m²; probes: its own light at the probes.
    Every other source's layer is pending until the fixture is let go.
    """

    source: int
    direct: Float32Array
    bounced: Float32Array
    probes: ProbeTrace
