"""The plan and the section against pencil geometry, and of the scenes that come with the tool."""

from __future__ import annotations

import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
import shapely
from tests.reference.scenes.houses import box, deg, document, door, m, room, skylight, window

from falloff.document import (
    Box,
    Fixture,
    Globe,
    Grip,
    LeanTo,
    LightPanel,
    NamedAim,
    OpenFace,
    PointAim,
    PointPlace,
    Practical,
    Prop,
    Quantity,
    RelativePlace,
    SceneDocument,
    Subject,
    arranged,
    read_document,
)
from falloff.drawing import Plan, plan_of
from falloff.drawing.plan_places import QuickPlacer, clock_hour, clock_text
from falloff.stage.places import Placer, clock_direction, direction

SHIPPED = Path(__file__).parents[3] / "src" / "falloff" / "session" / "data"
SCENES = ("kitchen", "workshop", "stairwell")
ROOM = room(box(0.0, 0.0, width=5.0, depth=4.0), 2.5)
TAN60 = math.tan(math.radians(60.0))


def at(x: float, y: float, z: float = 0.0) -> PointPlace:
    return PointPlace(x=m(x), y=m(y), z=m(z))


def aim(x: float, y: float, z: float) -> PointAim:
    return PointAim(x=m(x), y=m(y), z=m(z))


def panel(place: Any, target: Any, **more: Any) -> Fixture:
    """A panel 60 cm wide and 40 cm high."""
    return Fixture(
        light=LightPanel(size=(m(0.6), m(0.4))),
        output=Quantity(1000.0, "1000 lm"),
        colour=Quantity(5600.0, "5600 K"),
        at=place,
        aim=target,
        **more,
    )


def open_face(place: Any, target: Any, beam_deg: float, **more: Any) -> Fixture:
    """An open face with a mouth of 12 cm."""
    return Fixture(
        light=OpenFace(beam=deg(beam_deg)),
        output=Quantity(1000.0, "1000 lm"),
        colour=Quantity(3200.0, "3200 K"),
        at=place,
        aim=target,
        **more,
    )


def person(**more: Any) -> Subject:
    return Subject(
        figure="woman standing",
        at=at(2.5, 2.0),
        facing=deg(-90.0),
        skin=0.3,
        hair="dark hair",
        top="grey cotton",
        trousers="dark denim",
        **more,
    )


def block(x: float, y: float, high: float, turn: float = 0.0) -> Prop:
    """A box one metre square on the plan."""
    return Prop(shape=Box((m(1.0), m(1.0), m(high))), at=at(x, y), turn=deg(turn), surface="oak")


def shipped(name: str) -> SceneDocument:
    document = read_document(SHIPPED / f"{name}.scene.yaml")
    return arranged(document, "WIDE SHOT")


def area(outline: Any) -> float:
    return float(shapely.Polygon(outline).area)


# Rooms -----------------------------------------------------------------------------------


def test_walls_are_their_thickness_outward_with_gaps_for_openings() -> None:
    plan = plan_of(document(ROOM, openings={"W": window(3, 1.0, size=(1.0, 1.2), sill=0.9)}))
    assert plan.bounds_m == (-0.2, -0.2, 5.2, 4.2)
    walls = sum(area(outer) - sum(map(area, holes)) for outer, *holes in plan.shell)
    assert walls == pytest.approx(5.4 * 4.4 - 5.0 * 4.0 - 1.0 * 0.2, abs=2e-3)
    (opening,) = plan.openings
    assert (opening.kind, opening.wall, opening.room) == ("window", 3, None)
    assert (opening.a, opening.b) == ((4.0, 4.0), (3.0, 4.0))  # wall 3 runs to the left
    assert (opening.sill_m, opening.top_m, opening.along_m) == (0.9, 2.1, 1.0)
    assert area(opening.hole) == pytest.approx(0.2, abs=5e-3)


def test_an_open_door_has_a_leaf_and_the_way_it_went() -> None:
    hall = room(box(0.0, 4.2, width=5.0, depth=2.0), 2.5)
    plan = plan_of(
        document(ROOM, rooms={"HALL": hall}, openings={"D": door(3, 1.0, to="HALL", open=deg(90))})
    )
    (opening,) = plan.openings
    assert opening.leaf is not None
    assert opening.swing is not None
    steps = np.array(opening.swing)
    width = opening.width_m
    hinge = min((opening.a, opening.b), key=lambda end: abs(math.dist(end, steps[-1]) - width))
    assert [math.dist(hinge, spot) for spot in steps] == pytest.approx(
        [width] * len(steps), abs=2e-3
    )
    assert opening.open_deg == 90.0


def test_the_profile_of_a_lean_to_slopes_from_the_side_it_rises_along() -> None:
    lean = LeanTo(low=m(2.0), high=m(3.0), rises_toward=deg(0.0))
    plan = plan_of(document(room(box(0.0, 0.0, width=5.0, depth=4.0), 3.0, slope=lean)))
    (front,), (right,) = plan.sections.front.rooms, plan.sections.right.rooms
    assert set(front.outline) == {(0.0, 0.0), (5.0, 0.0), (5.0, 3.0), (0.0, 2.0)}
    assert set(right.outline) == {(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)}
    assert max(high for _, high in front.walls[0]) == 2.0
    assert max(high for _, high in front.walls[1]) == 3.0


# Beams -----------------------------------------------------------------------------------


def soft_beam_m2() -> float:
    """A panel at (1, 2) that looks along +x: edges from (1, 1.7) and (1, 2.3), 60° off."""
    run = 1.7 / TAN60  # from the face to where its edges meet the long walls
    return 0.5 * (0.6 + 4.0) * run + (4.0 - run) * 4.0


def test_a_soft_face_spreads_sixty_degrees_from_its_edges_up_to_the_walls() -> None:
    (unit,) = plan_of(document(ROOM, fixtures={"P": panel(at(1, 2, 1.2), aim(3, 2, 1.2))})).units
    assert unit.beam is not None
    assert unit.angle_deg == 120.0
    assert area(unit.beam) == pytest.approx(soft_beam_m2(), abs=0.01)
    assert (unit.pan_deg, unit.tilt_deg) == (0.0, 0.0)
    # The face is as wide as it is, on the edge: its middle is the place.
    xs, ys = zip(*unit.face, strict=True)
    assert max(ys) - min(ys) == pytest.approx(0.6)
    assert max(xs) == pytest.approx(1.0)


def test_a_block_in_the_axis_cuts_its_shadow_out_and_a_low_one_does_not() -> None:
    lamp = {"P": panel(at(1, 2, 1.2), aim(3, 2, 1.2))}
    high = plan_of(document(ROOM, fixtures=lamp, props={"B": block(3.0, 2.0, 2.0)})).units[0]
    low = plan_of(document(ROOM, fixtures=lamp, props={"B": block(3.0, 2.0, 0.5)})).units[0]
    assert high.beam is not None
    assert low.beam is not None
    apex = 1.0 - 0.3 / TAN60
    behind = 0.5 * (5.0 - apex) / (2.5 - apex)  # half the shadow's width at the far wall
    shadow = 0.5 * (1.0 + 2.0 * behind) * 2.5
    assert area(high.beam) == pytest.approx(soft_beam_m2() - shadow, abs=0.01)
    assert area(low.beam) == pytest.approx(soft_beam_m2(), abs=0.01)


def test_a_frame_of_cloth_lets_the_beam_through_and_a_solid_does_not() -> None:
    lamp = {"P": panel(at(1, 2, 1.2), aim(3, 2, 1.2))}

    def beam_m2(grip: Grip) -> float:
        plan = plan_of(document(ROOM, fixtures=lamp, grip={"G": grip}))
        assert plan.units[0].beam is not None
        return area(plan.units[0].beam)

    parts: dict[str, Any] = {"size": (m(1.0), m(1.0)), "at": at(2, 2, 1.2), "aim": aim(1, 2, 1.2)}
    frame = Grip(kind="frame", fabric="full diffusion", **parts)
    assert beam_m2(frame) == pytest.approx(soft_beam_m2(), abs=0.01)
    assert beam_m2(Grip(kind="solid", surface="black cloth", **parts)) < 0.7 * soft_beam_m2()


def test_a_beam_that_points_down_ends_where_all_of_it_has_met_the_floor() -> None:
    lamp = open_face(at(1.0, 2.0, 2.0), aim(3.0, 2.0, 0.0), 20.0)
    (unit,) = plan_of(document(ROOM, fixtures={"F": lamp})).units
    assert unit.beam is not None
    back = 0.06 / math.tan(math.radians(10.0)) * math.sqrt(0.5)  # from the mouth to the apex
    reach = 1.0 - back + (2.0 + back) / math.tan(math.radians(35.0))
    assert max(x for x, _ in unit.beam) == pytest.approx(reach, abs=0.01)
    assert unit.tilt_deg == -45.0


def test_light_from_outside_comes_in_through_the_window_alone() -> None:
    glass = {"W": window(1, 2.0, size=(1.0, 1.0), sill=1.0)}
    lamp = open_face(at(2.5, -3.0, 1.5), aim(2.5, 4.0, 1.5), 40.0, outside=True)
    (unit,) = plan_of(document(ROOM, openings=glass, fixtures={"SUN": lamp})).units
    assert unit.beam is not None
    assert unit.outside
    inside = shapely.intersection(shapely.Polygon(unit.beam), shapely.box(0.0, 0.0, 5.0, 4.0))
    apex = -3.0 - 0.06 / math.tan(math.radians(20.0))
    half = 0.5 * (4.0 - apex) / (0.0 - apex)  # the inner edges of the hole are the narrower
    low_x, low_y, high_x, high_y = inside.bounds
    assert (low_x, high_x) == pytest.approx((2.5 - half, 2.5 + half), abs=0.01)
    assert (low_y, high_y) == pytest.approx((0.0, 4.0), abs=0.01)


def test_light_under_a_sill_stays_outside() -> None:
    glass = {"W": window(1, 2.0, size=(1.0, 1.0), sill=1.6)}
    lamp = open_face(at(2.5, -3.0, 0.5), aim(2.5, 4.0, 0.5), 20.0, outside=True)
    (unit,) = plan_of(document(ROOM, openings=glass, fixtures={"LOW": lamp})).units
    assert unit.beam is not None
    assert max(y for _, y in unit.beam) < 0.01


def test_light_through_a_skylight_lands_within_what_its_shaft_lets_through() -> None:
    glass = {"S": skylight(2.5, 2.0, size=(1.0, 1.0), shaft=m(0.5))}
    lamp = open_face(at(2.5, 2.0, 5.0), aim(2.5, 2.0, 0.0), 60.0, outside=True)
    (unit,) = plan_of(document(ROOM, openings=glass, fixtures={"TOP": lamp})).units
    assert unit.beam is not None
    apex = 5.0 + 0.06 / math.tan(math.radians(30.0))
    half = 0.5 * apex / (apex - 2.5)  # the lower edge of the shaft is the narrower
    xs = [x for x, _ in unit.beam]
    assert (min(xs), max(xs)) == pytest.approx((2.5 - half, 2.5 + half), abs=0.02)


def test_a_globe_reaches_three_metres_or_the_walls() -> None:
    globe = Practical(light=Globe(m(0.2)), output=Quantity(450.0, "450 lm"), at=at(2.5, 2.0, 1.8))
    hall = room(box(0.0, 0.0, width=20.0, depth=20.0), 3.0)
    (near,) = plan_of(document(ROOM, practicals={"G": globe})).units
    far = msgspec.structs.replace(globe, at=at(10.0, 10.0, 1.8))
    (free,) = plan_of(document(hall, practicals={"G": far})).units
    assert near.beam is not None
    assert free.beam is not None
    corner = math.hypot(2.5, 2.0)  # beyond 3 m: the room's corners are not reached
    assert corner > 3.0
    assert area(near.beam) < 20.0
    assert area(free.beam) == pytest.approx(math.pi * 9.0, rel=0.01)
    assert near.round
    assert near.pan_deg is None
    assert near.aim is None


def test_beams_can_be_left_out() -> None:
    lamp = {"P": panel(at(1, 2, 1.2), aim(3, 2, 1.2))}
    (unit,) = plan_of(document(ROOM, fixtures=lamp), beams=False).units
    assert unit.beam is None
    assert unit.sides.front.beam is None


def test_a_camera_sees_up_to_the_walls() -> None:
    plan = plan_of(document(ROOM))  # at (2, 0.4), looks along +y through 35 mm
    (camera,) = plan.cameras
    tangent = math.tan(math.radians(camera.half_angle_deg))
    xs = [x for x, _ in camera.field]
    assert max(y for _, y in camera.field) == pytest.approx(4.0, abs=0.01)
    assert (min(xs), max(xs)) == pytest.approx((2 - 3.6 * tangent, 2 + 3.6 * tangent), abs=0.02)
    assert camera.forward_deg == 90.0


# Things and words ------------------------------------------------------------------------


def test_a_turned_box_covers_what_it_covers() -> None:
    plan = plan_of(document(ROOM, props={"B": block(2.0, 2.0, 0.8, turn=45.0)}))
    (body,) = plan.bodies
    assert area(body.outline) == pytest.approx(1.0, abs=0.02)
    assert max(x for x, _ in body.outline) == pytest.approx(2.0 + math.sqrt(0.5), abs=0.01)
    assert (body.low_m, body.high_m, body.turn_deg) == (0.0, 0.8, 45.0)
    (side,) = body.sides.front.outlines
    assert area(side) == pytest.approx(math.sqrt(2.0) * 0.8, abs=0.03)
    assert body.says == "box 1 × 1 × 0.8 m, oak"


def test_grip_is_as_wide_and_as_tilted_as_it_is() -> None:
    solid = Grip(
        kind="solid", size=(m(1.2), m(0.9)), at=at(2, 2, 2), aim=aim(3, 2, 1), surface="black cloth"
    )
    (body,) = plan_of(document(ROOM, grip={"S": solid})).bodies
    xs, ys = zip(*body.outline, strict=True)
    assert max(ys) - min(ys) == pytest.approx(1.2, abs=0.01)
    assert max(xs) - min(xs) == pytest.approx(0.9 * math.sqrt(0.5), abs=0.02)
    assert body.high_m - body.low_m == pytest.approx(0.9 * math.sqrt(0.5), abs=0.02)
    assert body.aim == (3.0, 2.0)


def test_a_person_faces_and_stands_where_written() -> None:
    (one,) = plan_of(document(ROOM, subjects={"ANNA": person()})).subjects
    assert one.mark == (2.5, 2.0)
    assert one.facing_deg == -90.0
    assert one.pose == "standing"
    assert 1.4 < one.eye_height_m < one.high_m < 2.0
    assert shapely.Polygon(one.shoulders).contains(shapely.Point(one.mark))
    assert one.face[1] < one.mark[1]


@pytest.mark.parametrize("hour", [0.5, 3.0, 6.0, 7 + 40 / 60, 9.25, 12.0])
@pytest.mark.parametrize("facing", [-90.0, 37.0, 180.0])
def test_clock_hours_are_the_documents_own(hour: float, facing: float) -> None:
    way = direction(math.radians(facing))
    away = clock_direction(way, hour)[:2]
    assert clock_hour(way, away) == pytest.approx(hour)


def test_clock_hours_are_said_to_five_minutes() -> None:
    assert [clock_text(one) for one in (7 + 40 / 60, 12.0, 0.01, 3.04, 11.99)] == [
        "7:40",
        "12:00",
        "12:00",
        "3:00",
        "12:00",
    ]


def test_a_light_says_where_it_is_from_the_mark_as_it_was_written() -> None:
    place = RelativePlace("ANNA", m(2.1), 7 + 40 / 60, m(1.85))
    lamp = panel(place, NamedAim("ANNA", "face"))
    people = {"ANNA": person()}
    (unit,) = plan_of(document(ROOM, subjects=people, fixtures={"KEY": lamp})).units
    assert unit.distance is not None
    assert unit.distance.says == "2.10 m, 7:40, 1.85 m up"
    assert unit.aims_at == "ANNA.face"
    assert unit.says == "panel 60 × 40 cm, 5600 K"
    feet = document(ROOM, subjects=people, fixtures={"KEY": lamp}, units="imperial")
    (unit,) = plan_of(feet).units
    assert unit.distance is not None
    assert unit.distance.says == "6 ft 11 in, 7:40, 6 ft 1 in up"


def test_lights_are_counted_fixtures_first() -> None:
    units = plan_of(shipped("workshop")).units
    assert [(one.number, one.name, one.section) for one in units] == [
        (1, "BOOK", "fixtures"),
        (2, "WALL HEAD", "fixtures"),
        (3, "GLOBE", "practicals"),
    ]
    assert [one.says for one in units[0].sizes] == ["width", "height"]
    assert units[0].sizes[0].path == ("fixtures", "BOOK", "size", 0)


# The scenes that come with the tool -------------------------------------------------------


@pytest.mark.parametrize("name", SCENES)
def test_everything_of_a_shipped_scene_lies_where_it_can(name: str) -> None:
    plan = plan_of(shipped(name))
    low_x, low_y, high_x, high_y = plan.bounds_m
    house = shapely.box(low_x - 0.01, low_y - 0.01, high_x + 0.01, high_y + 0.01)
    floors = shapely.union_all([shapely.Polygon(one.floor) for one in plan.rooms])
    for body in plan.bodies:
        assert shapely.Polygon(body.outline).buffer(0).within(floors.buffer(0.05)), body.name
        assert body.low_m <= body.high_m
    for person_ in plan.subjects:
        assert shapely.Polygon(person_.shoulders).within(floors)
    for unit in plan.units:
        assert unit.beam is not None
        beam = shapely.Polygon(unit.beam)
        assert beam.is_valid, unit.name
        assert beam.area > 0.0, unit.name
        if not unit.outside:
            assert beam.within(house), unit.name
    for camera in plan.cameras:
        assert shapely.Polygon(camera.field).buffer(0).within(house.buffer(0.01))


@pytest.mark.parametrize("name", SCENES)
def test_a_plan_is_plain_numbers_of_a_modest_size(name: str) -> None:
    plan = plan_of(shipped(name))
    text = json.dumps(msgspec.to_builtins(plan), allow_nan=False)
    assert len(text) < 150_000
    assert msgspec.json.decode(msgspec.json.encode(plan), type=Plan) == plan


@pytest.mark.parametrize("name", SCENES)
def test_places_are_those_of_the_whole_figures(name: str) -> None:
    scene = shipped(name)
    quick, whole = QuickPlacer(scene), Placer(scene)
    for subject in scene.subjects:
        for key, point in whole.subject(subject).points.items():
            np.testing.assert_allclose(quick.subject(subject).points[key], point, atol=1e-7)


def test_moving_one_light_keeps_what_does_not_hang_on_it() -> None:
    scene = shipped("workshop")
    before = plan_of(scene)
    head = msgspec.structs.replace(scene.fixtures["WALL HEAD"], at=at(4.5, 2.5, 2.0))
    moved = {**scene.fixtures, "WALL HEAD": head}
    after = plan_of(msgspec.structs.replace(scene, fixtures=moved))
    assert after.units[0] is before.units[0]
    assert after.units[1].at == (4.5, 2.5)
    assert after.bodies[0] is before.bodies[0]
    assert after.shell is before.shell


def test_a_block_put_in_the_way_cuts_a_beam_that_was_kept() -> None:
    lamp = {"P": panel(at(1, 2, 1.2), aim(3, 2, 1.2))}
    free = plan_of(document(ROOM, fixtures=lamp)).units[0]
    cut = plan_of(document(ROOM, fixtures=lamp, props={"B": block(2.0, 2.0, 2.0)})).units[0]
    again = plan_of(document(ROOM, fixtures=lamp)).units[0]
    assert free.beam is not None
    assert cut.beam is not None
    assert area(cut.beam) < area(free.beam)
    assert again.beam == free.beam


def test_the_plan_needs_neither_tracer_nor_compiler() -> None:
    told = (
        "import sys, falloff.drawing.plan;"
        "print([m for m in ('numba', 'embreex', 'falloff.transport') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
