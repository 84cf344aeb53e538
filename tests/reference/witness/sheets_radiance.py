"""The rooms of `sheets.py` a second time, for Radiance: by hand, in its own language.

Radiance is a third renderer with nothing in common with the other two: its sheet is one material
(`trans`), light that a sheet passes unturned reaches its shadow rays, its panes are `glass`, and
its mirror throws light through virtual sources. It is run as a path tracer: no cached values, rays
ended by chance, a source's points drawn at random. Each receptor is read many times over.

`light` of r = g = b = L shines with L, and `rtrace -I` answers the integral of L cos: so that a
luminance in cd/m2 gives lx, and the programs' own photometric factor has no part in it.
"""

from __future__ import annotations

import math
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from numpy.typing import NDArray

CASES = ("opaque", "frame", "sheet", "straight", "two", "pane", "mirror")
TIMES = {"opaque": 4, "frame": 2, "pane": 2}  # more repeats where little light comes by few ways
RAYS = 512  # of each repeat

SHELL = """
void plastic floor   0 0 5  .20 .20 .20 0 0
void plastic ceiling 0 0 5  .85 .85 .85 0 0
void plastic wall    0 0 5  .70 .70 .70 0 0
void plastic chest   0 0 5  .35 .35 .35 0 0
void plastic black   0 0 5  0 0 0 0 0
floor   polygon f 0 0 12   -.3 -.3 0  6.3 -.3 0  6.3 5.3 0  -.3 5.3 0
ceiling polygon c 0 0 12   -.3 -.3 2.7  -.3 5.3 2.7  6.3 5.3 2.7  6.3 -.3 2.7
wall polygon left  0 0 12  0 -.3 -.3  0 5.3 -.3  0 5.3 3  0 -.3 3
wall polygon right 0 0 12  6 -.3 -.3  6 -.3 3  6 5.3 3  6 5.3 -.3
wall polygon near  0 0 12  -.3 0 -.3  -.3 0 3  6.3 0 3  6.3 0 -.3
chest polygon top   0 0 12  4.1 2.7 .9  4.9 2.7 .9  4.9 3.3 .9  4.1 3.3 .9
chest polygon back  0 0 12  4.1 3.3 0  4.1 3.3 .9  4.9 3.3 .9  4.9 3.3 0
chest polygon front 0 0 12  4.1 2.7 0  4.9 2.7 0  4.9 2.7 .9  4.1 2.7 .9
chest polygon west  0 0 12  4.1 2.7 0  4.1 2.7 .9  4.1 3.3 .9  4.1 3.3 0
chest polygon east  0 0 12  4.9 2.7 0  4.9 3.3 0  4.9 3.3 .9  4.9 2.7 .9
"""
WALL_WITH_HOLE = """
wall polygon far_w 0 0 12  -.3 5 -.3  2.4 5 -.3  2.4 5 3  -.3 5 3
wall polygon far_e 0 0 12  3.6 5 -.3  6.3 5 -.3  6.3 5 3  3.6 5 3
wall polygon far_u 0 0 12  2.4 5 -.3  3.6 5 -.3  3.6 5 .9  2.4 5 .9
wall polygon far_o 0 0 12  2.4 5 2.4  3.6 5 2.4  3.6 5 3  2.4 5 3
void light day 0 0 3 1000 1000 1000
"""
WHOLE_WALL = "wall polygon far 0 0 12  -.3 5 -.3  6.3 5 -.3  6.3 5 3  -.3 5 3\n"
# The window in 4 x 5 squares of 30 cm, one shadow ray to each: the renderer splits a source into 64
# parts at most, the first ones too finely, and beside a sheet the last would be far too coarse.
SQUARE = "day polygon window{k} 0 0 12  {x} {y} {z}  {x1} {y} {z}  {x1} {y} {z1}  {x} {y} {z1}\n"
IN_REVEAL = """
wall polygon reveal_w 0 0 12  2.4 5 .9  2.4 5.05 .9  2.4 5.05 2.4  2.4 5 2.4
wall polygon reveal_e 0 0 12  3.6 5 .9  3.6 5 2.4  3.6 5.05 2.4  3.6 5.05 .9
wall polygon reveal_u 0 0 12  2.4 5 .9  3.6 5 .9  3.6 5.05 .9  2.4 5.05 .9
wall polygon reveal_o 0 0 12  2.4 5 2.4  2.4 5.05 2.4  3.6 5.05 2.4  3.6 5 2.4
void glass clear 0 0 4 1 1 1 1.52
"""
# 9.4 and 30 cm from the window; the frame across the beam
HUNG = "{name} polygon {name}_s 0 0 12  2.2 {y} .775  3.8 {y} .775  3.8 {y} 2.525  2.2 {y} 2.525\n"
FRAME = "cloth polygon cloth_s 0 0 12  2.4 2.2 1.1  3.6 2.2 1.1  3.6 2.2 2.3  2.4 2.2 2.3\n"
PANE = "clear polygon pane 0 0 12  2.4 5.025 .9  3.6 5.025 .9  3.6 5.025 2.4  2.4 5.025 2.4\n"
# 20 000 cd out to 9 degrees, linear in angle to nothing at 12; from a ball of 5 mm radius
SPOT = """
void brightfunc fall 2 fall spot.cal 0 0
fall light lamp 0 0 3 {luminance} {luminance} {luminance}
lamp sphere ball 0 0 4 3 .6 2 .005
"""
SPOT_CAL = """
len = sqrt(3.4*3.4 + .65*.65);
off = acos(max(-1, min(1, -(Dy*3.4 - Dz*.65)/len))) * 57.29577951308232;
fall = if(9 - off, 1, if(12 - off, (12 - off)/3, 0));
max(a, b) : if(a - b, a, b);
min(a, b) : if(a - b, b, a);
"""
LAMP = """
void light lamp 0 0 3 4000 4000 4000
lamp polygon front 0 0 12  4.6 .55 1.4  4.6 .55 2  4.6 1.45 2  4.6 1.45 1.4
"""
MIRROR = """
void mirror silver 0 0 3 .85 .85 .85
silver polygon glass 0 0 12  .005 1.5 .6  .005 3.5 .6  .005 3.5 2.2  .005 1.5 2.2
"""


def scene(case: str) -> str:
    """The whole scene of a case."""
    if case == "frame":
        luminance = 20000.0 / (math.pi * 0.005**2)
        spot = SPOT.format(luminance=luminance)
        return SHELL + WHOLE_WALL + spot + _trans("cloth", 0.25, 0.35, 0.30) + FRAME
    if case == "mirror":
        return SHELL + WHOLE_WALL + LAMP + MIRROR
    if case == "pane":
        return SHELL + WALL_WITH_HOLE + _window(5.05) + IN_REVEAL + PANE
    hung = {
        "sheet": _hung("net", 4.906, 0.25, 0.35, 0.30),
        "straight": _hung("net", 4.906, 0.25, 0.0, 0.0),
        "opaque": _hung("net", 4.906, 0.0, 0.0, 0.30),
        "two": _hung("net", 4.906, 0.25, 0.35, 0.30) + _hung("veil", 4.7, 0.40, 0.30, 0.20),
    }[case]
    return SHELL + WALL_WITH_HOLE + _window(5.0) + hung


def _window(y: float) -> str:
    return "".join(
        SQUARE.format(
            k=5 * i + j, y=y,
            x=2.4 + 0.3 * i, x1=2.7 + 0.3 * i, z=0.9 + 0.3 * j, z1=1.2 + 0.3 * j,
        )
        for i in range(4)
        for j in range(5)
    )  # fmt: skip


def _hung(name: str, y: float, straight: float, scattered: float, reflected: float) -> str:
    return _trans(name, straight, scattered, reflected) + HUNG.format(name=name, y=y)


def _trans(name: str, straight: float, scattered: float, reflected: float) -> str:
    """`trans`: of a colour C, C (1 - t) comes back, C t (1 - s) is spread, C t s goes straight."""
    whole = straight + scattered + reflected
    through = straight + scattered
    unturned = straight / through if through > 0.0 else 0.0
    return f"void trans {name} 0 0 7 {whole} {whole} {whole} 0 0 {through / whole} {unturned}\n"


def read(
    case: str,
    points: NDArray[np.float64],
    normals: NDArray[np.float64],
    *,
    repeats: int,
    rays: int = RAYS,
    bounces: int = 24,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Illuminance (n,) at the points and its standard error, of so many independent repeats."""
    import pyradiance

    home = Path(pyradiance.__file__).parent
    with TemporaryDirectory() as folder:
        work = Path(folder)
        (work / "room.rad").write_text(scene(case))
        (work / "spot.cal").write_text(SPOT_CAL)
        environment = {"RAYPATH": f"{work}:{home / 'lib'}", "PATH": str(home / "bin")}
        octree = subprocess.run(
            [str(home / "bin" / "oconv"), "room.rad"],
            cwd=work, env=environment, check=True, capture_output=True,
        ).stdout  # fmt: skip
        (work / "room.oct").write_bytes(octree)
        lines = np.repeat(np.hstack([points, normals]), repeats, axis=0)
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
    values = values.reshape(len(points), repeats)
    return values.mean(1), values.std(1, ddof=1) / math.sqrt(repeats)
