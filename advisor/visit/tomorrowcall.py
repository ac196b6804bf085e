"""Tomorrow's list: whom to call first, for open hazards, unfinished calls and callbacks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, local_time
from advisor.reasoning.hazards import OPEN, HazardFound
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.visit.comesagain import READ_AGAIN, look_again
from advisor.visit.kept import YEARLY, Visit
from advisor.visit.opencalls import CallFile
from advisor.visit.remedy import remedy_of
from advisor.visit.tomorrowitems import Figure, Known, Line, days_text, figure_of, likely, line_of

CALLBACK_DAYS: Final = 30
"""A visit within so many days after another to the same unit is a callback (our own choice; shops take 30 to 90)."""

LOOK_AHEAD_DAYS: Final = 7
"""For so many days ahead a unit that is to be looked at again is listed (our own choice)."""


def call_first(base: Base, known: Sequence[Known], calls: Sequence[CallFile], day: date) -> Iterator[Line]:
    """The lines on hazards that stand, on unfinished calls, on units that were visited again soon, and on those where
    what was put right may come back.
    """
    for one in known:
        if one.hazards:
            figures = [figure for found, visit, case in one.hazards for figure in _behind(base, found, case, visit.at)]
            yield line_of(one, "call-first", _hazards(len(one.hazards)),
                        [*(_hazard_why(base, found, visit) for found, visit, _ in one.hazards),
                         _household(base, one.hazards[0][0])], dict.fromkeys(figures),
                        max(visit.number for _, visit, _ in one.hazards))
    kept = {visit.number for one in known for visit in one.visits}
    for call in calls:
        yield from _unfinished(base, call, call.work.kept in kept)
    for one in known:
        yield from _callback(base, one, day)
        yield from _look_again(base, one, day)


def _hazards(count: int) -> str:
    return "open hazard" if count == 1 else f"{count} open hazards"


def _hazard_why(base: Base, found: HazardFound, visit: Visit | None = None) -> str:
    state = "open" if found.state == OPEN else "put right but not proven"
    when = f" when visit {visit.number} of {local_time(visit.at):%Y-%m-%d} was left" if visit else ""
    return f"{base.title(found.name)}: {state}{when}; released when {base.hazards[found.name].released_when}"


def _household(base: Base, found: HazardFound) -> str:
    """What to tell the people there of the most pressing hazard."""
    return f"tell the household: {' '.join(base.hazards[found.name].household.split())}"


def _unfinished(base: Base, call: CallFile, kept: bool) -> Iterator[Line]:
    """A call that was begun and not closed, with the hazards that stand in it unless the record tells of them."""
    case = call.at_hand(base)
    now = assess(case, base, look_ahead=False)
    since = call.since()
    begun = f", begun on {since:%Y-%m-%d}," if since else ""
    hazards = () if kept else now.hazards
    left = [f"remedy of {base.title(job.cause)}: {len(job.done)} of {len(remedy_of(base, job).steps)} steps done"
            for job in call.work.jobs]
    leads = [] if left else [f"leading cause: {base.title(cause)}" for cause in likely(now)[:1]]
    told = [entry for entry in call.found.entries if entry.value is not None]
    complaint = [entry for entry in told if entry.name == COMPLAINT][-1:]
    last = [entry for entry in told if entry.name not in base.equipment and entry.name != COMPLAINT][-1:]
    shown = [*complaint, *last] or told[-1:]
    figures = [figure_of(base, entry, since) for entry in shown]
    figures += [figure for found in hazards for figure in _behind(base, found, case, since)]
    yield Line("call-first", f"unfinished call, {_hazards(len(hazards))}" if hazards else "unfinished call",
               (*(_hazard_why(base, found) for found in hazards),
                *(_household(base, found) for found in hazards[:1]),
                f"the call in {call.path.name}{begun} was not closed", *(left or leads)),
               tuple(dict.fromkeys(figures)), call.work.unit, file=call.path.name)


def _callback(base: Base, known: Known, day: date) -> Iterator[Line]:
    """A unit whose last visit, not long ago, came soon after another: whether it holds now is worth a call."""
    if len(known.visits) < 2:
        return
    before, last = known.visits[-2:]
    days = (local_time(last.at).date() - local_time(before.at).date()).days
    ago = (day - local_time(last.at).date()).days
    complaint = last.before.latest.get(COMPLAINT)
    planned = last.kind == YEARLY or (complaint is not None and complaint.value == ROUTINE)
    if days > CALLBACK_DAYS or ago > CALLBACK_DAYS or planned:
        return
    found = ", ".join(map(base.title, before.confirmed)) or "no cause was confirmed"
    again = [figure_of(base, complaint, last.at)] if complaint and complaint.value is not None else []
    yield line_of(known, "call-first", f"callback after {days_text(days)}",
                [f"visit {last.number} of {local_time(last.at):%Y-%m-%d} came {days_text(days)} after visit "
                 f"{before.number} ({found}): ask whether it holds"],
                [*again, Figure("days between the visits", days_text(days), local_time(last.at).date())], last.number)


def _look_again(base: Base, known: Known, day: date) -> Iterator[Line]:
    """A unit whose fault was put right while what brought it about was not found, a week before its day and after."""
    if not known.visits:
        return
    last = known.visits[-1]
    on = local_time(last.at).date()
    for one in look_again(base, last.confirmed, on):
        if day >= one.by - timedelta(days=LOOK_AHEAD_DAYS):
            late = (day - one.by).days
            state = f"overdue by {days_text(late)}" if late > 0 else f"by {one.by}"
            yield line_of(known, "call-first", f"look again {state}",
                        [f"{base.title(one.cause)} was put right at visit {last.number} of {on} and nothing behind it "
                         f"was found ({one.behind(base)}): read {READ_AGAIN} again"],
                        [Figure("since that visit", days_text((day - on).days), on)], last.number)


def _behind(base: Base, found: HazardFound, case: Case, at: datetime | None) -> list[Figure]:
    """The entries that a hazard was last shown by."""
    told = case.told[:found.at + 1]
    last = {entry.name: entry for entry in told if entry.name in found.shown_by and entry.value is not None}
    return [figure_of(base, entry, at) for entry in last.values()]
