"""The web side: one page, its files, its bytes and its link, on this machine alone."""

from __future__ import annotations

import asyncio
import contextlib
import json
import secrets
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from importlib import resources
from pathlib import Path, PurePosixPath
from typing import Any, Final
from urllib.parse import quote

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocket, WebSocketDisconnect

from falloff import __version__
from falloff.errors import FalloffError
from falloff.page.room import WIDTH_PX, Room
from falloff.page.start import begin, offers
from falloff.page.told import sentences
from falloff.page.windows import Window

_KINDS: Final = {
    ".js": "text/javascript",
    ".css": "text/css",
    ".html": "text/html",
    ".svg": "image/svg+xml",
    ".json": "application/json",
}
_POLICY: Final = (
    "default-src 'self'; img-src 'self' blob: data:; connect-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_LARGEST_STILL: Final = 80_000_000
_BAD_PARTS: Final = {"..", ".", ""}


@dataclass(slots=True)
class Desk:
    """What the server serves: a room with a scene, or the offer to begin one.

    folder: where a scene that is begun here is written.
    """

    port: int
    folder: Path
    room: Room | None = None
    width: int = WIDTH_PX

    def open(self, path: Path) -> Room:
        """Open a scene and start to work on it; needs a running event loop."""
        self.room = Room.open(path, port=self.port, width=self.width)
        self.room.start()
        return self.room


def make_app(desk: Desk) -> ASGIApp:
    """The application for one desk; foreign hosts and origins are refused before anything else."""
    counter = Counter(desk)
    app = Starlette(
        routes=[
            Route("/", counter.index),
            Route("/favicon.ico", counter.icon),
            Route("/static/{version}/{path:path}", counter.static),
            Route("/blob/{key}", counter.blob),
            Route("/scene", counter.scene),
            Route("/still", counter.still, methods=["POST"]),
            Route("/start", counter.start, methods=["GET", "POST"]),
            WebSocketRoute("/link", counter.link),
        ],
        lifespan=counter.life,
    )
    return Guard(app, desk)


@dataclass(slots=True)
class Counter:
    """What is handed out over the counter of one desk."""

    desk: Desk

    @asynccontextmanager
    async def life(self, _app: Starlette) -> AsyncIterator[None]:
        """The room is open as long as the server runs."""
        if self.desk.room is not None:
            self.desk.room.start()
        yield
        if self.desk.room is not None:
            await self.desk.room.close()

    async def index(self, _request: Request) -> Response:
        """The page."""
        return _file("index.html", cached=False)

    async def static(self, request: Request) -> Response:
        """One of the page's own files."""
        return _file(str(request.path_params["path"]), cached=True)

    async def icon(self, _request: Request) -> Response:
        """The page's mark."""
        return _file("icon.svg", cached=True)

    async def blob(self, request: Request) -> Response:
        """Bytes by their name."""
        room = self.desk.room
        found = None if room is None else room.top.stored.get(request.path_params["key"])
        if found is None:
            return PlainTextResponse("not kept any more", status_code=404)
        content, kind = found
        keep = {"cache-control": "private, max-age=3600, immutable"}
        return Response(content, media_type=kind, headers=keep)

    async def scene(self, _request: Request) -> Response:
        """The scene file as it is now."""
        room = self.desk.room
        if room is None:
            return PlainTextResponse("no scene is open", status_code=404)
        name = quote(room.document.file_name)
        head = {"content-disposition": f"attachment; filename*=UTF-8''{name}"}
        return Response(room.top.history.now.written(), media_type="text/yaml", headers=head)

    async def still(self, request: Request) -> Response:
        """A picture that one owns: its bytes are kept as long as there is room, and named."""
        room = self.desk.room
        if room is None:
            return PlainTextResponse("no scene is open", status_code=404)
        parts, size = [], 0
        async for part in request.stream():
            size += len(part)
            if size > _LARGEST_STILL:
                why = f"the picture is larger than {_LARGEST_STILL // 10**6} MB: export it smaller"
                return JSONResponse({"why": why}, status_code=413)
            parts.append(part)
        return JSONResponse({"key": room.top.stored.put(b"".join(parts))})

    async def start(self, request: Request) -> Response:
        """What one can begin with, and beginning with it."""
        desk = self.desk
        if request.method == "GET":
            return JSONResponse({"open": desk.room is not None, **offers()})
        try:
            asked = await request.json()
            if desk.room is None:
                desk.open(await asyncio.to_thread(begin, asked, desk.folder))
        except (FalloffError, KeyError, ValueError, TypeError) as error:
            return JSONResponse({"why": sentences(error)}, status_code=422)
        return JSONResponse({"open": True})

    async def link(self, socket: WebSocket) -> None:
        """One window, as long as it is open."""
        if self.desk.room is None:
            await socket.close(4000)
            return
        await socket.accept()
        await _serve(self.desk.room, socket)


async def _serve(room: Room, socket: WebSocket) -> None:
    """One window until it closes."""
    window = Window(secrets.token_hex(4), socket.send_text)
    wanted = socket.query_params.get("setup")
    window.setup = wanted if wanted in room.document.setups else None
    sender = asyncio.create_task(window.run())
    room.enter(window)
    try:
        while True:
            message = json.loads(await socket.receive_text())
            if isinstance(message, dict):
                room.take(window, message)
    except (WebSocketDisconnect, ValueError, RuntimeError):
        pass
    finally:
        room.leave(window)
        sender.cancel()
        # The window may have gone while something was on its way to it.
        with contextlib.suppress(asyncio.CancelledError, WebSocketDisconnect):
            await sender


def _file(path: str, *, cached: bool) -> Response:
    """One of the page's own files; the version in its address lets it be kept for ever."""
    parts = PurePosixPath(path).parts
    kind = _KINDS.get(PurePosixPath(path).suffix)
    if kind is None or any(part in _BAD_PARTS or "\\" in part for part in parts):
        return PlainTextResponse("no such file", status_code=404)
    found = resources.files("falloff.page").joinpath("static", *parts)
    if not found.is_file():
        return PlainTextResponse("no such file", status_code=404)
    text = found.read_text(encoding="utf-8")
    if not cached:
        text = text.replace("{version}", static_version())
    keep = "public, max-age=31536000, immutable" if cached else "no-cache"
    return Response(text, media_type=kind, headers={"cache-control": keep})


def static_version() -> str:
    """The program's version and, so that a changed file is never an old one, its files' marks."""
    folder = resources.files("falloff.page").joinpath("static")
    mark = 0
    for one in sorted(folder.iterdir(), key=lambda found: found.name):
        if isinstance(one, Path):
            mark = (mark * 31 + int(one.stat().st_mtime_ns)) % 0xFFFFFFFF
    return f"{__version__}-{mark:08x}"


@dataclass(slots=True)
class Guard:
    """Refuses what is not asked on this machine's own address; adds the page's policy."""

    app: ASGIApp
    desk: Desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] not in {"http", "websocket"}:
            await self.app(scope, receive, send)
            return
        heads = {
            key.decode("latin-1").lower(): value.decode("latin-1")
            for key, value in scope["headers"]
        }
        hosts = {f"127.0.0.1:{self.desk.port}", f"localhost:{self.desk.port}"}
        origin = heads.get("origin")
        needs_origin = scope["type"] == "websocket" or scope.get("method") == "POST"
        fair = origin in {f"http://{host}" for host in hosts} if origin or needs_origin else True
        if heads.get("host") not in hosts or not fair:
            await _refuse(scope, receive, send)
            return

        async def guarded(message: Any) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [
                    *message.get("headers", []),
                    (b"content-security-policy", _POLICY.encode()),
                    (b"x-content-type-options", b"nosniff"),
                    (b"referrer-policy", b"no-referrer"),
                    (b"cross-origin-resource-policy", b"same-origin"),
                ]
            await send(message)

        await self.app(scope, receive, guarded)


async def _refuse(scope: Scope, receive: Receive, send: Send) -> None:
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 4003})
        return
    response = PlainTextResponse("only for pages of this machine", status_code=403)
    await response(scope, receive, send)
