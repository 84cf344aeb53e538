"""The worker: a process that traces what the windows look at, the newest scene first.

It reads its tasks between the passes of a trace; a newer scene ends the trace of an older one.
"""

from __future__ import annotations

import contextlib
import os
import time
from dataclasses import dataclass, field, replace
from datetime import datetime
from multiprocessing.connection import Connection
from typing import Any, Final

import numpy as np

from falloff.errors import FalloffError
from falloff.findings import Finding
from falloff.layers import Shown
from falloff.page.at_hours import day_fields, patches_told
from falloff.page.finished import point_at
from falloff.page.jobs import Superseded, drop_older, make_answer, make_picture
from falloff.page.stored import key_of
from falloff.page.tasks import (
    AskTask,
    CancelTask,
    ForgetTask,
    GrabTask,
    HourTask,
    PictureTask,
    PointTask,
    SceneTask,
    Sight,
    SunTask,
    Task,
    Told,
)
from falloff.page.told import told
from falloff.page.traced import Place, hours_of, make_ready, passes_of, reduced
from falloff.readings import readings_matrix
from falloff.sources import SKY, SUN
from falloff.stage import Standing, judge, stand
from falloff.types import Float32Array

_QUIET_S: Final = 0.6  # after a dragged hour, before anything is done that nobody waits for


def work(pipe: Connection) -> None:
    """Serve tasks from the pipe until it is closed."""
    with contextlib.suppress(AttributeError, OSError):
        os.nice(15)  # the windows and the server go first
    bench = Bench(pipe)
    with contextlib.suppress(EOFError, BrokenPipeError, KeyboardInterrupt):
        while True:
            bench.turn()


@dataclass(slots=True)
class Bench:
    """What lies on the worker's table."""

    pipe: Connection
    scene: SceneTask | None = None
    done: set[Sight] = field(default_factory=set)
    judged: set[str] = field(default_factory=set)
    places: dict[str, Place] = field(default_factory=dict)
    pictures: list[PictureTask] = field(default_factory=list)
    asks: list[AskTask] = field(default_factory=list)
    points: list[PointTask | SunTask] = field(default_factory=list)
    hours: dict[str, HourTask] = field(default_factory=dict)
    hour_at_s: float = 0.0
    days: dict[Sight, tuple[tuple[Any, ...], dict[str, Any]]] = field(default_factory=dict)
    dayless: set[Sight] = field(default_factory=set)
    grab: GrabTask | None = None
    rested: SceneTask | None = None
    cancelled: set[str] = field(default_factory=set)
    asked: AskTask | None = None
    sent: set[str] = field(default_factory=set)

    def turn(self) -> None:
        """The most pressing piece of work, or a wait for one."""
        self.read(wait_s=0.0)
        if self.points:
            self._answer(self.points.pop(0))
        elif (sight := self.undone()) is not None:
            self._trace(sight)
        elif self.hours:
            self._hour(self.hours.pop(next(iter(self.hours))))
        elif self.grab is not None:
            task, self.grab = self.grab, None
            make_ready(self.places.get(task.plan), task.name)
        elif self.asks and not self.is_held:
            make_answer(self, self.asks.pop(0))
        elif self.pictures:
            make_picture(self, self.pictures.pop(0))
        else:
            if self.scene is not self.rested:
                self.rested = self.scene
                self.tell(Told("idle", {}))
            self._at_leisure()

    def _at_leisure(self) -> None:
        """What nobody waits for just now: days, once no hour is being dragged; or a wait.

        Questions that a hand holds up hold up days too, which would give way to them at once.
        """
        quiet_s = self.hour_at_s + _QUIET_S - time.monotonic()
        if not self.dayless or self.asks:
            self.read(wait_s=None)
        elif quiet_s > 0.0:
            self.read(wait_s=quiet_s)
        else:
            self._day(min(self.dayless, key=lambda one: one.name))

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
                # Hours of the scene before; what was let go is told all the same.
                self.hours = {w: one for w, one in self.hours.items() if one.at is None}
                self.done.clear()
                self.judged.clear()
            case GrabTask():
                self.grab = task
            case PointTask() | SunTask():
                self.points.append(task)
            case HourTask():
                self.hours[task.window] = task
            case PictureTask():
                self.pictures.append(task)
            case AskTask():
                drop_older(self, task)
                self.asks.append(task)
            case CancelTask(id=name):
                self.cancelled.add(name)
            case ForgetTask(keys=keys):
                self.sent.difference_update(keys)

    @property
    def is_held(self) -> bool:
        """Whether a hand moves something, whose light is not all there yet."""
        return self.scene is not None and self.scene.moving is not None

    def undone(self) -> Sight | None:
        """The first sight that is wanted and not traced yet."""
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
            if before is None:
                self._trim(sight.plan, scene)
            for shown in passes_of(scene, sight, standing, before, progress=self.check):
                self._tell(sight, standing, shown)
                self.check()
        except Superseded:
            return
        except FalloffError as error:
            self._trouble(sight.plan, [told(fault) for fault in error.faults], [])

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
                hours=hours_of(place, standing, shown.live),
            )
            self.places[sight.plan] = place
            self._next_day(place, sight)
        assert place is not None
        self._tell_light(place, sight, standing, shown)
        solution = replace(place.live.solution, stage=standing.stage)
        only = None if shown.whole else shown.sources
        place.matrix = readings_matrix(solution, shown.probes(), only=only, before=place.matrix)
        parts = {"sight": sight.name, "pass": shown.told, "matrix": place.matrix}
        self.tell(Told("meter", parts))

    def _tell_light(
        self,
        place: Place,
        sight: Sight,
        standing: Standing,
        shown: Shown,
        *,
        more: dict[str, Any] | None = None,
        apart: bool = True,
    ) -> None:
        """more: what is told with it, of a light that is for one window; apart: its direct too."""
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
            bounced = shown.bounced[n] if more else self._bounced(place, sight, s, n, shown)
            layers[names[s]] = {"sum": stored(direct + bounced)}
            if apart:
                layers[names[s]]["direct"] = stored(direct)
        height, width = shown.direct.shape[1:3]
        moving = self.scene.moving if self.scene else None
        parts: dict[str, Any] = {
            "sight": sight.name,
            "pass": shown.told,
            "size": [int(width), int(height)],
            "layers": layers,
            "whole": shown.whole,
            "pending": [] if shown.whole or more else [name for name in names if name != moving],
            "colours": {
                one.name: [float(value) for value in one.colour]
                for one in standing.stage.sources
                if one.kind in {SKY, SUN}
            },
            **(more or {}),
        }
        if shown.ground is not None:
            parts["ground"] = stored(shown.ground)
        self.tell(Told("light", parts, tuple(contents)))

    # Hours -------------------------------------------------------------------------------

    def _hour(self, task: HourTask) -> None:
        """A place's daylight at the hour that a hand drags, or a word that it has let go."""
        sight, more = task.sight, {"window": task.window}
        place = self.places.get(sight.plan)
        if task.at is None:
            self.tell(Told("light", {"sight": sight.name, **more, "back": True}))
        elif place is not None and place.hours is not None and place.hours.ready(sight.camera):
            try:
                shown = place.hours.glance(sight.camera, datetime.fromisoformat(task.at))
            except FalloffError:
                return  # told when the hour is let go there
            self._tell_light(place, sight, place.standing, shown, more=more, apart=task.direct)
            solution, only = place.live.solution, shown.sources
            matrix = readings_matrix(solution, shown.probes(), only=only, before=place.matrix)
            parts = {"sight": sight.name, "pass": shown.told, "matrix": matrix, **more}
            self.tell(Told("meter", parts))
        self.hour_at_s = time.monotonic()

    def _next_day(self, place: Place, sight: Sight) -> None:
        """A new light is there: its day is wanted, once there is leisure."""
        self.dayless.discard(sight)
        if place.hours is not None and place.hours.ready(sight.camera):
            full = place.live.views[sight.camera].full
            if full is not None and full.trace is not None:
                self.dayless.add(sight)

    def _day(self, sight: Sight) -> None:
        """The day of a sight that is looked at, unless something else comes up meanwhile."""
        place = self.places.get(sight.plan)
        wanted = self.scene is not None and sight in self.scene.wanted
        if not wanted or place is None or place.hours is None:
            self.dayless.discard(sight)
            return
        fields = day_fields(place.standing.document, sight)
        known = self.days.get(sight)
        try:
            if known is None or known[0] != fields:
                known = (fields, place.hours.day(sight, self._unpressed))
                self.days[sight] = known
            place.hours.taken(sight.camera)  # a hand may drag the hour next
        except Superseded:
            return
        except FalloffError:
            self.dayless.discard(sight)
            return
        self.dayless.discard(sight)
        self.tell(Told("day", {"sight": sight.name, "day": known[1]}))

    def _unpressed(self) -> None:
        """Raise Superseded where anything waits for the worker."""
        self.check()
        if self.hours or self.points or self.pictures or self.asks or self.grab is not None:
            raise Superseded

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

    def _answer(self, task: PointTask | SunTask) -> None:
        if isinstance(task, SunTask):
            self._answer_sun(task)
            return
        place = self.places.get(task.sight.plan)
        point = None if place is None else point_at(place.live, task.sight.camera, task.x, task.y)
        parts: dict[str, Any] = {"id": task.id, "point": point}
        if point is None:
            parts["why"] = "there is no surface there, or the picture is still being traced"
        self.tell(Told("reply", parts))

    def _answer_sun(self, task: SunTask) -> None:
        place = self.places.get(task.plan)
        hours = None if place is None else place.hours
        parts: dict[str, Any] = {"id": task.id, "sun": None}
        if hours is None:
            parts["why"] = "the light is still being traced"
        else:
            try:
                parts["sun"] = patches_told(hours.sun(datetime.fromisoformat(task.at)))
            except FalloffError as error:
                parts["why"] = " ".join(fault.sentence() for fault in error.faults)
        self.tell(Told("reply", parts))
