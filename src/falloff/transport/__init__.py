"""trace(stage, budget) -> Solution: light settled everywhere; then views and probes gather it."""

from falloff.transport.budget import Budget
from falloff.transport.prepare import begin_kernels, prepare_kernels
from falloff.transport.probes import ProbeTrace, surface_shares, trace_probes
from falloff.transport.sampling import morton_order
from falloff.transport.settled import Settled, same_light, settle_again
from falloff.transport.trace import (
    Grasp,
    Progress,
    Solution,
    drag_solution,
    held_solution,
    light_factor,
    restored_solution,
    retrace,
    revise,
    settle_dragged,
    silent,
    take_hold,
    trace,
)
from falloff.transport.views import (
    ViewTrace,
    drag_view,
    picture_bounced,
    picture_direct,
    relight_view,
    retrace_view,
    seen_reflectance,
    trace_view,
)

__all__ = [
    "Budget",
    "Grasp",
    "ProbeTrace",
    "Progress",
    "Settled",
    "Solution",
    "ViewTrace",
    "begin_kernels",
    "drag_solution",
    "drag_view",
    "held_solution",
    "light_factor",
    "morton_order",
    "picture_bounced",
    "picture_direct",
    "prepare_kernels",
    "relight_view",
    "restored_solution",
    "retrace",
    "retrace_view",
    "revise",
    "same_light",
    "seen_reflectance",
    "settle_again",
    "settle_dragged",
    "silent",
    "surface_shares",
    "take_hold",
    "trace",
    "trace_probes",
    "trace_view",
]
