"""Questions of a window to the light: handed to the worker, and what an answer would look like."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from falloff.document import SceneDocument, arranged
from falloff.errors import FalloffError
from falloff.page.changes import edits_of
from falloff.page.tasks import AskTask
from falloff.page.told import cannot
from falloff.page.windows import Message, Window
from falloff.page.worktop import Worktop

ASKS: Final = ("balance", "correct", "fixes", "match", "still", "why")
_NEED_TEXT: Final = ("fixes",)
_LOOKED_AT: Final = (
    "dims", "stop", "iso", "shutter", "nd", "balance", "says", "key_lux", "grey_nit", "matrix",
)  # fmt: skip


def task_of(top: Worktop, window: Window, message: Message, name: str) -> AskTask:
    """The question as the worker takes it; raises DocumentError where it cannot be asked."""
    setup = str(message["setup"])
    document = top.document
    if setup not in document.setups:
        raise cannot(f"there is no setup {setup} in the scene any more")
    plans = {one: top.sight_of(one).plan for one in top.tree["setups"] if one in document.setups}
    standing = {plan: arranged(document, plan) for plan in dict.fromkeys(plans.values())}
    what, asked = str(message["what"]), dict(message.get("asked") or {})
    if what == "still":
        found = top.stored.get(str(asked.get("key")))
        asked["data"] = None if found is None else found[0]
    text = top.history.now.written() if what in _NEED_TEXT else ""
    return AskTask(name, window.name, what, setup, standing, plans, asked, document, text)


def tried(top: Worktop, setup: str, changes: list[Message]) -> SceneDocument:
    """The scene as it would be with changes, which are not made; raises what refuses them."""
    history = top.history
    before = history.mark()
    try:
        for change in changes:
            edits, label = edits_of(top.document, setup, change, text=history.now.written)
            history.edit(edits, label, gesture="tried")
        return top.document
    finally:
        history.back_to(before)


def look_into(
    top: Worktop, answer: Message, told_of: Callable[[str, SceneDocument], Message]
) -> None:
    """Add to an answer, and to each of its parts, what would be seen of its changes at once."""
    for one in (answer, *answer.get("parts", ())):
        if one.get("changes") and not one.get("step"):
            one["look"] = looked_at(top, answer["setup"], one["changes"], told_of)


def looked_at(
    top: Worktop,
    setup: str,
    changes: list[Message],
    told_of: Callable[[str, SceneDocument], Message],
) -> Message:
    """What windows would be told of the setups that changes of light touch, with their sentences.

    Dims, colours and exposure alone: what has to be traced is not seen without a step. Empty where
    the changes are refused. told_of: gives a setup's sentences.
    """
    if not changes:
        return {}
    try:
        document = tried(top, setup, changes)
        told = top.maker.setups(document)
    except FalloffError:
        return {}
    now = top.tree["setups"]
    return {
        name: {key: one[key] for key in _LOOKED_AT} | told_of(name, document)
        for name, one in told.items()
        if name in now and any(one[key] != now[name][key] for key in _LOOKED_AT)
    }
