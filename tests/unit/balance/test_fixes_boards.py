"""Boards that are offered: beside somebody or something, in nobody's sight and in no frame."""

from __future__ import annotations

import re

import numpy as np
from tests.unit.balance.fix_rooms import SOFT, SPOT, Fixed, pale_room

from falloff.balance.fixes.boards import board_candidates
from falloff.balance.fixes.frames import MID_AIR, in_sight, on_something, seen_by, sheet_points
from falloff.balance.fixes.trials import Board
from falloff.document import Add

WALK = (
    "  walk: {at: [0.9 m, 1.3 m, 1.5 m], to: [2.5 m, 1.3 m, 1.5 m], points: 4, normal: [0, -1, 0]}"
)


def test_no_board_is_offered_beside_a_point_in_mid_air() -> None:
    text = pale_room(targets="  walk up: {reading: walk, level: 4 stops, limit: at least}")
    fixed = Fixed(text.replace("targets:\n", f"{WALK}\ntargets:\n"))
    assert fixed.start.missed
    says = [one.says for one in board_candidates(fixed.start)]
    assert not [one for one in says if "board" in one]


def test_what_is_on_somebody_or_something() -> None:
    fixed = Fixed(pale_room().replace("targets:\n", f"{WALK}\ntargets:\n"))
    found = {one.name: on_something(one) for one in fixed.start.solution.stage.probes}
    assert found["key cheek"]
    assert found["wall"]
    assert not found["walk 1"]
    assert MID_AIR in {one.place for one in fixed.start.solution.stage.probes}


def test_a_board_in_the_meters_line_is_in_sight() -> None:
    """The spot meter looks at the view from the camera: half way there something is in sight, a
    metre to the side nothing is. Pencil.
    """
    start = Fixed(pale_room()).start
    probe = next(one for one in start.solution.stage.probes if one.name == "view")
    assert probe.eye is not None
    way = (probe.point - probe.eye) / np.linalg.norm(probe.point - probe.eye)
    middle = 0.5 * (probe.eye + probe.point)
    aside = np.array([-way[1], way[0], 0.0])
    assert in_sight(start, Board(middle, -way, (0.4, 0.4)))
    assert not in_sight(start, Board(middle - 1.0 * aside, -way, (0.4, 0.4)))


def test_no_board_that_is_offered_is_in_frame_or_sight() -> None:
    wanted = """  face: {reading: key cheek, level: 4 stops, limit: at least}
  other: {reading: shadow cheek, level: -4 stops, over: key cheek, limit: at most}
  wall up: {reading: wall, level: 4 stops, limit: at least}
  view low: {reading: view, level: 1 stop, limit: at most}"""
    start = Fixed(pale_room(fixtures=(SOFT, SPOT), targets=wanted)).start
    edits = [one.edits[0] for one in board_candidates(start) if one.kind == "board"]
    placed = [board_of(one.yaml_text) for one in edits if isinstance(one, Add)]
    assert placed
    for one in placed:
        assert not in_sight(start, one)
        assert not seen_by(start, sheet_points(one.corners()))


def board_of(text: str) -> Board:
    """A board from the YAML that hangs it, in metres."""
    size, at, aim = (
        np.array([float(part.split()[0]) for part in listed.split(",")])
        for listed in re.findall(r"(?:size|at|aim): \[(.*?)\]", text)
    )
    way = (aim - at) / np.linalg.norm(aim - at)
    return Board(at, way, (float(size[0]), float(size[1])))
