"""How things stood while readings were taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from falloff.document import SceneDocument
from falloff.layers import LightLayers
from falloff.readings import SetupLight


@dataclass(frozen=True, slots=True)
class Stood:
    """Things as they stood while readings were taken: the document then, its light, its setups.

    hour: by the location's clock where it is not the setups' own.
    """

    document: SceneDocument
    setups: Mapping[str, SetupLight]
    layers: LightLayers
    hour: str | None = None
