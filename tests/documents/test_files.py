"""Files that hold no scene at all: each is told for what it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from falloff.document import read_document
from falloff.errors import DocumentError

START = "start with `falloff: 2`, `title: ...` and `room:`"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        # snapshot: our own wording; pencil: lines and columns
        (b"", f"x.yaml, line 1, column 1: the document is empty\n    → {START}"),
        (b"# notes only\n", f"x.yaml, line 1, column 1: the document is empty\n    → {START}"),
        (b"---\n", f"x.yaml, line 1, column 1: the document is empty\n    → {START}"),
        (
            b"- falloff: 1\n",
            "x.yaml, line 1, column 1: a scene is a group of keys (expected keys such as falloff, "
            f"title and room; found a list)\n    → {START}",
        ),
        (
            b"hello",
            "x.yaml, line 1, column 1: a scene is a group of keys (expected keys such as falloff, "
            f"title and room; found hello)\n    → {START}",
        ),
        (
            b"title: caf\xe9\n",
            "x.yaml, line 1, byte 11: this is not UTF-8 text (found byte 0xE9)\n"
            "    → save it as UTF-8 in the editor",
        ),
        (
            b"falloff: 1\n\x00title: a\n",
            "x.yaml, line 2, column 1: a character that text cannot hold (found character U+0000)",
        ),
        (b"[" * 100_000, "x.yaml, line 1, column 1: too many brackets stand inside one another"),
        (
            b"a" * 2_000_001,
            "x.yaml, line 1, column 1: this is too long for a scene (found 2000001 characters)",
        ),
        (
            b"%YAML 9.9\n---\na: 1\n",
            "x.yaml, line 1, column 1: this is not YAML: found incompatible YAML document "
            "(version 1.* is required)",
        ),
        (b"a: *b\n", "x.yaml, line 1, column 4: this is not YAML: found undefined alias 'b'"),
        (
            b"? [a, b]\n: 1\n",
            "x.yaml, line 1, column 3: a list or a group cannot be a key (found a list)\n"
            "    → write the key as plain text",
        ),
        (
            b"&a [*a]\n",
            "x.yaml, line 1, column 1: a value shared by an anchor (&) or alias (*)\n"
            "    → write the value out in each place",
        ),
    ],
)
def test_content_that_is_no_scene(tmp_path: Path, content: bytes, told: str) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(content)
    with pytest.raises(DocumentError) as caught:
        read_document(path)
    assert str(caught.value) == told


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    path = tmp_path / "nowhere.scene.yaml"
    with pytest.raises(DocumentError) as caught:
        read_document(path)
    told = f"{path}: there is no such file\n    → check its name and folder"  # snapshot
    assert str(caught.value) == told


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(DocumentError) as caught:
        read_document(tmp_path)
    told = f"{tmp_path}: this is a folder, not a scene file\n    → name the scene file in it"
    assert str(caught.value) == told  # snapshot


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    path = tmp_path / "locked.scene.yaml"
    path.write_text("falloff: 1\n", encoding="utf-8")
    monkeypatch.setattr(Path, "read_bytes", refuse)  # for a superuser may read all files
    with pytest.raises(DocumentError) as caught:
        read_document(path)
    told = f"{path}: this file may not be read\n    → ask for the right to read it"
    assert str(caught.value) == told  # snapshot


def test_a_path_that_no_system_takes() -> None:
    with pytest.raises(DocumentError) as caught:
        read_document("a\0b")
    assert "cannot be read" in str(caught.value)
