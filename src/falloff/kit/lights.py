"""Generic heads and modifiers as people name them: "300 W LED in 90 cm soft box"."""

from __future__ import annotations

import functools
import math
import re
import tomllib
from importlib import resources
from typing import Literal

import msgspec

from falloff.errors import Fault, FixtureTextError
from falloff.units import Kelvin, Lumen, UnitFault, Watt, parse_length, parse_power

Form = Literal["soft box", "book light", "panel", "open face", "fresnel"]
_EXAMPLE = "300 W LED in 90 cm soft box"
_USUAL_SIDE_M = 0.9
_REFLECTOR_M = 0.12


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of lamp head; lumens of the bare head per watt, spread to expect in stops.

    own_share: of the bare head's light, what leaves it as it is used: out of its reflector, off its
    front; beam_deg: full angle at half intensity out of its reflector.
    """

    lumens_per_watt: float
    own_share: float
    spread_stops: float
    kelvin: float
    power_factor: float
    panel: bool = False  # it is a lit panel by itself
    beam_deg: float = 60.0


class Modifier(msgspec.Struct, frozen=True, kw_only=True):
    """What stands before a head: the share of its light that it passes, and its form.

    takes: what passes is a share of, the bare head's light or what leaves it as it is used.
    of_panel_share: the share of a lit panel's light, where that is another.
    """

    passes: float
    takes: Literal["head", "beam"]
    spread_stops: float
    form: Form
    of_panel_share: float | None = None


class Outfit(msgspec.Struct, frozen=True, kw_only=True):
    """A head with its modifier, as said: what leaves the front, and what it draws.

    size_m: width and height of the front (m); a round mouth has both alike. bare_lm: of the bare
    heads, all ways. beam_rad: full angle at half intensity of what has a beam, and the narrowest
    and the widest that a lens can be set to (rad).
    """

    said: str
    head: str
    modifier: str | None
    form: Form
    size_m: tuple[float, float]
    count: int
    power_w: Watt
    flux_lm: Lumen
    colour_kelvin: Kelvin
    power_factor: float
    head_spread_stops: float
    modifier_spread_stops: float
    bare_lm: Lumen
    beam_rad: float | None = None
    spot_rad: float | None = None
    flood_rad: float | None = None


@functools.cache
def _tables() -> tuple[dict[str, Head], dict[str, Modifier]]:
    data = tomllib.loads(resources.files("falloff.kit").joinpath("data/lights.toml").read_text())
    return (
        msgspec.convert(data["head"], dict[str, Head]),
        msgspec.convert(data["modifier"], dict[str, Modifier]),
    )


def head_names() -> tuple[str, ...]:
    """Every kind of head, in the catalogue's order."""
    return tuple(_tables()[0])


def modifier_names() -> tuple[str, ...]:
    """Every kind of modifier, in the catalogue's order."""
    return tuple(_tables()[1])


def read_outfit(said: str) -> Outfit:
    """A head and its modifier from a text such as "300 W LED in 90 cm soft box".

    The power comes first, then the kind of head, then perhaps in, through, into or with, a size
    and a modifier; "2 x" before it all means so many heads behind one front. A panel may have a
    size before its name: "100 W 60 x 30 cm LED panel". Raises FixtureTextError that says which
    word it cannot read. Source of the figures: data/lights.toml, common practice, from memory.
    """
    text = " ".join(said.split())
    found = re.fullmatch(
        r"(?:(?P<count>[1-9])\s*[x×]\s+)?(?P<power>[0-9.]+\s*k?W)\s+(?P<rest>.+)",
        text,
        re.IGNORECASE,
    )
    if not found:
        raise _unread("this is no fixture", said, "the power first, then the kind of head")
    parts = re.split(
        r"\s+(?:in|through|into|with)\s+(?:an?\s+)?", found["rest"], maxsplit=1, flags=re.IGNORECASE
    )
    before, after = parts[0], parts[1] if len(parts) > 1 else None
    head_name, head_size = _named(before, head_names(), "head", said)
    head = _tables()[0][head_name]
    power = _power(found["power"], said)
    count = int(found["count"] or 1)
    if after is None:
        modifier_name = None if head.panel else "reflector"
        size = head_size or (_panel_size(power) if head.panel else (_REFLECTOR_M, _REFLECTOR_M))
    else:
        modifier_name, modifier_size = _named(after, modifier_names(), "modifier", said)
        size = modifier_size or (_USUAL_SIDE_M, _USUAL_SIDE_M)
        if _tables()[1][modifier_name].form == "open face":
            size = modifier_size or (_REFLECTOR_M, _REFLECTOR_M)
    modifier = None if modifier_name is None else _tables()[1][modifier_name]
    bare_lm = Lumen(count * power * head.lumens_per_watt)
    focused = modifier is not None and modifier.form == "open face"
    return Outfit(
        said=text,
        head=head_name,
        modifier=modifier_name,
        form="panel" if modifier is None else modifier.form,
        size_m=size,
        count=count,
        power_w=Watt(count * power),
        flux_lm=Lumen(bare_lm * _passed(head, modifier)),
        colour_kelvin=Kelvin(head.kelvin),
        power_factor=head.power_factor,
        head_spread_stops=head.spread_stops,
        modifier_spread_stops=0.0 if modifier is None else modifier.spread_stops,
        bare_lm=bare_lm,
        beam_rad=math.radians(head.beam_deg) if focused else None,
    )


def _passed(head: Head, modifier: Modifier | None) -> float:
    """What leaves the front, of all that the bare head gives."""
    if modifier is None:
        return head.own_share
    if head.panel and modifier.of_panel_share is not None:
        return head.own_share * modifier.of_panel_share
    return modifier.passes * (head.own_share if modifier.takes == "beam" else 1.0)


def _named(
    text: str, names: tuple[str, ...], what: str, said: str
) -> tuple[str, tuple[float, float] | None]:
    """The name that a text ends in, whatever its case, and the size that stands before it."""
    plain = text.strip().lower().replace("softbox", "soft box").replace("booklight", "book light")
    plain = re.sub(r"^(?:an?|the)\s+", "", plain)
    for name in sorted(names, key=len, reverse=True):
        if plain.endswith(name.lower()):
            size = plain[: -len(name)].strip()
            return name, _size(size, said) if size else None
    raise _unread(f"{text!r} is no {what} that the kit has", said, "one of " + ", ".join(names))


def _size(text: str, said: str) -> tuple[float, float]:
    """Width and height (m) from "90 cm", "90 x 60 cm" or "4 x 4 ft"."""
    sides = re.split(r"\s*[x×]\s*", text)
    unit = re.search(r"[a-z'\"]+$", sides[-1])
    if len(sides) > 2 or unit is None:
        raise _unread(f"{text!r} is no size", said, "a size such as 90 cm or 4 x 4 ft")
    try:
        lengths = [
            float(parse_length(side if re.search(r"[a-z'\"]", side) else f"{side} {unit[0]}"))
            for side in sides
        ]
    except UnitFault as error:
        raise _unread(error.fault.what, said, "a size such as 90 cm or 4 x 4 ft") from None
    if not all(0.02 <= side <= 12.0 for side in lengths):
        raise _unread(f"{text!r} is no size of a light", said, "a size from 2 cm to 12 m")
    return lengths[0], lengths[-1]


def _power(text: str, said: str) -> float:
    power = float(parse_power(text))
    if not 1.0 <= power <= 24_000.0:
        raise _unread(f"{text} is no power of a head", said, "a power from 1 W to 24 kW")
    return power


def _panel_size(power_w: float) -> tuple[float, float]:
    """Usual sides of a lit panel: about 30 x 30 cm for each 100 W (common practice, no source)."""
    side = round(0.3 * (power_w / 100.0) ** 0.5, 2)
    return side, side


def _unread(what: str, said: str, expected: str) -> FixtureTextError:
    return FixtureTextError(
        Fault(what=what, expected=expected, found=said, fix=f"write it like {_EXAMPLE!r}")
    )
