"""The course of a unit's numbers by date, in lines of text, and under it what was changed and when."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from string import ascii_lowercase
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import columns, wrapped
from advisor.physics import units
from advisor.reasoning.case import local_time
from advisor.visit.kept import Unit, Visit
from advisor.visit.trend import TRENDED, Moment, sparkline

_LEAD: Final = 35
_ONE_LINE: Final = 70
"""From so many columns on, name, bars and figures stand on one line."""
_MOST: Final = 60


@dataclass(frozen=True, slots=True)
class Event:
    """What was changed on a day, in words."""

    day: date
    words: str


def events(visits: Iterable[Visit], unit: Unit, base: Base) -> tuple[Event, ...]:
    """What was changed of a unit: remedies done, parts fitted, equipment, from the first to the last.

    >>> from datetime import UTC
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Case
    >>> visit = Visit("u", datetime(2026, 1, 5, 12, tzinfo=UTC), Case(), parts={"nozzle": 1.0})
    >>> events([visit], Unit("A"), load())
    (Event(day=datetime.date(2026, 1, 5), words='fitted 1 x nozzle'),)
    """
    out = [Event(one.day, ("changed" if one.what == "other" else f"new {one.what}")
                 + (f" ({one.note})" if one.note else "")) for one in unit.changes]
    for visit in visits:
        said = [base.title(name) for name in visit.remedies]
        if visit.parts:
            said.append("fitted " + ", ".join(f"{count:g} x {part}" for part, count in visit.parts.items()))
        if said:
            out.append(Event(local_time(visit.at).date(), ", ".join(said)))
    return tuple(sorted(out, key=lambda one: one.day))


def places(days: Sequence[float], room: int, first: float, last: float) -> list[int]:
    """The column of each day, from `first` (column 0) to `last` (the last of `room`), in proportion to the time between
    them; where two would stand in one, the later moves on.

    Parameters
    ----------
    days : sequence of float
        From the first to the last, at most `room` of them, in any unit of time.

    >>> places([0, 365, 366, 730], 21, 0, 730)
    [0, 10, 11, 20]
    """
    whole = last - first
    out: list[int] = []
    for day in days:
        column = round((day - first) / whole * (room - 1)) if whole > 0 else 0
        out.append(max(column, out[-1] + 1 if out else 0))
    limit = room - 1
    for number in range(len(out) - 1, -1, -1):
        out[number] = min(out[number], limit)
        limit = out[number] - 1
    return out


def course_lines(
    moments: Sequence[Moment], base: Base, changed: Sequence[Event] = (), plain_marks: bool | None = None
) -> list[str]:
    """Each trended quantity over the time as a row of bars, placed by their dates, with its first and last value; below
    it the first and the last day, and what was changed when.

    `plain_marks` uses ASCII only; by default where standard output cannot write the bars.

    >>> from datetime import UTC
    >>> from advisor.library.base import load
    >>> years = [(2022, 480.0), (2025, 505.0), (2026, 560.0)]
    >>> moments = [Moment(datetime(year, 10, 1, tzinfo=UTC), {"stack_temperature": stack}) for year, stack in years]
    >>> for line in course_lines(moments, load(), [Event(date(2025, 10, 1), "new nozzle")], plain_marks=True):
    ...     print(line)
      stack temperature                _                  -     #  480 to 560 degF
                                       2022-10-01      2026-10-01
                                                          a
      a  2025-10-01 new nozzle
    """
    rows = [(base.title(name), [moment.numbers.get(name) for moment in moments], name) for name in TRENDED]
    rows = [row for row in rows if any(value is not None for value in row[1])]
    if not rows:
        return []
    tails = [_tail(values, base.quantities[name].kind) for _, values, name in rows]
    narrow = columns() < _ONE_LINE
    room = min(_MOST, columns() - 4 if narrow else columns() - _LEAD - 2 - max(map(len, tails)))
    room = min(room, 26) if not narrow else room
    cut, moments = len(moments) > room, moments[-room:]
    times = [local_time(moment.at).timestamp() for moment in moments]
    where = places(times, room, times[0], times[-1])
    margin = " " * (2 if narrow else _LEAD)
    lines = []
    for (title, values, _), tail in zip(rows, tails, strict=True):
        bars = _bars(values[-room:], where, room, plain_marks)
        lines += [*wrapped(f"{title}: {tail}", 2, 4), f"{margin}{bars}".rstrip()] if narrow else [
            f"  {title:<{_LEAD - 3}} {bars}  {tail}"]
    lines.append(margin + _axis(moments, room))
    lines += _changed_lines(changed, margin, room, times[0], times[-1])
    return [*lines, "  (the latest visits only: there is no room for more)"] if cut else lines


def _tail(values: Sequence[float | None], kind: str) -> str:
    known = [value for value in values if value is not None]
    first, last = (units.format_value(value, kind) for value in (known[0], known[-1]))
    return f"{first.removesuffix(units.symbol(kind)).strip()} to {last}" if len(known) > 1 else first


def _bars(values: Sequence[float | None], where: Sequence[int], room: int, plain_marks: bool | None) -> str:
    bars = sparkline(values)
    if plain_marks is None:
        try:
            bars.encode(sys.stdout.encoding or "ascii")
            plain_marks = False
        except (UnicodeEncodeError, LookupError):
            plain_marks = True
    row = [" "] * room
    for mark, column in zip(sparkline(values, plain=True) if plain_marks else bars, where, strict=True):
        row[column] = mark
    return "".join(row)


def _axis(moments: Sequence[Moment], room: int) -> str:
    """The first and the last day under their columns; only their months where there is little room."""
    first, last = (f"{local_time(moment.at):%Y-%m-%d}" for moment in (moments[0], moments[-1]))
    if room < len(first) + len(last) + 1:
        first, last = first[:7], last[:7]
    return first if first == last or room < len(first) + len(last) + 1 else first + last.rjust(room - len(first))


def _changed_lines(changed: Sequence[Event], margin: str, room: int, first: float, last: float) -> list[str]:
    """A letter under the day of each change within the time shown, and what it stands for."""
    days: dict[date, list[str]] = {}
    for event in changed:
        days.setdefault(event.day, []).append(event.words)
    shown = {day: words for day, words in days.items()
             if date.fromtimestamp(first) <= day <= date.fromtimestamp(last)}
    latest = list(shown)[-min(room, len(ascii_lowercase)):]
    at = [datetime(day.year, day.month, day.day, 12).timestamp() for day in latest]
    row = [" "] * room
    for letter, column in zip(ascii_lowercase, places(at, room, first, last), strict=False):
        row[max(0, column)] = letter
    lines = [f"{margin}{''.join(row)}".rstrip()] if latest else []
    for letter, day in zip(ascii_lowercase, latest, strict=False):
        lines += wrapped(f"{letter}  {day} {'; '.join(shown[day])}", 2, 5)
    return lines
