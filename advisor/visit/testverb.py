"""The verb `test`: the guided test of a burner, and the guided setting of its air, in plain lines."""

from __future__ import annotations

import argparse
import math
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.pages import screen
from advisor.pages.instructions import emergency_lines, step_lines
from advisor.pages.wording import CAUTIONS, wrapped
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, Entry, local_time
from advisor.reasoning.casefile import alone_on, read_case
from advisor.reasoning.derive import derive
from advisor.reasoning.entries import EntryError, normal
from advisor.visit.airfigures import ORDINARY_MARGIN
from advisor.visit.airguide import Scale, guide
from advisor.visit.airsetting import Figures, SettingError
from advisor.visit.desk import Desk, Left, cannot, is_command
from advisor.visit.procedure import Progress, Step, missing, next_step, passed_by, regulator_moved, steps
from advisor.visit.steady import Steady, SteadyError, projection

SOUND: Final = 0
HAZARD: Final = 1
BAD_INPUT: Final = 2
INTERRUPTED: Final = 130

_HELP: Final = (
    "a value or an answer    what is asked for; `NAME VALUE` enters any other reading",
    "how, why, mistakes      of this step",
    "cannot                  this one cannot be checked here",
    "skip                    pass this step by; it says what is lost",
    "regulator               the draft regulator was moved: read draft and smoke again",
    "air                     the guided setting of the air",
    "numbers, causes         what follows from the entries so far",
    "undo                    take back the last entry",
    "quit                    leave; everything is in the case file",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the words that may follow `test`."""
    parser.add_argument("case", metavar="CASE.yaml", nargs="?",
                        help="the case file to keep, or to go on with; by default a new one named by date and time")
    parser.add_argument("--kit", choices=("wet", "analyzer"), default="wet",
                        help="manual wet kit, or electronic analyzer (default: wet)")
    parser.add_argument("--air", action="store_true", help="only the guided setting of the air")
    parser.add_argument("--svg", metavar="FILE", help="draw the smoke-CO2 curve of the air setting as SVG")
    parser.add_argument("--shut", type=float, default=0.0, metavar="MARK", help="mark when shut (default 0)")
    parser.add_argument("--wide", type=float, default=10.0, metavar="MARK", help="mark wide open (default 10)")
    parser.add_argument("--step", type=float, metavar="MARKS", help="smallest move of the shutter (default 1/100)")
    parser.add_argument("--margin", type=float, metavar="POINTS",
                        help="CO2 to stay below the knee, 0.5 to 2 points (default 1, by the day up to 2)")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Run the verb.

    Parameters
    ----------
    arguments : argparse.Namespace
        As :func:`add_arguments` makes them.
    base : Base

    Returns
    -------
    int
        0 sound, 1 a hazard was found, 2 bad input, 130 left by Ctrl-C.

    Raises
    ------
    LibraryError
        A case file that cannot be read.
    """
    scale = Scale(arguments.shut, arguments.wide, arguments.step, arguments.margin,
                  Path(arguments.svg) if arguments.svg else None)
    try:
        if not all(math.isfinite(one) for one in (scale.shut, scale.wide, scale.margin or 1.0, scale.step or 1.0)):
            raise SettingError("a mark, step or margin is no number; write one such as 7.5")
        margin = ORDINARY_MARGIN if scale.margin is None else scale.margin
        Figures(margin=margin, shut=scale.shut, wide=scale.wide, step=scale.step)
    except SettingError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    path = Path(arguments.case) if arguments.case else _fresh_path()
    with alone_on(path):
        return _led(arguments, base, scale, path)


def _led(arguments: argparse.Namespace, base: Base, scale: Scale, path: Path) -> int:
    case = read_case(path, base) if path.exists() else Case()
    desk = Desk(base, path, Progress("analyzer" if arguments.kit == "analyzer" else "wet", case))
    for text in CAUTIONS:
        desk.say(text)
    desk.say(f"Every line is kept in {path} before the next is asked. `help` lists what can be typed.")
    status = SOUND
    try:
        if case.entries:
            desk.alarms()
            desk.say(f"Going on with {len(case.entries)} entries.")
        if arguments.air:
            guide(desk, scale)
        else:
            lead(desk, scale)
    except SettingError as error:  # settings read earlier lie off the scale given now
        print(f"{path}: {error}; give the scale of those readings with --shut and --wide", file=sys.stderr)
        return BAD_INPUT
    except Left as left:
        kept = f"it goes on with `test {path}`" if path.exists() else "nothing was entered"
        desk.say(emergency_lines(base, desk.now().gate) if left.emergency else f"Left; {kept}.")
        status = INTERRUPTED if left.interrupted else SOUND
    if status == SOUND and assess(desk.case, base, look_ahead=False).hazards:
        return HAZARD
    return status


def _fresh_path() -> Path:
    stem = f"test-{datetime.now():%Y-%m-%d-%H%M}"
    names = (f"{stem}{f'-{number}' if number else ''}.yaml" for number in range(1000))
    return next(path for path in map(Path, names) if not path.exists())


def lead(desk: Desk, scale: Scale) -> None:
    """Lead through the steps of the test that are due. Errors: `Left`; SettingError for a wrong scale of the air."""
    shown = ""
    while True:
        step = next_step(desk.progress)
        if step is None:
            _finish(desk)
            return
        wanted = _stopped(desk, step)
        if wanted:
            _ask(desk, step, wanted, scale)
            continue
        if step.name != shown:
            _announce(desk, step)
            shown = step.name
        if step.name == "steady":
            _steady(desk, step, scale)
        elif not step.gives:
            _told(desk, step)
        else:
            _ask(desk, step, (missing(step, desk.progress) or step.gives)[0], scale)


def _stopped(desk: Desk, step: Step) -> str:
    """The look that has to be made before a step; empty where it may be done. Errors: `Left` where it may not."""
    checks = [desk.base.checks[name] for name in step.checks]
    acts = desk.base.acts_of(step.acts).union(*map(desk.base.acts_of_check, checks))
    gives = {name for check in checks for name in check.gives}
    return desk.look_first(acts, f"The test stops before {step.title}", gives)


def _announce(desk: Desk, step: Step) -> None:
    order = [one.name for one in steps(desk.progress.kit)]
    place = f"{order.index(step.name) + 1}/{len(order)} " if step.name in order else ""
    print()
    desk.say(f"{place}{step.title.upper()}")
    desk.say(step.reason, 2)
    if place:
        _how(desk, step)


def _how(desk: Desk, step: Step) -> None:
    for name in step.checks:
        check = desk.base.checks[name]
        if len(step.checks) > 1:
            desk.say(f"{check.title}:", 2)
        desk.say(step_lines(desk.now().gate, check.how, gives=check.gives))
        for caution in check.cautions:
            desk.say(wrapped(caution, 4, first="! "))


def _ask(desk: Desk, step: Step, name: str, scale: Scale) -> None:
    """Ask for one name, and do what the line says."""
    desk.question(name)
    line = desk.read(desk.base.title(name))
    if _command(desk, step, line, scale):
        return
    if is_command(line, "cannot", "can't", "?"):
        desk.enter(cannot(name))
        return
    if not line:
        return
    try:
        entries = desk.understand(name, line)
    except EntryError as error:
        desk.refuse(error)
        return
    desk.enter(*entries)
    if any(one.name in ("draft_over_fire", "draft_breech") and _out_of_order(desk, one.name) for one in entries):
        desk.say("Where the regulator is set for this now, type `regulator`, so that draft and smoke are read again.",
                 2)


def _out_of_order(desk: Desk, name: str) -> bool:
    band = derive(desk.case, desk.base).bands.get(name)
    return band is not None and band.symbol != "normal"


def _command(desk: Desk, step: Step, line: str, scale: Scale) -> bool:
    """Do what a command says; False where the line is none."""
    if is_command(line, "quit", "q", "exit"):
        raise Left
    if is_command(line, "help", "h"):
        desk.say(f"  {one}" for one in _HELP)
    elif is_command(line, "how"):
        _how(desk, step)
    elif is_command(line, "why"):
        desk.say(step.reason, 2)
        for name in step.checks:
            desk.say(f"{desk.base.title(name)}: {desk.base.checks[name].why}", 2)
    elif is_command(line, "mistakes"):
        for name in step.checks:
            for mistake in desk.base.checks[name].mistakes:
                desk.say(wrapped(mistake, 4, first="- "))
    elif is_command(line, "skip"):
        desk.say(f"Passed by. {step.lost}", 2)
        desk.keep(passed_by(desk.progress, step))
    elif is_command(line, "regulator"):
        desk.keep(regulator_moved(desk.progress))
        desk.say("The regulator moves the draft, and draft moves the air of the flame: read drafts and smoke again, "
                 "and all that follows.", 2)
    elif is_command(line, "air"):
        guide(desk, scale)
    elif is_command(line, "numbers"):
        desk.say(screen.numbers(desk.base, assess(desk.case, desk.base, look_ahead=False)) or ["  none yet"])
    elif is_command(line, "causes"):
        desk.say(screen.causes(desk.base, assess(desk.case, desk.base, look_ahead=False)) or ["  none yet"])
    elif is_command(line, "undo", "u"):
        desk.undo()
    else:
        return False
    return True


def _steady(desk: Desk, step: Step, scale: Scale) -> None:
    """Stack temperatures over time, until they are steady."""
    desk.say("Enter the stack temperature each minute: `430`, or with the minute `5 430`. `yes` where it is known to "
             "be steady, `no` to go on unsteady.", 2)
    first_minute: float | None = None
    while next_step(desk.progress) == step:
        line = desk.read("stack temperature")
        if not line or _command(desk, step, line, scale):
            continue
        if is_command(line, "yes", "no", "cannot"):
            said = normal(line)
            desk.enter(cannot("warmed_up") if said == "cannot" else Entry("warmed_up", said, said))
            return
        try:
            minute, text = _minute(line)
            entry, *more = desk.understand("stack_temperature", text)
            if more or entry.name != "stack_temperature":
                desk.enter(entry, *more)
                continue
            at = datetime.now().replace(microsecond=0)
            series = _series(desk.case)
            if minute is not None and series:
                first_minute = 0.0 if first_minute is None else first_minute
                at = series[0][0] + timedelta(minutes=minute - first_minute)
            elif minute is not None:
                first_minute = minute
            if isinstance(entry.value, float):
                found = _judge([*series, (at, entry.value)])
        except (EntryError, SteadyError, OverflowError) as error:
            desk.refuse(error)
            continue
        desk.enter(replace(entry, at=at))
        if entry.value is None:
            continue
        desk.say(found.why, 2)
        if found.steady and found.rate is not None:
            rate = round(found.rate, 1)
            desk.enter(Entry("stack_rise_rate", f"{rate:g} degF", rate), Entry("warmed_up", "yes", "yes"))
            return


def _minute(line: str) -> tuple[float | None, str]:
    """The minute before a temperature, where there is one."""
    words = line.split()
    try:
        if len(words) > 1 and float(words[1].rstrip("FfCc")) is not None:
            minute = float(words[0])
            if not 0.0 <= minute <= 600.0:
                raise SteadyError(f"minute {words[0]}: wants 0 to 600")
            return minute, " ".join(words[1:])
    except ValueError as error:
        if isinstance(error, SteadyError):
            raise
    return None, line


def _series(case: Case) -> list[tuple[datetime, float]]:
    """The stack temperatures of this warm-up: those after the last word on steady state."""
    out: list[tuple[datetime, float]] = []
    for entry in case.entries:
        if entry.name == "warmed_up":
            out = []
        elif entry.name == "stack_temperature" and entry.at is not None and isinstance(entry.value, float):
            out.append((entry.at, entry.value))
    return out


def _judge(series: list[tuple[datetime, float]]) -> Steady:
    times = [local_time(at) for at, _ in series]  # in a file, some have a zone and some have none
    return projection([(at - times[0]).total_seconds() / 60.0 for at in times], [degf for _, degf in series])


def _told(desk: Desk, step: Step) -> None:
    """A step that gives nothing to enter: show it, and go on."""
    if step.name == "efficiency":
        found = assess(desk.case, desk.base, look_ahead=False)
        names = ("net_stack", "excess_air", "co_air_free", "efficiency", "dew_point")
        desk.say(line for line in screen.numbers(desk.base, found)
                 if any(line.startswith(f"  {desk.base.title(name)[:40]}") for name in names))
        if "efficiency" not in found.findings.numbers:
            desk.say("It cannot be computed: it wants stack temperature, air temperature, and CO2 or O2.", 2)
    desk.keep(passed_by(desk.progress, step))


def _finish(desk: Desk) -> None:
    """The whole of what the test says."""
    print()
    desk.say("THE TEST IS COMPLETE")
    found = assess(desk.case, desk.base)
    for part in (screen.hazards(desk.base, found), screen.doubts(desk.base, found),
                 screen.numbers(desk.base, found), screen.conclusions(desk.base, found),
                 screen.causes(desk.base, found), screen.next_check(desk.base, found)):
        if part:
            print()
            desk.say(part)
