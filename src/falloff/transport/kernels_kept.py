"""Kernels over kept rays: sums of what the cells outside shine with."""

from __future__ import annotations

from falloff.transport.compiled import kernel


@kernel
def shine(cells, owners, weights, luminance, sums):
    """sums[owner] += weight · luminance of the cell, for each kept ray (k,)."""
    for r in range(cells.shape[0]):
        sums[owners[r]] += weights[r] * luminance[cells[r]]
