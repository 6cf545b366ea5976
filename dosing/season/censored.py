"""Learning from a number of which only an interval is known, and which may be plainly wrong.

A pad says between which bounds the water lies, an eye blurs the bounds, and now and then a reading is of another water
altogether. The belief is a Gaussian; it is moved by the first two derivatives of the logarithm of the chance that it
gave to what was read (assumed-density filtering: Minka 2001, Expectation Propagation, section 3.2).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from dosing.arrays import Array

ODD, SELDOM = 0.05, 0.01
"""Share of readings that say nothing of this water: mixed up, bleached, misread by a pad or more; of a strip, and of
drops or a meter (common practice).
"""
_ANY_PAD = 0.15
"""The chance of one pad in such a reading: a strip has five to seven."""
_LEAST = 1e-12
_UNTOLD = 0.6
"""Standard deviation of the doubt that a reading that does not fit leaves, as a share of what it is off."""


class Seen(NamedTuple):
    """What a reading does to a Gaussian belief of the number read.

    The mean moves by `shift` times the covariance with the number, the covariance changes by `curve` times its outer
    product; `chance` is the chance that the belief gave to the reading. `doubt` is a variance for the number itself:
    where a reading does not fit, somebody may have changed the water and told nobody, and a second reading that agrees
    with it has to be believed.
    """

    shift: Array
    curve: Array
    chance: Array
    doubt: Array


def seen(
    mean: Array, variance: Array, low: Array, high: Array, blur: Array, span: float, odd: Array | float = ODD
) -> Seen:
    """A reading between `low` and `high` (which may be infinite), each bound blurred by a standard deviation `blur`.

    `span` is the width over which odd readings fall, `odd` their share: a narrow interval that fits is no accident.
    """
    spread = np.sqrt(variance + blur * blur)
    below, above = (low - mean) / spread, (high - mean) / spread
    at_low, at_high = density(below), density(above)
    chance = np.maximum(normal(above) - normal(below), _LEAST)
    slope = (at_low - at_high) / chance / spread
    bend = (_times(below, at_low) - _times(above, at_high)) / chance / spread**2 - slope**2
    told = (1.0 - odd) * chance
    every = told + odd * np.minimum((high - low) / span, _ANY_PAD)
    trust = told / every
    missed = np.clip(mean, low, high) - mean
    doubt = (1.0 - trust) * (_UNTOLD * missed) ** 2
    return Seen(trust * slope, trust * bend + trust * (1.0 - trust) * slope**2, every, doubt)


def _times(bound: Array, at: Array) -> Array:
    return np.where(np.isfinite(bound), bound, 0.0) * at


def density(z: Array) -> Array:
    """Of the standard normal distribution."""
    result: Array = np.exp(-0.5 * np.minimum(z * z, 700.0)) * 0.3989422804014327
    return result


def normal(z: Array) -> Array:
    """The standard normal distribution, to 8e-8: Abramowitz & Stegun 1964, 26.2.17."""
    size = np.minimum(np.abs(z), 40.0)
    t = 1.0 / (1.0 + 0.2316419 * size)
    series = t * (0.319381530 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
    tail = density(size) * series
    return np.where(z > 0, 1.0 - tail, tail)
