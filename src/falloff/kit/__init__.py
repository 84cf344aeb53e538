"""Generic things a scene names: figures and materials."""

from falloff.kit.figures import Figure, figure_names, find_figure
from falloff.kit.furniture import (
    FURNITURE_KINDS,
    BoxSolid,
    CylinderSolid,
    FurniturePiece,
    MeshSolid,
    Solid,
    furniture,
    solid_mesh,
    solid_volume_m3,
)
from falloff.kit.headwear import (
    COVERINGS,
    HAIR_STYLES,
    HeadDress,
    HeadPart,
    dressed_head,
)
from falloff.kit.lights import Outfit, head_names, modifier_names, read_outfit
from falloff.kit.materials import Material, find_material, material_names
from falloff.kit.posing import Look, look
from falloff.kit.skin import SKIN_WORDS, Skin, find_skin

__all__ = [
    "COVERINGS",
    "FURNITURE_KINDS",
    "HAIR_STYLES",
    "SKIN_WORDS",
    "BoxSolid",
    "CylinderSolid",
    "Figure",
    "FurniturePiece",
    "HeadDress",
    "HeadPart",
    "Look",
    "Material",
    "MeshSolid",
    "Outfit",
    "Skin",
    "Solid",
    "dressed_head",
    "figure_names",
    "find_figure",
    "find_material",
    "find_skin",
    "furniture",
    "head_names",
    "look",
    "material_names",
    "modifier_names",
    "read_outfit",
    "solid_mesh",
    "solid_volume_m3",
]
