"""The order of the packages, the map of them, and what importing costs."""

from __future__ import annotations

import importlib
import re
import statistics
import subprocess
import sys
from pathlib import Path

import pytest
from importlinter.cli import lint_imports

import falloff

ROOT = Path(__file__).parents[2]
PACKAGE = Path(falloff.__file__).parent
MAP = falloff.__doc__ or ""
LINES = re.findall(r"^    (\w.*)$", MAP, flags=re.MULTILINE)
BELOW_ALL = tuple(LINES[0].split())
VERBS = {
    found[1]: (found[2], found[3])
    for line in LINES[1:]
    if (found := re.match(r"(\w+) +([\w, ().]+?) *-> (\w+(?:, \w+)*)", line))
}

# source: the project's own design; packages that are built so far
BUILT = {
    "balance", "camera", "cli", "clock", "constants", "day", "daylight", "document", "drawing",
    "errors", "findings", "kit", "layers", "page", "photometry", "rays", "readings", "record",
    "session", "sources", "spectrum", "stage", "transport", "types", "units",
}  # fmt: skip

# source: the bar of the project's own design
IMPORT_BAR_S = 0.2
HEAVY = (
    "numpy", "numba", "scipy", "embreex", "shapely", "contourpy", "PIL", "OpenEXR", "ruamel",
    "msgspec", "typer", "rich",
)  # fmt: skip


def test_the_import_order_is_the_data_flow(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    found = lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True)
    assert found == 0


def test_the_map_names_what_is_there() -> None:
    on_disk = {
        path.stem
        for path in PACKAGE.iterdir()
        if (path.is_dir() and (path / "__init__.py").exists())
        or (path.suffix == ".py" and path.name != "__init__.py")
    }
    on_map = set(BELOW_ALL) | {line.split()[0] for line in LINES[1:]}
    assert on_map == on_disk == BUILT


@pytest.mark.parametrize("package", sorted(BUILT))
def test_a_package_has_a_docstring_and_gives_what_it_names(package: str) -> None:
    module = importlib.import_module(f"falloff.{package}")
    assert module.__doc__
    names = getattr(module, "__all__", [])
    assert len(set(names)) == len(names)
    assert [name for name in names if not hasattr(module, name)] == []


@pytest.mark.parametrize("package", sorted(VERBS))
def test_verbs_and_results_of_the_map_exist(package: str) -> None:
    verbs, results = VERBS[package]
    module = importlib.import_module(f"falloff.{package}")
    names = re.sub(r"\([^)]*\)", "", verbs).split(", ") + results.split(", ")
    assert [name for name in names if name not in module.__all__] == []


def test_the_map_has_a_verb_for_every_stage_of_the_work() -> None:
    # source: the project's own design, section on packages
    stages = {"document", "daylight", "kit", "sources", "stage", "transport", "layers", "camera",
              "readings"}  # fmt: skip
    assert stages <= set(VERBS)


def test_public_names() -> None:
    # snapshot: a name added or taken away is seen here
    assert falloff.__all__ == [
        "__version__",
        "build_stage",
        "expose",
        "read_document",
        "take_readings",
        "trace_layers",
    ]
    assert dir(falloff) == falloff.__all__
    for name in falloff.__all__:
        assert getattr(falloff, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'brightness'"):
        falloff.brightness  # noqa: B018


def seconds_to_import() -> float:
    """The time of `import falloff` in a fresh interpreter, by its own clock."""
    program = (
        "import time; began = time.perf_counter(); import falloff; "
        "print(time.perf_counter() - began)"
    )
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    return float(told.stdout)


def test_importing_is_quick() -> None:
    assert statistics.median(seconds_to_import() for _ in range(7)) <= IMPORT_BAR_S


def test_importing_loads_nothing_heavy() -> None:
    program = "import sys, falloff; print(*sorted({name.split('.')[0] for name in sys.modules}))"
    told = subprocess.run([sys.executable, "-c", program], capture_output=True, check=True)
    loaded = told.stdout.decode().split()
    assert "falloff" in loaded
    assert [name for name in HEAVY if name in loaded] == []


def test_the_pages_server_loads_no_tracer(tmp_path: Path) -> None:
    scene = tmp_path / "workshop.scene.yaml"
    scene.write_bytes((PACKAGE / "session/data/workshop.scene.yaml").read_bytes())
    program = (
        "import sys; from pathlib import Path; import falloff.page.serve; "
        "from falloff.page.room import Room; from falloff.page.start import offers; offers(); "
        "room = Room.open(Path(sys.argv[1]), port=1); assert room.top.tree['sources']; "
        "print(*sorted({name.split('.')[0] for name in sys.modules}))"
    )
    told = subprocess.run(
        [sys.executable, "-c", program, str(scene)], capture_output=True, check=True
    )
    loaded = told.stdout.decode().split()
    assert "starlette" in loaded
    assert [name for name in ("numba", "embreex", "trimesh") if name in loaded] == []
