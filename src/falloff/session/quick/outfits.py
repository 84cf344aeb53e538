"""The key in words: what the kit reads, and the bulbs, lanterns and fresnels that people also say.

A quick start has no shape that shines all round: a bulb or a lantern stands in it as a front of
its size that gives the face what the real one gives, and nothing behind it. That is said.
"""

from __future__ import annotations

import dataclasses
import difflib
import re
from collections.abc import Callable
from typing import Final

from msgspec.structs import replace

from falloff.errors import FixtureTextError
from falloff.kit import Outfit, head_names, modifier_names, read_outfit
from falloff.session.quick.words import plain_word
from falloff.units import Kelvin, Lumen

# Common practice, from memory: a household filament bulb gives 13 lm/W; a paper lantern passes
# six tenths, all round; the face of a matte disc gets four times what a ball of the same flux
# gives it (pencil: flux over pi against flux over 4 pi); a fresnel at flood keeps back more than
# half of what an open face of the same lamp lets out.
_BULB_LM_PER_W: Final = 13.0
_LED_BULB_LM_PER_W: Final = 90.0
_LANTERN_PASSES: Final = 0.6
_ALL_ROUND: Final = 0.25
_FRAME_PASSES: Final = 0.30  # of the kit's frame of diffusion, whose place a lantern takes
_FRESNEL_OF_OPEN_FACE: Final = 0.45
_PANEL_WATTS_PER_FT2: Final = 100.0

_POWER: Final = r"(?:(?P<count>[1-9]\s*[x×]\s+))?(?P<power>[0-9.]+\s*(?:k?w|k)?)"


def read_key(said: str) -> tuple[Outfit | None, str]:
    """The key's outfit, None for no key, and a note on what it was taken as (mostly empty).

    Raises FixtureTextError for what cannot be read.
    """
    text = " ".join(said.split())
    if plain_word("key", text) == "none":
        return None, ""
    for pattern, read in _OTHERS:
        found = re.fullmatch(pattern, text, re.IGNORECASE)
        if found:
            outfit, note = read(found)
            return replace(outfit, said=text), note
    return _plain(text), ""


def _plain(text: str) -> Outfit:
    """As the kit reads it, "1k" written out; a near miss is told with the kit's own word."""
    try:
        return read_outfit(_watts_first(text))
    except FixtureTextError as error:
        near = _near(text)
        if not near:
            raise
        fault = error.faults[0]
        raise FixtureTextError(
            dataclasses.replace(fault, fix=f"did you mean {near!r}? {fault.fix}")
        ) from None


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


def _fresnel(found: re.Match[str]) -> tuple[Outfit, str]:
    head = (found["head"] or "tungsten").strip()
    outfit = read_outfit(f"{found['count'] or ''}{_power(found['power'])} {head}")
    lens = replace(
        outfit,
        modifier="fresnel lens",
        flux_lm=Lumen(outfit.flux_lm * _FRESNEL_OF_OPEN_FACE),
        modifier_spread_stops=0.6,
    )
    return lens, f"a fresnel is taken at full flood, on {head}"


def _lantern(found: re.Match[str]) -> tuple[Outfit, str]:
    before, size = found["before"].strip(), (found["size"] or "60 cm").strip()
    if re.search(r"bulb$", before, re.IGNORECASE):
        bare, _ = read_key(before)
        assert bare is not None
        frame = read_outfit(f"{bare.power_w:g} W tungsten in {size} frame of diffusion")
        flux = bare.flux_lm * _LANTERN_PASSES
        whole = replace(bare, size_m=frame.size_m, flux_lm=Lumen(flux))
    else:
        whole = read_outfit(f"{_watts_first(before)} in {size} frame of diffusion")
        share = _LANTERN_PASSES * _ALL_ROUND / _FRAME_PASSES
        whole = replace(whole, flux_lm=Lumen(whole.flux_lm * share))
    outfit = replace(whole, modifier="lantern", modifier_spread_stops=0.6)
    return outfit, f"a lantern is taken as a {size} front that gives the face as much; {_BEHIND}"


def _bulb(found: re.Match[str]) -> tuple[Outfit, str]:
    led = bool(found["led"])
    power = _power(found["power"])
    frame = read_outfit(
        f"{found['count'] or ''}{power} {'LED' if led else 'tungsten'} in 6 cm frame of diffusion"
    )
    per_watt = _LED_BULB_LM_PER_W if led else _BULB_LM_PER_W
    outfit = replace(
        frame,
        head="LED bulb" if led else "bulb",
        modifier=None,
        flux_lm=Lumen(frame.power_w * per_watt * _ALL_ROUND),
        colour_kelvin=Kelvin(2700.0),
        modifier_spread_stops=0.0,
    )
    kind = "an LED bulb" if led else "a household filament bulb"
    return outfit, f"{kind}, bare, {per_watt:g} lm/W, 2700 K; {_BEHIND}"


_BEHIND: Final = "what it throws round the room is left out"
_OTHERS: Final[tuple[tuple[str, Callable[[re.Match[str]], tuple[Outfit, str]]], ...]] = (
    (
        (
            r"(?:(?P<power>[0-9.]+\s*k?w)\s+)?(?P<across>[1-9])\s*(?:x|×|by)\s*(?P<up>[1-9])"
            r"\s+(?:led\s+)?panel"
        ),
        _panel,
    ),
    (_POWER + r"\s+(?P<head>led|bi-colour led|tungsten|daylight discharge)?\s*fresnel", _fresnel),
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
    rest = re.sub(r"\s*\bopen[ -]face\b", "", found[3], flags=re.IGNORECASE).strip()
    return f"{found[1]}{found[2]} kW {rest or 'tungsten'}"
