"""How CO2 follows the air shutter, learned from the readings themselves.

The shutter is one of several resistances on the way of the air, so its place does not say how much air flows.
Over a short stretch CO2 goes with a power of the opening: near 1 where the shutter is the narrowest place,
near 0 where it is wide open and something else rules (orifice law in series; common practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

_USUAL: Final = 0.6  # power of the opening with which CO2 falls, until two readings tell better
_LEAST, _MOST = 0.15, 1.3
_FARTHEST: Final = 2.0  # never more than half or double the opening in one step
_SMALLEST: Final = 0.02


def place_for(
    readings: Sequence[tuple[float, float]], co2: float, limits: tuple[float, float] | None = None
) -> float:
    """Where to put the shutter for a CO2.

    Parameters
    ----------
    readings : sequence of (place, CO2)
        Place of the shutter, 0 shut to 1 wide open, and CO2 in %; at least one.
    co2 : float
        Wanted, %.
    limits : (float, float), optional
        Stay between these places; at their middle where the readings point outside.

    Returns
    -------
    float
        Place, 0 to 1.

    Examples
    --------
    >>> round(place_for([(0.4, 10.0)], 12.0), 2)
    0.3
    >>> round(place_for([(0.4, 10.0), (0.2, 14.0)], 12.0), 2)
    0.27
    """
    known = sorted((math.log(max(_SMALLEST, place)), math.log(value)) for place, value in readings)
    wanted = math.log(co2)
    place = _inside(known, wanted)
    if place is None:
        place = _outside(known, wanted)
    out = math.exp(place)
    out = 0.0 if out <= _SMALLEST else min(1.0, out)
    if limits is None:
        return out
    low, high = limits
    gap = high - low
    return out if low + 0.1 * gap <= out <= high - 0.1 * gap else low + 0.5 * gap


def _inside(known: Sequence[tuple[float, float]], wanted: float) -> float | None:
    """Between the two neighbors that straddle the wanted value; None where none do."""
    for (x, y), (x_more, y_more) in zip(known, known[1:], strict=False):
        if y > y_more and y_more <= wanted <= y:
            return x + (x_more - x) * (y - wanted) / (y - y_more)
    return None


def _outside(known: Sequence[tuple[float, float]], wanted: float) -> float:
    """Beyond the readings, along the power law through the two nearest."""
    at = 0 if wanted >= known[0][1] else -1
    x, y = known[at]
    power = _USUAL
    if len(known) > 1:
        other = known[1] if at == 0 else known[-2]
        if other[0] != x:
            power = min(_MOST, max(_LEAST, (y - other[1]) / (other[0] - x)))
    farthest = math.log(_FARTHEST)
    return x + min(farthest, max(-farthest, (y - wanted) / power))
