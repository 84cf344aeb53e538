"""The server's side of the page by its own protocol: who may speak, what is kept, what is told."""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import json
import time
from collections.abc import Callable, Coroutine, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
import websockets
from tests.page.conftest import Serve, Served

Message = dict[str, Any]


class Talk:
    """One window without a browser."""

    def __init__(self, socket: Any) -> None:
        self.socket = socket
        self.seq = 0

    async def hear(self, wanted: Callable[[Message], bool], *, within_s: float = 40.0) -> Message:
        """The next message that is wanted; others are passed over."""
        end = time.monotonic() + within_s
        while True:
            left = end - time.monotonic()
            message: Message = json.loads(await asyncio.wait_for(self.socket.recv(), left))
            if wanted(message):
                return message

    async def edit(self, *changes: Message, gesture: str | None = None) -> int:
        """Ask for changes; the number of the edit."""
        self.seq += 1
        await self.socket.send(
            json.dumps({"t": "edit", "seq": self.seq, "gesture": gesture, "changes": list(changes)})
        )
        return self.seq

    async def done(self, seq: int) -> Message:
        """What came of an edit: its ack or its refusal."""
        return await self.hear(lambda m: m["t"] in {"ack", "refused"} and m.get("seq") == seq)


def apart(work: Coroutine[Any, Any, Any]) -> Any:
    """Run it in a thread of its own: this one has the browser's event loop in other tests."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def talk(served: Served, say: Callable[[Talk], Any]) -> Any:
    """Open a window and let it talk."""

    async def run() -> Any:
        async with websockets.connect(
            f"ws://127.0.0.1:{served.port}/link",
            origin=websockets.Origin(served.address.rstrip("/")),
            max_size=None,
        ) as socket:
            return await say(Talk(socket))

    return apart(run())


def hello(message: Message) -> bool:
    """The first message of all."""
    return str(message["t"]) == "hello"


@pytest.fixture
def served(serve: Serve) -> Served:
    """The witness's room."""
    return serve()


def get(served: Served, path: str, **headers: str) -> tuple[int, Mapping[str, str]]:
    """Status and headers of an answer; the path is sent as it is."""
    connection = http.client.HTTPConnection("127.0.0.1", served.port, timeout=5)
    try:
        connection.putrequest("GET", path, skip_host=True)
        for name, value in {"Host": f"127.0.0.1:{served.port}", **headers}.items():
            connection.putheader(name, value.format(port=served.port))
        connection.endheaders()
        answer = connection.getresponse()
        return answer.status, {key.lower(): value for key, value in answer.getheaders()}
    finally:
        connection.close()


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"Host": "localhost:{port}"}, 200),
        ({"Origin": "http://127.0.0.1:{port}"}, 200),
        ({"Host": "example.org"}, 403),
        ({"Host": "127.0.0.1"}, 403),
        ({"Origin": "http://example.org"}, 403),
        ({"Origin": "null"}, 403),
    ],
)
def test_only_pages_of_this_machine(
    same_server: Served, headers: dict[str, str], status: int
) -> None:
    found, heads = get(same_server, "/", **headers)
    assert found == status
    if status == 200:
        assert "default-src 'self'" in heads["content-security-policy"]
        assert heads["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize("origin", ["http://example.org", "null", None])
def test_a_foreign_page_gets_no_link(same_server: Served, origin: str | None) -> None:
    async def run() -> None:
        with pytest.raises(websockets.InvalidStatus):
            await websockets.connect(
                f"ws://127.0.0.1:{same_server.port}/link",
                origin=None if origin is None else websockets.Origin(origin),
            )

    apart(run())


@pytest.mark.parametrize(
    "path", ["/static/x/../web.py", "/static/x/..%2fweb.py", "/static/x/nothing.js", "/blob/abc"]
)
def test_nothing_else_is_handed_out(same_server: Served, path: str) -> None:
    assert get(same_server, path)[0] == 404


def test_modules_are_modules_whatever_the_system_calls_them(same_server: Served) -> None:
    assert get(same_server, "/static/x/main.js")[1]["content-type"].startswith("text/javascript")


def test_an_edit_is_judged_acknowledged_and_saved_with_comments_kept(served: Served) -> None:
    assert served.scene is not None
    before = served.scene.read_text(encoding="utf-8")

    async def say(window: Talk) -> Message:
        tree = (await window.hear(hello))["tree"]
        source = next(name for name, one in tree["sources"].items() if one["dims"])
        told = await window.done(await window.edit({"do": "dim", "source": source, "knob": 0.5}))
        assert told["t"] == "ack"
        patch = await window.hear(lambda m: m["t"] == "patch")
        setup = tree["setup_order"][0]
        assert [["setups", setup, "dims", source, "knob"], 0.5] in patch["patch"]
        refused = await window.done(
            await window.edit({"do": "dim", "source": "NOBODY", "knob": 0.5})
        )
        assert refused["t"] == "refused"
        assert "NOBODY" in refused["why"][0]
        await window.hear(lambda m: m["t"] == "saved" and m["rev"] == patch["rev"])
        return patch

    talk(served, say)
    after = served.scene.read_text(encoding="utf-8")
    comments = [line for line in before.splitlines() if line.lstrip().startswith("#")]
    assert comments
    assert [line for line in after.splitlines() if line.lstrip().startswith("#")] == comments
    changed = [line for line in after.splitlines() if line not in before.splitlines()]
    assert len(changed) == 1
    assert "50 %" in changed[0]


def test_all_changes_of_one_edit_or_none(served: Served) -> None:
    async def say(window: Talk) -> None:
        first = await window.hear(hello)
        setup = first["tree"]["setup_order"][0]
        seq = await window.edit(
            {"do": "setting", "key": "stop", "text": "T8"},
            {"do": "setting", "key": "iso", "text": "a lot"},
        )
        assert (await window.done(seq))["t"] == "refused"
        seq = await window.edit({"do": "setting", "key": "iso", "text": "1600"})
        assert (await window.done(seq))["t"] == "ack"
        patch = await window.hear(lambda m: m["t"] == "patch")
        paths = [one[0] for one in patch["patch"]]
        assert ["setups", setup, "iso", "text"] in paths
        assert ["setups", setup, "stop", "text"] not in paths

    talk(served, say)


def test_a_gesture_is_one_step_and_undo_takes_it_back_whole(served: Served) -> None:
    async def say(window: Talk) -> None:
        tree = (await window.hear(hello))["tree"]
        source = next(name for name, one in tree["sources"].items() if one["dims"])
        for k in range(5):
            await window.edit({"do": "dim", "source": source, "knob": 0.9 - 0.1 * k}, gesture="one")
        patch = await window.hear(lambda m: m["t"] == "patch" and m["seq"] == 5)
        assert patch["at"] == 1
        await window.socket.send(json.dumps({"t": "undo"}))
        patch = await window.hear(lambda m: m["t"] == "patch" and m["at"] == 0)
        setup = tree["setup_order"][0]
        assert [["setups", setup, "dims", source, "knob"], 1.0] in patch["patch"]
        assert patch["at"] == 0

    talk(served, say)


def test_what_is_older_than_half_a_second_outlives_a_kill(serve: Serve) -> None:
    served = serve()
    assert served.scene is not None

    async def say(window: Talk) -> None:
        await window.hear(hello)
        seq = await window.edit({"do": "setting", "key": "stop", "text": "T11"})
        await window.done(seq)
        await asyncio.sleep(0.5)
        served.kill()

    with contextlib.suppress(websockets.ConnectionClosed, OSError):
        talk(served, say)
    assert "T11" in served.scene.read_text(encoding="utf-8")
    again = serve(own=served.scene)  # its lock was left behind, and is stale
    assert again.address != ""


def test_a_second_program_is_kept_off_the_same_scene(serve: Serve, served: Served) -> None:
    with pytest.raises(AssertionError, match="ended before"):
        serve(own=served.scene)


def test_a_file_changed_elsewhere_is_merged_or_asked_about(served: Served) -> None:
    path = served.scene
    assert path is not None

    def title(to: str) -> None:
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        k = next(n for n, line in enumerate(lines) if line.startswith("title:"))
        lines[k] = f"title: {to}\n"
        path.write_text("".join(lines), encoding="utf-8")

    async def say(window: Talk) -> None:
        await window.hear(hello)
        title("Changed elsewhere")
        patch = await window.hear(lambda m: m["t"] == "patch")
        assert [["title"], "Changed elsewhere"] in patch["patch"]
        # Both at once, in different lines: both are kept.
        seq = await window.edit({"do": "setting", "key": "stop", "text": "T11"})
        title("Once more")
        await window.done(seq)
        await window.hear(lambda m: m["t"] == "patch" and [["title"], "Once more"] in m["patch"])
        await window.hear(lambda m: m["t"] == "saved")
        text = path.read_text(encoding="utf-8")
        assert "T11" in text
        assert "Once more" in text
        # What is no scene is not taken: the page asks.
        path.write_text("title: [", encoding="utf-8")
        asked = await window.hear(lambda m: m["t"] == "outside")
        assert "no scene" in asked["why"]
        await window.socket.send(json.dumps({"t": "outside", "take": "mine"}))
        await window.hear(lambda m: m["t"] == "saved")
        assert "T11" in path.read_text(encoding="utf-8")

    talk(served, say)


def test_light_comes_coarse_then_full_and_only_what_moved(served: Served) -> None:
    async def say(window: Talk) -> None:
        tree = (await window.hear(hello))["tree"]
        await window.hear(lambda m: m["t"] == "idle" and m["is"], within_s=60)
        name = next(n for n, s in tree["sources"].items() if s["section"] == "fixtures")
        unit = next(u for u in next(iter(tree["plans"].values()))["units"] if u["name"] == name)
        move = {"do": "place", "name": name, "x_m": unit["at"][0] + 0.1, "y_m": unit["at"][1]}
        await window.edit(move, gesture="drag")
        glance = await window.hear(lambda m: m["t"] == "light")
        assert (glance["pass"], glance["whole"]) == ("coarse", False)
        assert list(glance["layers"]) == [name]
        assert name not in glance["pending"]
        full = await window.hear(lambda m: m["t"] == "light")
        assert (full["pass"], list(full["layers"])) == ("full", [name])
        await window.socket.send(json.dumps({"t": "rest"}))
        whole = await window.hear(lambda m: m["t"] == "light" and m["whole"], within_s=60)
        assert whole["pending"] == []
        assert set(whole["layers"]) == set(tree["source_order"])

    talk(served, say)


def test_what_is_kept_shows_at_once_the_next_time(serve: Serve, tmp_path: Path) -> None:
    served = serve()

    async def wait(window: Talk) -> Message:
        await window.hear(hello)
        return await window.hear(
            lambda m: m["t"] == "light" and m["pass"] == "full" and "ground" in m, within_s=60
        )

    first = talk(served, wait)
    time.sleep(0.3)
    served.stop()
    again = serve(own=served.scene)

    async def at_once(window: Talk) -> Message:
        await window.hear(hello)
        return await window.hear(lambda m: m["t"] == "light", within_s=1.5)

    assert talk(again, at_once)["layers"] == first["layers"]
