"""The customer's page: one letter page in sentences that anybody reads, with no short form that is not explained.

Where all of it has no room, it is said shorter, form by form, and what was left out stands on the office pages. What
is dangerous, what that means for the household, and the cautions are the same in every form: where they alone fill the
page, a second one follows rather than that a word of them is lost.
"""

from __future__ import annotations

import re
from functools import partial
from typing import Final

from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.report.advice import YEARLY
from advisor.report.content import OFF, Content
from advisor.report.functions import FAILED, NOT_DONE, PASSED
from advisor.report.office import Advised
from advisor.report.plainwords import NOTES, OUTCOME, TILES, capital
from advisor.report.sheets import DASH, Line, Part, Sheet, dashes, fitted, parts_with_something
from advisor.report.spelled import spelled

CUSTOMER: Final = "customer"
_QUOTED: Final = 240
"""Letters of what was typed, where there is little room."""

# The page is tried in one form after the other; each number is the first form in which something is said shorter.
_WORTH, _GOOD, _CHECKS, _TESTS, _QUOTES, _WHY, _TWICE, _DOUBTS, _FIGURES, _WORK, _LEAST = range(1, 12)
_FORMS: Final = 12
_MOST_CHECKS: Final = 8
"""Checks that were not made that are named one by one."""


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
        _danger(c, form), _told(c, form),
        Part("What we found", _found(c, form)),
        Part("What we did", _did(c, form)),
        Part("Before and after" if report.after else "Measured", _measured(c, form)),
        Part("How we left it", _left(c, form)),
        Part("Safety tests", _tests(c, form)),
        Part("What we advise", tuple(_advice(one, form) for one in c.advised)),
        Part("Next service", (Line(c.due),)),
        Part("For your safety", dashes(spelled(text) for text in c.household)),
        Part("Not checked", _not_checked(c, form)),
        Part("Please note", tuple(Line(text) for text in NOTES)),
    )
    where = ", ".join(text for text in (report.customer, report.address) if text)
    by = f", by {report.by}" if report.by else ""
    below = f"Visit to your oil burner on {c.day}{by}"
    return Sheet(CUSTOMER, report.title, f"{where}. {below}" if where else below, parts)


def _danger(c: Content, form: int) -> Part:
    """The dangers; where there is little room, no sentence stands twice."""
    tight, told = form >= _TWICE, set[str]()
    lines = [Line("", OFF if tight else spelled(c.tag))] if c.tag else []
    for one in c.dangers:
        said = [one.state, *sentences_in(one.household)] if one.open else [one.state]
        new = [text for text in said if text not in told] if tight else said
        told.update(said)
        lines.append(Line(spelled(" ".join(new) or "As above."), f"{capital(spelled(one.title))}."))
    lines += dashes(spelled(text) for text in c.winter)
    return Part("Danger" if c.open_dangers else "Found and made safe", tuple(lines), danger=bool(c.dangers))


def sentences_in(text: str) -> list[str]:
    """The sentences of a text.

    >>> sentences_in("Leave it off. Call 911.")
    ['Leave it off.', 'Call 911.']
    """
    return re.split(r"(?<=[.!?]) ", text)


def _told(c: Content, form: int) -> Part:
    words = c.report.complaint
    if c.report.is_service or not words:
        return Part("You told us", (Line("You asked for the yearly service."),) if c.report.is_service else ())
    return Part("You told us", (Line(f'"{_quoted(words, form)}"'),))


def _quoted(words: str, form: int) -> str:
    """What somebody typed, in their own words; the end of it where there is room for it only."""
    return shorten(words, _QUOTED) if form >= _QUOTES else words


def _found(c: Content, form: int) -> tuple[Line, ...]:
    outcome = [OUTCOME[c.report.outcome]] if c.report.outcome in OUTCOME and not c.open_dangers else []
    out = [*outcome, *(c.found if form < _GOOD else c.troubles), *(spelled(text) for text in c.reasons)]
    if c.in_order and form < _LEAST:
        names = ", ".join(spelled(name) for name in c.in_order)
        out.append(f"In order when we looked: {names}." if form < _GOOD else
                   f"{_count(len(c.in_order), 'part')} in order when we looked.")
    if _GOOD <= form < _LEAST and c.sound:
        out.append(_as_it_should_be(c.sound))
    if not out:
        out.append("What we found stands at the top." if c.dangers else "No reading was taken that tells of the fire.")
    return dashes([*out, *(spelled(text) for text in c.doubts if form < _DOUBTS)])


def _did(c: Content, form: int) -> tuple[Line, ...]:
    report = c.report
    out = [Line(one.state if form < _WORK else "", f"{capital(spelled(one.remedy))}.", DASH) for one in c.done]
    out += dashes(f"Put right: {spelled(text)}." for text in c.cured)
    out += dashes(f"Begun, and not finished: {spelled(text)}." for text in c.begun)
    out += dashes(f"New or changed: {spelled(text)}." for text in report.parts)
    out += dashes([c.set_air] if c.set_air else [])
    if not out:
        out = [Line("We made no repair on this visit.")]
    out += [Line(f"Note: {_quoted(spelled(note), form)}") for note in report.notes if form < _WORK]
    if report.minutes:
        out.append(Line(f"The visit took about {report.minutes} minutes."))
    return tuple(out)


def _measured(c: Content, form: int) -> tuple[Line, ...]:
    if form >= _FIGURES:
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
    worth = () if c.savings is None else c.worth if form < _WORTH else c.worth[:1]
    return (*out, *(Line(spelled(text)) for text in worth))


def _left(c: Content, form: int) -> tuple[Line, ...]:
    if c.report.after is None or not c.now:
        return ()
    if form < _GOOD:
        new = tuple(text for text in c.now if text not in c.found)
        return dashes(new) or (Line("The readings are as they were."),)
    out = [*c.troubles_left]
    if c.sound_left:
        out.append(_as_it_should_be(c.sound_left))
    return dashes(out)


def _tests(c: Content, form: int) -> tuple[Line, ...]:
    failed, passed, left = ([spelled(one.title) for one in c.tests if one.result == result]
                            for result in (FAILED, PASSED, NOT_DONE))
    if form >= _LEAST:  # those that failed stand in the advice too
        return ()
    out = [Line(f"{capital(title)}.", "Failed:", DASH) for title in failed]
    if form < _TESTS:
        out += [Line(f"{capital(title)}.", "Passed:", DASH) for title in passed]
    elif passed:
        out.append(Line(f"{_count(len(passed), 'test')} passed.", mark=DASH))
    if left:
        out.append(Line(f"{_count(len(left), 'test')} not done on this visit. {_listed(len(left))}", mark=DASH))
    return tuple(out)


def _count(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number} {what}s were"


def _as_it_should_be(number: int) -> str:
    return "1 reading we took was as it should be." if number == 1 else \
        f"{number} readings we took were as they should be."


def _listed(number: int) -> str:
    return f"The hand-over list names {'it' if number == 1 else 'them'}."


def _advice(one: Advised, form: int) -> Line:
    why = spelled(one.why) if form < _WHY else ""
    when = "" if one.when == YEARLY else f"When: {one.when}."
    what = one.short if one.short and form >= _WHY else one.what
    return Line(f"{why} {when}".strip(), f"{spelled(what)}.", DASH)


def _not_checked(c: Content, form: int) -> tuple[Line, ...]:
    kinds = (("Could not be checked:", c.unchecked.could_not), ("Not done:", c.unchecked.passed_by),
             ("Not done, or not in full:", c.unchecked.never))
    count = sum(len(titles) for _, titles in kinds)
    if form < _CHECKS and count <= _MOST_CHECKS:
        out = [Line(f"{capital(spelled(title))}.", lead, DASH) for lead, titles in kinds for title in titles]
    else:
        out = [Line(f"{_count(count, 'usual check')} not made, or not in full. {_listed(count)}", mark=DASH)]
    return (*(out if count else ()), *(Line(text) for text in c.unchecked.always))
