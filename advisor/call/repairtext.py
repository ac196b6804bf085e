"""The work of a visit in lines of text: steps, what a retest proves, before and after side by side."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.library.base import Base
from advisor.pages.instructions import stops_text
from advisor.pages.screen import remedy_in_full
from advisor.pages.wording import plain, wrapped
from advisor.physics import accuracy
from advisor.reasoning.assess import Assessment
from advisor.reasoning.gate import Gate
from advisor.reasoning.hazards import OPEN
from advisor.visit.beforeafter import ComparisonError, Row, Savings, compare, savings
from advisor.visit.remedy import Job, Work, finished, open_steps, remedy_of, verdict


def remedy_lines(base: Base, job: Job, arrival: Assessment | None) -> list[str]:
    """A remedy in full: how sure its cause is, steps with a mark where done, cautions, the retest.

    >>> from advisor.library.base import load
    >>> remedy_lines(load(), Job("sooted-gas-passages", done=(1,), times=(None,)), None)[5][:14]
    '    1. [done] '
    """
    cause, item = base.causes[job.cause], remedy_of(base, job)
    ranked = next((one for one in arrival.causes if one.name == job.cause), None) if arrival else None
    sure = "confirmed" if ranked and ranked.confirmed else (
        f"{ranked.word + ', ' if ranked else ''}not confirmed yet; {base.title(cause.confirm_check)} should show: "
        f"{cause.confirm_shows}")
    expected = "; ".join(f"{base.title(name)} {' or '.join(map(plain, wanted))}"
                         for name, wanted in item.retest.expect.items())
    out = remedy_in_full(arrival.gate if arrival else Gate(base), cause, sure, job.done)
    return [*out, *wrapped(f"expected then: {expected}", 2, 10)]


def next_step_lines(base: Base, job: Job, now: Assessment | None = None) -> list[str]:
    """The step that comes next, or why it is held back.

    >>> from advisor.library.base import load
    >>> next_step_lines(load(), Job("sooted-gas-passages", done=(1, 2, 3, 4), times=(None,) * 4))[1][:12]
    'STEP 5 of 8 '
    """
    left, steps = open_steps(base, job), remedy_of(base, job).steps
    step = steps[left[0] - 1]
    stops = now.gate.stops_step(step) if now else ()
    if stops:
        out = ["", *wrapped(f"STEP {left[0]} of {len(steps)} is held back: {stops_text(base, stops)}.", 0, 6)]
        standing = {one.name: one for one in now.hazards} if now else {}
        held_by = {stop.hazard: standing[stop.hazard] for stop in stops if stop.hazard in standing}
        proof = dict.fromkeys(base.title(name) for one in held_by.values() for name in one.unproven)
        if proof:  # put right already, or gone once it is seen gone
            out += wrapped(f"To prove it, enter: {', '.join(proof)}.", 0, 6)
        if any(one.state == OPEN and not base.hazards[one.name].seen for one in held_by.values()):
            out += wrapped("Once the hazard was put right: cured HAZARD WHAT WAS DONE.", 0, 6)
        return out
    out = ["", *wrapped(f"STEP {left[0]} of {len(steps)}  {step.text}", 0, 6)]
    return [*out, "When it is done: done. Several at once: done 2-5, done all. All steps: remedy."]


def verdict_lines(base: Base, work: Work, after: Assessment, hazards: Iterable[str]) -> list[str]:
    """What the retest proves of every remedy that is done, and what is left."""
    out: list[str] = []
    proven = True
    for job in finished(base, work):
        found = verdict(base, after, job)
        proven = proven and found.proven
        out += wrapped(f"{'PROVEN' if found.proven else 'NOT PROVEN YET'}: {base.title(job.cause)}, "
                       f"{remedy_of(base, job).title}", 0, 2)
        out += [line for text in found.shown for line in wrapped(text, 2, first="as it should be: ")]
        out += [line for text in found.left for line in wrapped(text, 2, first="left: ")]
    for name in hazards:
        proven = False
        out += wrapped(f"{base.title(name)} (hazard): it still stands, or was not looked for after the work", 2,
                       first="left: ")
    if proven:
        return [*out, "`close` closes the case; `compare` shows before and after."]
    leading = next((one for one in after.causes if one.word in ("confirmed", "likely", "possible")), None)
    also = f" Now leading: {base.title(leading.name)} ({leading.word})." if leading else ""
    return [*out, *wrapped("Where something is changed now, `retest` reads all anew; a wrong reading is entered again. "
                           f"`remedy CAUSE` takes another cause in hand.{also}", 0, 2)]


def comparison_lines(base: Base, before: Assessment, after: Assessment) -> list[str]:
    """Before and after side by side, then what the change is worth."""
    rows = compare(base, before, after)
    if not rows:
        return ["There is nothing to compare: no reading on arrival, and none after the work."]
    out = ["BEFORE AND AFTER", f"  {'':<32}{'before':>8}{'after':>16}{'change':>12}"]
    for row in rows:
        out += _row(row)
    off = [f"{row.title} {row.change_error}" for row in rows if row.change_error]
    if off:
        out += wrapped(f"What changed by less than it may be off is called the same: {', '.join(off)}", 2)
    try:
        return [*out, "", *savings_lines(savings(base, before, after))]
    except ComparisonError as error:
        return [*out, "", *wrapped(f"What it saves cannot be told: {error}", 0, 2)]


def _row(row: Row) -> list[str]:
    before = row.before_text if row.before is None else row.before_text.split(" ")[0]
    change = row.change_text
    if change and change[0] in "+-":
        number, _, unit = change.partition(" ")
        change = f"{number} {unit}" if unit == "points" else number
    said = "in doubt" if row.doubted else row.way
    return [f"  {row.title[:31]:<32}{before:>8}{row.after_text:>16}{change:>12} {said}".rstrip()]


def _give_or_take(value: float, error: float | None, kind: str) -> str:
    return accuracy.format_with_error(abs(value), error or 0.0, kind)


def savings_lines(found: Savings) -> list[str]:
    """Oil, money and CO2 a year, with formula and assumptions."""
    what = "saved" if found.percent >= 0 else "burned more"
    out = wrapped(f"Oil {what} for the same heat: {_give_or_take(found.percent, found.either_way, 'percent')}"
                  + ("" if found.told else ", which is less than the instruments can tell"), 0, 2)
    if found.gallons is None or found.saved is None:
        out += wrapped("For gallons, money and CO2 a year enter, for example, gallons 860, price 3.85.", 2, 4)
    else:
        out += wrapped(f"a year, of {found.gallons:,.0f} gal: "
                       f"{_give_or_take(found.saved, found.saved_error, 'volume')}"
                       + (f", ${_give_or_take(found.money, found.money_error, 'count')} at ${found.price:.2f} a gallon"
                          if found.money is not None and found.price is not None else
                          "; for money enter, for example, price 3.85"), 2, 4)
        if found.co2_before is not None and found.co2_after is not None:
            out += wrapped(f"CO2 emitted a year: {found.co2_before:,.0f} lb before, {found.co2_after:,.0f} lb after",
                           2, 4)
    out += wrapped(found.formula, 2, 4)
    for text in found.assumptions:
        out += wrapped(text, 2, first="assumed: ")
    return out
