"""The verb `practice`: a call to learn on. A thin prompt around `practice.turn`, which does all there is to do."""

from __future__ import annotations

import argparse
import random
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from advisor.bench.benchfiles import BenchError
from advisor.bench.callfiles import call_named, our_calls, read_calls
from advisor.bench.callitems import LEVELS, PracticeCall, practice_data
from advisor.bench.classsummary import summary
from advisor.bench.debrief import compared, debrief, judged
from advisor.bench.drawcall import draw
from advisor.bench.effectstext import MODEL
from advisor.bench.effectsverb import cause_called
from advisor.bench.practice import State, begin, turn, work_order
from advisor.bench.progress import Played, Progress, default_place
from advisor.library.base import Base
from advisor.pages.wording import wrapped

_MOST_SEED = 1_000_000
_MOST_LINE = 100_000
_DRAWN = "drawn"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The words after `practice`."""
    parser.description = ("A practice call: a work order, a unit with something hidden, and your own words to look, "
                          "read and mend. It closes with a diagnosis, and then says what was right, needless, unsafe.")
    parser.epilog = MODEL
    parser.add_argument("call", nargs="?", metavar="CALL",
                        help="a call of ours by its name (--list), or a file of your own; without it one is drawn")
    parser.add_argument("--name", metavar="NAME", help="which call of a file of your own")
    parser.add_argument("--learner", metavar="NAME", help="keep the call, so that it can be taken up again")
    parser.add_argument("--level", type=int, metavar="N",
                        help="; ".join(f"{one} {what}" for one, what in LEVELS.items()))
    parser.add_argument("--subject", metavar="SUBJECT", help="air, oil, ignition, draft, exchanger or controls")
    parser.add_argument("--cause", metavar="CAUSE", help="a call that turns out to be this (for instructors)")
    parser.add_argument("--seed", type=int, metavar="N", help="the same number gives the whole class the same call")
    parser.add_argument("--new", action="store_true", help="begin a new call though one is open")
    parser.add_argument("--list", action="store_true", help="list our calls, levels and subjects")
    parser.add_argument("--check", metavar="FILE", type=Path, help="check a file of calls of your own; plays nothing")
    parser.add_argument("--summary", action="store_true", help="how the learners do, for the instructor")
    parser.add_argument("--file", metavar="FILE", type=Path, help="where the record of practice stands")


@dataclass(frozen=True, slots=True)
class _Chosen:
    """A call, and how it can be found again."""

    call: PracticeCall
    source: str
    seed: int = 0
    level: int = 1
    subject: str = ""
    cause: str = ""


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do it; returns the exit status. Errors: BenchError, LibraryError."""
    if arguments.list:
        return _show(_listed(base))
    if arguments.check:
        calls = read_calls(base, arguments.check)
        return _show([f"{arguments.check}: {len(calls)} call{'s' if len(calls) != 1 else ''}, no problems"])
    place = arguments.file or default_place()
    if arguments.summary:
        if not place.exists():
            raise BenchError(f"{place}: there is no record of practice here yet; `practice --learner NAME` begins one")
        with Progress(place) as progress:
            return _show(summary(base, progress.played(arguments.learner or "")))
    if not arguments.learner:
        return _play(base, _chosen(base, arguments, ()), None, 0, ())
    with Progress(place) as progress:
        asked = any((arguments.call, arguments.cause, arguments.subject, arguments.new, arguments.level is not None,
                     arguments.seed is not None))
        going = None if asked else progress.open_call(arguments.learner)
        if going is not None:
            return _play(base, _again(base, going), progress, going.number, progress.lines(going.number))
        chosen = _chosen(base, arguments, () if asked else progress.due(arguments.learner, datetime.now().date()))
        number = progress.begin(arguments.learner, chosen.source, chosen.seed, chosen.level, chosen.subject,
                                chosen.cause, datetime.now())
        return _play(base, chosen, progress, number, ())


def _chosen(base: Base, arguments: argparse.Namespace, due: Iterable[str]) -> _Chosen:
    """The call that the words ask for; where they ask for none, one about what is due for the learner again."""
    if arguments.call:
        source = arguments.call
        if Path(source).suffix in (".yaml", ".yml") or Path(source).exists():
            source = f"{Path(source).resolve()}#{arguments.name or ''}"
        return _written(base, source)
    level = 1 if arguments.level is None else arguments.level
    seed = random.SystemRandom().randrange(_MOST_SEED) if arguments.seed is None else arguments.seed
    cause = cause_called(base, arguments.cause).name if arguments.cause else next(
        (one for one in due if one in base.causes), "")
    subject = arguments.subject or ""
    return _Chosen(draw(base, seed, level, subject, cause), _DRAWN, seed, level, subject, cause)


def _written(base: Base, source: str) -> _Chosen:
    """A call that somebody wrote: ours by its name, or `FILE#NAME`."""
    file, mark, name = source.rpartition("#")
    if not mark:
        call = call_named(base, source)
    else:
        calls = read_calls(base, Path(file))
        if (name and name not in calls) or not calls:
            raise BenchError(f"{file}: no call is called {name!r}; it holds {', '.join(calls) or 'none'}")
        if not name and len(calls) > 1:
            raise BenchError(f"{file}: holds {', '.join(calls)}; say which with --name")
        call = calls[name] if name else next(iter(calls.values()))
    return _Chosen(call, source, call.seed, call.level, call.subject)


def _again(base: Base, one: Played) -> _Chosen:
    """The call of the record, made anew."""
    if one.source != _DRAWN:
        return _written(base, one.source)
    call = draw(base, one.seed, one.level, one.subject, one.cause)
    return _Chosen(call, _DRAWN, one.seed, one.level, one.subject, one.cause)


def _play(base: Base, chosen: _Chosen, progress: Progress | None, number: int, before: Iterable[str]) -> int:
    """The prompt: lines in, lines out, each kept before it is answered."""
    state, count = begin(base, chosen.call), 0
    for kept in before:
        state, count = turn(base, state, kept)[0], count + 1
    named = f"seed {chosen.seed}, level {chosen.level}" if chosen.source == _DRAWN else f"level {chosen.level}"
    _show([f"Practice call ({named}). {LEVELS[chosen.call.level]}.", *wrapped(MODEL), "", *work_order(base, state), ""])
    if count:
        _show([f"Going on after {count} lines, {state.minutes:.0f} minutes into the call; `notes` shows the findings"])
    _show(["Write what you look at, read or do; `help` shows how. Close with: diagnosis CAUSE"])
    while not state.over:
        line = _line()
        if line is None:
            break
        before_it = state
        state, lines = turn(base, state, line)
        if progress is not None and not state.stopped and state != before_it:
            progress.keep(number, count, line)
            count += 1
        _show(lines)
        if state.stopped:
            break
    if not state.over:
        return _show(["The call is kept; `practice --learner` with the same name takes it up again." if progress else
                      "The call was not closed, and is not kept: name a --learner to keep it."])
    _show(debrief(base, state))
    if progress is not None:
        _close(base, state, chosen, progress, number)
    return 0


def _close(base: Base, state: State, chosen: _Chosen, progress: Progress, number: int) -> None:
    verdict = judged(base, state)
    needless = sum(one.needless for one in compared(base, state))
    now = datetime.now()
    played = Played(number, "", chosen.source, chosen.seed, chosen.level, chosen.call.subject, chosen.cause, now, now,
                    verdict.word, state.call.hidden, state.verdict, state.minutes, state.cost, len(state.unsafe),
                    bool(state.ended), needless)
    progress.close(played, () if state.ended else verdict.found, now.date())


def _line() -> str | None:
    """One line; None at the end of the input."""
    print("> ", end="", flush=True)
    line = sys.stdin.readline(_MOST_LINE)
    if not sys.stdin.isatty():
        print(line.rstrip("\r\n")[:76])
    return line if line else None


def _listed(base: Base) -> list[str]:
    out = ["CALLS"]
    for call in our_calls(base).values():
        out += wrapped(f"{call.name:<24} level {call.level}  {call.title}", 2, 35)
    out += ["", "LEVELS (--level)", *(f"  {number}  {words}" for number, words in LEVELS.items())]
    return [*out, "", "SUBJECTS (--subject)", *wrapped(", ".join(practice_data(base).subjects), 2)]


def _show(lines: Iterable[str]) -> int:
    for line in lines:
        print(line)
    sys.stdout.flush()
    return 0
