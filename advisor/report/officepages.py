"""The pages for the office: what was told and done, every figure with its limits, causes with evidence, sources."""

from __future__ import annotations

from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.report.content import Content
from advisor.report.functions import NOT_DONE
from advisor.report.office import Figure
from advisor.report.plainwords import capital
from advisor.report.sheets import DASH, STEP, Line, Part, Sheet, Table, dashes, parts_with_something
from advisor.visit.kept import OUTCOMES

OFFICE: Final = "office"
_READINGS: Final = ("Readings, and the limits they are held against (sources numbered below); +/- is what the "
                    "instruments' accuracy makes of a computed figure, right 95 times in 100")


def office_sheet(base: Base, c: Content) -> Sheet:
    """The sheet for the office: nothing is shortened, and it takes the pages that it takes."""
    report = c.report
    where = ", ".join(text for text in (report.customer, report.address) if text)
    below = f"For the office. Visit of {c.day}{f', by {report.by}' if report.by else ''}"
    parts = parts_with_something(
        *_dangers(c),
        Part("Call", _call(base, c)),
        Part("Done", _done(c)),
        Part("Function tests", tables=_tests(c)),
        Part("Figures", tables=(_table(c),) if c.figures else (), picture=True),
        Part("Savings", _savings(c), small=True),
        Part("Retests", tuple(Line("; ".join(f"{name}: wanted {wanted}, {now} ({state})"
                                             for name, wanted, now, state in one.readings) + ".",
                                   f"Retest of {one.remedy}:") for one in c.done if one.readings), small=True),
        Part("Readings together", dashes(f"{text}." for text in c.conclusions), small=True),
        Part("Causes on arrival", _causes(c), small=True),
        Part("Open advice", tuple(Line(f"{one.why} When: {one.when}.", f"{one.what}.", DASH) for one in c.advised),
             small=True),
        Part("For the next one there", tuple(Line(one.why, one.what, DASH) for one in c.office), small=True),
        Part("Not checked", _not_checked(c), small=True),
        Part("Sources of the limits", tuple(Line(text) for text in c.sources), small=True),
        Part("Cautions", tuple(Line(text) for text in c.cautions), small=True),
    )
    return Sheet(OFFICE, report.title, f"{where}. {below}" if where else below, parts, size=9.0)


def _dangers(c: Content) -> list[Part]:
    out = []
    for one in c.open_dangers:
        lines = [Line(f"{one.state} Seen: {one.seen}. {one.because}")]
        lines += [Line(step, mark=STEP) for step in one.do]
        lines += [Line(f"{one.call}.", "Call:"), Line(f"{one.released_when}.", "Released when:")]
        out.append(Part(capital(one.title), tuple(lines), danger=True))
    return out


def _call(base: Base, c: Content) -> tuple[Line, ...]:
    report = c.report
    out = [Line(f'"{report.complaint}"', "The customer said:")] if report.complaint else []
    out += [Line(f"{text}.", "noted on the call:") for text in c.remarks]
    if report.kind:
        out.append(Line(f"{plain(report.kind)}.", "Kind of call:"))
    if report.outcome:
        out.append(Line(f"{OUTCOMES.get(report.outcome, plain(report.outcome))}.", "Outcome:"))
    if report.minutes:
        out.append(Line(f"{report.minutes} minutes, from the first entry to the last.", "The visit took:"))
    if report.by_check:
        out.append(Line("; ".join(f"{base.title(name)} {minutes:g}" for name, minutes in report.by_check.items()) + ".",
                        "Minutes by check:"))
    return (*out, Line(c.due))


def _done(c: Content) -> tuple[Line, ...]:
    out = [Line(one.state, f"{capital(one.remedy)}.", DASH) for one in c.done]
    out += dashes(f"Put right: {text}." for text in c.cured)
    out += dashes(f"Begun: {text}." for text in c.begun)
    out += dashes(f"New or changed: {text}." for text in c.report.parts)
    out += dashes([c.set_air] if c.set_air else [])
    return (*(out or [Line("No repair was entered.")]), *(Line(f"Note: {note}") for note in c.report.notes))


def _tests(c: Content) -> tuple[Table, ...]:
    rows = tuple((capital(one.title), "\n".join(filter(None, (
        one.result, one.found + (", before the work" if one.earlier else "")))))
        for one in sorted(c.tests, key=lambda one: one.result == NOT_DONE))
    return (Table("", ("Test", "Result"), rows),) if rows else ()


def _table(c: Content) -> Table:
    twice = c.report.after is not None
    head = ("Reading", "As found", "As left", "Change") if twice else ("Reading", "Value")
    return Table(_READINGS, head, tuple(_row(one, twice) for one in c.figures))


def _row(one: Figure, twice: bool) -> tuple[str, ...]:
    row = one.row

    def cell(text: str, error: str, said: str) -> str:
        small = ", ".join(part for part in (f"+/- {error}" if error else "", said) if part)
        return f"{text}\n{small}" if small else text

    before = cell(row.before_text, row.before_error, row.before_band)
    first = f"{row.title}\n{one.limits}" if one.limits else row.title
    if not twice:
        return first, cell(row.before_text, row.before_error, "in doubt" if row.doubted else row.before_band)
    return (first, before, cell(row.after_text, row.after_error, row.after_band),
            cell(row.change_text, row.change_error, "in doubt" if row.doubted else row.way))


def _savings(c: Content) -> tuple[Line, ...]:
    worth = tuple(Line(text) for text in c.worth)
    return (*worth, Line(f"{c.savings.formula}. {' '.join(c.savings.assumptions)}")) if c.savings else worth


def _causes(c: Content) -> tuple[Line, ...]:
    return tuple(Line(one.title + (f" ({'; '.join(one.evidence)})" if one.evidence else "") + ".",
                      f"{capital(one.word)}:", DASH) for one in c.causes)


def _not_checked(c: Content) -> tuple[Line, ...]:
    u = c.unchecked
    lists = (("Could not be checked:", u.could_not), ("Passed by:", u.passed_by),
             ("Basic and safety checks not made, or not in full:", u.never),
             ("Made on arrival, not repeated after the work:", u.not_again))
    return (*(Line(f"{'; '.join(texts)}.", lead) for lead, texts in lists if texts), *(Line(t) for t in u.always))
