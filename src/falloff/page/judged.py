"""What a window is told of a setup's light in words, and of targets that it cannot judge itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from falloff.document import KeepTarget, SceneDocument, arranged, points_of, targets_in
from falloff.page.sources_told import colours_of
from falloff.page.targets import in_window
from falloff.readings import (
    Readings,
    ReadingsMatrix,
    SetupLight,
    brief,
    judge_all,
    read_matrix,
)
from falloff.session.scene import setup_light


def judged_in(
    document: SceneDocument,
    setup: str,
    matrix: ReadingsMatrix,
    *,
    written: SceneDocument,
    sources: dict[str, dict[str, Any]],
    daylight: Mapping[str, Any],
) -> dict[str, Any]:
    """The sentences of a setup, and its targets of other kinds than a level at one point.

    written: the scene as it is, where the document is one that is only looked at; sources,
    daylight: the colours of its lights, as a window has them. Raises FalloffError and KeyError
    where the matrix is of another state of the scene.
    """

    def read(one: SceneDocument) -> tuple[SetupLight, Readings]:
        light = setup_light(arranged(one, setup), setup)
        return light, read_matrix(matrix, light, light.gains(colours_of(sources, daylight)))

    light, readings = read(document)
    kept = None
    wanted = targets_in(document, setup)
    if document is not written and any(isinstance(one, KeepTarget) for one in wanted.values()):
        kept = {one.name: one.value for one in read(written)[1].readings}
    judged = judge_all(
        document.targets,
        readings,
        balance_kelvin=light.settings.balance_kelvin,
        kept=kept,
        points=points_of(document),
    )
    return {
        "sentences": list(brief(readings, judged)),
        "judged": {
            name: msgspec.to_builtins(one)
            for name, one in judged.items()
            if not in_window(document, document.targets[name])
        },
    }
