"""From one turn to the next: keep what is new, work out what follows, put the next question."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from advisor.call import told, worktold
from advisor.call.disk import CaseFile
from advisor.call.follow import (
    Turn,
    asked,
    introduced,
    open_intake,
    question_of,
    question_of_work,
)
from advisor.library.base import Base
from advisor.pages import screen
from advisor.pages.instructions import emergency_lines
from advisor.pages.wording import wrapped
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, Entry, local_time
from advisor.visit.recordlines import drift_lines
from advisor.visit.remedy import NOTHING_DONE, Work, open_steps, under_retest
from advisor.visit.trend import Drift, Moment, drift, moment_of

Answer = tuple[Turn, list[str]]


def begin(
    base: Base, case: Case, past: tuple[tuple[Case, Work], ...] = (), doing: str = "", work: Work = NOTHING_DONE,
    earlier: tuple[Moment, ...] = (),
) -> Turn:
    """The turn for a case as found and the work on it: what it says, and the next question.

    >>> from advisor.library.base import load
    >>> begin(load(), Case()).question.name
    'complaint'
    """
    retesting = under_retest(base, work)
    at_hand = replace(work.after, earlier=case.entries) if retesting else case
    assessment = assess(at_hand, base) if at_hand.entries else None
    arrival = assess(case, base, look_ahead=False) if retesting and case.entries else assessment
    if work.jobs:
        question = question_of_work(base, case, work, assessment)
    else:
        question = question_of(base, case, assessment, doing)
    return Turn(base, at_hand, assessment, question, past, found=case, arrival=None if not case.entries else arrival,
                work=work, earlier=earlier)


def hazards_standing(turn: Turn) -> tuple[str, ...]:
    """The hazards that are not released."""
    return tuple(one.name for one in turn.assessment.hazards) if turn.assessment else ()


def emergency_of(turn: Turn) -> list[str]:
    """The orders of an emergency; empty where there is none."""
    return emergency_lines(turn.base, turn.assessment.gate) if turn.assessment else []


def kept(turn: Turn, file: CaseFile) -> list[str]:
    """Put all of a turn on disk; lines to show where that fails, or works again."""
    return [line for text in file.keep(turn.found, turn.work) for line in wrapped(text, 0, 2)]


def entered(turn: Turn, case: Case, file: CaseFile, entries: Iterable[Entry] = (), said: str = "") -> Answer:
    """The case at hand has changed: it is the one as found, or the one as left."""
    said_more = []
    work = turn.work
    if turn.retesting:
        if work.closed is not None:
            said_more = wrapped("The case is open again; close it once more when all is as it should be.", 2, 4)
        new, lines = changed(turn, file, turn.found, replace(work, after=case, closed=None), entries, said)
    else:
        if work.job is not None and work.job.done and entries:
            said_more = wrapped("Entered as found on arrival: steps of the remedy are still left. What is read "
                                "after the work comes once all are done.", 2, 4)
        new, lines = changed(turn, file, case, work, entries, said)
    return new, [*said_more, *lines]


def changed(
    turn: Turn, file: CaseFile, found: Case, work: Work, entries: Iterable[Entry] = (), said: str = "",
) -> Answer:
    """Keep what is new, then work out what follows: only what changed is shown, and the next question."""
    base = turn.base
    new = replace(turn, found=found, work=work)
    trouble = kept(new, file)
    new = begin(base, found, (*turn.past, (turn.found, turn.work)), turn.question.check, work, turn.earlier)
    if emergency_of(new):  # nothing else is said while people must be out
        return new, [*trouble, *put(new, turn)]
    out = wrapped(said, 2, 4) if said else []
    if turn.retesting != new.retesting:  # another case is at hand: nothing to compare with
        return new, [*trouble, *out, *put(new, turn)]
    out += told.entered(base, turn.case, new.assessment, entries)
    if new.assessment is not None:
        out = [*told.warnings(base, turn.assessment, new.assessment), *out,
               *told.follows(base, turn.assessment, new.assessment)]
    if new.found != turn.found:
        had = {one.rule.name for one in drifts(turn)}
        out += drift_lines([one for one in drifts(new) if one.rule.name not in had], base)
    return new, [*trouble, *out, *put(new, turn)]


def drifts(turn: Turn) -> tuple[Drift, ...]:
    """What has drifted on arrival, against the earlier visits to the unit."""
    if not turn.earlier or not turn.found.entries:
        return ()
    times = [entry.at for entry in turn.found.entries if entry.at is not None]
    last = max(map(local_time, times), default=datetime.now().astimezone())
    after = max(last, *(one.at for one in turn.earlier)) if turn.earlier else last
    return drift((*turn.earlier, moment_of(turn.found, turn.base, after)))


def put(turn: Turn, before: Turn | None) -> list[str]:
    """The question; with its check where that has just begun; or that there is none, and what to do then."""
    base, question, job = turn.base, turn.question, turn.work.job
    orders = emergency_of(turn)
    if orders:
        return [*orders, *asked(base, turn.case, question)]
    if job is not None and open_steps(base, job) and not question.name:
        return worktold.next_step_lines(base, job, turn.assessment)
    if turn.retesting:
        return _put_retest(turn, before)
    remedy: list[str] = []
    if turn.assessment is not None and not open_intake(base, turn.case):
        remedy = screen.remedy(base, turn.assessment)
        first = turn.assessment.causes[0] if turn.assessment.causes else None
        had = before.assessment.causes[0] if before and before.assessment and before.assessment.causes else None
        settled = first is not None and first.confirmed and not (had and had.confirmed and had.name == first.name)
        if question.name and not settled:
            remedy = []
        remedy = ["", *remedy, "  `remedy` takes it in hand, step by step."] if remedy else []
    if not question.name:
        return [*_at_the_end(turn), *remedy, "Nothing more is asked. Enter what you find, ask why, or quit."]
    out = remedy
    if before is None or before.question.check != question.check:
        out = [*out, *introduced(base, turn.assessment, question)]
    return [*out, *asked(base, turn.case, question)]


def _put_retest(turn: Turn, before: Turn | None) -> list[str]:
    """What is to be read after the work; when all was, what it proves."""
    base, question = turn.base, turn.question
    if turn.work.closed is not None:
        return ["The case is closed. `keep` puts it into the record; compare, or quit."]
    if question.name:
        out: list[str] = []
        if before is None or before.question.check != question.check or not before.retesting:
            out = introduced(base, None, question, "RETEST")
        return [*out, *asked(base, turn.case, question)]
    if turn.assessment is None:
        return []
    return ["", *worktold.verdict_lines(base, turn.work, turn.assessment, hazards_standing(turn))]


def _at_the_end(turn: Turn) -> list[str]:
    if turn.assessment is None:
        return []
    out = ["", *screen.next_check(turn.base, turn.assessment)]
    first = turn.assessment.causes[0] if turn.assessment.causes else None
    if first is not None and first.word == "possible":
        out += wrapped(f"The leading cause is only possible: {turn.base.title(first.name)}.", 2, 4)
    return out
