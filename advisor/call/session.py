"""The consultation as turns: a turn and a typed line give the next turn and the lines to show."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from typing import Final

from advisor.call import ask, choosing, curing, guided, mending, shop, told
from advisor.call.disk import CaseFile
from advisor.call.follow import COMPLAINT, INTAKE, Question, Turn, asked, open_intake, open_names
from advisor.call.lookround import ROUND, NotOfTheListError, read_round, round_names
from advisor.call.naming import read_instruments
from advisor.call.phrases import INSTRUMENTS, LONGEST, Phrase, answering, clean, read_phrase
from advisor.call.turning import Answer, begin, changed, emergency_of, entered, hazards_standing, kept, put
from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.pages import screen
from advisor.pages.wording import wrapped
from advisor.physics import units
from advisor.reasoning.case import RECHECKED, SKIPPED, UNCHECKED, Case, Entry, remark
from advisor.reasoning.casefile import manufacturer_figure, written_with_others
from advisor.reasoning.entries import EntryError, read_entry
from advisor.visit.remedy import NOTHING_DONE, undone

MOST_LINES: Final = 100
"""Lines that one paste may have."""

def opening(turn: Turn, file: CaseFile) -> list[str]:
    """What is shown first: where the case is kept, what is in it, the cautions, the question; where people must be out,
    that alone.
    """
    if emergency_of(turn):
        return put(turn, None)
    out = []
    if turn.found.entries:
        if turn.found.title:
            out += wrapped(turn.found.title)
        out += wrapped(f"Going on with {file.path}: {len(turn.found.entries)} entries.", 0, 2)
        others = written_with_others(turn.base, turn.found)
        out += wrapped(others, 0, 2) if others else []
        if turn.retesting:
            out += wrapped(f"What is entered now is of the unit after the work, kept in {file.after}.", 0, 2)
    else:
        out += wrapped(f"A new case, kept in {file.path}", 0, 2)
    out += ["Answer the question, or enter readings in any order: stack 520, o2 5.5, smoke 3",
            "Any time: why, how, what if, undo, skip, cannot, entries, quit; help shows all.", ""]
    out += screen.cautions()
    work = mending.status_lines(turn)
    out += ["", *work] if work else []
    if turn.assessment is not None:
        found = [*told.warnings(turn.base, None, turn.assessment),
                 *told.cause_lines(turn.base, told.leading(turn.base, turn.assessment))]
        out += ["", *found] if found else []
    return [*out, *([] if turn.question.check else [""]), *put(turn, None)]


def reply(turn: Turn, text: str, file: CaseFile, now: datetime | None = None) -> Answer:
    """The next turn, and the lines to show, for what was typed or pasted.

    Parameters
    ----------
    text : str
        One line; or several, of a paste, which are taken one after the other.
    file : CaseFile
        Keeps each new case before anything is concluded from it.
    now : datetime, optional
        The time that new entries carry; the clock's by default.
    """
    now = now or datetime.now().replace(microsecond=0)
    lines = text.split("\n") if len(text) <= MOST_LINES * LONGEST else [text]
    if len(lines) > MOST_LINES or len(lines) == 1:
        if len(lines) > 1:
            what = f"{len(lines):,} lines at once are more than the {MOST_LINES} of one paste; nothing was taken"
            return turn, wrapped(what, 0, 2)
        return _one(turn, text, file, now)
    out: list[str] = []
    for line in lines:
        if line.strip() and not turn.over:
            if turn.guide:
                return turn, [*out, "The lines of the paste behind it were not taken; answer the guide line by line."]
            turn, shown = _one(turn, line, file, now)
            out += [f"> {line.strip()[:70]}", *shown]
    return turn, out


def _one(turn: Turn, line: str, file: CaseFile, now: datetime) -> Answer:
    try:
        if turn.choosing and line.strip():
            chosen = choosing.chosen(turn, line, file, now)
            if chosen is not None:
                return chosen
            turn = replace(turn, choosing=())
        if turn.question.name == INSTRUMENTS:
            phrase = _instruments_or(turn.base, line)
        elif turn.question.name == ROUND:
            phrase = _round_or(turn, line)
        else:
            phrase = read_phrase(turn.base, line, turn.question.name, turn.case.values)
            if turn.question.name in INTAKE and not turn.question.check:
                phrase = answering(turn.base, phrase, [name for name in open_intake(turn.base, turn.case)
                                                       if name != COMPLAINT], turn.case.values, clean(line))
        if phrase.command and emergency_of(turn) and not _may_be_said(phrase):
            return turn, put(turn, None)
        if phrase.command in _CHANGING:
            return _CHANGING[phrase.command](turn, phrase.rest, file, now)
        if phrase.command in ask.ASKING:
            return turn, ask.ASKING[phrase.command](turn, phrase.rest)
        if phrase.ask:
            question = Question(phrase.ask, _check_giving(turn, phrase.ask))
            return replace(turn, question=question), asked(turn.base, turn.case, question)
        if phrase.entries or phrase.questions or phrase.remarks:
            return _enter(turn, phrase, file, now)
        return _empty(turn, file, now)
    except EntryError as error:
        return turn, wrapped(str(error), 0, 2)


_WITH_PEOPLE_INSIDE: Final = frozenset({"undo", "correct", "again", "cured", "trust", "skip", "cannot", "manufacturer",
                                        "instruments", "entries", "help", "save", "quit"})
"""The commands that are taken while people must be out: those that keep or mend what was typed. All others, which go on
with the work or say something else, are answered by the orders.
"""


def _may_be_said(phrase: Phrase) -> bool:
    """Whether a command is taken in an emergency; of the question itself its meaning may be asked."""
    return phrase.command in _WITH_PEOPLE_INSIDE or (phrase.command in ("why", "how") and not phrase.rest)


def _instruments_or(base: Base, line: str) -> Phrase:
    """An answer to the question about the instruments, or whatever else a line means."""
    try:
        if line.strip():
            read_instruments(base, line)
            return Phrase("instruments", line)
    except EntryError as error:
        try:
            phrase = read_phrase(base, line)
        except EntryError:
            raise error from None
        if not (phrase.entries or phrase.questions or phrase.command or phrase.ask):
            raise
        return phrase
    return Phrase()


def _round_or(turn: Turn, line: str) -> Phrase:
    """An answer to the list of the look round, or whatever else a line means."""
    try:
        if line.strip():
            entries, ask_for = read_round(turn.base, round_names(turn.base, turn.case, turn.assessment), line.strip())
            return Phrase(entries=entries) if entries else Phrase(ask=ask_for)
    except EntryError as error:
        try:
            phrase = read_phrase(turn.base, line, known=turn.case.values)
        except EntryError as its_own:
            raise (its_own if isinstance(error, NotOfTheListError) else error) from None
        if not (phrase.entries or phrase.command or phrase.ask or isinstance(error, NotOfTheListError)):
            raise
        return phrase
    return Phrase()


def _enter(turn: Turn, phrase: Phrase, file: CaseFile, now: datetime) -> Answer:
    retaken = turn.question.name if turn.question.again else ""
    stamped = [replace(entry, at=now, how=RECHECKED if entry.name == retaken and entry.value is not None else "")
               for entry in phrase.entries]
    stamped += [remark(words, now) for words in phrase.remarks]
    open_ones = [remark(words, now) for words in dict.fromkeys(one.words for one in phrase.questions)]
    doubt = curing.changed_under_a_hazard(turn, stamped)
    new, lines = entered(turn, turn.case.having(*stamped, *open_ones), file, stamped)
    if emergency_of(new):
        return new, lines
    left = "; ".join(f"{shorten(one.words)} ({one.why})" if one.why else shorten(one.words) for one in phrase.left)
    lines = [*doubt, *(wrapped(f"Not understood and not entered: {left}", 0, 2) if left else []), *lines]
    return choosing.asking(new, phrase.questions, lines)


def _check_giving(turn: Turn, name: str) -> str:
    checks = [check.name for check in turn.base.checks_giving.get(name, ())]
    return turn.question.check if turn.question.check in checks or not checks else checks[0]


def _empty(turn: Turn, file: CaseFile, now: datetime) -> Answer:
    """An empty line passes over a question of the intake; elsewhere it enters nothing."""
    if turn.question.name in INTAKE and not turn.question.check:
        return _pass_over(turn, "", file, now, SKIPPED)
    shown = asked(turn.base, turn.case, turn.question)
    return turn, [*shown, "  (an empty line enters nothing; skip passes over, cannot says it cannot be had)"] \
        if shown else ["Nothing more is asked; quit ends."]


def _skip(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    return _pass_over(turn, rest, file, now, SKIPPED)


def _cannot(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    return _pass_over(turn, rest, file, now, UNCHECKED)


def _pass_over(turn: Turn, rest: str, file: CaseFile, now: datetime, status: str) -> Answer:
    question = turn.question
    this = round_names(turn.base, turn.case, turn.assessment) if question.name == ROUND else \
        (question.name,) if question.name else ()
    if rest.lower() in ("all", "the rest", "rest", "intake", "these", "check", "this check"):
        names = this if question.name == ROUND else \
            open_names(turn.base, turn.case, turn.base.checks[question.check]) if question.check \
            else open_intake(turn.base, turn.case)
        names = names or this
    elif rest and rest.lower() not in ("it", "this", "that"):
        names = (ask.entered_name(turn.base, rest),)
    else:
        names = this
    if not names:
        raise EntryError("nothing is asked that could be passed over; `skip NAME` passes over a reading")
    case = turn.case
    if INSTRUMENTS in names:
        case = case.with_instruments(turn.base.instruments)
    entries = [Entry(name, status, None, status, at=now) for name in names if name != INSTRUMENTS]
    said = [f"{len(entries)} questions: {status}"] if len(entries) > 3 else []
    said += _left_open(turn.base, names) if status == SKIPPED else []
    said += ["all instruments are taken to be at hand"] if INSTRUMENTS in names else []
    return entered(turn, case.having(*entries), file, entries if len(entries) < 4 else (), "; ".join(said))


def _left_open(base: Base, names: Iterable[str]) -> list[str]:
    """Said of the questions on which somebody's safety hangs, where they are left unanswered."""
    titles = ", ".join(base.title(name) for name in names if name in base.safety_looks)
    return [f"not looked at, and kept as that: {titles}; what needs it clear is held back"] if titles else []


def _undo(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    found, work = turn.past[-1] if turn.past else undone(turn.base, turn.found, turn.work)
    work = replace(work, kept=turn.work.kept)
    if (found, work) == (turn.found, turn.work):
        raise EntryError("there is nothing to take back")
    gone = [*turn.found.entries[len(found.entries):], *turn.work.after.entries[len(work.after.entries):]]
    what = "; ".join(told.entry_text(turn.base, entry) for entry in gone[:4])
    more = f" and {len(gone) - 4} more" if len(gone) > 4 else ""
    if work.jobs != turn.work.jobs or not what:
        what, more = ("what was done last on the remedy" if work.jobs != turn.work.jobs else "the last change"), ""
    new, lines = changed(turn, file, found, work, said=f"taken back: {what}{more}")
    return replace(new, past=turn.past[:-1]), lines


def _trust(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    doubted = [name for one in turn.assessment.doubts if one.open for name in one.readings] \
        if turn.assessment else []
    if not rest:
        listed = f": {', '.join(doubted)}" if doubted else ""
        raise EntryError(f"trust which reading? in doubt {'are' if doubted else 'is none'}{listed}")
    name = ask.entered_name(turn.base, rest, computed=True)
    latest = turn.case.latest
    number = turn.assessment.findings.numbers.get(name) if turn.assessment else None
    behind = sorted(number.grounds) if number else [name]
    entries = [replace(latest[one], how=RECHECKED, at=now) for one in behind
               if one in latest and latest[one].value is not None]
    if not entries:
        raise EntryError(f"{turn.base.title(name)} has no value to stand by; enter it first")
    return entered(turn, turn.case.having(*entries), file, entries)


def _manufacturer(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    base = turn.base
    name, typed = ask.limit_and_value(base, rest)
    limit = base.limits[name]
    quantity = base.quantities[limit.of]
    if typed.lower() in ("none", "off", "ours", "undo"):
        return entered(turn, turn.case.with_manufacturer(name, None), file, said=f"{limit.title}: ours counts again")
    if quantity.derived:
        value = manufacturer_figure(base, name, typed)
        low, high = quantity.plausible
        if not low <= value <= high:
            between = " and ".join(units.format_value(one, quantity.kind) for one in (low, high))
            raise EntryError(f"manufacturer's {limit.title}: {typed} is not plausible; it lies between {between}")
    else:
        entry = read_entry(base, quantity.name, typed)
        if not isinstance(entry.value, float):
            raise EntryError(f"manufacturer's {limit.title}: {typed} is no number")
        value = entry.value
    shown = units.format_value(value, quantity.kind)
    return entered(turn, turn.case.with_manufacturer(name, value), file,
                    said=f"{limit.title}: {shown}, the manufacturer's figure, counts from now on")


def _instruments(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    if not rest:
        return replace(turn, question=Question(INSTRUMENTS)), asked(turn.base, turn.case, Question(INSTRUMENTS))
    names = read_instruments(turn.base, rest)
    listed = "all" if len(names) == len(turn.base.instruments) else ", ".join(
        turn.base.title(name) for name in names) or "none"
    return entered(turn, turn.case.with_instruments(names), file, said=f"instruments at hand: {listed}")


def _save(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    texts = file.copy(turn.case, rest) if rest else kept(turn, file) or [f"saved in {file.path}"]
    return turn, [line for text in texts for line in wrapped(text, 0, 2)]


def _quit(turn: Turn, rest: str, file: CaseFile, now: datetime) -> Answer:
    return replace(turn, over=True), closing(turn, file)


def closing(turn: Turn, file: CaseFile) -> list[str]:
    """What is shown at the end: the hazards that still stand, and where the case is kept."""
    out: list[str] = []
    standing = hazards_standing(turn)
    if standing:
        names = ", ".join(turn.base.title(name) for name in standing)
        order = "Nobody goes back in before it is allowed." if emergency_of(turn) else "Do not leave it running."
        out += wrapped(f"HAZARD still standing: {names}. {order}", 0, 2)
    out += mending.status_lines(turn)
    trouble = kept(turn, file) if file.behind else []
    if file.behind:
        return [*out, *trouble]
    if file.fresh and turn.found == Case() and turn.work == NOTHING_DONE:
        return [*out, "Nothing was entered; no file is kept."]
    rules = f" --rules {shlex.quote(str(turn.base.own_rules))}" if turn.base.own_rules else ""
    return [*out, *wrapped(f"Everything is in {file.path}; go on with: burner-advisor consult "
                           f"{shlex.quote(str(file.path))}{rules}", 0, 2)]


_CHANGING: Final[dict[str, Callable[[Turn, str, CaseFile, datetime], Answer]]] = {
    "undo": _undo, "skip": _skip, "cannot": _cannot, "trust": _trust,
    "manufacturer": _manufacturer, "instruments": _instruments,
    "save": _save, "quit": _quit, "remedy": mending.remedy, "done": mending.done, "retest": mending.retest,
    "compare": mending.compare, "close": mending.close, "unit": shop.unit, "keep": shop.keep, "test": guided.test,
    "air": guided.air, "cured": curing.cured, "correct": curing.correct, "again": curing.again,
}
__all__ = ["Turn", "begin", "closing", "opening", "reply"]
