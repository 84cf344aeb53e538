"""The worker: a process that traces what the windows look at, the newest scene first.

It reads its tasks between the passes of a trace; a newer scene ends the trace of an older one.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from multiprocessing.connection import Connection
from typing import Any

import numpy as np

from falloff.errors import FalloffError
from falloff.findings import Finding
from falloff.layers import Live, Shown, drag_passes, open_passes, settle_passes
from falloff.page.finished import point_at, write_picture
from falloff.page.stored import key_of
from falloff.page.tasks import (
    CancelTask,
    ForgetTask,
    GrabTask,
    PictureTask,
    PointTask,
    SceneTask,
    Sight,
    Task,
    Told,
)
from falloff.page.told import told
from falloff.readings import ReadingsMatrix, readings_matrix
from falloff.stage import Standing, judge, stand
from falloff.transport import Grasp, take_hold
from falloff.types import Float32Array


class Superseded(Exception):
    """A newer scene waits, or the picture is not wanted any more."""


def work(pipe: Connection) -> None:
    """Serve tasks from the pipe until it is closed."""
    with contextlib.suppress(AttributeError, OSError):
        os.nice(15)  # the windows and the server go first
    bench = Bench(pipe)
    with contextlib.suppress(EOFError, BrokenPipeError, KeyboardInterrupt):
        while True:
            bench.turn()


@dataclass(slots=True)
class Place:
    """One arrangement as it is traced: how it stands, its light, its readings, the last bounce."""

    standing: Standing
    live: Live
    matrix: ReadingsMatrix | None
    bounced: dict[tuple[str, int], Float32Array] = field(default_factory=dict)
    grasp: Grasp | None = None


@dataclass(slots=True)
class Bench:
    """What lies on the worker's table."""

    pipe: Connection
    scene: SceneTask | None = None
    done: set[Sight] = field(default_factory=set)
    judged: set[str] = field(default_factory=set)
    places: dict[str, Place] = field(default_factory=dict)
    pictures: list[PictureTask] = field(default_factory=list)
    points: list[PointTask] = field(default_factory=list)
    grab: GrabTask | None = None
    rested: SceneTask | None = None
    cancelled: set[str] = field(default_factory=set)
    sent: set[str] = field(default_factory=set)

    def turn(self) -> None:
        """The most pressing piece of work, or a wait for one."""
        self.read(wait_s=0.0)
        if self.points:
            self._answer(self.points.pop(0))
        elif (sight := self._undone()) is not None:
            self._trace(sight)
        elif self.grab is not None:
            self._grasp(self.grab)
        elif self.pictures:
            self._picture(self.pictures.pop(0))
        else:
            if self.scene is not self.rested:
                self.rested = self.scene
                self.tell(Told("idle", {}))
            self.read(wait_s=None)

    # Tasks -------------------------------------------------------------------------------

    def read(self, wait_s: float | None) -> None:
        """Take in what has come; None waits for something."""
        ready = self.pipe.poll(wait_s)
        while ready:
            self._take(self.pipe.recv())
            ready = self.pipe.poll(0.0)

    def _take(self, task: Task) -> None:
        match task:
            case SceneTask():
                self.scene = task
                self.done.clear()
                self.judged.clear()
            case GrabTask():
                self.grab = task
            case PointTask():
                self.points.append(task)
            case PictureTask():
                self.pictures.append(task)
            case CancelTask(id=name):
                self.cancelled.add(name)
            case ForgetTask(keys=keys):
                self.sent.difference_update(keys)

    def _undone(self) -> Sight | None:
        if self.scene is None:
            return None
        return next((one for one in self.scene.wanted if one not in self.done), None)

    def check(self, _stage: str = "", _share: float = 0.0) -> None:
        """Raise Superseded where a newer scene has come meanwhile."""
        before = self.scene
        self.read(wait_s=0.0)
        if self.scene is not before:
            raise Superseded

    # Tracing -----------------------------------------------------------------------------

    def _trace(self, sight: Sight) -> None:
        scene = self.scene
        assert scene is not None
        self.done.add(sight)
        try:
            before = self.places.get(sight.plan)
            standing = stand(scene.standing[sight.plan], before=before.standing if before else None)
            if scene.moving is None and sight.plan not in self.judged:
                self._judge(sight.plan, standing)
            for shown in self._passes(scene, sight, standing, before):
                self._tell(sight, standing, shown)
                self.check()
        except Superseded:
            return
        except FalloffError as error:
            self._trouble(sight.plan, [told(fault) for fault in error.faults], [])

    def _passes(
        self, scene: SceneTask, sight: Sight, standing: Standing, before: Place | None
    ) -> Iterator[Shown]:
        stage = standing.stage
        view = stage.views[sight.camera]
        high = max(1, round(scene.width * view.tan_half_height / view.tan_half_width))
        size = (scene.width, high)
        if before is None:
            self._trim(sight.plan, scene)
            return open_passes(stage, sight.camera, size=size, progress=self.check)
        held = before.live.views.get(sight.camera)
        if scene.moving is not None and held is not None:
            return self._while_moving(scene.moving, sight, standing, before)
        return settle_passes(before.live, stage, sight.camera, size=size, progress=self.check)

    def _while_moving(
        self, moving: str, sight: Sight, standing: Standing, before: Place
    ) -> Iterator[Shown]:
        """What can be shown at once: a light's own layer, or what a moved camera sees."""
        old, new = before.live.stage, standing.stage
        held = before.live.views[sight.camera]
        if moving == sight.camera:
            return settle_passes(
                before.live, new, sight.camera, size=held.size, progress=self.check
            )
        alike = (
            moving in before.live.names
            and moving in old.bodies
            and list(old.bodies) == list(new.bodies)
            and all(old.bodies[n].elements == new.bodies[n].elements for n in old.bodies)
        )
        if not alike or held.coarse is None or held.full is None or held.full.trace is None:
            return iter(())
        if before.grasp is None or not before.grasp.fits(new, moving):
            before.grasp = take_hold(new, moving)
        return drag_passes(before.live, new, moving, view=sight.camera, grasp=before.grasp)

    def _grasp(self, task: GrabTask) -> None:
        """Make ready to drag what a hand has chosen."""
        self.grab = None
        place = self.places.get(task.plan)
        lights = place.live.stage.bodies if place else {}
        if place is None or task.name not in lights or task.name not in place.live.names:
            return
        stage = place.live.stage
        if place.grasp is None or not place.grasp.fits(stage, task.name):
            place.grasp = take_hold(stage, task.name)

    def _trim(self, plan: str, scene: SceneTask) -> None:
        """Arrangements that nobody looks at make room for a new one."""
        wanted = {one.plan for one in scene.wanted} | {plan}
        for name in [name for name in self.places if name not in wanted]:
            del self.places[name]

    # Telling -----------------------------------------------------------------------------

    def tell(self, told: Told) -> None:
        """Send a message; contents that were sent before are left out."""
        fresh = tuple((key, content) for key, content in told.contents if key not in self.sent)
        self.sent.update(key for key, _ in fresh)
        self.pipe.send(Told(told.kind, told.parts, fresh))

    def _tell(self, sight: Sight, standing: Standing, shown: Shown) -> None:
        """One pass: its light at once, then its readings, which take as long again."""
        place = self.places.get(sight.plan)
        if shown.live is not None:
            place = Place(
                standing,
                shown.live,
                place.matrix if place else None,
                grasp=place.grasp if place else None,
            )
            self.places[sight.plan] = place
        assert place is not None
        self._tell_light(place, sight, standing, shown)
        solution = replace(place.live.solution, stage=standing.stage)
        only = None if shown.whole else shown.sources
        place.matrix = readings_matrix(solution, shown.probes(), only=only, before=place.matrix)
        parts = {"sight": sight.name, "pass": shown.told, "matrix": place.matrix}
        self.tell(Told("meter", parts))

    def _tell_light(self, place: Place, sight: Sight, standing: Standing, shown: Shown) -> None:
        names = [source.name for source in standing.stage.sources]
        contents: list[tuple[str, bytes]] = []

        def stored(array: Float32Array) -> str:
            content = np.ascontiguousarray(array, "<f4").tobytes()
            key = key_of(content)
            contents.append((key, content))
            return key

        layers = {}
        for n, s in enumerate(shown.sources):
            direct = shown.direct[n]
            bounced = self._bounced(place, sight, s, n, shown)
            layers[names[s]] = {"sum": stored(direct + bounced), "direct": stored(direct)}
        height, width = shown.direct.shape[1:3]
        moving = self.scene.moving if self.scene else None
        parts: dict[str, Any] = {
            "sight": sight.name,
            "pass": shown.told,
            "size": [int(width), int(height)],
            "layers": layers,
            "whole": shown.whole,
            "pending": [] if shown.whole else [name for name in names if name != moving],
        }
        if shown.ground is not None:
            parts["ground"] = stored(shown.ground)
        self.tell(Told("light", parts, tuple(contents)))

    def _bounced(self, place: Place, sight: Sight, s: int, n: int, shown: Shown) -> Float32Array:
        """A source's bounced picture; in a glance the last one, at the glance's size."""
        key = (sight.camera, s)
        if shown.bounced.size:
            place.bounced[key] = shown.bounced[n]
            return np.asarray(shown.bounced[n])
        last = place.bounced.get(key)
        if last is None:
            full = place.live.views[sight.camera].full
            assert full is not None
            last = np.asarray(full.bounced[s])
        return reduced(last, shown.direct.shape[1:3])

    def _judge(self, plan: str, standing: Standing) -> None:
        """What cannot stand as it does is told before the light, which takes longer."""
        self.judged.add(plan)
        try:
            faults, findings = judge(standing)
        except FalloffError as error:
            faults, findings = error.faults, ()
        self._trouble(plan, [told(fault) for fault in faults], list(findings))

    def _trouble(self, plan: str, faults: list[str], findings: list[Finding]) -> None:
        self.tell(Told("trouble", {"plan": plan, "faults": faults, "findings": findings}))

    # Pictures and points -----------------------------------------------------------------

    def _answer(self, task: PointTask) -> None:
        place = self.places.get(task.sight.plan)
        point = None if place is None else point_at(place.live, task.sight.camera, task.x, task.y)
        parts: dict[str, Any] = {"id": task.id, "point": point}
        if point is None:
            parts["why"] = "there is no surface there, or the picture is still being traced"
        self.tell(Told("reply", parts))

    def _picture(self, task: PictureTask) -> None:
        def progress(_stage: str, share: float) -> None:
            self.read(wait_s=0.0)
            if task.id in self.cancelled:
                raise Superseded
            while self.points or self._undone() is not None:
                self.turn()  # what a hand does goes first; the picture is of the scene as it was
            self.tell(Told("job", {"id": task.id, "done": share, "of": 1.0}))

        if task.id in self.cancelled:
            self.tell(Told("job", {"id": task.id, "ended": "cancelled"}))
            return
        try:
            place = self.places.get(task.sight.plan)
            content = write_picture(task, place.live if place else None, progress)
        except Superseded:
            if task.id in self.cancelled:
                self.tell(Told("job", {"id": task.id, "ended": "cancelled"}))
            return
        except FalloffError as error:
            why = " ".join(fault.sentence() for fault in error.faults)
            self.tell(Told("job", {"id": task.id, "ended": "failed", "why": why}))
            return
        key = key_of(content)
        self.sent.discard(key)
        self.tell(Told("job", {"id": task.id, "ended": "done", "key": key}, ((key, content),)))


def reduced(picture: Float32Array, shape: tuple[int, ...]) -> Float32Array:
    """A picture (h, w, 3) at about half its size: means of two by two; itself where it fits."""
    height, width = shape[0], shape[1]
    if picture.shape[:2] == (height, width):
        return picture
    cut = picture[: 2 * height, : 2 * width]
    if cut.shape[:2] != (2 * height, 2 * width):
        rows = np.arange(height) * picture.shape[0] // height
        columns = np.arange(width) * picture.shape[1] // width
        return np.asarray(picture[rows][:, columns])
    return np.asarray(cut.reshape(height, 2, width, 2, 3).mean((1, 3), dtype=np.float32))
