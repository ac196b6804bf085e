"""How CO2 follows the air shutter, learned from the readings themselves.

The shutter is one of several resistances on the way of the air, so its place does not say how much air flows.
Over a short stretch CO2 goes with a power of the opening: near 1 where the shutter is the narrowest place,
near 0 where it is wide open and something else rules (orifice law in series; common practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

_TRUST: Final = 0.02  # (ln opening)2: readings nearer together than about 15 % of the opening say little of the power
_LOCAL: Final = 0.04  # ln CO2 within which readings count about alike
_LEAST, _MOST = 0.12, 1.3
_FARTHEST: Final = 0.7  # ln: never more than half or double the opening in one step
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
    0.29
    >>> round(place_for([(0.4, 10.0), (0.2, 14.0)], 12.0), 2)
    0.27
    """
    known = [(math.log(max(_SMALLEST, place)), math.log(value)) for place, value in readings]
    wanted = math.log(co2)
    weights = [1.0 / (_LOCAL + abs(y - wanted)) ** 2 for _, y in known]
    whole = sum(weights)
    x_mean = sum(w * x for w, (x, _) in zip(weights, known, strict=True)) / whole
    y_mean = sum(w * y for w, (_, y) in zip(weights, known, strict=True)) / whole
    spread = sum(w * (x - x_mean) ** 2 for w, (x, _) in zip(weights, known, strict=True)) / whole
    falls = -sum(w * (x - x_mean) * (y - y_mean) for w, (x, y) in zip(weights, known, strict=True)) / whole
    usual = max(0.25, 0.75 - 0.5 * math.exp(x_mean))
    power = min(_MOST, max(_LEAST, (falls + _TRUST * usual) / (spread + _TRUST)))
    nearest = min(known, key=lambda one: abs(one[1] - wanted))[0]
    place = x_mean + (y_mean - wanted) / power
    place = min(nearest + _FARTHEST, max(nearest - _FARTHEST, place))
    out = 0.0 if place <= math.log(_SMALLEST) else min(1.0, math.exp(place))
    if limits is None:
        return out
    low, high = limits
    gap = high - low
    return out if low + 0.1 * gap <= out <= high - 0.1 * gap else low + 0.5 * gap
