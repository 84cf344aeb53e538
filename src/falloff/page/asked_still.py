"""A picture that one owns: its places read in stops, and as targets for the scene's readings."""

from __future__ import annotations

import functools
import io
from typing import Any, Final

import msgspec
import numpy as np

from falloff.camera import Still, read_still
from falloff.camera.still_curves import STILL_CURVES, still_curve
from falloff.camera.view import encode_srgb
from falloff.constants import GREY_CARD_REFLECTANCE
from falloff.page.answer_changes import edits_told
from falloff.page.ask_desk import Answer, Desk
from falloff.page.told import cannot
from falloff.session.still import StillAsked, StillTargets, still_edits, targets_from_still

_SHOWN_PX: Final = 1280


def still_answer(desk: Desk) -> Answer:
    """asked: data, the file's bytes; curve, graded; places, by reading, as shares; alike."""
    asked, task = desk.task.asked, desk.task
    if asked.get("data") is None:
        raise cannot("the picture is not kept any more", "open it again")
    graded = asked.get("graded")
    still = _read(
        asked["data"], asked.get("curve") or None, None if graded is None else bool(graded)
    )
    places = {
        str(name): (float(x), float(y)) for name, (x, y) in dict(asked.get("places") or {}).items()
    }
    told: Answer = {
        "size": [still.width_px, still.height_px],
        "shown": desk.keep(_shown(asked["data"], asked.get("curve") or None)),
        "curve": still.curve.name,
        "curves": [[name, still_curve(name).says] for name in STILL_CURVES],
        "graded": still.graded,
        "findings": [msgspec.to_builtins(one) for one in still.findings],
        "says": [],
        "points": [],
        "targets": [],
        "changes": [],
        "step": True,
    }
    if not places:
        return told
    stage = desk.layers_of(task.plans[task.setup]).solution.stage
    alike = tuple(str(one) for one in asked.get("alike") or () if one in places)
    made = targets_from_still(
        desk.document(task.setup), still, places, asked=StillAsked(alike=alike), stage=stage
    )
    edits = still_edits(task.document, made)
    label = f"targets from {asked.get('name') or 'a still'}"
    return {
        **told,
        **_made(made),
        "changes": [{"do": "edits", "label": label, "edits": edits_told(edits)}] if edits else [],
    }


def _made(made: StillTargets) -> dict[str, Any]:
    return {
        "against": made.against,
        "points": [msgspec.to_builtins(one) for one in made.points],
        "targets": [msgspec.to_builtins(one) for one in made.targets],
        "says": [one.says for one in made.targets],
        "findings": [msgspec.to_builtins(one) for one in made.findings],
    }


@functools.lru_cache(maxsize=2)
def _read(data: bytes, curve: str | None, graded: bool | None) -> Still:  # noqa: FBT001
    return read_still(data, curve, graded=graded)


@functools.lru_cache(maxsize=2)
def _shown(data: bytes, curve: str | None) -> bytes:
    """The picture as a PNG of at most so many pixels across, as it is encoded."""
    from PIL import Image

    still = _read(data, curve, None)
    step = max(1, -(-still.width_px // _SHOWN_PX))
    codes = still.signals(slice(None, None, step), slice(None, None, step))
    if still.bits is None:
        codes = encode_srgb(codes * (GREY_CARD_REFLECTANCE / still.middle_grey_share))
    pixels = np.rint(255.0 * np.clip(codes, 0.0, 1.0)).astype(np.uint8)
    held = io.BytesIO()
    Image.fromarray(pixels).save(held, "PNG", compress_level=1)
    return held.getvalue()
