"""How kernels are compiled: once, kept on disk, without the interpreter's lock."""

from __future__ import annotations

from numba import njit

# No lock: tiles run on plain threads. Division follows numpy, so no branch guards each one.
kernel = njit(nogil=True, cache=True, error_model="numpy", fastmath=True, no_cfunc_wrapper=True)
# Small pieces of kernels; the code generator inlines them.
inline = njit(
    nogil=True,
    error_model="numpy",
    fastmath=True,
    no_cpython_wrapper=True,  # nobody calls them from outside, so no door is built
    no_cfunc_wrapper=True,
)
