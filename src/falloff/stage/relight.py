"""A stage whose surfaces and sources stand as they did, but reflect and shine otherwise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from falloff.document import SceneDocument
from falloff.sources import BEAM, Source
from falloff.stage.assemble import albedo_of
from falloff.stage.places import Placer
from falloff.stage.records import Stage
from falloff.stage.skies import build_skies

_LUMINANCE_AT = 13  # in Source.shape, for every kind; a beam keeps its flux there


def relit(stage: Stage, document: SceneDocument) -> Stage:
    """The stage under a document that differs from its own only in light and reflectance.

    That is in materials, skin, the sky, glass, gels and the output of lights; places, sizes, names
    and dressing that is a surface must be as they were.
    """
    skies = {source.name: source for source in build_skies(Placer(document))}
    lights = document.fixtures | document.practicals
    sources = tuple(
        skies[source.name]
        if source.name in skies
        else _shining(source, lights[source.name].output.si)
        for source in stage.sources
    )
    albedo = np.stack([albedo_of(name, document) for name in stage.material_names])
    return replace(stage, surfaces=replace(stage.surfaces, albedo=albedo), sources=sources)


def _shining(source: Source, flux_lm: float) -> Source:
    """A source with another flux."""
    if flux_lm == source.flux_lm:
        return source
    shape = source.shape.copy()
    shape[_LUMINANCE_AT] = (
        flux_lm if source.kind == BEAM else shape[_LUMINANCE_AT] * flux_lm / source.flux_lm
    )
    return replace(source, shape=shape, flux_lm=flux_lm)
