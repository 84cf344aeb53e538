"""A quick start: ten questions to an answer in stops, with what was taken for granted.

The answer is found when first asked for: asking the questions starts without the tracer.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from falloff.session.quick.ask import (
    SITUATIONS,
    Question,
    check_answer,
    fitting_default,
    questions,
    read_answer,
    taken_as,
)
from falloff.session.quick.marks import stop_text

if TYPE_CHECKING:
    from falloff.session.quick.answer import QuickAnswer, quick_answer

_ANSWER = ("QuickAnswer", "quick_answer")

__all__ = [
    "SITUATIONS",
    "Question",
    "QuickAnswer",
    "check_answer",
    "fitting_default",
    "questions",
    "quick_answer",
    "read_answer",
    "stop_text",
    "taken_as",
]


def __getattr__(name: str) -> Any:
    """The answer and its record from their home, which is loaded then."""
    if name in _ANSWER:
        return getattr(importlib.import_module("falloff.session.quick.answer"), name)
    raise AttributeError(f"module 'falloff.session.quick' has no attribute {name!r}")
