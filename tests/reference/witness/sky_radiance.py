"""A room under the open sky, by hand in Radiance's own language, and what it reads there.

    python -m tests.reference.witness.sky_radiance [CASE ...] [--repeats N]

A room of 5 x 4 x 2.7 m with one unglazed window in a wall 25 cm thick, and a matte block, under a
clear sky without and with the sun's disc, and under an overcast one. Nothing of ours has a part in
it: the sky's formula stands below in Radiance's language, and its strength, the ground's and the
disc's are worked out here by quadrature.

The sky is a source at infinity that rays meet by chance alone. A second description checks the
first: the outer mouth of the window is a light that shines, along any way, with the sky's luminance
in that way, and shadow rays go to it, in twelve squares. It is not what is stored, for the reveals
touch that light, and few paths carry much; under the overcast sky it was within 0.012 stop of the
first in all twelve places, 0.003 on the mean (2.1 of both standard errors at most). Light adds up:
sky and disc are traced one after the other and put together with both errors. Of the path tracing
and its settings see sheets_radiance.py.
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
import math
import os
import subprocess
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from numpy.typing import NDArray

DATA = Path(__file__).parent / "data_sky" / "radiance.toml"
RAYS = 1024  # of each repeat
BOUNCES = 24
OFFSET_M = 0.001  # receptors stand this far off their surface

OUTSIDE_LX = 12_000.0  # horizontal, of the sky without the disc
GROUND = 0.2
SUN_ALTITUDE_DEG = 35.0
SUN_OFF_NORMAL_DEG = 40.0  # in plan, from -y towards +x
SUN_ACROSS_DEG = 0.5332
SUN_NORMAL_LX = 70_000.0
CLEAR = (-1.0, -0.32, 10.0, -3.0, 0.45)  # ISO 15469:2004, type 12: a b c d e

ROOM = """
void plastic floor   0 0 5  .20 .20 .20 0 0
void plastic ceiling 0 0 5  .80 .80 .80 0 0
void plastic wall    0 0 5  .60 .60 .60 0 0
void plastic block   0 0 5  .35 .35 .35 0 0
floor   polygon f 0 0 12   -.3 -.3 0  5.3 -.3 0  5.3 4.3 0  -.3 4.3 0
ceiling polygon c 0 0 12   -.3 -.3 2.7  -.3 4.3 2.7  5.3 4.3 2.7  5.3 -.3 2.7
wall polygon left  0 0 12  0 -.3 -.3  0 4.3 -.3  0 4.3 3  0 -.3 3
wall polygon right 0 0 12  5 -.3 -.3  5 -.3 3  5 4.3 3  5 4.3 -.3
wall polygon far   0 0 12  -.3 4 -.3  5.3 4 -.3  5.3 4 3  -.3 4 3
wall polygon near_w 0 0 12  -.3 0 -.3  -.3 0 3  2 0 3  2 0 -.3
wall polygon near_e 0 0 12  3.4 0 -.3  3.4 0 3  5.3 0 3  5.3 0 -.3
wall polygon near_u 0 0 12  2 0 -.3  2 0 .9  3.4 0 .9  3.4 0 -.3
wall polygon near_o 0 0 12  2 0 2.1  2 0 3  3.4 0 3  3.4 0 2.1
wall polygon reveal_w 0 0 12  2 -.25 .9  2 0 .9  2 0 2.1  2 -.25 2.1
wall polygon reveal_e 0 0 12  3.4 -.25 .9  3.4 -.25 2.1  3.4 0 2.1  3.4 0 .9
wall polygon reveal_u 0 0 12  2 -.25 .9  3.4 -.25 .9  3.4 0 .9  2 0 .9
wall polygon reveal_o 0 0 12  2 -.25 2.1  2 0 2.1  3.4 0 2.1  3.4 -.25 2.1
block polygon top   0 0 12  3.2 1.9 .75  4 1.9 .75  4 2.5 .75  3.2 2.5 .75
block polygon front 0 0 12  3.2 1.9 0  4 1.9 0  4 1.9 .75  3.2 1.9 .75
block polygon back  0 0 12  3.2 2.5 0  3.2 2.5 .75  4 2.5 .75  4 2.5 0
block polygon west  0 0 12  3.2 1.9 0  3.2 1.9 .75  3.2 2.5 .75  3.2 2.5 0
block polygon east  0 0 12  4 1.9 0  4 2.5 0  4 2.5 .75  4 1.9 .75
"""
# Luminance along a ray; the numbers come with the material.
SKY_CAL = """
rise = if(Dz - .001, Dz, .001);
to_sun = acos(if(1 - near_sun, near_sun, 1));
near_sun = Dx*A8 + Dy*A9 + Dz*A10;
grade = 1 + A3*exp(A4/rise);
ring = 1 + A5*(exp(A6*to_sun) - exp(A6*PI/2)) + A7*cos(to_sun)*cos(to_sun);
clear = if(Dz, A1*grade*ring, A2);
dull = if(Dz, A1*(1 + 2*Dz)/3, A2);
"""
SKY = """
void brightfunc pattern 2 {kind} sky.cal 0 10 {numbers}
pattern {material} day 0 0 {ends}
"""
SQUARE = "day polygon mouth{k} 0 0 12  {x} -.25 {z}  {x} -.25 {z1}  {x1} -.25 {z1}  {x1} -.25 {z}\n"
WHOLE = "day source dome 0 0 4  0 0 1  360\n"
DISC = """
void light solar 0 0 3 {luminance} {luminance} {luminance}
solar source disc 0 0 4 {x} {y} {z} {across}
"""

CASES = ("clear", "sun", "overcast")
PARTS = {"clear": ("clear",), "sun": ("clear and ground", "disc"), "overcast": ("overcast",)}
TIMES = {"disc": 4}  # more repeats where light comes from a patch


@dataclass(frozen=True, slots=True)
class Place:
    """Where light is read: a point (m), the way a flat receptor faces; free: on no surface."""

    name: str
    point: tuple[float, float, float]
    normal: tuple[float, float, float]
    free: bool = False

    def stands_at(self) -> NDArray[np.float64]:
        """The point itself, or a millimetre off the surface it lies on."""
        return np.array(self.point) + (0.0 if self.free else OFFSET_M) * np.array(self.normal)


PLACES = (
    Place("floor, in the patch", (1.3, 1.5, 0.0), (0, 0, 1)),
    Place("floor, far", (2.5, 3.3, 0.0), (0, 0, 1)),
    Place("block, top", (3.6, 2.2, 0.75), (0, 0, 1)),
    Place("block, to window", (3.6, 1.9, 0.4), (0, -1, 0)),
    Place("ceiling, middle", (2.5, 2.0, 2.7), (0, 0, -1)),
    Place("ceiling, by window", (2.7, 0.5, 2.7), (0, 0, -1)),
    Place("wall left", (0.0, 2.0, 1.5), (1, 0, 0)),
    Place("wall right", (5.0, 1.5, 1.2), (-1, 0, 0)),
    Place("wall far", (2.5, 4.0, 1.5), (0, -1, 0)),
    Place("wall beside window", (1.0, 0.0, 1.5), (0, 1, 0)),
    Place("free, to window", (2.7, 1.8, 1.3), (0, -1, 0), free=True),
    Place("free, from window", (2.7, 1.8, 1.3), (0, 1, 0), free=True),
)


# The light outside -----------------------------------------------------------------------


def toward_sun() -> tuple[float, float, float]:
    """The unit way to the sun's middle."""
    high, off = math.radians(SUN_ALTITUDE_DEG), math.radians(SUN_OFF_NORMAL_DEG)
    return (math.cos(high) * math.sin(off), -math.cos(high) * math.cos(off), math.sin(high))


@cache
def clear_over_scale() -> float:
    """Horizontal illuminance of the clear sky over its scale A1, by a sum over the dome."""
    a, b, c, d, e = CLEAR
    node, weight = np.polynomial.legendre.leggauss(400)
    rise = 0.5 * (node + 1.0)  # sine of altitude: equal steps are equal solid angles
    turn = (np.arange(1440) + 0.5) * math.pi / 720
    flat = np.sqrt(1.0 - rise**2)
    x, y, z = toward_sun()
    near = flat[:, None] * (x * np.cos(turn) + y * np.sin(turn)) + z * rise[:, None]
    to_sun = np.arccos(np.clip(near, -1.0, 1.0))
    grade = 1.0 + a * np.exp(b / rise)
    ring = 1.0 + c * (np.exp(d * to_sun) - math.exp(0.5 * math.pi * d)) + e * np.cos(to_sun) ** 2
    over_turn = (grade[:, None] * ring).sum(1) * math.pi / 720
    return float((0.5 * weight * rise * over_turn).sum())


def light_of(part: str, *, mouth: bool = False) -> str:
    """What shines in a part of a case, in Radiance's language."""
    x, y, z = toward_sun()
    if part == "disc":
        solid_angle = 2.0 * math.pi * (1.0 - math.cos(math.radians(0.5 * SUN_ACROSS_DEG)))
        return DISC.format(
            luminance=SUN_NORMAL_LX / solid_angle, x=x, y=y, z=z, across=SUN_ACROSS_DEG
        )
    disc_lx = SUN_NORMAL_LX * z if part == "clear and ground" else 0.0
    ground = GROUND * (OUTSIDE_LX + disc_lx) / math.pi
    # pencil: the traditional overcast sky gives 7 pi / 9 of its zenith
    scale = OUTSIDE_LX / (7.0 * math.pi / 9.0 if part == "overcast" else clear_over_scale())
    numbers = " ".join(f"{value:.10g}" for value in (scale, ground, *CLEAR, x, y, z))
    material, ends = ("light", "3 1 1 1") if mouth else ("glow", "4 1 1 1 0")
    kind = "dull" if part == "overcast" else "clear"
    sky = SKY.format(kind=kind, numbers=numbers, material=material, ends=ends)
    return sky + (_mouth() if mouth else WHOLE)


def _mouth() -> str:
    return "".join(
        SQUARE.format(
            k=3 * i + j,
            x=f"{2.0 + 0.35 * i:g}", x1=f"{2.35 + 0.35 * i:g}",
            z=f"{0.9 + 0.4 * j:g}", z1=f"{1.3 + 0.4 * j:g}",
        )
        for i in range(4)
        for j in range(3)
    )  # fmt: skip


def checksum() -> str:
    """Of all that Radiance is told, and of where light is read."""
    parts = [light_of(part) for case in CASES for part in PARTS[case]]
    places = [(place.name, place.point, place.normal, place.free) for place in PLACES]
    return hashlib.sha256(json.dumps([ROOM, SKY_CAL, parts, places]).encode()).hexdigest()


# Readings --------------------------------------------------------------------------------


def read(
    part: str, *, repeats: int, rays: int = RAYS, bounces: int = BOUNCES,
    mouth: bool = False, black: bool = False,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:  # fmt: skip
    """Illuminance (12,) in lx of a part and its standard error, of so many independent repeats.

    mouth: the window itself shines, as a check; black: nothing in the room reflects.
    """
    import pyradiance

    home = Path(pyradiance.__file__).parent
    room = ROOM
    if black:
        for grey in (".20 .20 .20", ".80 .80 .80", ".60 .60 .60", ".35 .35 .35"):
            room = room.replace(f"5  {grey}", "5  0 0 0")
    with TemporaryDirectory() as folder:
        work = Path(folder)
        (work / "room.rad").write_text(room + light_of(part, mouth=mouth))
        (work / "sky.cal").write_text(SKY_CAL)
        environment = {"RAYPATH": f"{work}:{home / 'lib'}", "PATH": str(home / "bin")}
        octree = subprocess.run(
            [str(home / "bin" / "oconv"), "room.rad"],
            cwd=work, env=environment, check=True, capture_output=True,
        ).stdout  # fmt: skip
        (work / "room.oct").write_bytes(octree)
        at = [np.concatenate([place.stands_at(), place.normal]) for place in PLACES]
        lines = np.repeat(at, repeats, axis=0)
        text = "\n".join(" ".join(f"{value:.9g}" for value in line) for line in lines)
        answer = subprocess.run(
            [
                str(home / "bin" / "rtrace"), "-h", "-w", "-I", "-u+", "-aa", "0",
                "-ad", str(rays), "-as", "0", "-ab", str(bounces), "-lr", "0",
                "-lw", str(0.3 / rays),
                "-ds", "0", "-dj", "1", "-dt", "0", "-dc", "1", "-dr", "2", "-st", "0",
                "-ss", "1", "room.oct",
            ],
            cwd=work, env=environment, check=True, capture_output=True, input=text.encode(),
        ).stdout  # fmt: skip
    values = np.array([float(line.split()[1]) for line in answer.decode().splitlines()])
    values = values.reshape(len(PLACES), repeats)
    return values.mean(1), values.std(1, ddof=1) / math.sqrt(repeats)


def load(case: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The stored illuminance (12,) in lx of a case and its standard error."""
    stored = load_record()[case]
    return np.array(stored["mean_lx"]), np.array(stored["standard_error_lx"])


def load_record() -> dict[str, Any]:
    """All that is stored: who, when, how, settings, checksum and readings."""
    return tomllib.loads(DATA.read_text(encoding="utf-8"))


def main() -> None:
    """Trace the cases asked for, and store them."""
    parser = argparse.ArgumentParser(description="Read a room under the sky by Radiance.")
    parser.add_argument("cases", nargs="*", metavar="CASE", help=", ".join(CASES))
    parser.add_argument("--repeats", type=int, default=768, help="of each reading")
    options = parser.parse_args()
    os.nice(max(0, 10 - os.nice(0)))
    stored = load_record() if DATA.exists() else {}
    kept = stored if stored.get("text_sha256") == checksum() else {}
    found = {case: kept[case] for case in CASES if case in kept}
    for case in options.cases or CASES:
        mean, variance = np.zeros(len(PLACES)), np.zeros(len(PLACES))
        for part in PARTS[case]:
            part_mean, error = read(part, repeats=options.repeats * TIMES.get(part, 1))
            mean += part_mean
            variance += error**2
        error = np.sqrt(variance)
        found[case] = {
            "repeats": options.repeats,
            "mean_lx": [float(f"{value:.6g}") for value in mean],
            "standard_error_lx": [float(f"{value:.3g}") for value in error],
        }
        _save(found)
        for place, value, sigma in zip(PLACES, mean, error, strict=True):
            stop = sigma / value / math.log(2.0)
            print(f"{case:>9} {place.name:>20} {value:10.2f} +- {sigma:7.2f} lx, {stop:.4f} stop")


def _save(found: dict[str, dict[str, Any]]) -> None:
    head = {
        "who": "falloff maintainers",
        "when": datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d"),
        "how": "python -m tests.reference.witness.sky_radiance",
        "renderer": f"Radiance by pyradiance {version('pyradiance')}",
        "text_sha256": checksum(),
        "rays": RAYS,
        "bounces": BOUNCES,
        "places": [place.name for place in PLACES],
    }
    text = "".join(f"{key} = {json.dumps(value)}\n" for key, value in head.items())
    for case, values in found.items():
        text += f"\n[{case}]\n"
        text += "".join(f"{key} = {json.dumps(value)}\n" for key, value in values.items())
    DATA.parent.mkdir(exist_ok=True)
    DATA.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
