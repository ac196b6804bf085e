"""The follow-up: which question comes next, and how it is put."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from advisor.call.lookround import ROUND, round_lines, round_names
from advisor.call.phrases import INSTRUMENTS
from advisor.library.base import Base
from advisor.library.items import Check, fits
from advisor.pages.instructions import SMALL, step_lines
from advisor.pages.wording import WIDTH, fact_text, plain, wrapped
from advisor.physics import units
from advisor.reasoning.assess import Assessment, DoubtFound
from advisor.reasoning.case import RECHECKED, Case
from advisor.reasoning.derive import needed_for
from advisor.reasoning.gate import HOUSE_ENTRY, Gate
from advisor.understanding.answers import countable
from advisor.understanding.understand import Asked
from advisor.visit.remedy import NOTHING_DONE, Work, next_reading, open_steps, remedy_of, under_retest
from advisor.visit.trend import Moment

COMPLAINT: Final = "complaint"
INTAKE: Final = (COMPLAINT, "appliance", "heat_medium", "burner_type", "draft_kind")
"""What is asked first, on every call: what it is about, and the kind of unit, on which nearly all that follows hangs.
The rest of the equipment is asked when a check needs it (`open_names`).
"""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked: a name, the check that gives it (empty at intake), and whether a doubted reading is retaken.

    No name: there is nothing left to ask.
    """

    name: str = ""
    check: str = ""
    again: bool = False


@dataclass(frozen=True, slots=True)
class Turn:
    """Where a consultation stands.

    `case` is the one at hand, with its assessment (None while it has no entry): as found, and once a remedy is done,
    as left. `found` and `arrival` are those as found, whichever is at hand. `past` holds what undo goes back to.
    `earlier` are the moments of earlier visits to the unit; `guide` is the guided test that is to be gone through;
    `choosing` are short questions back on what was typed last, the first of which is to be answered.
    """

    base: Base
    case: Case
    assessment: Assessment | None
    question: Question
    past: tuple[tuple[Case, Work], ...] = ()
    over: bool = False
    found: Case = Case()  # noqa: RUF009  (a frozen value)
    arrival: Assessment | None = None
    work: Work = NOTHING_DONE
    earlier: tuple[Moment, ...] = ()
    guide: str = ""
    choosing: tuple[Asked, ...] = ()

    @property
    def retesting(self) -> bool:
        """Whether the case at hand is the one as left."""
        return under_retest(self.base, self.work)


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
        for name in (*open_names(base, case, base.checks[first]), *_to_take_again(assessment, retaken)):
            return Question(name, first, name in case.latest)
    for check in (*_begun(base, case, assessment, doing), *([first] if first else []),
                  *(one.check for one in advice.others)):
        for name in open_names(base, case, base.checks[check]):
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


def open_names(base: Base, case: Case, check: Check) -> tuple[str, ...]:
    """What a check asks for on this equipment that is not entered or passed over; first what is needed from plates and
    papers to make something of it.
    """
    known = case.values
    needed = [need for name in check.gives for need in needed_for(name)
              if need in base.equipment and need in base.asked_of and fits(base.asked_of[need], known)]
    return tuple(dict.fromkeys(name for name in (*needed, *base.asked_by(check, known)) if name not in known))


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


def introduced(base: Base, assessment: Assessment | None, question: Question, word: str = "NEXT") -> list[str]:
    """A check that begins: what it is, how long it takes, why it is asked now."""
    if not question.check:
        return []
    if question.name == ROUND:
        return [""]
    check = base.checks[question.check]
    proposal = None
    if assessment is not None:
        proposals = [one for one in (assessment.checks.first, *assessment.checks.others) if one]
        proposal = next((one for one in proposals if one.check == question.check), None)
    minutes = proposal.minutes if proposal else check.minutes
    out = ["", *wrapped(f"{word}  {check.title} ({minutes:g} min, burner {check.burner})", 0, 6)]
    reason = f"because {proposal.reason}" if proposal and proposal.reason else check.why
    if proposal and proposal.tells_apart:
        reason += f"; it bears on {', '.join(base.title(name) for name in proposal.tells_apart)}"
    out += wrapped(reason, 6)
    if check.cautions:
        out += [line for caution in check.cautions for line in wrapped(caution, 6, first="! ")]
    return out


def asked(base: Base, case: Case, question: Question) -> list[str]:
    """The question itself, with what may be answered.

    >>> from advisor.library.base import load
    >>> asked(load(), Case(), Question("heat_medium"))
    ['Does the boiler heat water, or does it make steam?  (1 water, 2 steam)']
    """
    name = question.name
    if not name:
        return []
    if name == ROUND:
        return round_lines(base, round_names(base, case))
    if name == INSTRUMENTS:
        return wrapped(f"Which instruments are at hand?  (all, none, all but ..., or a list of "
                       f"{', '.join(base.instruments)})", 0, 2)
    again = ""
    if question.again:
        again = f"In doubt: {_entered(base, case, name)}. Take it again: "
    if name in base.observations:
        item = base.observations[name]
        width = SMALL if name == HOUSE_ENTRY else WIDTH  # read in an emergency, on whatever is in the hand
        answers = ", ".join(f"{number} {answer}" if countable(item) else answer
                            for number, answer in enumerate(item.answers, 1))
        return wrapped(f"{again}{item.question}  ({answers})", 0, 2, width=width)
    quantity = base.quantities[name]
    low, high = (units.format_value(value, quantity.kind) for value in quantity.plausible)
    words = f"; or {', '.join(quantity.words)}" if quantity.words else ""
    return wrapped(f"{again}{quantity.title[:1].upper()}{quantity.title[1:]}?  ({low} to {high}{words})", 0, 2)


def _entered(base: Base, case: Case, name: str) -> str:
    value = case.latest[name].value
    shown = units.format_value(value, base.quantities[name].kind) if isinstance(value, float) else plain(str(value))
    return f"{base.title(name)} {shown}"


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
        out += step_lines(gate, check.how, 2, gives=check.gives)
        out += [line for caution in check.cautions for line in wrapped(caution, 2, first="! ")]
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
