"""The people of the catalogue: one recipe each."""

from __future__ import annotations

from figure_parts.head import Hair
from figure_parts.poses import (
    ARMS,
    AT_A_BENCH,
    FLAT_HAND,
    LEGS,
    LEVEL_HEAD,
    LOOSE_HAND,
    NECK,
    ON_A_CHAIR,
    ON_ONE_LEG,
    UPRIGHT,
    arms,
    feet,
    hanging,
    on_thighs,
)
from figure_parts.reach import At, SoleHeight, Way
from figure_parts.recipes import Recipe, curled

ON_A_PILLOW = "head on a pillow {pillow_m:.2f} m high, {pillow_at_m:.2f} m behind the origin"
ALL_JOINTS = (*LEGS, *ARMS, *NECK)


def _dials(
    gender: float, age: float, kind: tuple[float, float, float], **more: float
) -> dict[str, float]:
    """Dials of the body; kind: shares of the model's African, Asian and Caucasian shapes."""
    names = ("african", "asian", "caucasian")
    plain = {"muscle": 0.5, "weight": 0.5, "height": 0.4, "proportions": 0.6}
    shares = dict(zip(names, kind, strict=True))
    return {**plain, "gender": gender, "age": age, **shares, **more}


WOMAN_SEATED = Recipe(
    name="woman seated",
    pose="seated",
    phenotype=_dials(
        0.97,
        0.80,
        (0.25, 0.15, 0.6),
        weight=0.52,
        height=0.43,
        cupsize=0.45,
        firmness=0.5,
    ),
    actions={"mouthSmileLeft": 0.10, "mouthSmileRight": 0.07},
    turns=AT_A_BENCH,
    uneven=(("lowerleg01.L", "x", -6.0), ("foot.L", "x", 6.0), ("head", "z", 2.0)),
    free=LEGS,
    goals=(
        *(SoleHeight(side) for side in "LR"),
        *(Way(f"foot.{side}", "up", (0.0, 0.0, 1.0), 0.01) for side in "LR"),
    ),
    sink_m=0.024,
    hair=Hair(fringe_deg=-2.0, nape_deg=-8.0, fullness=0.8, bun_m=0.036, bun_up_deg=8.0, brows=0.8),
    iris_m=0.0064,
)

MAN_STANDING = Recipe(
    name="man standing",
    phenotype=_dials(0.03, 0.74, (0.15, 0.1, 0.75), muscle=0.58, height=0.385),
    turns=UPRIGHT,
    uneven=ON_ONE_LEG,
    free=ALL_JOINTS,
    goals=(*feet(0.115, 0.02, 9.0), *hanging(), *LEVEL_HEAD),
)

WOMAN_STANDING = Recipe(
    name="woman standing",
    phenotype=_dials(
        0.98,
        0.70,
        (0.7, 0.05, 0.25),
        weight=0.48,
        height=0.42,
        proportions=0.7,
        cupsize=0.5,
        firmness=0.55,
    ),
    turns=UPRIGHT,
    uneven=ON_ONE_LEG,
    free=ALL_JOINTS,
    goals=(*feet(0.095, -0.03, 8.0), *hanging(0.17), *LEVEL_HEAD),
    hair=Hair(nape_deg=-6.0, fullness=1.5, curl=0.9, locks=0.14, brows=0.8, back_m=0.006),
    collar=False,
    iris_m=0.0064,
)

MAN_SEATED = Recipe(
    name="man seated",
    pose="seated",
    phenotype=_dials(0.04, 0.72, (0.1, 0.75, 0.15), height=0.37),
    turns=ON_A_CHAIR,
    uneven=(("lowerleg01.L", "x", -5.0), ("spine03", "z", 3.0)),
    free=ALL_JOINTS,
    goals=(*feet(0.15, 0.03, 12.0), *on_thighs(0.115, 0.26, -0.065), *LEVEL_HEAD),
    hair=Hair(locks=0.13),
)

CHILD_STANDING = Recipe(
    name="child standing",
    phenotype=_dials(0.9, 0.275, (0.2, 0.55, 0.25), weight=0.45, height=0.5, proportions=0.5),
    actions={"mouthSmileLeft": 0.2, "mouthSmileRight": 0.2},
    turns=UPRIGHT,
    uneven=(("head", "z", -4.0),),
    free=ALL_JOINTS,
    goals=(*feet(0.075, 0.015, 7.0), *hanging(0.2), *LEVEL_HEAD),
    hair=Hair(fringe_deg=14.0, nape_deg=6.0, fullness=1.3, back_m=0.004, brows=0.75),
    collar=False,
)

CHILD_SEATED = Recipe(
    name="child seated",
    pose="seated",
    phenotype=_dials(0.15, 0.265, (0.45, 0.1, 0.45), height=0.5, proportions=0.5),
    actions={"mouthSmileLeft": 0.15, "mouthSmileRight": 0.25},
    turns=(*ON_A_CHAIR, ("lowerleg01.R", "x", 6.0), ("foot.R", "x", -12.0)),
    uneven=(("lowerleg01.L", "x", 7.0), ("head", "z", 4.0)),
    free=(*ARMS, *NECK),
    goals=(*on_thighs(0.118, 0.17, -0.045), *LEVEL_HEAD),
    hair=Hair(fringe_deg=6.0, fullness=1.15, curl=0.5, brows=0.75),
    seat_at_m=0.45,
    sink_m=0.026,
)

OLDER_MAN_STANDING = Recipe(
    name="older man standing",
    phenotype=_dials(0.05, 0.99, (0.05, 0.1, 0.85), muscle=0.42, weight=0.5, height=0.385),
    turns=(
        *UPRIGHT,
        ("spine03", "x", -5.0),
        ("spine02", "x", -6.0),
        ("spine01", "x", -5.0),
    ),
    uneven=ON_ONE_LEG,
    free=ALL_JOINTS,
    goals=(*feet(0.115, -0.02, 12.0), *hanging(0.17, 0.06), *LEVEL_HEAD),
    hair=Hair(temples_deg=17.0, fringe_deg=-8.0, fullness=0.55, brows=1.15),
)

OLDER_WOMAN_SEATED = Recipe(
    name="older woman seated",
    pose="seated",
    phenotype=_dials(
        0.96,
        0.98,
        (0.1, 0.5, 0.4),
        muscle=0.4,
        weight=0.6,
        height=0.42,
        cupsize=0.6,
        firmness=0.2,
    ),
    actions={"mouthSmileLeft": 0.12, "mouthSmileRight": 0.12},
    turns=(*ON_A_CHAIR, ("spine02", "x", -5.0), ("spine01", "x", -5.0)),
    uneven=(("lowerleg01.R", "x", -6.0), ("head", "z", -3.0)),
    free=ALL_JOINTS,
    goals=(*feet(0.10, -0.03, 6.0), *on_thighs(0.115, 0.22, -0.03), *LEVEL_HEAD),
    sink_m=0.034,
    hair=Hair(fullness=1.9, curl=0.55, locks=0.12, nape_deg=-4.0, back_m=0.004, brows=0.75),
)

HEAVY_MAN_STANDING = Recipe(
    name="heavy man standing",
    phenotype=_dials(0.03, 0.8, (0.8, 0.05, 0.15), weight=1.0, muscle=0.5, height=0.385),
    changes={
        "stomach-pregnant-incr": 0.35,
        "neck-double-incr": 0.5,
        "head-fat-incr": 0.6,
        "measure-waist-circ-incr": 0.5,
        "measure-hips-circ-incr": 0.3,
    },
    turns=UPRIGHT,
    uneven=(("head", "z", -2.0),),
    free=ALL_JOINTS,
    goals=(*feet(0.135, -0.01, 13.0), *hanging(0.36), *LEVEL_HEAD),
    hair=Hair(fullness=0.35, temples_deg=6.0, curl=0.8, locks=0.1),
)

SLIM_YOUNG_WOMAN_STANDING = Recipe(
    name="slim young woman standing",
    phenotype=_dials(
        0.98,
        0.62,
        (0.1, 0.8, 0.1),
        weight=0.22,
        muscle=0.42,
        height=0.44,
        proportions=0.8,
        cupsize=0.35,
        firmness=0.7,
    ),
    turns=UPRIGHT,
    uneven=(*ON_ONE_LEG, ("spine03", "z", -4.0)),
    free=ALL_JOINTS,
    goals=(*feet(0.085, 0.03, 6.0), *hanging(0.16), *LEVEL_HEAD),
    hair=Hair(
        fringe_deg=-1.0, nape_deg=-10.0, fullness=0.75, bun_m=0.040, bun_up_deg=38.0, brows=0.8
    ),
    iris_m=0.0065,
)

TALL_MAN_LEANING = Recipe(
    name="tall man leaning",
    pose="leaning",
    phenotype=_dials(0.02, 0.66, (0.6, 0.1, 0.3), muscle=0.55, weight=0.42, height=0.44),
    turns=(
        ("root", "x", 8.0),
        ("spine05", "x", -5.0),
        ("spine04", "x", -5.0),
        ("spine03", "x", -4.0),
        ("spine02", "x", -3.0),
        ("upperleg01.R", "x", 8.0),
        ("upperarm01.R", "y", 30.0),
        ("upperarm01.R", "x", -14.0),
        ("lowerleg01.R", "x", -3.0),
        ("lowerarm02.R", "along", -20.0),
        *curled("R", {"2": (46, 26, 12), "3": (50, 28, 12), "4": (52, 28, 14), "5": (50, 28, 14)}),
    ),
    uneven=(("root", "y", 1.5), ("lowerleg01.L", "x", -6.0)),
    free=ALL_JOINTS,
    goals=(
        *feet(0.12, 0.05, 12.0),
        At("upperleg01.R", None, -0.25, None, "", 0.01),
        At("upperleg01.L", None, -0.25, None, "", 0.01),
        At("wrist.R", 0.13, -0.12, None, "upperleg01.R", 0.01),
        At("wrist.L", -0.13, -0.12, None, "upperleg01.L", 0.01),
        At("wrist.R", None, None, 0.945, "", 0.01),
        At("wrist.L", None, None, 0.945, "", 0.01),
        Way("upperarm01.R", "along", (0.18, -0.5, -1.0), 0.1),
        Way("upperarm01.L", "along", (-0.18, -0.5, -1.0), 0.1),
        Way("wrist.R", "palm", (0.0, 0.0, -1.0), 0.1),
        Way("wrist.L", "palm", (0.0, 0.0, -1.0), 0.1),
        Way("wrist.R", "along", (0.25, 1.0, 0.0), 0.1),
        Way("wrist.L", "along", (-0.25, 1.0, 0.0), 0.1),
        *LEVEL_HEAD,
    ),
    hair=Hair(temples_deg=4.0, fullness=0.6, curl=0.9, locks=0.12),
    rest="hips against an edge 0.90 m high, {edge_m:.2f} m behind the origin",
)

BENT = tuple((f"spine0{n}", "x") for n in (5, 4, 3, 2))
WOMAN_LEANING = Recipe(
    name="woman leaning",
    pose="leaning",
    phenotype=_dials(
        0.97,
        0.76,
        (0.05, 0.1, 0.85),
        weight=0.56,
        height=0.43,
        cupsize=0.55,
        firmness=0.45,
    ),
    turns=(
        ("root", "x", -16.0),
        ("spine05", "x", -5.0),
        ("spine04", "x", -5.0),
        ("spine03", "x", -4.0),
        ("spine02", "x", -4.0),
        ("upperleg01.R", "x", 10.0),
        ("lowerleg01.R", "x", -4.0),
        ("upperarm01.R", "y", 34.0),
        ("upperarm01.R", "x", 50.0),
        ("lowerarm01.R", "hinge", 45.0),
        ("lowerarm02.R", "along", -50.0),
        *LOOSE_HAND,
    ),
    uneven=(("lowerleg01.L", "x", -8.0), ("root", "y", 1.5)),
    free=(*ALL_JOINTS, ("root", "x"), *BENT),
    goals=(
        *feet(0.10, -0.06, 9.0),
        At("lowerarm01.R", 0.20, 0.36, 1.075, "", 0.01),
        At("lowerarm01.L", -0.20, 0.36, 1.075, "", 0.01),
        At("wrist.R", 0.115, None, 1.055, "", 0.01),
        At("wrist.L", -0.105, None, 1.055, "", 0.01),
        Way("wrist.R", "palm", (-0.35, 0.0, -1.0), 0.12),
        Way("wrist.L", "palm", (0.35, 0.0, -1.0), 0.12),
        Way("wrist.R", "along", (-0.35, 1.0, -0.1), 0.12),
        Way("wrist.L", "along", (0.3, 1.0, -0.1), 0.12),
        Way("head", "ahead", (0.0, 1.0, 0.0)),
        Way("head", "up", (0.0, 0.0, 1.0)),
    ),
    hair=Hair(fringe_deg=3.0, nape_deg=4.0, fullness=1.35, back_m=0.010, locks=0.14, brows=0.8),
    rest="forearms on a counter {counter_m:.2f} m high, its near edge {ahead_m:.2f} m ahead",
)

MAN_LYING = Recipe(
    name="man lying",
    pose="lying",
    phenotype=_dials(0.04, 0.84, (0.25, 0.1, 0.65), weight=0.55, height=0.38),
    turns=(
        ("root", "x", 90.0),
        ("spine05", "x", -2.0),
        ("neck01", "x", -7.0),
        ("neck02", "x", -7.0),
        ("neck03", "x", -4.0),
        ("upperleg01.R", "x", 1.0),
        ("foot.R", "x", -22.0),
        ("foot.R", "z", -14.0),
        ("upperarm01.R", "y", 30.0),
        ("lowerarm02.R", "along", -40.0),
        *LOOSE_HAND,
    ),
    uneven=(("head", "y", 2.0),),
    free=(*ARMS, ("upperleg01.R", "x"), ("upperleg01.L", "x")),
    goals=(
        At("foot.R", None, None, -0.025, "upperleg01.R", 0.01),
        At("foot.L", None, None, -0.025, "upperleg01.L", 0.01),
        *arms("R", (0.30, 1.0, -0.10), (0.12, 1.0, -0.02), palm=(-0.35, 0.0, -1.0)),
        *arms("L", (0.32, 1.0, -0.10), (0.08, 1.0, 0.02), palm=(-0.35, 0.0, -1.0)),
        At("wrist.R", None, None, -0.035, "upperleg01.R", 0.01),
        At("wrist.L", None, None, -0.035, "upperleg01.L", 0.01),
    ),
    hair=Hair(temples_deg=8.0, fringe_deg=-2.0),
    sink_m=0.034,
    rest="on the back; " + ON_A_PILLOW,
)

WOMAN_LYING = Recipe(
    name="woman lying",
    pose="lying",
    phenotype=_dials(
        0.97,
        0.68,
        (0.35, 0.3, 0.35),
        weight=0.48,
        height=0.42,
        cupsize=0.45,
        firmness=0.6,
    ),
    turns=(
        ("root", "x", 90.0),
        ("root", "y", 90.0),
        ("upperleg01.R", "x", 40.0),
        ("lowerleg01.R", "x", -50.0),
        ("upperarm01.R", "y", 20.0),
        ("upperarm01.R", "x", 50.0),
        ("lowerarm01.R", "hinge", 45.0),
        ("foot.R", "x", -18.0),
        *FLAT_HAND,
    ),
    free=(*LEGS, *ARMS),
    goals=(
        Way("upperleg01.R", "along", (0.45, 0.9, 0.0), 0.05),
        Way("lowerleg01.R", "along", (-0.45, 0.9, 0.0), 0.05),
        Way("upperleg01.L", "along", (0.85, 0.5, -0.34), 0.05),
        Way("lowerleg01.L", "along", (-0.45, 0.9, -0.2), 0.05),
        Way("upperarm01.R", "along", (1.0, -0.25, 0.0), 0.08),
        Way("lowerarm01.R", "along", (0.1, -1.0, 0.0), 0.08),
        Way("upperarm01.L", "along", (0.75, 0.6, -0.45), 0.08),
        Way("lowerarm01.L", "along", (0.75, -0.45, -0.5), 0.08),
        Way("wrist.L", "palm", (0.0, 0.2, -1.0), 0.15),
        Way("wrist.R", "palm", (-0.3, 0.0, 1.0), 0.15),
    ),
    hair=Hair(nape_deg=-6.0, fullness=0.9, bun_m=0.036, bun_up_deg=24.0, brows=0.8),
    collar=False,
    sink_m=0.035,
    rest="on the right side; " + ON_A_PILLOW,
    iris_m=0.0064,
)

RECIPES = (
    WOMAN_SEATED,
    MAN_STANDING,
    WOMAN_STANDING,
    MAN_SEATED,
    CHILD_STANDING,
    CHILD_SEATED,
    OLDER_MAN_STANDING,
    OLDER_WOMAN_SEATED,
    HEAVY_MAN_STANDING,
    SLIM_YOUNG_WOMAN_STANDING,
    TALL_MAN_LEANING,
    WOMAN_LEANING,
    MAN_LYING,
    WOMAN_LYING,
)
