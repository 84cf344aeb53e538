"""kit: what the crew may bring, listed, shown, imported and compared; nothing is traced.

What is to be brought to a scene is chosen in `choosing`, which traces and is loaded when asked for.
"""

from falloff.session.kit.comparing import (
    ComparedAssumption,
    ComparedSide,
    KitCompared,
    run_kit_compare,
)
from falloff.session.kit.figures import FigureTold
from falloff.session.kit.importing import (
    DatumMissed,
    KitImported,
    PlaneRead,
    SheetOptions,
    run_kit_import,
)
from falloff.session.kit.listing import KitList, ListedItem, run_kit_list
from falloff.session.kit.showing import run_kit_show
from falloff.session.kit.shown import KitShown, ModifierFit, SoftAt

__all__ = [
    "ComparedAssumption",
    "ComparedSide",
    "DatumMissed",
    "FigureTold",
    "KitCompared",
    "KitImported",
    "KitList",
    "KitShown",
    "ListedItem",
    "ModifierFit",
    "PlaneRead",
    "SheetOptions",
    "SoftAt",
    "run_kit_compare",
    "run_kit_import",
    "run_kit_list",
    "run_kit_show",
]
