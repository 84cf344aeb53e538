"""The key in words: what the kit reads, and the bulbs, lanterns and fresnels that people also say.

A quick start has no shape that shines all round: a bulb or a lantern stands in it as a front of
its size that gives the face what the real one gives, and nothing behind it. That is said.
"""

from __future__ import annotations

import dataclasses
import difflib
import math
import re
from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from falloff.errors import Fault, FixtureTextError
from falloff.kit import Outfit, head_names, modifier_names, read_outfit
from falloff.session.quick.heads import as_item, bulb_item, rated_power_w
from falloff.session.quick.words import plain_word
from falloff.units import Kelvin, Lumen, parse_power

# Common practice, from memory: a paper lantern passes six tenths, all round; the face of a matte
# disc gets four times what a ball of the same flux gives it (pencil: flux over pi against flux over
# 4 pi).
_LANTERN_PASSES: Final = 0.6
_ALL_ROUND: Final = 0.25
_PANEL_WATTS_PER_FT2: Final = 100.0
_BY_SIZE: Final = ("tungsten", "daylight discharge")  # their lumens per watt go with their size

_POWER: Final = r"(?:(?P<count>[1-9])\s*[x×]\s+)?(?P<power>[0-9.]+\s*(?:k?w|k)?)"
_HEADS: Final = ("bi-colour LED", "LED", "tungsten", "daylight discharge")
_HEAD: Final = f"(?P<head>{'|'.join(_HEADS)})"
_BEFORE_WORD: Final = r"(?=(?:frame|full|white|diffusion|bounce|book|soft|poly|board)\b)"
_OTHER_DIFFUSION: Final = (
    r"\b(?:half|quarter|light|opal|grid|1/2|1/4)\b.*\b(?:diffusion|white|frame)"
)
_DISCHARGE: Final = (
    r"\b(?:par\s+)?(?:daylight\s+discharge|discharge|daylight)(?:\s+head)?\b(?!\s+led)"
)
# What a crew says of modifiers, and the kit's word for it.
_CREW: Final[tuple[tuple[str, str], ...]] = (
    (r"\b([1-9]|1[0-9]|20)\s*(?:x|×|by)\s*([1-9]|1[0-9]|20)\s+" + _BEFORE_WORD, r"\1 x \2 ft "),
    (
        r"(?<!frame of )\b(?:frame\s+of\s+)?(?:full\s+)?(?:white\s+)?diffusion(?:\s+frame)?$",
        "frame of diffusion",
    ),
    (r"\bframe$", "frame of diffusion"),
    (r"\bfull white$", "frame of diffusion"),
    (
        r"\b(?:bounce\s+off\s+)?(?:white\s+)?(?:poly(?:\s?board)?|bounce|(?<!bounce )board)$",
        "bounce board",
    ),
)


def read_key(said: str) -> tuple[Outfit | None, str]:
    """The key's outfit, None for no key, and a note on what it was taken as (mostly empty).

    Raises FixtureTextError for what cannot be read.
    """
    text = " ".join(said.split())
    if plain_word("key", text) == "none":
        return None, ""
    plain, notes = _plain_words(text)
    for pattern, read in _OTHERS:
        found = re.fullmatch(pattern, plain, re.IGNORECASE)
        if found:
            outfit, note = read(found)
            break
    else:
        outfit, note = _plain(plain)
    return replace(outfit, said=text), "; ".join(one for one in (*notes, note) if one)


def _plain_words(text: str) -> tuple[str, list[str]]:
    """A key in the kit's own words, and what was told otherwise as it was taken."""
    joints = r"(\s+(?:in|through|into|with)\s+(?:an?\s+)?)"
    head, *before = re.split(joints, text, maxsplit=1, flags=re.IGNORECASE)
    head = re.sub(_DISCHARGE, "daylight discharge", head, flags=re.IGNORECASE)
    if not before:
        return head, []
    joint, said = before
    if re.search(_OTHER_DIFFUSION, said, re.IGNORECASE):
        raise FixtureTextError(
            Fault(
                what="the quick start has frames of full white diffusion only",
                expected="a frame of diffusion such as '4 x 4 ft frame of diffusion'",
                found=said,
                fix="write that, then change its output in the scene file",
            )
        )
    ours = said
    for pattern, word in _CREW:
        ours = re.sub(pattern, word, ours, flags=re.IGNORECASE)
    notes = [] if ours == said else [f"{said!r} is taken as a {ours}"]
    return f"{head}{joint}{ours}", notes


def _plain(text: str) -> tuple[Outfit, str]:
    """As the kit reads it, "1k" written out; a near miss is told with the kit's own word."""
    try:
        outfit = read_outfit(_watts_first(text))
    except FixtureTextError as error:
        near = _near(text)
        if not near:
            raise
        fault = error.faults[0]
        raise FixtureTextError(
            dataclasses.replace(fault, fix=f"did you mean {near!r}? {fault.fix}")
        ) from None
    form = "parabolic" if outfit.head == "daylight discharge" else "open face"
    each_w = outfit.power_w / outfit.count
    if outfit.modifier == "reflector":
        return _item(outfit.head, form, power_w=each_w, count=outfit.count)
    if outfit.head not in _BY_SIZE or outfit.modifier is None:
        return outfit, ""
    head, usual = (
        as_item(outfit.head, form, power_w=each_w),
        read_outfit(f"{each_w:g} W {outfit.head}"),
    )
    takes_beam = outfit.form in ("panel", "book light") and outfit.modifier != "umbrella"
    share = head.flux_lm / usual.flux_lm if takes_beam else head.bare_lm / usual.bare_lm
    outfit = replace(outfit, flux_lm=Lumen(outfit.flux_lm * share))
    lens = form == "parabolic" and takes_beam
    return outfit, "the head is taken as a parabolic one behind its wide lens" if lens else ""


def _near(text: str) -> str:
    """The kit's word that the end of a text, or what stands before its modifier, nearly is."""
    parts = re.split(r"\s+(?:in|through|into|with)\s+", text.lower())
    tails = [(parts[0], head_names())] + [(one, modifier_names()) for one in parts[1:]]
    for tail, known in tails:
        small = {name.lower(): name for name in (*known, "bulb", "lantern", "fresnel")}
        words = re.sub(r"^[0-9.]+\s*(?:k?w|[a-z'\"]+)\s+", "", tail).split()
        for k in range(len(words)):
            said = " ".join(words[k:])
            if said in small:
                break
            near = difflib.get_close_matches(said, small, n=1, cutoff=0.75)
            if near:
                return small[near[0]]
    return ""


def _panel(found: re.Match[str]) -> tuple[Outfit, str]:
    """A "1x1 panel" in feet, at so many watts a square foot where none are said."""
    across, up = float(found["across"]), float(found["up"])
    power = _power(found["power"] or f"{_PANEL_WATTS_PER_FT2 * across * up:g} W")
    outfit = read_outfit(f"{power} {across:g} x {up:g} ft LED panel")
    size = f"a panel of {across:g} x {up:g} ft"
    return outfit, size if found["power"] else f"{size}, {power} (no watts were said)"


def _head(found: re.Match[str]) -> tuple[Outfit, str]:
    """A Fresnel, a parabolic or an open-face head, perhaps at spot."""
    said = found["head"] or "tungsten"
    head = next(one for one in _HEADS if one.lower() == said.lower())
    form = {"fresnel": "Fresnel", "par": "parabolic", "parabolic": "parabolic"}.get(
        found["form"].lower(), "open face"
    )
    if form == "parabolic" and head != "daylight discharge":
        raise FixtureTextError(
            Fault(
                what=f"the kit has no parabolic head of {head}",
                expected="a parabolic daylight discharge head, a Fresnel, an open face",
                found=found[0],
                fix="write it like '1.2 kW daylight discharge, parabolic'",
            )
        )
    watts = float(parse_power(_power(found["power"])))
    if not 1.0 <= watts <= 24_000.0:
        read_outfit(f"{watts:g} W {head}")  # says what is wrong with it
    way = (found["way"] or "").lower()
    return _item(head, form, power_w=watts, count=int(found["count"] or 1), way=way)


def _item(head: str, form: str, *, power_w: float, count: int, way: str = "") -> tuple[Outfit, str]:
    """The kit's item and a note; what is the catalogue's to the word needs none."""
    outfit = as_item(head, form, power_w=power_w, count=count, way=way)
    assert outfit.beam_rad is not None
    angle = f"{math.degrees(outfit.beam_rad):.0f}°"
    if outfit.form == "fresnel":
        at = "full spot" if outfit.beam_rad == outfit.spot_rad else "full flood"
        return outfit, f"a Fresnel is taken at {at}, {angle}: the kit's {outfit.said}"
    if form == "parabolic":
        return (
            outfit,
            f"the head is taken as the kit's {outfit.said}, behind its wide lens, {angle}",
        )
    return outfit, ""


def _lantern(found: re.Match[str]) -> tuple[Outfit, str]:
    before, size = found["before"].strip(), (found["size"] or "60 cm").strip()
    bare, _ = read_key(before)
    assert bare is not None
    frame = read_outfit(f"100 W LED in {size} frame of diffusion")
    outfit = replace(
        bare,
        modifier="lantern",
        form="panel",
        size_m=frame.size_m,
        flux_lm=Lumen(bare.bare_lm * _LANTERN_PASSES * _ALL_ROUND),
        modifier_spread_stops=0.6,
        beam_rad=None,
    )
    return outfit, f"a lantern is taken as a {size} front that gives the face as much; {_BEHIND}"


def _bulb(found: re.Match[str]) -> tuple[Outfit, str]:
    """A bulb as the kit's household bulb of the nearest power, by the watt."""
    led = bool(found["led"])
    count, watts = int(found["count"] or 1), float(parse_power(_power(found["power"])))
    item = bulb_item("LED white" if led else "tungsten", watts)
    bare_lm = item.flux_lm * count * watts / rated_power_w(item)
    frame = read_outfit(f"{count} x {watts:g} W LED in 6 cm frame of diffusion")
    outfit = replace(
        frame,
        head="LED bulb" if led else "bulb",
        modifier=None,
        flux_lm=Lumen(bare_lm * _ALL_ROUND),
        bare_lm=Lumen(bare_lm),
        colour_kelvin=Kelvin(item.kelvin),
        power_factor=item.power_factor,
        head_spread_stops=item.spread_stops,
        modifier_spread_stops=0.0,
    )
    of = f"{item.flux_lm / rated_power_w(item):.0f} lm/W, {item.kelvin:g} K"
    return outfit, f"the bulb is bare, the kit's {item.name}: {of}; {_BEHIND}"


_BEHIND: Final = "what it throws round the room is left out"
_OTHERS: Final[tuple[tuple[str, Callable[[re.Match[str]], tuple[Outfit, str]]], ...]] = (
    (
        (
            r"(?:(?P<power>[0-9.]+\s*k?w)\s+)?(?P<across>[1-9])\s*(?:x|×|by)\s*(?P<up>[1-9])"
            r"\s+(?:led\s+)?panel"
        ),
        _panel,
    ),
    (
        _POWER + rf"\s+{_HEAD}?,?\s*(?P<form>fresnel|par|parabolic|open[ -]face)"
        r"(?:,?\s+(?:at\s+)?(?:full\s+)?(?P<way>spot|flood)(?:ted|ed)?)?",
        _head,
    ),
    (
        (
            r"(?P<before>.+?)\s+(?:in|with|into)\s+(?:an?\s+)?"
            r"(?P<size>[0-9.]+\s*[a-z'\"]+\s+)?(?:paper\s+|china\s+)?lantern"
        ),
        _lantern,
    ),
    (_POWER + r"\s+(?P<led>led\s+)?(?:bare\s+|household\s+|light\s*)?bulbs?", _bulb),
)


def _power(text: str) -> str:
    """A power with its unit: "1k" is 1 kW, a bare number is watts."""
    text = text.strip().lower()
    if text.endswith("k"):
        return f"{text[:-1].strip()} kW"
    return text.replace("kw", "kW").replace("w", "W") if text.endswith("w") else f"{text} W"


def _watts_first(text: str) -> str:
    """A head of "1k" as the kit writes it; anything else as it is."""
    found = re.fullmatch(r"((?:[1-9]\s*[x×]\s+)?)([0-9.]+)\s*k\s+(.+)", text, re.IGNORECASE)
    if not found:
        return text
    return f"{found[1]}{found[2]} kW {found[3]}"
