"""Words on drawn sheets: any script that a font at hand holds, wrapped or shortened to fit.

The font that comes with Pillow is used for every letter that it holds, so that every machine draws
the same. It knows English and little more; for another letter the first font of the machine that
holds it is taken, and where none does, the letter loses its accent or is drawn as an empty box.
"""

from __future__ import annotations

import contextlib
import functools
import re
import unicodedata
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, Literal

from falloff.camera.stops_text import font as own_font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw
    from PIL.ImageFont import FreeTypeFont, ImageFont

Ink = tuple[int, int, int]
Anchor = Literal["left", "middle", "right"]

ELLIPSIS: Final = "…"
MINUS: Final = "−"
# Words are drawn this much finer and then made smaller, so that small text is spaced well.
_FINE: Final = 3
# The name that Pillow's own font goes by here.
_OWN: Final = ""
# Fonts of many letters that common systems bring along, wide ones last.
_OTHER_FONTS: Final = (
    "DejaVuSans.ttf",
    "NotoSans-Regular.ttf",
    "Arial.ttf",
    "arial.ttf",
    "segoeui.ttf",
    "NotoSansCJK-Regular.ttc",
    "Arial Unicode.ttf",
    "msgothic.ttc",
    "msyh.ttc",
)
# No character has this code, so that a font draws what it draws for one that it lacks.
_NO_CHARACTER: Final = "\uffff"
_PROBE_PX: Final = 24
# What stands for a sign that no font holds.
_PLAINER: Final = {"×": "x", "–": "-", "—": "-", "’": "'", "‘": "'"}
# A number and a unit of one or two letters after it stay on one line.
_BEFORE_UNIT: Final = re.compile(r"(?<=\d) (?=[^\W\d]{1,2}(?:\W|$)|%)")


def draw_words(
    image: Image.Image,
    place_px: tuple[float, float],
    text: str,
    size_px: int,
    *,
    fill: Ink,
    anchor: Anchor = "left",
) -> None:
    """Draw one line of text on an RGB image: its baseline's left end, middle or right at a place.

    size_px: height of the font, 1 and up. What lies past the image's border is cut off.
    """
    from PIL import Image, ImageDraw

    line = writable(text)
    if not line:
        return
    size = size_px * _FINE
    width, pad = _fine_width(line, size), size
    mask = Image.new("L", (-(-(round(width) + 2 * pad) // _FINE) * _FINE, 3 * size), 0)
    _write(ImageDraw.Draw(mask), (float(pad), 2.0 * size), line, size)
    small = mask.resize((mask.width // _FINE, mask.height // _FINE), Image.Resampling.BOX)
    back = {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor] * width
    left = place_px[0] - (back + pad) / _FINE
    image.paste(fill, (round(left), round(place_px[1]) - 2 * size_px), small)


def with_words_below(
    image: Image.Image, paragraphs: tuple[tuple[str, Ink], ...], size_px: int, *, paper: Ink
) -> Image.Image:
    """The image with paragraphs on a strip of paper below it, each with its ink."""
    from PIL import Image

    margin, step = round(0.8 * size_px), round(1.5 * size_px)
    lines = [
        (line, ink)
        for text, ink in paragraphs
        for line in wrap_words(text, size_px, image.width - 2 * margin, most_lines=4)
    ]
    whole = Image.new("RGB", (image.width, image.height + step * len(lines) + margin), paper)
    whole.paste(image, (0, 0))
    for index, (line, ink) in enumerate(lines):
        place = (float(margin), image.height + step * (index + 0.75))
        draw_words(whole, place, line, size_px, fill=ink)
    return whole


@functools.lru_cache(maxsize=65536)
def words_width(text: str, size_px: int) -> float:
    """Width in pixels of one line of text as `draw_words` draws it."""
    return _fine_width(writable(text), size_px * _FINE) / _FINE


def wrap_words(text: str, size_px: int, room_px: float, *, most_lines: int) -> list[str]:
    """The text in lines no wider than the room, the last one shortened if they are too many.

    Lines break between words, or within one that is wider than the room.
    """
    # A no-break space holds a number and its unit together.
    rest = _BEFORE_UNIT.sub("\u00a0", re.sub("[ \\t\\r\\n]+", " ", text).strip())
    lines: list[str] = []
    while rest:
        if len(lines) == most_lines - 1:
            return [*lines, shorten(rest, size_px, room_px)]
        cut = _fitting(rest, size_px, room_px)
        if cut < len(rest):
            space = rest.rfind(" ", 1, cut + 1)
            cut = space if space > 0 else max(1, cut)
        lines.append(rest[:cut].rstrip())
        rest = rest[cut:].lstrip()
    return lines


def shorten(text: str, size_px: int, room_px: float) -> str:
    """The text, or as much of its beginning as fits the room with an ellipsis; or nothing."""
    if words_width(text, size_px) <= room_px:
        return text
    if words_width(ELLIPSIS, size_px) > room_px:
        return ""
    fits = _most(len(text), lambda n: words_width(text[:n].rstrip() + ELLIPSIS, size_px) <= room_px)
    return text[:fits].rstrip(" .,;:") + ELLIPSIS


@functools.lru_cache(maxsize=65536)
def writable(text: str) -> str:
    """The text as one line without control characters, in letters that a font at hand holds.

    A letter that none holds loses its accent; what is left of those stays, to be drawn as a box.
    """
    plain = "".join(
        " " if letter.isspace() else letter
        for letter in text
        if letter.isspace() or unicodedata.category(letter) not in ("Cc", "Cs", "Co", "Cn")
    )
    line = unicodedata.normalize("NFC", re.sub(" +", " ", plain).strip())
    return "".join(_substitute(letter) for letter in line)


def _fitting(text: str, size_px: int, room_px: float) -> int:
    return _most(len(text), lambda n: words_width(text[:n].rstrip(), size_px) <= room_px)


def _most(upper: int, fits: Callable[[int], bool]) -> int:
    """The greatest of 0 to `upper` that fits, where all below it do."""
    low, high = 0, upper
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits(middle) else (low, middle - 1)
    return low


def _write(
    draw: ImageDraw.ImageDraw, corner_px: tuple[float, float], line: str, size_px: int
) -> None:
    x, baseline = corner_px
    for run, home in _runs(line):
        if home == MINUS:
            _write_minus(draw, (x, baseline), size_px)
        else:
            draw.text((x, baseline), run, font=_font(home, size_px), anchor="ls", fill=255)
        x += _run_width(run, home, size_px)


def _write_minus(draw: ImageDraw.ImageDraw, corner_px: tuple[float, float], size_px: int) -> None:
    # The bar of the plus sign, since Pillow's font has no minus: as wide, and as high up.
    plus = own_font(size_px)
    left, top, right, bottom = plus.getmask("+").getbbox() or (0, 0, size_px, size_px)
    middle = corner_px[1] + plus.getbbox("+", anchor="ls")[1] + 0.5 * (top + bottom)
    half, x = max(1.0, 0.075 * size_px) / 2.0, corner_px[0]
    draw.rectangle((x + left, middle - half, x + right - 1, middle + half), fill=255)


def _fine_width(line: str, size_px: int) -> float:
    return sum(_run_width(run, home, size_px) for run, home in _runs(line))


def _run_width(run: str, home: str, size_px: int) -> float:
    if home == MINUS:
        return float(own_font(size_px).getlength("+"))
    return float(_font(home, size_px).getlength(run))


def _runs(line: str) -> list[tuple[str, str]]:
    """The line in runs of one font: each with the font's name, or a minus, which has none."""
    runs: list[tuple[str, str]] = []
    for letter in line:
        joins = bool(runs) and (letter == " " or _joins(letter)) and runs[-1][1] != MINUS
        home = runs[-1][1] if joins else MINUS if letter == MINUS else _home(letter) or _OWN
        if runs and runs[-1][1] == home != MINUS:
            runs[-1] = (runs[-1][0] + letter, home)
        else:
            runs.append((letter, home))
    return runs


def _joins(letter: str) -> bool:
    """Whether the letter is a mark on the one before it, or a joiner without a shape."""
    return unicodedata.category(letter) in ("Mn", "Mc", "Me", "Cf")


@functools.lru_cache(maxsize=8192)
def _substitute(letter: str) -> str:
    if letter == MINUS or _joins(letter) or _home(letter) is not None:
        return letter
    if letter in _PLAINER:
        return _PLAINER[letter]
    bare = "".join(part for part in unicodedata.normalize("NFKD", letter) if not _joins(part))
    return bare if bare and all(_home(part) is not None for part in bare) else letter


def _font(home: str, size_px: int) -> FreeTypeFont | ImageFont:
    return own_font(size_px) if home == _OWN else _named(home, size_px)


@functools.lru_cache(maxsize=8192)
def _home(letter: str) -> str | None:
    """The name of the first font that holds the letter, Pillow's own first; none if none does."""
    return next((name for name in (_OWN, *_OTHER_FONTS) if _holds(name, letter)), None)


def _holds(name: str, letter: str) -> bool:
    if letter.isspace():
        return name == _OWN
    # A font that is not on this machine holds nothing.
    with contextlib.suppress(OSError):
        probe = _font(name, _PROBE_PX)
        drawn, lacking = probe.getmask(letter), probe.getmask(_NO_CHARACTER)
        return bool(drawn.size != lacking.size or bytes(drawn) != bytes(lacking))
    return False


@functools.lru_cache(maxsize=64)
def _named(name: str, size_px: int) -> FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(name, size_px)
