"""Named furniture, made by code: boards, legs, cushions and leaves as closed solids."""

from falloff.kit.furniture.catalogue import FURNITURE_KINDS, furniture
from falloff.kit.furniture.piece import FurniturePiece
from falloff.kit.furniture.solids import (
    BoxSolid,
    CylinderSolid,
    MeshSolid,
    Solid,
    solid_mesh,
    solid_volume_m3,
)

__all__ = [
    "FURNITURE_KINDS",
    "BoxSolid",
    "CylinderSolid",
    "FurniturePiece",
    "MeshSolid",
    "Solid",
    "furniture",
    "solid_mesh",
    "solid_volume_m3",
]
