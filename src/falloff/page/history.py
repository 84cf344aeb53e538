"""Every step of a scene that is being worked on: undo is a step back to an earlier one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from falloff.document import (
    Edit,
    KnownNames,
    Node,
    Put,
    Remove,
    SceneDocument,
    compose_text,
    dimmed_document,
    edit_text,
    edit_tree,
    parse_tree,
    splice_scalars,
)
from falloff.errors import DocumentError
from falloff.page.saving import merged
from falloff.page.told import cannot

_MOST_STEPS = 500


@dataclass(slots=True)
class Step:
    """One state of the scene: what it says, and how its text comes from an earlier step's.

    text is None until it is asked for: the tree says the same, and is there at once.
    """

    root: Node
    document: SceneDocument
    label: str
    base: Step | None = None
    edits: tuple[Edit, ...] = ()
    text: str | None = None
    laid: Node | None = None  # the tree of the text, with its places

    def written(self) -> str:
        """The scene file's text at this step; DocumentError where the text cannot take an edit."""
        if self.text is None:
            self.unwritten().keep()
        assert self.text is not None
        return self.text

    def unwritten(self) -> Unwritten:
        """What is to be done for this step's text, as of now: no later edit touches it."""
        waiting: list[tuple[Step, tuple[Edit, ...]]] = []
        step = self
        while step.text is None:
            waiting.append((step, step.edits))
            assert step.base is not None
            step = step.base
        return Unwritten(step.text, step.laid, tuple(reversed(waiting)))


@dataclass(slots=True)
class Unwritten:
    """Texts that are still to be made, each from the one before: `work_out` may run in a thread.

    text, laid: that they begin from, and its tree; waiting: the steps, with their edits.
    """

    text: str
    laid: Node | None
    waiting: tuple[tuple[Step, tuple[Edit, ...]], ...]
    _made: list[tuple[str, Node | None]] = field(default_factory=list)

    def work_out(self) -> Unwritten:
        """Make the texts; no step is touched. DocumentError where a text cannot take an edit."""
        text, laid = self.text, self.laid
        for _, edits in self.waiting:
            text, laid = _written(text, laid, edits)
            self._made.append((text, laid))
        return self

    def keep(self) -> None:
        """Give the steps their texts, which are made now if they were not."""
        if not self._made:
            self.work_out()
        for (step, _), (text, laid) in zip(self.waiting, self._made, strict=True):
            step.text, step.laid, step.base, step.edits = text, laid, None, ()


def _written(text: str, laid: Node | None, edits: tuple[Edit, ...]) -> tuple[str, Node | None]:
    """A text after edits, and its tree: of plain values without reading all of it again."""
    puts = {edit.key_path: edit.text for edit in edits if isinstance(edit, Put)}
    if len(puts) == len(edits):
        spliced = splice_scalars(text, laid or compose_text(text, "scene"), puts)
        if spliced is not None:
            return spliced
    return edit_text(text, edits), None


@dataclass(slots=True)
class History:
    """The steps of one document, and at which of them it stands.

    Every edit of one gesture, such as a drag, replaces the step that the gesture began.
    """

    path: Path
    known: KnownNames
    steps: list[Step] = field(default_factory=list)
    at: int = 0
    gesture: str | None = None

    @classmethod
    def begin(cls, path: Path, text: str, known: KnownNames) -> History:
        """A document as its file has it; raises DocumentError with all its faults."""
        root = compose_text(text, path.name)
        document = parse_tree(root, path, known=known)
        return cls(path, known, [Step(root, document, "as opened", text=text)])

    @property
    def now(self) -> Step:
        """The step it stands at."""
        return self.steps[self.at]

    def edit(self, edits: Iterable[Edit], label: str, *, gesture: str | None = None) -> Step:
        """The next step, or the gesture's own step anew; DocumentError where the scene refuses.

        What was undone before is dropped.
        """
        made = tuple(edits)
        if not made:
            return self.now
        step = self._after(made, label)
        goes_on = gesture is not None and gesture == self.gesture and self.at > 0
        if goes_on and self.now.text is None:
            step.base, step.edits = self.now.base, _merged((*self.now.edits, *made))
        elif step.text is None:
            step.base, step.edits = self.now, made
        if goes_on:
            self.at -= 1
        self._append(step)
        self.gesture = gesture
        return step

    def _after(self, edits: tuple[Edit, ...], label: str) -> Step:
        try:
            root = edit_tree(self.now.root, edits)
            dimmed = dimmed_document(self.now.document, edits)
            if dimmed is not None:
                return Step(root, dimmed, label)
        except DocumentError:
            if not any(isinstance(edit, Remove) for edit in edits):
                raise
            # What becomes of a group that is left empty is only known from the text.
            text = edit_text(self.now.written(), edits)
            root = compose_text(text, self.path.name)
            return Step(root, parse_tree(root, self.path, known=self.known), label, text=text)
        return Step(root, parse_tree(root, self.path, known=self.known), label)

    def go(self, to: int) -> Step:
        """Back or forward to a step, if there is such a one."""
        self.at = min(max(0, to), len(self.steps) - 1)
        self.gesture = None
        return self.now

    def put_back(self, step: int) -> Step:
        """An earlier step once more, as a new one."""
        earlier = self.steps[min(max(0, step), len(self.steps) - 1)]
        return self._append(
            Step(
                earlier.root, earlier.document, f"back to: {earlier.label}", text=earlier.written()
            )
        )

    def take_text(self, text: str, label: str) -> Step:
        """A text from elsewhere as the next step; raises DocumentError where it is no scene."""
        root = compose_text(text, self.path.name)
        document = parse_tree(root, self.path, known=self.known)
        return self._append(Step(root, document, label, text=text))

    def withdraw(self, step: int, label: str) -> Step:
        """Take back exactly this step: without a trace where it is the newest, else as a step.

        Raises DocumentError where it is not among the steps any more, or where what came after it
        touches the same lines.
        """
        there = 0 < step <= self.at and self.steps[step].label == label
        if not there:
            raise cannot(f"the step {label!r} is not among the steps any more", "see Steps")
        if step == self.at:
            return self.drop()
        mine, before = self.steps[step].written(), self.steps[step - 1].written()
        both = merged(mine, self.now.written(), before)
        if both is None:
            what = f"what was changed since {label!r} touches the same lines"
            raise cannot(what, "undo those first, or go back in Steps")
        return self.take_text(both, f"put back: {label}")

    def drop(self) -> Step:
        """Forget the newest step, which its text could not take."""
        if self.at > 0:
            del self.steps[self.at :]
            self.at -= 1
        self.gesture = None
        return self.now

    def mark(self) -> tuple[list[Step], int, str | None]:
        """How things stand, for `back_to`."""
        return list(self.steps), self.at, self.gesture

    def back_to(self, mark: tuple[list[Step], int, str | None]) -> None:
        """Stand again as at a mark."""
        self.steps, self.at, self.gesture = list(mark[0]), mark[1], mark[2]

    def _append(self, step: Step) -> Step:
        del self.steps[self.at + 1 :]
        self.steps.append(step)
        del self.steps[: max(0, len(self.steps) - _MOST_STEPS)]
        self.at, self.gesture = len(self.steps) - 1, None
        return step


def _merged(edits: tuple[Edit, ...]) -> tuple[Edit, ...]:
    """The edits without puts that a later put of the same value undoes."""
    last = {edit.key_path: n for n, edit in enumerate(edits) if isinstance(edit, Put)}
    if any(not isinstance(edit, Put) for edit in edits[1:]):
        return edits  # what stands between may move or remove what is put
    return tuple(
        edit
        for n, edit in enumerate(edits)
        if not isinstance(edit, Put) or last[edit.key_path] == n
    )
