"""What a figure of a kit file is to be, and what stands there, in the words of who writes it."""

from __future__ import annotations

from typing import Any, Final

from msgspec.inspect import (
    BoolType,
    DictType,
    FloatType,
    IntType,
    LiteralType,
    NoneType,
    StrType,
    TupleType,
    UnionType,
    VarTupleType,
    type_info,
)

from falloff.errors import Fault, OutputError
from falloff.kit.catalogue.own_kit_text import toml_value

_TURN_RAD: Final = 6.283185307179587
_LONGEST: Final = 60


def wrong_value(kind: object, value: object, *, where: str) -> Fault:
    """The fault of a value that is not what its field wants: what that is, and how to write it.

    kind: the field's type; value: as it was read from the file.
    """
    name = where.rpartition(".")[2]
    wanted = in_words(kind)
    return Fault(
        what=f"{name} cannot be {as_written(value)}",
        where=where,
        expected=wanted,
        found=as_written(value),
        fix=_fix(name, type_info(kind), value),
    )


def in_words(kind: object) -> str:
    """A field's type as people say it: "a number of 0 or more, such as 30"."""
    return _words(type_info(kind))


def as_written(value: object) -> str:
    """A value as it would be written in the file, cut short where it is long."""
    try:
        told = "nothing" if value is None else toml_value(value)
    except OutputError:
        told = str(value)
    return told if len(told) <= _LONGEST else told[: _LONGEST - 1] + "…"


def _words(kind: Any) -> str:  # noqa: ANN401 any type of msgspec.inspect
    told = "something else"
    match kind:
        case UnionType():
            several = [one for one in kind.types if not isinstance(one, NoneType)]
            told = " or ".join(_words(one) for one in several)
        case FloatType():
            told = f"a number{_range(kind)}, such as {_example(kind)}"
        case IntType():
            told = f"a whole number{_range(kind)}, such as {_example(kind)}"
        case BoolType():
            told = "true or false"
        case StrType():
            told = "a text in quotes"
        case LiteralType():
            told = "one of " + ", ".join(str(one) for one in kind.values)
        case VarTupleType():
            told = f"a list in square brackets, each {_words(kind.item_type)}"
        case TupleType():
            each = " and ".join(_words(one) for one in kind.item_types)
            told = f"a list in square brackets of {each}"
        case DictType():
            told = f"a table of names, each with {_words(kind.value_type)}"
        case _:
            pass
    return told


def _range(kind: FloatType | IntType) -> str:
    low, high = kind.ge, kind.le
    if low is not None and high is not None:
        return f" from {low:g} to {high:g}"
    if kind.gt is not None and high == _TURN_RAD:
        return " of radians, over 0 up to a full turn"
    if kind.gt is not None:
        return f" over {kind.gt:g}" + (f", {high:g} at most" if high is not None else "")
    return f" of {low:g} or more" if low is not None else ""


def _example(kind: FloatType | IntType) -> str:
    if kind.le is not None:
        return "0.5"
    return "2" if isinstance(kind, IntType) else "30"


def _fix(name: str, kind: Any, value: object) -> str:  # noqa: ANN401 as above
    """How to write it; without its quotes, where that is all that is wrong."""
    kinds = kind.types if isinstance(kind, UnionType) else (kind,)
    first = next(one for one in kinds if not isinstance(one, NoneType))
    told = f"{name} = {{NAME = ...}}"
    match first:
        case FloatType() | IntType() if _number_in(value) is not None:
            told = f"{name} = {_number_in(value)}, without quotes and unit"
        case FloatType() | IntType():
            told = f"{name} = {_example(first)}, in figures and without quotes"
        case BoolType():
            told = f"{name} = true or {name} = false, without quotes"
        case StrType():
            told = f'{name} = "...", in quotes'
        case LiteralType():
            told = f'{name} = "{first.values[0]}", or another of them'
        case VarTupleType() | TupleType():
            told = f"{name} = [...]"
        case _:
            pass
    return f"write {told}"


def _number_in(value: object) -> str | None:
    """The number that a text begins with, as it was written."""
    if not isinstance(value, str):
        return None
    first = value.split()[0] if value.split() else ""
    try:
        float(first)
    except ValueError:
        return None
    return first if first[-1].isdigit() else None
