"""What may be put up: a flag or a net between a light and a place, a board beside a face."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

import numpy as np

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.efforts import BOARD, FLAG, NET
from falloff.balance.fixes.frames import (
    free_name,
    in_sight,
    on_something,
    seen_by,
    sheet_points,
)
from falloff.balance.fixes.start import Start
from falloff.balance.fixes.trials import Board, board_up, cut, netted, standing_after
from falloff.balance.problem import Problem
from falloff.document import Add, Edit, quoted, readings_asked
from falloff.kit import find_material
from falloff.sources import BEAM, PANEL, POLYGON, SKY, SPHERE, SUN, TUBE
from falloff.stage import Probe
from falloff.stage.moving import length
from falloff.types import Float64Array

_BOARD_M: Final = 1.2
_BOARD_FAR_M: Final = (0.75, 0.9, 0.65, 1.05)
_BOARD_TURNS_DEG: Final = (0.0, 20.0, -20.0, 40.0, -40.0)
_WHITE: Final = "white board"
_BLACK: Final = "black cloth"
# The kit's nets and solids by their sides (m).
_SIZES: Final = ((0.46, 0.30), (0.61, 0.46), (0.91, 0.61), (1.22, 1.22))
_ALONG: Final = (0.5, 0.4, 0.62, 0.3, 0.75)  # of the way from the light to the place
_OVERLAP: Final = 1.25
_LEAST: Final = 0.08
_LEAST_BOUNCE: Final = 0.1
_STRAIGHT: Final = 0.1  # of a place's bounce, that light must come straight to matter
_NETS: Final = ((0.5, "single"), (1.0, "double"))


def board_candidates(start: Start) -> list[Candidate]:
    """Flags and nets, boards beside faces."""
    return [*_cutters(start), *_beside_faces(start)]


def readings_that_want(start: Start, sign: float) -> Iterator[tuple[int, int, Probe, float]]:
    """Table, row, probe and weight of every reading that wants more (+) or less (-) light."""
    probes = start.solution.stage.probes
    met: set[str] = set()
    for t, (need, rows) in enumerate(zip(start.needs, start.probe_rows, strict=True)):
        for k in np.argsort(-sign * need):
            probe = probes[rows[k]]
            if sign * need[k] > 0.0 and probe.name not in met:
                met.add(probe.name)
                yield t, int(k), probe, float(abs(need[k]))


# Between a light and a place --------------------------------------------------------------


def _cutters(start: Start) -> list[Candidate]:
    found: list[Candidate] = []
    for t, k, probe, weight in readings_that_want(start, -1.0):
        row = start.probe_rows[t][k]
        parts = _parts(start, t)[:, k]
        total = max(float(parts.sum()), 1e-12)
        for s in np.argsort(-parts):
            source = start.solution.stage.sources[s]
            full = float((start.direct[s, row] + start.bounced[s, row]).sum())
            straight = float(start.direct[s, row].sum()) / max(full, 1e-12)
            share = straight * float(parts[s]) / total
            if share < _LEAST or source.kind not in {PANEL, POLYGON, SPHERE, TUBE, BEAM}:
                continue
            if probe.instrument == "spot" and probe.eye is not None and _looked_at(source, probe):
                continue
            board = _between(start, int(s), probe)
            if board is not None:
                found += _flag_and_nets(start, int(s), probe, board, rank=weight * share)
    return found


def _parts(start: Start, t: int) -> Float64Array:
    """What each source gives (s, p), those that other places want more of as if at full.

    For they may be kept down by the very place that a flag would spare.
    """
    full = start.parts(t, full=True)
    return np.where((start.more_at_full >= _LEAST)[:, None], full, start.parts(t))


def _looked_at(source: object, probe: Probe) -> bool:
    """Whether a spot meter looks at the source itself, which no flag can hide from it alone."""
    shape = source.shape  # type: ignore[attr-defined]
    middle, radius = _middle_radius(source.kind, shape)  # type: ignore[attr-defined]
    return bool(np.linalg.norm(probe.point - middle) < radius + 0.05)


def _middle_radius(kind: int, shape: Float64Array) -> tuple[Float64Array, float]:
    """The middle of a source and how far it reaches from there (m)."""
    if kind in {PANEL, POLYGON, SKY}:
        u, v = shape[3:6], shape[6:9]
        return shape[:3] + 0.5 * (u + v), 0.5 * float(np.linalg.norm(u + v))
    if kind == BEAM:
        return shape[:3], float(max(np.linalg.norm(shape[6:9]), np.linalg.norm(shape[9:12])))
    if kind == TUBE:
        return shape[:3], 0.5 * float(shape[6])
    return shape[:3], float(shape[3])


def _between(start: Start, s: int, probe: Probe) -> Board | None:
    """A cutter on the line that hides all of the light from the place, out of frame and sight."""
    source = start.solution.stage.sources[s]
    middle, radius = _middle_radius(source.kind, source.shape)
    way = probe.point - middle
    far = float(np.linalg.norm(way))
    if far < 0.6:
        return None
    for along in _ALONG:
        needed = _OVERLAP * 2.0 * radius * (1.0 - along) + 0.1
        sizes = [one for one in _SIZES if min(one) >= needed]
        if not sizes:
            continue
        board = Board(middle + along * way, -way / far, sizes[0])
        points = sheet_points(board.corners())
        if points[:, 2].min() < 0.05 or seen_by(start, points) or in_sight(start, board):
            continue
        if not _hides_a_place(start, s, board, but=probe.name):
            return board
    return None


def _hides_a_place(start: Start, s: int, board: Board, *, but: str = "") -> bool:
    """Whether it stands between a source and a place that a target asks for, or wants more at.

    but: the reading that it is to hide.
    """
    source = start.solution.stage.sources[s]
    if source.kind == SUN:
        return False
    middle, _ = _middle_radius(source.kind, source.shape)
    asked = _asked(start)
    return any(
        board.hides(middle, probe.point)
        for p, probe in enumerate(start.solution.stage.probes)
        if probe.name in asked
        and probe.name != but
        and probe.instrument != "spot"
        and start.direct[s, p].sum() > _STRAIGHT * start.bounced[:, p].sum()
    )


def _asked(start: Start) -> set[str]:
    """Readings that a target asks for, but for those that are wanted darker alone."""
    found = set()
    for table, need in zip(start.problem.tables, start.needs, strict=True):
        for target in table.targets.values():
            wanted = readings_asked(target)
            names = {one for name in wanted for one in table.points.get(name, (name,))}
            found |= {
                name
                for name in names
                if name in table.readings and need[table.readings.index(name)] >= 0.0
            }
    return found


def _flag_and_nets(
    start: Start, s: int, probe: Probe, board: Board, *, rank: float
) -> list[Candidate]:
    name = start.source_names[s]
    called = free_name(start, f"{name} FLAG")
    place = probe.name
    cautions = ("cloth and boards clear of the head, which is hot", "a bag on its stand")
    kept: dict[str, Float64Array | None] = {}  # every source's light with it cut

    def light() -> Float64Array | None:
        if "cut" not in kept:
            edits = _grip_edits(start, called, board, f"kind: solid, {_surface(_BLACK)}", name)
            stands = standing_after(start, edits, called) is not None
            kept["cut"] = cut(start, board) if stands else None
        return kept["cut"]

    def trial(loss: float | None) -> Callable[[], Problem | None]:
        def weighed() -> Problem | None:
            gone = light()
            if gone is None:
                return None
            left = gone if loss is None else netted(start, board, gone, loss)
            return start.with_light(left)

        return weighed

    size = _size_told(start, board)
    found = [
        Candidate(
            kind="cut",
            says=f"flag {name} off {place}",
            does=(f"{called}: a solid, {size}, between {name} and {place}",),
            edits=_grip_edits(start, called, board, f"kind: solid, {_surface(_BLACK)}", name),
            trial=trial(None),
            effort=FLAG,
            cautions=cautions,
            rank=rank,
            traced=True,
        )
    ]
    for loss, word in _NETS:
        net = free_name(start, f"{name} NET")
        found.append(
            Candidate(
                kind="cut",
                says=f"a {word} net on {name} for {place}",
                does=(f"{net}: a {word} net, {size}, between {name} and {place}",),
                edits=_grip_edits(start, net, board, f"kind: net, loss: {loss:g} stop", name),
                trial=trial(loss),
                effort=NET,
                cautions=cautions,
                rank=0.9 * rank,
                traced=True,
            )
        )
    return found


def _size_told(start: Start, board: Board) -> str:
    return " x ".join(length(side, start.document) for side in board.size_m)


def _surface(name: str) -> str:
    return f"surface: {quoted(name)}"


def _grip_edits(
    start: Start, name: str, board: Board, kind: str, aim: str | Float64Array
) -> tuple[Edit, ...]:
    document = start.document
    size = ", ".join(length(side, document) for side in board.size_m)
    at = ", ".join(length(float(part), document) for part in board.middle)
    if isinstance(aim, str):
        looks = quoted(aim)
    else:
        looks = "[" + ", ".join(length(float(part), document) for part in aim) + "]"
    # A cutter hangs from an arm: its stand is not in the beam.
    stand = "" if isinstance(aim, str) else ", stand: true"
    parts = f"{kind}, size: [{size}], at: [{at}], aim: {looks}{stand}"
    if start.case.document.grip or start.case.document.seen.has(("grip",)):
        return (Add(("grip", name), f"{{{parts}}}"),)
    return (Add(("grip",), f"{{{quoted(name)}: {{{parts}}}}}"),)


# Beside a face ----------------------------------------------------------------------------


def _beside_faces(start: Start) -> list[Candidate]:
    found: list[Candidate] = []
    for sign, surface in ((-1.0, _BLACK), (1.0, _WHITE)):
        for t, k, probe, weight in readings_that_want(start, sign):
            if probe.instrument == "spot" or not _has_face(probe, black=sign < 0.0):
                continue
            row = start.probe_rows[t][k]
            by = start.answer.shares[:, None]
            bounced = float((by * start.bounced[:, row]).sum())
            share = bounced / max(float((by * start.direct[:, row]).sum()) + bounced, 1e-12)
            if sign < 0.0 and share < _LEAST_BOUNCE:
                continue
            place = _beside(start, probe)
            if place is not None:
                found.append(
                    _board(start, probe, place, surface, rank=weight * (share if sign < 0 else 1.0))
                )
    return found


def _has_face(probe: Probe, *, black: bool) -> bool:
    """Whether there is somebody, or for a white board something, that a board can be put beside.

    A point in mid-air, such as one of a walk, is neither.
    """
    return bool(probe.subject) or (not black and on_something(probe))


def _beside(start: Start, probe: Probe) -> tuple[Board, Float64Array] | None:
    """A board that faces a place from where it looks, out of frame and sight, clear of all else."""
    flat = np.array([probe.normal[0], probe.normal[1], 0.0])
    if np.linalg.norm(flat) < 0.2:
        return None
    flat /= np.linalg.norm(flat)
    for far in _BOARD_FAR_M:
        for turn in _BOARD_TURNS_DEG:
            way = turned(flat, math.radians(turn))
            middle = probe.point + far * way
            middle[2] = max(middle[2], 0.5 * _BOARD_M + 0.05)
            aim = np.array([*probe.point[:2], middle[2]])
            board = Board(middle, -way, (_BOARD_M, _BOARD_M))
            if seen_by(start, sheet_points(board.corners())) or in_sight(start, board):
                continue
            if any(_hides_a_place(start, s, board) for s in range(len(start.source_names))):
                continue
            edits = _grip_edits(start, "BOARD?", board, f"kind: solid, {_surface(_BLACK)}", aim)
            if standing_after(start, edits, "BOARD?") is not None:
                return board, aim
    return None


def turned(way: Float64Array, by_rad: float) -> Float64Array:
    """A way turned about the upright."""
    cosine, sine = math.cos(by_rad), math.sin(by_rad)
    return np.array([cosine * way[0] - sine * way[1], sine * way[0] + cosine * way[1], way[2]])


def _board(
    start: Start, probe: Probe, place: tuple[Board, Float64Array], surface: str, *, rank: float
) -> Candidate:
    board, aim = place
    white = surface == _WHITE
    called = free_name(start, "WHITE BOARD" if white else "BLACK BOARD")
    kind = f"kind: {'bounce' if white else 'solid'}, {_surface(surface)}"
    reflectance = find_material(surface).reflectance
    what = "a white board for fill" if white else "black for negative fill"
    side = probe.name
    far = length(float(np.linalg.norm(board.middle[:2] - probe.point[:2])), start.document)
    return Candidate(
        kind="board",
        says=f"{what} beside {side}",
        does=(f"{called}: {_size_told(start, board)}, {far} from {side}, out of frame",),
        edits=_grip_edits(start, called, board, kind, aim),
        trial=lambda: board_up(start, board, reflectance),
        effort=BOARD,
        cautions=("a bag on its stand: a board is a sail in a draught",),
        rank=rank,
        traced=True,
    )
