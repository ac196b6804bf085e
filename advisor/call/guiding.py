"""The guided test and the guided setting of the air as part of the call: which step is due follows from the entries."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from advisor.call.changes import first_steps, folded
from advisor.call.parts import TEXT, Screen, part
from advisor.call.turn import Guide, Question, Turn
from advisor.pages import screen
from advisor.pages.instructions import how_lines, step_lines, stops_text
from advisor.pages.wording import columns, wrapped
from advisor.reasoning.case import Case, Entry, local_time
from advisor.reasoning.derive import derive
from advisor.reasoning.entries import EntryError, read_entry
from advisor.reasoning.gate import Stop
from advisor.visit.airsetting import AirAdvice, Figures, Scale, Setting, advise, figures_for, reset_effect, settings_of
from advisor.visit.curve import chart, table
from advisor.visit.procedure import Progress, Step, missing, next_step, passed_by, steps
from advisor.visit.steady import Steady, SteadyError, projection

STEADY: Final = "steady"
"""The question of the stack temperature over the minutes; it is no entry, so no name of the base."""
MARK: Final = "shutter_mark"
CHART: Final = 76
"""Columns that the picture of the curve takes."""


def progress_of(turn: Turn) -> Progress:
    """Where the guided test stands."""
    guide = turn.guide or Guide()
    return Progress(guide.kit, turn.case, guide.passed)


def guided(turn: Turn) -> Turn:
    """The turn with the question of the guided test or setting that is under way; without one where it is at an end,
    or where something forbids to go on.
    """
    if turn.guide is None or (turn.assessment is not None and turn.assessment.gate.emergency):
        return replace(turn, guide=None)
    return _air(turn) if turn.guide.air is not None else _test(turn)


# --- the test -------------------------------------------------------------------------------------------------------
def _test(turn: Turn) -> Turn:
    guide = turn.guide
    assert guide is not None
    step = next_step(progress_of(turn))
    while step is not None and not step.gives:  # only read, as the efficiency: it stands on the screen already
        guide = replace(guide, passed=guide.passed | {step.name})
        step = next_step(Progress(guide.kit, turn.case, guide.passed))
    if step is None:
        return replace(turn, guide=None)
    turn = replace(turn, guide=guide)
    elsewhere = _elsewhere(turn)
    if elsewhere is not None:
        return elsewhere
    if step.name == STEADY:
        return replace(turn, question=Question(STEADY, step.checks[0]))
    name = (missing(step, progress_of(turn)) or step.gives)[0]
    return replace(turn, question=Question(name, _giving(turn, step, name)))


def _giving(turn: Turn, step: Step, name: str) -> str:
    return next((check for check in step.checks if name in turn.base.checks[check].gives), step.checks[0])


def _elsewhere(turn: Turn) -> Turn | None:
    """The turn with the look that has to be made first, or without the guide, where something stops it; None where it
    goes on.
    """
    wanted, stops, _ = _stopping(turn)
    if wanted:
        return replace(turn, question=Question(wanted))
    return replace(turn, guide=None) if stops else None


def _stopping(turn: Turn) -> tuple[str, tuple[Stop, ...], str]:
    """The look that has to be made before what the guide asks next; else what stops it, and what that is."""
    base, guide = turn.base, turn.guide
    step = step_of(turn)
    if guide is None or (guide.air is None and (step is None or not step.gives)):
        return "", (), ""
    if step is None:
        settings, advice = _so_far(turn)
        closing = bool(settings) and _going_on(turn, settings, advice)[1]
        acts, gives, what = {"less-air" if closing else "run"}, set[str](), "The setting of the air stops"
    else:
        checks = [base.checks[name] for name in step.checks]
        acts = set(base.acts_of(step.acts).union(*map(base.acts_of_check, checks)))
        gives, what = {name for check in checks for name in check.gives}, f"The test stops before {step.title}"
    stops = turn.gate.stops(acts, tuple(gives))
    first = next((stop.look for stop in stops if stop.missing and stop.look not in turn.case.latest), "")
    return first, () if first else stops, what


def begun(turn: Turn, before: Turn | None) -> Screen:
    """The step of the guide that begins with this question; the curve, where the air is set."""
    assert turn.guide is not None
    if turn.guide.air is not None:
        return _curve(turn, before)
    step = next_step(progress_of(turn))
    had = next_step(progress_of(before)) if before is not None and before.guide is not None else None
    if step is None or (had is not None and had.name == step.name and before is not None
                        and before.question.check == turn.question.check):
        return ()
    order = [one.name for one in steps(turn.guide.kit)]
    place = f"{order.index(step.name) + 1}/{len(order)} " if step.name in order else ""
    lead = wrapped(f"{place}{step.title.upper()}: {step.reason}", 0, 6)
    checks = [turn.base.checks[name] for name in step.checks
              if name == turn.question.check or turn.question.name == STEADY]
    whole = [*lead, *(line for check in checks
                      for line in (*wrapped(f"{check.title}:", 2), *how_lines(turn.gate, check)))]
    first = first_steps(turn.gate, [one for check in checks for one in check.how[:2]],
                        {name for check in checks for name in check.gives})
    fresh = had is None or had.name != step.name
    shown = folded(lead, 3) if fresh else wrapped(checks[0].title if checks else step.title, 0, 6, "NEXT  ")
    return part("check", [*shown, *first], shown[:1], whole=whole)


def step_of(turn: Turn) -> Step | None:
    """The step of the guided test that is due; None where none is."""
    return None if turn.guide is None or turn.guide.air is not None else next_step(progress_of(turn))


def skipped(turn: Turn) -> tuple[Guide, str]:
    """The guide with the step that is due passed by, and what is lost by it."""
    step = step_of(turn)
    assert step is not None
    assert turn.guide is not None
    return replace(turn.guide, passed=passed_by(progress_of(turn), step).passed), f"Passed by. {step.lost}"


def finished(turn: Turn) -> Screen:
    """What the test says, once it is complete."""
    assert turn.assessment is not None
    found = [line for shown in (screen.numbers(turn.base, turn.assessment),
                                screen.causes(turn.base, turn.assessment, 3)) for line in shown]
    return part(TEXT, ["THE TEST IS COMPLETE", *found])


# --- stack temperatures over the minutes ----------------------------------------------------------------------------
def steady_entries(turn: Turn, line: str, now: datetime) -> tuple[Guide, tuple[Entry, ...], str]:
    """What a line says where the stack is read each minute: the guide, the entries, and how steady it is.

    Errors: `EntryError`.
    """
    assert turn.guide is not None
    guide, said = turn.guide, line.strip().lower()
    if said in ("yes", "no", "y", "n"):
        answer = "yes" if said[0] == "y" else "no"
        return guide, (Entry("warmed_up", line, answer, at=now),), ""
    try:
        minute, text = _minute(line)
        entry = replace(read_entry(turn.base, "stack_temperature", text), at=now)
        series = _series(turn.case)
        if minute is not None and series:
            entry = replace(entry, at=series[0][0] + timedelta(minutes=minute - (guide.minute or 0.0)))
        elif minute is not None:
            guide = replace(guide, minute=minute)
        if not isinstance(entry.value, float) or entry.at is None:
            return guide, (entry,), ""
        found = _judge([*series, (entry.at, entry.value)])
    except (SteadyError, OverflowError) as error:
        raise EntryError(str(error)) from None
    if found.steady and found.rate is not None:
        rate = round(found.rate, 1)
        return guide, (entry, Entry("stack_rise_rate", f"{rate:g} degF", rate, at=entry.at),
                       Entry("warmed_up", "yes", "yes", at=entry.at)), found.why
    return guide, (entry,), found.why


def _minute(line: str) -> tuple[float | None, str]:
    """The minute before a temperature, where there is one."""
    words = line.split()
    try:
        if len(words) == 2 and float(words[1].rstrip("FfCc")) is not None:
            minute = float(words[0])
            if not 0.0 <= minute <= 600.0:
                raise SteadyError(f"minute {words[0]}: wants 0 to 600")
            return minute, words[1]
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


# --- setting the air ------------------------------------------------------------------------------------------------
def figures(turn: Turn) -> Figures:
    """The figures of the setting: those of this unit, on the scale of its shutter."""
    scale = (turn.guide.air if turn.guide else None) or Scale()
    return figures_for(turn.case, turn.base, scale)


def _air(turn: Turn) -> Turn:
    """The turn with what the setting of the air asks next; its end is put into the case by `air_ends`."""
    assert turn.guide is not None
    if "burner_type" not in turn.case.values:
        return replace(turn, question=Question("burner_type"))
    settings, advice = _so_far(turn)
    if not _going_on(turn, settings, advice)[0]:
        return replace(turn, guide=None)
    elsewhere = _elsewhere(turn)
    if elsewhere is not None:
        return elsewhere
    asked = _open_of_setting(turn)
    return replace(turn, question=Question(asked[0], _check_of(turn, asked[0])))


def _check_of(turn: Turn, name: str) -> str:
    checks = turn.base.checks_giving.get(name, ())
    return checks[0].name if checks else ""


def _so_far(turn: Turn) -> tuple[tuple[Setting, ...], AirAdvice]:
    settings = settings_of(turn.case, turn.base)
    return settings, advise(settings, figures(turn))


def _going_on(turn: Turn, settings: tuple[Setting, ...], advice: AirAdvice) -> tuple[bool, bool]:
    """Whether another setting is to be read, and whether it takes air away."""
    if _open_of_setting(turn) != (MARK,):
        return True, False
    confirm = advice.kind == "set" and settings[-1].shutter != advice.shutter
    place = figures(turn).place
    closing = advice.shutter is not None and bool(settings) and place(advice.shutter) < place(settings[-1].shutter)
    return advice.kind == "try" or confirm, closing


def _open_of_setting(turn: Turn) -> tuple[str, ...]:
    """What is still to be read at the mark where the shutter stands; the next mark where all is."""
    assert turn.guide is not None
    gas = "co2" if turn.guide.kit == "wet" else "o2"
    since: set[str] | None = None
    for entry in turn.case.entries:
        if entry.name == MARK and isinstance(entry.value, float):
            since = set()
        elif since is not None and (entry.value is not None or entry.name == "co"):
            since.add(entry.name)
    if since is None:
        return (MARK,)
    had = since | ({gas} if since & {"co2", "o2"} else set())
    return tuple(name for name in ("smoke", gas, "co") if name not in had) or (MARK,)


def _curve(turn: Turn, before: Turn | None) -> Screen:
    """The settings so far and where to go next, once one is complete."""
    if turn.question.name != MARK:
        return ()
    settings, advice = _so_far(turn)
    aims = figures(turn)
    if not settings:
        lead = ["SETTING THE AIR", *step_lines(turn.gate, turn.base.checks["mark-shutter"].how, 2)]
        aim = wrapped(f"Scale: {aims.shut:g} is shut, {aims.wide:g} wide open. Aim: {aims.margin:g} points of CO2 "
                      f"below the knee, CO2 {aims.floor:.1f} to {aims.ceiling:.1f} %, CO up to {aims.co_limit:g} ppm. "
                      "Draft and oil pressure come first; blower and head have to be clean. At each mark wait two "
                      "minutes.", 2)
        cautions = [line for text in turn.base.checks["air-trial"].cautions for line in wrapped(text, 2, first="! ")]
        return part("check", [*lead, *aim, *cautions], [*aim[:2], *cautions[:2]])
    picture = chart(settings, advice.knee, advice.aim, aims.ceiling) if columns() >= CHART else []
    now = settings[-1].shutter
    out = wrapped(advice.reason, 2)
    if advice.shutter is not None and advice.shutter != now:
        way = "Open" if aims.place(advice.shutter) > aims.place(now) else "Close"
        out += wrapped(f"{way} from mark {now:g} to {advice.shutter:g} ({abs(advice.shutter - now):.3g} marks)"
                       + (f"; CO2 should read about {advice.aim:.1f} %." if advice.aim else "."), 2)
    return part("check", [*picture, *table(settings), *out], [*table(settings)[-3:], *out], out)


def air_ends(turn: Turn, now: datetime) -> tuple[tuple[Entry, ...], list[str]]:
    """How the setting of the air has ended: what goes into the case, and what is said; nothing while it goes on."""
    if turn.guide is None or turn.guide.air is None or not settings_of(turn.case, turn.base):
        return (), []
    settings, advice = _so_far(turn)
    if _going_on(turn, settings, advice)[0]:
        return (), []
    found = list(advice.findings)
    if advice.kind == "set":
        found.append(("air_reset_effect", reset_effect(settings, advice, figures(turn))))
        said = f"SETTING FOUND: mark {advice.shutter:g}. Lock the shutter there; mark and readings go on the tag."
    elif advice.kind == "none":
        said = (f"NO SETTING WILL DO. Leave the shutter at mark {advice.shutter:g} for now, the cleanest that was "
                "read; do not leave the unit running where a hazard is shown.")
    else:
        said = "THE READINGS CONTRADICT EACH OTHER. No setting is advised from them."
    entries = [Entry(name, answer, answer, at=now) for name, answer in found] if advice.kind != "unclear" else []
    return tuple(entries), [*table(settings), *wrapped(f"{said} {advice.reason}", 0, 2)]


def stopped(turn: Turn) -> str:
    """Why the guide cannot go on, in words; empty where it can."""
    _, stops, what = _stopping(turn)
    return f"{what}: {stops_text(turn.base, stops)}." if stops else ""


def out_of_order(turn: Turn, entries: Iterable[Entry]) -> bool:
    """Whether a draft just read is out of the ordinary, so that the regulator may be set for it now."""
    bands = derive(turn.case, turn.base).bands
    return any(one.name in ("draft_over_fire", "draft_breech") and one.name in bands
               and bands[one.name].symbol != "normal" for one in entries)
