"""new: a quick start's answer, and the scene file to go on from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from falloff.errors import Fault, OutputError
from falloff.session.quick import QuickAnswer, quick_answer
from falloff.session.quick.plan import Situation, System


@dataclass(frozen=True, slots=True)
class Started:
    """The answer of a quick start and where its scene file was written."""

    answer: QuickAnswer
    scene: Path


def run_new(
    situation: Situation, answers: Mapping[str, str], *, units: System, out: Path | None = None
) -> Started:
    """Answer a quick start and write its scene file; a file that is there is never overwritten.

    out: the file to write; None picks a free name in the folder one stands in. Raises
    DocumentError for answers that cannot be read, OutputError where the file cannot be written.
    """
    if out is not None and out.exists():
        fix = "give another name with --out"
        raise OutputError(Fault(what="there is already such a file", where=str(out), fix=fix))
    answer = quick_answer(situation, units, answers)
    path = out or _free_name(situation)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(answer.scene)
    except OSError as error:
        raise OutputError(
            Fault(
                what="the scene file cannot be written",
                where=str(path),
                found=error.strerror or str(error),
                fix="choose another place with --out",
            )
        ) from error
    return Started(answer, path)


def _free_name(situation: Situation) -> Path:
    path, count = Path(f"{situation}.scene.yaml"), 1
    while path.exists():
        count += 1
        path = Path(f"{situation}-{count}.scene.yaml")
    return path
