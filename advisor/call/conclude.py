"""From what a line changed to the next turn, and to the screen that tells it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from advisor.call import changes, guiding
from advisor.call.parts import Screen, part
from advisor.call.put import put, question_back
from advisor.call.questions import question_of, question_of_work
from advisor.call.round import ROUND
from advisor.call.turn import Answer, Change, Turn
from advisor.library.base import Base
from advisor.pages.instructions import emergency_lines
from advisor.pages.wording import wrapped
from advisor.reasoning.assess import assess
from advisor.reasoning.case import SKIPPED, UNCHECKED, Case, Entry, local_time
from advisor.reasoning.entries import normal
from advisor.visit.drift import Drift, drift
from advisor.visit.procedure import counting
from advisor.visit.recordlines import drift_lines
from advisor.visit.remedy import NOTHING_DONE, Work, under_retest
from advisor.visit.trend import Moment, moment_of


def begin(
    base: Base, case: Case, past: tuple[tuple[Case, Work], ...] = (), doing: str = "", work: Work = NOTHING_DONE,
    earlier: tuple[Moment, ...] = (), guided: bool = False,
) -> Turn:
    """The turn for a case as found and the work on it: what it says, and the next question.

    `doing` is the check under way; `guided` whether a guided test is.

    >>> from advisor.library.base import load
    >>> begin(load(), Case()).question.name
    'complaint'
    """
    retesting = under_retest(base, work)
    at_hand = replace(work.after, earlier=case.entries) if retesting else case
    counts = counting(at_hand) if guided else at_hand  # readings to be taken again, since something was moved, do not
    assessment = assess(counts, base) if at_hand.entries else None
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
    return emergency_lines(turn.base, turn.gate)


def changed(turn: Turn, case: Case, entries: Iterable[Entry] = (), said: str = "", above: Screen = ()) -> Change:
    """The case at hand has changed: it is the one as found, or the one as left."""
    work = turn.work
    if turn.retesting:
        if work.closed is not None:
            above = (*above, *part("said", wrapped("The case is open again; close it once more when all is as it "
                                                   "should be.", 2, 4)))
        return Change(turn, turn.found, replace(work, after=case, closed=None), tuple(entries), said, above)
    if work.job is not None and work.job.done and entries:
        above = (*above, *part("said", wrapped("Entered as found on arrival: steps of the remedy are still left. What "
                                               "is read after the work comes once all are done.", 2, 4)))
    return Change(turn, case, replace(work, closed=None), tuple(entries), said, above)


def conclude(change: Change) -> Answer:
    """The next turn and its screen: only what changed is told, hazards first, then the next question."""
    turn, base = change.turn, change.turn.base
    past = (*turn.past, (turn.found, turn.work)) if change.past is None else change.past
    new = begin(base, change.found, past, turn.question.check, change.work, turn.earlier, turn.guide is not None)
    new = guiding.guided(replace(new, undone=change.undone, path=turn.path, guide=turn.guide))
    if emergency_of(new):  # nothing else is said while people must be out
        return new, put(new, turn)
    said = part("said", wrapped(change.said, 2, 4)) if change.said else ()
    screen: Screen = (*change.above, *said)
    if turn.retesting == new.retesting:  # else another case is at hand: nothing to compare with
        screen = (*_warned(turn, new), *screen, *_noted(turn, new, change.entries), *_follows(turn, new))
    if new.found != turn.found:
        had = {one.rule.name for one in drifts(turn)}
        screen = (*screen, *part("follows", drift_lines([one for one in drifts(new) if one.rule.name not in had],
                                                        base)))
    screen = (*screen, *(change.below(new) if change.below else ()))
    if change.questions:
        return replace(new, choosing=change.questions), (*screen, *question_back(change.questions[0]))
    return new, (*screen, *put(new, turn))


def _warned(turn: Turn, new: Turn) -> Screen:
    if new.assessment is None:
        return ()
    return changes.warned(turn.base, turn.assessment, new.assessment)


def _noted(turn: Turn, new: Turn, entries: Iterable[Entry]) -> Screen:
    entries = tuple(entries)
    alone = len(entries) == 1 or turn.question.name == ROUND or all(entry.value is None for entry in entries)
    told = [entry for entry in entries if not (alone and _as_asked(turn, entry))]
    lines = changes.entered(turn.base, turn.case, new.assessment, told)
    return part("noted", changes.folded(lines, 3), changes.folded(lines, 1), whole=lines)


def _as_asked(turn: Turn, entry: Entry) -> bool:
    """Whether an entry is just the answer that the question listed, word for word: to repeat it says nothing."""
    if turn.question.name == ROUND:
        return changes.is_clear(turn.base, entry) and entry.typed == entry.value
    if entry.status == SKIPPED and turn.question.check and turn.base.checks[turn.question.check].together:
        return True
    plain = entry.status == UNCHECKED and entry.name not in turn.base.safety_looks
    return entry.name == turn.question.name and entry.name not in turn.case.latest and not turn.question.again and (
        plain or (isinstance(entry.value, str) and normal(entry.typed) == normal(entry.value)))


def _follows(turn: Turn, new: Turn) -> Screen:
    if new.assessment is None:
        return ()
    return changes.follows(turn.base, turn.assessment, new.assessment, asking=bool(new.question.check))


def drifts(turn: Turn) -> tuple[Drift, ...]:
    """What has drifted on arrival, against the earlier visits to the unit."""
    if not turn.earlier or not turn.found.entries:
        return ()
    times = [entry.at for entry in turn.found.entries if entry.at is not None]
    last = max(map(local_time, times), default=datetime.now().astimezone())
    after = max(last, *(one.at for one in turn.earlier)) if turn.earlier else last
    return drift((*turn.earlier, moment_of(turn.found, turn.base, after)))


