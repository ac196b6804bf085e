"""The work on a cause, and what proves it: steps done, readings taken after them, what is still left.

Readings from before the work never count as a retest: the case as left is a case of its own, which begins with the
equipment alone, and each remedy counts only what was entered after its last step.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Quantity, Remedy
from advisor.pages.wording import fact_text, plain
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import CURED, Case, Entry
from advisor.reasoning.hazards import CURED_STATE, OPEN, HazardFound
from advisor.visit.beforeafter import doubted

_SIDE_BY_SIDE: Final = ("stack_temperature", "room_temperature", "co2", "o2", "smoke", "co", "draft_over_fire",
                        "draft_breech")
"""Readings that are taken again where they were taken on arrival, so that before and after can be compared."""

_COMPUTED_FROM: Final = {
    "net_stack": ("stack_temperature", "room_temperature"), "draft_drop": ("draft_over_fire", "draft_breech"),
    "pump_pressure_ratio": ("pump_pressure",), "firing_ratio": ("pump_pressure",),
    "air_opening_ratio": ("air_opening",),
}
"""What to read for the computed quantities that a retest may name."""


@dataclass(frozen=True, slots=True)
class Job:
    """A cause that was chosen, and how far its remedy is.

    `done` are the numbers of the steps, from 1, in the order in which they were done, and `times` when. `since` is
    how many entries the case as left had at the last step: only those after them prove the remedy.
    """

    cause: str
    chosen: datetime | None = None
    done: tuple[int, ...] = ()
    times: tuple[datetime | None, ...] = ()
    since: int = 0


@dataclass(frozen=True, slots=True)
class Work:
    """The remedies of a visit, the case as left, the unit of the record, when it was closed and as what kept."""

    jobs: tuple[Job, ...] = ()
    after: Case = Case()  # noqa: RUF009  (a frozen value)
    unit: str = ""
    closed: datetime | None = None
    kept: int = 0

    @property
    def job(self) -> Job | None:
        """The remedy in hand."""
        return self.jobs[-1] if self.jobs else None


NOTHING_DONE: Final = Work()


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether a retest proves a remedy: what is as expected, what is not, what was not taken yet."""

    shown: tuple[str, ...]
    wrong: tuple[str, ...]
    open: tuple[str, ...]

    @property
    def proven(self) -> bool:
        return not self.wrong and not self.open

    @property
    def left(self) -> tuple[str, ...]:
        return (*self.wrong, *self.open)


def remedy_of(base: Base, job: Job) -> Remedy:
    """The remedy of a job.

    >>> from advisor.library.base import load
    >>> remedy_of(load(), Job("sooted-gas-passages")).name
    'clean-gas-passages'
    """
    return base.remedies[base.causes[job.cause].remedy]


def open_steps(base: Base, job: Job) -> tuple[int, ...]:
    """The numbers of the steps that are not done yet.

    >>> from advisor.library.base import load
    >>> open_steps(load(), Job("sooted-gas-passages", done=(1, 2, 4)))
    (3, 5, 6, 7, 8)
    """
    return tuple(number for number in range(1, len(remedy_of(base, job).steps) + 1) if number not in job.done)


def finished(base: Base, work: Work) -> tuple[Job, ...]:
    """The jobs of which every step is done."""
    return tuple(job for job in work.jobs if not open_steps(base, job))


def under_retest(base: Base, work: Work) -> bool:
    """Whether the unit is no more as it was found: readings now belong to the case as left."""
    return bool(finished(base, work))


def choose(base: Base, work: Work, cause: str, at: datetime | None = None) -> Work:
    """The work with a cause in hand; one on which no step was done gives way, one taken up before goes on.

    >>> from advisor.library.base import load
    >>> work = choose(load(), choose(load(), Work(), "nozzle-worn"), "sooted-gas-passages")
    >>> [job.cause for job in work.jobs]
    ['sooted-gas-passages']
    """
    again = next((job for job in work.jobs if job.cause == cause), Job(cause, at))
    kept = tuple(job for job in work.jobs if job.cause != cause and job.done)
    return replace(work, jobs=(*kept, again), closed=None)


def step_done(base: Base, work: Work, found: Case, numbers: Iterable[int], at: datetime | None = None) -> Work:
    """The work with steps of the remedy in hand done; with the last of them the case as left begins.

    Parameters
    ----------
    found : Case
        As found; its equipment, manufacturer's figures and instruments hold for the case as left too.
    numbers : iterable of int
        Steps, from 1.

    Raises
    ------
    ValueError
        No remedy in hand, or no such step.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> found = Case((Entry("appliance", "boiler", "boiler"), Entry("smoke", "4", 4.0)))
    >>> work = step_done(load(), choose(load(), Work(), "sooted-gas-passages"), found, range(1, 9))
    >>> [entry.name for entry in work.after.entries], work.jobs[0].since
    (['appliance'], 1)
    """
    job = work.job
    if job is None:
        raise ValueError("no remedy is in hand")
    count = len(remedy_of(base, job).steps)
    for number in numbers:
        if not 1 <= number <= count:
            raise ValueError(f"there is no step {number}; the steps are 1 to {count}")
        if number not in job.done:
            job = replace(job, done=(*job.done, number), times=(*job.times, at))
    after = work.after
    if not open_steps(base, job):
        after = after if after.entries else begun(base, found)
        job = replace(job, since=len(after.entries))
    return replace(work, jobs=(*work.jobs[:-1], job), after=after, closed=None)


_TRIAL: Final = frozenset({"oil-open", "power", "start"})


def cures(base: Base, work: Work, hazards: Iterable[HazardFound], at: datetime | None) -> tuple[Entry, ...]:
    """The marks of the open hazards that the remedy in hand puts right, once nothing but its trial is left of it.

    What is left then are steps that open the oil again, turn the pump or start the burner, which the open hazard
    forbids and its proof allows.
    """
    job = work.job
    if job is None:
        return ()
    remedy = remedy_of(base, job)
    if any(not base.acts_of(remedy.steps[number - 1].acts) & _TRIAL for number in open_steps(base, job)):
        return ()
    return put_right(base, hazards, [job.cause], at)


def put_right(
    base: Base, hazards: Iterable[HazardFound], causes: Collection[str], at: datetime | None = None
) -> tuple[Entry, ...]:
    """The marks of the open hazards that the remedies of causes put right.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> flooded = assess(Case((Entry("oil_in_chamber", "pool", "pool"),)), load(), look_ahead=False)
    >>> [(entry.name, entry.status) for entry in put_right(load(), flooded.hazards, ["weak-igniter"])]
    [('flooded-chamber', 'cured')]
    """
    out = []
    for found in hazards:
        source = next((one for one in base.hazards[found.name].sources if one in causes), None)
        if found.state == OPEN and source:
            out.append(Entry(found.name, base.title(base.causes[source].remedy), None, CURED, at=at))
    return tuple(out)


def causes_of(base: Base, remedies: Collection[str]) -> frozenset[str]:
    """The causes that remedies put right."""
    return frozenset(cause.name for cause in base.causes.values() if cause.remedy in remedies)


def begun(base: Base, found: Case) -> Case:
    """The case as left before any reading: what is known of the equipment stays, what was read does not."""
    return replace(found, earlier=(), entries=tuple(entry for entry in found.latest.values()
                                                    if entry.name in base.equipment))


def new_round(base: Base, work: Work) -> Work:
    """The work with all retest readings to be taken once more; the earlier ones are kept but count no more."""
    rest = tuple(replace(job, since=len(work.after.entries)) if not open_steps(base, job) else job
                 for job in work.jobs)
    return replace(work, jobs=rest, closed=None)


def retest_names(base: Base, remedy: Remedy, found: Case | None = None) -> tuple[str, ...]:
    """What to read after a remedy: all that its retest checks give, and what was read on arrival to compare with.

    >>> from advisor.library.base import load
    >>> base = load()
    >>> retest_names(base, base.remedies["clean-gas-passages"])[:4]
    ('draft_over_fire', 'draft_breech', 'smoke', 'spot_look')
    """
    known = found.values if found else {}
    given = [name for check in remedy.retest.checks for name in base.asked_by(base.checks[check], known)]
    needed = [one for name in remedy.retest.expect for one in _COMPUTED_FROM.get(name, (name,))]
    compared = [name for name in _SIDE_BY_SIDE if known.get(name) is not None]
    return tuple(dict.fromkeys(name for name in (*given, *needed, *compared) if not _is_computed(base, name)))


def next_reading(base: Base, work: Work, found: Case, after: Assessment) -> tuple[str, str]:
    """The reading of the retest that comes next, and the check that gives it; two empty texts where all were asked.

    The proof of hazards that were put right comes first. What can be computed from readings taken since, such as CO2
    from O2, is not asked for, nor what the gate holds back; where it wants a look first, that look is asked.
    """
    proofs = [name for one in after.hazards if one.state == CURED_STATE for name in one.unproven
              if name in base.asked_of and name not in after.case.latest]
    for job in finished(base, work):
        names = retest_names(base, remedy_of(base, job), found)
        for name in dict.fromkeys((*proofs, *names)):
            if name in _entered_since(work.after, job.since) or _is_fresh(base, after, name, job.since):
                continue
            checks = list(base.checks_giving.get(name, ()))
            wanted = remedy_of(base, job).retest.checks
            checks = [check for check in checks if check.name in wanted] or checks
            if not checks:
                return name, ""
            stops = {check.name: after.gate.stops_check(check) for check in checks}
            free = next((check for check in checks if not stops[check.name]), None)
            if free:
                return name, free.name
            look = after.gate.look_first([stop for found in stops.values() for stop in found], after.case.latest)
            if look[0]:
                return look
    return "", ""


def verdict(base: Base, after: Assessment, job: Job) -> Verdict:
    """Whether what was read after a remedy proves it, by the bands and answers that its retest expects.

    Parameters
    ----------
    after : Assessment
        Of the case as left.
    job : Job
        With all its steps done; entries up to its `since` do not count.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Entry
    >>> base, job = load(), Job("sooted-gas-passages", done=tuple(range(1, 9)))
    >>> read = Case((Entry("smoke", "3", 3.0),))
    >>> verdict(base, assess(read, base, look_ahead=False), job).left[0]
    'smoke spot number 3 (some): expected is zero or trace'
    """
    latest, in_doubt = after.case.latest, doubted(after)
    shown: list[str] = []
    wrong: list[str] = []
    unread: list[str] = []
    for name, wanted in remedy_of(base, job).retest.expect.items():
        title, expected = base.title(name), " or ".join(plain(symbol) for symbol in wanted)
        symbol = after.findings.symbols.get(name, after.known.get(name))
        behind = _behind(after, name)
        if in_doubt & {name, *behind}:
            unread.append(f"{title}: in doubt; take it again, or stand by it with trust")
        elif symbol is None or not _is_fresh(base, after, name, job.since):
            entry = latest.get(name)
            said = f" ({entry.status})" if entry is not None and entry.value is None and entry.status else ""
            unread.append(f"{title}: not retested yet{said}; expected is {expected}")
        elif symbol in wanted:
            shown.append(fact_text(base, after, name))
        else:
            wrong.append(f"{fact_text(base, after, name)}: expected is {expected}")
    return Verdict(tuple(shown), tuple(wrong), tuple(unread))


def undone(base: Base, found: Case, work: Work) -> tuple[Case, Work]:
    """The case as found and the work without the last thing that was entered, as far as their order tells."""
    job = work.job
    if work.closed is not None:
        return found, replace(work, closed=None)
    if job is None:
        return found.without_last(), work
    if not open_steps(base, job) and len(work.after.entries) > max(one.since for one in work.jobs):
        return found, replace(work, after=work.after.without_last())
    if job.done:
        job = replace(job, done=job.done[:-1], times=job.times[:-1])
        return found, replace(work, jobs=(*work.jobs[:-1], job))
    return found, replace(work, jobs=work.jobs[:-1])


def _is_computed(base: Base, name: str) -> bool:
    item = base.named[name]
    return isinstance(item, Quantity) and bool(item.derived)


def _entered_since(case: Case, since: int) -> set[str]:
    return {entry.name for entry in case.entries[since:]}


def _behind(assessment: Assessment, name: str) -> frozenset[str]:
    """The entries on which a name rests."""
    number = assessment.findings.numbers.get(name)
    return number.grounds if number else assessment.grounds.get(name, frozenset({name}))


def _is_fresh(base: Base, after: Assessment, name: str, since: int) -> bool:
    """Whether a name rests on readings that were all entered since; equipment may be older."""
    if name not in after.findings.numbers and name not in after.findings.symbols:
        return False
    there = set(_fresh(after.case, since))
    read = {one for one in _behind(after, name) if getattr(base.named[one], "part", "") == "reading"}
    return bool(read) and read <= there


def _fresh(case: Case, since: int) -> Iterator[str]:
    """The names whose counting entry was made since."""
    place = {id(entry): at for at, entry in enumerate(case.entries)}
    for name, entry in case.latest.items():
        if place[id(entry)] >= since:
            yield name
