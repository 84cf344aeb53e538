"""What hangs on walls, lies on floors and stands on shelves: frames, boards, cloth, books."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.piece import GAP_M, Each, Joiner, Kind, Order, Size, bays
from falloff.types import Float64Array


def picture_frame(order: Order) -> Joiner:
    """A picture in a moulded frame with a mount; its back against the wall."""
    made = Joiner()
    wide = min(0.035, 0.12 * min(order.width, order.height))
    d = order.depth
    profile = [(0.0, 0.0), (0.0, 0.7 * d), (0.25 * wide, d), (0.5 * wide, 0.92 * d),
               (wide, 0.6 * d), (wide, 0.0)]  # fmt: skip
    middle = (0.0, 0.5 * d, 0.5 * order.height)
    made.mesh("frame", meshes.surround((order.width, order.height), profile), at=middle)
    w, h = 0.5 * order.width - wide - GAP_M, 0.5 * order.height - wide - GAP_M
    z = (0.5 * order.height - h, 0.5 * order.height + h)
    back = 0.5 * d
    made.box("mount", (-w, w), (back - 0.35 * d, back - 0.1 * d), z)
    border = 0.30 * min(w, h)
    face = back - 0.35 * d
    made.box("picture", (-w + border, w - border), (face - 0.0016, face - 0.0006),
             (z[0] + 1.1 * border, z[1] - border))  # fmt: skip
    return made


def noticeboard(order: Order) -> Joiner:
    """A framed cork board with pinned papers; its back against the wall."""
    made = Joiner()
    d, wide = order.depth, 0.024
    profile = [(0.0, 0.0), (0.0, d - 0.004), (wide, d - 0.004), (wide, 0.0)]
    h = order.height
    back = 0.5 * d
    made.mesh("frame", meshes.surround((order.width, h), profile), at=(0.0, back, 0.5 * h))
    inner = wide + GAP_M
    face = back - max(0.004, d - 0.014)
    made.box(
        "board", (order.x[0] + inner, order.x[1] - inner), (face, back - 0.002), (inner, h - inner)
    )
    dice = np.random.default_rng(5)
    columns = max(1, int((order.width - 2 * inner) / 0.20))
    rows = max(1, int((h - 2 * inner) / 0.25))
    cells_x = bays(order.x[0] + inner + 0.02, order.x[1] - inner - 0.02, count=columns, gap=0.02)
    cells_z = bays(inner + 0.02, h - inner - 0.02, count=rows, gap=0.02)
    for k, (cx, cz) in enumerate((cx, cz) for cx in cells_x for cz in cells_z):
        if k % 5 == 3:
            continue
        size = (
            (0.148, 0.21)
            if dice.random() < 0.4
            else (0.20, 0.145)
            if dice.random() < 0.4
            else (0.18, 0.25)
        )
        fit = min(1.0, 0.86 * (cx[1] - cx[0]) / size[0], 0.86 * (cz[1] - cz[0]) / size[1])
        wide_, tall = fit * size[0], fit * size[1]
        at = np.array([0.5 * sum(cx) + 0.008 * dice.normal(), face - 0.0012, 0.5 * sum(cz)])
        tilt = 0.03 * float(dice.normal())
        axes = np.array([[math.cos(tilt), 0.0, math.sin(tilt)], [0.0, 1.0, 0.0],
                         [-math.sin(tilt), 0.0, math.cos(tilt)]])  # fmt: skip
        made.board("papers", at, size=(wide_, 0.001, tall), axes=axes)
        pin = at + axes[2] * (0.5 * tall - 0.012)
        made.rod("pins", pin - (0.0, 0.001, 0.0), (pin[0], -0.5 * d, pin[2]), 0.0055, taper=0.8)
    return made


def radiator(order: Order) -> Joiner:
    """A panel radiator on its pipes: the front ribbed, a grille on top, a valve at the right."""
    made = Joiner()
    foot = min(0.11, 0.2 * order.height)
    x, y = (order.x[0], order.x[1] - 0.045), (order.y[0], order.y[1] - 0.030)
    z = (foot, order.height - 0.005)
    sheet = 0.018
    made.mesh("panel", _ribs(x, z, front=y[0], back=y[0] + sheet))
    made.box("panel", x, (y[1] - 0.012, y[1]), z)
    between = (y[0] + sheet + GAP_M, y[1] - 0.013)
    made.box("panel", (x[0], x[0] + 0.004), between, z)
    made.box("panel", (x[1] - 0.004, x[1]), between, z)
    made.box("grille", (x[0], x[1]), (y[0] + 0.006, y[1]), (order.height - 0.004, order.height))
    inner = (x[0] + 0.012, x[1] - 0.012)
    for span in bays(*inner, count=max(3, round((x[1] - x[0]) / 0.10)), gap=0.055):
        made.box("panel", span, between, (z[0] + 0.02, z[1] - 0.012))
    middle = 0.5 * (y[0] + y[1])
    for at in (x[0] + 0.06, x[1] - 0.06):
        made.box("brackets", (at - 0.02, at + 0.02), (y[1] + GAP_M, order.y[1]),
                 (z[1] - 0.14, z[1] - 0.05))  # fmt: skip
    pipe = x[1] + 0.020
    made.rod("pipes", (pipe, middle, 0.0), (pipe, middle, z[0] + 0.055), 0.0085)
    made.rod("pipes", (x[1] + 0.0006, middle, z[0] + 0.04), (pipe, middle, z[0] + 0.04), 0.010)
    valve = [(0.0, 0.0), (0.014, 0.0), (0.016, 0.006), (0.022, 0.010), (0.0225, 0.05),
             (0.018, 0.058), (0.0, 0.058)]  # fmt: skip
    made.mesh("valve", meshes.lathe(valve, sides=24),
              at=(order.x[1] - 0.0225, middle, z[0] + 0.0555))  # fmt: skip
    left = x[0] + 0.04
    made.rod("pipes", (left, middle, 0.0), (left, middle, z[0] + 0.021), 0.0085)
    made.rest(order.height)
    return made


def _ribs(
    x: tuple[float, float], z: tuple[float, float], *, front: float, back: float
) -> meshes.Mesh:
    """A pressed sheet: upright ribs that run out toward its upper and lower edge."""
    ribs = max(3, round((x[1] - x[0]) / 0.036))
    u = np.linspace(0.0, 1.0, 8 * ribs + 1)
    v = np.array([0.0, 0.012, 0.05, 0.075, 0.10, 0.5, 0.90, 0.925, 0.95, 0.988, 1.0])
    deep = np.interp(v, [0.0, 0.05, 0.10, 0.90, 0.95, 1.0], [0.0, 0.0, 1.0, 1.0, 0.0, 0.0])
    wave = np.clip(0.9 * np.cos(2.0 * math.pi * ribs * u) + 0.5, 0.0, 1.0)
    grid = np.empty((len(u), len(v), 3))
    grid[..., 0] = (x[0] + u * (x[1] - x[0]))[:, None]
    grid[..., 1] = front + 0.010 * wave[:, None] * deep
    edge = np.interp(v, [0.0, 0.012, 0.988, 1.0], [0.006, 0.0, 0.0, 0.006])
    grid[..., 1] += edge
    grid[..., 2] = z[0] + v * (z[1] - z[0])
    rear = grid.copy()
    rear[..., 1] = back
    return meshes.between(grid, rear)


def letterboxes(order: Order) -> Joiner:
    """A row of `count` letterboxes for a stairwell: doors with slot, name card and lock."""
    made = Joiner()
    proud = 0.012
    face = order.y[0] + proud
    h = order.height
    made.box("body", order.x, (face + 0.003, order.y[1]), (0.0, h))
    for span in bays(order.x[0] + 0.008, order.x[1] - 0.008, count=order.count, gap=0.006):
        wide = span[1] - span[0]
        middle = 0.5 * (span[0] + span[1])
        made.box("doors", span, (face, face + 0.002), (0.008, h - 0.008))
        flap = (0.80 * h, 0.80 * h + 0.032)
        half = 0.40 * wide
        made.box("flaps", (middle - half, middle + half), (order.y[0] + 0.003, face - 0.0006),
                 flap, soft=0.003)  # fmt: skip
        half = 0.19 * wide
        made.box("cards", (middle - half, middle + half), (face - 0.0016, face - 0.0005),
                 (0.62 * h, 0.62 * h + 0.020))  # fmt: skip
        at = (middle, 0.42 * h)
        made.rod(
            "locks", (at[0], face - 0.0005, at[1]), (at[0], order.y[0], at[1]), 0.010, taper=0.92
        )
    made.rest(h)
    return made


def cloth(order: Order) -> Joiner:
    """A folded towel as it hangs over a bar: two layers, soft upright folds; no bar."""
    made = Joiner()
    thick = 0.007
    u = np.linspace(-1.0, 1.0, 49)
    half = 0.5 * order.height
    bend = min(0.010, 0.2 * order.depth)
    a = np.linspace(math.pi, 0.0, 7)
    front = [(-bend, z) for z in np.linspace(-half, half - bend - 0.5 * thick, 14)]
    arc = [(bend * math.cos(t), half - bend - 0.5 * thick + bend * math.sin(t)) for t in a[1:-1]]
    rear = [(bend, z) for z in np.linspace(half - bend - 0.5 * thick, -0.72 * half, 12)]
    line = np.array([*front, *arc, *rear])
    grid = np.empty((len(u), len(line), 3))
    fall = np.clip((half - line[:, 1]) / order.height, 0.0, 1.0)
    room = 0.5 * order.depth - bend - 0.5 * thick
    wave = 0.62 * np.sin(2.6 * math.pi * u + 0.4) + 0.38 * np.sin(5.9 * math.pi * u + 1.1)
    sign = np.where(line[:, 0] < 0.0, 1.0, 0.8)
    grid[..., 0] = u[:, None] * (0.5 * order.width) * (1.0 - 0.05 * fall * (1.0 - fall))
    grid[..., 1] = line[:, 0] + wave[:, None] * fall * sign * room
    grid[..., 2] = line[:, 1]
    corners, _ = meshes.sheet(grid, thick)
    made.mesh("cloth", meshes.shaded(_filled(corners, order), math.radians(60.0)))
    return made


def _filled(corners: Float64Array, order: Order) -> Float64Array:
    """Corners moved and stretched by a little to fill the size exactly, floor at z = 0."""
    low, high = corners.min(axis=(0, 1)), corners.max(axis=(0, 1))
    size = np.array([order.width, order.depth, order.height])
    base = np.array([-0.5 * order.width, -0.5 * order.depth, 0.0])
    filled: Float64Array = base + (corners - low) * size / (high - low)
    return filled


def rug(order: Order) -> Joiner:
    """A rug a centimetre thick, or as thick as its height says, fringed at both ends."""
    made = Joiner()
    fringe = min(0.05, 0.05 * order.width)
    x = (order.x[0] + fringe, order.x[1] - fringe)
    made.box("rug", x, order.y, (0.0, order.height))
    tufts = max(4, min(60, round(order.depth / 0.03)))
    thin = min(0.004, 0.5 * order.height)
    blades = []
    for y in bays(order.y[0] + 0.003, order.y[1] - 0.003, count=tufts, gap=0.008):
        for near, far in ((x[0] - GAP_M, order.x[0]), (x[1] + GAP_M, order.x[1])):
            outline = [(near, y[0]), (near, y[1]), (far, y[0] + 0.7 * (y[1] - y[0])),
                       (far, y[0] + 0.3 * (y[1] - y[0]))]  # fmt: skip
            blades.append(meshes.prism(outline, axis="z", low=0.0, high=thin))
    made.mesh("fringe", meshes.joined(*blades))
    made.rest(order.height)
    return made


def books(order: Order) -> Joiner:
    """A row of `count` books, spines to the front, of differing height, depth and thickness."""
    made = Joiner()
    dice = np.random.default_rng(3)
    n = order.count
    share = dice.uniform(0.6, 1.6, n)
    gap = 0.0008
    thick = (order.width - gap * (n - 1)) * share / share.sum()
    tall = dice.uniform(0.74, 0.97, n)
    deep = dice.uniform(0.78, 0.97, n)
    tall[n // 2], deep[n // 2] = 1.0, 1.0
    x = order.x[0]
    for k in range(n):
        h, d = float(tall[k]) * order.height, float(deep[k]) * order.depth
        front = (
            order.y[0] if d > 0.95 * order.depth else order.y[0] + float(dice.uniform(0.0, 0.006))
        )
        t = float(thick[k])
        part = ("books", "red books", "dark books", "pale books")[int(dice.integers(4))]
        _book(made, part, (x, x + t), front=front, deep=d, tall=h)
        x += t + gap
    made.rest(float(tall.min()) * order.height, order.height)
    return made


def _book(
    made: Joiner, part: str, x: tuple[float, float], *, front: float, deep: float, tall: float
) -> None:
    """A cover, rounded at the spine, about a block of pages."""
    t = x[1] - x[0]
    board = min(0.0025, 0.2 * t)
    middle = 0.5 * (x[0] + x[1])
    back = front + deep
    a = np.linspace(math.pi, 2.0 * math.pi, 7)[1:-1]
    r = min(0.006, 0.3 * t)
    spine = [(middle + 0.5 * t * math.cos(b), front + r + r * math.sin(b)) for b in a]
    inner = front + r + board
    outline = [
        (x[0], back), (x[0], front + r), *spine, (x[1], front + r), (x[1], back),
        (x[1] - board, back), (x[1] - board, inner), (x[0] + board, inner), (x[0] + board, back),
    ]  # fmt: skip
    made.mesh(part, meshes.prism(outline, axis="z", low=0.0, high=tall))
    inset = board + 0.0002
    made.box("pages", (x[0] + inset, x[1] - inset), (inner + 0.0002, back - 0.004),
             (0.0025, tall - 0.0035))  # fmt: skip


def _letterbox_size(count: int) -> Size:
    return (0.26 * count + 0.01, 0.16, 0.34)


def _book_row(count: int) -> Size:
    return (0.03 * count, 0.17, 0.24)


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "picture frame": Kind(
            picture_frame,
            usual_m=(0.40, 0.022, 0.50),
            least_m=(0.06, 0.008, 0.06),
            parts=("frame", "mount", "picture"),
            surfaces={"mount": "white board", "picture": "green paint"},
        ),
        "noticeboard": Kind(
            noticeboard,
            usual_m=(0.90, 0.030, 0.60),
            least_m=(0.25, 0.018, 0.20),
            parts=("board", "frame", "papers", "pins"),
            surfaces={"frame": "pine", "papers": "paper", "pins": "red cotton"},
        ),
        "radiator": Kind(
            radiator,
            usual_m=(1.00, 0.13, 0.70),
            least_m=(0.30, 0.08, 0.25),
            parts=("panel", "grille", "brackets", "pipes", "valve"),
            surfaces={"pipes": "steel", "valve": "white enamel"},
        ),
        "letterboxes": Kind(
            letterboxes,
            usual_m=_letterbox_size(5),
            least_m=(0.12, 0.06, 0.15),
            parts=("body", "doors", "flaps", "cards", "locks"),
            surfaces={"cards": "paper", "locks": "steel", "flaps": "steel"},
            counts=(1, 15),
            count_for=lambda size: max(1, round(size[0] / 0.27)),
            size_for=_letterbox_size,
            each=Each(side=0, least_m=0.10, most_m=0.60, thing="box"),
        ),
        "cloth": Kind(
            cloth, usual_m=(0.42, 0.055, 0.62), least_m=(0.10, 0.035, 0.10), parts=("cloth",)
        ),
        "rug": Kind(
            rug,
            usual_m=(2.00, 1.40, 0.010),
            least_m=(0.30, 0.30, 0.004),
            parts=("rug", "fringe"),
            surfaces={"fringe": "canvas"},
        ),
        "books": Kind(
            books,
            usual_m=_book_row(12),
            least_m=(0.015, 0.08, 0.10),
            parts=("books", "red books", "dark books", "pale books", "pages"),
            surfaces={
                "red books": "red wool",
                "dark books": "dark denim",
                "pale books": "linen",
                "pages": "paper",
            },
            counts=(1, 40),
            count_for=lambda size: max(1, round(size[0] / 0.03)),
            size_for=_book_row,
            each=Each(side=0, least_m=0.012, most_m=0.09, thing="book"),
        ),
    }
)
