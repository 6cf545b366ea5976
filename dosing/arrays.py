"""Numbers in, numbers out: what the water's functions accept and return."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]
Values: TypeAlias = float | Array
"""A float, or an array of float64 that broadcasts against the other inputs."""


def values(name: str, given: ArrayLike, *, low: float, high: float, unit: str) -> Values:
    """The input as a float or a float64 array; ValueError when any of it is not a number from low to high."""
    try:
        array = np.asarray(given, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is a number or an array of numbers in {unit}, not {given!r}") from None
    if not np.all((array >= low) & (array <= high)):
        raise ValueError(f"{name} lies from {low:g} to {high:g} {unit}; got {_outlier(array, low, high)}")
    return array if array.ndim else float(array)


def _outlier(array: Array, low: float, high: float) -> str:
    return f"{array[~((array >= low) & (array <= high))].flat[0]:g}"
