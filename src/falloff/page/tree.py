"""The tree that a window is told, as docs/page.md has it; what does not change stays one object."""

from __future__ import annotations

import functools
from dataclasses import dataclass, field
from typing import Any, Final

import msgspec
import numpy as np

from falloff.camera import (
    CameraSettings,
    describe_settings,
    display_matrix,
    key_illuminance_lux,
    mid_grey_luminance_nit,
)
from falloff.camera.marked import stops_of_iso, stops_of_t_number
from falloff.camera.tone_table import tone_table
from falloff.document import SceneDocument, Setup, arranged, point_names
from falloff.drawing import plan_of
from falloff.page.add import kit_choices
from falloff.page.choices import stops_of_shutter, tables
from falloff.page.hour_changes import day_of_tree
from falloff.page.sources_told import SourcesTold
from falloff.page.stored import Stored
from falloff.page.targets import measured_told, targets_told
from falloff.readings import SetupLight
from falloff.session.scene import alike, setup_light

_PLAN_FIELDS: Final = (
    "title", "units", "room", "rooms", "openings", "props", "subjects", "fixtures", "practicals",
    "grip", "cameras", "readings", "own_kit",
)  # fmt: skip


@dataclass(slots=True)
class TreeMaker:
    """Makes the tree of one document after another; stored: where the tables' bytes are put."""

    stored: Stored
    _sources: SourcesTold = field(default_factory=SourcesTold)
    _plans: dict[str, tuple[Any, dict[str, Any]]] = field(default_factory=dict)
    _last: dict[str, Any] = field(default_factory=dict)

    def tree(self, document: SceneDocument) -> dict[str, Any]:
        """The tree of a document that has been read without fault.

        Raises FalloffError where a thing cannot stand as it is written.
        """
        self._last = _kept(self._last, self._made(document))
        return self._last

    def setups(self, document: SceneDocument) -> dict[str, Any]:
        """The setups of a document that is only being looked at; raises as `tree` does."""
        found: dict[str, Any] = self._made(document)["setups"]
        return found

    def _made(self, document: SceneDocument) -> dict[str, Any]:
        standing = {name: arranged(document, name) for name in document.setups}
        groups = alike(document, tuple(document.setups))
        plan_key = {name: names[0] for names in groups for name in names}
        plans = {names[0]: self._plan(names[0], standing[names[0]]) for names in groups}
        says = {unit["name"]: unit["says"] for plan in plans.values() for unit in plan["units"]}
        sources = self._sources.of(document, lambda name: says.get(name, ""))
        setups = {
            name: self._setup(standing[name], document, name, plan_key[name], sources)
            for name in document.setups
        }
        first = next(iter(setups), None)
        readings = _readings(document)
        for name, one in setups.items():
            one["differs"] = [] if name == first or first is None else _differs(setups[first], one)
        return {
            "title": document.title,
            "file": document.file_name,
            "units": document.units,
            "tables": tables(),
            "setup_order": list(setups),
            "setups": setups,
            "source_order": list(sources),
            "sources": sources,
            "reading_order": list(readings),
            "readings": readings,
            "targets": targets_told(document),
            "measured": measured_told(document),
            "subjects": list(document.subjects),
            "cameras": list(document.cameras),
            "circuits": _circuits(document),
            "plans": plans,
            "day": day_of_tree(document),
            "kit": kit_of_tree(),
        }

    def _plan(self, key: str, standing: SceneDocument) -> dict[str, Any]:
        about = tuple(getattr(standing, part) for part in _PLAN_FIELDS)
        kept = self._plans.get(key)
        if kept is None or kept[0] != about:
            kept = (about, msgspec.to_builtins(plan_of(standing)))
            self._plans[key] = kept
        return kept[1]

    def _setup(
        self,
        standing: SceneDocument,
        document: SceneDocument,
        name: str,
        plan: str,
        sources: dict[str, dict[str, Any]],
    ) -> dict[str, Any]:
        written = document.setups[name]
        light = setup_light(standing, name)
        settings = light.settings
        tone, first = _tone(settings.highlight_stops, settings.shadow_stops)
        return {
            "camera": written.camera,
            **_settings_told(written, settings),
            "says": describe_settings(settings),
            "key": written.key,
            "key_lux": float(key_illuminance_lux(settings)),
            "grey_nit": float(mid_grey_luminance_nit(settings)),
            "matrix": [float(value) for value in display_matrix(settings).ravel()],
            "tone": self.stored.put(tone),
            "first": first,
            "highlight_stops": settings.highlight_stops,
            "shadow_stops": settings.shadow_stops,
            "dims": _dims(written, light, sources),
            "plan": plan,
            "moved": sorted(written.moved),
            "without": sorted(written.without),
            "differs": [],
        }


@functools.lru_cache(maxsize=16)
def _tone(highlight_stops: float, shadow_stops: float) -> tuple[bytes, int]:
    table, first = tone_table(highlight_stops, shadow_stops)
    return table.astype("<f4").tobytes(), int(first)


@functools.cache
def kit_of_tree() -> dict[str, Any]:
    """What can be added."""
    return dict(kit_choices())


def _settings_told(written: Setup, settings: CameraSettings) -> dict[str, Any]:
    open_share = settings.exposure_time_s * written.fps.si
    balance = written.balance
    return {
        "stop": {"text": written.stop.text, "stops": stops_of_t_number(settings.t_number)},
        "iso": {"text": f"{settings.iso:g}", "stops": stops_of_iso(settings.iso)},
        "shutter": {"text": written.shutter.text, "stops": stops_of_shutter(open_share)},
        "nd": {"text": written.nd.text, "stops": settings.nd_stops},
        "fps": written.fps.text,
        "balance": None if balance is None else {"text": balance.text, "kelvin": balance.si},
    }


def _dims(
    written: Setup, light: SetupLight, sources: dict[str, dict[str, Any]]
) -> dict[str, dict[str, Any]]:
    """Where each light's knob is, and what its white light at full is times just there."""
    told = {}
    for name, source in sources.items():
        if not source["dims"] or name in written.without:
            continue
        knob = light.knob(name)
        colour = np.array(source["gains"][-1])
        rgb = light.gains({name: colour})[name]
        told[name] = {
            "knob": knob,
            "rgb": [float(value) for value in rgb],
            "text": written.dims[name].text if name in written.dims else "100 %",
        }
    return told


def _differs(first: dict[str, Any], one: dict[str, Any]) -> list[str]:
    """What a setup has otherwise than the first one, in a few words each."""
    found = []
    if one["camera"] != first["camera"]:
        found.append(f"camera {one['camera']}")
    for key, called in (("stop", "stop"), ("iso", "ISO"), ("shutter", "shutter"), ("nd", "ND")):
        if one[key]["stops"] != first[key]["stops"]:
            said = f"{called} {one[key]['text']}".replace("stop T", "T")
            found.append(said.replace("ND ND", "ND"))
    if one["balance"] != first["balance"]:
        found.append(f"balance {one['balance']['text'] if one['balance'] else 'D65'}")
    for name, dim in one["dims"].items():
        if name in first["dims"] and dim["knob"] != first["dims"][name]["knob"]:
            found.append(f"{name} {100.0 * dim['knob']:.0f} %")
    found += [f"{name} elsewhere" for name in one["moved"] if name not in first["moved"]]
    found += [f"without {name}" for name in one["without"] if name not in first["without"]]
    return found


def _readings(document: SceneDocument) -> dict[str, dict[str, Any]]:
    """Every reading by its points, each a reading of its own for a window."""
    return {
        point: {"instrument": one.instrument, "aim": getattr(one.aim, "name", None)}
        for name, one in document.readings.items()
        for point in point_names(name, one)
    }


def _circuits(document: SceneDocument) -> dict[str, Any]:
    power = document.house_power
    if power is None:
        return {}
    return {
        name: {"breaker_a": one.breaker.si, "supply_v": power.supply.si, "sockets": one.sockets}
        for name, one in power.circuits.items()
    }


def _kept(old: Any, new: Any) -> Any:
    """The new tree with those branches of the old one that say the same."""
    if old is new:
        return old
    if isinstance(old, dict) and isinstance(new, dict):
        made = {key: _kept(old[key], value) if key in old else value for key, value in new.items()}
        same = made.keys() == old.keys() and all(made[key] is old[key] for key in made)
        return old if same and list(made) == list(old) else made
    return old if old == new else new
