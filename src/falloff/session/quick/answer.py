"""quick start: answers to a plan, an ordered list of what was taken for granted, a scene file."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from falloff.layers import warm_up
from falloff.readings import Reading
from falloff.session.quick.advise import Advice, advise
from falloff.session.quick.ask import read_plan
from falloff.session.quick.assume import Worth, worths
from falloff.session.quick.measure import Figures, Measured, measure, share_of
from falloff.session.quick.plan import Plan, Situation, System
from falloff.session.quick.write import scene_text
from falloff.units import format_illuminance, format_stops_thirds

_THIRDS = ("", "⅓", "⅔")
_MARKS = ("1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32")
_SAME_STOPS = 1.0 / 6.0


class QuickAnswer(msgspec.Struct, frozen=True, kw_only=True):
    """What a quick start says: sentences, the figures behind them, and each assumption's worth.

    stop_at_face: the stop at which the key side would be at key (a T- or f-number); amps: None
    where no fixture is brought; scene: the text of the scene file.
    """

    situation: Situation
    exposure: str
    sentences: tuple[str, ...]
    stop_at_face: float
    figures: Figures
    amps: float | None
    advice: Advice
    worths: tuple[Worth, ...]
    scene: str


def quick_answer(situation: Situation, system: System, answers: Mapping[str, str]) -> QuickAnswer:
    """Answer a quick start's questions by tracing its scene; no file is written.

    Raises DocumentError with a fault for each answer that cannot be read or does not fit.
    """
    plan = read_plan(situation, system, answers)
    warm_up()
    base = measure(plan)
    given = {name for name, said in answers.items() if said.strip()}
    if " at " in answers.get("key", ""):
        given.add("place")
    return _told(base, advise(base), worths(base, given))


def _told(base: Measured, advice: Advice, weighed: tuple[Worth, ...]) -> QuickAnswer:
    plan = base.plan
    return QuickAnswer(
        situation=plan.situation,
        exposure=base.readings.exposure,
        sentences=tuple(_sentences(base, advice)),
        stop_at_face=_stop_at_face(plan, base.figures),
        figures=base.figures,
        amps=amps_of(plan),
        advice=advice,
        worths=weighed,
        scene=scene_text(plan),
    )


def amps_of(plan: Plan) -> float | None:
    """What the key draws from the supply (A), its power factor counted; None without a key."""
    if plan.key is None:
        return None
    return plan.key.power_w / (plan.supply_volts * plan.key.power_factor)


def stop_text(number: float, letter: str = "T") -> str:
    """A stop to the nearest third, as marked on a lens: "T2.8", "T4⅓"."""
    thirds = round(6.0 * math.log2(number)) if number > 0.0 else 0
    whole, rest = divmod(thirds, 3)
    inside = 0 <= whole < len(_MARKS)
    mark = _MARKS[whole] if inside else f"{2.0 ** (whole / 2.0):.2g}"
    return f"{letter}{mark}{_THIRDS[rest]}"


def _stop_at_face(plan: Plan, figures: Figures) -> float:
    """The stop at which the face's key side would read at key, all else as asked."""
    return float(plan.t_number * 2.0 ** (0.5 * max(-12.0, figures.face_over_key)))


def _sentences(base: Measured, advice: Advice) -> list[str]:
    """Face, ratio, window, wall, amps, and what to change first: one sentence each."""
    plan, figures = base.plan, base.figures
    named = {reading.name: reading for reading in base.readings.readings}
    said = [_face_sentence(base, named["key cheek"])]
    said.append(_ratio_sentence(figures, named["shadow cheek"]))
    if figures.other_face is not None:
        over = format_stops_thirds(figures.other_face, reference="the same level")
        said.append(f"The second face's key side is {_against(over)} the first's.")
    if figures.window_over_face is not None:
        said.append(_window_sentence(figures))
    if figures.wall_over_key is not None:
        level = format_stops_thirds(figures.wall_over_key)
        said.append(f"The wall behind lands {level} in the picture.")
    said.append(_power_sentence(plan))
    said.append(_advice_sentence(advice, figures))
    return said


def _face_sentence(base: Measured, cheek: Reading) -> str:
    plan, figures = base.plan, base.figures
    letter = "f/" if plan.stop_text.lower().startswith("f") else "T"
    level = format_illuminance(figures.face_lux, units=plan.units)
    at = stop_text(_stop_at_face(plan, figures), letter)
    text = f"The face's key side reads {at} ({level})"
    over = format_stops_thirds(figures.face_over_key, reference="exactly the stop you asked for")
    if abs(figures.face_over_key) >= _SAME_STOPS:
        over += f" {stop_text(plan.t_number, letter)}" if "stop you" not in over else ""
    text += f": {over}."
    shares = [
        f"{_who(name)} gives {100 * share_of(cheek, name):.0f} %"
        for name in sorted(base.readings.sources, key=lambda name: -share_of(cheek, name))
        if share_of(cheek, name) >= 0.02
    ]
    return f"{text} Of that {' and '.join(shares)}." if len(shares) > 1 else text


def _ratio_sentence(figures: Figures, shadow: Reading) -> str:
    ratio = 2.0**figures.ratio_stops
    under = format_stops_thirds(-figures.ratio_stops, reference="the same level")
    text = (
        f"Key side to shadow side is {_ratio(ratio)}:1 (key and fill to fill), the shadow side "
        f"{_against(under)} the key side"
    )
    bounced = shadow.bounced / shadow.value if shadow.value > 0.0 else 0.0
    if not shadow.bounce_from or bounced < 0.15:
        return text + "."
    surface, share = next(iter(shadow.bounce_from.items()))
    most = f"most off {_surface(surface)} ({100 * share:.0f} %)"
    return f"{text}; {100 * bounced:.0f} % of its light is bounced, {most}."


def _window_sentence(figures: Figures) -> str:
    assert figures.window_over_face is not None
    over = format_stops_thirds(figures.window_over_face, reference="the same level as")
    return f"In the picture the window is {_against(over)} the face."


def _power_sentence(plan: Plan) -> str:
    amps = amps_of(plan)
    if amps is None or plan.key is None:
        return "No fixture is brought, so nothing is drawn."
    return (
        f"The key draws {amps:.1f} A at {plan.supply_volts:g} V ({plan.key.power_w:g} W); what "
        "else hangs on that circuit counts too, and local codes and licensed people decide."
    )


def _advice_sentence(advice: Advice, before: Figures) -> str:
    if not advice.amiss:
        return "Change first: nothing; face, ratio, window and wall are all within what is usual."
    if advice.after is None:
        return f"Change first: {advice.amiss}; {advice.do}."
    return f"Change first: {advice.amiss}; {advice.do}: {_after(before, advice.after)}."


def _after(before: Figures, after: Figures) -> str:
    """What a change did, for the figures that it moved by a sixth of a stop or more."""
    told = []
    if abs(after.face_over_key - before.face_over_key) >= _SAME_STOPS:
        told.append(f"the face is then {format_stops_thirds(after.face_over_key)}")
    if abs(after.ratio_stops - before.ratio_stops) >= _SAME_STOPS:
        told.append(f"the ratio {_ratio(2.0**after.ratio_stops)}:1")
    window, wall = after.window_over_face, after.wall_over_key
    if window is not None and _moved(before.window_over_face, window):
        level = format_stops_thirds(window, reference="the same level")
        told.append(f"the window {_against(level)} the face")
    if wall is not None and _moved(before.wall_over_key, wall):
        told.append(f"the wall {format_stops_thirds(wall)}")
    return ", ".join(told) or "little else moves"


def _moved(before: float | None, after: float) -> bool:
    return before is None or abs(after - before) >= _SAME_STOPS


def _against(level: str) -> str:
    """A level in words before what it is told against: "at the same level as" for none."""
    return level.removeprefix("at ") + (" as" if level.endswith("the same level") else "")


def _ratio(ratio: float) -> str:
    return f"{ratio:.1f}".removesuffix(".0") if ratio < 20.0 else f"{ratio:.0f}"


_SURFACES = {
    "room: wall 1": "the wall behind the camera",
    "room: wall 2": "the wall camera right",
    "room: wall 3": "the wall behind the person",
    "room: wall 4": "the wall camera left",
    "room: floor": "the floor",
    "room: ceiling": "the ceiling",
}


def _surface(name: str) -> str:
    """A surface as one would point at it; a thing's own part by the thing's name."""
    return _SURFACES.get(name, name.partition(":")[0])


def _who(source: str) -> str:
    return {"KEY": "the key", "WINDOW": "the window"}.get(source, source)
