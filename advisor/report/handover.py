"""The tag at the burner, and the list that is gone through with the customer before the technician leaves."""

from __future__ import annotations

from typing import Final

from advisor.library.base import Base
from advisor.library.items import Step
from advisor.pages.wording import value_text
from advisor.report.advice import YEARLY
from advisor.report.content import Content
from advisor.report.functions import FAILED, NOT_DONE, PASSED
from advisor.report.plainwords import TILES, capital
from advisor.report.sheets import BOX, Line, Part, Sheet, Table, parts_with_something

TAG: Final = "tag"
HAND_OVER: Final = "hand-over"

SHOWN: Final = (
    Step("Show where the burner is switched off in an emergency, and where its oil valve is.", ("inside", "occupants")),
    Step("Tell them: press the reset button once at most, then call.", ("reset",)),
    Step("Ask for carbon monoxide alarms near the bedrooms and on each floor, and have them tested.",
         ("inside", "occupants")),
    Step("Look that covers are on, test holes are closed, and the area is clean and free of things that burn.",
         ("inside",)),
    Step("Leave the manufacturer's instructions, and the tag, at the burner.", ("inside",)),
)
"""What is shown to the household on any visit, with the acts that it takes or allows; common practice."""

LEFT: Final = (
    Step("Hang the tag on the switch that is off.", ("inside",)),
    Step("Tell them what must not be switched on or pressed, and why; have them say it back."),
    Step("Give them the number to call, and settle who comes next, and when."),
    Step("Ask who lives there: somebody sick, old or very young needs a warm place for the night."),
)
"""What is done and told besides where the unit is left off; common practice."""


def tag_sheet(base: Base, c: Content) -> Sheet:
    """What is written on the card at the burner: whose it is, how the unit was left, when it is due again."""
    report, last = c.report, c.report.last
    rows = [(row.title, (row.after_text if report.after and row.after is not None else row.before_text)
             + (" (in doubt)" if row.doubted else "")
             + (", on arrival" if report.after is not None and row.after is None else ""))
            for row in c.rows if row.name in TILES or not (row.before_error or row.after_error)]
    rows += [(base.title(name), value_text(base, last, name)) for name in sorted(last.case.latest)
             if name in base.equipment and name in base.quantities and not base.quantities[name].last_of
             and base.quantities[name].kind in ("flow", "oil_pressure") and last.case.latest[name].value is not None]
    work = [*(done.remedy for done in c.done), *c.cured, *(f"begun: {text}" for text in c.begun), *report.parts]
    failed = [test.title for test in c.tests if test.result == FAILED]
    parts = parts_with_something(
        Part("Left off", (Line("", c.tag),) if c.tag else (), danger=True),
        Part("As left" if report.after else "As read", tables=(Table("", (), tuple(rows)),) if rows else ()),
        Part("Work", tuple(Line(f"{capital(text)}.") for text in work)),
        Part("Failed", tuple(Line(f"{capital(title)}.") for title in failed)),
        Part("Open", tuple(Line(f"{one.what} ({one.when}).") for one in c.advised[:4] if one.when != YEARLY)),
        Part("Next service", (Line(c.due),)),
    )
    return Sheet(TAG, report.title, f"{c.day}{f', {report.by}' if report.by else ''}", parts, size=9.0, card=True)


def handover_sheet(base: Base, c: Content) -> Sheet:
    """What is gone through with the customer: boxes to tick, and two lines to sign."""
    report, gate = c.report, c.report.last.gate

    def boxes(texts: list[str]) -> tuple[Line, ...]:
        return tuple(Line(text, mark=BOX) for text in texts)

    takes = [*report.parts, *(part for name in report.remedies for part in base.remedies[name].parts
                              if not any(part.casefold() in fitted.casefold() for fitted in report.parts))]
    unchecked = c.unchecked
    made = [f"{capital(test.title)}: {test.result}{f' ({test.found})' if test.found else ''}"
            + (", before the work" if test.earlier else "") for test in c.tests if test.result != NOT_DONE]
    undone = [f"{capital(test.title)}: not done" for test in c.tests if test.result == NOT_DONE]
    rest = [f"{capital(title)}: could not be checked" for title in unchecked.could_not]
    rest += [f"{capital(title)}: passed by" for title in unchecked.passed_by]
    told = {test.title for test in c.tests if test.result != PASSED}
    rest += [f"{capital(title)}: not made" for title in unchecked.never if title not in told]
    rest += [f"{capital(title)}: not made again after the work" for title in unchecked.not_again]
    parts = parts_with_something(
        Part("Left off", boxes([c.tag, *(f"{capital(one.title)}: {one.household}" for one in c.open_dangers),
                                *(step.text for step in LEFT if not gate.stops(step.acts))]) if c.tag else (),
             danger=True),
        Part("Told", boxes(["What was found and what was done: the customer's page, gone through together.",
                            *(f"Open: {one.what} ({one.when})." for one in c.advised),
                            c.due])),
        Part("Parts fitted", boxes([f"{capital(part)}." for part in takes])),
        Part("Shown", boxes([step.text for step in SHOWN if not gate.stops(step.acts)])),
        Part("Function tests", tuple(Line(f"{text}.") for text in (*made, *undone)), small=True),
        Part("Not done", tuple(Line(f"{text}.") for text in rest), small=True),
        Part("Signed", (Line("Technician ______________________________   Date ______________"),
                        Line("Customer _______________________________   Date ______________"))),
    )
    by = f", by {report.by}" if report.by else ""
    return Sheet(HAND_OVER, f"{report.title}: hand-over", f"Visit of {c.day}{by}. Tick what was told and shown.", parts,
                 size=9.5)
