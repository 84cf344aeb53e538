"""The use cases, one file each: the packages' verbs chained, nothing else.

Names are found when first asked for: what traces nothing starts without the tracer.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from falloff.balance.why.records import Cause, Why, Whys
    from falloff.layers import warm_up
    from falloff.session.balance import (
        BalanceAsked,
        Balanced,
        FromStill,
        place_of,
        run_balance,
    )
    from falloff.session.check import Checked, run_check
    from falloff.session.correct import CorrectAsked, CorrectedScene, run_correct
    from falloff.session.correct_kit import KitLearned
    from falloff.session.day import DayAsked, DaysShown, run_day
    from falloff.session.demo import Demo, run_demo
    from falloff.session.fixes import FixesAsked, FixesFound, run_fixes
    from falloff.session.kit import (
        KitCompared,
        KitImported,
        KitList,
        KitShown,
        SheetOptions,
        run_kit_compare,
        run_kit_import,
        run_kit_list,
        run_kit_show,
    )
    from falloff.session.kit.choosing import ChooseAsked, KitChosen, run_kit_choose
    from falloff.session.locations import LOCATIONS, Location, location_file
    from falloff.session.match import MatchAsked, Matched, held_of, run_match
    from falloff.session.meter import Metered, run_meter
    from falloff.session.new import Started, run_new
    from falloff.session.picture import ChangeFile, PictureFiles, Pictures, run_picture
    from falloff.session.pocket import Pocket, pocket_stem, run_pocket
    from falloff.session.quick import (
        SITUATIONS,
        QuickAnswer,
        check_answer,
        fitting_default,
        questions,
        read_answer,
        taken_as,
    )
    from falloff.session.scene import Scene, open_scene, setup_light
    from falloff.session.still import (
        StillAsked,
        StillTarget,
        StillTargets,
        still_edits,
        targets_from_still,
    )
    from falloff.session.why import run_why, run_why_readings

_HOMES = {
    "FixesAsked": "falloff.session.fixes",
    "FixesFound": "falloff.session.fixes",
    "run_fixes": "falloff.session.fixes",
    "Cause": "falloff.balance.why.records",
    "Why": "falloff.balance.why.records",
    "Whys": "falloff.balance.why.records",
    "run_why": "falloff.session.why",
    "run_why_readings": "falloff.session.why",
    "FromStill": "falloff.session.balance",
    "place_of": "falloff.session.balance",
    "BalanceAsked": "falloff.session.balance",
    "Balanced": "falloff.session.balance",
    "MatchAsked": "falloff.session.match",
    "Matched": "falloff.session.match",
    "held_of": "falloff.session.match",
    "run_balance": "falloff.session.balance",
    "run_match": "falloff.session.match",
    "LOCATIONS": "falloff.session.locations",
    "SITUATIONS": "falloff.session.quick",
    "ChangeFile": "falloff.session.picture",
    "Checked": "falloff.session.check",
    "CorrectAsked": "falloff.session.correct",
    "CorrectedScene": "falloff.session.correct",
    "DayAsked": "falloff.session.day",
    "DaysShown": "falloff.session.day",
    "Demo": "falloff.session.demo",
    "ChooseAsked": "falloff.session.kit.choosing",
    "KitChosen": "falloff.session.kit.choosing",
    "KitCompared": "falloff.session.kit",
    "KitImported": "falloff.session.kit",
    "KitLearned": "falloff.session.correct_kit",
    "KitList": "falloff.session.kit",
    "KitShown": "falloff.session.kit",
    "Location": "falloff.session.locations",
    "Metered": "falloff.session.meter",
    "PictureFiles": "falloff.session.picture",
    "Pictures": "falloff.session.picture",
    "Pocket": "falloff.session.pocket",
    "QuickAnswer": "falloff.session.quick",
    "Scene": "falloff.session.scene",
    "SheetOptions": "falloff.session.kit",
    "Started": "falloff.session.new",
    "StillAsked": "falloff.session.still",
    "StillTarget": "falloff.session.still",
    "StillTargets": "falloff.session.still",
    "check_answer": "falloff.session.quick",
    "fitting_default": "falloff.session.quick",
    "location_file": "falloff.session.locations",
    "open_scene": "falloff.session.scene",
    "pocket_stem": "falloff.session.pocket",
    "questions": "falloff.session.quick",
    "read_answer": "falloff.session.quick",
    "run_check": "falloff.session.check",
    "run_correct": "falloff.session.correct",
    "run_day": "falloff.session.day",
    "run_demo": "falloff.session.demo",
    "run_kit_choose": "falloff.session.kit.choosing",
    "run_kit_compare": "falloff.session.kit",
    "run_kit_import": "falloff.session.kit",
    "run_kit_list": "falloff.session.kit",
    "run_kit_show": "falloff.session.kit",
    "run_meter": "falloff.session.meter",
    "run_new": "falloff.session.new",
    "run_picture": "falloff.session.picture",
    "run_pocket": "falloff.session.pocket",
    "setup_light": "falloff.session.scene",
    "still_edits": "falloff.session.still",
    "taken_as": "falloff.session.quick",
    "targets_from_still": "falloff.session.still",
    "warm_up": "falloff.layers",
}

__all__ = [
    "LOCATIONS",
    "SITUATIONS",
    "BalanceAsked",
    "Balanced",
    "Cause",
    "ChangeFile",
    "Checked",
    "ChooseAsked",
    "CorrectAsked",
    "CorrectedScene",
    "DayAsked",
    "DaysShown",
    "Demo",
    "FixesAsked",
    "FixesFound",
    "FromStill",
    "KitChosen",
    "KitCompared",
    "KitImported",
    "KitLearned",
    "KitList",
    "KitShown",
    "Location",
    "MatchAsked",
    "Matched",
    "Metered",
    "PictureFiles",
    "Pictures",
    "Pocket",
    "QuickAnswer",
    "Scene",
    "SheetOptions",
    "Started",
    "StillAsked",
    "StillTarget",
    "StillTargets",
    "Why",
    "Whys",
    "check_answer",
    "fitting_default",
    "held_of",
    "location_file",
    "open_scene",
    "place_of",
    "pocket_stem",
    "questions",
    "read_answer",
    "run_balance",
    "run_check",
    "run_correct",
    "run_day",
    "run_demo",
    "run_fixes",
    "run_kit_choose",
    "run_kit_compare",
    "run_kit_import",
    "run_kit_list",
    "run_kit_show",
    "run_match",
    "run_meter",
    "run_new",
    "run_picture",
    "run_pocket",
    "run_why",
    "run_why_readings",
    "setup_light",
    "still_edits",
    "taken_as",
    "targets_from_still",
    "warm_up",
]


def __getattr__(name: str) -> Any:
    """A name from its home, which is loaded then."""
    if name in _HOMES:
        return getattr(importlib.import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'falloff.session' has no attribute {name!r}")
