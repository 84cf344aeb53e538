"""Print a Markdown table of the three locations: ours beside the stored witness.

python -m tests.reference.locations.table
"""

from __future__ import annotations

import numpy as np
from tests.reference.locations import judge, load, scenes


def markdown() -> str:
    """One row for each location and source: differences of readings and blocks in stops.

    Readings: mean and greatest of those of which the source gives 2 %, means over seeds. Blocks:
    median and 99th percentile of the mean over seeds, noise of both sides told off; then the same
    of the plain difference of single seeds, noise and all, and the witness's own error. In brackets
    how many blocks the witness does not know well enough to judge.
    """
    rows = [
        "| location | source | readings | mean | greatest | blocks (not sharp) | median | 99 % "
        "| one seed, plain: median | 99 % | witness's error, 99 % |",
        "|---|---|---|---|---|---|---|---|---|---|---|",
    ]
    for name in scenes.LOCATIONS:
        stored = load.load_location(name)
        if stored is None:
            continue
        rows += [_row(one) for one in judge.differences(name, judge.traced(name), stored)]
    return "\n".join(rows)


def _row(one: judge.Differences) -> str:
    readings = one.reading_stops.mean(0)[one.judged]
    left, plain = one.block_left, np.abs(one.block_stops)
    told = f"{readings.mean():+.3f} | {np.abs(readings).max():.3f}" if readings.size else "– | –"
    return (
        f"| {one.location} | {one.source} | {readings.size} | {told} | "
        f"{left.size} ({one.blurred}) | {np.median(left):.3f} | {np.quantile(left, 0.99):.3f} | "
        f"{np.median(plain):.3f} | {np.quantile(plain, 0.99):.3f} | "
        f"{np.quantile(one.block_theirs, 0.99):.3f} |"
    )


if __name__ == "__main__":
    print(markdown())
