"""Lamps without their light: stands, shades, and what hangs from a ceiling."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Joiner, Kind, Order

_CLOTH_M = 0.0015
_BULB_M = 0.050  # from the lampholder's mouth to the middle of a bulb


def lamp_stand(order: Order) -> Joiner:
    """A standing lamp without its shade; its level is where the middle of a bulb would be."""
    made = Joiner()
    holder = order.height - 0.001
    _stand(made, order, holder=holder)
    made.mesh("holder", _holder_cup(), at=(0.0, 0.0, order.height - 0.055))
    made.rest(order.height + _BULB_M)
    return made


def floor_lamp(order: Order) -> Joiner:
    """A standing lamp with an open cone for a shade; a bulb's middle is its level."""
    made = Joiner()
    tall = min(0.30, 0.45 * order.height)
    base = order.height - tall
    mouth = base + 0.42 * tall
    _stand(made, order, holder=mouth, reach=0.36)
    made.mesh("holder", _holder_cup(), at=(0.0, 0.0, mouth - 0.054))
    _shade(made, order, low=base, high=order.height, ring=mouth - 0.020)
    made.rest(mouth + _BULB_M)
    return made


def table_lamp(order: Order) -> Joiner:
    """A turned foot under an open cone for a shade; a bulb's middle is its level."""
    made = Joiner()
    tall = 0.46 * order.height
    base = order.height - tall
    r = 0.26 * min(order.width, order.depth)
    mouth = base + 0.40 * tall
    neck = mouth - 0.055 - GAP_M
    profile = [
        (0.0, 0.0), (0.92 * r, 0.0), (r, 0.008), (0.86 * r, 0.020), (0.45 * r, 0.032),
        (0.62 * r, 0.10 * neck + 0.03), (0.95 * r, 0.35 * neck), (0.93 * r, 0.50 * neck),
        (0.55 * r, 0.70 * neck), (0.24 * r, 0.82 * neck), (0.20 * r, neck), (0.0, neck),
    ]  # fmt: skip
    made.mesh("stand", meshes.lathe(_smooth(profile), sides=36))
    made.mesh("holder", _holder_cup(), at=(0.0, 0.0, mouth - 0.055))
    _shade(made, order, low=base, high=order.height, ring=mouth - 0.020)
    made.rest(mouth + _BULB_M)
    return made


def lamp_shade(order: Order) -> Joiner:
    """An open cone with the ring and spokes that carry it; a bulb's middle is its level."""
    made = Joiner()
    ring = 0.34 * order.height
    _shade(made, order, low=0.0, high=order.height, ring=ring)
    hoop = [(0.022, -0.003), (0.025, 0.0), (0.022, 0.003), (0.019, 0.0)]
    made.mesh("ring", meshes.lathe(hoop, hollow=True), at=(0.0, 0.0, ring))
    made.rest(0.5 * order.height)
    return made


def pendant_lamp(order: Order) -> Joiner:
    """A lamp that hangs down from its place: rose at z = 0, the shade's mouth at -height.

    The only piece that lies below its own z = 0.
    """
    made = Joiner()
    h = order.height
    r = 0.5 * order.width
    stretch = (1.0, order.depth / order.width)
    dome = min(0.62 * r + 0.02, 0.6 * h)
    rose = [(0.0, -0.028), (0.012, -0.028), (0.045, -0.016), (0.048, 0.0), (0.0, 0.0)]
    made.mesh("rose", meshes.lathe(rose))
    cap = -h + dome + 0.055
    made.rod("cord", (0.0, 0.0, cap - 0.004), (0.0, 0.0, -0.027), 0.0035)
    holder = [(0.0, -0.110), (0.022, -0.110), (0.024, -0.050), (0.024, 0.0), (0.010, 0.004),
              (0.0, 0.004)]  # fmt: skip
    made.mesh("rose", meshes.lathe(holder), at=(0.0, 0.0, cap - 0.004))
    angle = np.linspace(0.0, math.radians(84.0), 12)
    outside = np.stack([r * np.cos(angle) ** 0.8, dome * np.sin(angle) ** 1.15], 1)
    top = np.array([(0.026, dome + 0.004), (0.026, dome + 0.040)])
    skin = np.concatenate([outside[outside[:, 0] > 0.027], top])
    for part, step in (("shade", 0.0), ("inside", 0.0016)):
        outer = skin - (step, 0.0)
        outer[0, 1] = 0.001 if step else 0.0
        inner = outer[::-1] - (0.0012, 0.0)
        inner[:-1, 1] -= 0.0012
        if step:
            outer[1:, 1] -= 0.0030
            inner[:-1, 1] -= 0.0030
        ring = np.concatenate([outer, inner])
        made.mesh(part, meshes.lathe(ring, hollow=True, sides=48, stretch=stretch),
                  at=(0.0, 0.0, -h))  # fmt: skip
    return made


def _stand(made: Joiner, order: Order, *, holder: float, reach: float = 0.5) -> None:
    """A round iron base and a pole up to the lampholder."""
    r = reach * min(order.width, order.depth)
    stretch = (1.0, 1.0) if reach < 0.5 else (order.width / (2 * r), order.depth / (2 * r))
    base = [(0.0, 0.0), (r, 0.0), (r, 0.010), (0.96 * r, 0.016), (0.4 * r, 0.021),
            (0.16 * r, 0.030), (0.014, 0.045), (0.0, 0.045)]  # fmt: skip
    made.mesh("stand", meshes.lathe(base, sides=48, stretch=stretch))
    made.rod("stand", (0.0, 0.0, 0.040), (0.0, 0.0, holder - 0.056), 0.0105)
    half = 0.5 * holder
    collar = [(0.0, -0.02), (0.014, -0.02), (0.014, 0.02), (0.0, 0.02)]
    made.mesh("stand", meshes.lathe(collar, sides=24), at=(0.0, 0.0, half))


def _holder_cup() -> meshes.Mesh:
    """A lampholder 55 mm tall, its mouth open upward."""
    profile = [
        (0.0, 0.0), (0.011, 0.0), (0.019, 0.008), (0.019, 0.055), (0.0155, 0.055), (0.0155, 0.022),
        (0.0, 0.022),
    ]  # fmt: skip
    return meshes.lathe(profile, sides=24)


def _shade(made: Joiner, order: Order, *, low: float, high: float, ring: float) -> None:
    """An open cone of stiff cloth with hemmed rims, and three spokes that carry it at `ring`."""
    r = 0.5 * order.width
    top, tall, cloth = 0.64 * r, high - low, _CLOTH_M
    stretch = (1.0, order.depth / order.width)
    hem = min(0.008, 0.1 * tall)
    fat = 0.0012
    outside = [(r, 0.0), (r, hem), (r - fat - 0.001, hem + 0.001),
               (top + fat, tall - hem - 0.001), (top + 2.0 * fat, tall - hem),
               (top + fat, tall)]  # fmt: skip
    inside = [(top - cloth, tall), (r - cloth - fat - 0.002, 0.0)]
    made.mesh("shade", meshes.lathe([*outside, *inside], hollow=True, sides=56, stretch=stretch),
              at=(0.0, 0.0, low))  # fmt: skip
    share = (ring - low) / tall
    reach = r + (top - r) * share - 0.5 * cloth - 0.0025
    for k in range(3):
        a = math.radians(90.0 + 120.0 * k)
        out = np.array([math.cos(a), stretch[1] * math.sin(a)])
        made.rod("ring", (*(0.018 * out), ring), (*(reach * out), ring), 0.0016)


def _smooth(profile: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """A turned profile with its corners rounded by two cuts, its ends on the axis kept."""
    points = np.array(profile)
    for _ in range(2):
        inner = points[1:-1]
        near, far = 0.75 * inner[:-1] + 0.25 * inner[1:], 0.25 * inner[:-1] + 0.75 * inner[1:]
        cut = np.stack([near, far], 1).reshape(-1, 2)
        points = np.concatenate([points[:2], cut, points[-2:]])
    return [(float(a), float(b)) for a, b in points]


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "lamp stand": Kind(
            lamp_stand,
            usual_m=(0.30, 0.30, 1.40),
            least_m=(0.12, 0.12, 0.30),
            parts=("stand", "holder"),
            surfaces={"holder": "black metal"},
        ),
        "floor lamp": Kind(
            floor_lamp,
            usual_m=(0.44, 0.44, 1.58),
            least_m=(0.20, 0.20, 0.60),
            parts=("stand", "shade", "holder", "ring"),
            surfaces={"shade": "linen", "holder": "black metal", "ring": "steel"},
        ),
        "table lamp": Kind(
            table_lamp,
            usual_m=(0.32, 0.32, 0.50),
            least_m=(0.16, 0.16, 0.28),
            parts=("stand", "shade", "holder", "ring"),
            surfaces={"shade": "linen", "holder": "black metal", "ring": "steel"},
        ),
        "lamp shade": Kind(
            lamp_shade,
            usual_m=(0.40, 0.40, 0.28),
            least_m=(0.10, 0.10, 0.08),
            parts=("shade", "ring"),
            surfaces={"ring": "steel"},
        ),
        "pendant lamp": Kind(
            pendant_lamp,
            usual_m=(0.40, 0.40, 0.90),
            least_m=(0.16, 0.16, 0.30),
            parts=("shade", "inside", "cord", "rose"),
            surfaces={"inside": "white enamel", "cord": "black cloth", "rose": "black metal"},
        ),
    }
)
