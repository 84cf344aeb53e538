"""Light kept on disk: found again when nothing changed; what is damaged is no error."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest
from tests.unit.page.worked_scene import TEXT, parsed

from falloff.document import parse_document
from falloff.page import kept_light
from falloff.page.kept_light import KeptLight, light_key
from falloff.page.stored import Stored
from falloff.readings import ReadingsMatrix

CONTENTS = {"KEY sum": b"12345678", "KEY direct": b"1234", "ground": b"ab" * 50}


def matrix() -> ReadingsMatrix:
    return ReadingsMatrix(
        scene="x", sources=("KEY",), readings=(), direct=[[]], bounced=[[]], shares=[[]],
        fabrics=(), softness=(),
    )  # fmt: skip


def told(stored: Stored) -> dict[str, Any]:
    keys = {name: stored.put(part) for name, part in CONTENTS.items()}
    layers = {"KEY": {"sum": keys["KEY sum"], "direct": keys["KEY direct"]}}
    return {"t": "light", "layers": layers, "ground": keys["ground"], "size": [2, 1]}


@pytest.fixture
def kept(tmp_path: Path) -> KeptLight:
    return KeptLight(tmp_path / "page")


def written(kept: KeptLight, key: str = "k") -> tuple[dict[str, Any], Path]:
    stored = Stored()
    light = told(stored)
    kept.write(key, light, matrix(), stored=stored)
    return light, kept._path(key)


def test_what_was_kept_is_read_with_all_its_contents(kept: KeptLight) -> None:
    light, path = written(kept)
    stored = Stored()
    assert kept.read("k", stored) == (light, matrix())
    for part in CONTENTS.values():
        assert any(stored.get(key) == (part, "application/octet-stream") for key in stored._kept)
    assert [one.name for one in path.parent.iterdir()] == ["k.light"]


def test_what_was_never_kept_is_nothing(kept: KeptLight) -> None:
    assert kept.read("other", Stored()) is None


def test_damage_anywhere_is_nothing_and_is_written_anew(kept: KeptLight) -> None:
    light, path = written(kept)
    whole = path.read_bytes()
    damaged = [
        b"",
        b"\x01",
        whole[:8],
        whole[: len(whole) // 2],
        whole[:-1],
        whole + b"x",
        b"\xff" * 8 + whole[8:],
        whole[:8] + b"\x00" * (len(whole) - 8),
    ]
    damaged += [
        whole[:at] + bytes([whole[at] ^ 0x55]) + whole[at + 1 :]
        for at in (8, 20, 60, len(whole) - 1, len(whole) - 101, len(whole) - 112)
    ]
    for content in damaged:
        path.write_bytes(content)
        stored = Stored()
        found = kept.read("k", stored)
        if found is not None:  # a letter of the head may be another: the contents are still theirs
            assert set(stored._kept) == {light["ground"], *light["layers"]["KEY"].values()}
            continue
        assert not stored._kept
        written(kept)
        assert path.read_bytes() == whole
    path.write_bytes(whole[:-1] + b"?")
    assert kept.read("k", Stored()) is None


def test_contents_under_wrong_names_are_not_taken(kept: KeptLight) -> None:
    _, path = written(kept)
    whole = path.read_bytes()
    path.write_bytes(whole.replace(b"12345678" + b"1234", b"1234" + b"12345678"))
    assert kept.read("k", Stored()) is None


def test_light_whose_contents_are_gone_is_not_kept(kept: KeptLight) -> None:
    light = told(Stored())
    kept.write("k", light, matrix(), stored=Stored())
    assert not kept._path("k").exists()


def test_a_folder_that_cannot_be_made_costs_nothing_but_the_keeping(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("not a folder")
    kept = KeptLight(blocked / "page")
    written(kept)
    assert kept.read("k", Stored()) is None


def test_a_full_disk_leaves_nothing_behind(
    kept: KeptLight, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    _, path = written(kept)
    assert list(path.parent.iterdir()) == []


def test_the_oldest_go_when_the_cap_is_passed(
    kept: KeptLight, monkeypatch: pytest.MonkeyPatch
) -> None:
    for age, key in enumerate(("c", "b", "a")):
        _, path = written(kept, key)
        os.utime(path, (1e9 - age, 1e9 - age))
    size = path.stat().st_size
    monkeypatch.setattr(kept_light, "_MOST_BYTES", int(2.5 * size))
    written(kept, "a")  # there already: it is used, and now the newest
    written(kept, "d")
    assert sorted(one.name for one in path.parent.iterdir()) == ["a.light", "d.light"]
    monkeypatch.setattr(kept_light, "_MOST_BYTES", 1)
    written(kept, "e")
    assert [one.name for one in path.parent.iterdir()] == ["e.light"]


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        # what light hangs on, and what is applied after it
        ("KEY: 60 %", "KEY: 50 %", True),
        ("stop: T2.8", "stop: T4", True),
        ("title: Worked on", "title: Other", True),
        ("level: 0 stops", "level: 1 stop", True),
        ("# soft", "# hard", True),
        ("output: 6200 lm", "output: 6201 lm", False),
        ("height: 3 m", "height: 3.001 m", False),
        ("at: [3.6 m, 0.4 m", "at: [3.6 m, 0.41 m", False),
        ("outside: 12000 lx", "outside: 12001 lx", False),
        ("at: [1 m, 1 m, 1.5 m]", "at: [1 m, 1 m, 1.6 m]", False),
    ],
)
def test_the_name_of_light(old: str, new: str, *, same: bool) -> None:
    assert TEXT.count(old) == 1
    other = parse_document(TEXT.replace(old, new))
    assert (light_key(other, "A", 640) == light_key(parsed(), "A", 640)) == same


def test_each_camera_and_width_has_light_of_its_own() -> None:
    keys = {light_key(parsed(), camera, width) for camera in "AB" for width in (320, 640)}
    assert len(keys) == 4


def test_a_mesh_that_changed_beside_the_scene_is_another_scene(tmp_path: Path) -> None:
    mesh = "  JUG: {shape: mesh, file: jug.obj, unit: cm, up: z, at: [1 m, 1 m], surface: oak}\n"
    text = TEXT.replace("subjects:\n", mesh + "subjects:\n")
    document = parse_document(text, tmp_path / "one.scene.yaml")
    keys = []
    for content in (None, "v 0 0 0\n", "v 0 0 1\n", "v 0 0 0\n"):
        if content:
            (tmp_path / "jug.obj").write_text(content)
        keys.append(light_key(document, "A", 640))
    assert keys[1] == keys[3]
    assert len(set(keys)) == 3
