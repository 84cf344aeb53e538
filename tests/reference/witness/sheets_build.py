"""Render and store the witness of sheets, panes, blinds and mirrors.

    python -m tests.reference.witness.sheets_build [PART ...] [options]

Parts: checks, readings, volpath, blocks, radiance (default: all that is installed, in this order).
It goes on from what is stored and may be stopped at any time. Mitsuba renders the first four,
Radiance the last (`pip install mitsuba pyradiance`).
"""

from __future__ import annotations

import argparse
import datetime
import hashlib
import json
import math
import os
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from importlib.util import find_spec
from typing import Any

import drjit
import mitsuba as mi
import numpy as np
from numpy.typing import NDArray

mi.set_variant("scalar_rgb")  # the compiled variants fail on some machines

from tests.reference.witness import sheets, sheets_radiance  # noqa: E402
from tests.reference.witness.receptors import (  # noqa: E402
    BATCHES_ACROSS,
    EYE_ABOVE_M,
    EYE_FIELD_DEG,
    OFFSET_M,
    RR_DEPTH,
    Receptor,
    white_square,
)
from tests.reference.witness.sheets_load import BLOCK, DATA  # noqa: E402
from tests.reference.witness.surfaces import film, matte, rectangle  # noqa: E402

PARTS = ("checks", "readings", "volpath", "blocks", "radiance")
SAMPLES_PER_BATCH = 64
MOST_CHUNKS = 4  # of 262 144 samples
VOLPATH_CASES = ("frame", "straight", "sheet")
WIDTH, HEIGHT = 240, 138
PASSES, SAMPLES_PER_PASS = 96, 32

Estimates = tuple[float, float, int]


def main() -> None:
    """Build the parts asked for."""
    parser = argparse.ArgumentParser(description="Render and store the witness of sheets.")
    parser.add_argument("parts", nargs="*", metavar="PART", help=", ".join(PARTS))
    parser.add_argument("--reading-error", type=float, default=0.008, help="relative")
    parser.add_argument("--repeats", type=int, default=64, help="of each Radiance reading")
    options = parser.parse_args()
    os.nice(max(0, 10 - os.nice(0)))
    drjit.set_thread_count(1)
    mi.set_log_level(mi.LogLevel.Error)
    mi.logger().clear_appenders()  # type: ignore[operator]  # no progress bars
    build = {
        "checks": _checks,
        "readings": lambda: _readings("readings", _by_path(), "path", options.reading_error),
        "volpath": lambda: _readings("volpath", VOLPATH_CASES, "volpath", options.reading_error),
        "blocks": _blocks,
        "radiance": lambda: _radiance(options.repeats),
    }
    for part in options.parts or PARTS:
        if part == "radiance" and find_spec("pyradiance") is None:
            print("radiance: left out, pyradiance is not installed")
            continue
        started = time.monotonic()
        build[part]()  # type: ignore[no-untyped-call]
        print(f"{part}: {time.monotonic() - started:.0f} s", flush=True)


# Readings --------------------------------------------------------------------------------


def _readings(name: str, cases: tuple[str, ...], integrator: str, aim: float) -> None:
    arrays = _stored(name)
    for number, case in enumerate(cases):
        if f"{case}_mean_lx" in arrays:
            continue
        scene = sheets.sheet_room(case)
        found = [
            _estimate(scene, _receptor(place), integrator, aim, 100_000 * number + 1000 * k)
            for k, place in enumerate(sheets.places(case))
        ]
        arrays |= _columns(case, np.array(found))
        _save(name, arrays, {"integrator": integrator, "rr_depth": RR_DEPTH, "aim": aim})
        print(f"  {integrator} {case}: error up to {_worst(found):.4f}", flush=True)


def _by_path() -> tuple[str, ...]:
    return tuple(case for case in sheets.CASES if case != sheets.NOT_BY_PATH)


def _worst(found: list[Estimates]) -> float:
    return max(error / mean if mean > 0.0 else 0.0 for mean, error, _ in found)


def _columns(case: str, found: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
    return {
        f"{case}_mean_lx": found[:, 0],
        f"{case}_standard_error_lx": found[:, 1],
        f"{case}_samples": found[:, 2],
    }


def _receptor(place: sheets.Place) -> Receptor:
    return Receptor(place.name, place.surface_point, place.normal)


def _estimate(
    scene: dict[str, Any], receptor: Receptor, integrator: str, aim: float, seed: int
) -> Estimates:
    """Mean, standard error and samples, chunk after chunk until the error is small."""
    loaded = mi.load_dict({**scene, "receptor": white_square(receptor)})
    tracer = mi.load_dict({"type": integrator, "max_depth": -1, "rr_depth": RR_DEPTH})
    eye = mi.load_dict(_eye(receptor))
    batches = np.empty(0)
    for chunk in range(MOST_CHUNKS):
        picture = mi.render(
            loaded, sensor=eye, integrator=tracer, seed=mi.UInt32(seed + chunk),
            spp=SAMPLES_PER_BATCH,
        )  # fmt: skip
        new = math.pi * np.array(picture, np.float64).reshape(-1, 3)[:, 1]
        batches = np.concatenate([batches, new])
        mean, error = batches.mean(), batches.std(ddof=1) / math.sqrt(batches.size)
        if error <= aim * mean:
            break
    return float(mean), float(error), batches.size * SAMPLES_PER_BATCH


def _eye(receptor: Receptor) -> dict[str, Any]:
    normal = np.array(receptor.normal, float)
    point = receptor.point()
    return {
        "type": "perspective",
        "fov": EYE_FIELD_DEG,
        "near_clip": EYE_ABOVE_M / 10,
        "to_world": mi.ScalarTransform4f().look_at(
            origin=(point + EYE_ABOVE_M * normal).tolist(),
            target=point.tolist(),
            up=np.eye(3)[int(np.argmin(np.abs(normal)))].tolist(),
        ),
        "film": film(BATCHES_ACROSS, BATCHES_ACROSS),
        "sampler": {"type": "independent", "sample_count": SAMPLES_PER_BATCH},
    }


def _radiance(repeats: int) -> None:
    arrays = _stored("radiance")
    wanted = [case for case in sheets_radiance.CASES if f"{case}_mean_lx" not in arrays]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        found = pool.map(lambda case: _by_radiance(case, repeats), wanted)
        for case, columns in zip(wanted, found, strict=True):
            arrays |= _columns(case, columns)
            _save(
                "radiance", arrays, {"renderer": _radiance_version(), "rays": sheets_radiance.RAYS}
            )
            worst = float((columns[:, 1] / columns[:, 0]).max())
            print(f"  radiance {case}: error up to {worst:.4f}", flush=True)


def _by_radiance(case: str, repeats: int) -> NDArray[np.float64]:
    repeats *= sheets_radiance.TIMES.get(case, 1)
    receptors = [_receptor(place) for place in sheets.places(case)]
    points = np.array([receptor.point() for receptor in receptors])
    normals = np.array([receptor.normal for receptor in receptors], float)
    mean, error = sheets_radiance.read(case, points, normals, repeats=repeats)
    return np.stack([mean, error, np.full(len(mean), repeats * sheets_radiance.RAYS)], 1)


def _radiance_version() -> str:
    from importlib.metadata import version

    return f"Radiance by pyradiance {version('pyradiance')}"


# Checks against closed forms -------------------------------------------------------------


def _checks() -> None:
    """The sheet as it is built here, against closed forms; what is expected is in the test."""
    found = {
        "furnace": _check(_even_sky() | _hung_free(0.25, 0.40, 0.35), (0.0, 0.0)),
        "straight": _check(_even_sky() | _over_well(0.25, 0.0, 0.0), (0.0, 0.0)),
        "scattered": _check(_even_sky() | _over_well(0.0, 0.5, 0.0), (0.0, 0.0)),
        "scattered, corner": _check(_even_sky() | _over_well(0.0, 0.5, 0.0), (0.4, 0.4)),
        "both, corner": _check(_even_sky() | _over_well(0.25, 0.35, 0.30), (0.4, 0.4)),
    }
    arrays = {"names": np.array(list(found)), "found": np.array(list(found.values()))}
    _save("checks", arrays, {"integrator": "path"})
    for name, (mean, error, _) in found.items():
        print(f"  {name:20s} {mean:9.2f} +- {error:.2f} lx")


def _check(scene: dict[str, Any], at: tuple[float, float]) -> Estimates:
    receptor = Receptor("floor", (*at, -OFFSET_M), (0, 0, 1))
    return _estimate({"type": "scene", **scene}, receptor, "path", 0.001, 7)


def _even_sky() -> dict[str, Any]:
    """10 000 lx on whatever faces it openly."""
    value = {"type": "rgb", "value": [10_000.0 / math.pi] * 3}
    return {"sky": {"type": "constant", "radiance": value}}


def _hung_free(*nature: float) -> dict[str, Any]:
    shape = rectangle((0, 0, 1.2), (0.45, 0, 0), (0, 0.45, 0))
    return {"sheet": {**shape, "bsdf": sheets.sheet_coat(*nature)}}


def _over_well(*nature: float) -> dict[str, Any]:
    """The sheet as the lid of a black well of 0.9 x 0.9 x 1.2 m."""
    half, middle = 0.45, 0.6
    sides = {
        "floor": rectangle((0, 0, -0.002), (half, 0, 0), (0, half, 0)),
        "east": rectangle((half, 0, middle), (0, half, 0), (0, 0, middle)),
        "west": rectangle((-half, 0, middle), (0, half, 0), (0, 0, middle)),
        "north": rectangle((0, half, middle), (half, 0, 0), (0, 0, middle)),
        "south": rectangle((0, -half, middle), (half, 0, 0), (0, 0, middle)),
    }
    return _hung_free(*nature) | {n: {**s, "bsdf": matte(0.0)} for n, s in sides.items()}


# Blocks of pictures ----------------------------------------------------------------------

CAMERAS = {
    "mirror_bounce": ((5.5, 4.6, 1.5), (0.0, 2.0, 1.2)),
    "sheet": ((3.6, 0.35, 1.5), (2.8, 5.0, 1.4)),
}


def _blocks() -> None:
    for case, (origin, target) in CAMERAS.items():
        if _stored(f"blocks_{case}"):
            continue
        camera = {
            "type": "perspective",
            "fov": 62.0,
            "fov_axis": "x",
            "to_world": mi.ScalarTransform4f().look_at(list(origin), list(target), [0, 0, 1]),
            "film": film(WIDTH, HEIGHT),
            "sampler": {"type": "independent", "sample_count": SAMPLES_PER_PASS},
        }
        scene, eye = mi.load_dict(sheets.sheet_room(case)), mi.load_dict(camera)
        tracer = mi.load_dict({"type": "path", "max_depth": -1, "rr_depth": RR_DEPTH})
        passes = []
        for k in range(PASSES):
            picture = mi.render(
                scene, sensor=eye, integrator=tracer, seed=mi.UInt32(k), spp=SAMPLES_PER_PASS
            )
            shape = (HEIGHT // BLOCK, BLOCK, WIDTH // BLOCK, BLOCK)
            passes.append(np.array(picture, np.float64)[:, :, 1].reshape(shape).mean((1, 3)))
        arrays = {
            "mean_cd_m2": np.mean(passes, 0).astype(np.float32),
            "standard_error_cd_m2": (np.std(passes, 0, ddof=1) / math.sqrt(PASSES)).astype(
                np.float32
            ),
        }
        _save(
            f"blocks_{case}", arrays, {"integrator": "path", "samples": PASSES * SAMPLES_PER_PASS}
        )


# Files -----------------------------------------------------------------------------------


def _stored(name: str) -> dict[str, Any]:
    """Arrays stored before, none where they were made of other rooms."""
    arrays_path, record_path = DATA / f"{name}.npz", DATA / f"{name}.toml"
    if not (arrays_path.exists() and record_path.exists()):
        return {}
    record = tomllib.loads(record_path.read_text(encoding="utf-8"))
    if record["geometry_sha256"] != sheets.checksum():
        return {}
    with np.load(arrays_path, allow_pickle=False) as arrays:
        return {key: arrays[key] for key in arrays.files}


def _save(name: str, arrays: dict[str, Any], settings: dict[str, Any]) -> None:
    DATA.mkdir(exist_ok=True)
    path = DATA / f"{name}.npz"
    np.savez_compressed(path, **arrays)
    record = {
        "who": "falloff maintainers",
        "when": datetime.datetime.now(datetime.UTC).strftime("%Y-%m-%d"),
        "how": "python -m tests.reference.witness.sheets_build",
        "renderer": f"Mitsuba {mi.__version__}, {mi.variant()}",
        "geometry_sha256": sheets.checksum(),
        "arrays_sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        **settings,
    }
    lines = (f"{key} = {json.dumps(value)}\n" for key, value in record.items())
    (DATA / f"{name}.toml").write_text("".join(lines), encoding="utf-8")


if __name__ == "__main__":
    main()
