"""Compile every kernel once after installation, on two cores, so that the first answer comes soon.

Compiled kernels are kept on disk beside the code (or where NUMBA_CACHE_DIR points). The compiler
holds one lock, so the larger part is left to a second process, which may begin while this one still
reads the scene.
"""

from __future__ import annotations

import hashlib
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np

from falloff.sources import BEAM, PANEL, SHAPE_SIZE
from falloff.stage import POINTS_PER_ELEMENT, SHEET_SIZE
from falloff.transport.change import NO_BOXES, NO_MARKS
from falloff.transport.kernels_bounce import (
    add_hot,
    blend_rays,
    first_bounce,
    gather_views,
    gather_views_hot,
    hot_rays,
    solve_bounce,
    tilt,
)
from falloff.transport.kernels_direct import add_visible, finish_direct, shadow_rays
from falloff.transport.kernels_rays import (
    camera_rays,
    hemisphere_rays,
    read_elements,
    read_views,
    row_rays,
)
from falloff.transport.kernels_sheen import sheen_of_rays
from falloff.transport.kernels_sheets import dim_by_sheets, land_on_sheets, split_on_sheets
from falloff.transport.kernels_shoot import beam_rays

# It leaves at once, since tidying up would take it half a second.
_SECOND_PART = "import os, falloff.transport.prepare as p; p.compile_light(); os._exit(0)"
_preparing = threading.Lock()  # whoever comes second finds it done
_begun: list[subprocess.Popen[bytes]] = []  # the process that compiles for this one, if any


def begin_kernels(marks: Path) -> None:
    """Have a second process compile its part while this one does something else first."""
    if _begun or (marks / _fingerprint()).exists():
        return
    try:
        other = subprocess.Popen(
            [sys.executable, "-c", _SECOND_PART],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        return
    _begun.append(other)


def prepare_kernels(marks: Path) -> None:
    """Compile what is not compiled yet; a file in the folder `marks` remembers that it was done.

    Nothing is lost where the folder cannot be written or the second process fails: kernels are
    then compiled when they are first called.
    """
    mark = marks / _fingerprint()
    with _preparing:
        if mark.exists():
            return
        begin_kernels(marks)
        try:
            compile_rays()
            compile_sums()
        finally:
            done = bool(_begun) and _begun.pop().wait() == 0
        if done:
            _remember(mark)


def _remember(mark: Path) -> None:
    try:
        mark.parent.mkdir(parents=True, exist_ok=True)
        mark.touch()
    except OSError:
        return


def _fingerprint() -> str:
    """A name for these very kernels, this interpreter and where they are kept."""
    import os

    import numba

    here = Path(__file__).parent
    parts = [sys.version, numba.__version__, str(here), os.environ.get("NUMBA_CACHE_DIR", "")]
    parts += [f"{path.name} {path.stat().st_mtime_ns}" for path in sorted(here.glob("*.py"))]
    return "kernels-" + hashlib.sha256(" ".join(parts).encode()).hexdigest()[:24]


def compile_light() -> None:
    """Compile the kernels of sources, sheets and sheen by calling them on nothing."""
    o, d, far, weight = _rays()
    none, flags = np.zeros(1), np.zeros(1, np.bool_)
    shape = np.ones(SHAPE_SIZE)
    shadow_rays(
        PANEL,
        shape,
        none,
        _f32(3),
        _f32(1, 3),
        _f32(1, 3),
        flags,
        1,
        1,
        0,
        0,
        1,
        False,
        False,
        1,
        NO_BOXES,
        NO_BOXES,
        NO_MARKS,
        o,
        d,
        far,
        weight,
        np.zeros(1, np.int32),
        np.zeros(1, np.int32),
        none,
        none,
        flags,
    )
    slots, ints, floats = np.zeros(1, np.int64), np.zeros(1, np.int32), _f32(1)
    read_views(
        0,
        o,
        d,
        slots,
        ints,
        floats,
        floats,
        floats,
        o,
        _f32(1, 3, 3),
        ints,
        ints,
        ints,
        np.array([BEAM], np.int64),
        np.zeros((1, SHAPE_SIZE)),
        np.zeros((1, 2)),
        1e-4,
        1,
        flags,
        o,
        d,
        np.zeros(1, np.uint16),
        ints,
        floats,
    )
    sheets, of_sheets = np.zeros((0, SHEET_SIZE)), np.zeros((0, 2), np.int32)
    hits = (ints, far, o, sheets, of_sheets)
    land_on_sheets(0, o, d, slots, *hits, 0, False, o, d, slots)
    split_on_sheets(0, o, d, slots, *hits, 0, far, flags, o, d, slots)
    material = np.zeros(1, np.uint16)
    sheen_of_rays(0, d, ints, weight, o, d, material, _f32(1, 2), _f32(3), weight)


def compile_rays() -> None:
    """Compile the kernels that shoot rays and read what they met, by calling them on nothing."""
    o, d, _, _ = _rays()
    slots, ids = np.zeros(1, np.int64), np.zeros((1, 1), np.uint16)
    points, flags = _f32(1, POINTS_PER_ELEMENT, 3), np.zeros(1, np.bool_)
    ints, floats = np.zeros(1, np.int32), _f32(1)
    exposed = np.zeros((1, POINTS_PER_ELEMENT), np.bool_)
    row_rays(
        np.zeros(2, np.int32),
        floats,
        points,
        points,
        exposed,
        0,
        0,
        1,
        1,
        NO_BOXES,
        NO_MARKS,
        o,
        d,
        slots,
    )
    faces = (ints, ints, _f32(1, 12), np.zeros((1, 4), np.int32), _f32(1, 2), ints)
    read_elements(0, o, d, slots, ints, floats, o, *faces, 1, 2, ids.reshape(-1))
    camera_rays(np.zeros(1, np.uint32), 1, 1, np.zeros(14), 0, 0, 1, 1, NO_BOXES, o, d, slots)
    tilt(o, d)
    hemisphere_rays(o, d, flags, 0, 0, 1, False, 1, NO_BOXES, NO_MARKS, o, d, slots)
    beam_rays(np.ones(SHAPE_SIZE), np.zeros(2), 0, 1, o, d)


def compile_sums() -> None:
    """Compile the kernels that weigh and add up what rays bring, by calling them on nothing."""
    o, d, far, weight = _rays()
    points, flags = _f32(1, POINTS_PER_ELEMENT, 3), np.zeros(1, np.bool_)
    slots, ids = np.zeros(1, np.int64), np.zeros((1, 1), np.uint16)
    none, material = np.zeros(1), np.zeros(1, np.uint16)
    ints, floats = np.zeros(1, np.int32), _f32(1)
    dim_by_sheets(0, o, d, far, weight, np.zeros((0, SHEET_SIZE)), False)
    add_visible(0, ints, weight, ints, none)
    finish_direct(0, 1, 1, False, flags, ints, flags, none, none, none, floats)
    first_bounce(ids, 0, 0, floats, floats, floats)
    solve_bounce(ids, floats, floats, floats, ints, floats, 1e-4, 1, _f32(3), floats)
    gather_views(ids, 0, 0, 1, floats, material, floats, floats, 1.0, floats)
    hot_rays(
        np.zeros(1, np.int32),
        none,
        none,
        points,
        points,
        _f32(1),
        _f32(1, 8),
        1,
        _f32(1, 3),
        _f32(1, 3),
        flags,
        0,
        0,
        1,
        False,
        1,
        o,
        d,
        far,
        weight,
        slots,
        slots,
    )
    add_hot(0, np.zeros(1, np.int32), weight, slots, slots, _f32(3, 3), _f32(1, 3))
    gather_views_hot(
        ids,
        0,
        0,
        1,
        _f32(1, 8),
        o,
        o,
        False,
        1,
        _f32(3, 3),
        material,
        _f32(1, 3),
        floats,
        1.0,
        _f32(3, 1),
    )
    blend_rays(0, 0, 1, floats, material, _f32(1, 3), floats, ints, floats, 0, _f32(1, 3))


def _rays() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    return _f32(1, 3), _f32(1, 3), _f32(1), _f32(1)


def _f32(*shape: int) -> np.ndarray:
    return np.zeros(shape, np.float32)
