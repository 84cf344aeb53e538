"""A stage whose surfaces and sources stand as they did, but reflect and shine otherwise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from falloff.document import SceneDocument, Skylight, Window
from falloff.sources import BEAM, Source
from falloff.stage.assemble import albedo_of
from falloff.stage.lights import kept_share, light_of
from falloff.stage.places import Placer
from falloff.stage.records import PANE, Stage
from falloff.stage.skies import build_skies
from falloff.stage.windows import glass_place, panes_of
from falloff.types import Float64Array

_SAME_PLACE_M = 1e-6
_LUMINANCE_AT = 13  # in Source.shape, for every kind; a beam keeps its flux there


def relit(stage: Stage, document: SceneDocument) -> Stage:
    """The stage under a document that differs from its own only in light and reflectance.

    That is in materials, skin, the sky, glass, gels and the output of lights; places, sizes, names
    and dressing that is a surface must be as they were.
    """
    placer = Placer(document)
    skies = {source.name: source for source in build_skies(placer)}
    sources = tuple(
        skies[source.name]
        if source.name in skies
        else _shining(source, _leaving_lm(placer, source))
        for source in stage.sources
    )
    surfaces = stage.surfaces
    cloth = {
        int(surfaces.face_material[face]) for face in surfaces.sheet_faces.ravel() if face >= 0
    }
    albedo = np.stack(
        [
            surfaces.albedo[k] if k in cloth else albedo_of(name, document)
            for k, name in enumerate(stage.material_names)
        ]
    )
    surfaces = replace(surfaces, albedo=albedo, sheets=_reglazed(surfaces.sheets, placer))
    return replace(stage, surfaces=surfaces, sources=sources)


def _reglazed(sheets: Float64Array, placer: Placer) -> Float64Array:
    """Sheets with panes that pass what the document's glass and gels do."""
    sheets = sheets.copy()
    for name, opening in placer.document.openings.items():
        if isinstance(opening, Window | Skylight) and (glass := panes_of(opening)) is not None:
            here = np.abs(sheets[:, :3] - glass_place(placer, name)[0]).max(1) < _SAME_PLACE_M
            sheets[np.ix_(here & (sheets[:, 13] == PANE), [12, 14])] = glass
    return sheets


def _leaving_lm(placer: Placer, source: Source) -> float:
    light = light_of(placer, source.name)
    return light.flux_lm * kept_share(light.form)


def _shining(source: Source, flux_lm: float) -> Source:
    """A source with another flux."""
    if flux_lm == source.flux_lm:
        return source
    shape = source.shape.copy()
    shape[_LUMINANCE_AT] = (
        flux_lm if source.kind == BEAM else shape[_LUMINANCE_AT] * flux_lm / source.flux_lm
    )
    return replace(source, shape=shape, flux_lm=flux_lm)
