"""serve_page(path) : the local page. One scene, as many windows as one likes, on this machine.

A change of a window goes `changes` (to edits of the file) -> `history` (the next step) -> `tree`
(what windows are told) -> `worker` (light) -> `windows`; `room` holds them together, `saving` keeps
the file, `web` carries it all. docs/page.md has the protocol.
"""

from falloff.page.serve import serve_page

__all__ = ["serve_page"]
