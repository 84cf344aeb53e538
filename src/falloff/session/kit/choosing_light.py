"""The light of each candidate at every reading: its source in place, its own light traced alone.

The rest of the scene stands as it is written, the body of what stood there too; the package that
is chosen is traced once more as it would stand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from msgspec.structs import replace as with_fields

from falloff.document import Fixture, SceneDocument
from falloff.errors import FalloffError
from falloff.layers import LightLayers
from falloff.session.kit.choosing_candidates import Fit, with_fixture
from falloff.sources import BEAM, SPHERE, TUBE, Source
from falloff.stage import Grain, build_stage
from falloff.stage.fixtures import build_fixture
from falloff.stage.places import Placer
from falloff.transport import Budget, Solution, settle_dragged, trace, trace_probes
from falloff.transport.trace import light_factor
from falloff.types import Float64Array

# Coarser than a trace's own: a candidate's light need be known within a twentieth of a stop.
_COARSE: Final = {
    "element_points": 2,
    "element_rays": 2,
    "beam_rays": 8192,
    "reading_replicates": 2,
    "reading_shadow_rays": 64,
    "reading_gather_rays": 256,
    "hot_reading_rays": 32,
}
_FAR_MOUTH_M: Final = 0.3  # mouths no wider than that give the same light past a metre
_MOUTH_AT: Final = slice(6, 13)  # in Source.shape
_SIZE_AT: Final = {SPHERE: 3, TUBE: 7}


@dataclass(frozen=True, slots=True)
class CandidateLight:
    """What a candidate gives in one arrangement: (p, 3) at every probe, at full, in its colour."""

    fit: Fit
    light: Float64Array


@dataclass(frozen=True, slots=True)
class _Known:
    source: Source
    white: Float64Array


def light_of_fits(
    document: SceneDocument, layers: LightLayers, name: str, fits: tuple[Fit, ...]
) -> list[CandidateLight]:
    """The light of each candidate at a place; those that cannot be built there are left out.

    document: as it stands in the arrangement whose layers these are.
    """
    before = layers.solution
    coarse = replace(before, budget=_coarse(before.budget))
    s = layers.names.index(name)
    known: list[_Known] = []
    found = []
    for fit in fits:
        try:
            placer = Placer(with_fixture(document, name, _in_place(document, name, fit)))
            _, source = build_fixture(placer, name, Grain())
        except FalloffError:
            continue
        white = next(
            (
                factor * one.white
                for one in known
                if (factor := _factor(one.source, source)) is not None
            ),
            None,
        )
        if white is None and _hidden(before.stage.sources[s], source):
            white = _traced_anew(placer.document, name, coarse.budget)
        elif white is None:
            white = _traced(coarse, s, source)
        known.append(_Known(source, white))
        found.append(CandidateLight(fit, white * np.asarray(source.colour, np.float64)))
    return found


def _in_place(document: SceneDocument, name: str, fit: Fit) -> Fixture:
    """The candidate's record where the place is in this arrangement."""
    stands = document.fixtures[name]
    return with_fields(fit.fixture, at=stands.at, aim=stands.aim)


def _coarse(budget: Budget) -> Budget:
    return replace(budget, **{key: min(getattr(budget, key), n) for key, n in _COARSE.items()})


def _factor(known: Source, source: Source) -> float | None:
    """How much stronger a source is than one that is known, if that is all that matters."""
    factor = light_factor(known, source)
    if factor is not None or known.kind != BEAM or source.kind != BEAM:
        return factor
    mouths = [np.linalg.norm(one.shape[6:9]) for one in (known, source)]
    if max(mouths) > 0.5 * _FAR_MOUTH_M:
        return None
    shape = source.shape.copy()
    shape[_MOUTH_AT] = known.shape[_MOUTH_AT]
    return light_factor(known, replace(source, shape=shape))


def _traced(coarse: Solution, s: int, source: Source) -> Float64Array:
    """White light (p, 3) at every probe of a source that stands where source s stands."""
    sources = list(coarse.stage.sources)
    sources[s] = source
    stage = replace(coarse.stage, sources=tuple(sources))
    solution = settle_dragged(replace(coarse, stage=stage), s)
    traced = trace_probes(solution, stage.probes, only=(s,))
    direct, bounced = traced.mean()
    return np.asarray(direct[s] + bounced[s])


def _traced_anew(document: SceneDocument, name: str, budget: Budget) -> Float64Array:
    """The same of a scene in which the candidate stands, all of it traced anew."""
    stage = build_stage(document, guarded=False)
    s = [one.name for one in stage.sources].index(name)
    traced = trace_probes(trace(stage, budget), stage.probes, only=(s,))
    direct, bounced = traced.mean()
    return np.asarray(direct[s] + bounced[s])


def _hidden(old: Source, new: Source) -> bool:
    """Whether the body of what stands there now, a ball or a tube, would hide a new source."""
    if old.kind not in _SIZE_AT:
        return False
    at = _SIZE_AT[old.kind]
    return old.kind != new.kind or bool(new.shape[at] < old.shape[at] - 1e-6)
