"""What an instructor sees: how each learner does, what the class misses, and in which fields."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Final

from advisor.bench.debrief import RIGHT
from advisor.bench.progress import Played
from advisor.library.base import Base
from advisor.pages.wording import wrapped

_MOST: Final = 10
"""Causes that are named as missed."""


def summary(base: Base, played: Sequence[Played]) -> list[str]:
    """A summary of calls, learner by learner, field by field, and the causes that were missed most.

    >>> from advisor.library.base import load
    >>> summary(load(), [])
    ['No call has been closed yet.']
    """
    closed = [one for one in played if one.closed is not None]
    if not closed:
        return ["No call has been closed yet."]
    out = [f"{len(closed)} calls closed, {len(played) - len(closed)} left open", "",
           f"{'learner':<20} {'calls':>5} {'right':>5} {'min':>5} {'parts $':>7} {'needless':>8} {'unsafe':>6} "
           f"{'ended':>5}"]
    for name in sorted({one.learner for one in closed}, key=str.casefold):
        out.append(_row(name, [one for one in closed if one.learner == name]))
    out += ["", f"{'subject':<20} {'calls':>5} {'right':>5}"]
    for subject in sorted({one.subject for one in closed}):
        some = [one for one in closed if one.subject == subject]
        out.append(f"{subject or 'any':<20} {len(some):>5} {_right(some):>5}")
    missed = Counter(cause for one in closed if one.verdict != RIGHT for cause in one.hidden)
    if missed:
        out += ["", "Missed most"]
        for cause, times in missed.most_common(_MOST):
            some = [one for one in closed if one.verdict != RIGHT and cause in one.hidden]
            said = ", ".join(base.title(name) for name, _ in Counter(
                other for one in some for other in one.said if other != cause).most_common(2))
            instead = f"; said instead: {said}" if said else ""
            out += wrapped(f"{base.title(cause)} ({cause}): {times} of "
                           f"{sum(cause in one.hidden for one in closed)}{instead}", 2, 4)
    return out


def _right(some: Iterable[Played]) -> int:
    return sum(one.verdict == RIGHT for one in some)


def _row(name: str, some: Sequence[Played]) -> str:
    mean = sum(one.minutes for one in some) / len(some)
    return (f"{name[:20]:<20} {len(some):>5} {_right(some):>5} {mean:>5.0f} {sum(one.cost for one in some):>7.0f} "
            f"{sum(one.needless for one in some):>8} {sum(one.unsafe for one in some):>6} "
            f"{sum(one.ended for one in some):>5}")
