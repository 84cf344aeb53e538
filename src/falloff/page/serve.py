"""Serve the page until it is stopped."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Callable
from pathlib import Path

from falloff.errors import Fault, OutputError
from falloff.page.room import WIDTH_PX, Room
from falloff.page.web import Desk, make_app


def serve_page(
    path: Path | None,
    *,
    port: int = 0,
    width: int = WIDTH_PX,
    folder: Path | None = None,
    announce: Callable[[str], None],
) -> None:
    """Serve a scene's page on 127.0.0.1, or the offer to begin one, until interrupted.

    port: 0 takes a free one. width: of the pictures (px). folder: where a scene that is begun is
    written. announce: called with the page's address once it answers. Raises DocumentError for a
    scene with faults, OutputError where the port or the scene is taken.
    """
    # One core is the worker's, the other the window's: no library here may spin on either.
    for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    import uvicorn

    sys.setswitchinterval(0.001)  # an edit is answered while a file's text is being made

    bound = _bound(port)
    number = int(bound.getsockname()[1])
    room = None if path is None else Room.open(path, port=number, width=width)
    desk = Desk(number, folder or Path.cwd(), room, width=width)
    config = uvicorn.Config(
        make_app(desk),
        log_level="warning",
        ws="websockets-sansio",
        ws_per_message_deflate=False,
        timeout_graceful_shutdown=1,
        lifespan="on",
    )
    bound.listen(64)
    announce(f"http://127.0.0.1:{number}/")
    uvicorn.Server(config).run(sockets=[bound])


def _bound(port: int) -> socket.socket:
    """A socket of this machine alone."""
    held = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        held.bind(("127.0.0.1", port))
    except OSError as error:
        held.close()
        fix = "give another with --port, or leave it out"
        raise OutputError(Fault(f"port {port} is taken", found=str(error), fix=fix)) from error
    return held
