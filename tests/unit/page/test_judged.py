"""Walks and targets of every kind on the page, from light that is given by hand."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose
from tests.unit.page.worked_scene import TEXT, changed, parsed

from falloff.document import SceneDocument, points_of
from falloff.drawing import plan_of
from falloff.errors import DocumentError
from falloff.page.judged import judged_in
from falloff.page.stored import Stored
from falloff.page.targets import targets_told
from falloff.page.tree import TreeMaker
from falloff.readings import MatrixReading, ReadingsMatrix

WALK = TEXT.replace(
    "targets:\n",
    """  the walk: {at: [1 m, 1 m, 1 m], to: [3 m, 1 m, 1 m], points: 3, normal: [0, 0, 1]}
targets:
  all along: {reading: the walk, level: 0 stops, weight: 2}
  alike: {even: 1/2 stop, reading: the walk}
  as it is: {reading: cheek, keep: true}
  there alone: {reading: cheek, keep: true, setups: [TWO]}
""",
)
POINTS = ("the walk 1", "the walk 2", "the walk 3")


def lit(document: SceneDocument, **lux: float) -> ReadingsMatrix:
    """White light of KEY alone at readings, lx at 100 %, 100 lx where none is given."""
    names = [point for points in points_of(document).values() for point in points]
    sources = tuple(TreeMaker(Stored()).tree(document)["sources"])
    levels = [[3 * [lux.get(name, 100.0) * (one == "KEY")] for name in names] for one in sources]
    return ReadingsMatrix(
        scene="x",
        sources=sources,
        readings=tuple(
            MatrixReading(
                name=name, instrument="flat", place="a point of the room", faces="up", unit="lx",
                subject=None, view=None, albedo=None, position_m=(0.0, 0.0, 0.0),
                normal=(0.0, 0.0, 1.0),
            )
            for name in names
        ),
        direct=levels,
        bounced=[[[0.0, 0.0, 0.0] for _ in names] for _ in sources],
        shares=[[{} for _ in names] for _ in sources],
        fabrics=(),
        softness=(),
    )  # fmt: skip


def test_every_point_of_a_walk_is_a_reading_to_a_window() -> None:
    tree = TreeMaker(Stored()).tree(parsed(WALK))
    assert tree["reading_order"][-3:] == list(POINTS)
    assert tree["readings"]["the walk 2"] == {"instrument": "flat", "aim": None}
    told = {one.name: one for one in plan_of(parsed(WALK)).readings}
    # pencil: 1, 2 and 3 m along x
    assert [told[point].at for point in POINTS] == [(1.0, 1.0), (2.0, 1.0), (3.0, 1.0)]
    assert not told["the walk 1"].movable


def test_targets_that_a_window_cannot_judge_are_told_in_words() -> None:
    told = targets_told(parsed(WALK))
    kinds = {name: one["kind"] for name, one in told.items()}
    assert kinds == {
        "all along": "other", "alike": "other", "as it is": "other", "there alone": "other",
        "face": "level", "ratio": "level",
    }  # fmt: skip
    assert told["all along"]["says"] == "the walk everywhere at key, give or take a third"
    assert told["alike"]["readings"] == ["the walk"]


def test_they_are_judged_beside_the_sentences() -> None:
    document = parsed(WALK)
    matrix = lit(document, **{"the walk 3": 50.0})
    tree = TreeMaker(Stored()).tree(document)
    found = judged_in(
        document, "ONE", matrix, written=document, sources=tree["sources"], daylight={}
    )
    assert set(found["judged"]) == {"all along", "alike", "as it is"}
    alike = found["judged"]["alike"]
    # pencil: 100 lx over 50 lx is a stop, half a stop too much
    assert_allclose([alike["off"], alike["margin"]], [1.0, -0.5], atol=1e-9)
    assert alike["got"] == "1 apart, the walk 1 the brightest and the walk 3 the darkest"
    assert found["judged"]["as it is"]["holds"]
    assert "of 5 targets met" in found["sentences"][-1]


def test_what_is_kept_is_what_the_scene_has_as_it_is_written() -> None:
    """Pencil: from 60 % to 15 % of a linear dim are 2 stops."""
    document = parsed(WALK)
    looked_at = parsed(changed({"do": "dim", "source": "KEY", "knob": 0.15}, text=WALK))
    sources = TreeMaker(Stored()).tree(document)["sources"]
    found = judged_in(
        looked_at, "ONE", lit(document), written=document, sources=sources, daylight={}
    )
    assert_allclose(found["judged"]["as it is"]["off"], -2.0, atol=0.02)
    assert found["judged"]["as it is"]["miss"] == "2 too dark"


def test_with_a_point_goes_its_walk() -> None:
    edited = changed({"do": "delete", "name": "the walk 2"}, text=WALK)
    assert "the walk" not in edited


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (
            {"do": "place", "name": "the walk 2", "x_m": 1.0, "y_m": 2.0},
            "the walk 2 is one point of the walk",
        ),
        (
            {"do": "target", "reading": "the walk 2", "level_stops": 1.0},
            "the walk 2 is one point of the walk, and has no target of its own",
        ),
    ],
)
def test_one_point_of_a_walk_is_not_changed_alone(change: dict[str, object], what: str) -> None:
    with pytest.raises(DocumentError, match=what):
        changed(change, text=WALK)
