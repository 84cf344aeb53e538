"""The quick start's frame: no head is cut, whatever the room; and is the window in it?"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from falloff.document import parse_document
from falloff.errors import DocumentError
from falloff.kit import find_figure
from falloff.session.quick.ask import SITUATIONS, read_plan
from falloff.session.quick.frame import window_in_frame
from falloff.session.quick.plan import Situation, System
from falloff.session.quick.write import scene_text
from falloff.session.scene import known_names
from falloff.stage.build import build_view
from falloff.stage.places import Placer, figure_turn

ROOMS = ("", "4 x 4 m", "3 x 3 m", "2.9 x 2.9 m", "3 x 6 m", "6 x 3 m", "8 x 10 m")
HOURS = (3, 9, 12, None)
UNITS: tuple[System, ...] = ("metric", "imperial")
SITUATION_NAMES: tuple[Situation, ...] = tuple(SITUATIONS)


def seen(placer: Placer, points: np.ndarray) -> np.ndarray:
    """Points (n, 3) in the scene's own camera: across and up, the frame's edges at ±1."""
    view = build_view(placer, "CAMERA")
    away = points - view.eye
    ahead = away @ view.forward
    assert (ahead > 0.0).all()
    return np.stack(
        [
            away @ view.right / ahead / view.tan_half_width,
            away @ view.up / ahead / view.tan_half_height,
        ],
        axis=1,
    )


@pytest.mark.parametrize("situation", SITUATION_NAMES)
@pytest.mark.parametrize("hour", HOURS)
def test_no_head_is_cut_in_any_room(situation: Situation, hour: int | None) -> None:
    framed = 0
    for room, units in product(ROOMS, UNITS):
        window = "none" if hour is None else f"1 x 1 m, 1.4 m away, {hour} o'clock"
        try:
            taken = read_plan(situation, units, {"room": room, "window": window, "key": "none"})
        except DocumentError:
            continue  # a room that has no place for such a window
        framed += 1
        document = parse_document(scene_text(taken), "quick.scene.yaml", known=known_names())
        placer = Placer(document)
        for name, subject in document.subjects.items():
            figure = find_figure(subject.figure)
            head = figure.vertices[figure.head_weight > 0.95].astype(np.float64)
            turn = figure_turn(placer.facing(name))
            across, up = seen(placer, placer.origin(name) + head @ turn.T).T
            # Headroom of 7 % of the frame and something under the chin and beside: our own rule.
            assert up.max() < 1.0 - 0.14, (room, name)
            assert up.min() > -1.0 + 0.08, (room, name)
            assert np.abs(across).max() < 0.96, (room, name)
    assert framed > 4


def test_a_window_behind_is_in_the_frame_and_one_beside_is_not() -> None:
    behind = read_plan("window", "metric", {"window": "1.5 x 1.3 m, 1.3 m away, 12 o'clock"})
    assert window_in_frame(behind)
    beside = read_plan("window", "metric", {"window": "1.5 x 1.3 m, 1.3 m away, 9 o'clock"})
    # pencil: 40 mm on 24.89 mm see 0.31 to a side for each metre ahead: 0.82 m at the window's far
    # end, 2.65 m ahead, and the window is 1.3 m to the side
    assert not window_in_frame(beside)
    near = read_plan("kitchen", "metric", {"window": "1.2 x 1 m, 1 m away, 9 o'clock"})
    # pencil: 32 mm see 0.39: at 2.9 m ahead 1.13 m, and the window is 1 m to the side
    assert window_in_frame(near)
    assert not window_in_frame(read_plan("window", "metric", {"window": "none"}))
