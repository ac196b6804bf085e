"""What of an imported unit or visit our knowledge cannot read: names, answers, units of measure, impossible numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.library.yamlfiles import near, shorten
from advisor.physics import units
from advisor.physics.units import PhysicsError
from advisor.reasoning.case import Case, Entry
from advisor.visit.kept import KINDS, Unit, Visit

MOST_MINUTES: Final = 600.0
"""Minutes that one check of a visit may take: more is a slip of the pen."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that cannot be read; `hint` looks for what may be meant, which takes a while, where it is shown."""

    what: str
    hint: Callable[[], str] = str

    def __str__(self) -> str:
        return f"{self.what}{self.hint()}"

    def at(self, place: str) -> Fault:
        """The same, with its place before it."""
        return replace(self, what=f"{place}: {self.what}")


def unreadable(base: Base, one: Unit | Visit) -> Iterator[Fault]:
    """All that is wrong with what a unit or a visit names.

    >>> from datetime import UTC, datetime
    >>> from advisor.library.base import load
    >>> visit = Visit("u", datetime(2026, 1, 5, tzinfo=UTC), Case((Entry("smoke", "40", 40.0),)), confirmed=("soot",))
    >>> for line in unreadable(load(), visit):
    ...     print(line)
    smoke: 40 is not plausible for smoke spot number; it lies between 0 and 9
    confirmed: 'soot' is no cause known here
    """
    if isinstance(one, Unit):
        yield from _entries(base, one.equipment, one.measured_in)
        return
    for case in (one.before, one.after):
        if case is not None:
            yield from _case(base, case, one.measured_in)
    yield from _names("confirmed", "cause", one.confirmed, base.causes)
    yield from _names("remedies", "remedy", one.remedies, base.remedies)
    yield from _names("call", "kind of call", [one.kind] if one.kind else [], KINDS)
    yield from _names("minutes", "check", one.minutes, base.checks)
    yield from (Fault(f"parts: {shorten(part)!r}: there were {count:g}; give a number above 0")
                for part, count in one.parts.items() if not count > 0)
    yield from (Fault(f"minutes: {check}: it took {took:g} minutes; give a number from 0 to {MOST_MINUTES:g}")
                for check, took in one.minutes.items() if not 0 <= took <= MOST_MINUTES)


def _case(base: Base, case: Case, measured_in: Mapping[str, str]) -> Iterator[Fault]:
    yield from _entries(base, case.entries, measured_in)
    yield from _names("manufacturer", "limit", case.manufacturer, base.limits)
    yield from (Fault(f"manufacturer: {name} protects people; no manufacturer's figure takes its place")
                for name in case.manufacturer
                if name in base.limits and base.limits[name].fixed)
    yield from _names("instruments", "instrument", case.instruments or (), base.instruments)


def _names(where: str, kind: str, names: Iterable[str], known: Iterable[str]) -> Iterator[Fault]:
    known = tuple(known)
    for name in names:
        if name not in known:
            yield Fault(f"{where}: {shorten(name)!r} is no {kind} known here", partial(_may_be, name, known))


def _may_be(name: str, known: tuple[str, ...]) -> str:
    meant = near(name, known, 1, 0.75)
    return f"; did you mean {meant[0]}?" if meant else ""


def _entries(base: Base, entries: Iterable[Entry], measured_in: Mapping[str, str]) -> Iterator[Fault]:
    for entry in entries:
        if entry.is_cure:
            yield from _names("cured", "hazard", [entry.name], base.hazards)
            continue
        if entry.is_remark:
            continue
        item = base.quantities.get(entry.name) or base.observations.get(entry.name)
        if item is None:
            yield from _names("entries", "reading or observation", [entry.name], base.asked_of)
        elif isinstance(item, Observation):
            if entry.value is not None and entry.value not in item.answers:
                yield Fault(f"{entry.name}: {shorten(str(entry.value))!r} is not an answer; it takes one of "
                            f"{', '.join(item.answers)}")
        elif entry.value is not None and item.derived:
            yield Fault(f"{entry.name}: is computed, not entered: {item.derived}")
        elif entry.value is not None:
            yield from _number(item, entry.value, measured_in.get(entry.name, ""))


def _number(item: Quantity, value: float | str, measure: str) -> Iterator[Fault]:
    if isinstance(value, str):
        yield Fault(f"{item.name}: {shorten(value)!r} is not a number")
        return
    try:
        ours = units.convert(value, measure, units.symbol(item.kind), item.kind) if measure else value
    except PhysicsError as error:
        yield Fault(f"{item.name}: {error}")
        return
    low, high = item.plausible
    if not low <= ours <= high:
        shown, *between = (units.format_value(number, item.kind) for number in (ours, low, high))
        yield Fault(f"{item.name}: {shown} is not plausible for {item.title}; it lies between "
                    f"{' and '.join(between)}")
