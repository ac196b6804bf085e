"""Learning from the shop's own work: how often each cause is found here, starting from how common it is elsewhere.

Each cause has a share of service calls on which it is found. What is known of it beforehand counts like `strength`
calls; what the record tells counts like as many calls as its answers are worth. That is the posterior mean of a beta
distribution, the Dirichlet count for two outcomes (found, not found); two causes can be found on one visit.
Hazards have no shares: nothing that is learned here touches them.

Where only the visits count on which a cause was confirmed, every cause looks commoner than it is: a yearly service on
which nothing was wrong, and a call on which the cause was not found, would not count at all. So

- a visit on which nothing was wrong is an answer too: no cause was there;
- a visit without an answer (not found, or nobody said) is taken to be like the answered visits about the same
  complaint [1]_: within each complaint the share comes from the answered visits, and the complaints count by all
  their visits;
- that weighting makes an answered visit stand for several, which is worth fewer answers than it seems [2]_.

It is right where, among the calls about one complaint, an answer hangs on nothing else; a shop that finds the easy
causes and leaves the hard ones open still sees the easy ones as too common, and that cannot be seen in its record.

.. [1] Begg, C. B., and Greenes, R. A. (1983): Assessment of diagnostic tests when disease verification is subject to
   selection bias. Biometrics 39, 207-215 (from memory); here the complaint takes the place of the test.
.. [2] Kish, L. (1965): Survey Sampling. Wiley: the effective size of a weighted sample, (sum w)^2 / sum w^2 (from
   memory).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.library.items import COMMON
from advisor.reasoning.turnout import COMPLAINT
from advisor.reasoning.weighing import applies
from advisor.visit.kept import CONFIRMED, NOT_FOUND, NOTHING_WRONG, OUTCOMES
from advisor.visit.record import Record
from advisor.visit.schema import RecordError

STRENGTH: Final = 200.0
"""For how many visits of the shop's own the share taken beforehand counts (our own choice)."""
METHOD: Final = (
    "Visits without an answer are taken to be like the answered ones about the same complaint (Begg and Greenes 1983, "
    "Biometrics 39, 207-215), and what is weighted so counts by its effective size (Kish 1965, Survey Sampling)."
)


@dataclass(frozen=True, slots=True)
class Learned:
    """What the record says of a cause.

    `found` are the visits on which it was confirmed, `visits` those with an answer (a cause confirmed, or nothing
    wrong), `confirmed` those on which any cause was, all of them only where the cause can exist. `corrected` is the
    share here once the visits without an answer are allowed for, `worth` how many visits that counts like; by default
    what the answered visits give.

    >>> Learned(0.08, 12, 100, 200.0).share
    0.09333333333333334
    """

    prior: float
    found: int
    visits: int
    strength: float
    confirmed: int = 0
    corrected: float | None = None
    worth: float | None = None

    @property
    def rate(self) -> float:
        """The corrected share of visits here; the one taken beforehand where there is no answer."""
        if self.corrected is not None:
            return self.corrected
        return self.found / self.visits if self.visits else self.prior

    @property
    def share(self) -> float:
        """The posterior mean of the share of visits on which the cause is found."""
        worth = self.visits if self.worth is None else self.worth
        return (self.strength * self.prior + worth * self.rate) / (self.strength + worth)

    @property
    def confirmed_alone(self) -> float:
        """What the share would be where only visits with a confirmed cause counted: too high."""
        return self.found / self.confirmed if self.confirmed else 0.0


@dataclass(frozen=True, slots=True)
class Told:
    """A visit as learning sees it: what the call was about, how it came out, which causes were confirmed."""

    complaint: str
    outcome: str
    causes: frozenset[str] = frozenset()

    @property
    def answered(self) -> bool:
        """Whether it says of every cause whether it was there."""
        return self.outcome in (CONFIRMED, NOTHING_WRONG)


def corrected(visits: Collection[Told], cause: str) -> tuple[float, float] | None:
    """The share of visits on which a cause is there, and how many visits it counts like; none without an answer.

    Complaints without a single answered visit tell nothing and are left out.

    >>> calls = [Told("soot", CONFIRMED, frozenset({"a"})), Told("soot", NOT_FOUND), Told("routine", NOTHING_WRONG),
    ...          Told("routine", "")]
    >>> corrected(calls, "a")
    (0.5, 2.0)
    """
    everything = Counter(one.complaint for one in visits)
    answered = Counter(one.complaint for one in visits if one.answered)
    found = Counter(one.complaint for one in visits if one.answered and cause in one.causes)
    whole = sum(everything[about] for about in answered)
    if not whole:
        return None
    share = sum(everything[about] / whole * found[about] / count for about, count in answered.items())
    return share, whole ** 2 / sum(everything[about] ** 2 / count for about, count in answered.items())


def learned(record: Record, base: Base, strength: float = STRENGTH) -> dict[str, Learned]:
    """What the record says of every cause of the base.

    Parameters
    ----------
    strength : float
        For how many visits the share taken beforehand counts; above zero.

    Notes
    -----
    For a cause that exists on some equipment only, visits to other equipment do not count.

    Raises
    ------
    RecordError
        The strength is not above zero, or the record cannot be read.
    """
    if not 0 < strength < float("inf"):
        raise RecordError(f"a strength of {strength:g} visits cannot be; it must be above 0, such as {STRENGTH:g}")
    told, known = _told(record), _equipment(record, base)
    out = {}
    for name, cause in base.causes.items():
        here = [one for visit, one in told.items()
                if name in one.causes or applies(base, name, known.get(visit, {}))]
        share, worth = corrected(here, name) or (None, None)
        out[name] = Learned(COMMON[cause.common], sum(name in one.causes for one in here),
                            sum(one.answered for one in here), strength,
                            sum(one.outcome == CONFIRMED for one in here), share, worth)
    return out


def outcomes(record: Record) -> dict[str, int]:
    """How many visits came out in which way; under an empty text those of which nobody said."""
    there = Counter(one.outcome for one in _told(record).values())
    return {outcome: there[outcome] for outcome in (*OUTCOMES, "")}


def _told(record: Record) -> dict[int, Told]:
    causes: dict[int, set[str]] = {}
    with record.transaction() as connection:
        for visit, cause in connection.execute("SELECT visit_id, cause FROM confirmed"):
            causes.setdefault(visit, set()).add(cause)
        about = dict(connection.execute(
            "SELECT visit_id, answer FROM entries WHERE moment = 'before' AND name = ? AND answer IS NOT NULL "
            "ORDER BY position", (COMPLAINT,)).fetchall())
        rows = connection.execute("SELECT id, outcome FROM visits WHERE void = ''").fetchall()
    return {visit: Told(about.get(visit, ""), outcome, frozenset(causes.get(visit, ()))) for visit, outcome in rows}


def _equipment(record: Record, base: Base) -> Mapping[int, Mapping[str, str]]:
    """What is known of the equipment that causes hang on, by visit; what was found at it goes before what the unit is
    known for.
    """
    names = sorted({name for cause in base.causes.values() for name in cause.only})
    marks = ", ".join("?" * len(names))
    of_unit = ("SELECT visits.id, name, answer FROM visits JOIN equipment ON equipment.unit_id = visits.unit_id "
               f"WHERE answer IS NOT NULL AND name IN ({marks}) ORDER BY position")
    of_case = ("SELECT visit_id, name, answer FROM entries "
               f"WHERE moment = 'before' AND answer IS NOT NULL AND name IN ({marks}) ORDER BY position")
    known: dict[int, dict[str, str]] = {}
    with record.transaction() as connection:
        for rows in (of_unit, of_case):
            for visit, name, answer in connection.execute(rows, names):
                known.setdefault(visit, {})[name] = answer
    return known


def unknown_causes(record: Record, base: Base) -> tuple[str, ...]:
    """The causes that were confirmed on kept visits and that the base does not know."""
    with record.transaction() as connection:
        names = [str(row[0]) for row in connection.execute(
            "SELECT DISTINCT cause FROM confirmed JOIN visits ON visits.id = visit_id WHERE void = '' ORDER BY cause")]
    return tuple(name for name in names if name not in base.causes)


def learned_shares(record: Record, base: Base, strength: float = STRENGTH) -> dict[str, float]:
    """The share of service calls on which each cause is found, by what the shop's own record says.

    For the weighing, in place of how common each cause is; see `learned`.
    """
    return {name: one.share for name, one in learned(record, base, strength).items()}


def told_in_words(counts: Mapping[str, int]) -> str:
    """How the visits came out, and what of them counts.

    >>> told_in_words({CONFIRMED: 3, NOTHING_WRONG: 2, NOT_FOUND: 1, "": 4})[:58]
    'Of 10 visits, on 3 a cause was confirmed, on 2 nothing was'
    """
    said = {CONFIRMED: "a cause was confirmed", NOTHING_WRONG: "nothing was wrong",
            NOT_FOUND: "the cause was not found", "": "nobody said"}
    words: Iterable[str] = (f"on {counts.get(outcome, 0)} {what}" for outcome, what in said.items())
    return f"Of {sum(counts.values())} visits, {', '.join(words)}. {METHOD}"
