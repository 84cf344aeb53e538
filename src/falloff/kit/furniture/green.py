"""Plants in pots, the same each time."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import Joiner, Kind, Order
from falloff.types import Float64Array

_GOLDEN_RAD = math.pi * (3.0 - math.sqrt(5.0))
_THICK_M = 0.0012


@dataclass(frozen=True, slots=True)
class _Leaf:
    """Where a blade begins, where it points (turn, rise; rad), and its shape in metres."""

    base: Float64Array
    turn_rad: float
    rise_rad: float
    length: float
    wide: float
    droop_rad: float
    fold: float = 0.25
    cuts: int = 9


def plant(order: Order) -> Joiner:
    """A pot plant with broad leaves on upright stems, about as tall as a child."""
    made = Joiner()
    pot, radius = _pot(made, order, tall=0.24, wide=0.40)
    dice = np.random.default_rng(20)
    tall = order.height - pot
    reach = 0.5 * min(order.width, order.depth)
    stems, leaves = [], []
    length = min(0.30, 0.66 * reach + 0.03)
    per_stem = min(22, max(9, round(20.0 * tall)))
    for k in range(3):
        turn = 2.1 * k + 0.4
        foot = 0.35 * radius * np.array([math.cos(turn), math.sin(turn)])
        lean = 0.34 * reach * np.array([math.cos(turn), math.sin(turn)]) * (0.6 + 0.4 * (k > 0))
        top = pot + tall * (0.88, 0.70, 0.52)[k]
        path = _stem(foot, lean, low=pot - 0.03, high=top, sway=0.02 * dice.normal(size=2))
        stems.append(meshes.upright(path, np.linspace(0.009, 0.004, len(path)), sides=8))
        leaves += _leaves_along(path, per_stem - 2 * k, length, dice, turn)
    _finish(made, order, stems=stems, leaves=leaves, base=pot)
    return made


def small_plant(order: Order) -> Joiner:
    """A pot plant for a sill or a table: a tuft of long leaves that arch over the rim."""
    made = Joiner()
    pot, radius = _pot(made, order, tall=0.38, wide=0.42)
    dice = np.random.default_rng(7)
    reach = 0.5 * min(order.width, order.depth)
    leaves = []
    count = 34
    for k in range(count):
        inner = k / (count - 1)  # 0 outside, 1 in the heart
        turn = _GOLDEN_RAD * k
        foot = 0.55 * radius * (1.0 - inner)
        base = np.array([foot * math.cos(turn), foot * math.sin(turn), pot - 0.008])
        leaves.append(
            _Leaf(
                base,
                turn + 0.15 * float(dice.normal()),
                math.radians(52.0 + 34.0 * inner + 5.0 * float(dice.normal())),
                (1.15 + 0.2 * float(dice.random())) * (reach + 0.35 * (order.height - pot)) * 0.9,
                0.085 * reach + 0.010,
                math.radians(125.0 - 95.0 * inner),
                0.45,
                13,
            )
        )
    _finish(made, order, stems=[], leaves=leaves, base=pot)
    return made


def _pot(made: Joiner, order: Order, *, tall: float, wide: float) -> tuple[float, float]:
    """A clay pot with a rim, and earth in it: height of the earth and radius of its mouth."""
    r = min(0.5 * wide * min(order.width, order.depth), 0.19)
    h = min(tall * order.height, 2.0 * r)
    wall, rim = 0.09 * r, 0.20 * h
    profile = [
        (0.0, 0.0), (0.70 * r, 0.0), (0.72 * r, 0.02 * h), (0.93 * r, h - rim), (r, h - rim),
        (r, h - 0.02 * h), (0.985 * r, h), (r - 1.2 * wall, h), (0.93 * r - wall, h - rim),
        (0.70 * r - wall, 0.10 * h), (0.0, 0.10 * h),
    ]  # fmt: skip
    made.mesh("pot", meshes.lathe(profile, sides=40))
    earth = h - 0.6 * rim
    inner = 0.93 * r - wall
    made.mesh("soil", meshes.lathe([
        (0.0, 0.10 * h + 0.001), (0.70 * r - wall - 0.003, 0.10 * h + 0.001),
        (inner - 0.004, earth - 0.004), (0.6 * inner, earth + 0.003), (0.25 * inner, earth),
        (0.0, earth + 0.004),
    ], sides=28))  # fmt: skip
    return earth, inner


def _stem(
    foot: Float64Array, lean: Float64Array, *, low: float, high: float, sway: Float64Array
) -> Float64Array:
    s = np.linspace(0.0, 1.0, 9)
    path = np.empty((9, 3))
    path[:, :2] = foot + s[:, None] ** 1.3 * lean + np.sin(2.0 * math.pi * s)[:, None] * sway
    path[:, 2] = low + s * (high - low)
    return path


def _leaves_along(
    path: Float64Array, count: int, length: float, dice: np.random.Generator, turn: float
) -> list[_Leaf]:
    """Leaves in a spiral up a stem: old and hanging below, young and upright at the tip."""
    leaves = []
    for k in range(count):
        share = k / (count - 1)
        s = 0.16 + 0.84 * share
        at = np.array(
            [np.interp(s, np.linspace(0.0, 1.0, len(path)), path[:, i]) for i in range(3)]
        )
        young = share**5
        size = (
            length
            * (0.80 + 0.30 * math.sin(math.pi * min(1.0, share + 0.25)))
            * (1.0 - 0.5 * young)
        )
        leaves.append(
            _Leaf(
                at,
                turn + _GOLDEN_RAD * k + 0.2 * float(dice.normal()),
                math.radians(16.0 + 26.0 * share + 26.0 * young + 8.0 * float(dice.normal())),
                size,
                0.40 * size,
                math.radians(62.0 - 40.0 * young + 10.0 * float(dice.normal())),
                0.22 + 0.08 * float(dice.random()),
            )
        )
    return leaves


def _blade(leaf: _Leaf) -> meshes.Mesh:
    """A closed, thin blade on a short stalk: folded along its rib, bent down along its length."""
    s = np.array(
        [0.0, 0.13, *(0.22 + 0.78 * np.sin(np.linspace(0.0, 0.5 * math.pi, leaf.cuts - 2)))]
    )
    rise = leaf.rise_rad - leaf.droop_rad * np.maximum(0.0, s - 0.05) ** 1.2
    step = np.diff(s, prepend=0.0) * leaf.length
    out, up = np.cumsum(step * np.cos(rise)), np.cumsum(step * np.sin(rise))
    ahead = np.array([math.cos(leaf.turn_rad), math.sin(leaf.turn_rad), 0.0])
    aside = np.array([-ahead[1], ahead[0], 0.0])
    spine = leaf.base + out[:, None] * ahead + up[:, None] * np.array([0.0, 0.0, 1.0])
    normal = -np.sin(rise)[:, None] * ahead + np.cos(rise)[:, None] * np.array([0.0, 0.0, 1.0])
    blade = np.clip((s - 0.12) / 0.88, 0.0, 1.0)
    half = 0.5 * leaf.wide * 1.9 * blade**0.62 * (1.0 - blade) ** 0.72
    half = np.maximum(half, np.where(s < 0.2, 0.0020, 0.0))[:, None]
    ripple = 0.05 * half * np.sin(14.0 * s)[:, None]
    edge = leaf.fold * half + ripple
    thick = _THICK_M * np.where(s < 0.15, 2.2, 1.0)[:, None] * np.where(s == 1.0, 0.0, 1.0)[:, None]
    left, right = spine + half * aside + edge * normal, spine - half * aside + edge * normal
    # Both faces share their edges and are cut alike, so that they never cross.
    upper = np.stack([left, spine + 0.5 * thick * normal, right], axis=1)
    lower = np.stack([left, spine - 0.5 * thick * normal, right], axis=1)
    return meshes.between(upper[:, ::-1], lower[:, ::-1])


def _finish(
    made: Joiner, order: Order, *, stems: list[meshes.Mesh], leaves: list[_Leaf], base: float
) -> None:
    """Stretch the whole crown so that it just fills the size that was asked for."""
    blades = meshes.joined(*[_blade(leaf) for leaf in leaves])
    fit = _fit(blades[0], order, base)
    made.mesh("leaves", meshes.shaded(fit(blades[0]), math.radians(70.0)))
    for stem in stems:
        made.mesh("stems", meshes.shaded(fit(stem[0]), math.radians(60.0)))


def _fit(crown: Float64Array, order: Order, base: float) -> Callable[[Float64Array], Float64Array]:
    """A stretch about the pot's axis, apart to each side, that brings a crown to the size."""
    low, high = crown.min(axis=(0, 1)), crown.max(axis=(0, 1))
    sides = (0.5 * order.width, 0.5 * order.depth)
    rise = (order.height - base) / (high[2] - base)
    fall = min(1.0, (base - 0.02) / max(base - low[2], 1e-9))

    def stretched(points: Float64Array) -> Float64Array:
        moved = points.copy()
        for k in range(2):
            scale = np.where(points[..., k] > 0.0, sides[k] / high[k], -sides[k] / low[k])
            moved[..., k] *= scale
        z = points[..., 2] - base
        moved[..., 2] = base + z * np.where(z > 0.0, rise, fall)
        return moved

    return stretched


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "plant": Kind(
            plant,
            usual_m=(0.75, 0.72, 1.20),
            least_m=(0.30, 0.30, 0.45),
            parts=("leaves", "stems", "pot", "soil"),
            surfaces={"stems": "dark leaf green", "pot": "terracotta", "soil": "soil"},
        ),
        "small plant": Kind(
            small_plant,
            usual_m=(0.34, 0.33, 0.30),
            least_m=(0.12, 0.12, 0.12),
            parts=("leaves", "pot", "soil"),
            surfaces={"pot": "terracotta", "soil": "soil"},
        ),
    }
)
