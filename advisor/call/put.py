"""How the next question is put: the check that it belongs to with its first steps, then the question itself."""

from __future__ import annotations

from typing import Final

from advisor.call import guiding, repairtext
from advisor.call.changes import first_sentence, first_steps, folded
from advisor.call.ending import at_the_end
from advisor.call.parts import Screen, part
from advisor.call.phrases import INSTRUMENTS, asked_text
from advisor.call.questions import COMPLAINT, INTAKE, open_intake, open_names
from advisor.call.round import ROUND, round_lines, round_names
from advisor.call.turn import Question, Turn
from advisor.library.base import Base
from advisor.library.items import Observation
from advisor.pages import screen
from advisor.pages.instructions import SMALL, emergency_lines, step_lines
from advisor.pages.wording import columns, plain, wrapped
from advisor.physics import units
from advisor.reasoning.case import Case
from advisor.reasoning.gate import HOUSE_ENTRY
from advisor.reasoning.nextcheck import BY_THE_MINUTE
from advisor.understanding.answers import countable
from advisor.understanding.understand import Asked
from advisor.visit.remedy import open_steps

FIRST_STEPS: Final = 1
"""Steps of a check that are said at once; the others on request."""
MANY: Final = 9
"""An observation with so many answers is asked in words; the list of them comes on request."""


def put(turn: Turn, before: Turn | None = None) -> Screen:
    """What to do next, and the question; with its check where that has just begun.

    `before` is the turn before; None where everything is to be said anew.
    """
    base, question, job = turn.base, turn.question, turn.work.job
    orders = emergency_lines(base, turn.gate)
    if orders:
        return (*part("orders", orders), *asked(turn))
    if turn.work.closed is not None:
        return at_the_end(turn)
    if turn.guide is not None:
        return (*guiding.begun(turn, before), *asked(turn))
    if job is not None and open_steps(base, job) and not question.name:
        return part("question", repairtext.next_step_lines(base, job, turn.assessment))
    if turn.retesting:
        return _put_retest(turn, before)
    remedy = _remedy(turn, before)
    if not question.name:
        return (*at_the_end(turn), *remedy)
    begins = before is None or before.question.check != question.check or before.guide is not None
    return (*_taken_as(turn, before), *remedy, *(introduced(turn) if begins else ()), *asked(turn))


def _put_retest(turn: Turn, before: Turn | None) -> Screen:
    """What is to be read after the work; when all was, what it proves."""
    if turn.question.name:
        begins = before is None or before.question.check != turn.question.check or not before.retesting
        return (*(introduced(turn, "RETEST") if begins else ()), *asked(turn))
    if turn.assessment is None:
        return ()
    hazards = [one.name for one in turn.assessment.hazards]
    return part("question", repairtext.verdict_lines(turn.base, turn.work, turn.assessment, hazards))


def _remedy(turn: Turn, before: Turn | None) -> Screen:
    """What to do about the leading cause, as soon as it is likely: its first steps, all of them on request."""
    if turn.assessment is None or open_intake(turn.base, turn.case) or not turn.assessment.causes:
        return ()
    first = turn.assessment.causes[0]
    if first.word not in ("likely", "confirmed"):
        return ()
    had = before.assessment.causes[0] if before and before.assessment and before.assessment.causes else None
    if had and (had.name, had.word) == (first.name, first.word) and turn.question.name:
        return ()
    base = turn.base
    cause = base.causes[first.name]
    item = base.remedies[cause.remedy]
    lead = f"{'DO' if first.confirmed else 'LIKELY'}  {item.title} ({item.minutes:g} min, {plain(item.who)})"
    if first.confirmed:
        lines = [*wrapped(f"{lead}; `remedy` takes it in hand.", 0, 4),
                 *first_steps(turn.gate, item.steps[:FIRST_STEPS], ())]
    else:
        lines = wrapped(f"{lead}, once {base.title(cause.confirm_check)} shows: {cause.confirm_shows}", 0, 4)
    return part("remedy", lines, lines[:1], whole=screen.remedy(base, turn.assessment))


def _taken_as(turn: Turn, before: Turn | None) -> Screen:
    """What is assumed of the unit, told once, when its kind is known."""
    if before is None or turn.assessment is None or not open_intake(turn.base, before.case) or open_intake(
            turn.base, turn.case):
        return ()
    taken = [words for item in turn.base.observations.values() if item.name not in turn.case.values
             for words in item.assumed.values()]
    return part("noted", wrapped(f"Taken as: {', '.join(taken)}. Say so if not.", 2, 4), []) if taken else ()


def introduced(turn: Turn, word: str = "NEXT") -> Screen:
    """A check that begins: what it is, how long it takes, why it is asked now, its first steps."""
    question, base = turn.question, turn.base
    if not question.check or question.name == ROUND:
        return ()
    check = base.checks[question.check]
    assessment = None if word == "RETEST" else turn.assessment
    proposal = None
    if assessment is not None:
        proposals = [one for one in (assessment.checks.first, *assessment.checks.others) if one]
        proposal = next((one for one in proposals if one.check == question.check), None)
    minutes = proposal.minutes if proposal else check.minutes
    reason = f"because {proposal.reason}" if proposal and proposal.reason else check.why
    gate = turn.gate
    lead = f"{word}  {check.title} ({minutes:g} min, burner {check.burner})"
    full = [*wrapped(lead, 0, 6), *wrapped(reason, 6)]
    first = check.safety or check.cold_start or not base.safety_looks.isdisjoint(check.gives)  # needs no reason
    if proposal and proposal.tells_apart:
        full += wrapped(f"It bears on {', '.join(base.title(name) for name in proposal.tells_apart)}.", 6)
    full += [line for caution in check.cautions for line in wrapped(caution, 6, first="! ")]
    full += step_lines(gate, check.how, gives=check.gives)
    caution = " ".join(f"! {first_sentence(text)}" for text in check.cautions[:1])
    if first:
        said = folded(wrapped(f"{lead} {caution}".rstrip(), 0, 6), 2)
        return part("check", said, whole=full)
    if proposal and proposal.tells_apart and proposal.reason == BY_THE_MINUTE:
        reason = f"it bears on {', '.join(base.title(name) for name in proposal.tells_apart)}"
    said = folded(wrapped(f"{lead}: {reason.rstrip('.')}", 0, 6), 2)
    cautions = folded(wrapped(caution, 4, 6), 2) if caution else []
    usual = [*said, *cautions, *first_steps(gate, check.how[:FIRST_STEPS], check.gives)]
    return part("check", usual, [*said[:1], *cautions[:1]], said[:1], whole=full)


def question_back(question: Asked) -> Screen:
    """A question back as it is put."""
    return part("question", wrapped(asked_text(question), 0, 2, first="? "))


def asked(turn: Turn, question: Question | None = None) -> Screen:
    """The question itself, with what may be answered."""
    question = question or turn.question
    if not question.name:
        return ()
    if question.name == ROUND:
        names = round_names(turn.base, turn.case, turn.assessment)
        return part("question", round_lines(turn.base, names), round_lines(turn.base, names, packed=True))
    full, short = asked_lines(turn.base, turn.case, question)
    return part("question", short or full, (short or full)[:2], whole=full if short else ())


def asked_lines(base: Base, case: Case, question: Question) -> tuple[list[str], list[str]]:
    """A question with all that may be answered; and in short, where that is much.

    >>> from advisor.library.base import load
    >>> asked_lines(load(), Case(), Question("smoke"))[0]
    ['Smoke spot number?  (0 to 9; or zero, clean, trace)']
    """
    name = question.name
    if name == INSTRUMENTS:
        return wrapped(f"Which instruments are at hand?  (all, none, all but ..., or a list of "
                       f"{', '.join(base.instruments)})", 0, 2), []
    if name == guiding.STEADY:
        return wrapped("Stack temperature, each minute?  (430, or with the minute 5 430; yes where it is known to be "
                       "steady)", 0, 2), []
    if name in INTAKE and name != COMPLAINT and not question.check:
        several = _on_one_line(base, case)
        if several:
            return several, []
    if question.check and base.checks[question.check].together and not question.again and len(
            open_names(base, case, base.checks[question.check])) > 1:
        return wrapped(f"{base.checks[question.check].together}  (on one line; ? lists answers; skip: none)", 0, 2), []
    again = ""
    if question.again:
        again = f"In doubt: {_entered(base, case, name)}. Take it again: "
    item = base.named[name]
    if isinstance(item, Observation):
        width = SMALL if name == HOUSE_ENTRY else 0  # read in an emergency, on whatever is in the hand
        answers = ", ".join(f"{number} {answer}" if countable(item) else answer
                            for number, answer in enumerate(item.answers, 1))
        full = wrapped(f"{again}{item.question}  ({answers})", 0, 2, width=width)
        short = wrapped(f"{again}{item.question}  (in your words; ? lists answers)", 0, 2) \
            if len(item.answers) > MANY or (len(full) > 4 and columns() < 60 and name != HOUSE_ENTRY) else []
        return full, short
    quantity = base.quantities[name]
    low, high = (units.format_value(value, quantity.kind) for value in quantity.plausible)
    words = f"; or {', '.join(quantity.words)}" if quantity.words else ""
    return wrapped(f"{again}{quantity.title[:1].upper()}{quantity.title[1:]}?  ({low} to {high}{words})", 0, 2), []


def _on_one_line(base: Base, case: Case) -> list[str]:
    """What is still to be known of the kind of unit, asked together; nothing where it is one thing."""
    names = [name for name in open_intake(base, case) if name != COMPLAINT]
    if len(names) < 2:
        return []
    return wrapped("The unit, on one line: "
                   + "; ".join(" or ".join(map(plain, base.observations[name].answers)) for name in names) + "?", 0, 2)


def _entered(base: Base, case: Case, name: str) -> str:
    value = case.latest[name].value
    shown = units.format_value(value, base.quantities[name].kind) if isinstance(value, float) else plain(str(value))
    return f"{base.title(name)} {shown}"


