"""Make the shipped figures from the parametric body of the package `anny`.

Run with an interpreter that has numpy, scipy, Pillow, torch and anny:

    python tools/make_figures.py --out src/falloff/kit/data/figures
"""

from __future__ import annotations

import argparse
import hashlib
from pathlib import Path

import numpy as np
from figure_parts.encode import packed
from figure_parts.finish import finished
from figure_parts.people import RECIPES


def main() -> None:
    """Make the figures of the table and print what goes into PROVENANCE.md."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--out", type=Path, required=True)
    options.add_argument("names", nargs="*", help="figures to make; all if none is named")
    chosen = options.parse_args()
    for recipe in RECIPES:
        if chosen.names and recipe.name not in chosen.names:
            continue
        path = chosen.out / recipe.file_name
        np.savez_compressed(path, **packed(finished(recipe)))
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        print(f"| {path.name} | {path.stat().st_size} | `{digest}` |")


if __name__ == "__main__":
    main()
