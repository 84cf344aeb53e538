"""Good scenes are read as they were meant, to the last field."""

from __future__ import annotations

import hashlib
import math
from pathlib import Path

import msgspec
import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff.document import (
    AtGlass,
    Blind,
    BookLight,
    Box,
    CameraAim,
    Candle,
    Circuit,
    Covering,
    Curtain,
    Cylinder,
    Door,
    DownAim,
    FresnelLight,
    Furniture,
    Gable,
    GateShutter,
    GelFigures,
    GivenFabric,
    Globe,
    KitLight,
    LeanTo,
    LightPanel,
    MeshFile,
    Moved,
    NamedAim,
    NamedPlace,
    OnPlace,
    OpenFace,
    PointAim,
    PointPlace,
    ProfileSpotLight,
    Quantity,
    RelativePlace,
    SceneDocument,
    Screen,
    ShadedBulb,
    Sheer,
    Skylight,
    SoftBox,
    SquareAim,
    WallPlace,
    WebFile,
    Window,
    WindowGel,
    read_document,
)
from falloff.session.scene import known_names
from falloff.stage import build_stage

GOOD = Path(__file__).parent / "good"
SCENES = sorted(GOOD.glob("*.scene.yaml"))


@pytest.fixture(scope="module")
def workshop() -> SceneDocument:
    return read_document(GOOD / "workshop.scene.yaml")


@pytest.fixture(scope="module")
def house() -> SceneDocument:
    return read_document(GOOD / "house.scene.yaml")


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_a_document_survives_being_written_as_data(path: Path) -> None:
    document = read_document(path)
    again = msgspec.json.decode(msgspec.json.encode(document), type=SceneDocument)
    assert again == document


def test_a_quantity_keeps_its_number_and_its_text(workshop: SceneDocument) -> None:
    # pencil: 2.70 m as written
    assert workshop.room.height == Quantity(2.7, "2.70 m")
    assert workshop.room.floor[1] == (Quantity(5.2, "5.2 m"), Quantity(0.0, "0 m"))
    assert workshop.room.wall_surfaces == {2: "brick"}


def test_what_stands_in_the_room(workshop: SceneDocument) -> None:
    # pencil: as written in the file
    assert isinstance(workshop.props["BENCH"].shape, Box)
    assert_allclose(workshop.props["BENCH"].turn.si, math.radians(15.0), rtol=1e-15)
    tin = workshop.props["TIN"]
    assert tin.shape == Cylinder(Quantity(0.1, "10 cm"), Quantity(0.14, "14 cm"))
    assert tin.at == OnPlace("BENCH", (Quantity(0.2, "20 cm"), Quantity(-0.05, "-5 cm")))
    maker = workshop.subjects["MAKER"]
    assert maker.at == PointPlace(
        Quantity(2.5, "2.5 m"), Quantity(2.8, "2.8 m"), Quantity(0.0, "0 m")
    )
    assert (maker.skin, maker.shoes, maker.seat) == (0.32, "black leather", "oak")


def test_lights_and_grip(workshop: SceneDocument) -> None:
    key, beam = workshop.fixtures["KEY"], workshop.fixtures["BEAM"]
    # pencil: as written; 5 ft is 1.524 m, 6' 3" is 1.905 m, half past four is 4.5 hours
    assert isinstance(key.light, SoftBox)
    assert isinstance(key.at, RelativePlace)
    assert key.at.from_name == "MAKER"
    assert_allclose(
        [key.at.distance.si, key.at.clock_hour, key.at.height.si], [1.524, 4.5, 1.905], rtol=1e-15
    )
    assert key.aim == NamedAim("MAKER", "face")
    assert key.stand
    assert beam.light == OpenFace("my flood", Quantity(0.12, "12 cm"))
    assert beam.power is None
    assert workshop.practicals["GLOBE"].light == Globe(Quantity(0.12, "12 cm"))
    assert (workshop.grip["SOLID"].surface, workshop.grip["CARD"].surface) == (
        "black cloth",
        "plaster",
    )
    assert isinstance(workshop.grip["CARD"].at, WallPlace)
    assert workshop.grip["CARD"].aim == DownAim()


def test_cameras_and_setups(workshop: SceneDocument) -> None:
    wide, close = workshop.cameras["WIDE"], workshop.cameras["CLOSE"]
    # from memory: the nominal size of the gate called super 35
    assert [side.si for side in wide.gate] == [0.02489, 0.01866]
    assert [side.si for side in close.gate] == [0.036, 0.024]  # pencil: as written
    assert wide.aspect == Quantity(16.0 / 9.0, "16:9")
    setup = workshop.setups["WIDE SHOT"]
    # pencil: 172.8 / 360 / 25 s; 0.6 / log10 2 stops
    assert_allclose(
        [setup.shutter.si, setup.nd.si, setup.stop.si, setup.fps.si],
        [0.0192, 0.6 / math.log10(2.0), 2.8, 25.0],
        rtol=1e-15,
    )
    assert {name: dim.si for name, dim in setup.dims.items()} == {"KEY": 0.6, "GLOBE": 0.35}
    plain = workshop.setups["CLOSE-UP"]
    assert (plain.stop.text, plain.meter_constant, plain.balance) == ("f/4", 250.0, None)
    assert (plain.highlight.si, plain.shadow.si, plain.dims) == (6.0, 6.0, {})


def test_readings_face_somewhere(workshop: SceneDocument) -> None:
    readings = workshop.readings
    # pencil: the rules of the format; square where there is a surface, else at the camera
    assert readings["key cheek"].at == NamedPlace("MAKER", "cheek_key")
    assert readings["key cheek"].aim == SquareAim()
    assert readings["at the camera"].aim == CameraAim()
    assert readings["bench top"].normal == (0.0, 0.0, 1.0)
    assert readings["bench top"].aim is None
    assert (readings["free"].normal, readings["free"].aim) == ((0.0, -1.0, 0.0), None)
    assert readings["to the key"].aim == NamedAim("KEY", None)


def test_positions_are_where_a_person_would_look(workshop: SceneDocument) -> None:
    lines = (GOOD / "workshop.scene.yaml").read_text(encoding="utf-8").split("\n")

    def at(key_path: tuple[str | int, ...]) -> str:
        line, column = workshop.position_of(key_path)
        return lines[line - 1][column - 1 :]

    # pencil: a single value stands at its value, a group or a list at its key
    assert at(("fixtures", "KEY")).startswith("KEY:")
    assert at(("fixtures", "KEY", "at", "clock")).startswith("4:30")
    assert at(("room", "floor", 2)).startswith("[5.2 m, 4.1 m]")
    assert at(("room", "wall_surfaces", 2)).startswith("brick")
    assert at(("fixtures", "KEY", "never written")).startswith("KEY:")
    assert at(()).startswith("falloff:")
    assert workshop.seen.has(("sky", "ground"))
    assert not workshop.seen.has(("subjects", "MAKER", "shoes"))


def test_names_of_any_script_and_of_any_look() -> None:
    document = read_document(GOOD / "names.scene.yaml")
    # pencil: as written in the file
    assert list(document.subjects) == ["ΜΆΓΕΙΡΟΣ", "料理人", "🧑‍🍳"]
    assert list(document.setups) == ["1", "yes", "सेटअप"]
    assert document.subjects["料理人"].facing == "ΜΆΓΕΙΡΟΣ"
    assert document.setups["1"].camera == "on"
    assert document.title == "2024: 'the kitchen', take two"
    assert document.room.height == Quantity(2.7051, "8' 10 1/2\"")
    assert list(document.fixtures) == ["мягкий свет", "ضوء النافذة"]
    assert document.props["🏺"].at == OnPlace("מדף", (Quantity(0.0, "0 m"), Quantity(0.0, "0 m")))
    assert document.subjects["🧑‍🍳"].gaze == NamedAim("ΜΆΓΕΙΡΟΣ", "face")
    assert document.setups["सेटअप"].without == ("ضوء النافذة",)
    assert document.level_targets["목표"].reading == "ключ"


def test_the_first_format_is_read_as_the_newest() -> None:
    document = read_document(GOOD / "old.scene.yaml")
    # pencil: as written; the figure that was called seated is a woman who is
    assert (document.version, document.subjects["MAKER"].figure) == (1, "woman seated")
    assert document.position_of(("subjects", "MAKER", "figure")) == (12, 19)
    raw = (GOOD / "old.scene.yaml").read_bytes()
    assert document.checksum == hashlib.sha256(raw).hexdigest()
    assert read_document(GOOD / "house.scene.yaml").version == 2


# Every form of the newest format -----------------------------------------------------------


def q(text: str, si: float) -> Quantity:
    return Quantity(si, text)


def test_rooms_and_their_ceilings(house: SceneDocument) -> None:
    # pencil: as written; a sloped room is as high as its highest point
    slope = Gable(q("2.4 m", 2.4), q("3.6 m", 3.6), q("0 deg", 0.0))
    assert (house.room.slope, house.room.height) == (slope, slope.ridge)
    hall, loft = house.rooms["HALL"], house.rooms["LOFT"]
    assert (hall.height, hall.slope) == (q("2.5 m", 2.5), None)
    assert (hall.wall_thickness, hall.wall_surfaces) == (q("12 cm", 0.12), {1: "red brick"})
    lean = LeanTo(q("2.2 m", 2.2), q("3.4 m", 3.4), q("90 deg", math.pi / 2.0))
    assert (loft.slope, loft.height) == (lean, lean.high)


def test_openings_and_what_hangs_in_them(house: SceneDocument) -> None:
    # pencil: as written; 0.6 / log10 2 stops
    window, front = house.openings["WINDOW"], house.openings["FRONT WINDOW"]
    assert isinstance(window, Window)
    assert isinstance(front, Window)
    assert (window.room, window.glass, window.sill_board) == (None, 0.85, q("20 cm", 0.2))
    assert window.dressing == (
        Sheer(0.35, 0.25),
        Blind(q("5 cm", 0.05), q("4 cm", 0.04), q("-45 deg", -math.pi / 4.0), q("60 %", 0.6),
              "black metal"),
        Curtain(q("70 %", 0.7), "black cloth"),
        WindowGel(q("ND 0.6", 0.6 / math.log10(2.0))),
    )  # fmt: skip
    assert (front.room, front.dressing) == ("HALL", (Blind(), Curtain()))
    door, shut = house.openings["HALL DOOR"], house.openings["CUPBOARD DOOR"]
    assert isinstance(door, Door)
    assert (door.to, door.open.si, door.hinge, door.swings) == (
        "HALL", math.radians(80.0), "right", "out",
    )  # fmt: skip
    assert (door.leaf_surface, door.frame.si, door.frame_surface) == ("oak", 0.08, "black metal")
    assert shut == Door(wall=1, along=q("1 m", 1.0))
    roof, loft = house.openings["ROOF"], house.openings["LOFT ROOF"]
    assert isinstance(roof, Skylight)
    assert isinstance(loft, Skylight)
    assert roof.at == (q("1.5 m", 1.5), q("2 m", 2.0))
    assert roof.dressing == (WindowGel(q("1 stop", 1.0)), Sheer(0.0, 0.5))
    assert (roof.bars, roof.shaft.si, roof.shaft_surface) == ((1, 2), 0.25, "plaster")
    assert (loft.room, loft.dressing, loft.shaft.si) == ("LOFT", (), 0.3)


def test_outside_and_the_house_power(house: SceneDocument) -> None:
    # pencil: as written
    outside, power = house.outside, house.house_power
    assert outside is not None
    assert outside.ground_level == q("-3 m", -3.0)
    assert list(outside.buildings) == ["HOUSE OVER THE WAY", "SHED"]
    assert outside.buildings["SHED"].surface == "red brick"
    assert [side.si for side in outside.buildings["HOUSE OVER THE WAY"].size] == [6.0, 9.0, 7.5]
    assert power is not None
    assert power.supply == q("230 V", 230.0)
    assert power.circuits == {
        "A": Circuit(breaker=q("16 A", 16.0), sockets="by the door"),
        "B": Circuit(breaker=q("10 A", 10.0)),
    }


def test_props_of_every_shape(house: SceneDocument) -> None:
    # pencil: as written
    props = house.props
    assert props["OLD CHAIR"].shape == MeshFile("parts/chair.OBJ", "cm", "z")
    assert props["VASE"].shape == MeshFile("vase.glb", None, None)
    assert isinstance(props["VASE"].at, OnPlace)
    assert (props["VASE"].at.on, props["VASE"].at.level) == ("SHELVES", 2)
    assert props["SHELVES"].shape == Furniture("shelves", None, 4, None)
    assert props["CUPBOARD"].shape == Furniture("cupboard", None, None, q("60 deg", math.pi / 3.0))
    sides = (q("1.6 m", 1.6), q("80 cm", 0.8), q("74 cm", 0.74))
    assert props["TABLE"].shape == Furniture("table", sides)
    assert props["TABLE"].surfaces == {"legs": "steel"}


def test_people_and_what_they_wear(house: SceneDocument) -> None:
    # pencil: as written
    cook, guest, child = house.subjects.values()
    assert cook.gaze == NamedAim("GUEST", "face")
    assert (cook.skin, cook.hair_style, cook.spectacles) == ("deep", "bun", "black metal")
    assert cook.covering == Covering(kind="headscarf", surface="red cotton")
    assert (guest.gaze, guest.skin, guest.covering) == (CameraAim(), 0.33, None)
    assert child.gaze == PointAim(q("2 m", 2.0), q("0 m", 0.0), q("1 m", 1.0))


def test_lights_of_every_form(house: SceneDocument) -> None:
    # pencil: as written
    key, fill, book, sun = house.fixtures.values()
    assert isinstance(key.at, RelativePlace)
    assert (key.at.from_name, key.at.clock_hour, key.at.height.text) == ("COOK", 4.0, "6 ft")
    assert_allclose([key.at.distance.si, key.at.height.si], [1.524, 1.8288], rtol=1e-15)
    assert (key.circuit, key.outside, sun.outside) == ("A", False, True)
    assert fill.light == LightPanel((q("60 cm", 0.6), q("60 cm", 0.6)), q("5 cm", 0.05))
    assert book.light == BookLight((q("1.2 m", 1.2), q("1.2 m", 1.2)), q("80 cm", 0.8))
    globe, screen = house.practicals.values()
    assert (globe.light, globe.circuit, globe.aim) == (Globe(q("20 cm", 0.2)), "B", None)
    assert screen.light == LightPanel((q("90 cm", 0.9), q("50 cm", 0.5)), q("6 cm", 0.06))
    assert screen.aim == NamedAim("COOK")


def test_a_setup_is_filled_in_from_the_one_it_is_like(house: SceneDocument) -> None:
    # pencil: CLOSE-UP is written first; 180 deg at 48 fps is 1/96 s, where it was 1/48 s
    wide, close = house.setups["WIDE SHOT"], house.setups["CLOSE-UP"]
    assert list(house.setups) == ["CLOSE-UP", "WIDE SHOT", "EMPTY ROOM"]
    assert (close.like, close.camera, close.stop, close.iso) == (
        "WIDE SHOT", "CLOSE", wide.stop, 800.0,
    )  # fmt: skip
    assert_allclose([close.shutter.si, wide.shutter.si], [1.0 / 96.0, 1.0 / 48.0], rtol=1e-15)
    assert {name: dim.si for name, dim in close.dims.items()} == {"KEY": 0.4, "GLOBE": 0.35}
    place = PointPlace(q("4 m", 4.0), q("1.5 m", 1.5), q("2 m", 2.0))
    assert wide.moved == {"KEY": Moved(at=place)}
    assert close.moved == {
        "KEY": Moved(at=place, aim=NamedAim("COOK", "chest")),
        "GUEST": Moved(facing=q("90 deg", math.pi / 2.0)),
    }
    assert (wide.without, close.without) == ((), ("SOLID",))


def test_targets_and_what_was_measured(house: SceneDocument) -> None:
    # pencil: as written; a third of a stop and a weight of 1 where nothing is said
    face, ratio = house.level_targets.values()
    assert (face.level.si, face.over, face.limit, face.weight) == (0.0, None, "equal", 1.0)
    assert_allclose(face.tolerance.si, 1.0 / 3.0, rtol=1e-15)
    assert (ratio.level.si, ratio.over, ratio.limit, ratio.weight) == (
        -2.0, "key cheek", "at most", 2.0,
    )  # fmt: skip
    first, second, third = house.measured.values()
    assert (first.value.si, first.setup, first.lit) == (320.0, "WIDE SHOT", ("KEY", "WINDOW"))
    assert first.at_time == "2026-03-02T14:10+01:00"
    assert (second.value, second.lit) == (q("45 cd/m2", 45.0), None)
    assert_allclose(third.value.si, 107.639, rtol=1e-5)  # pencil: 10 fc at 10.7639 lx
    assert third.at_time == "2026-03-02T14:10Z"


def test_one_accented_name_typed_in_two_ways_is_one_name(tmp_path: Path) -> None:
    text = (GOOD / "room.scene.yaml").read_text(encoding="utf-8")
    composed, apart = "RENÉ", "RENE\u0301"
    text = text.replace("MAKER:", f"{composed}:").replace("MAKER.", f"{apart}.")
    path = tmp_path / "name.scene.yaml"
    path.write_text(text, encoding="utf-8")
    assert list(read_document(path).subjects) == [composed]


def test_windows_line_ends_and_a_byte_order_mark_do_not_matter(tmp_path: Path) -> None:
    text = (GOOD / "workshop.scene.yaml").read_text(encoding="utf-8")
    path = tmp_path / "workshop.scene.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    plain, odd = read_document(GOOD / "workshop.scene.yaml"), read_document(path)
    assert odd.seen == plain.seen
    assert (odd.room, odd.fixtures, odd.setups) == (plain.room, plain.fixtures, plain.setups)


# Lights, grip and skies of every form -----------------------------------------------------


def test_fixtures_of_every_form() -> None:
    # pencil: as written in the file
    read = read_document(GOOD / "fixtures.scene.yaml").fixtures
    box, octagon = read["BOX"].light, read["OCTAGON"].light
    assert isinstance(box, SoftBox)
    assert isinstance(octagon, LightPanel)
    assert (box.shape, octagon.shape, octagon.crate) == ("rectangle", "octagon", 1.5)
    assert isinstance(box.crate, Quantity)
    assert_allclose(box.crate.si, math.radians(40.0), rtol=1e-15)
    assert_allclose(read["BOX"].roll.si, 0.5 * math.pi, rtol=1e-15)
    assert (read["ROUND"].colour, read["ROUND"].duv) == (q("4300 K", 4300.0), 0.004)
    assert (read["OCTAGON"].colour, read["OCTAGON"].xy) == (None, (0.44, 0.4))
    lantern = read["LANTERN"]
    assert (lantern.aim, lantern.dimming, lantern.warms) == (None, "square-law", True)
    fresnel, spot = read["FRESNEL"], read["SPOT"].light
    assert isinstance(fresnel.light, FresnelLight)
    assert fresnel.light.barndoors is not None
    assert fresnel.light.barndoors.length == q("14 cm", 0.14)
    assert fresnel.gels[0] == "half blue gel"
    assert fresnel.gels[1] == GelFigures(mired=-20.0, green=0.25, loss=q("1/3 stop", 1.0 / 3.0))
    assert isinstance(spot, ProfileSpotLight)
    assert spot.shutters is not None
    assert spot.shutters.left == GateShutter(
        depth=q("40 %", 0.4), tilt=q("10 deg", math.radians(10.0))
    )
    assert spot.shutters.right == GateShutter(depth=q("20 %", 0.2))
    assert read["FILE"].light == WebFile("web.ies", 1)
    opened = read["OPEN"].light
    assert isinstance(opened, OpenFace)
    assert (opened.profile, opened.beam) == (None, q("55 deg", math.radians(55.0)))


def test_lights_in_shot_of_every_form() -> None:
    # pencil: as written in the file
    read = read_document(GOOD / "practicals.scene.yaml").practicals
    shaded = read["SHADED"].light
    assert isinstance(shaded, ShadedBulb)
    assert (shaded.shade.top.si, shaded.shade.bottom.si) == (0.2, 0.35)
    plain = read["PLAIN SHADE"].light
    assert isinstance(plain, ShadedBulb)
    assert plain.shade.fabric == GivenFabric(straight=0.0, scattered=0.4, reflected=0.4)
    assert plain.diameter.si == 0.06
    television, monitor = read["TELEVISION"], read["MONITOR"]
    assert isinstance(television.light, Screen)
    assert (television.output, television.light.luminance) == (None, q("150 nit", 150.0))
    assert monitor.output == q("150 lm", 150.0)
    candle = read["CANDLE"]
    assert (candle.light, candle.output, candle.colour) == (Candle(), None, None)


def test_grip_of_every_kind() -> None:
    # pencil: as written in the file; what is left out is the usual
    read = read_document(GOOD / "grip.scene.yaml").grip
    assert (read["SOLID"].surface, read["BOUNCE"].surface) == ("black cloth", "white paint")
    assert read["SILK"].fabric == "artificial silk"
    assert read["CLOTH"].fabric == GivenFabric(straight=0.1, scattered=0.5)
    assert read["NET"].loss == q("1/2 stop", 0.5)
    assert read["MIRROR"].reflectance == 0.85


def test_a_sky_with_its_sun() -> None:
    # pencil: as written in the file
    sky = read_document(GOOD / "sunny.scene.yaml").sky
    assert sky is not None
    assert (sky.type, sky.outside, sky.zenith, sky.ground) == ("12", None, None, 0.25)
    assert sky.at_glass == AtGlass(opening="WINDOW", reads=q("9000 lx", 9000.0))
    assert sky.sun is not None
    assert (sky.sun.illuminance, sky.sun.turbidity) == (None, 3.5)
    assert sky.sun.azimuth is not None
    assert_allclose([sky.sun.azimuth.si, sky.north.si], np.radians([190.0, 80.0]), rtol=1e-15)


def test_lights_of_the_kit() -> None:
    # pencil: as written in the file
    read = read_document(GOOD / "kit.scene.yaml")
    key = read.fixtures["KEY"]
    assert key.light == KitLight("300 W LED, open face", ("90 cm soft box",))
    assert (key.output, key.colour, key.power) == (None, None, None)
    crated, lens = read.fixtures["CRATED"].light, read.fixtures["LENS"].light
    assert isinstance(crated, KitLight)
    assert isinstance(lens, KitLight)
    assert crated.modifier == ("120 cm octagonal soft box", "40° fabric egg crate")
    assert isinstance(lens.beam, Quantity)
    assert isinstance(read.fixtures["BARE"].light, KitLight)
    assert read.fixtures["BARE"].light.beam == "bare"
    assert isinstance(read.practicals["BULB"].light, KitLight)


@pytest.mark.parametrize("name", ["fixtures", "practicals", "grip", "sunny", "kit"])
def test_what_is_read_can_be_built(name: str) -> None:
    document = read_document(GOOD / f"{name}.scene.yaml", known=known_names())
    stage = build_stage(document)
    wanted = {*document.fixtures, *document.practicals, *document.openings}
    assert {source.name for source in stage.sources} - {"sun"} == wanted
    assert all(source.flux_lm > 0.0 for source in stage.sources)
