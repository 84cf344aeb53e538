"""A quick start's answer in sentences: face, ratio, window, wall, amps, what to change first."""

from __future__ import annotations

import msgspec

from falloff.session.quick.advise import Advice
from falloff.session.quick.frame import window_in_frame
from falloff.session.quick.glass import in_glass
from falloff.session.quick.marks import WIDEST_LENS, ratio_text, stop_text
from falloff.session.quick.measure import Figures, Measured, share_of
from falloff.session.quick.plan import Plan
from falloff.units import format_illuminance, format_stops_thirds

_SAME_STOPS = 1.0 / 6.0
_FILL_SHARE = 0.5
_WORTH_NAMING = 0.02


class Alone(msgspec.Struct, frozen=True, kw_only=True):
    """What one source gives the face by itself, bounce and all.

    key_side_over_key: its light on the key side, incident, over key (stops; None for none at
    all); key_side_share, shadow_side_share: of all the light on that side, 0 to 1.
    """

    source: str
    key_side_over_key: float | None
    key_side_share: float
    shadow_side_share: float


def sentences(base: Measured, advice: Advice) -> list[str]:
    """One sentence for each thing that is worth saying; a single one where there is no light."""
    plan, figures = base.plan, base.figures
    if figures.face_lux <= 0.0:
        return [_dark_sentence(plan)]
    said = [_face_sentence(base), *_alone_sentences(base), _ratio_sentence(base)]
    if figures.other_face is not None:
        over = format_stops_thirds(figures.other_face, reference="the same level")
        said.append(f"RIGHT's key side is {_against(over)} LEFT's.")
    if figures.window_over_face is not None:
        said.append(_window_sentence(base))
    said.append(_wall_sentence(plan, figures))
    said.append(power_sentence(plan))
    said.append(_advice_sentence(advice, figures))
    return said


def alone(base: Measured) -> tuple[Alone, ...]:
    """Each source's own light on both sides of the face; what gives the key side most is first."""
    bright, dark = base.sides
    levels = {part.source: part.stops_over_key for part in bright.parts}
    ranked = sorted(levels, key=lambda name: -share_of(bright, name))
    return tuple(
        Alone(
            source=name,
            key_side_over_key=levels[name],
            key_side_share=share_of(bright, name),
            shadow_side_share=share_of(dark, name),
        )
        for name in ranked
    )


def amps_of(plan: Plan) -> float | None:
    """What the key draws from the supply (A), its power factor counted; None without a key."""
    if plan.key is None:
        return None
    return plan.key.power_w / (plan.supply_volts * plan.key.power_factor)


def stop_at_face(plan: Plan, figures: Figures) -> float:
    """The stop at which the face's key side would read at key, all else as asked."""
    return float(plan.t_number * 2.0 ** (0.5 * max(-12.0, figures.face_over_key)))


def power_sentence(plan: Plan) -> str:
    """What the key draws, at which supply, and what that leaves out."""
    amps = amps_of(plan)
    if amps is None or plan.key is None:
        return "No fixture is brought, so nothing is drawn."
    return (
        f"The key draws {amps:.1f} A at {plan.supply_volts:g} V, as taken here "
        f"({plan.key.power_w:g} W); what else hangs on that circuit counts too, and local codes "
        "and licensed people decide."
    )


# The face --------------------------------------------------------------------------------


def _dark_sentence(plan: Plan) -> str:
    if plan.window is None:
        why = "no window and no key"
    elif plan.dressing == "blackout":
        why = "the window is blacked out and no key is brought"
    else:
        why = "nothing comes in by the window and no key is brought"
    return f"There is no light in this scene ({why}), so there is nothing to read."


def _face_sentence(base: Measured) -> str:
    plan, figures = base.plan, base.figures
    letter = "f/" if plan.stop_text.lower().startswith("f") else "T"
    level = format_illuminance(figures.face_lux, units=plan.units)
    number = stop_at_face(plan, figures)
    at = stop_text(number, letter)
    if number < WIDEST_LENS:
        at = f"under {letter}{WIDEST_LENS:g}, wider than lenses go"
    whose = "The face's key side"
    if plan.situation == "table":
        whose = "The face is LEFT's, who sits camera left: its key side"
    over = format_stops_thirds(figures.face_over_key, reference="exactly the stop you asked for")
    if "stop you" not in over:
        over += f" {stop_text(plan.t_number, letter)}"
    return f"{whose} reads {at} ({level}): {over}."


def _alone_sentences(base: Measured) -> list[str]:
    """What key and window give alone, on both sides; said where more than one gives anything."""
    given = [one for one in alone(base) if _counts(one)]
    if len(given) < 2:
        return []
    return [_alone_sentence(given, one) for one in given]


def _counts(one: Alone) -> bool:
    return max(one.key_side_share, one.shadow_side_share) >= _WORTH_NAMING


def _alone_sentence(given: list[Alone], one: Alone) -> str:
    """One source: its level, its share of each side, and what it is to the face."""
    name = _who(one.source)
    text = f"{name.capitalize()} alone gives nothing on the key side"
    if one.key_side_over_key is not None:
        text = (
            f"{name.capitalize()} alone gives {_over(one.key_side_over_key, 'key')} on the key "
            f"side ({100 * one.key_side_share:.0f} % of it)"
        )
    text += f" and {100 * one.shadow_side_share:.0f} % of the shadow side"
    leads = one is given[0]
    if not leads and one.shadow_side_share >= _FILL_SHARE:
        text += f"; {name} is the fill"
    if leads and one.source != "KEY" and any(other.source == "KEY" for other in given):
        text += f"; {name} is the key here"
    return text + "."


def _ratio_sentence(base: Measured) -> str:
    bright, dark = base.sides
    ratio = 2.0**base.figures.ratio_stops
    under = format_stops_thirds(-base.figures.ratio_stops, reference="the same level")
    text = (
        f"Key side to shadow side is {ratio_text(ratio)} (key and fill to fill), the shadow side "
        f"{_against(under)} the key side"
    )
    if bright.name != "key cheek":
        lamp = "lamp" if base.plan.key is not None else "window"
        text += f"; the side away from the {lamp} is the brighter one and is called the key side"
    bounced = dark.bounced / dark.value if dark.value > 0.0 else 0.0
    if not dark.bounce_from or bounced < 0.15:
        return text + "."
    surface, share = next(iter(dark.bounce_from.items()))
    off = f"most off {_surface(surface)} ({100 * share:.0f} %)"
    return f"{text}; {100 * bounced:.0f} % of the shadow side's light is bounced, {off}."


# The picture -----------------------------------------------------------------------------


def _window_sentence(base: Measured) -> str:
    figures = base.figures
    assert figures.window_over_face is not None
    level = format_stops_thirds(figures.window_over_face, reference="the same level")
    over = f"{_against(level)} the face"
    lands = _over(figures.window_over_face + figures.face_in_picture, "middle grey")
    if window_in_frame(base.plan):
        text = f"In the picture (reflected) the window is {over}: it lands {lands}"
    else:
        text = (
            "The window is not in the frame; if you frame it, it is "
            f"{over} in the picture (reflected) and lands {lands}"
        )
    return f"{text}{_whose_window(base)}."


def _whose_window(base: Measured) -> str:
    """Whose light one sees in the window, where most of it does not come in by it."""
    reading = base.window
    if reading is None or reading.value <= 0.0 or share_of(reading, "WINDOW") >= 0.5:
        return ""
    most = max(reading.parts, key=lambda part: part.share)
    lit, glass = f"{_who(most.source)}'s light", in_glass(base)
    share = f"{100 * most.share:.0f} %"
    if glass is None:
        return f"; that is mostly {lit} thrown back by what hangs in it ({share})"
    own = next((one.stops_over_key for one in reading.parts if one.source == "WINDOW"), None)
    beyond = "nothing comes through it"
    if own is not None:
        beyond = f"the outside through it is {_over(own, 'middle grey')}"
    if glass.key_there:
        return f"; the key's own front stands mirrored in the glass there, and {beyond}"
    seen = f"{_surface(glass.thing)} ({lit}, {share})"
    text = f"; the glass mirrors the lit room, there {seen}: {beyond}"
    return text + ("; the key's own front stands in it too" if glass.key_seen else "")


def _wall_sentence(plan: Plan, figures: Figures) -> str:
    assert figures.wall_light_over_key is not None
    assert figures.wall_over_key is not None
    return (
        f"The wall behind gets {_over(figures.wall_light_over_key, 'key')} (incident); at "
        f"{100 * plan.wall_reflectance:.0f} % it lands "
        f"{_over(figures.wall_over_key, 'middle grey')} in the picture (reflected)."
    )


# The first change ------------------------------------------------------------------------


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
        told.append(f"the face is then {_over(after.face_over_key, 'key')}")
    if abs(after.ratio_stops - before.ratio_stops) >= _SAME_STOPS:
        told.append(f"the ratio {ratio_text(2.0**after.ratio_stops)}")
    window, wall = after.window_over_face, after.wall_over_key
    if window is not None and _moved(before.window_over_face, window):
        level = format_stops_thirds(window, reference="the same level")
        told.append(f"the window {_against(level)} the face in the picture")
    if wall is not None and _moved(before.wall_over_key, wall):
        told.append(f"the wall lands {_over(wall, 'middle grey')} in the picture")
    return ", ".join(told) or "little else moves"


def _moved(before: float | None, after: float) -> bool:
    return before is None or abs(after - before) >= _SAME_STOPS


# Words -----------------------------------------------------------------------------------


def _over(stops: float, reference: str) -> str:
    """A level against its reference, which is always named: "1 1/3 over key", "at key"."""
    level = format_stops_thirds(stops, reference=reference)
    return level if level.startswith("at ") else f"{level} {reference}"


def _against(level: str) -> str:
    """A level in words before what it is told against: "at the same level as" for none."""
    return level.removeprefix("at ") + (" as" if level.endswith("the same level") else "")


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
