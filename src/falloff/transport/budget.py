"""How many rays go where. Settings as measured in a study of rooms, boxes, windows and beams."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Budget:
    """Ray counts, all powers of two; the defaults meet the bars on readings and pictures.

    row_rays: from each patch; element_points: points of each element, each with element_rays
    shadow rays, or opening_rays to a window, whose reveals touch it; view_rays a pixel, each with
    gather_rays and shadow_rays; beam_rays: shot from each beam; reading_*: for each replicate of a
    reading, of which there are reading_replicates. An element is hot where it sends out more than
    hot_times_mean times the mean and all such together hot_share or more of the light; it is then
    sampled by hot_*_rays.
    """

    row_rays: int = 128
    element_points: int = 4
    element_rays: int = 4
    opening_rays: int = 16
    view_rays: int = 4
    gather_rays: int = 16
    shadow_rays: int = 4
    beam_rays: int = 16384
    reading_replicates: int = 8
    reading_shadow_rays: int = 64
    reading_gather_rays: int = 512
    hot_times_mean: float = 6.0
    hot_share: float = 0.2
    hot_view_rays: int = 1
    hot_reading_rays: int = 64
    tolerance: float = 1e-4
    seed: int = 20
