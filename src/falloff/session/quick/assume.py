"""What a quick start takes for granted, and how many stops each of it could be worth."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import msgspec

from falloff.session.quick.fits import impossible
from falloff.session.quick.measure import Figures, Measured, measure_again
from falloff.session.quick.plan import Plan
from falloff.session.quick.room import clock_text
from falloff.session.quick.words import OUTSIDE, WALLS
from falloff.units import format_illuminance, format_length


@dataclass(frozen=True, slots=True)
class Assumption:
    """One thing taken for granted: what, as what, what else it may be, and those plans."""

    about: str
    taken: str
    might: str
    others: tuple[Plan, ...]
    source: str = ""


class Worth(msgspec.Struct, frozen=True, kw_only=True):
    """An assumption's worth: the most that any of its other values moves any of the figures.

    stops: the largest move; moves: which figure it is; shifts: every figure's move at each of the
    other values, in stops.
    """

    about: str
    taken: str
    might: str
    stops: float
    moves: str
    shifts: dict[str, tuple[float, ...]]
    source: str = ""


_TOLD = {
    "face_over_key": "the face",
    "ratio_stops": "the ratio",
    "window_over_face": "window over face",
    "wall_over_key": "the wall",
    "other_face": "one face against the other",
}


def worths(base: Measured, answered: Collection[str]) -> tuple[Worth, ...]:
    """Every assumption of a measured plan, traced at its other values, the weightiest first."""
    found = [_worth(base, one) for one in assumptions(base.plan, answered) if one.others]
    return tuple(sorted(found, key=lambda worth: -worth.stops))


def assumptions(plan: Plan, answered: Collection[str]) -> list[Assumption]:
    """What is taken for granted; `answered` are the questions that the person did answer."""
    found = [_walls(plan, answered="wall" in answered)]
    found += _surfaces(plan)
    if plan.key is not None:
        found += _key(plan, answered="place" in answered)
    if plan.window is not None:
        found += _window(plan, answered)
    if "room" not in answered:
        found.append(_sized(plan, "room size", "± a quarter", _room_sizes(plan)))
    if "ceiling" not in answered:
        taken = format_length(plan.ceiling_m, units=plan.units)
        others = _changed(plan, "ceiling_m", plan.ceiling_m - 0.3, plan.ceiling_m + 0.5)
        might = f"{_step(plan, 0.3)} less, {_step(plan, 0.5)} more"
        found.append(Assumption("ceiling height", taken, might, others))
    return found


def _worth(base: Measured, one: Assumption) -> Worth:
    moved = [measure_again(base, plan).figures for plan in one.others]
    shifts = {
        told: tuple(_shift(base.figures, other, name) for other in moved)
        for name, told in _TOLD.items()
        if getattr(base.figures, name) is not None
    }
    moves = max(shifts, key=lambda told: max(abs(shift) for shift in shifts[told]))
    return Worth(
        about=one.about,
        taken=one.taken,
        might=one.might,
        stops=max(abs(shift) for shift in shifts[moves]),
        moves=moves,
        shifts=shifts,
        source=one.source,
    )


def _shift(base: Figures, other: Figures, name: str) -> float:
    before, after = getattr(base, name), getattr(other, name)
    return 0.0 if before is None or after is None else float(after - before)


def _walls(plan: Plan, *, answered: bool) -> Assumption:
    rho = plan.wall_reflectance
    word = next((word for word, (taken, _, _) in WALLS.items() if taken == rho), None)
    if not answered:
        low, high = WALLS["dark"][0], WALLS["white"][0]
        might = "dark or white"
    elif word is not None:
        _, low, high = WALLS[word]
        might = f"{100 * low:.0f} to {100 * high:.0f} %"
    else:
        low, high = max(0.02, rho - 0.1), min(0.92, rho + 0.1)
        might = "a tenth either way"
    taken = f"{word}, {100 * rho:.0f} %" if word else f"{100 * rho:.0f} %"
    others = _changed(plan, "wall_reflectance", low, high)
    return Assumption("wall tone", taken, might, others, "handbook ranges, from memory")


def _surfaces(plan: Plan) -> list[Assumption]:
    found = [
        Assumption(
            "ceiling paint",
            f"{100 * plan.ceiling_reflectance:.0f} %",
            "50 to 88 %",
            _changed(plan, "ceiling_reflectance", 0.5, 0.88),
            "room default 80 %",
        ),
        Assumption(
            "floor",
            f"{100 * plan.floor_reflectance:.0f} %",
            "8 to 50 %",
            _changed(plan, "floor_reflectance", 0.08, 0.5),
            "common practice, no source",
        ),
        Assumption(
            "skin", plan.skin, "dark brown, pale", _changed(plan, "skin", "dark brown", "pale")
        ),
    ]
    if plan.furnished:
        others = (msgspec.structs.replace(plan, furnished=False),)
        found.append(Assumption("furniture", "as in the file", "an empty room", others))
    return found


def _key(plan: Plan, *, answered: bool) -> list[Assumption]:
    key = plan.key
    assert key is not None
    found = [
        Assumption(
            f"output of the {key.head}",
            f"{key.flux_lm:,.0f} lm in front".replace(",", " "),
            f"± {_fraction(key.head_spread_stops)} stop",
            _trimmed(plan, key.head_spread_stops),
            "common practice, from memory",
        )
    ]
    if key.modifier is not None:
        found.append(
            Assumption(
                f"loss in the {key.modifier}",
                "as usual",
                f"± {_fraction(key.modifier_spread_stops)} stop",
                _trimmed(plan, key.modifier_spread_stops),
                "common practice, from memory",
            )
        )
    reach = 0.1 if answered else 0.4
    taken = format_length(plan.key_distance_m, units=plan.units)
    told = _step(plan, reach)
    distance = plan.key_distance_m
    others = _changed(plan, "key_distance_m", max(0.3, distance - reach), distance + reach)
    found.append(Assumption("key's distance", taken, f"± {told}", others))
    rise = 0.1 if answered else 0.3
    taken = format_length(plan.key_height_m, units=plan.units)
    others = _changed(plan, "key_height_m", plan.key_height_m - rise, plan.key_height_m + rise)
    told = _step(plan, rise)
    found.append(Assumption("key's height", taken, f"± {told}", others))
    if not answered:
        others = _changed(plan, "key_clock", plan.key_clock - 1.0, plan.key_clock + 1.0)
        found.append(
            Assumption("key's hour", f"{_clock(plan.key_clock)} o'clock", "± 1 hour", others)
        )
    return found


def _window(plan: Plan, answered: Collection[str]) -> list[Assumption]:
    window = plan.window
    assert window is not None
    found = []
    if plan.outside_word:
        taken, low, high, _ = OUTSIDE[plan.outside_word]
        told = f"{_lux(plan, low)} to {_lux(plan, high)}"
        others = _changed(plan, "outside_lux", low, high)
        found.append(
            Assumption(
                "light outside",
                f"{plan.outside_word}, {_lux(plan, taken)}",
                told,
                others,
                "common practice, no source",
            )
        )
    else:
        low, high = plan.outside_lux * 2.0 ** (-1 / 3), plan.outside_lux * 2.0 ** (1 / 3)
        others = _changed(plan, "outside_lux", low, high)
        taken_text = f"{_lux(plan, plan.outside_lux)}, as read"
        found.append(Assumption("light outside", taken_text, "a third either way", others))
    if plan.dressing != "blackout":
        found.append(
            Assumption(
                "glass",
                f"passes {100 * plan.glass:.0f} %",
                "65 to 90 %",
                _changed(plan, "glass", 0.65, 0.9),
                "single 90, double 80, triple 70 %; dirt besides, from memory",
            )
        )
    found.append(
        Assumption(
            "ground outside",
            f"{100 * plan.ground_reflectance:.0f} %",
            "8 % asphalt, 80 % snow",
            _changed(plan, "ground_reflectance", 0.08, 0.8),
        )
    )
    if "dressing" not in answered:
        others = _changed(plan, "dressing", "sheer")
        found.append(Assumption("window dressing", plan.dressing, "a sheer", others))
    if "window" not in answered:
        sizes = [
            msgspec.structs.replace(
                window, width_m=w * window.width_m, height_m=h * window.height_m
            )
            for w, h in ((0.75, 0.85), (1.25, 1.15))
        ]
        others = tuple(msgspec.structs.replace(plan, window=size) for size in sizes)
        found.append(_sized(plan, "window size", "± a third", others))
        places = [
            msgspec.structs.replace(window, distance_m=window.distance_m + step)
            for step in (-0.3, 0.4)
        ]
        others = tuple(msgspec.structs.replace(plan, window=place) for place in places)
        might = f"{_step(plan, 0.3)} less, {_step(plan, 0.4)} more"
        found.append(_sized(plan, "window's distance", might, others))
    return found


def _sized(plan: Plan, about: str, might: str, others: tuple[Plan, ...]) -> Assumption:
    window = plan.window

    def say(length_m: float) -> str:
        return format_length(length_m, units=plan.units)

    taken = f"{say(plan.width_m)} x {say(plan.depth_m)}"
    if about == "window size" and window is not None:
        taken = f"{say(window.width_m)} x {say(window.height_m)}"
    elif about == "window's distance" and window is not None:
        taken = say(window.distance_m)
    return Assumption(about, taken, might, tuple(one for one in others if not impossible(one)))


def _room_sizes(plan: Plan) -> tuple[Plan, ...]:
    return tuple(
        msgspec.structs.replace(plan, width_m=plan.width_m * s, depth_m=plan.depth_m * s)
        for s in (0.75, 1.25)
    )


def _changed(plan: Plan, name: str, *values: float | str) -> tuple[Plan, ...]:
    plans = (msgspec.structs.replace(plan, **{name: value}) for value in values)
    return tuple(one for one in plans if not impossible(one))


def _trimmed(plan: Plan, spread_stops: float) -> tuple[Plan, ...]:
    return _changed(plan, "key_trim", 2.0**-spread_stops, 2.0**spread_stops)


def _fraction(stops: float) -> str:
    return {1 / 3: "a third of a", 0.5: "half a"}.get(stops, f"{stops:g}")


def _clock(hour: float) -> str:
    return clock_text(hour).removesuffix(":00")


def _step(plan: Plan, length_m: float) -> str:
    """A round step of a length, in the plan's units: "0.3 m", "1 ft"."""
    if plan.units == "imperial":
        return format_length(length_m, units="imperial")
    return f"{length_m:g} m"


def _lux(plan: Plan, value: float) -> str:
    if plan.units == "imperial":
        return format_illuminance(value, units="imperial")
    return f"{value:,.0f} lx".replace(",", " ") if value >= 1.0 else f"{value:g} lx"
