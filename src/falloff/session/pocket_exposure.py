"""What a pocket copy lets one choose at the camera: lists, their stops of light, and matrices."""

from __future__ import annotations

import math
from typing import Final

import msgspec

from falloff.camera import CameraSettings, display_matrix, key_illuminance_lux
from falloff.camera import mid_grey_luminance_nit as grey_nit
from falloff.camera.marked import (
    ISO_MARKED,
    ND_SOLD,
    T_NUMBERS_MARKED,
    stops_of_iso,
    stops_of_t_number,
)
from falloff.camera.tone_table import tone_table
from falloff.document import Setup
from falloff.units import stops_from_density

# White balances that cameras offer: common practice, no source.
_BALANCES_KELVIN: Final = (
    *(2700, 2900, 3000, 3200, 3600, 4000, 4300, 4600, 5000, 5600, 6000, 6500, 7500),
)
_SAME_STOPS: Final = 0.01  # two choices nearer than this are one


class Choice(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of a list: how it is said, and stops more light needed than with the plan's own."""

    text: str
    stops: float


class BalanceChoice(msgspec.Struct, frozen=True, kw_only=True):
    """A white balance: how it is said, and the matrix (9, row by row) for middle grey = 1 cd/m²."""

    text: str
    matrix: tuple[float, ...]


class PocketExposure(msgspec.Struct, frozen=True, kw_only=True):
    """A setup's exposure as planned and what it may be changed to; `own`: places in the lists.

    key_lux, grey_nit: key and middle grey with the plan's own settings. tone: float32
    little-endian table, base64, of `camera.tone_table`.
    """

    key_lux: float
    grey_nit: float
    shutter: str
    stop: tuple[Choice, ...]
    iso: tuple[Choice, ...]
    nd: tuple[Choice, ...]
    balance: tuple[BalanceChoice, ...]
    own: dict[str, int]
    tone: str
    first: int


def pocket_exposure(setup: Setup, settings: CameraSettings) -> PocketExposure:
    """The lists for one setup, its own settings among them."""
    mark = "f/" if setup.stop.text.strip().lower().startswith("f") else "T"
    stop = [(f"{mark}{number:g}", stops_of_t_number(number)) for number in T_NUMBERS_MARKED]
    own_stop = stops_of_t_number(settings.t_number)
    iso = [(f"{number}", stops_of_iso(number)) for number in ISO_MARKED]
    own_iso = stops_of_iso(settings.iso)
    density = [
        (f"ND {one:.1f}" if one else "none", float(stops_from_density(one))) for one in ND_SOLD
    ]
    lists, own = {}, {}
    for key, marked, written, value in (
        ("stop", stop, f"{mark}{settings.t_number:g}", own_stop),
        ("iso", iso, f"{settings.iso:g}", own_iso),
        ("nd", density, setup.nd.text, settings.nd_stops),
    ):
        lists[key], own[key] = _with_own(marked, (written, value))
    balances, own["balance"] = _balances(settings)
    table, first = tone_table(settings.highlight_stops, settings.shadow_stops)
    return PocketExposure(
        key_lux=float(key_illuminance_lux(settings)),
        grey_nit=float(grey_nit(settings)),
        shutter=setup.shutter.text,
        stop=lists["stop"],
        iso=lists["iso"],
        nd=lists["nd"],
        balance=balances,
        own=own,
        tone=base64_of(table.astype("<f4").tobytes()),
        first=first,
    )


def base64_of(raw: bytes) -> str:
    """Bytes as base64 text (RFC 4648)."""
    import base64

    return base64.b64encode(raw).decode("ascii")


def short_number(value: float) -> float:
    """A number to seven figures, of which a float32 holds no more; nought for what is none."""
    return float(f"{value:.7g}") if math.isfinite(value) else 0.0


def _with_own(
    marked: list[tuple[str, float]], own: tuple[str, float]
) -> tuple[tuple[Choice, ...], int]:
    """A list with the plan's own entry in its place, stops counted from that; and its place."""
    text, stops = own
    near = [one for one in marked if abs(one[1] - stops) < _SAME_STOPS]
    kept = [one for one in marked if one not in near]
    mine = (near[0][0] if near else text, stops)
    ordered = sorted([*kept, mine], key=lambda one: one[1])
    choices = tuple(Choice(text=said, stops=value - stops) for said, value in ordered)
    return choices, ordered.index(mine)


def _balances(settings: CameraSettings) -> tuple[tuple[BalanceChoice, ...], int]:
    own = settings.balance_kelvin
    kelvins = sorted({*map(float, _BALANCES_KELVIN), *([own] if own else [])})
    ladder: list[float | None] = [None, *kelvins]
    found = tuple(
        BalanceChoice(
            text=f"{kelvin:g} K" if kelvin else "D65, as the plan has none",
            matrix=_matrix(settings, kelvin),
        )
        for kelvin in (ladder if own is None else ladder[1:])
    )
    return found, (0 if own is None else kelvins.index(own))


def _matrix(settings: CameraSettings, kelvin: float | None) -> tuple[float, ...]:
    """The display matrix of these settings with another balance, its middle grey at 1 cd/m²."""
    balanced = msgspec.structs.replace(settings, balance_kelvin=kelvin)
    matrix = display_matrix(balanced).astype(float) * float(grey_nit(settings))
    return tuple(float(one) for one in matrix.ravel())
