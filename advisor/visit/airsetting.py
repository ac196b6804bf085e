"""Guided setting of the air: from a few readings of smoke, CO2 and CO to the next shutter mark to try, the
setting to leave, or the finding that no setting will do.

The knee is the highest CO2 at which the smoke is still a trace. Between a clean and a smoky reading it is taken
where a line as steep as such curves usually are runs down from the smoky one. The air goes to a margin of CO2
below the knee, and never nearer than that to the ceiling.

References
----------
.. [1] EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, October 1975: several air settings,
   smoke against CO2 and the knee. How far below it: airfigures.py.
.. [2] Steepness of the curve past the knee, about three spots a point of CO2, and how CO2 follows a shutter:
   common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from advisor.library.base import Base
from advisor.physics import combustion
from advisor.physics.units import PhysicsError
from advisor.reasoning.case import Case
from advisor.reasoning.derive import derive
from advisor.visit.airfigures import Figures, Scale, figures_for
from advisor.visit.curve import Knee, Setting, SettingError
from advisor.visit.knee import (
    STEEPNESS,
    TRACE,
    cleanest,
    co2_by_place,
    in_order,
    is_clean,
    is_rich,
    knee,
    neighbors,
    place_of,
    wants_air,
)
from advisor.visit.shutter import place_for

__all__ = ["AirAdvice", "Figures", "Scale", "Setting", "SettingError", "advise", "figures_for", "findings", "knee",
           "reset_effect", "settings_of"]

NEAR: Final = 0.3
"""CO2 nearer to the aim than this is on it: the accuracy of the instruments, %."""

_MOST_READINGS: Final = 10

Kind = Literal["try", "set", "none", "unclear"]


@dataclass(frozen=True, slots=True)
class AirAdvice:
    """What to do next with the air.

    `kind` is `try` (go to `shutter` and read), `set` (leave it at `shutter`), `none` (no setting will do; leave it
    at `shutter` meanwhile) or `unclear` (the readings contradict each other). `aim` is the CO2 to come out, %.
    `findings` are answers for the diagnosis.
    """

    kind: Kind
    shutter: float | None
    reason: str
    aim: float | None = None
    knee: Knee | None = None
    findings: tuple[tuple[str, str], ...] = ()


def settings_of(case: Case, base: Base) -> tuple[Setting, ...]:
    """The air settings of a case: each mark with the smoke, CO2 and CO entered after it, before the next mark.

    CO2 is computed from O2 where only that was entered. A mark without smoke and CO2 makes no setting.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
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


def advise(settings: Sequence[Setting], figures: Figures = Figures()) -> AirAdvice:  # noqa: B008
    """What to do next, from the settings read so far.

    Parameters
    ----------
    settings : sequence of Setting
        In the order in which they were read; a later one at the same mark replaces the earlier.
    figures : Figures

    Returns
    -------
    AirAdvice

    Raises
    ------
    SettingError
        A mark off the scale.

    Examples
    --------
    >>> advise([Setting(4.0, 0.0, 11.4, 12.0)]).shutter
    3.3
    >>> advise([Setting(3.0, 1.5, 9.8), Setting(4.0, 1.5, 8.7)]).kind
    'none'
    """
    if not settings:
        return AirAdvice("try", None, "Read smoke, CO2 or O2, and CO at the setting as it stands.")
    points = in_order(settings, figures)
    said = _advised(points, figures)
    if said.kind == "none" and figures.clean < figures.tolerated and min(
            one.smoke for one in points) <= figures.tolerated:
        again = advise(settings, replace(figures, clean=figures.tolerated))
        note = f"No air brings it to a trace; this kind of burner is held to spot {figures.tolerated:.0f}. "
        said = replace(again, reason=note + again.reason) if again.kind != "none" else said
    if said.kind == "try" and len(settings) >= _MOST_READINGS:
        said = replace(said, kind="unclear", shutter=cleanest(points, figures).shutter, reason=(
            f"After {len(settings)} readings the curve has not closed. Prove the smoke tester and the analyzer, "
            "wait for steady state and calm air, and begin again."))
    return replace(said, findings=findings(settings, said.kind, figures))


def _advised(points: list[Setting], figures: Figures) -> AirAdvice:
    smoky = [one for one in points if wants_air(one, figures)]
    easy = [one for one in points if not wants_air(one, figures)]
    if not easy:
        return _more_air(points, figures)
    if not smoky:
        return _less_air(points, easy, figures)
    found = knee(points, figures)
    if found is not None:
        return _at_the_knee(points, found, figures)
    worst = smoky[-1]  # every clean setting is more closed than this smoky one
    if worst.smoke <= figures.clean + 0.5 and (worst.co or 0.0) <= figures.co_limit:
        return _advised([one for one in points if one is not worst], figures)  # half a spot is within the reading
    return AirAdvice(
        "unclear", worst.shutter, f"At mark {worst.shutter:g} it reads worse than with less air. Wait for steady "
        f"state, prove the smoke tester, and read mark {worst.shutter:g} again; if it stays, look at the flame.")


def _at_the_knee(points: list[Setting], found: Knee, figures: Figures) -> AirAdvice:
    """A clean and a smoky setting stand side by side."""
    smoky = [one for one in points if wants_air(one, figures)]
    worst = smoky[-1]
    easy = [one for one in points if place_of(one, figures) > place_of(worst, figures)]
    rich = is_rich(worst, points, figures)
    sure = (easy[0].smoke >= TRACE and not rich) or found.low >= figures.ceiling - NEAR or (
        not rich and (found.high - found.low <= 1.2 or worst.smoke <= 4.0)) or neighbors(worst, easy[0], figures)
    if sure or (not rich and found.high - figures.margin < figures.floor - 0.2):
        return _at_aim(points, easy, found, figures)
    limits = (place_of(worst, figures), place_of(easy[0], figures))
    near = found.co2 - 0.1 if not rich else found.co2 + 0.1
    place = place_for(co2_by_place(points, figures), near, limits)
    return _go(points, figures, place, f"The knee lies between CO2 {found.low:.1f} and {found.high:.1f} %; a reading "
               "near it tells where.", near, found)


def _at_aim(points: list[Setting], easy: list[Setting], found: Knee, figures: Figures) -> AirAdvice:
    """The knee is known: to a margin below it, unless that leaves too little CO2."""
    aim = min(found.co2, figures.ceiling) - figures.margin
    if aim >= figures.floor - 0.2:
        return _settle(points, easy, aim, found, figures)
    return AirAdvice("none", cleanest(points, figures).shutter, (
        f"The knee is too low: smoke begins at CO2 {found.co2:.1f} %, so a clean setting would leave only "
        f"{aim:.1f} %, under the {figures.floor:g} % that a sound unit reaches. Air is not what it lacks."),
        knee=found)


def _settle(
    points: list[Setting], easy: list[Setting], aim: float, found: Knee | None, figures: Figures
) -> AirAdvice:
    """The knee or the ceiling is known; go to the aim, or stay where it was read clean."""
    good = [one for one in easy if is_clean(one, figures)]
    allowed = 0.2 if len(points) < 5 else NEAR  # no hair-splitting after five readings
    on_aim = [one for one in good if abs(one.co2 - aim) <= allowed]
    under = [one for one in points if one.co2 < aim]
    over = [one for one in points if one.co2 > aim]
    if not on_aim and under and over and neighbors(under[0], over[-1], figures):  # it cannot be set finer
        on_aim = [one for one in (under[0], over[-1]) if one in good]
    where = f"the knee at {found.co2:.1f} %" if found and found.co2 < figures.ceiling else \
        f"the ceiling of {figures.ceiling:.1f} %"
    if on_aim:
        best = min(on_aim, key=lambda one: abs(one.co2 - aim))
        said = f"Clean at CO2 {best.co2:.1f} %, with a margin below {where}."
        return AirAdvice("set", best.shutter, said, aim, found)
    near = [one for one in easy if not is_clean(one, figures) and abs(one.co2 - aim) <= NEAR]
    if near:
        return AirAdvice("none", cleanest(points, figures).shutter, (
            f"CO reads {near[0].co:.0f} ppm where the smoke is clean, above the limit of {figures.co_limit:g} ppm: "
            "the flame is chilled or touches something."), aim, found)
    place = place_for(co2_by_place(points, figures), aim)
    if place >= 0.995 and max(place_of(one, figures) for one in points) >= 0.995:
        return AirAdvice("none", cleanest(points, figures).shutter, (
            f"Even wide open the CO2 stays above {aim:.1f} %, which a margin below {where} asks for: the shutter has "
            "no air left to give."), aim, found)
    return _go(points, figures, place, f"{figures.margin:g} points of CO2 below {where}.", aim, found)


def _less_air(points: list[Setting], easy: list[Setting], figures: Figures) -> AirAdvice:
    """Everything read so far is clean, so how much air is wasted is not known: close."""
    best = easy[0]
    if best.co2 >= figures.ceiling - NEAR:
        return _settle(points, easy, figures.ceiling - figures.margin, None, figures)
    if best.smoke > 0.75 * figures.clean and any(one.smoke <= best.smoke - 0.4 for one in easy[1:]):
        found = Knee(best.co2, max(one.co2 for one in easy if one.smoke <= best.smoke - 0.4), best.co2)
        return _at_aim(points, easy, found, figures)  # the trace came with the last closing: this is the knee
    if place_of(best, figures) <= 0.005:
        if best.co2 >= figures.floor and is_clean(best, figures):
            return AirAdvice("set", best.shutter, f"Clean at CO2 {best.co2:.1f} % with the shutter shut as far as it "
                             "goes.", best.co2)
        return AirAdvice("none", cleanest(points, figures).shutter, (
            f"With the shutter shut CO2 reads only {best.co2:.1f} %: air comes in past the shutter, or too little "
            "oil burns for it."))
    step = 0.6 if best.smoke >= TRACE else 1.2 if best.co2 >= 10.5 else 2.0
    aim = min(best.co2 + step, figures.ceiling)
    why = "A trace shows, so the knee is near; a little less air shows where." if best.smoke >= TRACE else \
        "Zero smoke is not a finish: how much air is wasted is not known until a trace shows. Close the air."
    if not is_clean(best, figures):
        why = f"CO {best.co:.0f} ppm with clean smoke and much air: a chilled flame. Close the air."
    return _go(points, figures, place_for(co2_by_place(points, figures), aim), why, aim)


def _more_air(points: list[Setting], figures: Figures) -> AirAdvice:
    """Nothing read so far is clean: open, as long as that can help."""
    last = points[-1]  # the most open one
    rich = is_rich(last, points, figures)
    if place_of(last, figures) >= 0.995:
        why = "there is no air left to give; fan, inlet and oil flow come first" \
            if rich or last.co2 > figures.floor + 1.5 \
            else "there is air enough in the gas, but it does not meet the oil"
        return _never(points, figures, f"It smokes with the shutter wide open, at CO2 {last.co2:.1f} %: {why}.")
    if last.co2 < figures.floor and not rich and len(points) > 1:
        what = f"spot {last.smoke:g}" if last.smoke > figures.clean else f"CO {last.co:.0f} ppm"
        return _never(points, figures, f"The curve lies too high: {what} with CO2 down at {last.co2:.1f} %. "
                      "More air only wastes heat.")
    if rich:
        place = min(1.0, max(0.05, place_of(last, figures) * 1.5))
        return _go(points, figures, place, "Far too little air: open at once, watching flame and CO.", None)
    step = min(2.2, max(0.6, (last.smoke - figures.clean) / STEEPNESS + 0.2)) if last.smoke > figures.clean else 1.0
    aim = last.co2 - step
    if last.co2 >= figures.floor:
        aim = max(aim, figures.floor - 0.6)
    return _go(points, figures, place_for(co2_by_place(points, figures), aim),
               f"Spot {last.smoke:g} is too much; more air shows whether it clears." if last.smoke > figures.clean
               else f"CO {last.co:.0f} ppm is too much; more air shows whether it falls.", aim)


def _never(points: list[Setting], figures: Figures, reason: str) -> AirAdvice:
    return AirAdvice("none", cleanest(points, figures).shutter, reason)


def _go(
    points: list[Setting], figures: Figures, place: float, reason: str, aim: float | None, found: Knee | None = None
) -> AirAdvice:
    """Advice to try a place; one that was read already is passed by in the direction of the aim."""
    mark = figures.mark(place)
    taken = {one.shutter: one for one in points}
    if mark in taken:
        step = figures.smallest if aim is None or taken[mark].co2 > aim else -figures.smallest
        while mark in taken and 0.0 <= place + step <= 1.0:
            place += step
            mark = figures.mark(place)
    return AirAdvice("try", mark, reason, aim, found)


def findings(settings: Sequence[Setting], kind: Kind, figures: Figures) -> tuple[tuple[str, str], ...]:
    """What the settings say in answers that the diagnosis knows; empty where they do not say it.

    >>> findings([Setting(3.0, 5.0, 11.0, 60.0), Setting(4.0, 5.0, 9.0, 20.0)], "none", Figures())
    (('air_changes_smoke', 'stays'), ('co_falls_with_air', 'falls'), ('air_reset_effect', 'no-setting-good'))
    """
    points = in_order(settings, figures)
    out = []
    closed, opened = points[0], points[-1]
    if len(points) > 1 and closed.smoke > figures.clean:
        good = [one.co2 for one in points if one.smoke <= figures.clean]
        fell = closed.smoke - opened.smoke
        if good and (kind != "none" or max(good) >= figures.floor + figures.margin):
            answer = "clears"
        elif good or (fell >= 1.0 and kind == "none"):
            answer = "too-much-air-needed" if opened.co2 <= figures.floor + figures.margin else "clears"
        else:
            answer = "worse" if fell <= -1.0 else "clears" if fell >= 1.0 else "stays"
        out.append(("air_changes_smoke", answer))
    if len(points) > 1 and closed.co is not None and opened.co is not None:
        moved = opened.co - closed.co
        out.append(("co_falls_with_air", "stays" if abs(moved) < 20.0 else "rises" if moved > 0 else "falls"))
    if kind == "none":
        out.append(("air_reset_effect", "no-setting-good"))
    return tuple(out)


def reset_effect(settings: Sequence[Setting], advice: AirAdvice, figures: Figures) -> str:
    """Which way a setting that was found lies from the first one read: `unchanged`, `opened` or `closed`.

    >>> reset_effect([Setting(5, 0, 9.8), Setting(3.4, 0, 12.2)], AirAdvice("set", 3.4, ""), Figures())
    'closed'
    """
    final = next(one for one in reversed(settings) if one.shutter == advice.shutter)
    if abs(final.co2 - settings[0].co2) <= 0.5 and is_clean(settings[0], figures):
        return "unchanged"
    return "opened" if place_of(final, figures) > place_of(settings[0], figures) else "closed"
