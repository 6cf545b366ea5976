"""Numbers in, numbers out: what the water's functions accept and return."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array: TypeAlias = NDArray[np.float64]
Values: TypeAlias = float | Array
"""A float, or an array of float64 that broadcasts against the other inputs."""


def values(name: str, given: ArrayLike, *, low: float, high: float, unit: str) -> Values:
    """The input as a float or a float64 array; ValueError when any of it is not a number from low to high."""
    if type(given) is float and low <= given <= high:
        return given
    try:
        array = np.asarray(given, dtype=np.float64)
    except (TypeError, ValueError):
        raise ValueError(f"{name} is a number or an array of numbers {unit}, not {given!r}") from None
    within = (array >= low) & (array <= high)
    if not np.all(within):
        raise ValueError(f"{name} lies from {low:g} to {high:g} {unit}; got {array[~within].flat[0]:g}")
    return array if array.ndim else float(array)


def common_shape(given: Iterable[Values | None]) -> tuple[int, ...]:
    """The shape to which all inputs broadcast, () for floats alone; ValueError when there is none."""
    shapes = {np.shape(one) for one in given if one is not None and type(one) is not float}
    try:
        return np.broadcast_shapes(*shapes)
    except ValueError:
        raise ValueError(f"arrays of shapes {', '.join(map(str, sorted(shapes)))} do not broadcast together") from None


def flat(given: Values, shape: tuple[int, ...]) -> Array:
    """The input as a one-dimensional array: of a single element when it is one number, else of the whole shape."""
    if type(given) is float or np.size(given) == 1:
        return np.array([float(np.reshape(given, ()))])
    return np.broadcast_to(given, shape).reshape(-1)


def shaped(array: Array, shape: tuple[int, ...]) -> Values:
    """A one-dimensional result in the inputs' shape; a float for ()."""
    return array.reshape(shape) if shape else float(array[0])
