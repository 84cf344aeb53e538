"""Join the pieces of a scene to one set of surfaces."""

from __future__ import annotations

from typing import Final

import numpy as np

from falloff.document import SceneDocument
from falloff.errors import BudgetExceeded, Fault
from falloff.kit import find_material, find_skin
from falloff.spectrum import tint_to_reflectance
from falloff.stage.records import Body, Piece, Surfaces
from falloff.types import Float32Array, Float64Array

MOST_ELEMENTS = 65_533  # ids are 16-bit, and two are kept for rays that hit nothing


def join_pieces(
    pieces: list[Piece], source_names: list[str], document: SceneDocument
) -> tuple[Surfaces, dict[str, Body], tuple[str, ...]]:
    """All pieces as one, where each of them lies in it, and the materials' names."""
    materials = sorted({name for piece in pieces for name in piece.face_material})
    names = sorted({name for piece in pieces for name in piece.face_name})
    material_at = {name: k for k, name in enumerate(materials)}
    name_at = {name: k for k, name in enumerate(names)}
    source_at = {name: k for k, name in enumerate(source_names)}
    bodies: dict[str, Body] = {}
    faces = cells = elements = patches = 0
    shifts = []
    for piece in pieces:
        shifts.append((faces, cells, elements, patches))
        low, high = _box(piece)
        bodies[piece.name] = Body(
            name=piece.name,
            low=low,
            high=high,
            faces=(faces, faces + len(piece.face_name)),
            elements=(elements, elements + len(piece.element_area_m2)),
            patches=(patches, patches + piece.patch_count),
        )
        faces += len(piece.face_name)
        cells += len(piece.cell_element)
        elements += len(piece.element_area_m2)
        patches += piece.patch_count
    if elements > MOST_ELEMENTS:
        raise BudgetExceeded(
            Fault(
                what="the scene has more surface than the engine can hold",
                expected=f"at most {MOST_ELEMENTS} surface elements",
                found=str(elements),
                fix="leave out small props, or ask for a coarser grain",
            )
        )
    zipped = list(zip(pieces, shifts, strict=True))
    fabrics = {name: fabric for piece in pieces for name, fabric in piece.fabrics.items()}
    element_patch = np.concatenate([p.element_patch + s[3] for p, s in zipped])
    grids = []
    for piece, shift in zipped:
        grid = piece.face_grid.copy()
        grid[:, 2] += shift[1]
        grids.append(grid)
    surfaces = Surfaces(
        corners=np.concatenate([p.corners for p in pieces]),
        corner_normals=np.concatenate([p.corner_normals for p in pieces]),
        triangle_face=np.concatenate([p.triangle_face + s[0] for p, s in zipped]),
        triangle_element=np.concatenate(
            [np.where(p.triangle_element < 0, -1, p.triangle_element + s[2]) for p, s in zipped]
        ).astype(np.int32),
        face_frame=np.concatenate([p.face_frame for p in pieces]),
        face_grid=np.concatenate(grids),
        face_step_m=np.concatenate([p.face_step_m for p in pieces]),
        cell_element=np.concatenate(
            [np.where(p.cell_element < 0, -1, p.cell_element + s[2]) for p, s in zipped]
        ).astype(np.int32),
        face_material=_lookup(pieces, "face_material", material_at),
        face_source=_lookup(pieces, "face_source", source_at),
        face_name=_lookup(pieces, "face_name", name_at),
        element_face=np.concatenate([p.element_face + s[0] for p, s in zipped]),
        element_patch=element_patch.astype(np.int32),
        element_area_m2=np.concatenate([p.element_area_m2 for p in pieces]),
        element_points=np.concatenate([p.element_points for p in pieces]),
        element_normals=np.concatenate([p.element_normals for p in pieces]),
        patch_first=np.searchsorted(element_patch, np.arange(patches + 1)).astype(np.int32),
        albedo=np.stack(
            [
                fabrics[name].reflected if name in fabrics else albedo_of(name, document)
                for name in materials
            ]
        ).astype(np.float32),
        through=np.stack(
            [fabrics[name].scattered if name in fabrics else np.zeros(3) for name in materials]
        ).astype(np.float32),
        landing=np.array(
            [1.0 - fabrics[name].straight if name in fabrics else 1.0 for name in materials],
            np.float32,
        ),
        coats=np.array(
            [(0.0, 1.0) if name in fabrics else coat_of(name, document) for name in materials],
            np.float32,
        ),
        sheets=np.concatenate([p.sheets for p in pieces]),
        sheet_faces=np.concatenate(
            [np.where(p.sheet_faces < 0, -1, p.sheet_faces + s[0]) for p, s in zipped]
        ).astype(np.int32),
        element_partner=np.concatenate([p.element_partner + s[2] for p, s in zipped]).astype(
            np.int32
        ),
        names=tuple(names),
    )
    return surfaces, bodies, tuple(materials)


def _box(piece: Piece) -> tuple[Float64Array, Float64Array]:
    """The lowest and the highest coordinates (3,) of a piece; of one that was met before, kept."""
    key = id(piece)
    known = _boxes.get(key)
    if known is None or known[0] is not piece:
        while len(_boxes) >= _MOST_BOXES:
            del _boxes[next(iter(_boxes))]
        points = piece.all_corners()
        known = (piece, points.min(0), points.max(0))
        _boxes[key] = known
    return known[1], known[2]


_MOST_BOXES: Final = 256
_boxes: dict[int, tuple[Piece, Float64Array, Float64Array]] = {}  # holds its pieces, so ids last


def _lookup(pieces: list[Piece], field: str, table: dict[str, int]) -> np.ndarray:
    values = [table.get(name, -1) for piece in pieces for name in getattr(piece, field)]
    return np.array(values, np.int32)


def albedo_of(name: str, document: SceneDocument) -> Float32Array:
    """Linear reflectance of a material: a subject's own skin, the document's own, the kit's."""
    if name.startswith(("skin of ", "lips of ")):
        subject = document.subjects[name[8:]]
        reflectance, tint = subject.skin, SKIN_TINT
        if isinstance(reflectance, str):
            skin = find_skin(reflectance)
            reflectance, tint = skin.reflectance, skin.tint
        colour, scale = np.array(subject.skin_tint or tint), 1.0
        if name.startswith("lips"):
            colour, scale = colour * (1.12, 0.86, 0.90), 0.72
        return tint_to_reflectance(scale * reflectance, colour).astype(np.float32)
    own = document.materials.get(name)
    if own is not None:
        return tint_to_reflectance(own.reflectance, own.tint or (1, 1, 1)).astype(np.float32)
    material = find_material(name)
    return tint_to_reflectance(material.reflectance, material.tint).astype(np.float32)


def coat_of(name: str, document: SceneDocument) -> tuple[float, float]:
    """Reflectance at right angles and roughness of a material's coat; 0 and 1 for a matte one."""
    if name.startswith("skin of "):
        return SKIN_COAT
    if name.startswith("lips of "):
        return LIPS_COAT
    material = document.materials.get(name) or find_material(name)
    return (material.sheen, material.roughness) if material.sheen > 0.0 else (0.0, 1.0)


# The oily film of skin has n = 1.4, so 0.028 at right angles (Fresnel); roughness by eye, from
# memory, no source.
SKIN_COAT: Final = (0.028, 0.35)
LIPS_COAT: Final = (0.028, 0.25)

# Relative linear BT.2020 of skin: mean of the light and dark skin patches of a 24-patch test chart
# (colour-science's 2005 averages, adapted to D65). A subject's own skin_tint overrides it.
SKIN_TINT: Final = (1.36, 0.89, 0.64)
