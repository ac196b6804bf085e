"""What the household is advised to have done, how soon, and when the next service is due."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.report.functions import FAILED, function_tests
from advisor.report.office import SURE, Advised
from advisor.report.plainwords import SUBJECTS, capital
from advisor.report.report import Report
from advisor.visit.comesagain import look_again

NOW: Final = "now"
DAYS: Final = "within days"
WEEKS: Final = "within weeks"
NEXT_VISIT: Final = "at the next visit"
YEARLY: Final = "each year"
"""How urgent advice is, in the order of urgency."""

_YEAR: Final = 365.25
"""Days."""


def due(report: Report) -> str:
    """When the next yearly service is due, in words.

    It is the shop's number of months after this visit, where it was the yearly service, else after the last one.

    >>> from datetime import date
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> served = assess(Case((Entry("complaint", "routine", "routine"),)), load(), look_ahead=False)
    >>> due(Report("boiler", date(2026, 11, 25), served))
    'The next yearly service is due in November 2027.'
    """
    if report.last.hazards:
        return "First the burner has to be put right. Then we set the date of the next yearly service."
    since = report.before.findings.numbers.get("years_since_service")
    if report.is_service:
        last = report.on
    elif since is not None:
        last = report.on - timedelta(days=since.value * _YEAR)
    elif report.served is not None:
        last = report.served
    else:
        return "Have the next yearly service done before the heating season, or 12 months after the last one."
    on = last + timedelta(days=report.shop.months / 12 * _YEAR)
    return f"The next yearly service is due in {on:%B %Y}." if on > report.on else \
        "The yearly service is overdue. Have it done soon."


def advised(base: Base, report: Report) -> tuple[Advised, ...]:
    """What to have done, and why, in plain words."""
    last = report.last
    out = []
    if last.hazards:
        out.append(Advised("Leave the burner off", "A technician has to put right what stands at the top, and show "
                           "that it is safe, before it runs again.", NOW))
    for test in function_tests(base, report.before, report.after):
        if test.result == FAILED:
            out.append(Advised(f"Have this put right: {test.title}", f"A safety test failed ({test.found}).", DAYS))
    words = {one.name: one.word for one in last.causes}
    names = [one.name for one in last.causes if one.word in SURE]
    names += [name for name in report.confirmed if name not in names]
    for name in names:
        cause = base.causes[name]
        remedy = base.remedies[cause.remedy]
        why = SUBJECTS.get(cause.subject, cause.about)
        done = cause.remedy in report.remedies
        if done and words.get(name) not in SURE:
            continue
        if done and report.after is not None:
            out.append(Advised(f"Have {cause.title} looked into again", "The readings after the work still point to "
                               f"it. {why}", urgency(base, name)))
        elif not done:
            sure = "was found" if name in report.confirmed or words.get(name) == "confirmed" else "is likely"
            who = "" if remedy.who == "technician" else f" Work for a {plain(remedy.who)}."
            who += " The town may ask for a permit." if remedy.permit else ""
            out.append(Advised(f"{capital(remedy.title)}", f"{capital(cause.title)} {sure}. {why}{who}",
                               urgency(base, name)))
    mended = [name for name in report.confirmed if base.causes[name].remedy in report.remedies]
    for again in look_again(base, mended, report.on):
        out.append(Advised(f"Have the burner read again by {again.by:%B} {again.by.day}",
                           f"{capital(base.title(again.cause))} was put right, and what made it was not found. It may "
                           "come back.", WEEKS))
    if any(doubt.open for doubt in last.doubts):
        names = list(dict.fromkeys(base.title(name) for doubt in last.doubts if doubt.open for name in doubt.readings))
        out.append(Advised(f"Have read again: {', '.join(names)}", "A reading could not be trusted, and advice is no "
                           "better than what it rests on.", NEXT_VISIT, f"Have {len(names)} readings taken again"))
    if not last.hazards:
        out.append(Advised("Have the burner cleaned and tested each year", "Soot and wear build up unseen. They cost "
                           "oil long before the heat fails.", YEARLY))
    order = (NOW, DAYS, WEEKS, NEXT_VISIT, YEARLY)
    return tuple(sorted({one.what: one for one in out}.values(), key=lambda one: order.index(one.when)))


def urgency(base: Base, cause: str) -> str:
    """How soon a cause is to be put right: within days where it can bring about a hazard; common practice.

    >>> from advisor.library.base import load
    >>> urgency(load(), "weak-igniter"), urgency(load(), "under-fired")
    ('within days', 'within weeks')
    """
    return DAYS if any(cause in hazard.sources for hazard in base.hazards.values()) else WEEKS
