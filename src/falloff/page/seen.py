"""What is seen of a scene: layers and readings from the worker, told to whoever looks at them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

import msgspec

from falloff.document import SceneDocument, arranged
from falloff.errors import FalloffError
from falloff.page.asking import ASKS, look_into, task_of
from falloff.page.foreman import Foreman
from falloff.page.hour_changes import instant_at
from falloff.page.judged import judged_in
from falloff.page.kept_light import KeptLight, light_fields, light_key
from falloff.page.tasks import (
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
from falloff.page.told import cannot, sentences
from falloff.page.windows import Message, Window
from falloff.page.worktop import Worktop
from falloff.readings import ReadingsMatrix

_WIDEST_PX = 1920


@dataclass(slots=True)
class Seen:
    """The light of every sight that was looked at, and the worker that makes it.

    old_days: sights whose day is of an earlier state.
    """

    top: Worktop
    width: int
    kept: KeptLight = field(default_factory=KeptLight)
    lights: dict[str, Message] = field(default_factory=dict)
    matrices: dict[str, ReadingsMatrix] = field(default_factory=dict)
    troubles: dict[str, Message] = field(default_factory=dict)
    days: dict[str, Message] = field(default_factory=dict)
    old_days: set[str] = field(default_factory=set)
    _foreman: Foreman | None = None
    _given: tuple[Any, ...] = ()
    _generation: int = 0
    _jobs: dict[str, tuple[Window, str]] = field(default_factory=dict)

    def start(self) -> None:
        """Start the worker; needs a running event loop."""
        self._show_kept()
        self._foreman = Foreman(self._hear, self._lost)
        self._foreman.start()
        self.follow()

    def close(self) -> None:
        """End the worker."""
        if self._foreman is not None:
            self._foreman.close()

    # The scene to the worker -------------------------------------------------------------

    def follow(self) -> None:
        """Give the worker the scene as it is now, if anything that light hangs on is another."""
        if self._foreman is None:
            return
        wanted = self._wanted()
        try:
            standing = {one.plan: arranged(self.top.document, one.plan) for one in wanted}
        except (FalloffError, KeyError) as error:
            self.top.tell_all(trouble(None, sentences(error)), about="trouble")
            return
        given = (wanted, self.top.moving, {k: light_fields(one) for k, one in standing.items()})
        if given == self._given:
            return
        self._given = given
        self._generation += 1
        self.old_days.update(self.days)
        self.top.idle = False
        self.top.tell_all({"t": "idle", "is": False}, about="idle")
        if self.top.moving is None:
            names = {name for one in wanted for name in self.top.setups_of(one.name)}
            for setup in sorted(names & set(self.lights_shown())):
                self.top.tell_all({"t": "stale", "setup": setup}, about=("stale", setup))
        self._foreman.give(
            SceneTask(self._generation, standing, wanted, self.width, self.top.moving)
        )

    def lights_shown(self) -> list[str]:
        """The setups whose light is known, of this state or of an earlier one."""
        return [one for sight in self.lights for one in self.top.setups_of(sight)]

    def _wanted(self) -> tuple[Sight, ...]:
        """What the windows look at, then what they have beside it."""
        setups = self.top.tree["setups"]
        names = [window.setup for window in self.top.windows if window.setup is not None]
        names += [one for window in self.top.windows for one in window.beside]
        known = [self.top.sight_of(name) for name in names if name in setups]
        if not known:
            known = [self.top.sight_of(name) for name in list(setups)[:1]]
        return tuple(dict.fromkeys(known))

    def _show_kept(self) -> None:
        """Layers of this very scene from an earlier time: the first picture is there at once."""
        for setup in list(self.top.tree["setups"])[:1]:
            sight = self.top.sight_of(setup)
            found = self.kept.read(self._light_key(sight), self.top.stored)
            if found is not None:
                self.lights[sight.name], self.matrices[sight.name] = found

    def _light_key(self, sight: Sight) -> str:
        return light_key(arranged(self.top.document, sight.plan), sight.camera, self.width)

    # From the worker ---------------------------------------------------------------------

    def _hear(self, told: Told) -> None:
        self._store(told.contents)
        parts = told.parts
        if "window" in parts:
            self._hear_hour(told.kind, parts)
            return
        match told.kind:
            case "light":
                self._hear_light(parts)
            case "meter":
                self.matrices[parts["sight"]] = parts["matrix"]
                for setup in self.top.setups_of(parts["sight"]):
                    self.top.tell_all(self._meter(setup, parts["pass"]), about=("meter", setup))
                    self._answer(setup)
                self._keep(parts["sight"])
            case "trouble":
                self._hear_trouble(parts)
            case "day":
                self.days[parts["sight"]] = parts["day"]
                self.old_days.discard(parts["sight"])
                for setup in self.top.setups_of(parts["sight"]):
                    self.top.tell_all(self._day(setup), about=("day", setup))
            case "idle":
                self.top.idle = True
                self.top.tell_all({"t": "idle", "is": True}, about="idle")
            case "reply" | "job":
                self._hear_reply(told.kind, parts)

    def _store(self, contents: tuple[tuple[str, bytes], ...]) -> None:
        """Keep what came along; what goes for it the worker has to send again, should it recur."""
        for key, content in contents:
            kind = "image/png" if content[:4] == b"\x89PNG" else "application/octet-stream"
            self.top.stored.put(content, key=key, kind=kind)
        if self.top.stored.dropped:
            self._give(ForgetTask(tuple(self.top.stored.dropped)))
            self.top.stored.dropped.clear()

    def _hear_light(self, parts: Message) -> None:
        sight = parts["sight"]
        known = self.lights.get(sight)
        message = {key: value for key, value in parts.items() if key != "sight"}
        if parts["whole"]:
            self.lights[sight] = message
        elif known is not None:
            sizes = {**known.get("sizes", {}), **dict.fromkeys(parts["layers"], parts["size"])}
            layers = {**known["layers"], **parts["layers"]}
            pending = parts["pending"]
            self.lights[sight] = {**known, "layers": layers, "sizes": sizes, "pending": pending}
        for setup in self.top.setups_of(sight):
            about = ("light", setup) if parts["whole"] else ("light", setup, *parts["layers"])
            self.top.tell_all({"t": "light", "setup": setup, **message}, about=about)

    def _hear_trouble(self, parts: Message) -> None:
        findings = [msgspec.to_builtins(one) for one in parts["findings"]]
        self.troubles[parts["plan"]] = trouble(None, parts["faults"], findings)
        for setup, one in self.top.tree["setups"].items():
            if one["plan"] == parts["plan"]:
                message = {**self.troubles[parts["plan"]], "setup": setup}
                self.top.tell_all(message, about=("trouble", setup))

    def _hear_hour(self, kind: str, parts: Message) -> None:
        """Light of an hour that a hand drags: for its window alone, and kept nowhere."""
        window = next((one for one in self.top.windows if one.name == parts["window"]), None)
        if window is None:
            return
        told = {key: value for key, value in parts.items() if key not in {"window", "sight"}}
        for setup in self.top.setups_of(parts["sight"]):
            if "back" in parts:
                self.tell(window, setup)
            elif kind == "light":
                message = {"t": "light", "setup": setup, **told}
                window.post(message, about=("light", setup, *told["layers"]))
            else:
                message = self._meter(setup, parts["pass"], parts["matrix"])
                window.post(message, about=("meter", setup))

    def _keep(self, sight: str) -> None:
        """A full picture of the scene as it is now is kept for the next time it is opened."""
        light, matrix = self.lights.get(sight), self.matrices.get(sight)
        if light is None or matrix is None or self.top.moving is not None:
            return
        done = light.get("pass") == "full" and not light["pending"] and not light.get("sizes")
        plan, _, camera = sight.partition("|")
        if done and "ground" in light and plan in self.top.document.setups:
            key = self._light_key(Sight(plan, camera))
            self.kept.write(key, light, matrix, stored=self.top.stored)

    def _lost(self, why: str) -> None:
        """The worker stopped: whoever waits for something that it had in hand is told."""
        for window, own in self._jobs.values():
            window.post({"t": "job", "id": own, "ended": "failed", "why": why})
        self._jobs.clear()
        self.top.tell_all({"t": "notice", "says": why}, about="notice")

    # To the windows ----------------------------------------------------------------------

    def tell(self, window: Window, setup: str) -> None:
        """What is known of a setup's light, for a window that has just opened."""
        sight = self.top.sight_of(setup)
        light = self.lights.get(sight.name)
        if light is not None:
            window.post({"t": "light", "setup": setup, **light}, about=("light", setup))
        if sight.name in self.matrices:
            window.post(self._meter(setup, "full"), about=("meter", setup))
            answer = self._answer_of(setup)
            if answer is not None:
                window.post(answer, about=("answer", setup))
        if sight.name in self.days:
            window.post(self._day(setup), about=("day", setup))
        known = self.troubles.get(sight.plan)
        if known is not None:
            window.post({**known, "setup": setup}, about=("trouble", setup))

    def answer_all(self) -> None:
        """The sentences of every setup that a window shows, anew."""
        looked = {window.setup for window in self.top.windows} & set(self.top.tree["setups"])
        for setup in sorted(name for name in looked if name is not None):
            self._answer(setup)

    def _answer(self, setup: str) -> None:
        answer = self._answer_of(setup)
        if answer is not None:
            self.top.tell_all(answer, about=("answer", setup))

    def _answer_of(self, setup: str) -> Message | None:
        told = self.told_of(setup, self.top.document)
        return {"t": "answer", "setup": setup, **told} if told else None

    def told_of(self, setup: str, document: SceneDocument) -> Message:
        """A setup's sentences, and whether targets hold that a window cannot judge.

        document: the scene as it is, or with dims and exposure that are only looked at. Empty
        while nothing is metered, or where the matrix is of an earlier state: the next one follows.
        """
        sight = self.top.sight_of(setup).name
        matrix = self.matrices.get(sight)
        if matrix is None:
            return {}
        daylight = self.lights.get(sight, {}).get("colours", {})
        try:
            return judged_in(
                document,
                setup,
                matrix,
                written=self.top.document,
                sources=self.top.tree["sources"],
                daylight=daylight,
            )
        except (FalloffError, KeyError):
            return {}

    def _day(self, setup: str) -> Message:
        sight = self.top.sight_of(setup).name
        stale = sight in self.old_days
        return {"t": "day", "setup": setup, "day": self.days[sight], "stale": stale}

    def _meter(self, setup: str, told: str, matrix: ReadingsMatrix | None = None) -> Message:
        """matrix: of another hour than the setup's, where a hand drags it."""
        matrix = matrix or self.matrices[self.top.sight_of(setup).name]
        softness: dict[str, dict[str, Any]] = {}
        for one in matrix.softness:
            softness.setdefault(one.source, {})[one.subject] = {
                "across_deg": round(math.degrees(one.across_rad), 2),
                "upward_deg": round(math.degrees(one.upward_rad), 2),
                "distance_m": round(one.distance_m, 3),
            }
        camera = self.top.tree["setups"][setup]["camera"]
        mine = [k for k, one in enumerate(matrix.readings) if one.view in {None, camera}]
        meter = {
            "sources": matrix.sources,
            "readings": [msgspec.to_builtins(matrix.readings[k]) for k in mine],
            "direct": [[row[k] for k in mine] for row in matrix.direct],
            "bounced": [[row[k] for k in mine] for row in matrix.bounced],
            "surfaces": [[row[k] for k in mine] for row in matrix.shares],
            "softness": softness,
        }
        return {"t": "meter", "setup": setup, "pass": told, "meter": meter}

    # Asking and jobs ---------------------------------------------------------------------

    def ask(self, window: Window, message: Message) -> None:
        """What a place in the frame is, or where the sun falls."""
        name = self._job_name(window, message)
        sight = self.top.sight_of(str(message["setup"]))
        if message["what"] == "sun":
            at = instant_at(self.top.document, str(message["setup"]), message.get("at"))
            self._give(SunTask(name, sight.plan, at.isoformat()))
            return
        self._give(PointTask(name, sight, float(message["x"]), float(message["y"])))

    def job(self, window: Window, message: Message) -> None:
        """A finished picture of the scene now or of an earlier step, or a question to the light."""
        if message["what"] in ASKS:
            name = self._job_name(window, message)
            self._give(task_of(self.top, window, message, name))
            return
        setup = str(message["setup"])
        earlier = message["what"] == "earlier"
        kind: Literal["earlier", "full"] = "earlier" if earlier else "full"
        document = self._document_at(message) if earlier else self.top.document
        if setup not in document.setups:
            raise cannot(f"there was no setup {setup} then", "choose a later state")
        standing = arranged(document, setup)
        sight = Sight(self.top.sight_of(setup).plan, document.setups[setup].camera)
        width = min(max(int(message.get("width") or self.width), 160), _WIDEST_PX)
        name = self._job_name(window, message)
        self._give(PictureTask(name, kind, standing, sight, setup, width))

    def grab(self, window: Window, message: Message) -> None:
        """A hand has chosen something, which it may drag soon."""
        if window.setup is not None and window.setup in self.top.tree["setups"]:
            self._give(GrabTask(self.top.sight_of(window.setup).plan, str(message["name"])))

    def hour(self, window: Window, message: Message) -> None:
        """A hand drags the hour of a setup, or has let it go where it was; no edit."""
        setup, at = str(message["setup"]), message.get("at")
        when = None if at is None else instant_at(self.top.document, setup, at).isoformat()
        direct = bool(message.get("direct"))
        self._give(HourTask(window.name, self.top.sight_of(setup), when, direct))

    def cancel(self, window: Window, message: Message) -> None:
        """A picture is no longer wanted."""
        self._give(CancelTask(f"{window.name}:{message['id']}"))

    def _document_at(self, message: Message) -> SceneDocument:
        steps = self.top.history.steps
        return steps[min(max(0, int(message["step"])), len(steps) - 1)].document

    def _job_name(self, window: Window, message: Message) -> str:
        name = f"{window.name}:{message['id']}"
        self._jobs[name] = (window, message["id"])
        return name

    def _give(self, task: Task) -> None:
        if self._foreman is not None:
            self._foreman.give(task)

    def _hear_reply(self, kind: str, parts: Message) -> None:
        found = self._jobs.get(parts["id"])
        if found is None:
            return
        window, own = found
        if "answer" in parts:
            look_into(self.top, parts["answer"], self.told_of)
        window.post({"t": kind, **parts, "id": own})
        if kind == "reply" or "ended" in parts:
            del self._jobs[parts["id"]]


def trouble(setup: str | None, faults: list[str], findings: list[Any] | None = None) -> Message:
    """What cannot stand as it is, and what a person should know."""
    return {"t": "trouble", "setup": setup, "faults": faults, "findings": findings or []}
