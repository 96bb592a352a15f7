"""The one type that flows through the closed forms: a number, or one number a machine."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
"""(n,) float array, one value a machine; further axes follow the machine."""

Value: TypeAlias = float | Array
"""A float, or an (n,) array with the machine as its leading axis."""
