"""What lies on the table while one scene is worked on: its steps, its tree, the windows on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from falloff import __version__
from falloff.document import SceneDocument
from falloff.page.history import History
from falloff.page.stored import Stored
from falloff.page.tasks import Sight
from falloff.page.tree import TreeMaker
from falloff.page.windows import Message, Window


@dataclass(slots=True)
class Worktop:
    """One scene: history, what windows are told of it, and the windows.

    rev: counts the states that windows were told; moving: what a hand is moving just now;
    idle: whether the worker has done all that is asked.
    """

    history: History
    stored: Stored
    maker: TreeMaker
    tree: dict[str, Any]
    windows: list[Window] = field(default_factory=list)
    rev: int = 0
    moving: str | None = None
    idle: bool = False

    @property
    def document(self) -> SceneDocument:
        """The scene as it is now."""
        return self.history.now.document

    def tell_all(self, message: Message, *, about: object = None) -> None:
        """A message to every window; about: what it is about, whose older message it replaces."""
        for window in self.windows:
            window.post(message, about=about)

    def hello(self, *, saved: bool, question: str | None) -> Message:
        """All that a window which opens has to know."""
        return {
            "t": "hello",
            "version": __version__,
            "rev": self.rev,
            "tree": self.tree,
            "steps": self.steps(),
            "at": self.history.at,
            "saved": saved,
            "outside": question,
            "idle": self.idle,
        }

    def steps(self) -> list[str]:
        """The labels of all steps, the first state's first."""
        return [step.label for step in self.history.steps]

    def sight_of(self, setup: str) -> Sight:
        """The camera and arrangement of a setup."""
        one = self.tree["setups"][setup]
        return Sight(one["plan"], one["camera"])

    def setups_of(self, sight: str) -> list[str]:
        """The setups that share a sight, by its name."""
        return [name for name in self.tree["setups"] if self.sight_of(name).name == sight]
