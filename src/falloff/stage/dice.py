"""Cut faces into patches and elements, and give each element the points it is sampled at."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from falloff.stage.cells import EDGE_ROOM, Grid, check_cells, cut_cells, flat_parts, triangles_of
from falloff.stage.clusters import (
    MESH_SIDE,
    even_by_area,
    facing_and_area,
    in_own_axes,
    split_long,
    two_levels,
)
from falloff.stage.grain import Grain
from falloff.stage.records import (
    FABRIC,
    MIRROR,
    OFFSET_M,
    PANE,
    POINTS_PER_ELEMENT,
    SHEET_SIZE,
    Cloth,
    Piece,
)
from falloff.types import Float64Array, Int32Array, IntArray

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_SMALLEST_M2 = 1e-4  # of an element of a mesh
_SIDE = math.isqrt(POINTS_PER_ELEMENT)


@dataclass(slots=True)
class PieceBuilder:
    """Collects the faces of one thing and cuts them.

    own_axes: origin (3,) and rows of unit axes (3, 3) of the thing itself, so that its curved
    surfaces are cut alike wherever it looks; None where they are cut as they stand in the room.
    """

    name: str
    grain: Grain
    seed: int = 0
    own_axes: tuple[Float64Array, Float64Array] | None = None
    _parts: dict[str, list[np.ndarray]] = field(default_factory=dict)
    _materials: list[str] = field(default_factory=list)
    _sources: list[str | None] = field(default_factory=list)
    _names: list[str] = field(default_factory=list)
    _faces: int = 0
    _cells: int = 0
    _elements: int = 0
    _patches: int = 0
    _sheets: list[np.ndarray] = field(default_factory=list)
    _sheet_faces: list[tuple[int, int]] = field(default_factory=list)
    _partners: list[np.ndarray] = field(default_factory=list)
    _fabrics: dict[str, Cloth] = field(default_factory=dict)

    @contextmanager
    def cut_by(self, grain: Grain) -> Iterator[None]:
        """What is added meanwhile is cut by another grain."""
        own, self.grain = self.grain, grain
        try:
            yield
        finally:
            self.grain = own

    def add_rectangle(
        self,
        origin: Float64Array,
        *,
        edge_u: Float64Array,
        edge_v: Float64Array,
        material: str,
        name: str = "",
        source: str | None = None,
        least: tuple[int, int] = (1, 1),
    ) -> None:
        """A rectangle seen from the side of edge_u × edge_v; least: patches along each edge."""
        corners = np.array([origin, origin + edge_u, origin + edge_u + edge_v, origin + edge_v])
        triangles = np.array([corners[[0, 1, 2]], corners[[0, 2, 3]]])
        self._add_flat(
            origin, edge_u, edge_v, triangles, None, (material, name, source), least=least
        )

    def add_fabric(
        self,
        origin: Float64Array,
        *,
        edge_u: Float64Array,
        edge_v: Float64Array,
        fabric: Cloth,
        name: str,
    ) -> None:
        """A flat cloth that light falls on from both sides, and passes."""
        self._fabrics[name] = fabric
        first, faces = self._elements, (self._faces, self._faces + 1)
        none = np.empty((0, 3, 3))
        self._add_flat(origin, edge_u, edge_v, none, None, (name, name, None))
        front = self._parts["cells"][-1]
        columns = int(self._parts["grid"][-1][0, 0])
        self._add_flat(origin + edge_u, -edge_u, edge_v, none, None, (name, name, None))
        back = self._parts["cells"][-1].reshape(-1, columns)[:, ::-1].ravel()
        partner = np.empty(self._elements - first, np.int64)
        partner[front - first], partner[back - first] = back, front
        self._partners.append(np.stack([np.arange(first, self._elements), partner]))
        self._add_sheet(origin, edge_u, edge_v, (fabric.straight, FABRIC, 0.0, 0.0), faces)

    def add_pane(
        self,
        origin: Float64Array,
        *,
        edge_u: Float64Array,
        edge_v: Float64Array,
        passes: float,
        panes: int = 1,
    ) -> None:
        """A flat pane of glass; passes: its share at right angles over that of clear glass."""
        self._add_sheet(origin, edge_u, edge_v, (passes, PANE, panes, 0.0), (-1, -1))

    def add_mirror(
        self,
        origin: Float64Array,
        *,
        edge_u: Float64Array,
        edge_v: Float64Array,
        reflectance: float,
    ) -> None:
        """A flat mirror, seen from both sides unless a board stands behind it."""
        self._add_sheet(origin, edge_u, edge_v, (0.0, MIRROR, 0.0, reflectance), (-1, -1))

    def _add_sheet(
        self,
        origin: Float64Array,
        edge_u: Float64Array,
        edge_v: Float64Array,
        nature: tuple[float, float, float, float],
        faces: tuple[int, int],
    ) -> None:
        normal = np.cross(edge_u, edge_v)
        normal /= np.linalg.norm(normal)
        self._sheets.append(np.concatenate([origin, edge_u, edge_v, normal, nature]))
        self._sheet_faces.append(faces)

    def add_polygon(
        self,
        origin: Float64Array,
        *,
        axis_u: Float64Array,
        axis_v: Float64Array,
        outline: Float64Array,
        holes: tuple[Float64Array, ...] = (),
        material: str,
        name: str = "",
    ) -> None:
        """A flat polygon with holes, outlines (n, 2) in metres along unit axes u and v."""
        import shapely

        shape = shapely.Polygon(outline, holes)
        if holes and not shape.is_valid:  # a hole that reaches the edge, or another hole
            cut = shapely.union_all([shapely.Polygon(hole) for hole in holes])
            shape = shapely.difference(shapely.Polygon(outline), cut)
        self.add_region(
            origin, axis_u=axis_u, axis_v=axis_v, shape=shape, material=material, name=name
        )

    def add_region(
        self,
        origin: Float64Array,
        *,
        axis_u: Float64Array,
        axis_v: Float64Array,
        shape: BaseGeometry,
        material: str,
        name: str = "",
    ) -> None:
        """A flat shape, in parts or empty too, in metres along unit axes u and v."""
        shape = flat_parts(shape)
        if shape.is_empty:
            return
        low_u, low_v, high_u, high_v = shape.bounds
        uv = triangles_of(shape)
        corners = origin + uv[..., :1] * axis_u + uv[..., 1:] * axis_v
        start = origin + low_u * axis_u + low_v * axis_v
        whole = math.isclose(shape.area, (high_u - low_u) * (high_v - low_v))
        self._add_flat(
            start,
            (high_u - low_u) * axis_u,
            (high_v - low_v) * axis_v,
            corners,
            None if whole else (shape, np.array([low_u, low_v])),
            (material, name, None),
        )

    def add_mesh(
        self,
        corners: Float64Array,
        *,
        normals: Float64Array,
        material: str,
        name: str = "",
        source: str | None = None,
        cut_as: Float64Array | None = None,
    ) -> None:
        """A curved surface: corners and shading normals (t, 3, 3); clusters serve as elements.

        cut_as: other corners of the same triangles, by whose places they are cut and grouped.
        """
        drawn = in_own_axes(corners, self.own_axes) if cut_as is None else cut_as
        longest_m = MESH_SIDE * self.grain.element_m
        drawn, corners, normals = split_long(drawn, corners, normals, longest_m=longest_m)
        flat_normals, area = facing_and_area(corners)
        keep = area > 1e-12
        drawn, corners, normals, flat_normals, area = (
            part[keep] for part in (drawn, corners, normals, flat_normals, area)
        )
        drawn_normals, drawn_area = facing_and_area(drawn)
        grain, whole = self.grain, float(drawn_area.sum())
        fit = whole / _SMALLEST_M2  # a pin has no need of many
        patches = min(np.clip(whole / grain.mesh_patch_area_m2, *grain.mesh_patches), fit)
        least = min(grain.mesh_elements_least, fit)
        elements = max(whole / grain.mesh_element_area_m2, least, patches, 1.0)
        cluster, patch = two_levels(
            drawn.mean(1), drawn_normals, drawn_area, int(elements), max(1, int(patches))
        )
        count = len(patch)
        rng = np.random.default_rng(self.seed + self._faces)
        pick = even_by_area(rng, cluster, area)
        a, b = np.sqrt(rng.random(pick.shape)), rng.random(pick.shape)
        weights = np.stack([1 - a, a * (1 - b), a * b], -1)
        points = np.einsum("ekc,ekcd->ekd", weights, corners[pick])
        point_normals = flat_normals[pick]
        self._append(
            corners=corners,
            corner_normals=normals,
            triangle_element=self._elements + cluster,
            frame=np.zeros(12),
            grid=(0, 0, self._cells, 0),
            step=(1.0, 1.0),
            cells=np.empty(0, np.int32),
            patch=self._patches + patch,
            area=np.bincount(cluster, area, count).astype(np.float64),
            points=points + OFFSET_M * point_normals,
            normals=point_normals,
            labels=(material, name, source),
        )

    def build(self) -> Piece:
        """The piece, joined and frozen."""
        join = {key: np.concatenate(parts) for key, parts in self._parts.items()}
        return Piece(
            name=self.name,
            corners=join["corners"].astype(np.float32),
            corner_normals=join["corner_normals"].astype(np.float32),
            triangle_face=join["triangle_face"].astype(np.int32),
            triangle_element=join["triangle_element"].astype(np.int32),
            face_frame=join["frame"].astype(np.float32),
            face_grid=join["grid"].astype(np.int32),
            face_step_m=join["step"].astype(np.float32),
            cell_element=join["cells"].astype(np.int32),
            face_material=tuple(self._materials),
            face_source=tuple(self._sources),
            face_name=tuple(self._names),
            element_face=join["element_face"].astype(np.int32),
            element_patch=join["patch"].astype(np.int32),
            element_area_m2=join["area"].astype(np.float32),
            element_points=join["points"].astype(np.float32),
            element_normals=join["normals"].astype(np.float32),
            patch_count=self._patches,
            flat=join["grid"][:, 3] == 1,
            sheets=np.array(self._sheets, np.float64).reshape(-1, SHEET_SIZE),
            sheet_faces=np.array(self._sheet_faces, np.int32).reshape(-1, 2),
            element_partner=self._all_partners(),
            fabrics=dict(self._fabrics),
        )

    def _all_partners(self) -> Int32Array:
        partner = np.arange(self._elements, dtype=np.int32)
        for own, other in self._partners:
            partner[own] = other
        return partner

    def _add_flat(
        self,
        origin: Float64Array,
        edge_u: Float64Array,
        edge_v: Float64Array,
        triangles: Float64Array,
        clip: tuple[BaseGeometry, Float64Array] | None,
        labels: tuple[str, str, str | None],
        *,
        least: tuple[int, int] = (1, 1),
    ) -> None:
        width, height = float(np.linalg.norm(edge_u)), float(np.linalg.norm(edge_v))
        u, v = edge_u / width, edge_v / height
        normal = np.cross(u, v)
        across, per_u = self._counts(width, least[0])
        upward, per_v = self._counts(height, least[1])
        columns, rows = across * per_u, upward * per_v
        check_cells(columns * rows, labels[1] or self.name)
        step_u, step_v = width / columns, height / rows
        grid = np.meshgrid(np.arange(columns), np.arange(rows), indexing="xy")
        column, row = grid[0].ravel(), grid[1].ravel()
        patch = (row // per_v) * across + column // per_u
        rng = np.random.default_rng(self.seed + self._faces)
        inside = _stratified(rng, column.size)
        uv = (np.stack([column, row], 1)[:, None] + inside) * (step_u, step_v)
        area = np.full(column.size, step_u * step_v)
        owner: IntArray = np.arange(column.size)
        if clip is not None:
            outline = Grid(column, row, (step_u, step_v), *clip)
            area, uv, owner = cut_cells(outline, uv, rng)
        alive = owner == np.arange(column.size)
        order = np.argsort(patch[alive], kind="stable")
        picked = np.flatnonzero(alive)[order]
        cells = np.full(column.size, -1, np.int64)
        cells[picked] = self._elements + np.arange(picked.size)
        cells[owner >= 0] = cells[owner[owner >= 0]]
        _, compact = np.unique(patch[picked], return_inverse=True)
        points = origin + uv[picked, :, :1] * u + uv[picked, :, 1:] * v + OFFSET_M * normal
        self._append(
            corners=triangles,
            corner_normals=np.broadcast_to(normal, triangles.shape),
            triangle_element=np.full(len(triangles), -1),
            frame=np.concatenate([origin, u, v, normal]),
            grid=(columns, rows, self._cells, 1),
            step=(step_u, step_v),
            cells=cells,
            patch=self._patches + compact,
            area=area[picked],
            points=points,
            normals=np.broadcast_to(normal, points.shape),
            labels=labels,
        )

    def _counts(self, length: float, least: int) -> tuple[int, int]:
        """Patches along a side, and elements along a side of each."""
        patches = max(least, math.ceil(length / self.grain.patch_m - 1e-6))
        return patches, max(1, math.ceil(length / patches / self.grain.element_m - 1e-6))

    def _append(
        self,
        *,
        corners: Float64Array,
        corner_normals: Float64Array,
        triangle_element: IntArray,
        frame: Float64Array,
        grid: tuple[int, int, int, int],
        step: tuple[float, float],
        cells: IntArray,
        patch: IntArray,
        area: Float64Array,
        points: Float64Array,
        normals: Float64Array,
        labels: tuple[str, str, str | None],
    ) -> None:
        for key, part in (
            ("corners", corners),
            ("corner_normals", corner_normals),
            ("triangle_face", np.full(len(corners), self._faces)),
            ("triangle_element", triangle_element),
            ("frame", frame[None]),
            ("grid", np.array([grid])),
            ("step", np.array([step])),
            ("cells", cells),
            ("element_face", np.full(len(area), self._faces)),
            ("patch", patch),
            ("area", area),
            ("points", points),
            ("normals", normals),
        ):
            self._parts.setdefault(key, []).append(part)
        material, name, source = labels
        self._materials.append(material)
        self._names.append(f"{self.name}: {name}" if name else self.name)
        self._sources.append(source)
        self._faces += 1
        self._cells += len(cells)
        self._elements += len(area)
        self._patches = int(patch.max()) + 1 if len(patch) else self._patches


def _stratified(rng: np.random.Generator, count: int) -> Float64Array:
    """(count, 16, 2) points in the unit square, one in each of 4 × 4 strata, order shuffled."""
    column, row = np.meshgrid(np.arange(_SIDE), np.arange(_SIDE))
    cells = np.stack([column.ravel(), row.ravel()], 1)
    points = (cells + rng.random((count, POINTS_PER_ELEMENT, 2))) / _SIDE
    # Any four in a row are one from each quarter, so that the first few serve as well.
    quarters = (cells[:, 0] // 2) + 2 * (cells[:, 1] // 2)
    order = np.argsort(quarters, kind="stable").reshape(4, 4).T.ravel()
    return EDGE_ROOM + (1.0 - 2.0 * EDGE_ROOM) * points[:, order]
