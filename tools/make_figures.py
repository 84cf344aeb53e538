"""Make the shipped figures from the parametric body of the package `anny`.

Run with an interpreter that has numpy, scipy, Pillow, torch and anny:

    python tools/make_figures.py --out src/falloff/kit/data/figures
"""

from __future__ import annotations

import argparse
import hashlib
from pathlib import Path

import numpy as np
from figure_parts.finish import finished, packed
from figure_parts.recipes import RECIPES


def main() -> None:
    """Make every figure of the table and print what goes into PROVENANCE.md."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--out", type=Path, required=True)
    folder: Path = options.parse_args().out
    for recipe in RECIPES:
        path = folder / f"{recipe.name}.npz"
        np.savez_compressed(path, **packed(finished(recipe)))
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        print(f"| {path.name} | {path.stat().st_size} | `{digest}` |")


if __name__ == "__main__":
    main()
