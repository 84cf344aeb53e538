"""falloff meter of a face whose shadow side is the brighter: no ratio below nought is printed."""

from __future__ import annotations

import re
from pathlib import Path

from tests.unit.balance.why_rooms import HALL, ROOM, panel

from .conftest import Falloff


def test_no_ratio_below_nought_is_printed(falloff: Falloff, tmp_path: Path) -> None:
    more = "fixtures:\n" + panel("KEY", "[4.1 m, 1.6 m, 1.7 m]", lumens=400.0)
    more += panel("SIDE", "[0.9 m, 1.6 m, 1.7 m]", lumens=4000.0)
    more += (
        "readings:\n  key cheek: {at: ANNA.cheek_key}\n  shadow cheek: {at: ANNA.cheek_shadow}\n"
    )
    path = tmp_path / "turned.scene.yaml"
    path.write_text(ROOM.format(walls=0.3, more=more, setups="", dressed="", **HALL))
    told = re.sub(r"\s+", " ", falloff("meter", path).out)
    assert "key and fill to fill" in told
    assert told.count("the shadow side has more light than the key side") == 2
    assert not re.search(r"-[0-9.]+:1", told)
