"""A figure of a kit file that is of the wrong kind is told in the words of who writes it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from falloff.errors import DocumentError, Fault
from falloff.kit.catalogue import parse_own_kit
from falloff.kit.catalogue.own_kit import _Entry
from falloff.kit.catalogue.own_kit_text import toml_value
from falloff.kit.catalogue.records import KINDS

# What a person who writes a kit file does not say.
JARGON = re.compile(
    r"\b(floats?|ints?|str|bool|None|null|dict|arrays?|tuple|object|msgspec|Literal|struct|regex|"
    r"Expected|True|False)\b|`|\$"
)
WRONG: tuple[Any, ...] = ("thirty", True, [], ["a", 3], {"a": "b"}, 1.5, -7)


def faults_of(text: str) -> tuple[Fault, ...]:
    try:
        parse_own_kit(text, "van.kit.toml")
    except DocumentError as error:
        return error.faults
    return ()


def texts() -> Iterator[str]:
    """Every key of an [[item]], of what was measured and of each kind, with every wrong value."""
    for value in WRONG:
        told = toml_value(value)
        for key in ("falloff_kit", "title", "currency", "item"):
            yield (
                f"{key} = {told}\n"
                if key == "falloff_kit"
                else f"falloff_kit = 1\n{key} = {told}\n"
            )
        for key in (*msgspec.structs.asdict(_Entry(item="")), "measured"):
            named = "" if key == "item" else 'item = "candle"\n'
            yield f"falloff_kit = 1\n[[item]]\n{named}{key} = {told}\n"
        for key in ("on", "power_w", "beams", "dims", "kelvin", "width_cm", "beams.fixed"):
            yield f'falloff_kit = 1\n[[item]]\nitem = "candle"\nmeasured.{key} = {told}\n'
        for kind, record in KINDS.items():
            table = kind.replace(" ", "_")
            for field in msgspec.structs.fields(record):
                yield f"falloff_kit = 1\n[[{table}]]\n{field.name} = {told}\n"
        for inner in ("name", "shape", "beam_angle_deg", "flux_lm"):
            yield f"falloff_kit = 1\n[[fixture]]\nbeams = [{{{inner} = {told}}}]\n"


def test_no_fault_of_a_kit_file_speaks_as_a_program() -> None:
    seen = 0
    for text in texts():
        for fault in faults_of(text):
            seen += 1
            for part in (fault.what, fault.expected, fault.found, fault.fix):
                assert not JARGON.search(str(part or "")), (text, fault)
            assert fault.line or "missing" in fault.what or "kit" in fault.what, (text, fault)
    assert seen > 1000


@pytest.mark.parametrize(
    ("line", "what", "expected", "fix"),
    [
        ('day_rate = "thirty"', 'day_rate cannot be "thirty"',
         "a number of 0 or more, such as 30",
         "write day_rate = 30, in figures and without quotes"),
        ('day_rate = "45 EUR"', 'day_rate cannot be "45 EUR"',
         "a number of 0 or more, such as 30", "write day_rate = 45, without quotes and unit"),
        ("count = 1.5", "count cannot be 1.5", "a whole number of 1 or more, such as 2",
         "write count = 2, in figures and without quotes"),
        ('owned = "yes"', 'owned cannot be "yes"', "true or false",
         "write owned = true or owned = false, without quotes"),
        ("note = 3", "note cannot be 3", "a text in quotes", 'write note = "...", in quotes'),
    ],
)  # fmt: skip
def test_a_wrong_value_says_what_is_wanted_and_how_to_write_it(
    line: str, what: str, expected: str, fix: str
) -> None:
    (fault,) = faults_of(f'falloff_kit = 1\n[[item]]\nitem = "candle"\n{line}\n')
    assert (fault.what, fault.expected, fault.fix) == (what, expected, fix)
    assert fault.where == f"van.kit.toml, line 4, item[0].{line.split(maxsplit=1)[0]}"
