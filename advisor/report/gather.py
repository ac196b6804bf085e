"""Where a report comes from: the files of a call, or a visit of the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from pathlib import Path

from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, local_time
from advisor.reasoning.casefile import read_case
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.report.report import Begun, Report, report_of
from advisor.report.shop import Shop
from advisor.visit.kept import YEARLY
from advisor.visit.record import Record, RecordError, Unit, Visit, find_unit, find_visit, units, visits
from advisor.visit.remedy import Work, causes_of, finished, open_steps, put_right, remedy_of, under_retest, verdict
from advisor.visit.trend import as_left, completed
from advisor.visit.workfile import read_work


@dataclass(frozen=True, slots=True)
class Given:
    """What is given beside the case: where it is empty, files and record say it, or nobody.

    Parameters
    ----------
    unit, technician, coming : str
    remedies, confirmed : tuple of str
        Names, beside those that are known already.
    notes : tuple of str
    parts : mapping
        How many of each were put in, beside those of the record.
    on : date, optional
        Day of the visit.
    """

    unit: str = ""
    technician: str = ""
    remedies: tuple[str, ...] = ()
    confirmed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    coming: str = ""
    on: date | None = None
    parts: Mapping[str, float] = field(default_factory=dict)


NOTHING_GIVEN = Given()


def of_work(base: Base, arrival: Assessment | None, left: Assessment | None, work: Work
            ) -> tuple[tuple[str, ...], tuple[str, ...], tuple[Begun, ...]]:
    """What the work of a visit says: the causes confirmed, by a look or by a retest, the remedies done, those begun.

    >>> from advisor.library.base import load
    >>> from advisor.visit.remedy import Job
    >>> of_work(load(), None, None, Work((Job("sooted-gas-passages", done=(1, 2)),)))[2]
    (Begun(remedy='clean-gas-passages', done=2, steps=8),)
    """
    seen = [one.name for one in arrival.causes if one.confirmed] if arrival else []
    proven = [job.cause for job in finished(base, work) if left and verdict(base, left, job).proven]
    done = [remedy_of(base, job).name for job in finished(base, work)]
    begun = [Begun(remedy_of(base, job).name, len(job.done), len(remedy_of(base, job).steps))
             for job in work.jobs if job.done and open_steps(base, job)]
    return tuple(dict.fromkeys((*seen, *proven))), tuple(dict.fromkeys(done)), tuple(begun)


def of_files(base: Base, before: Path, after: Path | None, given: Given, shop: Shop) -> Report:
    """The report of a case file, with the case as left and the work that lie beside it.

    Parameters
    ----------
    before : Path
        The case as found.
    after : Path, optional
        The case as left; by default the one that a call has written beside it.

    Raises
    ------
    LibraryError
        A file that cannot be read.
    """
    found, work = read_case(before, base), read_work(before, base)
    if after is not None:
        left: Case | None = read_case(after, base)
    else:
        left = work.after if work.after.entries and under_retest(base, work) else None
    arrival = assess(found, base, look_ahead=False)
    confirmed, remedies, begun = of_work(base, arrival, assess(left, base, look_ahead=False) if left else None, work)
    remedies = tuple(dict.fromkeys((*remedies, *given.remedies)))
    if left is not None:
        left = replace(left, earlier=(*found.entries, *put_right(base, arrival.hazards, causes_of(base, remedies))))
    times = [local_time(entry.at).date() for case in (left, found) if case for entry in case.entries if entry.at]
    return report_of(
        base, found, left, given.unit or work.unit or found.title or (left.title if left else "") or _readable(before),
        given.on or max(times, default=date.today()), technician=given.technician, remedies=remedies,
        confirmed=(*confirmed, *given.confirmed), notes=given.notes, coming=given.coming, begun=begun,
        parts=given.parts, shop=shop)


def _readable(path: Path) -> str:
    """The name of a file; a byte of it that is no text becomes a question mark."""
    return path.stem.encode("utf-8", "replace").decode()


def visit_meant(record: Record, words: str, number: str = "") -> tuple[Unit, Visit]:
    """The visit to a unit with this number or uid; by default the last. Errors: `RecordError`, with what is there."""
    unit = find_unit(record, words)
    if number:
        visit = find_visit(record, number)
        if visit.unit != unit.uid:
            other = next((one.label for one in units(record) if one.uid == visit.unit), "another unit")
            raise RecordError(f"visit {visit.number} was to {other}, not to {unit.label}; "
                              f"`record visits {unit.label}` lists its visits")
        if visit.void:
            raise RecordError(f"visit {visit.number} is void ({visit.void}), so there is nothing to hand over; "
                              f"`record visits {unit.label}` lists those that count")
        return unit, visit
    kept = visits(record, unit)
    if not kept:
        raise RecordError(f"{unit.label} has no visit yet; `keep` in a call, or `record keep`, keeps one")
    return unit, kept[-1]


def last_service(kept: Iterable[Visit], before: datetime) -> date | None:
    """The day of the last yearly service among some visits, up to a moment; None where none is known.

    >>> from datetime import UTC
    >>> from advisor.reasoning.case import Entry
    >>> served = Case((Entry("complaint", "routine", "routine"),))
    >>> last_service([Visit("", datetime(2025, 5, 3, 12, tzinfo=UTC), served)], datetime(2026, 1, 5, tzinfo=UTC)).year
    2025
    """
    days = [local_time(visit.at).date() for visit in kept if visit.at <= before
            and (visit.kind == YEARLY or visit.before.values.get(COMPLAINT) == ROUTINE)]
    return max(days, default=None)


def of_visit(base: Base, unit: Unit, visit: Visit, given: Given, shop: Shop, served: date | None = None) -> Report:
    """The report of a kept visit, with what is known of its unit; `served` is the day of its last yearly service.

    What a visit keeps beside its cases is taken here, and nowhere else.
    """
    visit = replace(visit, remedies=tuple(dict.fromkeys((*visit.remedies, *given.remedies))))
    left, found = as_left(visit, base), as_left(replace(visit, after=None), base)
    on = local_time(visit.at).date()
    changed = {f"new {plain(one.what)}{f', {one.note}' if one.note else ''}": 1.0 for one in unit.changes
               if one.day == on}
    strange = [plain(name) for name in visit.remedies if name not in base.remedies]  # of rules that are not read now
    return report_of(
        base, completed(found, unit, base), completed(left, unit, base) if visit.after is not None else None,
        given.unit or unit.label, given.on or on,
        technician=given.technician or visit.technician,
        remedies=[name for name in visit.remedies if name in base.remedies],
        confirmed=[name for name in (*visit.confirmed, *given.confirmed) if name in base.causes],
        notes=tuple(_all_of(visit.note, *(f"done: {name}" for name in strange), *given.notes)), coming=given.coming,
        parts={**changed, **visit.parts, **given.parts}, minutes=visit.minutes, outcome=visit.outcome, kind=visit.kind,
        served=served, customer=unit.customer, address=unit.address, shop=shop)


def _all_of(*texts: str) -> Iterable[str]:
    return dict.fromkeys(text for text in texts if text)
