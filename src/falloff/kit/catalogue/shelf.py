"""The shipped catalogue: every item by its name, by its other words, by kind."""

from __future__ import annotations

import difflib
import functools
import re
import tomllib
from importlib import resources
from typing import Any, Final, TypeVar

from falloff.errors import Fault, GeometryError
from falloff.kit.catalogue.reading import build_item, item_faults, read_record
from falloff.kit.catalogue.records import KINDS, Fixture, Item, kind_of
from falloff.kit.unknown import unknown_name
from falloff.spectrum.gel_families import find_gel
from falloff.spectrum.shifts import FULL_GREEN_CC

_One = TypeVar("_One", bound=Item)
_FOLDER: Final = "data/catalogue"
_HEAD_KEYS: Final = ("provenance",)


def find_item(name: str, kind: str = "") -> Item:
    """An item by its name or another word for it, whatever the case; perhaps of one kind only.

    Raises GeometryError with the nearest name.
    """
    items = _by_word()
    found = items.get(_plain(name))
    if found is not None and kind in ("", kind_of(found)):
        return found
    known = [one.name for one in list_items(kind)] if kind else list(_shelf())
    near = near_names(name, kind, most=5)
    raise unknown_name(
        kind or "item of the kit",
        name,
        near or known,
        expected="one such as " + ", ".join(near or known[:5]),
        otherwise="list the kit to see what there is, or put it into your own kit file",
    )


def find_as(cls: type[_One], name: str) -> _One:
    """An item by name as the record wanted; raises GeometryError if it is another kind."""
    found = find_item(name, next(kind for kind, one in KINDS.items() if one is cls))
    assert isinstance(found, cls)
    return found


def list_items(kind: str = "") -> tuple[Item, ...]:
    """Every item, or every one of a kind, in the catalogue's order.

    Raises GeometryError on a kind that there is not.
    """
    if kind and kind not in KINDS:
        raise unknown_name("kind of item", kind, KINDS)
    return tuple(one for one in _shelf().values() if kind in ("", kind_of(one)))


def near_names(name: str, kind: str = "", *, most: int = 3) -> tuple[str, ...]:
    """Names that a person may have meant, the nearest first; those with all its words before."""
    plain = _plain(name)
    words = plain.replace(",", " ").split()
    items = {word: one for word, one in _by_word().items() if kind in ("", kind_of(one))}
    holding = [one.name for word, one in items.items() if words and all(w in word for w in words)]
    close = [items[word].name for word in difflib.get_close_matches(plain, items, n=most)]
    return tuple(dict.fromkeys([*holding, *close]))[:most]


def fixtures_reaching(axis_cd: float) -> tuple[Fixture, ...]:
    """Fixtures with a beam of at least this intensity, those that draw least first."""
    able = [
        one
        for one in list_items("fixture")
        if isinstance(one, Fixture) and max(beam.axis_cd for beam in one.beams) >= axis_cd
    ]
    return tuple(sorted(able, key=lambda one: (one.power_w, one.name)))


@functools.cache
def _shelf() -> dict[str, Item]:
    """Items by name; a fault in the shipped data is ours, and is told whole."""
    items: dict[str, Item] = {}
    faults: list[Fault] = []
    folder = resources.files("falloff.kit").joinpath(_FOLDER)
    for file in sorted(folder.iterdir(), key=lambda one: one.name):
        if not file.name.endswith(".toml"):
            continue
        tables = tomllib.loads(file.read_text("utf-8"))
        head = {key: tables.pop(key) for key in _HEAD_KEYS if key in tables}
        for kind, entries in tables.items():
            for raw in entries:
                where = f"{file.name}: {raw.get('name', 'an item without a name')}"
                told = head | _film_figures(raw.get("film", "")) | raw
                fields, wrong = read_record(KINDS[kind.replace("_", " ")], told, where=where)
                faults += wrong
                if wrong:
                    continue
                item = build_item(KINDS[kind.replace("_", " ")], fields)
                faults += item_faults(item, where=where)
                if item.name in items:
                    faults.append(Fault(what=f"{item.name!r} stands twice", where=where))
                items[item.name] = item
    if faults:
        raise GeometryError(*faults)
    return items


def _film_figures(film: str) -> dict[str, Any]:
    """A gel's figures as the package of colours has them; nothing where no film is named."""
    if not film:
        return {}
    found = find_gel(film)
    return {
        "family": found.family,
        "shift_mired": found.figures.shift_mired,
        "green_cc": found.figures.green_share * FULL_GREEN_CC,
        "loss_stops": found.figures.loss_stops,
        "spread_stops": found.figures.spread_stops,
        "spread_mired": found.figures.spread_mired,
        "provenance": found.source,
    }


@functools.cache
def _by_word() -> dict[str, Item]:
    """Items by every word for them, lower case."""
    words = {_plain(one.name): one for one in _shelf().values()}
    for one in _shelf().values():
        for word in one.also:
            words.setdefault(_plain(word), one)
    return words


def _plain(name: str) -> str:
    """A name without what people write differently: case, spaces, "300w" for "300 W"."""
    plain = name.lower().replace("softbox", "soft box").replace("×", "x")
    return " ".join(re.sub(r"(\d)(k?w)\b", r"\1 \2", plain).split())
