"""A line typed to what it changes or asks for, and on to the next turn: `reply` is a pure function of turn and line."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from typing import Final

from advisor.call import choosing, curing, guidecommands, guiding, queries, recording, repair
from advisor.call.changes import entry_text
from advisor.call.conclude import changed, conclude, emergency_of
from advisor.call.naming import read_instruments
from advisor.call.parts import TEXT, Screen, part
from advisor.call.phrases import INSTRUMENTS, Phrase, answering, clean, of_the_unit, read_phrase
from advisor.call.put import asked, put
from advisor.call.questions import COMPLAINT, INTAKE, open_intake, open_names
from advisor.call.round import ROUND, NotOfTheListError, read_round, round_names
from advisor.call.turn import Answer, Change, Heard, Question, Turn
from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.pages.wording import wrapped
from advisor.physics import units
from advisor.reasoning.case import RECHECKED, SKIPPED, UNCHECKED, Entry, remark
from advisor.reasoning.casefile import manufacturer_figure
from advisor.reasoning.entries import EntryError, normal, read_entry
from advisor.understanding.answers import NO, meant_by
from advisor.visit.remedy import undone


def reply(turn: Turn, line: str, now: datetime | None = None) -> Answer:
    """The next turn and its screen, for a line typed.

    Parameters
    ----------
    now : datetime, optional
        The time that new entries carry; the clock's by default.

    Examples
    --------
    >>> from advisor.call.conclude import begin
    >>> from advisor.call.parts import flat
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Case
    >>> turn, screen = reply(begin(load(), Case()), "sooting boiler")
    >>> flat(screen)[0]
    '  noted: the complaint: soot; appliance: boiler'
    """
    heard = hear(turn, line, now)
    return conclude(heard) if isinstance(heard, Change) else heard


def hear(turn: Turn, line: str, now: datetime | None = None) -> Heard:
    """What a line changes, or where it changes nothing, what it asks for: the turn and its screen."""
    now = now or datetime.now().replace(microsecond=0)
    try:
        return _heard(turn, line, now)
    except EntryError as error:
        return turn, part("said", wrapped(str(error), 0, 2))


def _heard(turn: Turn, line: str, now: datetime) -> Heard:
    if turn.choosing and line.strip():
        chosen = choosing.chosen(turn, line, now)
        if chosen is not None:
            return chosen
        turn = replace(turn, choosing=())
    phrase = _phrase(turn, line, now)
    if not isinstance(phrase, Phrase):
        return phrase
    if phrase.command and emergency_of(turn) and not _may_be_said(phrase):
        return turn, put(turn)
    if phrase.command in _CHANGING:
        return _CHANGING[phrase.command](turn, phrase.rest, now)
    if phrase.command in queries.ASKING:
        return turn, (*part(TEXT, queries.ASKING[phrase.command](turn, phrase.rest)), *_briefly(turn))
    if phrase.ask:
        turn = replace(turn, question=Question(phrase.ask, _check_giving(turn, phrase.ask)))
        return turn, asked(turn)
    if phrase.entries or phrase.questions or phrase.remarks:
        return _enter(turn, phrase, now)
    return _empty(turn, now)


def _briefly(turn: Turn) -> Screen:
    """The question once more, below what was asked for."""
    return () if turn.question.name == ROUND else asked(turn)


def _phrase(turn: Turn, line: str, now: datetime) -> Phrase | Heard:
    """What a line means where this is asked; the question owns the answer."""
    if turn.question.name == INSTRUMENTS:
        return _instruments_or(turn.base, line)
    if turn.question.name == ROUND:
        return _round_or(turn, line)
    if turn.question.name == guiding.STEADY and line.strip():
        return guidecommands.steady_or(turn, line, now)
    if turn.question.name == guiding.MARK and turn.guide is not None and not line.strip():
        return guidecommands.advised(turn, now)
    if turn.question.name in INTAKE and not turn.question.check:
        names = [name for name in open_intake(turn.base, turn.case) if name != COMPLAINT]
        unit = of_the_unit(turn.base, names, clean(line))
        if len(unit) > 1 or any(one.name == turn.question.name for one in unit):
            return Phrase(entries=unit)
        phrase = read_phrase(turn.base, line, turn.question.name, turn.case.values)
        return answering(turn.base, phrase, names, turn.case.values, clean(line))
    several = _on_one_line(turn)
    looks = [name for name in several if name in turn.base.observations]
    if len(several) > 1 and looks:
        return _of_several(turn, line, looks, several)
    phrase = read_phrase(turn.base, line, turn.question.name, turn.case.values)
    return _as_left(turn.base, phrase, several)


def _of_several(turn: Turn, line: str, looks: list[str], several: tuple[str, ...]) -> Phrase:
    """What a line says where several things are asked on it, `looks` those seen or known; a bare `nothing` is said of
    each of these.
    """
    base, known = turn.base, turn.case.values
    sound = {name: base.observations[name].sound or base.observations[name].clear for name in looks}
    said = normal(clean(line)).strip(" .!?")
    if len(looks) == len(several) and all(sound.values()) and (said in NO or all(
            meant_by(base.observations[name], said) == (answer,) for name, answer in sound.items())):
        return Phrase(entries=tuple(read_entry(base, name, answer) for name, answer in sound.items()))
    for name in looks:
        try:
            phrase = read_phrase(base, line, name, known)
        except EntryError:
            if name == looks[-1]:
                raise
        else:
            break
    if phrase.command or phrase.ask:
        return phrase
    return answering(base, phrase, several, known, clean(line))


def _as_left(base: Base, phrase: Phrase, paper: tuple[str, ...]) -> Phrase:
    """A line that tells nothing but what the paper asked for holds: CO2 is then the one of that paper, not today's."""
    meant = {entry.name: next((name for name in paper if entry.name in (name, base.quantities[name].last_of)), "")
             for entry in phrase.entries}
    if not meant or not all(meant.values()):
        return phrase
    return replace(phrase, entries=tuple(replace(entry, name=meant[entry.name]) for entry in phrase.entries))


_WITH_PEOPLE_INSIDE: Final = frozenset({"undo", "redo", "correct", "again", "cured", "trust", "skip", "cannot",
                                        "manufacturer", "instruments", "entries", "help", "save", "quit"})
"""The commands that are taken while people must be out: those that keep or mend what was typed. All others, which go on
with the work or say something else, are answered by the orders.
"""


def _may_be_said(phrase: Phrase) -> bool:
    """Whether a command is taken in an emergency; of the question itself its meaning may be asked."""
    return phrase.command in _WITH_PEOPLE_INSIDE or (phrase.command in ("why", "steps") and not phrase.rest)


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


def _enter(turn: Turn, phrase: Phrase, now: datetime) -> Change:
    retaken = turn.question.name if turn.question.again else ""
    stamped = [replace(entry, at=now, how=RECHECKED if entry.name == retaken and entry.value is not None else "")
               for entry in phrase.entries]
    on_the_line = _on_one_line(turn)
    if any(entry.name in on_the_line for entry in stamped):  # what that line did not tell is not known
        there = {entry.name for entry in stamped} | turn.base.gating
        stamped += [Entry(name, SKIPPED, None, SKIPPED, at=now) for name in on_the_line if name not in there]
    stamped += [remark(words, now) for words in phrase.remarks]
    open_ones = [remark(words, now) for words in dict.fromkeys(one.words for one in phrase.questions)]
    above = part("hazard", curing.changed_under_a_hazard(turn, stamped))
    left = "; ".join(f"{shorten(one.words)} ({one.why})" if one.why else shorten(one.words) for one in phrase.left)
    if left:
        above = (*above, *part("said", wrapped(f"Not understood and not entered: {left}", 0, 2)))
    change = changed(turn, turn.case.having(*stamped, *open_ones), stamped, above=above)
    return guidecommands.in_the_guide(replace(change, questions=phrase.questions), now)


def _check_giving(turn: Turn, name: str) -> str:
    checks = [check.name for check in turn.base.checks_giving.get(name, ())]
    return turn.question.check if turn.question.check in checks or not checks else checks[0]


def _empty(turn: Turn, now: datetime) -> Heard:
    """An empty line passes over a question of the intake, and elsewhere enters nothing."""
    if turn.question.name in INTAKE and not turn.question.check:
        return _pass_over(turn, "", now, SKIPPED)
    if not turn.question.name:
        return turn, part("question", ["Nothing more is asked; quit ends."])
    return turn, (*asked(turn), *part("said", wrapped("(an empty line enters nothing; skip passes over, cannot says it "
                                                      "cannot be had)", 2)))


def _skip(turn: Turn, rest: str, now: datetime) -> Heard:
    if guiding.step_of(turn) is not None and not rest:
        return guidecommands.skip(turn)
    return _pass_over(turn, rest, now, SKIPPED)


def _cannot(turn: Turn, rest: str, now: datetime) -> Heard:
    return _pass_over(turn, rest, now, UNCHECKED)


def _pass_over(turn: Turn, rest: str, now: datetime, status: str) -> Change:
    question = turn.question
    if question.name == guiding.STEADY:
        question = Question("warmed_up", question.check)
    this = round_names(turn.base, turn.case, turn.assessment) if question.name == ROUND else \
        (question.name,) if question.name else ()
    if rest.lower() in ("all", "the rest", "rest", "intake", "these", "check", "this check"):
        names = this if question.name == ROUND else \
            open_names(turn.base, turn.case, turn.base.checks[question.check], turn.assessment) if question.check \
            else open_intake(turn.base, turn.case)
        names = names or this
    elif rest and rest.lower() not in ("it", "this", "that"):
        names = (queries.entered_name(turn.base, rest),)
    else:
        names = _on_one_line(turn) or this
    if not names:
        raise EntryError("nothing is asked that could be passed over; `skip NAME` passes over a reading")
    case = turn.case
    if INSTRUMENTS in names:
        case = case.with_instruments(turn.base.instruments)
    entries = [Entry(name, status, None, status, at=now) for name in names if name != INSTRUMENTS]
    said = [f"{len(entries)} questions: {status}"] if len(entries) > 3 else []
    said += _left_open(turn.base, names) if status == SKIPPED else []
    said += ["all instruments are taken to be at hand"] if INSTRUMENTS in names else []
    change = changed(turn, case.having(*entries), entries if len(entries) < 4 else (), "; ".join(said))
    return guidecommands.in_the_guide(change, now)


def _on_one_line(turn: Turn) -> tuple[str, ...]:
    """What is asked on one line with the question, where that is so."""
    check = turn.base.checks.get(turn.question.check)
    if check is None or not check.together or turn.question.again:
        return ()
    return open_names(turn.base, turn.case, check, turn.assessment)


def _left_open(base: Base, names: Iterable[str]) -> list[str]:
    """Said of the questions on which somebody's safety hangs, where they are left unanswered."""
    titles = ", ".join(base.title(name) for name in names if name in base.safety_looks)
    return [f"not looked at, and kept as that: {titles}; what needs it clear is held back"] if titles else []


def _undo(turn: Turn, rest: str, now: datetime) -> Change:
    found, work = turn.past[-1] if turn.past else undone(turn.base, turn.found, turn.work)
    work = replace(work, kept=turn.work.kept)
    if (found, work) == (turn.found, turn.work):
        raise EntryError("there is nothing to take back")
    gone = [*turn.found.entries[len(found.entries):], *turn.work.after.entries[len(work.after.entries):]]
    what = "; ".join(entry_text(turn.base, entry) for entry in gone[:4])
    more = f" and {len(gone) - 4} more" if len(gone) > 4 else ""
    if work.jobs != turn.work.jobs or not what:
        what, more = ("what was done last on the remedy" if work.jobs != turn.work.jobs else "the last change"), ""
    return Change(turn, found, work, said=f"taken back: {what}{more}", past=turn.past[:-1],
                  undone=(*turn.undone, (turn.found, turn.work)))


def _redo(turn: Turn, rest: str, now: datetime) -> Change:
    if not turn.undone:
        raise EntryError("nothing was taken back that could be brought back")
    found, work = turn.undone[-1]
    back = [*found.entries[len(turn.found.entries):], *work.after.entries[len(turn.work.after.entries):]]
    what = "; ".join(entry_text(turn.base, entry) for entry in back[:4]) or "the last change"
    return Change(turn, found, replace(work, kept=turn.work.kept), said=f"brought back: {what}",
                  undone=turn.undone[:-1])


def _more(turn: Turn, rest: str, now: datetime) -> Answer:
    return turn, part(TEXT, turn.more or ["Nothing was left out of the last screen."])


def _trust(turn: Turn, rest: str, now: datetime) -> Heard:
    doubted = [name for one in turn.assessment.doubts if one.open for name in one.readings] \
        if turn.assessment else []
    if not rest:
        listed = f": {', '.join(doubted)}" if doubted else ""
        raise EntryError(f"trust which reading? in doubt {'are' if doubted else 'is none'}{listed}")
    name = queries.entered_name(turn.base, rest, computed=True)
    latest = turn.case.latest
    number = turn.assessment.findings.numbers.get(name) if turn.assessment else None
    behind = sorted(number.grounds) if number else [name]
    entries = [replace(latest[one], how=RECHECKED, at=now) for one in behind
               if one in latest and latest[one].value is not None]
    if not entries:
        raise EntryError(f"{turn.base.title(name)} has no value to stand by; enter it first")
    return changed(turn, turn.case.having(*entries), entries)


def _manufacturer(turn: Turn, rest: str, now: datetime) -> Heard:
    base = turn.base
    name, typed = queries.limit_and_value(base, rest)
    limit = base.limits[name]
    quantity = base.quantities[limit.of]
    if typed.lower() in ("none", "off", "ours", "undo"):
        return changed(turn, turn.case.with_manufacturer(name, None), said=f"{limit.title}: ours counts again")
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
    return changed(turn, turn.case.with_manufacturer(name, value),
                   said=f"{limit.title}: {shown}, the manufacturer's figure, counts from now on")


def _instruments(turn: Turn, rest: str, now: datetime) -> Heard:
    if not rest:
        turn = replace(turn, question=Question(INSTRUMENTS))
        return turn, asked(turn)
    names = read_instruments(turn.base, rest)
    listed = "all" if len(names) == len(turn.base.instruments) else ", ".join(
        turn.base.title(name) for name in names) or "none"
    return changed(turn, turn.case.with_instruments(names), said=f"instruments at hand: {listed}")


def _save(turn: Turn, rest: str, now: datetime) -> Answer:
    return (replace(turn, copy=rest), ()) if rest else (turn, part("said", wrapped(f"saved in {turn.path}", 0, 2)))


def _quit(turn: Turn, rest: str, now: datetime) -> Answer:
    return replace(turn, over=True), ()


_CHANGING: Final[dict[str, Callable[[Turn, str, datetime], Heard]]] = {
    "undo": _undo, "redo": _redo, "more": _more, "skip": _skip, "cannot": _cannot, "trust": _trust,
    "manufacturer": _manufacturer, "instruments": _instruments, "save": _save, "quit": _quit, "remedy": repair.remedy,
    "done": repair.done, "retest": repair.retest, "compare": repair.compare, "close": repair.close,
    "unit": recording.unit, "keep": recording.keep, "report": recording.report, "test": guidecommands.test,
    "air": guidecommands.air, "regulator": guidecommands.regulator, "cured": curing.cured, "correct": curing.correct,
    "again": curing.again,
}
