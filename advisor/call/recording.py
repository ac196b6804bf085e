"""The commands that reach the shop's record: a unit with its history, and this visit kept."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TypeVar

from advisor.call.conclude import drifts
from advisor.call.parts import TEXT, part
from advisor.call.put import put
from advisor.call.turn import Change, Heard, Turn
from advisor.library.base import Base
from advisor.library.yamlfiles import LibraryError
from advisor.pages.wording import plain, wrapped
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import write_whole
from advisor.reasoning.entries import EntryError
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.report.gather import last_service, of_work
from advisor.visit.course import course_lines, events
from advisor.visit.kept import CONFIRMED, KINDS, NOT_FOUND, NOTHING_WRONG, TECHNICIAN, YEARLY, outcome_of, parts_in
from advisor.visit.mend import correct_visit
from advisor.visit.minutes import minutes_by_check
from advisor.visit.record import (
    Record,
    RecordError,
    Unit,
    Visit,
    add_unit,
    find_unit,
    find_visit,
    open_record,
    save_visit,
    visits,
)
from advisor.visit.recordlines import drift_lines, visit_lines, visit_words
from advisor.visit.remedy import Work
from advisor.visit.tomorrowcall import CALLBACK_DAYS
from advisor.visit.trend import (
    Moment,
    as_last_left,
    completed,
    history,
    measures,
    moment_of,
    of_the_unit,
    own_visits,
    since_service,
    year_installed,
)

_SHOWN = 4
"""Earlier visits that are listed; the others are counted."""

T = TypeVar("T")


def unit(turn: Turn, rest: str, now: datetime) -> Heard:
    """Tie the case to a unit: show its history, complete what is known of it. `unit new LABEL` adds one."""
    base = turn.base
    words = rest.split()
    if words and words[0].lower() == "new":
        label = " ".join(words[1:])
        known = Unit(label, equipment=of_the_unit(turn.found, base), measured_in=measures(base),
                     installed=year_installed(turn.found, base, now))
        _with_record(lambda record: add_unit(record, known), make=True)
        rest = label
    label = rest or turn.work.unit
    if not label:
        raise EntryError("which unit? unit LABEL ties this case to one of the record; unit new LABEL adds one")
    meant, kept = _with_record(lambda record: _of(record, label))
    found = completed(turn.found, meant, base, now)
    tied = replace(turn, earlier=history(own_visits(kept, meant), base))
    found = replace(found, entries=(*since_service(kept, found, base, now), *as_last_left(tied.earlier, found, base),
                                    *found.entries))
    more = [entry.name for entry in found.entries[:len(found.entries) - len(turn.found.entries)]]
    shown = history_lines(replace(tied, found=found), meant, kept, now)
    if more:
        shown += wrapped(f"known of it, and completed here: {', '.join(base.title(name) for name in more)}", 2, 4)
    if found == turn.found and meant.label == turn.work.unit:
        return tied, (*part(TEXT, shown), *put(turn, turn))
    return Change(tied, found, replace(turn.work, unit=meant.label), above=part(TEXT, shown))


def history_lines(turn: Turn, meant: Unit, kept: tuple[Visit, ...], now: datetime) -> list[str]:
    """The earlier visits to a unit, the course of its numbers up to today, and what has drifted."""
    base = turn.base
    where = ", ".join(words for words in (meant.customer, meant.address) if words)
    out = wrapped(f"UNIT {meant.label}{f' ({where})' if where else ''}", 0, 2)
    if not kept:
        return [*out, "  no earlier visit is in the record"]
    if len(kept) > _SHOWN:
        out.append(f"  {len(kept)} visits; the latest:")
    out += [line for visit in kept[-_SHOWN:] for line in visit_lines(visit, base)]
    today = moment_of(turn.found, base, now.astimezone())
    moments = (*turn.earlier, *([today] if today.numbers else []))
    out += course_lines(moments, base, events(kept, meant, base))
    return [*out, *(drift_lines(drifts(turn), base) or ["  nothing has drifted that the rules would notice"])]


def keep(turn: Turn, rest: str, now: datetime) -> Heard:
    """Put the visit into the record: as found, as left, the causes confirmed, the remedies done. Once it is there,
    `keep again` corrects it there, and what was kept before stays as a trace.
    """
    base, work = turn.base, turn.work
    if not turn.found.entries:
        raise EntryError("nothing is entered yet, so there is nothing to keep")
    if not work.unit:
        raise EntryError("first say which unit this is: unit LABEL for one of the record, unit new LABEL to add it")
    note, told = rest, Told()
    if work.kept:
        if rest.split()[:1] != ["again"]:
            raise EntryError(f"this visit is in the record already, as visit {work.kept}; keep again corrects it "
                             "there, by what was entered since")
        note = rest.partition(" ")[2]
    confirmed, remedies = _outcome(turn)
    try:
        told = told_in(note)
        outcome = outcome_of(told.outcome or (NOTHING_WRONG if _as_nothing_wrong(turn, confirmed) else ""), confirmed)
    except RecordError as error:
        raise EntryError(str(error)) from None

    def kept_in(record: Record) -> Visit:
        meant = find_unit(record, work.unit)
        before = completed(turn.found, meant, base, now)
        after = completed(work.after, meant, base, now) if turn.retesting else None
        minutes = minutes_by_check(base, (*turn.found.entries, *work.after.entries))
        kind = told.kind or _kind(turn, record, meant, now)
        technician = told.technician or os.environ.get(TECHNICIAN, "")
        old = next((one for one in visits(record, meant) if one.number == work.kept), None)
        if old is None:
            return save_visit(record, meant, before, after, confirmed=confirmed, remedies=remedies, note=told.note,
                              at=now.astimezone(), measured_in=measures(base), rules=base.rules_used, outcome=outcome,
                              kind=kind, technician=technician, parts=told.parts, minutes=minutes)
        new = replace(old, before=before, after=after, confirmed=confirmed, remedies=remedies,
                      note=told.note or old.note, measured_in=measures(base), rules=base.rules_used,
                      outcome=outcome or ("" if old.outcome == CONFIRMED else old.outcome), kind=told.kind or old.kind,
                      technician=told.technician or old.technician, parts=told.parts or old.parts, minutes=minutes)
        correct_visit(record, old, new, "kept again from the call")
        return find_visit(record, old.uid)

    visit = _with_record(kept_in)
    outcome = visit.outcome
    said = [f"{'corrected:' if visit.number == work.kept else 'kept as'} visit {visit.number} of {work.unit}"]
    said += [] if outcome else ["no cause confirmed"]
    said += [f"{what}: {words}" for what, words in visit_words(visit, base) if what not in ("minutes", "rules")]
    said += [] if outcome else [f"how it came out was not said: `record correct {visit.number} --outcome` adds it"]
    return Change(turn, turn.found, replace(work, kept=visit.number), past=turn.past,
                  above=part("said", wrapped("; ".join(said), 0, 2)))  # what is kept is not taken back


def _outcome(turn: Turn) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The causes that were confirmed, by a look or by the retest, and the remedies that were done."""
    left = turn.assessment if turn.retesting else None
    confirmed, remedies, _ = of_work(turn.base, turn.arrival, left, turn.work)
    return confirmed, remedies


@dataclass(frozen=True, slots=True)
class Told:
    """What is told with `keep`: parts of the line between semicolons."""

    outcome: str = ""
    technician: str = ""
    kind: str = ""
    parts: Mapping[str, float] = field(default_factory=dict)
    note: str = ""


def told_in(rest: str) -> Told:
    """What the words after `keep` say: an outcome, `technician NAME`, `call KIND`, `parts A, 2 x B`, else a note.

    Errors: `RecordError` for a kind of call that is not known, or a part without a name.

    >>> told_in("not found; parts 2 x nozzle; gate sticks").note
    'gate sticks'
    """
    out, notes = Told(), []
    for words in filter(None, (one.strip() for one in rest.split(";"))):
        first, _, more = words.partition(" ")
        first, more = first.casefold().rstrip(":"), more.strip()
        meant = words.casefold().replace(" ", "-")
        if meant in (NOTHING_WRONG, NOT_FOUND):
            out = replace(out, outcome=meant)
        elif first == "technician" and more:
            out = replace(out, technician=more)
        elif first == "parts" and more:
            out = replace(out, parts=parts_in(more.split(",")))
        elif first == "call" and more:
            kind = more.casefold().replace(" ", "-")
            if kind not in KINDS:
                raise RecordError(f"{more!r} is no kind of call; it is one of {', '.join(map(plain, KINDS))}")
            out = replace(out, kind=kind)
        else:
            notes.append(words)
    return replace(out, note="; ".join(notes))


def _as_nothing_wrong(turn: Turn, confirmed: Collection[str]) -> bool:
    """Whether the call was closed as one on which nothing was wrong."""
    return not confirmed and turn.work.closed is not None and not turn.work.jobs


def _kind(turn: Turn, record: Record, meant: Unit, now: datetime) -> str:
    """What kind of call it was, as far as it shows: a yearly service by its complaint, a callback by its day."""
    complaint = turn.found.values.get(COMPLAINT)
    if complaint == ROUTINE:
        return YEARLY
    days = [(now.astimezone() - visit.at).days for visit in visits(record, meant)
            if visit.number != turn.work.kept]
    return "callback" if any(0 <= day <= CALLBACK_DAYS for day in days) else "repair" if complaint else ""


def report(turn: Turn, rest: str, now: datetime) -> Heard:
    """Write the sheets of this visit beside the case file, as a page and as a PDF. What is told with `keep` may be told
    here too; of a visit that is kept, the record says it.
    """
    from advisor.report.pdf import report_pdf
    from advisor.report.render import report_html
    from advisor.report.report import report_of
    from advisor.report.shop import read_shop

    base, work = turn.base, turn.work
    if not turn.found.entries:
        raise EntryError("nothing is entered yet, so there is nothing to report")
    try:
        shop, told = read_shop(), told_in(rest)
    except LibraryError as error:
        raise EntryError(f"{error} (the letterhead; put it right, then report once more)") from None
    except RecordError as error:
        raise EntryError(str(error)) from None
    confirmed, remedies, begun = of_work(base, turn.arrival, turn.assessment if turn.retesting else None, work)
    meant, kept, served = _in_the_record(work, now)
    sheet = report_of(
        base, turn.found, turn.case if turn.retesting else None, work.unit or turn.found.title or turn.path.stem,
        now.date(), technician=told.technician or kept.technician or os.environ.get(TECHNICIAN, ""),
        remedies=remedies, confirmed=confirmed, notes=dict.fromkeys(filter(None, (kept.note, told.note))), begun=begun,
        parts={**kept.parts, **told.parts}, minutes=kept.minutes, outcome=told.outcome or kept.outcome,
        kind=told.kind or kept.kind, served=served, customer=meant.customer, address=meant.address, shop=shop)
    for kind, document in (("html", report_html(base, sheet)), ("pdf", report_pdf(base, sheet))):
        path = turn.path.with_name(f"{turn.path.stem}.report.{kind}")
        try:
            write_whole(path, document)
        except OSError as error:
            raise EntryError(f"{path}: cannot be written ({error.strerror or error})") from None
    said = (f"The report is in {path.with_suffix('.html')} and, to print, in {path}. Page 1 is the customer's; then "
            "come the office, the tag and the hand-over list.")
    return turn, (*part("said", wrapped(said, 0, 2)), *put(turn, turn))


def _in_the_record(work: Work, now: datetime) -> tuple[Unit, Visit, date | None]:
    """What the record says of the unit, of this visit and of the last yearly service; nothing but the label where it
    says nothing, or cannot be read.
    """
    nothing = Visit("", datetime.min, Case())
    if not work.unit:
        return Unit(""), nothing, None
    try:
        unit, earlier = _with_record(lambda record: _of(record, work.unit))
        visit = _with_record(lambda record: find_visit(record, str(work.kept))) if work.kept else nothing
    except EntryError:
        return Unit(work.unit), nothing, None
    return unit, visit, last_service(earlier, now.astimezone())


def earlier_visits(base: Base, label: str) -> tuple[tuple[Moment, ...], list[str]]:
    """The moments of a unit's visits, and a line where the record cannot be read."""
    if not label:
        return (), []
    try:
        meant, kept = _with_record(lambda record: _of(record, label))
        return history(own_visits(kept, meant), base), []
    except EntryError as error:
        return (), wrapped(str(error), 0, 2)


def _of(record: Record, label: str) -> tuple[Unit, tuple[Visit, ...]]:
    meant = find_unit(record, label)
    return meant, visits(record, meant)


def _with_record(do: Callable[[Record], T], make: bool = False) -> T:
    """What is done with the record; errors: `EntryError`, in a line, so that the call goes on."""
    try:
        with open_record(make=make) as record:
            return do(record)
    except RecordError as error:
        raise EntryError(f"the record: {' '.join(str(error).split())} (the case itself is kept; go on)") from None
