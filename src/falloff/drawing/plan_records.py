"""What the plan and the section of a scene hold: outlines to scale, in metres and degrees.

Points of the plan are (x, y), x to the right and y up the plan. The section looks at the scene
from the side: "front" along +y, so that its points are (x, z); "right" along -x, so that they are
(y, z). Outlines are not closed: their last point is joined to their first. Numbers are rounded to
a millimetre and a tenth of a degree. Angles on the plan are counter-clockwise from +x, tilts above
0 look up. None stands for what a thing does not have.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

import msgspec

Spot: TypeAlias = tuple[float, float]
Outline: TypeAlias = tuple[Spot, ...]
SideName: TypeAlias = Literal["front", "right"]


class Side(msgspec.Struct, frozen=True, kw_only=True):
    """A thing seen from one side: its outlines, and of a light its beam at half its peak."""

    outlines: tuple[Outline, ...]
    beam: Outline | None = None


class Sides(msgspec.Struct, frozen=True, kw_only=True):
    """A thing seen along +y ("front", points are (x, z)) and along -x ("right", (y, z))."""

    front: Side
    right: Side


class PlanSize(msgspec.Struct, frozen=True, kw_only=True):
    """A size that the scene's file has: what it is called, its key path, and its length (m)."""

    says: str
    path: tuple[str | int, ...]
    size_m: float


class PlanRoom(msgspec.Struct, frozen=True, kw_only=True):
    """A room: name None is the scene's own; height_m of its highest point."""

    name: str | None
    floor: Outline
    wall_thickness_m: float
    height_m: float


class PlanWall(msgspec.Struct, frozen=True, kw_only=True):
    """A wall's inside face from a to b; its thickness lies to the right of that way.

    top: its upper edge, (metres along from a, height).
    """

    room: str | None
    number: int
    a: Spot
    b: Spot
    thickness_m: float
    top: Outline


class PlanOpening(msgspec.Struct, frozen=True, kw_only=True):
    """A window, door or skylight; a and b on the inside face of its wall, in the wall's own way.

    wall: None for a skylight, whose a and b are its middle. hole: through the wall, or of the
    skylight. along_m: from the wall's first corner. leaf: of a door; swing: of one that stands
    open, the way that its free edge went from shut. says: its dressing and glass in words.
    """

    name: str
    kind: Literal["window", "door", "skylight"]
    room: str | None
    wall: int | None
    a: Spot
    b: Spot
    along_m: float | None
    width_m: float
    sill_m: float
    top_m: float
    hole: Outline
    leaf: Outline | None
    swing: Outline | None
    open_deg: float | None
    says: str
    sides: Sides


class PlanBody(msgspec.Struct, frozen=True, kw_only=True):
    """A prop, or a panel of grip; outline: what it covers of the plan, open doors with it.

    form: what it is in a word: "table", "solid"; at: where it is put; low_m, high_m: heights of its
    lowest and highest point; turn_deg: of a prop; sizes: those that can be changed; aim, aims_at:
    of grip, the point that its face looks at and its name, "MAKER.face".
    """

    name: str
    section: Literal["props", "grip"]
    form: str
    at: Spot
    z_m: float
    outline: Outline
    low_m: float
    high_m: float
    turn_deg: float | None
    size_m: tuple[float, ...]
    sizes: tuple[PlanSize, ...]
    aim: Spot | None
    aim_z_m: float | None
    aims_at: str | None
    on: str | None
    stand: bool
    says: str
    distance: Distance | None
    sides: Sides


class PlanSubject(msgspec.Struct, frozen=True, kw_only=True):
    """A person: shoulders and head as plain outlines, the mark they stand or sit on, their eyes.

    pose: "standing", "seated", "leaning" or "lying"; facing_deg: of the body; gaze_deg: of the
    head; face: the point that an aim at NAME.face looks at, face_z_m its height.
    """

    name: str
    mark: Spot
    z_m: float
    shoulders: Outline
    head: Outline
    facing_deg: float
    gaze_deg: float
    pose: str
    eye_height_m: float
    low_m: float
    high_m: float
    face: Spot
    face_z_m: float
    says: str
    sides: Sides


class PlanCamera(msgspec.Struct, frozen=True, kw_only=True):
    """A camera: its entrance pupil, the way it looks, and what it sees up to the walls."""

    name: str
    at: Spot
    z_m: float
    forward_deg: float
    tilt_deg: float
    half_angle_deg: float
    half_height_deg: float
    body: Outline
    field: Outline
    aim: Spot | None
    aim_z_m: float | None
    aims_at: str | None
    says: str
    sides: Sides


class Distance(msgspec.Struct, frozen=True, kw_only=True):
    """Where a thing is as a person says it: how far from a subject's mark, at what hour, how high.

    clock_hour: above 0 to 12, 6 is the way that the subject faces, hours run clockwise from above.
    says: "2.10 m, 7:40, 1.85 m up" in the scene's units. The three parts are said apart, too.
    """

    from_name: str
    distance_m: float
    clock_hour: float
    height_m: float
    distance: str
    clock: str
    height: str
    says: str


class PlanUnit(msgspec.Struct, frozen=True, kw_only=True):
    """A fixture or practical; number: fixtures first, from 1, in the scene's order.

    form: what it is in a word; size_m: width and height of what shines, or its diameter twice;
    sizes: those that can be changed.
    face: what shines as the plan sees it; body: its housing with its stand's feet left out. aim,
    aims_at: the point that it looks at and its name, "MAKER.face"; pan_deg None: it looks straight
    up or down, or all round; tilt_deg None: it shines all round. beam: see plan_beams; round: it
    shines all round, and its beam is what it reaches within 3 m. angle_deg: full angle at half
    peak. outside: it stands outside the rooms.
    """

    name: str
    number: int
    section: Literal["fixtures", "practicals"]
    form: str
    at: Spot
    z_m: float
    size_m: tuple[float, float]
    sizes: tuple[PlanSize, ...]
    face: Outline
    body: Outline | None
    aim: Spot | None
    aim_z_m: float | None
    aims_at: str | None
    pan_deg: float | None
    tilt_deg: float | None
    roll_deg: float
    stand: bool
    on: str | None
    outside: bool
    round: bool
    angle_deg: float | None
    beam: Outline | None
    says: str
    distance: Distance | None
    sides: Sides


class PlanReading(msgspec.Struct, frozen=True, kw_only=True):
    """A reading: where it is taken and the way on the plan that it faces, None for up or down.

    movable: it is written as a place of its own, not as one of a subject's.
    """

    name: str
    instrument: Literal["flat", "dome", "spot"]
    at: Spot
    z_m: float
    faces_deg: float | None
    movable: bool


class SideRoom(msgspec.Struct, frozen=True, kw_only=True):
    """A room seen from the side: floor, walls and the ceiling's profile as one outline.

    walls: the two that stand at its sides, cut through.
    """

    name: str | None
    outline: Outline
    walls: tuple[Outline, ...]


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """The rooms from one side; bounds_m: least and greatest of (x or y, z), walls with them."""

    bounds_m: tuple[float, float, float, float]
    rooms: tuple[SideRoom, ...]


class Sections(msgspec.Struct, frozen=True, kw_only=True):
    """The rooms seen along +y and along -x."""

    front: Section
    right: Section


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """A scene in one arrangement from above and from two sides.

    bounds_m: least x and y, greatest x and y of the rooms with their walls. shell: the walls as
    filled outlines, each of an outer ring and its holes; openings are gaps in it.
    """

    bounds_m: tuple[float, float, float, float]
    rooms: tuple[PlanRoom, ...]
    shell: tuple[tuple[Outline, ...], ...]
    walls: tuple[PlanWall, ...]
    openings: tuple[PlanOpening, ...]
    bodies: tuple[PlanBody, ...]
    subjects: tuple[PlanSubject, ...]
    cameras: tuple[PlanCamera, ...]
    units: tuple[PlanUnit, ...]
    readings: tuple[PlanReading, ...]
    sections: Sections
