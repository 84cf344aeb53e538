"""Good scenes are read as they were meant, to the last field."""

from __future__ import annotations

import math
from pathlib import Path

import msgspec
import pytest
from numpy.testing import assert_allclose

from falloff.document import (
    Box,
    CameraAim,
    Cylinder,
    DownAim,
    Globe,
    NamedAim,
    NamedPlace,
    OnPlace,
    OpenFace,
    PointPlace,
    Quantity,
    RelativePlace,
    SceneDocument,
    SoftBox,
    SquareAim,
    WallPlace,
    read_document,
)

GOOD = Path(__file__).parent / "good"
SCENES = sorted(GOOD.glob("*.scene.yaml"))


@pytest.fixture(scope="module")
def workshop() -> SceneDocument:
    return read_document(GOOD / "workshop.scene.yaml")


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
    assert (plain.highlight.si, plain.shadow.si, plain.dims) == (5.0, 6.0, {})


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
    assert list(document.subjects) == ["ΜΆΓΕΙΡΟΣ", "料理人"]
    assert list(document.setups) == ["1", "yes"]
    assert document.subjects["料理人"].facing == "ΜΆΓΕΙΡΟΣ"
    assert document.setups["1"].camera == "on"
    assert document.title == "2024: 'the kitchen', take two"
    assert document.room.height == Quantity(2.7051, "8' 10 1/2\"")


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
