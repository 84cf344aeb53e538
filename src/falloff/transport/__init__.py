"""trace(stage, budget) -> Solution: light settled everywhere; then views and probes gather it."""

from falloff.transport.budget import Budget
from falloff.transport.prepare import begin_kernels, prepare_kernels
from falloff.transport.probes import ProbeTrace, surface_shares, trace_probes
from falloff.transport.trace import (
    Progress,
    Solution,
    drag_solution,
    restored_solution,
    retrace,
    revise,
    silent,
    trace,
)
from falloff.transport.views import (
    ViewTrace,
    drag_view,
    picture_bounced,
    picture_direct,
    retrace_view,
    trace_view,
)

__all__ = [
    "Budget",
    "ProbeTrace",
    "Progress",
    "Solution",
    "ViewTrace",
    "begin_kernels",
    "drag_solution",
    "drag_view",
    "picture_bounced",
    "picture_direct",
    "prepare_kernels",
    "restored_solution",
    "retrace",
    "retrace_view",
    "revise",
    "silent",
    "surface_shares",
    "trace",
    "trace_probes",
    "trace_view",
]
