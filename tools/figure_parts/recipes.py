"""The figures that are made: dials of the body, the pose, the cloth."""

from __future__ import annotations

from dataclasses import dataclass

from figure_parts.pose import Turn


@dataclass(frozen=True, slots=True)
class Recipe:
    """One figure: dials as the body model names them, turns for the right side mirrored."""

    name: str
    phenotype: dict[str, float]
    changes: dict[str, float]
    actions: dict[str, float]
    turns: tuple[Turn, ...]
    uneven: tuple[Turn, ...]  # added after mirroring, so that the pose is not a mirror image
    iris_m: float = 0.0062
    gaze_down_deg: float = 4.0


def _curled(side: str, fingers: dict[str, tuple[float, float, float]]) -> tuple[Turn, ...]:
    """Turns of the three joints of each finger towards the palm, in degrees."""
    return tuple(
        (f"finger{finger}-{joint}.{side}", "curl", degrees)
        for finger, joints in fingers.items()
        for joint, degrees in enumerate(joints, start=1)
    )


SEATED_MAKER = Recipe(
    name="seated_maker",
    phenotype={
        "gender": 0.04,
        "age": 0.80,
        "muscle": 0.5,
        "weight": 0.52,
        "height": 0.36,
        "proportions": 0.5,
        "african": 0.25,
        "asian": 0.15,
        "caucasian": 0.6,
    },
    changes={},
    actions={"mouthSmileLeft": 0.08, "mouthSmileRight": 0.05},
    turns=(
        ("root", "x", 6.0),
        ("spine05", "x", -6.0),
        ("spine04", "x", -5.0),
        ("spine03", "x", -4.0),
        ("spine02", "x", -3.0),
        ("spine01", "x", -2.0),
        ("neck01", "x", 3.0),
        ("neck02", "x", 3.0),
        ("neck03", "x", 3.0),
        ("head", "x", 5.0),
        ("upperleg01.R", "x", 80.0),
        ("upperleg01.R", "z", -5.0),
        ("lowerleg01.R", "x", -87.0),
        ("foot.R", "x", 1.0),
        ("clavicle.R", "y", 4.0),
        ("upperarm01.R", "y", 36.0),
        ("upperarm01.R", "x", 30.0),
        ("upperarm02.R", "along", -14.0),
        ("lowerarm01.R", "hinge", 39.0),
        ("lowerarm02.R", "along", -45.0),
        ("wrist.R", "along", -15.0),
        ("wrist.R", "curl", -14.0),
        *_curled(
            "R",
            {
                "2": (14, 18, 10),
                "3": (18, 22, 12),
                "4": (22, 24, 14),
                "5": (24, 24, 14),
            },
        ),
    ),
    uneven=(
        ("lowerleg01.L", "x", -6.0),
        ("foot.L", "x", 6.0),
        ("head", "z", 2.0),
    ),
)

RECIPES = (SEATED_MAKER,)
