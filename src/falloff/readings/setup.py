"""A setup as readings and the picture need it: dims as light and colour, the camera's settings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from falloff.camera import (
    CameraSettings,
    describe_settings,
    key_illuminance_lux,
    mid_grey_luminance_nit,
)
from falloff.findings import Finding
from falloff.readings.records import Readings
from falloff.types import Float64Array

if TYPE_CHECKING:
    from falloff.layers import LightLayers


@dataclass(frozen=True, slots=True)
class SetupLight:
    """A setup as readings need it: name, camera, that camera's settings, light, key reading.

    dims: shares of each source's full light, 1 where not named; knobs: the dims as set, where a
    curve lies between, else as `dims`; tints: (3,) by source, what dimming does to its colour.
    """

    name: str
    camera: str
    settings: CameraSettings
    dims: Mapping[str, float]
    key: str | None = None
    knobs: Mapping[str, float] = field(default_factory=dict)
    tints: Mapping[str, Float64Array] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    def knob(self, source: str) -> float:
        """The dim of a source as it is set, 0 to 1."""
        return self.knobs.get(source, self.dims.get(source, 1.0))

    def coloured(self, layers: LightLayers) -> LightLayers:
        """The layers with the colours that sources have as they are dimmed."""
        if not self.tints:
            return layers
        factors = np.array([self.tints.get(name, np.ones(3)) for name in layers.names])
        return replace(layers, colours=layers.colours * factors)

    def gains(self, colours: Mapping[str, Float64Array]) -> dict[str, Float64Array]:
        """What each source's white light at full is times (3,): its dim, colour and tint.

        colours: (3,) of every source at full, luminance 1.
        """
        return {
            name: self.dims.get(name, 1.0) * colour * self.tints.get(name, 1.0)
            for name, colour in colours.items()
        }

    def no_readings(self, scene: str, sources: tuple[str, ...]) -> Readings:
        """The setup's exposure and dims as readings have them, and not one reading yet."""
        return Readings(
            scene=scene,
            setup=self.name,
            camera=self.camera,
            key_reading=self.key,
            exposure=describe_settings(self.settings),
            meter_constant_lux_s=self.settings.meter_constant_c,
            key_lux=float(key_illuminance_lux(self.settings)),
            mid_grey_nit=float(mid_grey_luminance_nit(self.settings)),
            sources=sources,
            dims={name: float(self.knob(name)) for name in sources},
            readings=(),
            contrasts=(),
            softness=(),
            findings=self.findings,
        )
