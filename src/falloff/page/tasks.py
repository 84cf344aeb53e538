"""What the server asks of the worker, and what the worker tells it. Sent over a pipe of our own."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

from falloff.document import SceneDocument

Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Sight:
    """A camera in one arrangement, which setups may share: what layers are traced for."""

    plan: str
    camera: str

    @property
    def name(self) -> str:
        """How it is called in messages."""
        return f"{self.plan}|{self.camera}"


@dataclass(frozen=True, slots=True)
class SceneTask:
    """The scene as it stands now; wanted: what is looked at, the first most of all.

    standing: the document by arrangement; moving: what a hand is moving, None when it rests.
    """

    generation: int
    standing: dict[str, SceneDocument]
    wanted: tuple[Sight, ...]
    width: int
    moving: str | None = None


@dataclass(frozen=True, slots=True)
class PointTask:
    """What a place in the frame is: x and y as shares of it from its upper left."""

    id: str
    sight: Sight
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class HourTask:
    """A sight at another hour, for one window whose hand drags it; the newest one is served.

    at: an instant as ISO text with its offset; None where the hand has let go without a change;
    direct: whether the window wants direct light apart.
    """

    window: str
    sight: Sight
    at: str | None
    direct: bool = False


@dataclass(frozen=True, slots=True)
class SunTask:
    """Where the sun falls in an arrangement at an instant, as ISO text with its offset."""

    id: str
    plan: str
    at: str


@dataclass(frozen=True, slots=True)
class PictureTask:
    """A finished picture of one setup: the scene now at another width, or an earlier state of it.

    standing: as the setup has it, its own dims and settings in it.
    """

    id: str
    kind: Literal["full", "earlier"]
    standing: SceneDocument
    sight: Sight
    setup: str
    width: int


@dataclass(frozen=True, slots=True)
class AskTask:
    """What is asked of the light: how to reach what is wanted, what would help, why it is not so.

    window: whose older question of the same kind it replaces; setup: that the window shows;
    standing: the document by arrangement; plans: each setup's arrangement; asked: what belongs to
    the question; document, text: the scene whole and as its file has it, the text only for what
    edits it.
    """

    id: str
    window: str
    what: str
    setup: str
    standing: dict[str, SceneDocument]
    plans: dict[str, str]
    asked: dict[str, Any]
    document: SceneDocument
    text: str = ""


@dataclass(frozen=True, slots=True)
class GrabTask:
    """A thing that a hand has chosen: it may be dragged soon."""

    plan: str
    name: str


@dataclass(frozen=True, slots=True)
class CancelTask:
    """A picture that is no longer wanted."""

    id: str


@dataclass(frozen=True, slots=True)
class ForgetTask:
    """Contents that the server keeps no more, which are to be sent again when they recur."""

    keys: tuple[str, ...]


Task = (
    SceneTask | GrabTask | PointTask | SunTask | HourTask | PictureTask | AskTask | CancelTask
    | ForgetTask
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """A message of the worker: its kind, its parts, and contents by key that go with it."""

    kind: Literal["light", "meter", "trouble", "reply", "job", "idle", "day"]
    parts: dict[str, Any]
    contents: tuple[tuple[str, bytes], ...] = field(default=())
