"""When is the stack steady? From temperatures over time: how fast it rises now, and how long it still takes.

References
----------
.. [1] Steady means that the stack rises no faster than 3 degF a minute: common practice.
.. [2] Metal and water that warm up under a constant fire approach their end exponentially (lumped heat capacity).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

STEADY_RATE: Final = 3.0
"""Fastest change of a steady stack, degF a minute [1]_."""

_LEAST_GAP: Final = 0.45  # min; readings nearer together say nothing of a rate
_SLOWEST, _FASTEST = 60.0, 0.3  # min: time constants of appliances lie well between
_MISFIT: Final = 6.0  # degF: beyond it the readings do not lie on one approach


class SteadyError(ValueError):
    """Times or temperatures that cannot be; says what would be right."""


@dataclass(frozen=True, slots=True)
class Steady:
    """Whether the stack is steady. `rate` in degF a minute and `minutes_to_go` are None where they cannot be told;
    `final` is the temperature that the fit approaches, degF; `why` says it in words."""

    steady: bool
    rate: float | None
    minutes_to_go: float | None
    final: float | None
    why: str


def projection(minutes: Sequence[float], degf: Sequence[float]) -> Steady:
    """How steady the stack is, and when it will be.

    Parameters
    ----------
    minutes : sequence of float
        Times of the readings, min, rising.
    degf : sequence of float
        Stack temperatures, degF, one for each time.

    Returns
    -------
    Steady

    Raises
    ------
    SteadyError
        Times that do not rise, not as many temperatures as times, or values that are no numbers.

    Examples
    --------
    >>> projection([0, 1, 2, 3], [300, 400, 450, 475]).minutes_to_go
    3.0
    >>> projection([0, 1, 2], [498, 500, 501]).steady
    True
    """
    if len(minutes) != len(degf):
        raise SteadyError(f"{len(minutes)} times and {len(degf)} temperatures: wants one temperature for each time")
    if not all(math.isfinite(value) for value in (*minutes, *degf)):
        raise SteadyError("a time or temperature is no number")
    for before, after in pairwise(minutes):
        if after <= before:
            raise SteadyError(f"minute {after:g} after minute {before:g}: times must rise")
    rate = _rate(minutes, degf)
    if rate is None:
        return Steady(False, None, None, None, "One reading tells nothing of the rise; read again in a minute.")
    if abs(rate) <= STEADY_RATE:
        return Steady(True, rate, 0.0, None, f"Steady: it changes by {rate:+.1f} degF a minute, and "
                      f"{STEADY_RATE:g} is allowed.")
    if rate < 0:
        return Steady(False, rate, None, None, f"It falls by {-rate:.1f} degF a minute: the fire or the draft has "
                      "changed, or the burner has stopped. Look before going on.")
    rises = f"It rises by {rate:.1f} degF a minute; {STEADY_RATE:g} is allowed."
    if len(minutes) < 3:
        return Steady(False, rate, None, None, rises + " A third reading is needed to tell how long it takes.")
    found = _fit(minutes, degf)
    if found is None:
        return Steady(False, rate, None, None, rises + " The rise is not slowing down yet, or the readings scatter, "
                      "so how long it takes cannot be told. Go on reading each minute.")
    final, height, tau = found
    # The reading a minute before counts too, as the technician judges by the last two.
    at = tau * math.log(height * (math.exp(1.0 / tau) - 1.0) / STEADY_RATE)
    to_go = round(max(0.0, minutes[0] + at - minutes[-1]), 1)
    return Steady(False, rate, to_go, round(final), rises + f" About {math.ceil(to_go)} min to go, to some "
                  f"{final:.0f} degF.")


def _rate(minutes: Sequence[float], degf: Sequence[float]) -> float | None:
    """degF a minute since the latest reading that is far enough back; None where there is none."""
    for time, value in zip(reversed(minutes[:-1]), reversed(degf[:-1]), strict=True):
        if minutes[-1] - time >= _LEAST_GAP:
            return (degf[-1] - value) / (minutes[-1] - time)
    return None


def _fit(minutes: Sequence[float], degf: Sequence[float]) -> tuple[float, float, float] | None:
    """End, height at the first reading and time constant of T = end - height exp(-t/tau); None where it does not fit.

    For each time constant, end and height follow by least squares; the best one is found on a grid of logarithms.
    """
    times = [time - minutes[0] for time in minutes]
    best: tuple[float, float, float, float] | None = None
    steps = 240
    for step in range(steps + 1):
        tau = _FASTEST * (_SLOWEST / _FASTEST) ** (step / steps)
        shape = [math.exp(-time / tau) for time in times]
        mean_x, mean_y = sum(shape) / len(shape), sum(degf) / len(degf)
        spread = sum((x - mean_x) ** 2 for x in shape)
        if spread < 1e-12:
            continue
        slope = sum((x - mean_x) * (y - mean_y) for x, y in zip(shape, degf, strict=True)) / spread
        end = mean_y - slope * mean_x
        misfit = sum((end + slope * x - y) ** 2 for x, y in zip(shape, degf, strict=True))
        if best is None or misfit < best[0]:
            best = (misfit, end, -slope, tau)
    if best is None:
        return None
    misfit, end, height, tau = best
    at_the_edge = tau >= 0.97 * _SLOWEST or tau <= 1.03 * _FASTEST
    if at_the_edge or height <= 0 or end > 1200.0 or math.sqrt(misfit / len(times)) > _MISFIT:
        return None
    return end, height, tau
