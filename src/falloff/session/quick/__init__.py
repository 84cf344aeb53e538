"""A quick start: ten questions to an answer in stops, with what was taken for granted."""

from falloff.session.quick.answer import QuickAnswer, quick_answer
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
