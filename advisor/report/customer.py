"""The customer's page: one letter page in sentences that anybody reads, with no short form that is not explained.

Where all of it has no room, it is said shorter, form by form, and what was left out stands on the office pages. What
is dangerous, what that means for the household, and the cautions are the same in every form: where they alone fill the
page, a second one follows rather than that a word of them is lost.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.report.content import Content, capital
from advisor.report.functions import FAILED, NOT_DONE, PASSED
from advisor.report.office import Advised
from advisor.report.plainwords import TILES
from advisor.report.sheets import DASH, Line, Part, Sheet, dashes, fitted, parts_with_something
from advisor.report.spelled import spelled

CUSTOMER: Final = "customer"
_FORMS: Final = 4
_QUOTED: Final = 240
"""Letters of what was typed, where there is little room."""


def customer_sheet(base: Base, c: Content) -> Sheet:
    """The page for the household, in the fullest form that stands on one letter page.

    >>> from datetime import date
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> from advisor.report.content import content
    >>> from advisor.report.report import Report
    >>> case = Case((Entry("smoke", "4", 4.0), Entry("complaint", "soot", "soot")))
    >>> report = Report("Mill Lane", date(2026, 11, 25), assess(case, load(), look_ahead=False), complaint="soot")
    >>> [part.title for part in customer_sheet(load(), content(load(), report)).parts][:3]
    ['You told us', 'What we found', 'What we did']
    """
    return fitted([partial(_form, base, c, form) for form in range(_FORMS)], len(c.report.shop.lines) + 1)


def _form(base: Base, c: Content, form: int) -> Sheet:
    """The page in one of its forms: 0 is the fullest."""
    report = c.report
    parts = parts_with_something(
        _danger(c), _told(c, form),
        Part("What we found", _found(c, form)),
        Part("What we did", _did(c, form)),
        Part("Before and after" if report.after else "Measured", _measured(c, form)),
        Part("How we left it", _left(c, form)),
        Part("Safety tests", _tests(c, form)),
        Part("What we advise", tuple(_advice(one, form) for one in c.advised)),
        Part("Next service", (Line(c.due),)),
        Part("For your safety", dashes(spelled(text) for text in c.household)),
        Part("Not checked", _not_checked(c, form)),
        Part("Please note", tuple(Line(spelled(text)) for text in c.cautions)),
    )
    where = ", ".join(text for text in (report.customer, report.address) if text)
    by = f", by {report.by}" if report.by else ""
    below = f"Visit to your oil burner on {c.day}{by}"
    return Sheet(CUSTOMER, report.title, f"{where}. {below}" if where else below, parts)


def _danger(c: Content) -> Part:
    lines = [Line("", c.tag)] if c.tag else []
    for one in c.dangers:
        said = f"{one.state} {one.household}" if one.open else one.state
        lines.append(Line(spelled(said), f"{capital(spelled(one.title))}."))
    lines += dashes(spelled(text) for text in c.winter)
    return Part("Danger" if c.open_dangers else "Found and made safe", tuple(lines), danger=bool(c.dangers))


def _told(c: Content, form: int) -> Part:
    words = c.report.complaint
    if c.report.is_service or not words:
        return Part("You told us", (Line("You asked for the yearly service."),) if c.report.is_service else ())
    return Part("You told us", (Line(f'"{_quoted(words, form)}"'),))


def _quoted(words: str, form: int) -> str:
    """What somebody typed, in their own words; the end of it where there is room for it only."""
    return shorten(words, _QUOTED) if form else words


def _found(c: Content, form: int) -> tuple[Line, ...]:
    reasons = dashes(spelled(text) for text in c.reasons)
    found = (*dashes(c.found if form == 0 else c.troubles if form < 3 else ()), *reasons)
    if form and found and len(c.troubles) < len(c.found):
        found += dashes(["What else we read was as it should be."])
    found = found or (Line("Nothing was found that is not as it should be.") if c.found else
                      Line("No reading was taken that tells something of the fire."),)
    return (*found, *(dashes(spelled(text) for text in c.doubts) if form < 2 else ()))


def _did(c: Content, form: int) -> tuple[Line, ...]:
    report = c.report
    out = [Line(one.state if form < 3 else "", f"{capital(spelled(one.remedy))}.", DASH) for one in c.done]
    out += dashes(f"Put right: {spelled(text)}." for text in c.cured)
    out += dashes(f"Begun, and not finished: {spelled(text)}." for text in c.begun)
    out += dashes(f"New or changed: {spelled(text)}." for text in report.parts)
    if c.set_air:
        out += dashes([c.set_air])
    if not out:
        out = [Line("We made no repair on this visit.")]
    out += [Line(f"Note: {_quoted(spelled(note), form)}") for note in report.notes if form < 3]
    if report.minutes:
        out.append(Line(f"The visit took about {report.minutes} minutes."))
    return tuple(out)


def _measured(c: Content, form: int) -> tuple[Line, ...]:
    if form >= 3:
        return ()
    rows = {row.name: row for row in c.rows}
    out = []
    for name, title in TILES.items():
        row = rows.get(name)
        if row is None:
            continue
        before, after = spelled(row.before_text), spelled(row.after_text)
        doubt = " (in doubt)" if row.doubted else ""
        now = f"{before} before, {after} now" if c.report.after else before
        out.append(Line(f"{now}{doubt}.", f"{title}:", DASH))
    worth = c.worth if form == 0 else c.worth[:1] if form == 1 else ()
    return (*out, *(Line(spelled(text)) for text in worth))


def _left(c: Content, form: int) -> tuple[Line, ...]:
    if c.report.after is None:
        return ()
    if form == 0:
        new = tuple(text for text in c.now if text not in c.found)
        return dashes(new) or (Line("The readings are as they were."),) if c.now else ()
    return dashes(c.troubles_left) or ((Line("What we read after the work is as it should be."),) if c.now else ())


def _tests(c: Content, form: int) -> tuple[Line, ...]:
    by_result = {result: [spelled(one.title) for one in c.tests if one.result == result]
                 for result in (FAILED, PASSED, NOT_DONE)}
    out = [Line(f"{capital(title)}.", "Failed:", DASH) for title in by_result[FAILED]]
    passed, left = by_result[PASSED], by_result[NOT_DONE]
    if form == 0:
        out += [Line(f"{capital(title)}.", "Passed:", DASH) for title in passed]
    elif passed:
        out.append(Line(f"{_count(len(passed), 'test')} passed.", mark=DASH))
    if left:
        out.append(Line(f"{_count(len(left), 'test')} not done on this visit. The hand-over list names "
                        f"{'it' if len(left) == 1 else 'them'}.", mark=DASH))
    return tuple(out)


def _count(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number} {what}s were"


def _advice(one: Advised, form: int) -> Line:
    why = spelled(one.why) if form < 2 else ""
    return Line(f"{why} When: {one.when}.".strip(), f"{spelled(one.what)}.", DASH)


def _not_checked(c: Content, form: int) -> tuple[Line, ...]:
    could_not = [capital(spelled(title)) for title in (*c.unchecked.could_not, *c.unchecked.passed_by)]
    never = [capital(spelled(title)) for title in c.unchecked.never]
    out = [Line(f"{title}.", "Could not be checked:", DASH) for title in could_not] if form < 2 else []
    if form == 0 and len(never) <= 6:
        out += [Line(f"{title}.", "Not done:", DASH) for title in never]
    elif never or could_not:
        count = len(never) + (len(could_not) if form >= 2 else 0)
        if count:
            out.append(Line(f"{_count(count, 'usual check')} not made, or not in full. The hand-over list names "
                            f"{'it' if count == 1 else 'them'}.", mark=DASH))
    return (*out, *(Line(text) for text in c.unchecked.always))
