"""The report as a value: a visit as it was found and left, and what was done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import plain, value_text
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry, local_time
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.report.shop import Shop
from advisor.visit.airsetting import settings_of
from advisor.visit.kept import YEARLY
from advisor.visit.minutes import minutes_by_check

_NO_PART: Final = frozenset({"years", "price", "volume"})
"""Kinds of units that no part of a burner has."""
_SHORTEST, _LONGEST = timedelta(minutes=5), timedelta(hours=14)
"""Entries nearer together were typed off a sheet, those further apart were not made on one visit."""


@dataclass(frozen=True, slots=True)
class Begun:
    """A remedy that was not done to its end: its name, and how many of its steps were done."""

    remedy: str
    done: int
    steps: int


@dataclass(frozen=True, slots=True)
class Report:
    """A visit to report on.

    Parameters
    ----------
    title : str
        What the unit is called.
    on : date
        Day of the visit.
    before : Assessment
        As found.
    after : Assessment, optional
        As left; None where nothing was measured after the work.
    technician : str
        Who made the visit, as it shall stand there; by default that of the shop.
    remedies, confirmed : tuple of str
        Names of the remedies done and of the causes found true.
    notes : tuple of str
        Words of the technician.
    air : tuple of (float, float)
        Smoke spot number and CO2, %, at each setting of the air, in the order in which they were read.
    coming : str
        Who comes next, and when, where the unit is left off.
    begun : tuple of Begun
        Remedies that were not done to their end.
    complaint : str
        What the customer said, in the customer's own words; empty where nobody called for a complaint.
    parts : tuple of str
        What was put in or changed.
    minutes : int
        That the visit took; 0 where that is not known.
    by_check : mapping
        Minutes that each check took, by its name, where that is known.
    outcome, kind : str
        How it came out and what kind of call it was, as the record has them (:mod:`advisor.visit.kept`), or empty.
    served : date, optional
        Day of the last yearly service, where the record knows one.
    customer, address : str
        Of the unit, where they are known.
    shop : Shop
        Whose letterhead it has.
    """

    title: str
    on: date
    before: Assessment
    after: Assessment | None = None
    technician: str = ""
    remedies: tuple[str, ...] = ()
    confirmed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    air: tuple[tuple[float, float], ...] = ()
    coming: str = ""
    begun: tuple[Begun, ...] = ()
    complaint: str = ""
    parts: tuple[str, ...] = ()
    minutes: int = 0
    by_check: Mapping[str, float] = field(default_factory=dict)
    outcome: str = ""
    kind: str = ""
    served: date | None = None
    customer: str = ""
    address: str = ""
    shop: Shop = Shop()  # noqa: RUF009  (a frozen value)

    @property
    def last(self) -> Assessment:
        """The state in which the unit was left, as far as it was measured."""
        return self.after or self.before

    @property
    def by(self) -> str:
        """Who made the visit."""
        return self.technician or self.shop.technician

    @property
    def is_service(self) -> bool:
        """Whether it was the yearly service."""
        return self.kind == YEARLY or self.before.known.get(COMPLAINT) == ROUTINE


def report_of(
    base: Base, before: Case, after: Case | None, unit: str, on: date, *, technician: str = "",
    remedies: Iterable[str] = (), confirmed: Iterable[str] = (), notes: Iterable[str] = (), coming: str = "",
    begun: Iterable[Begun] = (), parts: Mapping[str, float] | None = None, minutes: Mapping[str, float] | None = None,
    outcome: str = "", kind: str = "", served: date | None = None, customer: str = "", address: str = "",
    shop: Shop | None = None,
) -> Report:
    """The report of a visit from its cases, as found and as left; the curve of the air is of the later one that has it.

    `after` holds what was put right already (`earlier`, or its own marks). `parts` are how many of each, `minutes`
    those of each check; where none are given, the times of the entries tell them. To the parts comes what was changed
    of the equipment.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> report_of(load(), Case((Entry("smoke", "4", 4.0),)), None, "boiler", date(2026, 11, 25),
    ...           parts={"nozzle": 2.0}).parts
    ('2 x nozzle',)
    """
    air = (settings_of(after, base) if after else ()) or settings_of(before, base)
    found, left = assess(before, base), assess(after, base) if after else None
    fitted = (part if count == 1 else f"{count:g} x {part}" for part, count in (parts or {}).items())
    by_check = minutes or minutes_by_check(base, (*before.entries, *(after.entries if after else ())))
    return Report(
        unit, on, found, left, technician, tuple(dict.fromkeys(remedies)), tuple(dict.fromkeys(confirmed)),
        tuple(notes), tuple((one.smoke, one.co2) for one in air), coming, tuple(begun), complaint_words(before),
        (*fitted, *changed_equipment(base, found, left)), minutes_of(before, after), by_check, outcome, kind, served,
        customer, address, shop or Shop(),
    )


def complaint_words(case: Case) -> str:
    """What the customer said: the words in which the complaint was told, with those told in the same breath.

    >>> told = Entry("complaint", "soot", "soot", said="sooting again")
    >>> complaint_words(Case((told, Entry("remark", "we were here three weeks ago", None, "remark"))))
    'sooting again, we were here three weeks ago'
    """
    entries = case.entries
    place = next((place for place, one in enumerate(entries) if one.name == COMPLAINT and one.value), None)
    if place is None:
        return ""
    first = entries[place]
    out = [_told(first)]
    for other in entries[place + 1:]:
        if other.at != first.at or not (other.is_remark or other.said):
            break
        if not any(_told(other) in told for told in out):
            out.append(_told(other))
    return ", ".join(out)


def _told(entry: Entry) -> str:
    return " ".join((entry.said or plain(entry.typed)).split())


def changed_equipment(base: Base, before: Assessment, after: Assessment | None) -> tuple[str, ...]:
    """What of the equipment is another after the work, in words.

    >>> from advisor.library.base import load
    >>> first, last = (assess(Case((Entry("nozzle_size", size, float(size)),)), load(), look_ahead=False)
    ...                for size in ("0.85", "0.75"))
    >>> changed_equipment(load(), first, last)
    ('nozzle size: 0.75 gph (was 0.85 gph)',)
    """
    if after is None:
        return ()
    then, now = before.case.latest, after.case.latest
    return tuple(f"{base.title(name)}: {value_text(base, after, name)} (was {value_text(base, before, name)})"
                 for name in now if name in base.equipment and name in then and _is_fitted(base, name)
                 and None not in (now[name].value, then[name].value) and now[name].value != then[name].value)


def _is_fitted(base: Base, name: str) -> bool:
    """Whether it is of the unit itself, and not of its history or of what the oil costs."""
    quantity = base.quantities.get(name)
    return quantity is None or not (quantity.last_of or quantity.kind in _NO_PART)


def minutes_of(*cases: Case | None) -> int:
    """The minutes from the first entry to the last, where they can be those of one visit; else 0.

    >>> from datetime import datetime
    >>> minutes_of(Case(tuple(Entry("smoke", "4", 4.0, at=datetime(2026, 1, 5, 10, at)) for at in (2, 47))))
    45
    """
    times = [local_time(entry.at) for case in cases if case for entry in case.entries if entry.at]
    span = max(times) - min(times) if times else timedelta()
    return round(span.total_seconds() / 60) if _SHORTEST <= span <= _LONGEST else 0


__all__ = ["Begun", "Report", "Shop", "changed_equipment", "complaint_words", "minutes_of", "report_of"]
