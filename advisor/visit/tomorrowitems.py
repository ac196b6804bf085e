"""What tomorrow's list is made of: lines with the figures behind them, and what is known of each unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.pages.wording import plain
from advisor.physics import units as measure
from advisor.reasoning.assess import Assessment, assess, lean_engine_of
from advisor.reasoning.case import Case, Entry, local_time
from advisor.reasoning.hazards import RELEASED, HazardFound, hazards_of
from advisor.visit.kept import Unit, Visit
from advisor.visit.remedy import causes_of
from advisor.visit.trend import as_left

SECTIONS: Final[Mapping[str, str]] = {
    "call-first": "Call first",
    "service-due": "Due for the yearly service",
    "getting-worse": "Getting worse",
    "faults": "Most common faults this season",
    "parts": "Parts to carry",
}
_LIKELY: Final = ("confirmed", "likely")


@dataclass(frozen=True, slots=True)
class Figure:
    """What a line rests on: a name in words, its value with the unit, and its day."""

    title: str
    value: str
    on: date | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the list: whom or what it is about, what is to be told, why, and the figures behind it."""

    section: str
    what: str
    why: tuple[str, ...]
    rests_on: tuple[Figure, ...]
    unit: str = ""
    place: str = ""
    visit: int = 0
    file: str = ""


@dataclass(frozen=True, slots=True)
class DayList:
    """The list for a day. `counted` tells what it was made from, `notes` what else there is to say."""

    day: date
    lines: tuple[Line, ...]
    units: int
    visits: int
    calls: int
    season: date
    notes: tuple[str, ...] = ()

    def of(self, section: str) -> tuple[Line, ...]:
        """The lines of a section."""
        return tuple(line for line in self.lines if line.section == section)


@dataclass(frozen=True, slots=True)
class Known:
    """A unit with its visits, the last hazards that stand and the case as it was last left."""

    unit: Unit
    visits: tuple[Visit, ...]
    hazards: tuple[tuple[HazardFound, Visit, Case], ...] = ()
    left: Case | None = None

    def causes(self, base: Base) -> tuple[str, ...]:
        """The causes that are likely by what was read when it was last left, and were not put right then."""
        if self.left is None:
            return ()
        return likely(assess(self.left, base, look_ahead=False), causes_of(base, self.visits[-1].remedies))


def known_of(base: Base, unit: Unit, visits: tuple[Visit, ...]) -> Known:
    """A unit with the hazards that stand. One that a visit left open stays so until a later visit tells what put it
    right and proves it, as within one call.
    """
    carried: tuple[Entry, ...] = ()
    standing: tuple[HazardFound, ...] = ()
    case = Case()
    shown: dict[str, tuple[Visit, Case]] = {}
    for visit in visits:
        case = as_left(visit, base)
        case = replace(case, earlier=(*carried, *case.earlier))
        standing = tuple(one for one in hazards_of(base, lean_engine_of(base), case) if one.state != RELEASED)
        for one in standing:
            if one.name not in shown or one.at >= len(carried):
                shown[one.name] = (visit, case)
        carried = (*case.earlier, *case.entries) if standing else ()
    hazards = tuple((one, *shown[one.name]) for one in standing)
    if not visits:
        return Known(unit, visits)
    return Known(unit, visits, hazards, case)


def likely(now: Assessment, done: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """The causes that are likely or confirmed, but for those that were put right."""
    return tuple(one.name for one in now.causes if one.word in _LIKELY and one.name not in done)


def _place(unit: Unit) -> str:
    return "; ".join(words for words in (unit.customer, unit.address) if words)


def line_of(
    known: Known, section: str, what: str, why: Iterable[str], rests_on: Iterable[Figure], visit: int = 0,
) -> Line:
    """A line about a unit."""
    return Line(section, what, tuple(why), tuple(rests_on), known.unit.label, _place(known.unit), visit)


def figure_of(base: Base, entry: Entry, at: datetime | None) -> Figure:
    """An entry as a figure; `at` is the time of the visit, where the entry has none."""
    item = base.named.get(entry.name)
    if isinstance(item, Quantity) and isinstance(entry.value, float):
        value = measure.format_value(entry.value, item.kind)
    elif isinstance(item, Observation) and isinstance(entry.value, str):
        value = plain(entry.value)
    else:
        value = entry.typed or entry.status
    when = entry.at or at
    return Figure(base.title(entry.name), value, local_time(when).date() if when else None)


def days_text(count: int) -> str:
    """A number of days in words."""
    return f"{count} day" if count == 1 else f"{count} days"


def units_text(count: int) -> str:
    """A number of units in words."""
    return f"{count} unit" if count == 1 else f"{count} units"
