"""The knee of the smoke-CO2 curve, and what a single reading says of the air.

Between a clean and a smoky reading the knee is taken where a line as steep as such curves usually are runs down
from the smoky one.

References
----------
.. [1] EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, October 1975 (from memory).
.. [2] Steepness of the curve past the knee, about three spots a point of CO2: common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from advisor.visit.airfigures import Figures
from advisor.visit.curve import Knee, Setting

STEEPNESS: Final = 3.0
"""Smoke spots a point of CO2 past the knee [2]_."""

TRACE: Final = 0.4
"""Spot from which a reading is called a trace, not zero."""

_SAFE_SIDE: Final = 0.1  # % CO2 by which the usual line is moved toward more air
_AFTER_TRACE: Final = 0.6  # % CO2 from a reading of a trace to the knee at most
_RICH_CO: Final = 1500.0  # ppm; with so much CO the oxygen itself is short, and CO2 no longer rises on closing


def knee(settings: Sequence[Setting], figures: Figures = Figures()) -> Knee | None:  # noqa: B008  (a frozen value)
    """The knee of the curve, between the most open smoky setting and the clean one next to it.

    Parameters
    ----------
    settings : sequence of Setting
    figures : Figures
        `clean` and the shutter scale count.

    Returns
    -------
    Knee or None
        None until there is a clean setting more open than a smoky one.

    Examples
    --------
    >>> round(knee([Setting(4, 0, 11.4), Setting(3, 3.5, 13.7)]).co2, 1)
    12.8
    """
    points = in_order(settings, figures)
    smoky = [one for one in points if wants_air(one, figures)]
    if not smoky:
        return None
    worst = smoky[-1]
    more_open = points[points.index(worst) + 1:]
    easy = [one for one in more_open if not wants_air(one, figures)]
    if not easy:
        return None
    best = easy[0]
    return Knee(round(_between(best, worst, figures, is_rich(worst, points, figures)), 2), best.co2, worst.co2)


def in_order(settings: Sequence[Setting], figures: Figures) -> list[Setting]:
    """The latest reading of each mark, from the most closed to the most open."""
    latest = {one.shutter: one for one in settings}
    return sorted(latest.values(), key=lambda one: place_of(one, figures))


def place_of(one: Setting, figures: Figures) -> float:
    return figures.place(one.shutter)


def neighbors(one: Setting, other: Setting, figures: Figures) -> bool:
    return abs(place_of(one, figures) - place_of(other, figures)) <= 1.01 * figures.smallest


def is_clean(one: Setting, figures: Figures) -> bool:
    return one.smoke <= figures.clean and (one.co is None or one.co <= figures.co_limit)


def wants_air(one: Setting, figures: Figures) -> bool:
    """Whether it wants more air. CO above its limit with clean smoke and CO2 under the floor wants less."""
    return one.smoke > figures.clean or (not is_clean(one, figures) and one.co2 >= figures.floor)


def is_rich(one: Setting, points: list[Setting], figures: Figures) -> bool:
    """Whether so little air comes that CO2 is falling again on closing, and says nothing of the air any more."""
    if one.smoke <= figures.clean:
        return False
    if (one.co or 0.0) >= _RICH_CO:
        return True
    here = points.index(one)
    if any(other.co2 >= one.co2 for other in points[here + 1:]):
        return True
    return one.smoke >= 6.0 and here == len(points) - 1 and here > 0 and points[here - 1].co2 <= one.co2 + 0.1


def _between(best: Setting, worst: Setting, figures: Figures, rich: bool) -> float:
    """CO2 at which the smoke leaves the trace, between a clean and a smoky setting, %.

    The curve bends upward, so its chord crosses too early, and a line as steep as usual, run down from the smoky
    reading, a little late. The line is taken, less a little on the safe side.
    """
    if rich or worst.co2 <= best.co2:
        return min(figures.ceiling, best.co2 + (0.75 * _AFTER_TRACE if best.smoke >= TRACE else 1.0))
    gap = worst.co2 - best.co2
    if worst.smoke <= figures.clean:  # short by its CO alone
        low, high = best.co or 0.0, worst.co or figures.co_limit
        return best.co2 + gap * min(1.0, max(0.0, (figures.co_limit - low) / max(1.0, high - low)))
    chord = best.co2 + gap * (figures.clean - best.smoke) / (worst.smoke - best.smoke)
    steep = worst.co2 - (worst.smoke - figures.clean) / STEEPNESS
    out = max(best.co2, chord, steep - min(_SAFE_SIDE, 0.5 * max(0.0, steep - chord)))
    return min(out, best.co2 + _AFTER_TRACE) if best.smoke >= TRACE else out


def cleanest(points: list[Setting], figures: Figures) -> Setting:
    """The setting to leave it at when none is good: the least smoke, then the least CO, then the most CO2."""
    return min(points, key=lambda one: (one.smoke if one.smoke > figures.clean else 0.0,
                                        max(0.0, (one.co or 0.0) - figures.co_limit), -one.co2))


def co2_by_place(points: list[Setting], figures: Figures) -> list[tuple[float, float]]:
    """Place and CO2 of the readings on which CO2 falls with more air."""
    sound = [one for one in points if not is_rich(one, points, figures)]
    return [(place_of(one, figures), one.co2) for one in sound or points]
