"""The commands of the work: choose a cause, do the steps of its remedy, retest, compare, close."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import datetime

from advisor.call import ending, repairtext
from advisor.call.conclude import hazards_standing
from advisor.call.naming import meant
from advisor.call.parts import TEXT, part
from advisor.call.put import put
from advisor.call.turn import Change, Heard, Turn
from advisor.library.yamlfiles import shorten
from advisor.pages.instructions import stops_text
from advisor.pages.wording import wrapped
from advisor.reasoning.assess import assess
from advisor.reasoning.case import SKIPPED, Entry
from advisor.reasoning.casefile import beside
from advisor.reasoning.entries import EntryError, normal
from advisor.visit.comesagain import READ_AGAIN, look_again
from advisor.visit.remedy import (
    choose,
    cures,
    new_round,
    open_steps,
    remedy_of,
    retest_names,
    step_done,
    verdict,
)

_ANYWAY = ("anyway", "as it is", "as it stands")
_ALL = ("all", "the rest", "rest", "everything", "all steps", "remedy")


def remedy(turn: Turn, rest: str, now: datetime) -> Heard:
    """`remedy` shows the one in hand, or takes up that of the leading cause; `remedy CAUSE` takes up another."""
    base, work = turn.base, turn.work
    if not rest and work.job is not None:
        return turn, (*part(TEXT, repairtext.remedy_lines(base, work.job, turn.assessment)), *put(turn, turn))
    if normal(rest) in ("none", "no", "drop"):
        return _dropped(turn)
    cause = _leading(turn) if not rest else _named(turn, rest)
    if work.job is not None and work.job.cause == cause:
        return turn, (*part(TEXT, repairtext.remedy_lines(base, work.job, turn.assessment)), *put(turn, turn))
    chosen = choose(base, work, cause, now)
    assert chosen.job is not None
    shown = repairtext.remedy_lines(base, chosen.job, turn.assessment)
    return Change(turn, turn.found, chosen, above=part(TEXT, shown))


def _named(turn: Turn, rest: str) -> str:
    kind, item = meant(turn.base, rest, ("cause", "remedy"))
    if kind == "cause":
        return str(item.name)
    causes = [name for name, cause in turn.base.causes.items() if cause.remedy == item.name]
    if len(causes) != 1:
        raise EntryError(f"{item.name} is the remedy of {' and of '.join(causes) or 'no cause'}; name the cause")
    return causes[0]


def _leading(turn: Turn) -> str:
    first = turn.arrival.causes[0] if turn.arrival and turn.arrival.causes else None
    if first is None or first.word not in ("confirmed", "likely"):
        raise EntryError("no cause is likely yet; name the one that you want to put right, such as "
                         "remedy soot in the flue passages")
    return first.name


def _dropped(turn: Turn) -> Heard:
    job = turn.work.job
    if job is None or job.done:
        raise EntryError("there is no remedy to drop" if job is None else
                         "steps of it are done; undo takes them back one by one")
    return Change(turn, turn.found, replace(turn.work, jobs=turn.work.jobs[:-1]), said="The remedy is dropped.")


def done(turn: Turn, rest: str, now: datetime) -> Heard:
    """A step, or several, of the remedy in hand are done."""
    base, job = turn.base, turn.work.job
    if job is None:
        raise EntryError("no remedy is in hand, so no step can be done; `remedy CAUSE` takes one up, quit stops")
    left = open_steps(base, job)
    if not left:
        raise EntryError("every step of the remedy is done; retest reads what proves it")
    numbers = left if normal(rest) in _ALL else _steps(rest, left[0])
    before = [number for number in numbers if number in job.done]
    if before and len(before) == len(numbers):
        raise EntryError(f"step {', '.join(map(str, before))} is done already")
    found = turn.found
    try:
        work = step_done(base, turn.work, found, numbers, now)
    except ValueError as error:
        raise EntryError(str(error)) from None
    marks = cures(base, work, turn.assessment.hazards, now) if turn.assessment and work.job else ()
    held = _held_back(turn, [number for number in numbers if number not in job.done],
                      {mark.name for mark in marks})
    if held:
        raise EntryError(held)
    if marks and turn.retesting:
        work = replace(work, after=work.after.having(*marks))
    elif marks:
        found = found.having(*marks)
    new = [str(number) for number in numbers if number not in before]
    said = f"done: step{'s' if len(new) > 1 else ''} {', '.join(new)}"
    if work.job is not None and not open_steps(base, work.job):
        said += (f". All steps are done: from now on what you enter is of the unit after the work, kept in "
                 f"{beside(turn.path, 'after').name}.")
        if turn.assessment and not turn.assessment.gate.stops(("run",)):
            said += " Let it run to steady state first."
    if marks:
        proven = ", ".join(base.title(mark.name) for mark in marks)
        said = f"{said.rstrip('.')}. Put right, and to be proven: {proven}"
    return Change(turn, found, work, said=said)


def _held_back(turn: Turn, numbers: Iterable[int], cured: Collection[str]) -> str:
    """Why steps are not to be done now, in words. A hazard that the same steps cure holds none of them back, and a look
    that was not entered holds back what is asked for, not what is told as done.
    """
    if turn.assessment is None or turn.work.job is None:
        return ""
    steps = remedy_of(turn.base, turn.work.job).steps
    for number in numbers:
        if 1 <= number <= len(steps):
            stops = [stop for stop in turn.assessment.gate.stops_step(steps[number - 1])
                     if stop.hazard not in cured and not stop.missing]
            if stops:
                return f"step {number} is held back: {stops_text(turn.base, stops)}"
    return ""


def _steps(text: str, first: int) -> tuple[int, ...]:
    """The steps that a text names, such as `3`, `2-5` or `1, 2 and 4`; errors: `EntryError`."""
    unknown = EntryError(f"{shorten(text)!r} names no step; write done, done 3, done 2-5 or done all")
    if text.startswith("-"):
        raise unknown
    said = normal(re.sub(r"(?<=\d)\s*(?:-|to)\s*(?=\d)", "..", text.replace("–", "-")))
    words = [word for word in re.split(r"[\s,;]+", said) if word not in ("", "step", "steps", "and", "it", "this")]
    out: list[int] = []
    for word in words:
        found = re.fullmatch(r"#?(\d{1,3})(?:\.\.(\d{1,3}))?\.?", word)
        low, high = (int(found[1]), int(found[2] or found[1])) if found else (1, 0)
        if low > high:
            raise unknown
        out += range(low, high + 1)
    return tuple(dict.fromkeys(out)) or (first,)


def retest(turn: Turn, rest: str, now: datetime) -> Heard:
    """Ask for the readings that prove the remedy; where all were taken, for a new round of them."""
    base, job = turn.base, turn.work.job
    if job is None:
        raise EntryError("a retest proves a remedy, and none is in hand; `remedy CAUSE` takes one up")
    left = open_steps(base, job)
    if left:
        raise EntryError(f"a retest comes after the work: {'steps' if len(left) > 1 else 'step'} "
                         f"{', '.join(map(str, left))} of the remedy {'are' if len(left) > 1 else 'is'} left "
                         "(done 3, or done all)")
    if turn.question.name:
        names = retest_names(base, remedy_of(base, job), turn.found)
        shown = wrapped(f"To be read after the work: {', '.join(base.title(name) for name in names)}", 0, 2)
        return turn, (*part(TEXT, shown), *put(turn))
    return Change(turn, turn.found, new_round(base, turn.work),
                  said="A new round: what was read before stays on file but proves nothing any more.")


def compare(turn: Turn, rest: str, now: datetime) -> Heard:
    """Before and after side by side, with what it saves."""
    if not turn.retesting:
        raise EntryError("there is no after yet: take up a remedy, do its steps, then retest")
    found = assess(turn.found, turn.base, look_ahead=False)
    after = assess(turn.work.after, turn.base, look_ahead=False)
    return turn, part(TEXT, repairtext.comparison_lines(turn.base, found, after))


def close(turn: Turn, rest: str, now: datetime) -> Heard:
    """End the call where the retest proves every remedy, or where nothing was wrong; else say what is left."""
    if rest and normal(rest) not in _ANYWAY:
        raise EntryError(f"close stands alone, or with anyway; {shorten(rest)!r} after it has no meaning")
    if turn.work.closed is not None:
        return turn, part("said", [f"Closed already, on {turn.work.closed:%Y-%m-%d %H:%M}."])
    if ending.nothing_wrong(turn):
        unseen = ending.unseen(turn)
        if not unseen or normal(rest) in _ANYWAY:
            passed = [Entry(name, SKIPPED, None, SKIPPED, at=now) for name in unseen]
            said = f"CLOSED: {ending.found(turn)}; set and left at {ending.left_at(turn)}."
            said += f" Not looked at: {', '.join(map(turn.base.title, unseen))}." if unseen else ""
            return Change(turn, turn.found.having(*passed), replace(turn.work, closed=now), said=said)
    left = left_of(turn)
    if left:
        out = ["NOT CLOSED. What is left:", *[line for text in left for line in wrapped(text, 2, first="- ")]]
        asks = turn.question.name or (turn.work.job and open_steps(turn.base, turn.work.job))
        return turn, (*part(TEXT, out), *(put(turn, turn) if asks else ()))
    titles = ", ".join(turn.base.title(job.cause) for job in turn.work.jobs)
    return Change(turn, turn.found, replace(turn.work, closed=now), said=f"CLOSED: {titles}. The retest proves it.",
                  below=lambda new: part("said", [*_behind(new), *_again(new, now)]))


def left_of(turn: Turn) -> list[str]:
    """What is left before the case may be closed, one text each; empty where nothing is."""
    base, work = turn.base, turn.work
    if work.job is None:
        if ending.nothing_wrong(turn):
            return [*map(base.title, ending.unseen(turn)), "or: close anyway, and they stand as not looked at"]
        return ["no remedy is in hand: remedy CAUSE takes one up"]
    out = []
    for job in work.jobs:
        steps = open_steps(base, job)
        if steps:
            out.append(f"{base.title(job.cause)}: step {', '.join(map(str, steps))} of the remedy")
        elif turn.assessment is not None:
            out += verdict(base, turn.assessment, job).left
    standing = hazards_standing(turn)
    return out + [f"{base.title(name)} (hazard): not released; {base.hazards[name].released_when}" for name in standing]


def _behind(turn: Turn) -> list[str]:
    """Causes that bring about what was put right, and that were not ruled out."""
    base = turn.base
    mended = {job.cause for job in turn.work.jobs}
    words = {one.name: one.word for one in turn.arrival.causes} if turn.arrival else {}
    roots = [name for cause in mended for name in base.causes[cause].behind
             if name not in mended and words.get(name) in ("possible", "likely", "confirmed")]
    if not roots:
        return []
    return wrapped("It may come back where this is behind it: "
                   + ", ".join(f"{base.title(name)} ({words[name]})" for name in dict.fromkeys(roots)), 2, 4)


def _again(turn: Turn, now: datetime) -> list[str]:
    """By when the unit is looked at again, where what brought the fault about was not found."""
    base, out = turn.base, []
    for one in look_again(base, [job.cause for job in turn.work.jobs], now.date()):
        out += wrapped(f"What made {base.title(one.cause)} was not found ({one.behind(base)}): it comes back. "
                       f"Read {READ_AGAIN} again by {one.by}; kept in the record, the unit stands "
                       "on the list of that day (`burner-advisor tomorrow`).", 2, 4)
    return out


def status_lines(turn: Turn) -> list[str]:
    """Where the work stands, for the beginning and the end of a session; empty where there is none."""
    base, work = turn.base, turn.work
    out = []
    for job in work.jobs:
        count, left = len(remedy_of(base, job).steps), open_steps(base, job)
        state = f"{count - len(left)} of {count} steps done" if left else (
            "closed" if work.closed else "proven by the retest" if turn.assessment is not None
            and verdict(base, turn.assessment, job).proven else "done, not proven by the retest yet")
        out += wrapped(f"Remedy of {base.title(job.cause)}: {state}", 0, 2)
    return out
