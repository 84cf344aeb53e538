"""What may be hung: black cloth over a wall that gives a place its bounce."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.balance.fixes.boards import readings_that_want
from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import HANG_WALL
from falloff.balance.fixes.frames import seen_by
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.trials import surfaces_hung
from falloff.document import Add, Edit, Rewrite, quoted
from falloff.kit import find_material
from falloff.transport import surface_shares
from falloff.types import Float64Array

_BLACK: Final = "black cloth"
_LEAST_BOUNCE: Final = 0.1


def wall_candidates(start: Start) -> list[Candidate]:
    """Each wall, out of frame, that gives much to a place that wants less."""
    found: list[Candidate] = []
    for t, k, _, weight in readings_that_want(start, -1.0):
        row = start.probe_rows[t][k]
        shares = _bounce_from(start, row)
        walls = [(name, share) for name, share in shares.items() if _wall(name) is not None]
        for name, share in walls[:3]:
            seen = seen_by(start, _wall_points(start, name))
            if share >= _LEAST_BOUNCE and not seen:
                found.append(_hung(start, name, rank=weight * share))
    by_name = {one.says: one for one in found}
    return list(by_name.values())


def _bounce_from(start: Start, row: int) -> dict[str, float]:
    """Share of a probe's light by the surface that it last left, the largest first."""
    layers = start.case.posed[0].layers
    totals: dict[str, float] = {}
    for s, share in enumerate(start.answer.shares):
        if share <= 0.0:
            continue
        for name, light in surface_shares(
            start.solution, layers.probes, row, float(share) * start.colours[s], s
        ).items():
            totals[name] = totals.get(name, 0.0) + light
    whole = max(sum(totals.values()), 1e-12)
    by = start.answer.shares[:, None]
    bounced = float((by * start.bounced[:, row]).sum())
    part = bounced / max(bounced + float((by * start.direct[:, row]).sum()), 1e-12)
    return {
        name: part * light / whole
        for name, light in sorted(totals.items(), key=lambda item: -item[1])
    }


def _wall(surface: str) -> int | None:
    """The number of a wall of the scene's own room, by its surface's name."""
    told = surface.removeprefix("room: wall ")
    return int(told) if told != surface and told.isdigit() else None


def _wall_points(start: Start, surface: str) -> Float64Array:
    surfaces = start.solution.stage.surfaces
    faces = surfaces.face_name[surfaces.element_face] == surfaces.names.index(surface)
    return np.asarray(surfaces.element_points[faces][:, 0], np.float64)


def _hung(start: Start, surface: str, *, rank: float) -> Candidate:
    wall = _wall(surface)
    assert wall is not None
    path = ("room", "wall_surfaces")
    told = quoted(_BLACK)
    document = start.case.document
    edit: Edit
    if document.seen.has((*path, wall)):
        edit = Rewrite((*path, wall), told)
    elif document.seen.has(path):
        edit = Add((*path, str(wall)), told)
    else:
        edit = Add(path, f"{{{wall}: {told}}}")
    reflectance = find_material(_BLACK).reflectance
    # A wall's own surface goes round into its openings.
    reveals = tuple(
        f"room: {name} reveal"
        for name, one in start.document.openings.items()
        if getattr(one, "wall", None) == wall and one.room is None
    )
    return Candidate(
        kind="wall",
        says=f"black cloth over wall {wall}",
        does=(f"wall {wall}: hung with {_BLACK}, all of it",),
        edits=(edit,),
        trial=lambda: surfaces_hung(start, (surface, *reveals), reflectance),
        effort=HANG_WALL,
        cautions=("cloth that is proofed against flame, clear of heads, and never over a way out",),
        rank=rank,
        traced=True,
    )
