"""Which question comes next, and what its answers mean."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from advisor.call.phrases import INSTRUMENTS
from advisor.call.round import ROUND, round_names
from advisor.call.turn import Question
from advisor.library.base import Base
from advisor.library.items import Check, fits
from advisor.pages.instructions import how_lines
from advisor.pages.wording import fact_text, plain, wrapped
from advisor.reasoning.assess import Assessment, DoubtFound
from advisor.reasoning.case import RECHECKED, Case
from advisor.reasoning.derive import needed_for
from advisor.reasoning.gate import HOUSE_ENTRY, Gate
from advisor.visit.remedy import Work, next_reading, open_steps, remedy_of, under_retest

COMPLAINT: Final = "complaint"
INTAKE: Final = (COMPLAINT, "appliance", "heat_medium", "burner_type", "draft_kind")
"""What is asked first, on every call: what it is about, and the kind of unit, on which nearly all that follows hangs.
The rest of the equipment is asked when a check needs it (`open_names`).
"""


def question_of(base: Base, case: Case, assessment: Assessment | None, doing: str = "") -> Question:
    """The next question: what the call is about, the kind of unit, then what the next check gives.

    Parameters
    ----------
    assessment : Assessment or None
        Of this case; None where it has no entry.
    doing : str
        The check under way: it is finished before another begins, unless a reading is in doubt or a hazard stands.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> question_of(load(), Case(), None)
    Question(name='complaint', check='', again=False)
    """
    if assessment is not None and assessment.gate.emergency:
        return Question(HOUSE_ENTRY)
    for name in open_intake(base, case):
        return Question(name)
    if assessment is None:
        return Question()
    advice = assessment.checks
    doubts = [doubt for doubt in assessment.doubts if doubt.open]
    first = advice.first.check if advice.first else ""
    if first and base.checks[first].round and round_names(base, case, assessment):
        return Question(ROUND, first)
    retaken = next((doubt for doubt in doubts if doubt.recheck == first), None)
    if retaken is not None:
        for name in (*open_names(base, case, base.checks[first], assessment), *_to_take_again(assessment, retaken)):
            return Question(name, first, name in case.latest)
    for check in (*_begun(base, case, assessment, doing), *([first] if first else []),
                  *(one.check for one in advice.others)):
        for name in open_names(base, case, base.checks[check], assessment):
            return Question(name, check)
    return Question()


def question_of_work(base: Base, found: Case, work: Work, now: Assessment | None) -> Question:
    """While steps are left nothing is asked; then the readings of the retest in order, then those in doubt.

    `now` is the assessment of the case at hand: as found while steps are left, as left after them.
    """
    if now is not None and now.gate.emergency:
        return Question(HOUSE_ENTRY)
    if work.job and open_steps(base, work.job) and now is not None:
        step = remedy_of(base, work.job).steps[open_steps(base, work.job)[0] - 1]
        return Question(*now.gate.look_first(now.gate.stops_step(step), now.case.latest))
    if (work.job and open_steps(base, work.job)) or work.closed or now is None or not under_retest(base, work):
        return Question()
    name, check = next_reading(base, work, found, now)
    if name:
        return Question(name, check)
    for doubt in now.doubts:
        if doubt.open:
            for name in _to_take_again(now, doubt):
                return Question(name, doubt.recheck, True)
    return Question()


def open_intake(base: Base, case: Case) -> tuple[str, ...]:
    """The intake's questions that make sense on this equipment and that nobody has answered or passed over."""
    known = case.values
    return tuple(name for name in INTAKE if name not in known and fits(base.asked_of[name], known))


def open_names(base: Base, case: Case, check: Check, assessment: Assessment | None = None) -> tuple[str, ...]:
    """What a check asks for on this equipment that is not entered or passed over; first what is needed from plates and
    papers to make something of it.
    """
    known = {**case.values, **(assessment.known if assessment else {})}  # a number by its band
    needed = [need for name in check.gives for need in needed_for(name)
              if need in base.equipment and need in base.asked_of and fits(base.asked_of[need], known)]
    return tuple(dict.fromkeys(name for name in (*needed, *base.asked_by(check, known)) if name not in case.values))


def _begun(base: Base, case: Case, assessment: Assessment, doing: str) -> Iterable[str]:
    """The check under way, then any safety check, where it was begun and not finished."""
    latest = case.latest
    begun = [check.name for check in base.checks.values() if check.safety or check.round]
    for name in dict.fromkeys([*([doing] if doing in base.checks else []), *begun]):
        if not any(given in latest for given in base.checks[name].gives):
            continue
        if not assessment.gate.stops_check(base.checks[name]):
            yield name


def _to_take_again(assessment: Assessment, doubt: DoubtFound) -> Iterable[str]:
    """The doubted readings, and those from which they are computed, that nobody stands by yet."""
    latest = assessment.case.latest
    for reading in doubt.readings:
        number = assessment.findings.numbers.get(reading)
        for name in sorted(number.grounds) if number else [reading]:
            if name in latest and latest[name].value is not None and (doubt.counts or latest[name].how != RECHECKED):
                yield name


def meanings(base: Base, assessment: Assessment | None, question: Question) -> list[str]:
    """How to get the answer to a question: the steps of its check, and what each answer means."""
    out: list[str] = []
    name = question.name
    gate = assessment.gate if assessment else Gate(base)
    if name == ROUND:
        out += wrapped("clear: all on the list were looked at and are clear. clear but 3 5: all others; then 3 and 5 "
                       "are asked. clear 1-4: these. 3 dripping: what was found. 3 not looked: it is listed as not "
                       "looked at, and holds back what needs it.", 0, 2)
        for one in round_names(base, assessment.case if assessment else Case(), assessment):
            out += meanings(base, assessment, Question(one))
        return out
    if question.check:
        check = base.checks[question.check]
        out += wrapped(f"{check.title}:", 0, 2)
        out += how_lines(gate, check, 2)
        for mistake in check.mistakes:
            out += wrapped(f"common mistake: {mistake}", 2, 4)
    if name in base.observations:
        item = base.observations[name]
        out += wrapped(f"{item.title}: {item.question}", 0, 2)
        for answer in item.answers:
            out += wrapped(f"{answer}: {item.means[answer]}" if item.means.get(answer) else answer, 2, 4)
    elif name in base.quantities:
        quantity = base.quantities[name]
        out += wrapped(f"{quantity.title}: {quantity.about}", 0, 2)
        if assessment is not None and name in assessment.findings.numbers:
            out += wrapped(f"now: {fact_text(base, assessment, name)}", 2, 4)
    elif name == INSTRUMENTS:
        for instrument in base.instruments.values():
            title = "" if plain(instrument.name) == instrument.title else f": {instrument.title}"
            out += wrapped(f"{instrument.name}{title}", 2, 4)
    return out
