"""Colour-mixing heads: which share of each emitter gives a wanted colour, and at what loss."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from falloff.errors import FalloffError, Fault
from falloff.spectrum.chromaticity import checked_xy, uv_1976_from_xy, xy_from_uv_1976
from falloff.spectrum.lamps import band_curve, white_led
from falloff.spectrum.spectra import Spectrum, mixed, xy_of_spectrum
from falloff.spectrum.tables import shipped_toml

Floats = NDArray[np.float64]

_INSIDE: Final = 1e-9  # in x and y and in shares: rounding, not tolerance


@dataclass(frozen=True, slots=True, eq=False)
class Emitter:
    """One colour of a head: its chromaticity (2,), its light at full against the other emitters'.

    full_flux_share: of any common scale (lumens will do); spectrum: None where only x, y is known.
    """

    name: str
    xy: Floats
    full_flux_share: float
    spectrum: Spectrum | None = None


@dataclass(frozen=True, slots=True, eq=False)
class EmitterMix:
    """The most light of a colour that a head can give.

    drive_shares: (n,) of each emitter's full light, 0 to 1; light_shares: (n,) of the light mixed,
    adding up to 1; xy: the colour reached; distance: from the wanted one in CIE 1976 u′, v′, nought
    where it is reached; loss_stops: against all emitters at full; spectrum: None where one
    emitter's is not known.
    """

    emitters: tuple[Emitter, ...]
    drive_shares: Floats
    light_shares: Floats
    xy: Floats
    distance: float
    loss_stops: float
    spectrum: Spectrum | None


def generic_emitters(*names: str) -> tuple[Emitter, ...]:
    """Generic emitters by name: red, green, blue, amber, lime, white, warm white.

    Without names, those of a common RGBW head. Raises FalloffError for another name. Source: from
    memory, generic.
    """
    known = shipped_toml("lamps.toml")["emitters"]
    made = []
    for name in names or ("red", "green", "blue", "white"):
        if name not in known:
            expected = "one of " + ", ".join(known)
            raise FalloffError(
                Fault("no such emitter", where="emitter", expected=expected, found=name)
            )
        made.append(_made(name))
    return tuple(made)


def mix_emitters(emitters: Sequence[Emitter], wanted_xy: ArrayLike) -> EmitterMix:
    """The brightest mix of two to eight emitters that has a chromaticity (2,), or the nearest.

    Of all mixes of that colour the one with most light: with three emitters there is but one, with
    more, the linear programme is solved at its corners, exactly. An unreachable colour is answered
    with the nearest reachable one in CIE 1976 u′, v′. Raises FalloffError for fewer or more
    emitters, and for light that none can have.
    """
    chosen = _checked(emitters)
    wanted = checked_xy(wanted_xy)
    drive = _most_light(chosen, wanted)
    reached = wanted
    if drive is None:
        reached, drive = _nearest(chosen, wanted)
    light = drive * np.array([one.full_flux_share for one in chosen])
    total, full = float(light.sum()), sum(one.full_flux_share for one in chosen)
    spectra = [one.spectrum for one in chosen]
    known = [one for one in spectra if one is not None]
    whole = len(known) == len(chosen)
    return EmitterMix(
        emitters=chosen,
        drive_shares=drive,
        light_shares=light / total,
        xy=reached,
        distance=float(np.hypot(*(uv_1976_from_xy(reached) - uv_1976_from_xy(wanted)))),
        loss_stops=math.log2(full / total),
        spectrum=mixed(list(zip(known, light.tolist(), strict=True))) if whole else None,
    )


def _most_light(emitters: tuple[Emitter, ...], xy: Floats) -> Floats | None:
    """Drives (n,) from 0 to 1 with that colour and most light; None where there are none.

    Two equations hold the colour, so at a corner all drives but two stand at 0 or 1.
    """
    flux = np.array([one.full_flux_share for one in emitters])
    # Each emitter's own colour may be told to 1e-9 only, so near misses count as hits.
    equations = np.array([_pulls(one, xy) for one in emitters]).T
    count = len(emitters)
    best: Floats | None = None
    for pair in itertools.combinations(range(count), 2):
        rest = [one for one in range(count) if one not in pair]
        matrix = equations[:, pair]
        if abs(float(np.linalg.det(matrix))) < 1e-15:
            continue
        fixed = np.array(list(itertools.product((0.0, 1.0), repeat=len(rest)))).T.reshape(
            len(rest), -1
        )
        solved = np.linalg.solve(matrix, -(equations[:, rest] @ fixed))
        drives = np.zeros((count, fixed.shape[1]))
        drives[list(pair)], drives[rest] = solved, fixed
        inside = np.all((drives >= -_INSIDE) & (drives <= 1.0 + _INSIDE), axis=0)
        light = np.where(inside, flux @ drives, 0.0)
        one = np.clip(drives[:, int(np.argmax(light))], 0.0, 1.0)
        if light.max() > _INSIDE * flux.max() and (best is None or flux @ one > flux @ best):
            best = one
    return best


def _pulls(emitter: Emitter, xy: Floats) -> tuple[float, float]:
    """How far an emitter at full pulls a mix from x and from y: X − x·(X+Y+Z) and the like."""
    total = emitter.full_flux_share / float(emitter.xy[1])
    away = total * (emitter.xy - xy)
    return float(away[0]), float(away[1])


def _nearest(emitters: tuple[Emitter, ...], xy: Floats) -> tuple[Floats, Floats]:
    """The nearest colour on a line between two emitters, in u′, v′, and the drives for it."""
    corners = [uv_1976_from_xy(one.xy) for one in emitters]
    target = uv_1976_from_xy(xy)
    best: tuple[float, Floats, int, int] | None = None
    for first, second in itertools.combinations(range(len(emitters)), 2):
        line = corners[second] - corners[first]
        length = float(line @ line)
        along = float(np.clip((target - corners[first]) @ line / length, 0.0, 1.0)) if length else 0
        place = corners[first] + along * line
        away = float(np.hypot(*(target - place)))
        if best is None or away < best[0]:
            best = (away, place, first, second)
    assert best is not None
    _, place, first, second = best
    reached = xy_from_uv_1976(place)
    return reached, _of_two(emitters, reached, (first, second))


def _of_two(emitters: tuple[Emitter, ...], xy: Floats, pair: tuple[int, int]) -> Floats:
    """Most light of a colour on the line between two emitters, by these two alone."""
    first, second = (emitters[one] for one in pair)
    line = second.xy - first.xy
    length = float(line @ line)
    along = float((xy - first.xy) @ line) / length if length else 0.0
    # Shares of X + Y + Z are 1 - along and along; drives follow from each emitter's sum at full.
    drives = np.array([(1.0 - along) * first.xy[1] / first.full_flux_share,
                       along * second.xy[1] / second.full_flux_share])  # fmt: skip
    result = np.zeros(len(emitters))
    result[list(pair)] = np.clip(drives / drives.max(), 0.0, 1.0)
    return result


def _checked(emitters: Sequence[Emitter]) -> tuple[Emitter, ...]:
    chosen = tuple(emitters)
    good = 2 <= len(chosen) <= 8 and all(one.full_flux_share > 0.0 for one in chosen)
    if not good:
        raise FalloffError(
            Fault(
                "these emitters make no colour-mixing head",
                where="emitters",
                expected="two to eight, each with light above nought",
                found=", ".join(f"{one.name} {one.full_flux_share:g}" for one in chosen) or "none",
            )
        )
    for one in chosen:
        checked_xy(one.xy)
    return chosen


def _made(name: str) -> Emitter:
    lamps = shipped_toml("lamps.toml")
    part = lamps["emitters"][name]
    if "white" in part:
        grade, cct_kelvin, duv = part["white"]
        spectrum = white_led(cct_kelvin, duv, grade=grade)
    else:
        spectrum = Spectrum(band_curve(part["band"]), name, lamps["source"])
    return Emitter(name, xy_of_spectrum(spectrum), float(part["flux_share"]), spectrum)
