"""Probabilities as odds in decibans, and back.

Reference: I. J. Good, Probability and the Weighing of Evidence, 1950.
"""

from __future__ import annotations

import math


def decibans(probability: float) -> float:
    """A probability as odds in decibans.

    >>> round(decibans(0.5), 3), round(decibans(10 / 11), 3)
    (0.0, 10.0)
    """
    return 10.0 * math.log10(probability / (1.0 - probability))


def belief(odds: float) -> float:
    """Odds in decibans as a probability; the inverse of `decibans`.

    >>> round(belief(10.0), 4)
    0.9091
    """
    return 1.0 / (1.0 + math.pow(10.0, -odds / 10.0))
