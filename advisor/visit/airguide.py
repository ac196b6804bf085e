"""The guided setting of the air as a conversation: mark, smoke, CO2 or O2, CO, until it is clear how it ends."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from advisor.library.base import Base
from advisor.pages import screen
from advisor.pages.instructions import step_lines
from advisor.physics import combustion
from advisor.physics.units import PhysicsError
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.casefile import write_whole
from advisor.reasoning.derive import derive
from advisor.reasoning.entries import EntryError
from advisor.visit.airsetting import AirAdvice, Figures, Setting, SettingError, advise, figures_for, reset_effect
from advisor.visit.curve import chart, svg, table
from advisor.visit.desk import Desk, Left, cannot, is_command
from advisor.visit.procedure import air_moved


@dataclass(frozen=True, slots=True)
class Scale:
    """The scale of the shutter and the margin (none: that of the day), as given on the command line; `svg` is where to
    draw the curve.
    """

    shut: float = 0.0
    wide: float = 10.0
    step: float | None = None
    margin: float | None = None
    svg: Path | None = None


def settings_of(case: Case, base: Base) -> tuple[Setting, ...]:
    """The air settings of a case: each mark with the smoke, CO2 and CO entered after it, before the next mark.

    CO2 is computed from O2 where only that was entered. A mark without smoke and CO2 makes no setting.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> entries = [("shutter_mark", 4.0), ("smoke", 0.0), ("o2", 6.0), ("shutter_mark", 3.5), ("smoke", 1.0)]
    >>> case = Case(tuple(Entry(name, str(value), value) for name, value in entries))
    >>> [(one.shutter, one.smoke, round(one.co2, 1), one.co) for one in settings_of(case, load())]
    [(4.0, 0.0, 11.1, None)]
    """
    fuel = derive(case, base).fuel
    groups: list[dict[str, float]] = []
    for entry in case.entries:
        if not isinstance(entry.value, float):
            continue
        if entry.name == "shutter_mark":
            groups.append({"shutter_mark": entry.value})
        elif groups:
            groups[-1][entry.name] = entry.value
    out = []
    for group in groups:
        co2 = group.get("co2")
        if co2 is None and "o2" in group:
            try:
                co2 = combustion.co2_from_o2(fuel, group["o2"])
            except PhysicsError:
                continue
        if co2 is not None and co2 > 0 and "smoke" in group:
            out.append(Setting(group["shutter_mark"], group["smoke"], round(co2, 2), group.get("co")))
    return tuple(out)


def guide(desk: Desk, scale: Scale) -> AirAdvice:
    """Lead through the setting of the air; returns how it ended. Errors: `Left`; SettingError for a wrong scale."""
    desk.alarms()
    _kind_of_burner(desk)
    _may(desk, ("run",), "the air is set")
    figures = figures_for(desk.case, desk.base, scale.margin, scale.shut, scale.wide)
    figures = Figures(figures.ceiling, figures.floor, figures.co_limit, figures.clean, figures.tolerated,
                      figures.margin, scale.shut, scale.wide, scale.step)
    _begin(desk, figures)
    while True:
        settings = settings_of(desk.case, desk.base)
        advice = advise(settings, figures)
        confirm = advice.kind == "set" and settings[-1].shutter != advice.shutter
        going_on = advice.kind == "try" or confirm
        closing = advice.shutter is not None and bool(settings) and (
            figures.place(advice.shutter) < figures.place(settings[-1].shutter))
        acts = ("less-air",) if closing else ("run",)
        if settings:
            _show(desk, settings, advice, figures, scale.svg, going_on and bool(desk.now().gate.stops(acts)))
        if going_on:
            _may(desk, acts, "less air is given" if closing else "more is read")
            if confirm:
                desk.say(f"It was read before; go back to mark {advice.shutter:g} and read it once more, so that all "
                         "readings are of the setting that stays.", 2)
            _one_setting(desk, advice, figures)
            continue
        _end(desk, settings, advice, figures)
        return advice


def _may(desk: Desk, acts: tuple[str, ...], what: str) -> None:
    """Go on only where these acts may be done now; looks that are wanted first are asked. Errors: `Left`."""
    while look := desk.look_first(acts, f"The setting stops before {what}"):
        _answered(desk, look)


def _answered(desk: Desk, name: str) -> None:
    """Ask for a name once, and enter the answer or say why it cannot be taken. Errors: `Left`."""
    desk.question(name)
    line = desk.read(desk.base.title(name))
    if is_command(line, "quit", "q", "exit"):
        raise Left
    try:
        desk.enter(*((cannot(name),) if is_command(line, "cannot", "skip", "?") else desk.understand(name, line)))
    except EntryError as error:
        desk.refuse(error)


def _kind_of_burner(desk: Desk) -> None:
    """Ask for the kind of burner, on which the lowest good CO2 depends."""
    while "burner_type" not in desk.case.latest:
        _answered(desk, "burner_type")


def _begin(desk: Desk, figures: Figures) -> None:
    desk.say("SETTING THE AIR")
    desk.say(step_lines(desk.now().gate, desk.base.checks["mark-shutter"].how, 2))
    desk.say(f"Scale: {figures.shut:g} is shut, {figures.wide:g} wide open. Aim: {figures.margin:g} points of CO2 "
             f"below the knee, CO2 {figures.floor:.1f} to {figures.ceiling:.1f} %, CO up to {figures.co_limit:g} "
             "ppm. Draft and oil pressure come first; fan and head have to be clean.", 2)
    for caution in desk.base.checks["air-trial"].cautions:
        desk.say(f"! {caution}", 2)
    desk.say("At each mark wait two minutes. `cannot` where there is no meter, `undo`, `quit`.", 2)


def _one_setting(desk: Desk, advice: AirAdvice, figures: Figures) -> None:
    """Ask for a mark and its readings."""
    gas = "co2" if desk.progress.kit == "wet" else "o2"
    mark = _mark(desk, advice, figures)
    desk.keep(air_moved(desk.progress))
    desk.enter(Entry("shutter_mark", f"{mark:g}", mark))
    asked = ["smoke", gas, "co"]
    while asked:
        name = asked[0]
        desk.question(name)
        line = desk.read(desk.base.title(name))
        if is_command(line, "quit", "q", "exit"):
            raise Left
        if is_command(line, "undo", "u"):
            last = desk.case.entries[-1].name
            if last in ("smoke", gas, "co") and last not in asked:
                desk.undo()
                asked.insert(0, last)
            else:
                desk.say("Nothing of this setting to take back.", 2)
            continue
        if is_command(line, "cannot", "skip", "") or line == "?":
            if name == "co" and line:
                desk.enter(cannot(name))
                asked.pop(0)
            else:
                desk.say("This one is needed; without it a setting cannot be judged." if name != "co" else
                         "A number, or `cannot`.", 2)
            continue
        try:
            entries = desk.understand(name, line)
            for entry in entries:
                if entry.name == "o2" and isinstance(entry.value, float):
                    combustion.co2_from_o2(derive(desk.case, desk.base).fuel, entry.value)
        except (EntryError, PhysicsError) as error:
            desk.refuse(error)
            continue
        desk.enter(*entries)
        if any(entry.name == name and (entry.value is not None or name == "co") for entry in entries):
            asked.pop(0)


def _mark(desk: Desk, advice: AirAdvice, figures: Figures) -> float:
    advised = "" if advice.shutter is None else f" [{advice.shutter:g}]"
    while True:
        line = desk.read(f"mark of the shutter{advised}")
        if is_command(line, "quit", "q", "exit"):
            raise Left
        if not line and advice.shutter is not None:
            return advice.shutter
        try:
            entries = desk.understand("shutter_mark", line)
            mark = next((one.value for one in entries if one.name == "shutter_mark"), None)
            others = [one for one in entries if one.name != "shutter_mark"]
            if others:
                desk.enter(*others)
            elif not isinstance(mark, float):
                raise EntryError(f"a mark is wanted, from {figures.shut:g} to {figures.wide:g}")
            if isinstance(mark, float):
                figures.place(mark)
                return mark
        except (EntryError, SettingError) as error:
            desk.refuse(error)


def _show(
    desk: Desk, settings: tuple[Setting, ...], advice: AirAdvice, figures: Figures, path: Path | None, held: bool
) -> None:
    """The settings so far, and where to go next; not that where it is held back."""
    print()
    desk.say(chart(settings, advice.knee, advice.aim, figures.ceiling))
    desk.say(table(settings))
    print()
    if path is not None:
        try:
            write_whole(path, svg(settings, advice.knee, advice.aim, figures.ceiling))
        except OSError as error:
            desk.say(f"The picture is not on disk: {error.strerror or error} ({path})", 2)
    if held:
        return
    desk.say(advice.reason, 2)
    if advice.kind == "try" and advice.shutter is not None:
        now = settings[-1].shutter
        way = "Open" if figures.place(advice.shutter) > figures.place(now) else "Close"
        desk.say(f"{way} from mark {now:g} to {advice.shutter:g} ({abs(advice.shutter - now):.3g} marks)"
                 + (f"; CO2 should read about {advice.aim:.1f} %." if advice.aim else "."), 2)


def _end(desk: Desk, settings: tuple[Setting, ...], advice: AirAdvice, figures: Figures) -> None:
    """Say how it ended, and put what was found into the case."""
    findings = list(advice.findings)
    if advice.kind == "set":
        findings.append(("air_reset_effect", reset_effect(settings, advice, figures)))
        desk.say(f"SETTING FOUND: mark {advice.shutter:g}. Lock the shutter there; mark and readings go on the tag.")
    elif advice.kind == "none":
        desk.say(f"NO SETTING WILL DO. Leave the shutter at mark {advice.shutter:g} for now, the cleanest that was "
                 "read; do not leave the unit running where a hazard is shown.")
    else:
        desk.say("THE READINGS CONTRADICT EACH OTHER. No setting is advised from them.")
    if advice.kind != "unclear":
        desk.enter(*(Entry(name, answer, answer) for name, answer in findings))
    if advice.kind == "none":
        found = assess(desk.case, desk.base)
        for part in (screen.hazards(desk.base, found), screen.conclusions(desk.base, found),
                     screen.causes(desk.base, found), screen.next_check(desk.base, found)):
            if part:
                print()
                desk.say(part)
