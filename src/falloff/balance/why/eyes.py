"""Eyes that are too dark: what the brow takes, how high the key stands, whether an eye light is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.why.answers import Limit, Question
from falloff.balance.why.causes import TOLD_STOPS, leader_of
from falloff.balance.why.cures import Cure, eye_light_lux
from falloff.balance.why.light import Given, Lit, Measure
from falloff.balance.why.places import wall_words
from falloff.balance.why.rays import NEAR
from falloff.balance.why.records import Cause
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.words import Telling
from falloff.transport.direct import middle_of
from falloff.types import Float64Array
from falloff.units import format_illuminance

# Common practice, no source.
EYES_STOPS: Final = -1.0  # under brow and cheek
_HIGH_RAD: Final = math.radians(40.0)  # a key that stands higher leaves eyes in shadow
_LOWERED_RAD: Final = math.radians(25.0)
_EYE_LIGHT_RAD: Final = math.radians(20.0)  # an eye light stands no higher
_EYE_LIGHT_SHARE: Final = 0.1
_GRAZING: Final = 0.05  # cosine from where a light's level elsewhere cannot be told
_CARD, _LOWER = 2.0, 2.0  # what they cost, as in `why_cures`


def eye_question(traced: TracedSetup, person: str) -> Question:
    """The eyes of a face over its brow and key side."""
    over = tuple(traced.place(f"{person}.eye_{side}") for side in ("left", "right"))
    under = tuple(traced.place(f"{person}.{spot}") for spot in ("forehead", "cheek_key"))
    telling = Telling(f"{person}'s eyes", "brow and cheek", plural=True, walls=wall_words(traced))
    more: list[Cause] = []
    cures: list[Cure] = []
    known = traced.known(leader_of(under[1]), *over)
    measure = Measure(*(tuple(_brow_apart(lit) for lit in part) for part in (over, under)))
    eyes = _Eyes(traced, person, measure, telling, more, cures)
    if not measure.dark:
        for source in measure.sources:
            eyes.add_high(source)
        eyes.add_eye_light()
    return Question(
        complaint=f"{person}'s eyes dark",
        setup=traced.setup.name,
        measure=measure,
        telling=telling,
        high=False,
        limit=Limit(EYES_STOPS, "the stop under the brow that eyes can bear"),
        known=known,
        handles=traced.handles,
        black=traced.with_black,
        face=under[1],
        more=tuple(more),
        cures=tuple(cures),
    )


def way_to(traced: TracedSetup, source: str, person: str) -> tuple[Float64Array, float]:
    """The unit way from a face to the middle of a source, and how high that stands (rad)."""
    face = traced.stage.subjects[person].points["face"]
    middle, _ = middle_of(traced.stage.sources[traced.layers.names.index(source)])
    way = middle.astype(np.float64) - face
    way /= np.linalg.norm(way)
    return way, math.asin(float(np.clip(way[2], -1.0, 1.0)))


def _brow_apart(lit: Lit) -> Lit:
    """A place of which what the brow takes is left to be told with how high a light stands."""
    return replace(lit, given=tuple(replace(one, bare=None) for one in lit.given))


def _turned(
    traced: TracedSetup, lit: Lit, source: str, way: Float64Array, lower: Float64Array
) -> Lit:
    """A place's light were a source seen from another way at the same distance, unhindered."""
    normal = traced.probes[lit.name].normal
    now, then = float(normal @ way), max(0.0, float(normal @ lower))

    unhindered = traced.place(lit.name).of(source).bare

    def turn(one: Given) -> Given:
        if one.source != source or unhindered is None or now < _GRAZING:
            return one
        return replace(one, direct=unhindered * then / now)

    return replace(lit, given=tuple(turn(one) for one in lit.given))


@dataclass(frozen=True, slots=True)
class _Eyes:
    """Looks for what is usual with eyes; finds go to `more` and `cures`."""

    traced: TracedSetup
    person: str
    measure: Measure
    telling: Telling
    more: list[Cause]
    cures: list[Cure]

    def add_high(self, source: str) -> None:
        """A source so high that brow and cosine keep it from the eyes; as it would be lower."""
        traced, measure, telling = self.traced, self.measure, self.telling
        kind = traced.stage.sources[traced.layers.names.index(source)].kind
        way, rise = way_to(traced, source, self.person)
        if kind not in NEAR or rise < _HIGH_RAD:
            return
        flat = way * (1.0, 1.0, 0.0)
        flat /= max(1e-9, float(np.linalg.norm(flat)))
        lower = math.cos(_LOWERED_RAD) * flat + math.sin(_LOWERED_RAD) * np.array([0.0, 0.0, 1.0])
        changed = Measure(
            tuple(_turned(traced, lit, source, way, lower) for lit in measure.over),
            tuple(_turned(traced, lit, source, way, lower) for lit in measure.under),
        )
        stops = changed.stops()
        gain = stops - measure.stops()
        if gain < TOLD_STOPS:
            return
        eyes = [traced.place(lit.name).of(source) for lit in measure.over]
        unhindered = sum(one.bare or one.direct for one in eyes)
        shade = sum(one.direct for one in eyes) / unhindered if unhindered > 0.0 else 1.0
        brow = f", and the brow takes {100.0 * (1.0 - shade):.0f} % of it" if shade < 0.95 else ""
        says = (
            f"{source} stands {math.degrees(rise):.0f}° above the eyes{brow}: as low as "
            f"{math.degrees(_LOWERED_RAD):.0f}° {telling.would(stops)} (by its angle alone)"
        )
        self.more.append(
            Cause(
                says=says, brief=f"{source} too high", stops=gain, source=source, first_order=True
            )
        )
        cure = f"lower {source} to some {math.degrees(_LOWERED_RAD):.0f}° above the eyes: "
        self.cures.append(Cure(cure + telling.would(stops), gain, _LOWER))

    def add_eye_light(self) -> None:
        """Whether anything lights the eyes from low in front, and what light there would do."""
        traced, measure = self.traced, self.measure
        share = 0.0
        whole = sum(lit.light for lit in measure.over)
        for source in measure.sources:
            way, rise = way_to(traced, source, self.person)
            ahead = float(way @ traced.stage.subjects[self.person].facing) > 0.5
            if ahead and rise <= _EYE_LIGHT_RAD:
                share += sum(lit.of(source).direct for lit in measure.over) / whole
        if share >= _EYE_LIGHT_SHARE or measure.stops() >= EYES_STOPS:
            return
        lux = eye_light_lux(measure, EYES_STOPS)
        gain = EYES_STOPS - measure.stops()
        told = format_illuminance(lux, units=traced.document.units)
        self.more.append(
            Cause(
                says=f"nothing lights the eyes from low in front: {told} from there would do",
                brief="no eye light",
                stops=gain,
            )
        )
        self.cures.append(eye_light_cure(measure, self.telling, told))


def eye_light_cure(measure: Measure, telling: Telling, told: str) -> Cure:
    """Light on eyes and brow alike that brings them there; told: its level in words."""
    says = f"an eye light or a white card low in front, {told} at the face: "
    return Cure(says + telling.would(EYES_STOPS), EYES_STOPS - measure.stops(), _CARD)
