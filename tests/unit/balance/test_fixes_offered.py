"""What is offered, and what is not: a window that is wanted open, setups that take after others."""

from __future__ import annotations

from tests.unit.balance.fix_rooms import SOFT, SPOT, Fixed, pale_room


def test_a_window_whose_view_is_wanted_is_not_shut() -> None:
    """The view is in frame, and wanted low, not gone; out of frame it may go."""
    wanted = "  view low: {reading: view, level: 1 stop, limit: at most}"
    text = pale_room(targets=wanted)
    inside = text.replace("aim: ANNA.face, lens: 50 mm", "aim: [3.0 m, 2.65 m, 1.4 m], lens: 24 mm")
    assert inside != text
    for scene, shut in ((text, True), (inside, False)):
        says = [one.says for one in Fixed(scene).candidates]
        assert ("WINDOW blacked out" in says) is shut
        assert "ND 0.6 gel on WINDOW" in says


def test_an_exposure_names_the_setups_that_take_after_it() -> None:
    """CLOSE takes its ISO after WIDE: the fix names both."""
    wanted = "  view low: {reading: view, level: 4 stops, limit: at most}"
    text = pale_room(targets=wanted).replace("readings:\n", "  CLOSE: {like: WIDE}\nreadings:\n", 1)
    isos = [one for one in Fixed(text).candidates if one.says.startswith("ISO")]
    assert any("WIDE, and CLOSE after it: ISO" in one.does[0] for one in isos)
    assert all("than written" in one.does[0] for one in isos)


def test_a_loaded_circuit_is_cautioned() -> None:
    """Pencil: two of 1,500 W at 230 V are 13.0 A, past 80 % of a breaker of 16 A (12.8 A)."""
    back = SPOT.replace("[2.6 m, 1.4 m, 2.0 m]", "[2.4 m, 1.0 m, 2.2 m]")
    back = back.replace("stand: true", "stand: true, power: 1500 W, circuit: RING")
    wanted = "  wall up: {reading: wall, level: 6 stops, limit: at least}"
    text = pale_room(fixtures=(SOFT, back), targets=wanted)
    text = text.replace(
        "cameras:", "house_power: {supply: 230 V, circuits: {RING: {breaker: 16 A}}}\ncameras:"
    )
    second = Fixed(text).candidate("a second BACK")
    assert any("13.0 A on a 16 A breaker" in one for one in second.cautions)
