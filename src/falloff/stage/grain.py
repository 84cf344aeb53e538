"""How finely surfaces are cut for the bounce of light."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Grain:
    """How fine surfaces are cut: sides of patches and of elements, metres; of meshes their areas.

    mesh_patches, mesh_elements: how many a mesh has at least, however small, and patches at most.
    """

    patch_m: float = 0.2
    element_m: float = 0.1
    mesh_patch_area_m2: float = 0.02
    mesh_patches: tuple[int, int] = (16, 60)
    mesh_element_area_m2: float = 0.005
    mesh_elements_least: int = 64


def finer(grain: Grain) -> Grain:
    """Twice as fine along a side, half as large elements of meshes."""
    return replace(
        grain,
        patch_m=0.5 * grain.patch_m,
        element_m=0.5 * grain.element_m,
        mesh_patch_area_m2=0.25 * grain.mesh_patch_area_m2,
        mesh_element_area_m2=0.5 * grain.mesh_element_area_m2,
        mesh_patches=(grain.mesh_patches[0], 3 * grain.mesh_patches[1]),
    )


def coarse_things(grain: Grain) -> Grain:
    """For a scene so full that its things cannot all be cut finely: elements ten times as large."""
    return replace(
        grain,
        mesh_patch_area_m2=4.0 * grain.mesh_patch_area_m2,
        mesh_patches=(1, 14),
        mesh_element_area_m2=10.0 * grain.mesh_element_area_m2,
        mesh_elements_least=1,
    )
