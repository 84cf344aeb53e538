"""Damaged photometric files: an error that says what is wrong, or the light of their own numbers.

Every mutation is drawn from a seeded generator, so that a failure can be made again by its number.
"""

from __future__ import annotations

import random
import re
import time
from collections import Counter
from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose
from tests.property.photometric_oracle import eulumdat_flux_lm, lm63_flux_lm
from tests.unit.photometry.made_files import LABELS, eulumdat, lm63

from falloff.errors import PhotometricFileError
from falloff.photometry import PhotometricFile, read_photometric, web_flux_lm, write_photometric

SHIPPED_MUTATIONS = 20_000  # source: the project's own plan of this stage
LONG_MUTATIONS = 1_000_000  # as above
SHIPPED_BAR_S = 40.0  # as above

FALL = " ".join(f"{max(0.0, 900.5 - 11.3 * k):.2f}" for k in range(0, 91, 10))
STEPS = " ".join(map(str, range(0, 91, 10)))
SETS = [(1, "one tube", 1000, "3000", "80", 36), (-2, "two tubes", 1900, "4000", "90", "72,5")]

LM63 = {
    "quarters 2002": lm63(
        labels=LABELS + "[LUMINAIRE] made up\n[MORE] and more\nfree\n",
        record="1 4000 1.5",
        vertical=STEPS,
        horizontal="0 45 90",
        candela=f"{FALL}\n{FALL}\n{FALL}",
    ),
    "all round 2019": lm63(
        "IES:LM-63-2019",
        kind="1 1 -0.5 -0.5 0",
        factors="0.9 1.11100 50",
        vertical="0 30 90 180",
        horizontal="0 60 120 180 240 300 360",
        candela="50 40 20 10 " * 7,
    ),
    "tilted 1991": lm63(
        "IESNA91",
        tilt="TILT=INCLUDE\n1\n3\n0 45 90\n1 .95 .9",
        record="2 500 1",
        factors="1 0.95 80",
        horizontal="90 180 270",
        candela="100 0 100 20 100 40",
    ),
    "free 1986": lm63(
        "", labels="made up\nby hand\n", vertical=STEPS, candela=FALL, horizontal="0"
    ),
    "type b": lm63(
        "IESNA:LM-63-1995",
        kind="2 2 0 0 0",
        vertical="-90 -10 0 10 90",
        horizontal="-90 -20 0 20 90",
        candela="0 0 0 0 0 0 9 50 9 0 0 20 99 20 0 0 9 50 9 0 0 0 0 0 0",
    ),
    "type a": lm63(
        kind="3 2 0 0 0",
        vertical="-90 -10 0 10 90",
        horizontal="0 5 90",
        candela="0 9 50 9 0 0 20 99 20 0 0 0 0 0 0",
    ),
}
LDT = {
    "ldt none": eulumdat(
        0, (0, 90, 180, 270), (0, 30, 90), [300, 200, 10] * 4, sets=SETS, share=50
    ),
    "ldt round": eulumdat(1, (0,), (0, 30, 60, 90), ["300,5", "200,25", 90, 10]),
    "ldt 2": eulumdat(2, (0, 90, 180, 270), (0, 45, 90), [9, 8, 7, 9, 6, 5, 9, 4, 3], sets=SETS),
    "ldt 3": eulumdat(3, (0, 90, 180, 270), (0, 45, 90), [9, 8, 7, 9, 6, 5, 9, 4, 3], factor=2),
    "ldt 4": eulumdat(4, (0, 90, 180, 270), (0, 90, 180), [9, 8, 7, 9, 6, 5], factor="1,5"),
}
GOOD = LM63 | LDT
NAMES = tuple(GOOD)


def flip_bytes(rng: random.Random, content: bytes) -> bytes:
    changed = bytearray(content)
    for _ in range(rng.choice((1, 1, 1, 2, 5, 20))):
        at = rng.randrange(len(changed))
        changed[at] = changed[at] ^ (1 << rng.randrange(8)) if rng.random() < 0.5 else (
            rng.randrange(256)
        )  # fmt: skip
    return bytes(changed)


def change_lines(rng: random.Random, content: bytes) -> bytes:
    lines = content.split(b"\r\n")
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(4)
    if kind == 0:
        del lines[one]
    elif kind == 1:
        lines.insert(other, lines[one])
    elif kind == 2:
        lines[one], lines[other] = lines[other], lines[one]
    else:
        lines.insert(one, rng.choice((b"", b"0", b"1 2 3", b"TILT=NONE", b"[A] b", b"\0\0")))
    return b"\r\n".join(lines)


ODD_NUMBERS = (
    b"0", b"-1", b"1", b"2", b"3", b"1e9", b"99999999999", b"1e308", b"1e-308", b"nan", b"inf",
    b"1,5", b"0.5", b"90", b"180", b"360", b"270", b"1e999", b"-0", b"+7", b".5", b"5.", b"1d3",
    b"", b"1_0", b"0x10", b"\xb2", b"1 1", b"10", b"45",
)  # fmt: skip


def change_number(rng: random.Random, content: bytes) -> bytes:
    numbers = list(re.finditer(rb"[0-9.]+", content))
    many = min(len(numbers), rng.choice((1, 1, 2)))
    for found in sorted(rng.sample(numbers, many), key=lambda one: -one.start()):
        new = rng.choice(ODD_NUMBERS) if rng.random() < 0.7 else b"%d" % rng.randrange(400)
        content = content[: found.start()] + new + content[found.end() :]
    return content


def cut_or_join(rng: random.Random, content: bytes) -> bytes:
    at = rng.randrange(len(content))
    kind = rng.randrange(3)
    if kind == 0:
        return content[:at]
    if kind == 1:
        return content[:at] + rng.randbytes(rng.choice((1, 3, 40))) + content[at:]
    other = GOOD[rng.choice(NAMES)]
    return content[:at] + other[rng.randrange(len(other)) :]


MUTATIONS: tuple[Callable[[random.Random, bytes], bytes], ...] = (
    flip_bytes,
    change_lines,
    change_number,
    cut_or_join,
)


def mutated(number: int) -> tuple[str, bytes]:
    """The name of the good file and its damaged bytes, for a number."""
    rng = random.Random(number)
    name = rng.choice(NAMES)
    content = rng.choice(MUTATIONS)(rng, GOOD[name])
    if content and rng.random() < 0.2:
        content = rng.choice(MUTATIONS)(rng, content)
    return name, content


def oracle_lm(file: PhotometricFile, content: bytes, lamp_set: int) -> float:
    if file.format == "LM-63":
        return lm63_flux_lm(content)
    lumens = file.lamp_sets[lamp_set].flux_lm
    assert lumens is not None
    assert_lumens_are_in_the_file(content, lumens)
    return eulumdat_flux_lm(content, lumens)


def assert_lumens_are_in_the_file(content: bytes, lumens: float) -> None:
    """The flux of a lamp set is one of the lines between the head and the ratios."""
    lines = content.decode("latin-1").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    number = re.compile(r"\s*([-+]?[0-9]*[.,]?[0-9]*(?:[eE][-+]?[0-9]+)?)\s*")
    found = [one[1].replace(",", ".") for line in lines[26:] if (one := number.fullmatch(line))]
    assert lumens in {float(one) for one in found if re.search("[0-9]", one.lower().split("e")[0])}


def check_one(number: int) -> str:
    """What became of one damaged file; AssertionError where its light is not its own."""
    name, content = mutated(number)
    suffix = "ldt" if name in LDT else "ies"
    try:
        file = read_photometric(content, f"{number}.{suffix}")
    except PhotometricFileError as error:
        return "refused" if error.faults[0].what else ""
    for lamp_set in range(len(file.lamp_sets)):
        expected = oracle_lm(file, content, lamp_set)
        # pencil: the edge of light that starts at 90° at once is 1e-6° wide
        assert_allclose(file.flux_lm(lamp_set), expected, rtol=1e-6, err_msg=str(number))
    if number % 16 == 0 and file.photometric_type != "B":
        assert_allclose(web_flux_lm(file.web()), file.flux_lm(), rtol=1e-12, err_msg=str(number))
    if number % 16 == 1:
        again = read_photometric(write_photometric(file), file.name)
        assert_allclose(again.flux_lm(), file.flux_lm(), rtol=0, err_msg=str(number))
    return "told" if file.findings else "read"


def check_many(first: int, last: int) -> Counter[str]:
    return Counter(check_one(number) for number in range(first, last))


@pytest.mark.parametrize("name", NAMES)
def test_good_files_have_the_flux_of_the_oracle(name: str) -> None:
    file = read_photometric(GOOD[name], "a.ldt" if name in LDT else "a.ies")
    for lamp_set in range(len(file.lamp_sets)):
        expected = oracle_lm(file, GOOD[name], lamp_set)
        assert_allclose(file.flux_lm(lamp_set), expected, rtol=1e-7)


def test_damaged_files_never_give_wrong_light() -> None:
    began = time.process_time()
    became = check_many(0, SHIPPED_MUTATIONS)
    assert time.process_time() - began < SHIPPED_BAR_S
    assert set(became) == {"refused", "told", "read"}
    assert min(became.values()) > SHIPPED_MUTATIONS // 50  # each way is trodden


@pytest.mark.long
def test_a_million_damaged_files_never_give_wrong_light() -> None:
    became = check_many(SHIPPED_MUTATIONS, SHIPPED_MUTATIONS + LONG_MUTATIONS)
    assert set(became) == {"refused", "told", "read"}
    assert became.total() == LONG_MUTATIONS


# Text alone ------------------------------------------------------------------------------

# Lines of EULUMDAT, from 0, that are text or that no light hangs on.
LDT_TEXT = (0, 1, 4, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 24)


def damaged_text(rng: random.Random, name: str) -> bytes:
    """A good file with damage in its lines of text alone; EULUMDAT keeps its count of lines."""
    lines = GOOD[name].split(b"\r\n")
    if name in LDT:
        at = rng.choice(LDT_TEXT)
        junk = rng.randbytes(rng.choice((0, 1, 5, 200)))
        lines[at] = re.sub(rb"[\r\n]", b"?", junk)
        return b"\r\n".join(lines)
    first = 1 if lines[0].startswith(b"IES") else 0
    tilt = next(k for k, line in enumerate(lines) if line.startswith(b"TILT="))
    head, text, rest = lines[:first], lines[first:tilt], lines[tilt:]
    damaged = b"\r\n".join(text)
    for _ in range(rng.choice((1, 3, 30))):
        at = rng.randrange(len(damaged) + 1)
        damaged = damaged[:at] + rng.randbytes(rng.randrange(3)) + damaged[at + rng.randrange(3) :]
    if rng.random() < 0.2:
        damaged = b"\r\n".join(rng.sample(text, rng.randrange(len(text) + 1)))
    return b"\r\n".join([*head, *([damaged] if damaged else []), *rest])


def check_text(number: int) -> None:
    rng = random.Random(number)
    name = rng.choice(NAMES)
    suffix = "ldt" if name in LDT else "ies"
    good = read_photometric(GOOD[name], f"a.{suffix}").flux_lm()
    file = read_photometric(damaged_text(rng, name), f"a.{suffix}")
    assert_allclose(file.flux_lm(), good, rtol=0, err_msg=f"{number} {name}")


def test_damaged_text_changes_no_light() -> None:
    for number in range(3000):
        check_text(number)


@pytest.mark.long
def test_much_damaged_text_changes_no_light() -> None:
    for number in range(3000, 200_000):
        check_text(number)
