"""What a piece of furniture is, what is asked of it, and the bench on which it is put together."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from falloff.kit.furniture import meshes
from falloff.kit.furniture.meshes import Mesh
from falloff.kit.furniture.solids import BoxSolid, CylinderSolid, MeshSolid, Solid, turned
from falloff.types import Float64Array

Size: TypeAlias = tuple[float, float, float]
Span: TypeAlias = tuple[float, float]

GAP_M = 0.001  # between boards that meet, so that no two faces coincide
_LEVEL = np.eye(3)


@dataclass(frozen=True, slots=True, eq=False)
class FurniturePiece:
    """A piece in its own frame, metres: x its width, -y its front, z up, floor z = 0.

    size_m: width, depth and height over all, closed; the middle of its plan is the origin.
    part_names: what a scene may name a surface for; the first takes the piece's own surface, and
    so does every part that default_surfaces leaves out. rests_m: heights that things can stand
    on, lowest first, empty where nothing can; usual_rest_m: the one meant if none is named.
    """

    kind: str
    size_m: Size
    solids: tuple[Solid, ...]
    part_names: tuple[str, ...]
    default_surfaces: Mapping[str, str]
    rests_m: tuple[float, ...]
    usual_rest_m: float


@dataclass(frozen=True, slots=True)
class Order:
    """What is asked of a maker: width, depth and height (m), a count and an opening (rad)."""

    width: float
    depth: float
    height: float
    count: int = 0
    open_rad: float = 0.0

    @property
    def x(self) -> Span:
        """From left to right."""
        return -0.5 * self.width, 0.5 * self.width

    @property
    def y(self) -> Span:
        """From front to back."""
        return -0.5 * self.depth, 0.5 * self.depth


@dataclass(slots=True)
class Joiner:
    """Collects the solids of a piece and the levels things can rest on."""

    solids: list[Solid] = field(default_factory=list)
    rests_m: list[float] = field(default_factory=list)
    usual_rest_m: float | None = None

    def box(self, part: str, x: Span, y: Span, z: Span, *, soft: float = 0.0) -> BoxSolid:
        """A board between pairs of planes."""
        low, high = np.array([x[0], y[0], z[0]]), np.array([x[1], y[1], z[1]])
        return self.board(part, 0.5 * (low + high), size=high - low, soft=soft)

    def board(
        self,
        part: str,
        centre: ArrayLike,
        *,
        size: ArrayLike,
        axes: Float64Array = _LEVEL,
        soft: float = 0.0,
    ) -> BoxSolid:
        """A board about a point, its own axes the rows of `axes`."""
        made = BoxSolid(
            part,
            np.array(centre, dtype=np.float64),
            np.array(size, dtype=np.float64),
            axes.copy(),
            soft,
        )
        self.solids.append(made)
        return made

    def rod(
        self, part: str, low: ArrayLike, high: ArrayLike, radius: float, *, taper: float = 1.0
    ) -> None:
        """A round rod between two points; taper: its high radius as a share of its low one."""
        ends = (np.array(low, dtype=np.float64), np.array(high, dtype=np.float64))
        self.solids.append(CylinderSolid(part, *ends, radius, taper * radius))

    def mesh(self, part: str, mesh: Mesh, *, at: ArrayLike = (0.0, 0.0, 0.0)) -> None:
        """A closed mesh, moved to a point."""
        corners = mesh[0] + np.asarray(at, dtype=np.float64)
        self.solids.append(MeshSolid(part, corners, mesh[1].copy()))

    def post(self, part: str, low: ArrayLike, high: ArrayLike, *, sides: tuple[Span, Span]) -> None:
        """A square leg that may lean and taper: middles of its ends, and their sides."""
        self.mesh(part, meshes.frustum((low, sides[0]), (high, sides[1])))

    def turn(self, since: int, *, pivot: ArrayLike, turn: Float64Array) -> None:
        """Turn all solids from number `since` on about a point."""
        point = np.asarray(pivot, dtype=np.float64)
        self.solids[since:] = [turned(solid, turn, point) for solid in self.solids[since:]]

    def rest(self, *heights_m: float, usual: int = -1) -> None:
        """Name the levels that things can stand on; `usual` picks one of them."""
        self.rests_m = sorted(heights_m)
        self.usual_rest_m = self.rests_m[usual]


@dataclass(frozen=True, slots=True)
class Each:
    """How much of a side (0 width, 1 depth, 2 height) one of the counted things may take, m."""

    side: int
    least_m: float
    most_m: float
    thing: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of furniture: who makes it, how large it is as a rule, and what it can do.

    least_m: below it, it would not be the thing. counts: least and most, None where nothing is
    counted. open_most_rad: 0 where nothing opens.
    """

    make: Callable[[Order], Joiner]
    usual_m: Size
    least_m: Size
    parts: tuple[str, ...]
    surfaces: Mapping[str, str] = field(default_factory=dict)
    counts: tuple[int, int] | None = None
    count_for: Callable[[Size], int] | None = None
    size_for: Callable[[int], Size] | None = None
    each: Each | None = None
    open_most_rad: float = 0.0


def about_z(angle_rad: float) -> Float64Array:
    """The matrix of a turn about the upright, counter-clockwise from above."""
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])


def about_x(angle_rad: float) -> Float64Array:
    """The matrix of a turn about the width; positive leans the top to the front."""
    c, s = np.cos(angle_rad), np.sin(angle_rad)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def spread(low: float, high: float, count: int) -> list[float]:
    """Places of `count` things, evenly from low to high; one stands in the middle."""
    if count == 1:
        return [0.5 * (low + high)]
    return [low + (high - low) * k / (count - 1) for k in range(count)]


def bays(low: float, high: float, *, count: int, gap: float) -> list[Span]:
    """`count` equal spans from low to high with gaps between them."""
    wide = (high - low - gap * (count - 1)) / count
    return [(low + k * (wide + gap), low + k * (wide + gap) + wide) for k in range(count)]
