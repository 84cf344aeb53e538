"""serve_page(path): the local page. One scene, as many windows as one likes, on this machine.

What a change goes through, in order:

    web, windows           carry messages and bytes; room takes them in
    changes                a change to edits of the file: worked, places, turning, rooms, add,
                           hour_changes; clocks tells how a day's clock runs
    history                the next step; undo is a step back; keeper and saving write the file
    tree                   what windows are told: sources_told, choices; patches carry it
    seen, foreman, tasks   the scene to the worker, light and readings from it
    worker, finished       the process that traces, with traced and at_hours; stored and
                           kept_light keep its bytes

worktop is the table all of it lies on; start and serve begin it. docs/page.md has the protocol.
"""

from falloff.page.serve import serve_page

__all__ = ["serve_page"]
