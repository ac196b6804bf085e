"""How long each check of a call took, by the times of its entries."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.case import Entry, local_time

LONGEST: Final = 60.0
"""Minutes between two entries; a longer time is a lunch or a trip to the counter, and no check."""


def minutes_by_check(base: Base, entries: Iterable[Entry]) -> dict[str, float]:
    """Minutes for each check: the time from the entry before to those that it gives, where both have a time.

    What is typed on one line has one time, and counts for the check that gives the first of them. The first entry of a
    call has none before it. Minutes are to a tenth.

    >>> from datetime import UTC, datetime, timedelta
    >>> from advisor.library.base import load
    >>> nine = datetime(2026, 1, 5, 9, tzinfo=UTC)
    >>> minutes_by_check(load(), [Entry("complaint", "soot", "soot", at=nine),
    ...                           Entry("smoke", "4", 4.0, at=nine + timedelta(minutes=6))])
    {'measure-smoke': 6.0}
    """
    timed = sorted(((local_time(entry.at), entry.name) for entry in entries if entry.at and not entry.is_remark),
                   key=lambda pair: pair[0])
    gives = {name: check.name for check in reversed(tuple(base.checks.values())) for name in check.gives}
    out: dict[str, float] = {}
    for (before, _), (at, name) in pairwise(timed):
        minutes = (at - before).total_seconds() / 60.0
        if name in gives and 0 < minutes <= LONGEST:
            out[gives[name]] = out.get(gives[name], 0.0) + minutes
    return {check: round(minutes, 1) for check, minutes in out.items() if round(minutes, 1) > 0}
