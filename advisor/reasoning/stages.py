"""How far a fault is gone: one that has only begun does not do elsewhere yet what it will do later."""

from __future__ import annotations

import math
from typing import Final

INCIPIENT_SHARE: Final = 0.2
"""Share of faults that have only begun, so that nothing shows but they themselves (our own estimate)."""


def far_gone(sums: tuple[float, float]) -> float:
    """How likely a fault, if it is there, is far gone, by the sums of the evidence (decibans).

    >>> far_gone((0.0, 0.0))
    0.8
    """
    gone, begun = _weights(sums)
    return gone / (gone + begun)


def together(sums: tuple[float, float]) -> float:
    """What evidence comes to that is so strong for a fault far gone, and so for one that has only begun (decibans).

    >>> round(together((3.0, 3.0)), 6)
    3.0
    >>> round(together((-40.0, 0.0)), 1)
    -7.0
    """
    return 10.0 * math.log10(sum(_weights(sums)))


def _weights(sums: tuple[float, float]) -> tuple[float, float]:
    """The share of faults at each stage, times how much likelier the evidence is with one at that stage."""
    gone, begun = sums
    return (1.0 - INCIPIENT_SHARE) * math.pow(10.0, gone / 10.0), INCIPIENT_SHARE * math.pow(10.0, begun / 10.0)
