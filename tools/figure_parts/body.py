"""The bare parametric body at rest, in the figure's own frame, with its bones."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from figure_parts.surface import Array, Indices, Surface, triangles_of_quads

SKIN_POINTS = 13380  # of the base mesh: the skin comes first, helper geometry after it
DRAWN_CROWN_OVER_EYES_M = 0.1127
# Half turn about z: the model looks along -y, the figure along +y with its right at +x.
FIGURE_FROM_MODEL = np.diag([-1.0, -1.0, 1.0])


@dataclass(frozen=True, slots=True)
class Body:
    """Skin surface with weights and texture places, bones, and the eye centres.

    surface.point_data: weights (n, bones), texture (n, 2); heads_m, tails_m (bones, 3);
    eyes_m: centre and radius of left and right eye (2, 4).
    """

    surface: Surface
    bones: tuple[str, ...]
    parents: tuple[int, ...]
    heads_m: Array
    tails_m: Array
    eyes_m: Array

    def head_of(self, bone: str) -> Array:
        """Where a bone begins, at rest."""
        return self.heads_m[self.bones.index(bone)]

    def tail_of(self, bone: str) -> Array:
        """Where a bone ends, at rest."""
        return self.tails_m[self.bones.index(bone)]

    def head_scale(self) -> float:
        """Size of the head, 1 for the one that hairline and brows were drawn on."""
        over_eyes: float = self.surface.points[:, 2].max() - self.eyes_m[:, 2].mean()
        return over_eyes / DRAWN_CROWN_OVER_EYES_M


def make_body(
    phenotype: dict[str, float], changes: dict[str, float], actions: dict[str, float]
) -> Body:
    """The body for a table of dials, standing at rest."""
    import anny
    import torch

    model = anny.Anny(
        rig="makehuman",
        topology="anny-quads-full",
        local_changes="default",
        facial_actions="all",
        phenotypes="all",
    ).to(dtype=torch.float32)
    still = torch.eye(4)[None, None].repeat(1, model.bone_count, 1, 1)
    result = model(
        pose_parameters=still,
        phenotype_kwargs=phenotype,
        local_changes_kwargs=changes,
        facial_actions=actions,
    )
    points = result["rest_vertices"][0].numpy().astype(float) @ FIGURE_FROM_MODEL
    return Body(
        surface=_skin(model, points),
        bones=tuple(model.bone_labels),
        parents=tuple(model.bone_parents),
        heads_m=result["rest_bone_heads"][0].numpy().astype(float) @ FIGURE_FROM_MODEL,
        tails_m=result["rest_bone_tails"][0].numpy().astype(float) @ FIGURE_FROM_MODEL,
        eyes_m=_eyes(points),
    )


def mask_picture(name: str) -> NDArray[np.float64]:
    """One of the package's texture masks (h, w), 0..1, row 0 at the top."""
    import anny
    from PIL import Image

    path = Path(anny.__file__).parent / "data" / "mpfb2" / "textures" / name
    return np.asarray(Image.open(path).convert("L"), dtype=float) / 255.0


def sampled(picture: NDArray[np.float64], texture: Array) -> Array:
    """A mask read bilinearly at texture places (n, 2)."""
    height, width = picture.shape
    x = np.clip(texture[:, 0] * width - 0.5, 0, width - 1.001)
    y = np.clip((1 - texture[:, 1]) * height - 0.5, 0, height - 1.001)
    i, j = x.astype(int), y.astype(int)
    u, v = x - i, y - j
    top = picture[j, i] * (1 - u) + picture[j, i + 1] * u
    low = picture[j + 1, i] * (1 - u) + picture[j + 1, i + 1] * u
    return top * (1 - v) + low * v


def _skin(model: object, points: Array) -> Surface:
    quads = model.faces.numpy().astype(np.int64)  # type: ignore[attr-defined]
    texture_quads = model.face_texture_coordinate_indices.numpy()  # type: ignore[attr-defined]
    skin = (quads < SKIN_POINTS).all(axis=1)
    quads, texture_quads = quads[skin], texture_quads[skin]
    triangles, origin = triangles_of_quads(points, quads)
    coordinates = model.texture_coordinates.numpy()  # type: ignore[attr-defined]
    texture = np.zeros((SKIN_POINTS, 2))
    texture[quads.ravel()] = coordinates[texture_quads.ravel()]
    data = {"weights": _weights(model)[:SKIN_POINTS], "texture": texture}
    data["texture"].setflags(write=True)
    return Surface(points[:SKIN_POINTS], triangles, data, {"quad": origin})


def _weights(model: object) -> Array:
    which = model.vertex_bone_indices.numpy()  # type: ignore[attr-defined]
    share = model.vertex_bone_weights.numpy()  # type: ignore[attr-defined]
    weights = np.zeros((len(which), len(model.bone_labels)))  # type: ignore[attr-defined]
    np.add.at(weights, (np.arange(len(which))[:, None], which), share)
    return weights


def _eyes(points: Array) -> Array:
    """Centre and radius (2, 4) of the left and the right eye of the base mesh's eye balls."""
    balls = []
    for first, last in ((14598, 14669), (14670, 14741)):
        ball: Indices = np.arange(first, last + 1)
        system = np.concatenate([2 * points[ball], np.ones((len(ball), 1))], axis=1)
        answer = np.linalg.lstsq(system, (points[ball] ** 2).sum(axis=1), rcond=None)[0]
        centre = answer[:3]
        balls.append([*centre, np.sqrt(answer[3] + centre @ centre)])
    return np.asarray(sorted(balls))
