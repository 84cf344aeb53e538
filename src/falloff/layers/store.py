"""Layers kept in the user's cache folder, named by what they were traced from; size-capped."""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from collections.abc import Mapping
from dataclasses import astuple
from pathlib import Path
from typing import Final

import numpy as np

from falloff.layers.records import LightLayers, ViewLayers
from falloff.layers.trace import trace_layers
from falloff.stage import Stage
from falloff.transport import (
    Budget,
    ProbeTrace,
    Progress,
    begin_kernels,
    prepare_kernels,
    restored_solution,
    silent,
)

CACHE_BYTES: Final = 1_000_000_000
_FORMAT: Final = "layers 4"


def cached_layers(
    stage: Stage,
    budget: Budget | None = None,
    *,
    sizes: Mapping[str, tuple[int, int]],
    progress: Progress = silent,
    folder: Path | None = None,
) -> tuple[LightLayers, bool]:
    """Layers from the cache if these very surfaces and sources were traced before, else traced.

    Returns the layers and whether they came from the cache. A cache that cannot be read or
    written is no error: the layers are traced. folder: another place to keep them, for tests.
    """
    budget = budget or Budget()
    kept = kept_layers(stage, budget, sizes=sizes, folder=folder)
    if kept is not None:
        return kept, True
    warm_up(folder)
    layers = trace_layers(stage, budget, sizes=sizes, progress=progress)
    keep_layers(layers, sizes=sizes, folder=folder)
    return layers, False


def kept_layers(
    stage: Stage,
    budget: Budget,
    *,
    sizes: Mapping[str, tuple[int, int]],
    folder: Path | None = None,
) -> LightLayers | None:
    """The layers of these very surfaces and sources from the cache, None where it has none."""
    path = (folder or _cache_folder()) / f"{key_of(stage, budget, sizes)}.npz"
    return _read(path, stage, budget, tuple(sizes))


def keep_layers(
    layers: LightLayers, *, sizes: Mapping[str, tuple[int, int]], folder: Path | None = None
) -> None:
    """Write layers to the cache; where it cannot be written, nothing happens."""
    solution = layers.solution
    name = key_of(solution.stage, solution.budget, sizes)
    _write((folder or _cache_folder()) / f"{name}.npz", layers)


def warm_up(folder: Path | None = None) -> None:
    """Have every kernel compiled, so that the next trace need not wait for it."""
    prepare_kernels(folder or _cache_folder())


def begin_warm_up(folder: Path | None = None) -> None:
    """Begin to compile on another core what a trace will need, if it is not compiled yet."""
    begin_kernels(folder or _cache_folder())


def key_of(stage: Stage, budget: Budget, sizes: Mapping[str, tuple[int, int]]) -> str:
    """A name made of everything that a trace depends on: not dims, colours or exposure."""
    from falloff import __version__

    digest = hashlib.sha256(f"{_FORMAT} {__version__} {astuple(budget)}".encode())
    surfaces = stage.surfaces
    for field in surfaces.__dataclass_fields__:
        value = getattr(surfaces, field)
        digest.update(value.tobytes() if isinstance(value, np.ndarray) else repr(value).encode())
    for source in stage.sources:
        digest.update(f"{source.name} {source.kind}".encode())
        digest.update(source.shape.tobytes() + source.table.tobytes())
    for probe in stage.probes:
        digest.update(f"{probe.name} {probe.instrument} {probe.view}".encode())
        digest.update(probe.point.tobytes() + probe.normal.tobytes())
    for name, size in sorted(sizes.items()):
        view = stage.views[name]
        digest.update(f"{name} {size} {view.tan_half_width} {view.tan_half_height}".encode())
        digest.update(view.eye.tobytes() + view.forward.tobytes())
    return digest.hexdigest()[:40]


def _cache_folder() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("falloff") / "layers"


def _write(path: Path, layers: LightLayers) -> None:
    arrays: dict[str, np.ndarray] = {
        "rows": layers.solution.rows.ids,
        "exposed": layers.solution.rows.exposed,
        "direct": layers.solution.direct,
        "bounced": layers.solution.bounced,
        "radiosity": layers.solution.radiosity,
        "probe_direct": layers.probes.direct,
        "probe_bounced": layers.probes.bounced,
    }
    for k, ids in enumerate(layers.probes.ids):
        arrays[f"probe_ids_{k}"] = ids
    for name, view in layers.views.items():
        arrays[f"view_direct_{name}"] = view.direct
        arrays[f"view_bounced_{name}"] = view.bounced
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=path.parent, suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, **arrays)  # type: ignore[arg-type]
            Path(part).replace(path)
        except OSError:
            Path(part).unlink(missing_ok=True)
            return
        _trim(path.parent)
    except OSError:
        return


def _trim(folder: Path) -> None:
    """Drop the oldest layers until the rest fit the cap."""
    files = sorted(folder.glob("*.npz"), key=lambda file: file.stat().st_mtime, reverse=True)
    total = 0
    for file in files:
        total += file.stat().st_size
        if total > CACHE_BYTES and file is not files[0]:
            file.unlink(missing_ok=True)


def _read(
    path: Path, stage: Stage, budget: Budget, view_names: tuple[str, ...]
) -> LightLayers | None:
    if not path.exists():
        return None
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
            solution = restored_solution(
                stage,
                budget,
                row_ids=kept["rows"],
                exposed=kept["exposed"],
                direct=kept["direct"],
                bounced=kept["bounced"],
                radiosity=kept["radiosity"],
            )
            probes = ProbeTrace(
                stage.probes,
                kept["probe_direct"],
                kept["probe_bounced"],
                tuple(kept[f"probe_ids_{k}"] for k in range(len(stage.probes))),
            )
            views = {
                name: ViewLayers(kept[f"view_direct_{name}"], kept[f"view_bounced_{name}"], None)
                for name in view_names
            }
        path.touch()
    except (OSError, KeyError, ValueError, EOFError, zipfile.BadZipFile):
        path.unlink(missing_ok=True)
        return None
    return LightLayers(
        names=tuple(source.name for source in stage.sources),
        colours=np.array([source.colour for source in stage.sources], np.float64).reshape(-1, 3),
        solution=solution,
        probes=probes,
        views=views,
    )
