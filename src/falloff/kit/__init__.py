"""Generic things a scene names: figures and materials."""

from falloff.kit.figures import Figure, figure_names, find_figure
from falloff.kit.materials import Material, find_material, material_names

__all__ = [
    "Figure",
    "Material",
    "figure_names",
    "find_figure",
    "find_material",
    "material_names",
]
