"""What a stage holds: surfaces as bare arrays, sources in place, views, probes and places."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.findings import Finding
from falloff.sources import Source
from falloff.types import BoolArray, Float32Array, Float64Array, Int32Array

POINTS_PER_ELEMENT: Final = 16
_LEAST_DEEP_M: Final = 1e-3  # before a camera, from which something is ahead of it
OFFSET_M: Final = 2e-4  # rays leave a surface this far above it

FABRIC: Final = 0  # passes light straight and scattered, and gives back the rest
PANE: Final = 1  # glass: passes and mirrors by the angle
MIRROR: Final = 2
SHEET_SIZE: Final = 16

# What one and two panes of clear glass pass at right angles: slabs of n = 1.52 with their inner
# bounces, T and T/(2 − T) (Fresnel).
CLEAR_PANES_PASS: Final = {1: 0.91835, 2: 0.84902}


@dataclass(frozen=True, slots=True)
class Surfaces:
    """Every surface, two levels deep: patches that answer for bounce, elements that hold light.

    corners, corner_normals: (t, 3, 3) triangles in metres and their shading normals;
    triangle_face: (t,); triangle_element: (t,) element of a mesh triangle, −1 on a flat face.
    face_frame: (f, 12) origin, unit axes u and v, normal; face_grid: (f, 4) int32 columns, rows,
    first cell, 1 if flat; face_step_m: (f, 2) sides of a cell; cell_element: (c,) element or −1.
    face_material, face_source (−1: gives no light), face_name: (f,) int32.
    element_face, element_patch: (e,); element_area_m2: (e,) m²; element_points, element_normals:
    (e, 16, 3), points already lifted off the surface. Elements of a patch stand together:
    patch_first: (p + 1,). albedo: (m, 3) linear reflectance by material; through: (m, 3) what it
    lets through scattered; landing: (m,) the share of light that does not pass it straight; coats:
    (m, 2) reflectance at right angles and roughness of its coat, 0 and 1 for none.

    sheets: (k, 16) float64 0–2 corner, 3–5 and 6–8 edges (m), 9–11 unit normal, 12 share passed
    straight (at right angles, of what panes without loss would pass), 13 FABRIC, PANE or MIRROR,
    14 panes, 15 share a mirror gives back. sheet_faces: (k, 2) the faces of a fabric on the
    normal's side and on the other, −1 for none. element_partner: (e,) the element behind one of a
    fabric, itself for all others.
    """

    corners: Float32Array
    corner_normals: Float32Array
    triangle_face: Int32Array
    triangle_element: Int32Array
    face_frame: Float32Array
    face_grid: Int32Array
    face_step_m: Float32Array
    cell_element: Int32Array
    face_material: Int32Array
    face_source: Int32Array
    face_name: Int32Array
    element_face: Int32Array
    element_patch: Int32Array
    element_area_m2: Float32Array
    element_points: Float32Array
    element_normals: Float32Array
    patch_first: Int32Array
    albedo: Float32Array
    through: Float32Array
    landing: Float32Array
    coats: Float32Array
    sheets: Float64Array
    sheet_faces: Int32Array
    element_partner: Int32Array
    names: tuple[str, ...]

    @property
    def element_count(self) -> int:
        """How many elements there are."""
        return int(self.element_area_m2.size)

    @property
    def patch_count(self) -> int:
        """How many patches there are."""
        return int(self.patch_first.size) - 1

    def fabric_names(self) -> frozenset[str]:
        """What the cloths are called that pass light on."""
        faces = self.sheet_faces[self.sheet_faces >= 0]
        return frozenset(self.names[n] for n in self.face_name[faces])


@dataclass(frozen=True, slots=True)
class Body:
    """The part of the surfaces that moves as one, and the box it fills (metres)."""

    name: str
    low: Float64Array
    high: Float64Array
    faces: tuple[int, int]
    elements: tuple[int, int]
    patches: tuple[int, int]


@dataclass(frozen=True, slots=True)
class View:
    """A camera in place: eye (m), unit axes, and the tangents of half its width and height."""

    name: str
    eye: Float64Array
    forward: Float64Array
    right: Float64Array
    up: Float64Array
    tan_half_width: float
    tan_half_height: float

    def in_frame(self, points: Float64Array) -> BoolArray:
        """Which points (n, 3) lie within its frame; what hides them is not seen."""
        away = points - self.eye
        deep = away @ self.forward
        ahead = deep > _LEAST_DEEP_M
        deep = np.where(ahead, deep, 1.0)
        x, y = away @ self.right / deep, away @ self.up / deep
        inside = (abs(x) <= self.tan_half_width) & (abs(y) <= self.tan_half_height)
        return np.asarray(ahead & inside)


@dataclass(frozen=True, slots=True)
class Probe:
    """A reading's place: instrument, point (m) and the unit way its receptor faces.

    `view` names the camera it belongs to, `eye` is where a spot meter looks from. place: how a
    person names the spot; faces: how they name the receptor's aim; material: of the surface that
    a square receptor lies on, so that the picture can be told from the light.
    """

    name: str
    instrument: str
    point: Float64Array
    normal: Float64Array
    place: str = ""
    faces: str = ""
    material: str | None = None
    subject: str | None = None
    eye: Float64Array | None = None
    view: str | None = None


@dataclass(frozen=True, slots=True)
class SubjectPlaces:
    """A subject's named places in the room: point (m) and outward unit normal."""

    name: str
    facing: Float64Array
    points: dict[str, Float64Array]
    normals: dict[str, Float64Array]


@dataclass(frozen=True, slots=True)
class Stage:
    """A scene in SI, ready to be traced. Nothing in it refers to dims or exposure."""

    title: str
    surfaces: Surfaces
    material_names: tuple[str, ...]
    sources: tuple[Source, ...]
    bodies: dict[str, Body]
    views: dict[str, View]
    probes: tuple[Probe, ...]
    subjects: dict[str, SubjectPlaces]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Cloth:
    """What a sheet does to light that falls on it: shares passed straight, scattered, given back.

    scattered, reflected: (3,) linear, each channel's three shares at most 1 together.
    """

    straight: float
    scattered: Float64Array
    reflected: Float64Array


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing's surfaces before they are joined to the rest; indices count from its own zero."""

    name: str
    corners: Float32Array
    corner_normals: Float32Array
    triangle_face: Int32Array
    triangle_element: Int32Array
    face_frame: Float32Array
    face_grid: Int32Array
    face_step_m: Float32Array
    cell_element: Int32Array
    face_material: tuple[str, ...]
    face_source: tuple[str | None, ...]
    face_name: tuple[str, ...]
    element_face: Int32Array
    element_patch: Int32Array
    element_area_m2: Float32Array
    element_points: Float32Array
    element_normals: Float32Array
    patch_count: int
    flat: BoolArray
    sheets: Float64Array
    sheet_faces: Int32Array
    element_partner: Int32Array
    fabrics: dict[str, Cloth]

    def all_corners(self) -> Float64Array:
        """Corners of all triangles and sheets (n, 3), metres."""
        corner, u, v = self.sheets[:, :3], self.sheets[:, 3:6], self.sheets[:, 6:9]
        return np.concatenate(
            [self.corners.reshape(-1, 3), corner, corner + u, corner + v, corner + u + v]
        ).astype(np.float64)

    def placed(self, origin: Float64Array, turn: Float64Array) -> Piece:
        """The same piece turned and moved as a whole: x becomes turn @ x + origin.

        origin: (3,) metres; turn: (3, 3), a rotation.
        """
        frame = self.face_frame.astype(np.float64).reshape(-1, 4, 3) @ turn.T
        frame[self.flat, 0] += origin
        sheets = self.sheets.copy()
        sheets[:, :12] = (sheets[:, :12].reshape(-1, 4, 3) @ turn.T).reshape(-1, 12)
        sheets[:, :3] += origin
        return replace(
            self,
            corners=_at(self.corners, turn, origin),
            corner_normals=_at(self.corner_normals, turn),
            face_frame=frame.reshape(-1, 12).astype(np.float32),
            element_points=_at(self.element_points, turn, origin),
            element_normals=_at(self.element_normals, turn),
            sheets=sheets,
        )


def _at(
    vectors: Float32Array, turn: Float64Array, origin: Float64Array | float = 0.0
) -> Float32Array:
    return (vectors.astype(np.float64) @ turn.T + origin).astype(np.float32)
