"""The report as a value: a visit as it was found and left, and what was done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from advisor.library.base import Base
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from advisor.visit.airsetting import settings_of


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
        Who made the visit, as it shall stand there.
    remedies, confirmed : tuple of str
        Names of the remedies done and of the causes found true.
    notes : tuple of str
        Words of the technician.
    air : tuple of (float, float)
        Smoke spot number and CO2, %, at each setting of the air, in the order in which they were read.
    coming : str
        Who comes next, and when, where the unit is left off.
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

    @property
    def last(self) -> Assessment:
        """The state in which the unit was left, as far as it was measured."""
        return self.after or self.before


def report_of(
    base: Base, before: Case, after: Case | None, unit: str, on: date, *, technician: str = "",
    remedies: Iterable[str] = (), confirmed: Iterable[str] = (), notes: Iterable[str] = (), coming: str = "",
) -> Report:
    """The report of a visit from its cases, as found and as left; the curve of the air is of the later one that has it.

    `after` holds what was put right already (`earlier`, or its own marks).

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> report_of(load(), Case((Entry("smoke", "4", 4.0),)), None, "boiler", date(2026, 11, 25)).title
    'boiler'
    """
    air = (settings_of(after, base) if after else ()) or settings_of(before, base)
    return Report(unit, on, assess(before, base), assess(after, base) if after else None, technician,
                  tuple(dict.fromkeys(remedies)), tuple(dict.fromkeys(confirmed)), tuple(notes),
                  tuple((one.smoke, one.co2) for one in air), coming)
