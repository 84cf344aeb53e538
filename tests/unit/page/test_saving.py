"""The scene file on disk: kept whole, watched, and worked on by one program at a time."""

from __future__ import annotations

import json
import socket
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from falloff.errors import DocumentError, OutputError
from falloff.page.saving import SceneFile, merged

TEXT = "one\ntwo\nthree\nfour\nfive\nsix\n"
PORT = 61234


@pytest.fixture
def path(tmp_path: Path) -> Path:
    made = tmp_path / "one.scene.yaml"
    made.write_bytes(TEXT.encode())
    return made


@pytest.fixture
def other() -> Iterator[int]:
    """The port of another program that listens."""
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        yield listening.getsockname()[1]


def lock_of(path: Path) -> Path:
    return path.with_name(".one.scene.yaml.open")


def test_a_text_is_saved_with_the_files_rights(path: Path) -> None:
    path.chmod(0o640)
    file = SceneFile.open(path, port=PORT)
    file.save(TEXT + "seven\r\n")
    assert path.read_bytes() == TEXT.encode() + b"seven\r\n"  # line ends as they are
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert file.changed_outside() is None
    file.save(TEXT)
    assert path.read_text() == TEXT
    before = path.with_name(".one.scene.yaml.before")
    assert before.read_text() == TEXT
    file.save("other\n")
    assert before.read_text() == TEXT  # as it was opened
    file.close()
    assert sorted(one.name for one in path.parent.iterdir()) == [before.name, path.name]


def test_what_is_there_already_is_not_written(path: Path) -> None:
    file = SceneFile.open(path, port=PORT)
    inode = path.stat().st_ino
    file.save(TEXT)
    assert path.stat().st_ino == inode
    file.save("other\n")
    assert path.stat().st_ino != inode


def test_a_change_from_outside_is_seen_and_not_overwritten(path: Path) -> None:
    file = SceneFile.open(path, port=PORT)
    assert file.changed_outside() is None
    path.write_text(TEXT + "theirs\n")
    with pytest.raises(DocumentError, match="has changed on disk"):
        file.save("ours\n")
    assert path.read_text() == TEXT + "theirs\n"
    assert file.changed_outside() == TEXT + "theirs\n"
    assert file.changed_outside() is None  # it is told once
    with pytest.raises(DocumentError, match="has changed on disk"):
        file.save("ours\n")
    file.accept(TEXT + "theirs\n")
    file.save("ours\n")
    assert path.read_text() == "ours\n"


def test_what_is_touched_without_a_change_is_no_change(path: Path) -> None:
    file = SceneFile.open(path, port=PORT)
    path.write_bytes(path.read_bytes())
    assert file.changed_outside() is None
    file.save("ours\n")
    assert path.read_text() == "ours\n"


def test_a_file_that_is_gone_is_looked_at_again_later(path: Path) -> None:
    file = SceneFile.open(path, port=PORT)
    path.unlink()
    assert file.changed_outside() is None
    path.write_text("theirs\n")
    assert file.changed_outside() == "theirs\n"


def test_a_second_program_is_refused_while_the_first_listens(path: Path, other: int) -> None:
    first = SceneFile.open(path, port=other)
    with pytest.raises(OutputError, match="another Falloff works on this scene") as caught:
        SceneFile.open(path, port=PORT)
    assert f"http://127.0.0.1:{other}/" in str(caught.value)
    first.close()
    second = SceneFile.open(path, port=PORT)
    first.close()  # what is not its own any more it leaves alone
    assert json.loads(lock_of(path).read_text()) == {"port": PORT}
    second.close()
    assert not lock_of(path).exists()


def test_a_lock_that_nobody_answers_for_is_taken(path: Path, other: int) -> None:
    with socket.socket() as gone:
        gone.bind(("127.0.0.1", 0))
        port = gone.getsockname()[1]
    lock_of(path).write_text(json.dumps({"port": port}))
    SceneFile.open(path, port=other)
    assert json.loads(lock_of(path).read_text()) == {"port": other}
    SceneFile.open(path, port=other)  # its own of a life before


@pytest.mark.parametrize(
    "content",
    ["", "{", "[]", "null", "7", '{"port": "x"}', '{"port": 1e999}', '{"port": 99999999}',
     '{"port": -1}', "\x00\xff"],
)  # fmt: skip
def test_a_damaged_lock_is_taken(path: Path, content: str) -> None:
    lock_of(path).write_bytes(content.encode("latin-1"))
    SceneFile.open(path, port=PORT)
    assert json.loads(lock_of(path).read_text()) == {"port": PORT}


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="there is no such file"):
        SceneFile.open(tmp_path / "one.scene.yaml", port=PORT)
    assert list(tmp_path.iterdir()) == []


# Both changed ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ours", "theirs", "both"),
    [
        # pencil: far apart, both; on the same or neighbouring lines, a person must say
        (("two", "2"), ("five", "5"), "one\n2\nthree\nfour\n5\nsix\n"),
        (("one", "0\none"), ("six\n", "six\nseven\n"), "0\n" + TEXT + "seven\n"),
        (("two\n", ""), ("five\n", ""), "one\nthree\nfour\nsix\n"),
        (("two", "2"), ("two", "2"), TEXT.replace("two", "2")),
        (("two\n", "two\nnew\n"), ("two\n", "two\nnew\n"), TEXT.replace("two\n", "two\nnew\n")),
        (("two", "2"), ("two", "II"), None),
        (("two", "2"), ("three", "3"), None),
        (("two\n", "two\na\n"), ("two\n", "two\nb\n"), None),
        (("two\nthree\nfour\n", ""), ("three", "3"), None),
        (("two", "2"), ("two\nthree", "2\n3"), None),
    ],
)
def test_both_changes(ours: tuple[str, str], theirs: tuple[str, str], both: str | None) -> None:
    a, b = TEXT.replace(*ours), TEXT.replace(*theirs)
    assert a != TEXT
    assert b != TEXT
    assert merged(TEXT, a, b) == both
    assert merged(TEXT, b, a) == both


def test_last_lines_without_an_end() -> None:
    assert merged("a\nb\nc", "A\nb\nc", "a\nb\nC") == "A\nb\nC"
    assert merged("a\r\nb\r\nc\r\n", "A\r\nb\r\nc\r\n", "a\r\nb\r\nC") == "A\r\nb\r\nC"


LINES = st.lists(st.sampled_from(["a\n", "b\n", "c\n", "\n", "a"]), max_size=8).map("".join)


@settings(max_examples=200, deadline=None)
@given(LINES, LINES, LINES)
def test_merging_with_no_change_is_no_change(base: str, ours: str, theirs: str) -> None:
    assert merged(base, ours, base) == ours
    assert merged(base, base, theirs) == theirs
    assert merged(base, ours, ours) == ours
    assert merged(base, ours, theirs) == merged(base, theirs, ours)
