"""trace(stage, budget) -> Solution: light settled everywhere; then views and probes gather it."""

from falloff.transport.budget import Budget
from falloff.transport.probes import ProbeTrace, surface_shares, trace_probes
from falloff.transport.trace import Progress, Solution, retrace, silent, trace
from falloff.transport.views import (
    ViewTrace,
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
    "picture_bounced",
    "picture_direct",
    "retrace",
    "retrace_view",
    "silent",
    "surface_shares",
    "trace",
    "trace_probes",
    "trace_view",
]
