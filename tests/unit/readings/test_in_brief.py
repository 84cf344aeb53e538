"""The situation in two or three sentences, from readings made by hand."""

from __future__ import annotations

import pytest

from falloff.document import Quantity, Target
from falloff.readings import Judged, Reading, Readings, brief, judge_all
from falloff.readings.records import SourcePart, contrasts_of

KEY_LUX, GREY_NIT = 480.0, 27.5


def reading(
    name: str, stops: float | None, *, place: str = "a point of the room", faces: str = "square",
    instrument: str = "flat", bounced: float = 0.1, lit: dict[str, float] | None = None,
) -> Reading:  # fmt: skip
    """A reading so many stops over its reference; bounced: share of it; lit: shares of sources."""
    spot = instrument == "spot"
    value = 0.0 if stops is None else (GREY_NIT if spot else KEY_LUX) * 2.0**stops
    parts = tuple(
        SourcePart(source=source, direct=0.0, bounced=0.0, share=share, stops_over_key=None)
        for source, share in (lit if lit is not None else {"KEY": 0.7, "LAMP": 0.3}).items()
    )
    return Reading(
        name=name, instrument=instrument, place=place, faces=faces, unit="lx", value=value,
        standard_error=0.0, error_stops=0.0, stops_over_key=None if spot else stops,
        stops_over_grey=stops if spot else None, direct=value * (1.0 - bounced),
        bounced=value * bounced, parts=parts, bounce_from={}, fabrics=(),
        position_m=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 1.0),
    )  # fmt: skip


def readings(*taken: Reading, key: str | None = None) -> Readings:
    subjects = {one.name: "HER" for one in taken if one.place.startswith("HER.")}
    return Readings(
        scene="x", setup="ONE", camera="A", key_reading=key, exposure="T4", key_lux=KEY_LUX,
        meter_constant_lux_s=250.0, mid_grey_nit=GREY_NIT, sources=("KEY", "LAMP"), dims={},
        readings=taken, contrasts=contrasts_of(taken, subjects), softness=(), findings=(),
    )  # fmt: skip


def cheeks(key: float, shadow: float, **more: object) -> tuple[Reading, Reading]:
    return (
        reading("key cheek", key, place="HER.cheek_key"),
        reading("shadow cheek", shadow, place="HER.cheek_shadow", **more),  # type: ignore[arg-type]
    )


def target(
    level: float, *, of: str = "a", over: str | None = None, limit: str = "equal",
    tolerance: float = 1.0 / 3.0,
) -> Target:  # fmt: skip
    return Target(
        reading=of, level=Quantity(level, f"{level} stops"), over=over,
        limit=limit, tolerance=Quantity(tolerance, f"{tolerance} stop"),  # type: ignore[arg-type]
    )  # fmt: skip


# Sentences (snapshot: our own wording) ----------------------------------------------------


def test_nothing_metered() -> None:
    assert brief(readings()) == (
        "Nothing is metered yet: take a reading in the picture or on the plan.",
    )


def test_a_face() -> None:
    on_bounce = {"bounced": 0.6, "lit": {"LAMP": 0.4, "KEY": 0.35, "SUN": 0.25}}
    assert brief(readings(*cheeks(1 / 3, -5 / 3, **on_bounce))) == (
        "Key cheek a third over key, mostly KEY; "
        "shadow cheek 2 under the key side, on LAMP's bounce.",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("key", "shadow", "said"),
    [
        (
            0.0,
            0.0,
            "Key cheek at key, mostly KEY; shadow cheek level with the key side, mostly KEY.",
        ),
        (
            0.0,
            -0.16,
            "Key cheek at key, mostly KEY; shadow cheek level with the key side, mostly KEY.",
        ),
        (
            0.0,
            -0.17,
            "Key cheek at key, mostly KEY; shadow cheek a third under the key side, mostly KEY.",
        ),
        (
            -1.0,
            -0.6,
            "Key cheek 1 under key, mostly KEY; "
            "shadow cheek a third over the key side, mostly KEY.",
        ),
    ],
)
def test_levels_of_a_face(key: float, shadow: float, said: str) -> None:
    assert brief(readings(*cheeks(key, shadow))) == (said,)


def test_a_face_with_light_on_the_shadow_side_alone() -> None:
    dark = reading("key cheek", None, place="HER.cheek_key")
    lit = reading("shadow cheek", -1.0, place="HER.cheek_shadow")
    assert brief(readings(dark, lit)) == (
        "Key cheek without light; shadow cheek alone has light, mostly KEY.",
    )


def test_without_a_face_the_key_reading_leads() -> None:
    three = {"KEY": 0.4, "LAMP": 0.35, "SUN": 0.25}
    table = reading("the table", -2 / 3, place="on TABLE", lit=three)
    wall = reading("a wall", -1.5, place="wall 3", bounced=0.5)
    assert brief(readings(wall, table, key="the table")) == (
        "The table two thirds under key, KEY first.",
        "A wall 1 2/3 under and lives on bounce.",
    )
    dark = reading("the table", None, place="on TABLE", lit={})
    assert brief(readings(dark, key="the table")) == ("The table without light.",)


def test_the_farthest_are_told_brightest_first() -> None:
    others = [
        reading("sky", 3.0, instrument="spot", faces="from A"),
        reading("wall", -1.0),
        reading("floor", -4.0, bounced=0.9),
        reading("level", 0.0),
        reading("lamp", 2.0, instrument="spot", bounced=0.9),
    ]
    assert brief(readings(*cheeks(0.0, -1.0), *others))[1:] == (
        "Sky 3 over, lamp 2 over, floor 4 under and lives on bounce.",
    )


def test_other_readings_of_a_face_that_was_told_are_left_out() -> None:
    forehead = reading("forehead", 1.0, place="HER.forehead")
    assert len(brief(readings(*cheeks(0.0, -1.0), forehead))) == 1
    assert brief(readings(forehead)) == ("Forehead 1 over.",)


# Targets ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("targets", "said"),
    [
        ({"one": target(1.0)}, "What is wanted is met."),
        ({"one": target(1.0), "two": target(2.0, limit="at most")}, "All that is wanted is met."),
        ({"one": target(0.0), "two": target(3.0)}, "0 of 2 targets met: two is 2 too dark."),
        ({"one": target(-0.4), "two": target(1.0)}, "1 of 2 targets met: one is 1 1/3 too bright."),
        ({"one": target(1.1, tolerance=0.01)}, "0 of 1 targets met: one is a little too dark."),
        ({"one": target(0.8, tolerance=0.01)}, "0 of 1 targets met: one is a third too bright."),
    ],
)
def test_what_is_wanted(targets: dict[str, Target], said: str) -> None:
    taken = readings(reading("a", 1.0))
    assert brief(taken, judge_all(targets, taken))[-1] == said


def test_the_worst_of_unlike_kinds_is_told() -> None:
    """Pencil: 90 mired off, 60 beyond the tolerance, is a stop; the level is 2/3 beyond its own."""
    taken = readings(reading("a", 1.0))

    def missed(margin: float | None, unit: str, miss: str) -> Judged:
        return Judged(
            target="", asks="", got="", miss=miss, off=None, margin=margin, unit=unit, holds=False,  # type: ignore[arg-type]
        )  # fmt: skip

    level = missed(-2 / 3, "stops", "1 too bright")
    warm = missed(-60.0, "mired", "90 mired too warm")
    lost = missed(None, "mired", "no light")
    told = brief(taken, {"level": level, "white": warm})
    assert told[-1] == "0 of 2 targets met: white is 90 mired too warm."
    told = brief(taken, {"level": level, "white": warm, "lost": lost})
    assert told[-1] == "0 of 3 targets met: lost has no light."


def test_targets_that_cannot_be_read_are_not_spoken_of() -> None:
    taken = readings(reading("a", 1.0))
    assert judge_all({"one": target(0.0, of="gone")}, taken) == {}
    assert brief(taken, {}) == ("A 1 over.",)
