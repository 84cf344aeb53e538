"""The one thing to change first: what is furthest from usual, and the change that mends it, tried.

Nobody has said yet what picture is wanted, so these are the habits of the trade (common practice,
no source): a face at key, its shadow side one to three stops under, a window at most two and a
half over the face where it is in the frame, the wall behind at least half a stop under middle grey
in the picture. A face more than a stop off is exposed first. Every change told is traced.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import msgspec

from falloff.kit import Outfit
from falloff.session.quick.fits import impossible
from falloff.session.quick.frame import window_in_frame
from falloff.session.quick.marks import nd_text, stop_text, stops_long
from falloff.session.quick.measure import Figures, Measured, measure_again
from falloff.session.quick.plan import Plan
from falloff.session.quick.room import clock_text
from falloff.units import format_length, format_stops_thirds, stops_from_density

FACE_STOPS: Final = (-1.0 / 3.0, 1.0 / 3.0)
RATIO_STOPS: Final = (1.0, 3.0)
WINDOW_STOPS: Final = 2.5
WALL_STOPS: Final = -0.5
EXPOSE_FIRST_STOPS: Final = 1.0
_WIDEST_T: Final = 1.4
_HIGHEST_ISO: Final = 12_800.0


class Advice(msgspec.Struct, frozen=True, kw_only=True):
    """The first change: what is amiss, what to do, and the figures once it is done.

    do is empty where nothing is amiss; after is None where nothing would be traced anew.
    """

    amiss: str
    do: str
    after: Figures | None = None
    left_stops: float = 0.0


def advise(base: Measured) -> Advice:
    """The change that brings the worst figure nearest to what is usual."""
    framed = window_in_frame(base.plan)
    troubles = _troubles(base.figures, framed=framed)
    worst = max(troubles, key=lambda name: troubles[name])
    if troubles[worst] <= 0.05:
        return Advice(amiss="", do="")
    if abs(base.figures.face_over_key) > EXPOSE_FIRST_STOPS:
        worst = "face"
    amiss = _told(worst, base.figures)
    best: Advice | None = None
    for do, plan in _changes(worst, base):
        if impossible(plan):
            continue
        after = measure_again(base, plan).figures
        left = _troubles(after, framed=framed)
        # What is mended must not cost more elsewhere than it brought.
        total = left[worst] + sum(max(0.0, left[name] - troubles[name]) for name in left)
        if best is None or total < best.left_stops - 0.1:
            best = Advice(amiss=amiss, do=do, after=after, left_stops=total)
    if best is None or best.left_stops >= troubles[worst] - 0.1:
        return Advice(
            amiss=amiss, do="nothing tried here brings it nearer: change the place or hour"
        )
    return best


def _troubles(figures: Figures, *, framed: bool = True) -> dict[str, float]:
    """How many stops each figure is outside what is usual; framed: the window is in the frame."""
    face, ratio = figures.face_over_key, figures.ratio_stops
    window = figures.window_over_face if framed else None
    # Against the face, since it is the face that will be brought to key.
    wall = None if figures.wall_over_key is None else figures.wall_over_key - max(0.0, face)
    return {
        "face": max(0.0, FACE_STOPS[0] - face, face - FACE_STOPS[1]),
        "ratio": max(0.0, RATIO_STOPS[0] - ratio, ratio - RATIO_STOPS[1]),
        "window": max(0.0, window - WINDOW_STOPS) if window is not None else 0.0,
        "wall": 0.7 * max(0.0, wall - WALL_STOPS) if wall is not None else 0.0,
    }


def _told(worst: str, figures: Figures) -> str:
    match worst:
        case "face":
            return f"the face is {format_stops_thirds(figures.face_over_key)}"
        case "ratio":
            side = format_stops_thirds(-figures.ratio_stops, reference="level")
            flat = figures.ratio_stops < RATIO_STOPS[0]
            return f"the face is {'flat' if flat else 'hard'}: its shadow side is {side}"
        case "window":
            assert figures.window_over_face is not None
            over = format_stops_thirds(figures.window_over_face, reference="the face's level")
            return f"the window is {over} the face in the picture"
        case _:
            assert figures.wall_over_key is not None
            level = format_stops_thirds(figures.wall_over_key, reference="middle grey")
            over = level if level.startswith("at ") else f"{level} middle grey"
            return f"the wall behind lands {over} in the picture"


def _changes(worst: str, base: Measured) -> Iterator[tuple[str, Plan]]:
    plan = base.plan
    match worst:
        case "face":
            yield from _face_changes(plan, base.figures.face_over_key)
        case "ratio":
            yield from _ratio_changes(plan, flat=base.figures.ratio_stops < RATIO_STOPS[0])
        case "window":
            yield from _window_changes(plan, base.figures)
        case _:
            yield from _wall_changes(plan)


def _face_changes(plan: Plan, over: float) -> Iterator[tuple[str, Plan]]:
    """The camera or a dim first; the key is moved only where the camera has not enough left."""
    if over > 0.0:
        yield from _less_light(plan)
        return
    most = 0.0
    for stops, do, changed in _more_exposure(plan):
        most = max(most, stops)
        yield do, changed
    if plan.key is not None and most < -over - FACE_STOPS[1]:
        yield from _stronger_key(plan, plan.key)


def _less_light(plan: Plan) -> Iterator[tuple[str, Plan]]:
    replace = msgspec.structs.replace
    if plan.key is not None:
        for dim in (0.75, 0.5, 0.35, 0.25, 0.12, 0.06):
            told = f"dim the key to {100 * dim:.0f} % ({stops_long(math.log2(dim))})"
            yield told, replace(plan, key_trim=plan.key_trim * dim)
    for density in (0.3, 0.6, 0.9, 1.2, 1.5, 1.8, 2.1):
        stops = stops_from_density(density)
        closed = plan.t_number * 2.0 ** (0.5 * stops)
        told = f"put ND {density:g} ({stops_long(stops)}) on the camera"
        if closed < 23.0:
            told += f", or close to {stop_text(closed, _letter(plan))}"
        yield told, replace(plan, nd_stops=plan.nd_stops + stops)


def _more_exposure(plan: Plan) -> Iterator[tuple[float, str, Plan]]:
    """What the camera has left: stops, words and plan."""
    replace = msgspec.structs.replace
    if plan.nd_stops > 0.0:
        told = f"take the {nd_text(plan.nd_stops)} off the camera ({stops_long(plan.nd_stops)})"
        yield plan.nd_stops, told, replace(plan, nd_stops=0.0)
    for stops in (0.5, 1.0, 1.5, 2.0, 3.0):
        number = plan.t_number * 2.0 ** (-0.5 * stops)
        if number >= _WIDEST_T - 0.03:
            letter, told = _letter(plan), stop_text(number, _letter(plan))
            opened = replace(plan, t_number=round(number, 2), stop_text=f"{letter}{number:.2f}")
            yield stops, f"open to {told} ({stops_long(stops)})", opened
    for stops in (1.0, 2.0, 3.0, 4.0):
        iso = plan.iso * 2.0**stops
        if iso <= _HIGHEST_ISO:
            yield stops, f"go to ISO {iso:g} ({stops_long(stops)})", replace(plan, iso=iso)


def _stronger_key(plan: Plan, key: Outfit) -> Iterator[tuple[str, Plan]]:
    replace = msgspec.structs.replace
    for share in (0.8, 0.65, 0.5):
        distance = max(0.5, plan.key_distance_m * share)
        told = f"bring the key to {format_length(distance, units=plan.units)}"
        yield told, replace(plan, key_distance_m=distance)
    stronger = replace(key, count=2 * key.count, power_w=2 * key.power_w, flux_lm=2 * key.flux_lm)
    yield "bring a second such head into the key", replace(plan, key=stronger)


def _letter(plan: Plan) -> str:
    return "f/" if plan.stop_text.lower().startswith("f") else "T"


def _ratio_changes(plan: Plan, *, flat: bool) -> Iterator[tuple[str, Plan]]:
    replace = msgspec.structs.replace
    side = format_length(plan.fill_size_m[0], units=plan.units)
    if flat:
        if plan.fill == "white board":
            yield "take the white board away", replace(plan, fill="none")
        if plan.fill != "black":
            told = f"hang a {side} black across from the key"
            yield told, replace(plan, fill="black")
        if plan.key is not None:
            hour = plan.key_clock
            round_ = hour - 1.0 if hour < 6.0 else hour + 1.0
            told = f"take the key round to {_clock(round_)} o'clock"
            yield told, replace(plan, key_clock=round_ % 12 or 12)
            told = f"take the key round to {_clock(round_)} o'clock and hang a black"
            yield told, replace(plan, key_clock=round_ % 12 or 12, fill="black")
        return
    if plan.fill == "black":
        yield "take the black away", replace(plan, fill="none")
    if plan.fill != "white board":
        yield f"stand a {side} white board across from the key", replace(plan, fill="white board")
    if plan.key is not None:
        hour = plan.key_clock
        frontal = hour + 1.0 if hour < 6.0 else hour - 1.0
        yield f"bring the key round to {_clock(frontal)} o'clock", replace(plan, key_clock=frontal)


def _window_changes(plan: Plan, figures: Figures) -> Iterator[tuple[str, Plan]]:
    replace = msgspec.structs.replace
    over = (figures.window_over_face or 0.0) - WINDOW_STOPS
    if plan.key is not None and over < 2.0 and figures.face_over_key < 0.3:
        nearer = max(0.5, 0.7 * plan.key_distance_m)
        told = f"bring the key to {format_length(nearer, units=plan.units)}"
        yield told, replace(plan, key_distance_m=nearer)
    for density in (0.3, 0.6, 0.9, 1.2):
        stops = stops_from_density(density)
        if plan.dressing in ("bare", "sheer", "blind", "gel"):
            more = stops + (plan.gel_stops if plan.dressing == "gel" else 0.0)
            told = f"put ND {density:g} gel on the glass"
            yield told, replace(plan, dressing="gel", gel_stops=more)
    yield "hang a sheer in the window", replace(plan, dressing="sheer")


def _wall_changes(plan: Plan) -> Iterator[tuple[str, Plan]]:
    replace = msgspec.structs.replace
    if plan.key is not None:
        for share in (0.75, 0.55):
            distance = max(0.5, plan.key_distance_m * share)
            told = f"bring the key to {format_length(distance, units=plan.units)}"
            dim = (distance / plan.key_distance_m) ** 2
            told += f" and dim it to {100 * dim:.0f} %"
            yield told, replace(plan, key_distance_m=distance, key_trim=plan.key_trim * dim)
        yield (
            "take the key an hour farther round",
            replace(plan, key_clock=plan.key_clock + (-1.0 if plan.key_clock < 6.0 else 1.0)),
        )
    if plan.window is not None and plan.dressing == "bare":
        yield "put ND 0.6 gel on the glass", replace(plan, dressing="gel", gel_stops=2.0)


def _clock(hour: float) -> str:
    return clock_text(hour).removesuffix(":00")
