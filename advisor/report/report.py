"""The report as a value: a visit as it was found and left, and what was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from advisor.reasoning.assess import Assessment


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
