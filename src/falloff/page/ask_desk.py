"""What an answer is made of: the question, and light by arrangement."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from falloff.balance import Posed
from falloff.document import SceneDocument
from falloff.layers import LightLayers
from falloff.page.tasks import AskTask
from falloff.session.scene import setup_light
from falloff.transport import Progress

Answer = dict[str, Any]
LayersOf = Callable[[str], LightLayers]
"""The light of an arrangement by its name; raises FalloffError where it cannot stand."""


@dataclass(frozen=True, slots=True)
class Desk:
    """What an answer is made of: the question, light by arrangement, a way to tell how far it is.

    beside: runs a sum beside the worker's other work and gives what it makes; partly: tells what is
    known of the answer so far; keep: keeps bytes for the window and gives their key.
    """

    task: AskTask
    layers_of: LayersOf
    progress: Progress
    beside: Callable[[Callable[[], Any]], Any]
    partly: Callable[[Answer], None]
    keep: Callable[[bytes], str]

    def document(self, setup: str) -> SceneDocument:
        """The document as it stands in a setup."""
        return self.task.standing[self.task.plans[setup]]

    def posed(self, setup: str) -> Posed:
        """A setup with its light."""
        document = self.document(setup)
        layers = self.layers_of(self.task.plans[setup])
        return Posed(document, setup, setup_light(document, setup), layers)
