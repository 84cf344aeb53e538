"""Names for array types; shapes are told in the docstrings that use them."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Float64Array: TypeAlias = NDArray[np.float64]
Float32Array: TypeAlias = NDArray[np.float32]
Int32Array: TypeAlias = NDArray[np.int32]
Uint16Array: TypeAlias = NDArray[np.uint16]
Uint32Array: TypeAlias = NDArray[np.uint32]
BoolArray: TypeAlias = NDArray[np.bool_]
IntArray: TypeAlias = NDArray[np.integer]
