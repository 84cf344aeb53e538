"""What a shoot told of one's own kit, and its lines in NAME.kit.toml."""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from falloff.document import KitLight, SceneDocument, instant_of
from falloff.errors import DocumentError, Fault
from falloff.kit import Fixture, Modifier, OwnedItem, read_own_kit
from falloff.kit.catalogue import set_key
from falloff.record import Compared, Unknown
from falloff.session.kit.writing import write_own_kit
from falloff.stage import light_now
from falloff.stage.dims import section_of

_LEARNED: Final = 0.5  # of the variance before; less is not worth a line
_LIGHT_KEYS: Final = ("flux_lm", "axis_cd", "illuminance_lux", "illuminance_fc")


class KitLearned(msgspec.Struct, frozen=True, kw_only=True):
    """What readings say of one line of one's own kit.

    stops: over what the kit has; spread_stops: how far that may be out; sources: the lights of the
    scene that tell it; keeps: whether `--keep` writes it; says: why not, or what it is.
    """

    item: str
    stops: float
    spread_stops: float
    sources: tuple[str, ...]
    keeps: bool
    says: str


def learned_of(document: SceneDocument, found: Compared) -> tuple[KitLearned, ...]:
    """What the readings say of the lights and modifiers that are of one's own kit."""
    path = own_kit_path(document)
    if path is None:
        return ()
    owned = {one.name.lower(): one for one in read_own_kit(path).items}
    told: dict[str, list[tuple[float, float, str]]] = {}
    mixed: dict[str, str] = {}
    for unknown, one, x in zip(found.unknowns, found.corrections.corrected, found.x, strict=True):
        for item, stops, reason in _of_item(document, unknown, float(x), owned, found):
            if one.learned_share < _LEARNED:
                continue
            told.setdefault(item.name, []).append((stops, one.spread_stops, unknown.name))
            if reason:
                mixed[item.name] = reason
    return tuple(_learned(name, each, mixed.get(name, "")) for name, each in told.items())


def own_kit_path(document: SceneDocument) -> Path | None:
    """Where a scene's own kit file is; None where it names none."""
    return None if document.own_kit is None else Path(document.path).parent / document.own_kit


def kit_to_keep_in(document: SceneDocument) -> Path:
    """Where a scene's own kit file is; raises DocumentError where it names none."""
    path = own_kit_path(document)
    if path is None:
        raise DocumentError(
            Fault(
                what="the scene names no kit of your own, so nothing can be kept",
                where=document.file_name,
                expected="own_kit: mine.kit.toml",
                fix="add it to the scene, or write the corrections into it with --write",
            )
        )
    return path


def _of_item(
    document: SceneDocument, unknown: Unknown, x: float, owned: dict[str, OwnedItem],
    found: Compared,
) -> list[tuple[OwnedItem, float, str]]:  # fmt: skip
    """The kit's line that an unknown is of, stops over what the kit has, why it cannot be kept."""
    if unknown.kind == "modifier":
        line = owned.get(unknown.name.lower())
        return [] if line is None else [(line, x, "")]
    if unknown.kind != "output":
        return []
    light = document.fixtures.get(unknown.name) or document.practicals[unknown.name]
    if not isinstance(light.light, KitLight):
        return []
    line = owned.get(" ".join(light.light.kit.lower().split()))
    if line is None or not isinstance(line.item, Fixture):
        return []
    stops = x
    if light.output is not None:  # against the kit's figure, not the scene's
        section = section_of(document, unknown.name)
        lights = dict(getattr(document, section))
        lights[unknown.name] = msgspec.structs.replace(light, output=None)
        bare = msgspec.structs.replace(document, **{section: lights})
        now = light_now(document, unknown.name).flux_lm / light_now(bare, unknown.name).flux_lm
        stops += math.log2(now)
    shared = {one.name for one in found.unknowns if one.kind == "modifier"}
    own = [name for name in light.light.modifier if name not in shared or light.output is not None]
    reason = (
        f"{unknown.name} is used with {' and '.join(own)}, whose loss cannot be told apart: "
        "meter it bare to keep it"
        if own
        else ""
    )
    if line.item.photometric_file and not light.light.modifier and light.light.beam is None:
        reason = (
            f"{unknown.name} has the light of {line.item.photometric_file}: write the output in "
            "the scene"
        )
    return [(line, stops, reason)]


def _learned(name: str, each: Sequence[tuple[float, float, str]], reason: str) -> KitLearned:
    """One line told by one light, or by several that should agree."""
    weight = [1.0 / spread**2 for _, spread, _ in each]
    stops = sum(w * one[0] for w, one in zip(weight, each, strict=True)) / sum(weight)
    spread = math.sqrt(1.0 / sum(weight))
    apart = max(abs(one[0] - stops) - 2.0 * one[1] for one in each)
    sources = tuple(one[2] for one in each)
    if not reason and apart > 0.0:
        reason = f"{' and '.join(sources)} do not agree: give each a line of its own in the kit"
    says = reason or f"{stops:+.1f} stop against the kit, give or take {spread:.1f}"
    return KitLearned(item=name, stops=stops, spread_stops=spread, sources=sources,
                      keeps=not reason, says=says)  # fmt: skip


# Into the kit file -----------------------------------------------------------------------


def keep_learned(document: SceneDocument, learned: Sequence[KitLearned]) -> Path | None:
    """Write what was learned into the own kit; None where there was nothing to write.

    Each line gets measured figures: a fixture its flux (or, where its beams were measured, those),
    a modifier what its fronts pass; their spread, and the day. Raises DocumentError where the scene
    names no kit, OutputError where it cannot be written.
    """
    path = kit_to_keep_in(document)
    kept = [one for one in learned if one.keeps]
    if not kept:
        return None
    before = path.read_bytes()
    text = before.decode("utf-8-sig")
    kit = read_own_kit(path).items
    lines = {one.name: number for number, one in enumerate(kit)}
    items = {one.name: one for one in kit}
    now = instant_of(document)
    day = dt.datetime.now(tz=dt.UTC).date() if now is None else now.date()
    for one in kept:
        text = _kept(text, lines[one.item], items[one.item], one, day)
    write_own_kit(path, text, before)
    return path


def _kept(text: str, number: int, item: OwnedItem, learned: KitLearned, day: dt.date) -> str:
    factor = 2.0**learned.stops
    measured = tomllib.loads(text)["item"][number].get("measured", {})
    beams: dict[str, dict[str, Any]] = measured.get("beams", {})
    if isinstance(item.item, Modifier):
        text = _modifier(text, number, item.item, factor, measured)
    else:
        assert isinstance(item.item, Fixture)
        for name, figures in beams.items():
            for key in (key for key in _LIGHT_KEYS if key in figures):
                value = _four(figures[key] * factor)
                text = set_key(text, number, ("measured", "beams", name, key), value)
        if "flux_lm" in measured or len(beams) < len(item.item.beams):
            flux = _four(item.item.flux_lm * factor)
            text = set_key(text, number, ("measured", "flux_lm"), flux)
    spread = round(learned.spread_stops, 2)
    text = set_key(text, number, ("measured", "spread_stops"), spread)
    return set_key(text, number, ("measured", "on"), day)


def _modifier(
    text: str, number: int, item: Modifier, factor: float, measured: dict[str, Any]
) -> str:
    if "loss_stops" in measured:
        loss = round(float(measured["loss_stops"]) - math.log2(factor), 2)
        return set_key(text, number, ("measured", "loss_stops"), loss)
    for front in item.beams:
        share = min(1.0, _four(front.passes_share * factor))
        text = set_key(text, number, ("measured", "beams", front.name, "passes_share"), share)
    return text


def _four(value: float) -> float:
    return float(f"{value:.4g}")
