"""The types that flow through laws, closed forms and networks: a number, or one number a machine."""

from __future__ import annotations

from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

Array: TypeAlias = NDArray[np.float64]
"""(n,) float array, one value a machine; further axes follow the machine."""

Value: TypeAlias = float | Array
"""A float, or an (n,) array with the machine as its leading axis."""

Phasors: TypeAlias = NDArray[np.complex128]
"""(n,) complex array: root mean square size and angle of something that alternates, one value a machine."""

Admittance: TypeAlias = complex | Array | Phasors
"""Current over voltage of a link that alternates, [S]: a number, or (n,)."""

Numeric = TypeVar("Numeric", Array, Phasors)
"""Either kind of array, for what works on both alike."""
