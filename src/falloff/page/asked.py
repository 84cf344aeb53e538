"""What is asked of a scene's light, answered in the worker: the answer in plain parts for a window.

Each answer says in `changes` what would make it so, and in `setups` which setups it is for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from falloff.page.ask_desk import Answer, Desk
from falloff.page.asked_balance import balance_answer
from falloff.page.asked_correct import correct_answer
from falloff.page.asked_fixes import fixes_answer
from falloff.page.asked_match import match_answer
from falloff.page.asked_still import still_answer
from falloff.page.asked_why import why_answer
from falloff.page.told import cannot


def answer_to(desk: Desk) -> Answer:
    """The answer to a question; raises FalloffError where there is none."""
    found = _ANSWERS.get(desk.task.what)
    if found is None:
        raise cannot(f"nobody can be asked about {desk.task.what!r}")
    return {"what": desk.task.what, "setup": desk.task.setup, **found(desk)}


_ANSWERS: Final[Mapping[str, Callable[[Desk], Answer]]] = {
    "balance": balance_answer,
    "correct": correct_answer,
    "fixes": fixes_answer,
    "match": match_answer,
    "still": still_answer,
    "why": why_answer,
}
