"""Learning from the shop's own work: how often each cause is found here, starting from how common it is elsewhere.

Each cause has a share of service calls on which it is found. What is known of it beforehand counts like `strength`
calls; every kept visit on which causes were confirmed adds one call. That is the posterior mean of a beta
distribution, the Dirichlet count for two outcomes (found, not found); two causes can be found on one visit.
Hazards have no shares: nothing that is learned here touches them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.library.items import COMMON
from advisor.reasoning.weighing import applies
from advisor.visit.record import Record
from advisor.visit.schema import RecordError

STRENGTH: Final = 200.0
"""For how many visits of the shop's own the share taken beforehand counts (our own choice)."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What the record says of a cause: the share taken beforehand, and found on how many of how many visits.

    >>> Learned(0.08, 12, 100, 200.0).share
    0.09333333333333334
    """

    prior: float
    found: int
    visits: int
    strength: float

    @property
    def share(self) -> float:
        """The posterior mean of the share of visits on which the cause is found."""
        return (self.strength * self.prior + self.found) / (self.strength + self.visits)


def learned(record: Record, base: Base, strength: float = STRENGTH) -> dict[str, Learned]:
    """What the record says of every cause of the base.

    Parameters
    ----------
    strength : float
        For how many visits the share taken beforehand counts; above zero.

    Notes
    -----
    A visit counts where a cause was confirmed on it: one that was left open says nothing either way. For a cause
    that exists on some equipment only, visits to other equipment do not count.

    Raises
    ------
    RecordError
        The strength is not above zero, or the record cannot be read.
    """
    if not 0 < strength < float("inf"):
        raise RecordError(f"a strength of {strength:g} visits cannot be; it must be above 0, such as {STRENGTH:g}")
    equipment = sorted({name for cause in base.causes.values() for name in cause.only})
    known: dict[int, dict[str, str]] = {}
    confirmed: dict[int, set[str]] = {}
    with record.transaction() as connection:
        for visit, cause in connection.execute("SELECT visit_id, cause FROM confirmed"):
            confirmed.setdefault(visit, set()).add(cause)
        marks = ", ".join("?" * len(equipment))
        of_unit = ("SELECT visits.id, name, answer FROM visits JOIN equipment ON equipment.unit_id = visits.unit_id "
                   f"WHERE answer IS NOT NULL AND name IN ({marks}) ORDER BY position")
        of_case = ("SELECT visit_id, name, answer FROM entries "
                   f"WHERE moment = 'before' AND answer IS NOT NULL AND name IN ({marks}) ORDER BY position")
        for rows in (of_unit, of_case):  # what was found at the visit goes before what the unit is known for
            for visit, name, answer in connection.execute(rows, equipment):
                known.setdefault(visit, {})[name] = answer
    return {name: _learned(base, name, confirmed, known, strength) for name in base.causes}


def unknown_causes(record: Record, base: Base) -> tuple[str, ...]:
    """The causes that were confirmed on kept visits and that the base does not know."""
    with record.transaction() as connection:
        names = [str(row[0]) for row in connection.execute("SELECT DISTINCT cause FROM confirmed ORDER BY cause")]
    return tuple(name for name in names if name not in base.causes)


def _learned(
    base: Base, cause: str, confirmed: Mapping[int, set[str]], known: Mapping[int, Mapping[str, str]], strength: float
) -> Learned:
    found = sum(cause in causes for causes in confirmed.values())
    visits = sum(cause in causes or applies(base, cause, known.get(visit, {})) for visit, causes in confirmed.items())
    return Learned(COMMON[base.causes[cause].common], found, visits, strength)


def learned_shares(record: Record, base: Base, strength: float = STRENGTH) -> dict[str, float]:
    """The share of service calls on which each cause is found, by what the shop's own record says.

    For the weighing, in place of how common each cause is; see `learned`.
    """
    return {name: one.share for name, one in learned(record, base, strength).items()}
