"""What a target speaks of, and which targets are wanted in a setup."""

from __future__ import annotations

from falloff.document.records import AnyTarget, EvenTarget, SceneDocument


def readings_in(target: AnyTarget) -> tuple[str, ...]:
    """The readings that a target of any kind speaks of, the one it is about first."""
    if isinstance(target, EvenTarget):
        return target.readings
    over = getattr(target, "over", None)
    return (target.reading,) if over is None else (target.reading, over)


def targets_in(document: SceneDocument, setup: str) -> dict[str, AnyTarget]:
    """The targets that are wanted in a setup: those that name none, and those that name it."""
    return {
        name: target
        for name, target in document.targets.items()
        if not target.setups or setup in target.setups
    }
