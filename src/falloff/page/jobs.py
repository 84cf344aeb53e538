"""The worker's longer pieces of work: finished pictures, and questions to the light."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any, Final, Protocol

from falloff.errors import FalloffError
from falloff.layers import LightLayers, cached_layers
from falloff.page.ask_desk import Answer, Desk
from falloff.page.asked import answer_to
from falloff.page.finished import write_picture
from falloff.page.kept_light import light_fields
from falloff.page.stored import key_of
from falloff.page.tasks import (
    AskTask,
    HourTask,
    PictureTask,
    PointTask,
    Sight,
    SunTask,
    Told,
)
from falloff.page.told import sentences
from falloff.page.traced import Place
from falloff.stage import build_stage

_LOOKS_UP_EVERY_S: Final = 0.02  # from a sum that is made beside


class Superseded(Exception):
    """A newer scene waits, or what is being made is not wanted any more."""


class Bench(Protocol):
    """What of the worker's table a longer piece of work needs."""

    places: dict[str, Place]
    sent: set[str]
    asks: list[AskTask]
    asked: AskTask | None
    cancelled: set[str]
    points: list[PointTask | SunTask]
    hours: dict[str, HourTask]

    def read(self, wait_s: float | None) -> None:
        """Take in what has come."""

    def turn(self) -> None:
        """The most pressing piece of work."""

    def undone(self) -> Sight | None:
        """A window's sight whose light is not there yet."""

    def tell(self, told: Told) -> None:
        """Send a message."""


def make_picture(bench: Bench, task: PictureTask) -> None:
    """A finished picture; what a hand does goes first, the picture is of the scene as it was."""

    def made(progress: Callable[[str, float], None]) -> Told:
        place = bench.places.get(task.sight.plan)
        content = write_picture(task, place.live if place else None, progress)
        key = key_of(content)
        bench.sent.discard(key)
        return Told("job", {"id": task.id, "ended": "done", "key": key}, ((key, content),))

    _make(bench, task.id, made)


def make_answer(bench: Bench, task: AskTask) -> None:
    """The answer to a question, from the light that is there."""

    def made(progress: Callable[[str, float], None]) -> Told:
        def layers_of(plan: str) -> LightLayers:
            return _layers(bench, task, plan, progress)

        def beside(sum_of: Callable[[], Any]) -> Any:
            return _beside(bench, task.id, sum_of)

        def partly(known: Answer) -> None:
            answer = {"what": task.what, "setup": task.setup, **known}
            bench.tell(Told("job", {"id": task.id, "done": 0.0, "of": 1.0, "answer": answer}))

        contents: dict[str, bytes] = {}

        def keep(content: bytes) -> str:
            contents[key_of(content)] = content
            return key_of(content)

        answer = answer_to(Desk(task, layers_of, progress, beside, partly, keep))
        ended = {"id": task.id, "ended": "done", "answer": answer}
        return Told("job", ended, tuple(contents.items()))

    bench.asked = task
    try:
        _make(bench, task.id, made)
    finally:
        bench.asked = None


def drop_older(bench: Bench, newer: AskTask) -> None:
    """A newer question of a window takes the place of its older one of that kind."""
    for one in [*bench.asks, *([bench.asked] if bench.asked else [])]:
        if (one.window, one.what) == (newer.window, newer.what):
            bench.cancelled.add(one.id)


def _make(bench: Bench, name: str, made: Callable[[Callable[[str, float], None]], Told]) -> None:
    """Make something and tell it, or why there is none."""

    def progress(_stage: str, share: float) -> None:
        _keep_up(bench, name, wait_s=0.0)
        bench.tell(Told("job", {"id": name, "done": share, "of": 1.0}))

    def ended(**parts: Any) -> None:
        bench.tell(Told("job", {"id": name, **parts}))

    if name in bench.cancelled:
        ended(ended="cancelled")
        return
    try:
        bench.tell(made(progress))
    except Superseded:
        ended(ended="cancelled")
    except FalloffError as error:
        ended(ended="failed", why=sentences(error))


def _keep_up(bench: Bench, name: str, *, wait_s: float) -> None:
    """Do meanwhile what a hand waits for; raises Superseded where this is not wanted any more."""
    bench.read(wait_s=wait_s)
    if name in bench.cancelled:
        raise Superseded
    while bench.points or bench.hours or bench.undone() is not None:
        bench.turn()


def _layers(
    bench: Bench, task: AskTask, plan: str, progress: Callable[[str, float], None]
) -> LightLayers:
    """An arrangement's light: what is on the table where it is of this scene, else traced."""
    standing = task.standing[plan]
    place = bench.places.get(plan)
    if place is not None and light_fields(place.standing.document) == light_fields(standing):
        solution = replace(place.live.solution, stage=place.standing.stage)
        return replace(place.live, solution=solution).layers()
    return cached_layers(build_stage(standing), sizes={}, progress=progress)[0]


def _beside(bench: Bench, name: str, sum_of: Callable[[], Any]) -> Any:
    """A sum in a thread of its own, so that a hand's light does not wait for it; it tells nothing.

    name: of the question that it is for.
    """
    pool = ThreadPoolExecutor(1)
    try:
        future = pool.submit(sum_of)
        while not future.done():
            _keep_up(bench, name, wait_s=_LOOKS_UP_EVERY_S)
        return future.result()
    finally:
        pool.shutdown(wait=False)
