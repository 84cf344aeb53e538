"""balance(problem) -> Balance: from targets to dims, and from what is short to what would help.

`pose` takes setups and their light to a problem. Names are found when first asked for.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from falloff.balance.fixes.confirming import TakenFix
    from falloff.balance.fixes.find import FoundFixes, find_fixes
    from falloff.balance.fixes.records import Fix, Fixes
    from falloff.balance.fixes.start import FixCase
    from falloff.balance.matching import (
        HELD,
        Held,
        softness_sentences,
        targets_to_match,
        unseen_sentences,
    )
    from falloff.balance.package.problem import (
        Chosen,
        CircuitRoom,
        Limits,
        PackageProblem,
        PlaceToFill,
        StandIn,
        Stock,
    )
    from falloff.balance.package.programme import choose_package
    from falloff.balance.package.reach import hopeless_targets
    from falloff.balance.package.records import (
        CircuitLoad,
        Package,
        PackageChoice,
        PackageLine,
        PlaceFilled,
    )
    from falloff.balance.posing import Posed, out_of_frame, pose
    from falloff.balance.problem import (
        Answer,
        ColourChoice,
        ExposureChoice,
        Lever,
        Problem,
        Table,
        Warming,
    )
    from falloff.balance.records import (
        Balance,
        Breaks,
        Conflict,
        DimSet,
        ExposureSet,
        TargetGot,
    )
    from falloff.balance.search import best_answer
    from falloff.balance.solve import Colours, balance, balance_in_colours
    from falloff.balance.words import per_cent

_HOMES = {
    "Fix": "falloff.balance.fixes.records",
    "Fixes": "falloff.balance.fixes.records",
    "FixCase": "falloff.balance.fixes.start",
    "FoundFixes": "falloff.balance.fixes.find",
    "TakenFix": "falloff.balance.fixes.confirming",
    "find_fixes": "falloff.balance.fixes.find",
    "HELD": "falloff.balance.matching",
    "Held": "falloff.balance.matching",
    "softness_sentences": "falloff.balance.matching",
    "targets_to_match": "falloff.balance.matching",
    "unseen_sentences": "falloff.balance.matching",
    "per_cent": "falloff.balance.words",
    "Answer": "falloff.balance.problem",
    "Balance": "falloff.balance.records",
    "Breaks": "falloff.balance.records",
    "ColourChoice": "falloff.balance.problem",
    "Conflict": "falloff.balance.records",
    "DimSet": "falloff.balance.records",
    "ExposureChoice": "falloff.balance.problem",
    "ExposureSet": "falloff.balance.records",
    "Lever": "falloff.balance.problem",
    "StandIn": "falloff.balance.package.problem",
    "Chosen": "falloff.balance.package.problem",
    "Limits": "falloff.balance.package.problem",
    "PackageProblem": "falloff.balance.package.problem",
    "PlaceToFill": "falloff.balance.package.problem",
    "CircuitRoom": "falloff.balance.package.problem",
    "Stock": "falloff.balance.package.problem",
    "choose_package": "falloff.balance.package.programme",
    "hopeless_targets": "falloff.balance.package.reach",
    "CircuitLoad": "falloff.balance.package.records",
    "Package": "falloff.balance.package.records",
    "PackageChoice": "falloff.balance.package.records",
    "PackageLine": "falloff.balance.package.records",
    "PlaceFilled": "falloff.balance.package.records",
    "Posed": "falloff.balance.posing",
    "Problem": "falloff.balance.problem",
    "Table": "falloff.balance.problem",
    "TargetGot": "falloff.balance.records",
    "Warming": "falloff.balance.problem",
    "Colours": "falloff.balance.solve",
    "balance": "falloff.balance.solve",
    "balance_in_colours": "falloff.balance.solve",
    "best_answer": "falloff.balance.search",
    "out_of_frame": "falloff.balance.posing",
    "pose": "falloff.balance.posing",
}

__all__ = [
    "HELD",
    "Answer",
    "Balance",
    "Breaks",
    "Chosen",
    "CircuitLoad",
    "CircuitRoom",
    "ColourChoice",
    "Colours",
    "Conflict",
    "DimSet",
    "ExposureChoice",
    "ExposureSet",
    "Fix",
    "FixCase",
    "Fixes",
    "FoundFixes",
    "Held",
    "Lever",
    "Limits",
    "Package",
    "PackageChoice",
    "PackageLine",
    "PackageProblem",
    "PlaceFilled",
    "PlaceToFill",
    "Posed",
    "Problem",
    "StandIn",
    "Stock",
    "Table",
    "TakenFix",
    "TargetGot",
    "Warming",
    "balance",
    "balance_in_colours",
    "best_answer",
    "choose_package",
    "find_fixes",
    "hopeless_targets",
    "out_of_frame",
    "per_cent",
    "pose",
    "softness_sentences",
    "targets_to_match",
    "unseen_sentences",
]


def __getattr__(name: str) -> Any:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff.balance' has no attribute {name!r}")
