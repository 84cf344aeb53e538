"""Materials whose reflectance matters at readings, the weightiest first."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from falloff.kit import find_material, material_names
from falloff.record.stood import Stood
from falloff.transport.probes import spot_sights
from falloff.types import Float64Array

# Source of these: common practice, no source.
# Of a reflectance, on its odds: what a surface gives back over what it keeps. Of 0.5 that is 0.36
# to 0.64, of 0.82 0.72 to 0.89, of 0.1 0.06 to 0.16: about what a wall taken by eye is out by.
ODDS_SPREAD_STOPS: Final = 0.8
LEAST_REFLECTANCE: Final = 0.02
MOST_REFLECTANCE: Final = 0.95
_MOST_MATERIALS: Final = 8
_MATTERS_STOPS: Final = 0.02  # at some reading, by one spread of the material
_SPOT_RAYS: Final = 64

Weighed = tuple[int, int, Float64Array]  # where it stood, its probe, what each light is times


def reflectance_of(stood: Sequence[Stood], name: str) -> float:
    """The luminous reflectance of a material, as the document or the kit has it."""
    own = stood[0].document.materials.get(name)
    told = find_material(name).reflectance if own is None else own.reflectance
    return min(max(told, 1e-3), 1.0 - 1e-3)


def materials_that_matter(stood: Sequence[Stood], weighed: Iterable[Weighed]) -> tuple[str, ...]:
    """The materials whose spread matters at some reading; some eight at most.

    weighed: what each source's light is times (s, 3) at each reading. A material's part is the
    share of the reading that last left it: a first bounce, that ranks well enough. A spot's own
    surface has all of it.
    """
    part: dict[str, float] = {}
    for k, p, weight in weighed:
        for name, share in _shares(stood[k], p, weight).items():
            part[name] = max(part.get(name, 0.0), share)
    worth = {
        name: share * ODDS_SPREAD_STOPS * (1.0 - reflectance_of(stood, name))
        for name, share in part.items()
        if any(_can_be_corrected(one, name) for one in stood)
    }
    ranked = sorted(worth, key=lambda name: -worth[name])
    return tuple(name for name in ranked if worth[name] > _MATTERS_STOPS)[:_MOST_MATERIALS]


def _shares(one: Stood, p: int, weight: Float64Array) -> dict[str, float]:
    """The share of a reading's light that last left each material."""
    solution, probes = one.layers.solution, one.layers.probes
    surfaces, names = solution.stage.surfaces, solution.stage.material_names
    direct, bounced = probes.mean()
    whole = float(((direct + bounced)[:, p] * weight).sum())
    if whole <= 0.0:
        return {}
    ids = probes.ids[p]
    met = ids[ids < surfaces.element_count]
    material = surfaces.face_material[surfaces.element_face[met]]
    shares = np.zeros(len(names))
    for s, given in enumerate((bounced[:, p] * weight).sum(1)):
        level = np.bincount(material, solution.radiosity[s].mean(0)[met], minlength=len(names))
        if given > 0.0 and level.sum() > 0.0:
            shares += level / level.sum() * given / whole
    if probes.probes[p].instrument == "spot":
        seen = spot_sights(solution, probes.probes[p], _SPOT_RAYS)
        on_surface = (seen.seen < 0) & (seen.material < len(names))
        shares += np.bincount(seen.material[on_surface], minlength=len(names)) / _SPOT_RAYS
    return {names[m]: float(shares[m]) for m in np.flatnonzero(shares)}


def _can_be_corrected(one: Stood, name: str) -> bool:
    """Whether a material is one of walls and things: no skin, no cloth that light passes."""
    stage = one.layers.solution.stage
    if name not in stage.material_names:
        return False
    if name not in one.document.materials and name not in material_names():
        return False
    surfaces = stage.surfaces
    cloth = {int(surfaces.face_material[f]) for f in surfaces.sheet_faces.ravel() if f >= 0}
    return stage.material_names.index(name) not in cloth
