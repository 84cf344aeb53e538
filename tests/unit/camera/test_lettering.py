"""Words on sheets: as wide as they are told to be, whatever the script."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

import numpy as np
import pytest

from falloff.camera import lettering
from falloff.camera.lettering import draw_words, shorten, words_width, wrap_words, writable

SCRIPTS = ["Café Zoé", "кухня", "廚房", "キッチン", "مطبخ", "रसोई", "מטבח", "🎬 take", "½ × ±"]


@pytest.fixture
def no_other_fonts(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine that has Pillow's font and no other."""
    caches = (lettering._home, lettering._substitute, lettering.writable, lettering.words_width)
    monkeypatch.setattr(lettering, "_OTHER_FONTS", ("no-such-font.ttf",))
    for cache in caches:
        cache.cache_clear()
    yield
    for cache in caches:
        cache.cache_clear()


def drawn(text: str, size_px: int = 20) -> np.ndarray:
    """The pixels of a line of text, white on black, with its left end at 20, 60."""
    from PIL import Image

    image = Image.new("RGB", (600, 100), (0, 0, 0))
    draw_words(image, (20.0, 60.0), text, size_px, fill=(255, 255, 255))
    return np.asarray(image)[..., 0].astype(int)


def test_words_stand_on_their_baseline_and_are_as_wide_as_told() -> None:
    """pencil: ink from 20 to 20 + width, within two pixels of bearing; none below the baseline."""
    ink = drawn("HEIGHT 24") > 100
    columns, rows = np.flatnonzero(ink.any(axis=0)), np.flatnonzero(ink.any(axis=1))
    assert abs(columns[0] - 20) <= 2
    assert abs(columns[-1] - (20 + words_width("HEIGHT 24", 20))) <= 3
    assert abs(rows[-1] - 59) <= 1


def test_a_minus_is_a_bar_as_wide_as_a_plus() -> None:
    """pencil: a bar, level, no box for a missing letter; as wide as the plus that it mirrors."""
    minus, plus = drawn("−") > 100, drawn("+") > 100
    assert np.count_nonzero(minus.any(axis=1)) <= 3
    assert minus.any(axis=0).sum() == plus.any(axis=0).sum()
    assert words_width("−2", 20) == words_width("+2", 20)


@pytest.mark.parametrize("text", SCRIPTS)
@pytest.mark.usefixtures("no_other_fonts")
def test_every_script_without_other_fonts(text: str) -> None:
    """pencil: something is drawn."""
    assert drawn(text).max() > 200


@pytest.mark.parametrize("text", SCRIPTS)
def test_every_script_with_the_fonts_at_hand(text: str) -> None:
    """pencil: something is drawn."""
    assert drawn(text).max() > 200


@pytest.mark.usefixtures("no_other_fonts")
def test_letters_that_no_font_holds_are_made_plainer() -> None:
    """pencil: Pillow's font knows no é and no ×; the plain letters stand for them."""
    assert writable("Café 3 × 4") == "Cafe 3 x 4"
    # Where there is nothing plainer the letter stays.
    assert writable("кухня") == "кухня".replace("й", "и")


def test_control_characters_go() -> None:
    """pencil: a line break is a space, a bell and half a surrogate pair are nothing."""
    assert writable(" A\nB\a\ud800  C ") == "A B C"
    assert drawn("\n\t\a").max() == 0
    assert words_width("", 20) == 0.0


def test_wrapping_keeps_every_word_and_the_room() -> None:
    """pencil: joined again the lines are the text; none is wider than the room."""
    text = "WIDE SHOT after the blind has been lowered and the lamp moved to the other side"
    lines = wrap_words(text, 16, 200.0, most_lines=20)
    assert len(lines) > 2
    assert " ".join(lines) == text
    assert max(words_width(line, 16) for line in lines) <= 200.0


def test_words_wider_than_the_room_are_broken() -> None:
    """pencil: no letter is lost."""
    lines = wrap_words("W" * 60, 16, 100.0, most_lines=40)
    assert "".join(lines) == "W" * 60
    assert max(words_width(line, 16) for line in lines) <= 100.0
    # One letter a line at the least, however narrow the room.
    assert wrap_words("abc", 16, 1.0, most_lines=9) == ["a", "b", "c"]


def test_too_many_lines_end_in_an_ellipsis() -> None:
    """pencil: two lines, the second shortened, both within the room."""
    lines = wrap_words("one two three four five six seven eight", 16, 90.0, most_lines=2)
    assert len(lines) == 2
    assert lines[1].endswith("…")
    assert max(words_width(line, 16) for line in lines) <= 90.0
    assert wrap_words("", 16, 90.0, most_lines=2) == []


def test_a_number_stays_with_its_unit() -> None:
    """pencil: broken anywhere else but not between 24 and mm."""
    for room in range(60, 260, 10):
        lines = wrap_words("camera WIDE, 24 mm, 5000 K, 12 %", 16, float(room), most_lines=9)
        for line in lines:
            assert not line.startswith(("mm", "K", "%"))


def test_shortening() -> None:
    """pencil: what fits is left alone; what does not ends in one ellipsis; no room, no words."""
    assert shorten("KEY", 16, 500.0) == "KEY"
    short = shorten("sensor 24.9 mm", 16, words_width("sensor 24.9…", 16))
    assert short.endswith("…")
    assert short.count(".") <= 1
    assert not shorten("sensor 24.9", 16, words_width("sensor 24.…", 16)).endswith(".…")
    assert shorten("KEY", 16, 1.0) == ""


def test_marks_go_with_their_letters() -> None:
    """pencil: an accent on its own joins the letter before it, so that é is one run or none."""
    apart = unicodedata.normalize("NFD", "Zoé")
    assert writable(apart) == writable("Zoé")
    assert len(lettering._runs("a\u0301b\u0301")) == 1
