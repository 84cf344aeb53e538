"""A window that is too bright: what its glass takes now, and by when the outside has fallen."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from falloff.balance.why.cures import Cure
from falloff.balance.why.light import Measure, scaled
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.words import Telling, amount
from falloff.document import Blind, Curtain, Sheer, Skylight, Window, WindowGel, instant_of
from falloff.stage import skies_by_hour
from falloff.units import stops_from_factor

_STEP: Final = timedelta(minutes=30)
_STEPS: Final = 24
_WAIT: Final = 6.0  # what waiting costs, as in `why_cures`
_TOLD_STOPS: Final = 0.1


def glass_text(traced: TracedSetup, name: str) -> str:
    """What the glass and what hangs in a window take of the view, "" where nothing is there."""
    opening = traced.document.openings.get(name)
    if not isinstance(opening, Window | Skylight):
        return ""
    parts = []
    loss = -float(stops_from_factor(opening.glass)) if opening.glass > 0.0 else 0.0
    if loss >= _TOLD_STOPS:
        parts.append(f"its glass takes {amount(loss)}")
    for one in opening.dressing:
        if isinstance(one, WindowGel):
            parts.append(f"its gel takes {amount(one.loss.si)}")
        elif isinstance(one, Sheer):
            parts.append("a sheer hangs in it")
        elif isinstance(one, Blind):
            parts.append("a blind hangs in it")
        elif isinstance(one, Curtain):
            parts.append("a curtain hangs in it")
    return " and ".join(parts) if parts else "nothing hangs in it, and it has no gel"


def later(
    traced: TracedSetup, name: str, measure: Measure, telling: Telling, wanted_stops: float
) -> Cure | None:
    """The hour by which the outside has fallen so far; None where the scene has no hour of a day.

    By the light on the window's outside, in half hours; the face loses what it has of the window.
    """
    now = instant_of(traced.document)
    sky = traced.document.sky
    if now is None or sky is None:
        return None
    at = skies_by_hour(traced.document)
    today = {one.name: one.flux_lm for one in at(now, None).sources}
    if today.get(name, 0.0) <= 0.0:
        return None
    before = measure.stops()
    for step in range(1, _STEPS + 1):
        moment = now + step * _STEP
        flux = {one.name: one.flux_lm for one in at(moment, None).sources}
        weigh = scaled(name, flux.get(name, 0.0) / today[name])
        stops = measure.stops(weigh)
        if stops <= wanted_stops:
            says = f"wait until {moment:%H:%M}, under the same sky: {telling.would(stops)}"
            return Cure(says, before - stops, _WAIT)
    return None
