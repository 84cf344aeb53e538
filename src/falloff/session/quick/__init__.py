"""A quick start: ten questions to an answer in stops, with what was taken for granted."""

from falloff.session.quick.answer import QuickAnswer, quick_answer, stop_text
from falloff.session.quick.ask import SITUATIONS, Question, questions, read_answer

__all__ = [
    "SITUATIONS",
    "Question",
    "QuickAnswer",
    "questions",
    "quick_answer",
    "read_answer",
    "stop_text",
]
