"""Guided setting of the air: from a few readings of smoke, CO2 and CO to the next shutter mark to try, the
setting to leave, or the finding that no setting will do.

The knee is the highest CO2 at which the smoke is still a trace. Between a clean and a smoky reading it is taken
where a line as steep as such curves usually are runs down from the smoky one. The air goes to a margin of CO2
below the knee, and never nearer than that to the ceiling.

References
----------
.. [1] EPA-600/2-75-069-a, Guidelines for Residential Oil-Burner Adjustments, October 1975: several air settings,
   smoke against CO2, the knee, and 0.5 to 1 point of CO2 below it (from memory).
.. [2] Steepness of the curve past the knee, about three spots a point of CO2, and how CO2 follows a shutter:
   common practice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from advisor.library.base import Base
from advisor.physics import combustion
from advisor.reasoning.case import Case
from advisor.reasoning.derive import derive, limit_value
from advisor.visit.curve import Knee, Setting, SettingError
from advisor.visit.shutter import place_for

STEEPNESS: Final = 3.0
"""Smoke spots a point of CO2 past the knee [2]_."""

NEAR: Final = 0.3
"""CO2 nearer to the aim than this is on it: the accuracy of the instruments, %."""

_SAFE_SIDE: Final = 0.1  # %
_TRACE: Final = 0.4  # spot; from here on a reading is called a trace, not zero
_AFTER_TRACE: Final = 0.6  # % of CO2 from a reading of a trace to the knee at most
_MOST_READINGS: Final = 10
_RICH_CO: Final = 1500.0  # ppm; with so much CO the oxygen itself is short, and CO2 no longer rises on closing

Kind = Literal["try", "set", "none", "unclear"]


@dataclass(frozen=True, slots=True)
class Figures:
    """What the setting has to keep, and the scale of the shutter.

    Parameters
    ----------
    ceiling, floor : float
        Highest and lowest CO2 to leave, %.
    co_limit : float
        Highest CO as read, ppm.
    clean : float
        Highest smoke spot that counts as clean; a trace lies between 0 and 1.
    tolerated : float
        Highest spot to put up with where no air gives a clean one (old-style burners: No. 2).
    margin : float
        Points of CO2 to stay below the knee, 0.5 to 1 [1]_.
    shut, wide : float
        Marks of the shutter at its closed and its open end; either may be the greater.
    step : float, optional
        The smallest move of the shutter that can be made, in marks; by default a hundredth of the scale.

    Raises
    ------
    SettingError
        A figure that makes no sense.
    """

    ceiling: float = 13.0
    floor: float = 9.0
    co_limit: float = 100.0
    clean: float = 1.0
    tolerated: float = 1.0
    margin: float = 0.75
    shut: float = 0.0
    wide: float = 10.0
    step: float | None = None

    def __post_init__(self) -> None:
        if not 0.5 <= self.margin <= 1.0:
            raise SettingError(f"margin {self.margin:g}: wants 0.5 to 1 point of CO2")
        if self.shut == self.wide:
            raise SettingError(f"shutter scale {self.shut:g} to {self.wide:g}: wants two different marks")
        if self.step is not None and not 0.0 < self.step <= abs(self.wide - self.shut) / 4.0:
            raise SettingError(f"step {self.step:g}: wants more than 0 marks and at most a quarter of the scale")
        if not self.floor < self.ceiling:
            raise SettingError(f"CO2 floor {self.floor:g} %: wants less than the ceiling of {self.ceiling:g} %")

    def place(self, mark: float) -> float:
        """How far open a mark is, 0 shut to 1 wide open; errors: SettingError for a mark off the scale."""
        place = (mark - self.shut) / (self.wide - self.shut)
        if not -0.001 <= place <= 1.001:
            raise SettingError(f"shutter {mark:g}: the scale runs from {self.shut:g} (shut) to {self.wide:g} (open)")
        return min(1.0, max(0.0, place))

    def mark(self, place: float) -> float:
        """The mark of a place, as near as the shutter can be set."""
        whole = min(1.0, round(place / self.smallest) * self.smallest)
        return round(self.shut + whole * (self.wide - self.shut), 4)

    @property
    def smallest(self) -> float:
        """The smallest move as a share of the scale."""
        return 0.01 if self.step is None else self.step / abs(self.wide - self.shut)


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


def figures_for(case: Case, base: Base, margin: float = 0.75, shut: float = 0.0, wide: float = 10.0) -> Figures:
    """The figures for the unit of a case: the maker's own where entered, else those for its kind of burner.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> figures_for(Case((Entry("burner_type", "old-style", "old-style"),)), load()).floor
    8.0
    """
    found = derive(case, base)
    answers = {name: symbol for name, symbol in found.symbols.items() if name in base.observations}

    def value(limit: str) -> float:
        return limit_value(base.limits[limit], answers, case.maker)[0]

    ceiling = value("co2-high")
    if "o2-low" in case.maker:
        ceiling = min(ceiling, combustion.co2_from_o2(found.fuel, case.maker["o2-low"]))
    smoke = value("smoke-clean")
    clean = min(1.0, smoke)
    old = answers.get("burner_type") == "old-style"
    return Figures(ceiling, min(value("co2-low"), ceiling - margin), value("co-flue"), clean,
                   smoke if old else clean, margin, shut, wide)


def knee(settings: Sequence[Setting], figures: Figures = Figures()) -> Knee | None:  # noqa: B008  (a frozen value)
    """The knee of the curve, between the most open smoky setting and the clean one next to it.

    Parameters
    ----------
    settings : sequence of Setting
    figures : Figures
        `clean` and the shutter scale count.

    Returns
    -------
    Knee or None
        None until there is a clean setting more open than a smoky one.

    Examples
    --------
    >>> round(knee([Setting(4, 0, 11.4), Setting(3, 3.5, 13.7)]).co2, 1)
    12.9
    """
    points = _points(settings, figures)
    smoky = [one for one in points if _short(one, figures)]
    if not smoky:
        return None
    worst = smoky[-1]
    easy = [one for one in points if not _short(one, figures) and _open(one, figures) > _open(worst, figures)]
    if not easy:
        return None
    best = easy[0]
    return Knee(round(_between(best, worst, figures, _rich(worst, points, figures)), 2), best.co2, worst.co2)


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
    3.2
    >>> advise([Setting(3.0, 1.5, 9.8), Setting(4.0, 1.5, 8.7)]).kind
    'none'
    """
    if not settings:
        return AirAdvice("try", None, "Read smoke, CO2 or O2, and CO at the setting as it stands.")
    points = _points(settings, figures)
    said = _advised(points, figures)
    if said.kind == "none" and figures.clean < figures.tolerated and min(
            one.smoke for one in points) <= figures.tolerated:
        again = advise(settings, replace(figures, clean=figures.tolerated))
        note = f"No air brings it to a trace; this kind of burner is held to spot {figures.tolerated:.0f}. "
        said = replace(again, reason=note + again.reason) if again.kind != "none" else said
    if said.kind == "try" and len(settings) >= _MOST_READINGS:
        said = replace(said, kind="unclear", shutter=_cleanest(points, figures).shutter, reason=(
            f"After {len(settings)} readings the curve has not closed. Prove the smoke tester and the analyzer, "
            "wait for steady state and calm air, and begin again."))
    return replace(said, findings=findings(settings, said.kind, figures))


def _advised(points: list[Setting], figures: Figures) -> AirAdvice:
    smoky = [one for one in points if _short(one, figures)]
    easy = [one for one in points if not _short(one, figures)]
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
    smoky = [one for one in points if _short(one, figures)]
    worst = smoky[-1]
    easy = [one for one in points if _open(one, figures) > _open(worst, figures)]
    rich = _rich(worst, points, figures)
    sure = (easy[0].smoke >= _TRACE and not rich) or found.low >= figures.ceiling - NEAR or (
        not rich and (found.high - found.low <= 1.2 or worst.smoke <= 4.0)) or _neighbors(worst, easy[0], figures)
    if sure or found.high - figures.margin < figures.floor - 0.2:
        return _at_aim(points, easy, found, figures)
    limits = (_open(worst, figures), _open(easy[0], figures))
    near = found.co2 - 0.1 if not rich else found.co2 + 0.1
    place = place_for(_co2_by_place(points, figures), near, limits)
    return _go(points, figures, place, f"The knee lies between CO2 {found.low:.1f} and {found.high:.1f} %; a reading "
               "near it tells where.", near, found)


def _at_aim(points: list[Setting], easy: list[Setting], found: Knee, figures: Figures) -> AirAdvice:
    """The knee is known: to a margin below it, unless that leaves too little CO2."""
    aim = min(found.co2, figures.ceiling) - figures.margin
    if aim >= figures.floor - 0.2:
        return _settle(points, easy, aim, found, figures)
    return AirAdvice("none", _cleanest(points, figures).shutter, (
        f"The knee is too low: smoke begins at CO2 {found.co2:.1f} %, so a clean setting would leave only "
        f"{aim:.1f} %, under the {figures.floor:g} % that a sound unit reaches. Air is not what it lacks."), knee=found)


def _settle(
    points: list[Setting], easy: list[Setting], aim: float, found: Knee | None, figures: Figures
) -> AirAdvice:
    """The knee or the ceiling is known; go to the aim, or stay where it was read clean."""
    good = [one for one in easy if _clean(one, figures)]
    allowed = 0.2 if len(points) < 5 else NEAR  # no hair-splitting after five readings
    on_aim = [one for one in good if abs(one.co2 - aim) <= allowed]
    under = [one for one in points if one.co2 < aim]
    over = [one for one in points if one.co2 > aim]
    if not on_aim and under and over and _neighbors(under[0], over[-1], figures):  # it cannot be set finer
        on_aim = [one for one in (under[0], over[-1]) if one in good]
    where = f"the knee at {found.co2:.1f} %" if found and found.co2 < figures.ceiling else \
        f"the ceiling of {figures.ceiling:.1f} %"
    if on_aim:
        best = min(on_aim, key=lambda one: abs(one.co2 - aim))
        return AirAdvice("set", best.shutter, f"Clean at CO2 {best.co2:.1f} %, with a margin below {where}.", aim, found)
    near = [one for one in easy if not _clean(one, figures) and abs(one.co2 - aim) <= NEAR]
    if near:
        return AirAdvice("none", _cleanest(points, figures).shutter, (
            f"CO reads {near[0].co:.0f} ppm where the smoke is clean, above the limit of {figures.co_limit:g} ppm: "
            "the flame is chilled or touches something."), aim, found)
    place = place_for(_co2_by_place(points, figures), aim)
    if place >= 0.995 and max(_open(one, figures) for one in points) >= 0.995:
        return AirAdvice("none", _cleanest(points, figures).shutter, (
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
    if _open(best, figures) <= 0.005:
        if best.co2 >= figures.floor and _clean(best, figures):
            return AirAdvice("set", best.shutter, f"Clean at CO2 {best.co2:.1f} % with the shutter shut as far as it "
                             "goes.", best.co2)
        return AirAdvice("none", _cleanest(points, figures).shutter, (
            f"With the shutter shut CO2 reads only {best.co2:.1f} %: air comes in past the shutter, or too little oil "
            "burns for it."))
    step = 0.6 if best.smoke >= _TRACE else 1.2 if best.co2 >= 10.5 else 2.0
    aim = min(best.co2 + step, figures.ceiling)
    why = "A trace shows, so the knee is near; a little less air shows where." if best.smoke >= _TRACE else \
        "Zero smoke is not a finish: how much air is wasted is not known until a trace shows. Close the air."
    if not _clean(best, figures):
        why = f"CO {best.co:.0f} ppm with clean smoke and much air: a chilled flame. Close the air."
    return _go(points, figures, place_for(_co2_by_place(points, figures), aim), why, aim)


def _more_air(points: list[Setting], figures: Figures) -> AirAdvice:
    """Nothing read so far is clean: open, as long as that can help."""
    last = points[-1]  # the most open one
    rich = _rich(last, points, figures)
    if _open(last, figures) >= 0.995:
        why = "there is no air left to give; fan, inlet and room come first" if last.co2 > figures.ceiling - 2.0 \
            else "there is air enough in the gas, but it does not meet the oil"
        return _never(points, figures, f"It smokes with the shutter wide open, at CO2 {last.co2:.1f} %: {why}.")
    if last.co2 < figures.floor and not rich and len(points) > 1:
        what = f"spot {last.smoke:g}" if last.smoke > figures.clean else f"CO {last.co:.0f} ppm"
        return _never(points, figures, f"The curve lies too high: {what} with CO2 down at {last.co2:.1f} %. "
                      "More air only wastes heat.")
    if rich:
        place = min(1.0, max(0.05, _open(last, figures) * 1.5))
        return _go(points, figures, place, "Far too little air: open at once, watching flame and CO.", None)
    step = min(2.2, max(0.6, (last.smoke - figures.clean) / STEEPNESS + 0.2)) if last.smoke > figures.clean else 1.0
    aim = last.co2 - step
    if last.co2 >= figures.floor:
        aim = max(aim, figures.floor - 0.6)
    return _go(points, figures, place_for(_co2_by_place(points, figures), aim),
               f"Spot {last.smoke:g} is too much; more air shows whether it clears." if last.smoke > figures.clean
               else f"CO {last.co:.0f} ppm is too much; more air shows whether it falls.", aim)


def _never(points: list[Setting], figures: Figures, reason: str) -> AirAdvice:
    return AirAdvice("none", _cleanest(points, figures).shutter, reason)


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
    points = _points(settings, figures)
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
    if abs(final.co2 - settings[0].co2) <= 0.5 and _clean(settings[0], figures):
        return "unchanged"
    return "opened" if _open(final, figures) > _open(settings[0], figures) else "closed"


def _points(settings: Sequence[Setting], figures: Figures) -> list[Setting]:
    """The latest reading of each mark, from the most closed to the most open."""
    latest = {one.shutter: one for one in settings}
    return sorted(latest.values(), key=lambda one: _open(one, figures))


def _open(one: Setting, figures: Figures) -> float:
    return figures.place(one.shutter)


def _neighbors(one: Setting, other: Setting, figures: Figures) -> bool:
    return abs(_open(one, figures) - _open(other, figures)) <= 1.01 * figures.smallest


def _clean(one: Setting, figures: Figures) -> bool:
    return one.smoke <= figures.clean and (one.co is None or one.co <= figures.co_limit)


def _short(one: Setting, figures: Figures) -> bool:
    """Whether it wants more air. CO above its limit with clean smoke and CO2 under the floor wants less."""
    return one.smoke > figures.clean or (not _clean(one, figures) and one.co2 >= figures.floor)


def _rich(one: Setting, points: list[Setting], figures: Figures) -> bool:
    """Whether so little air comes that CO2 is falling again on closing, and says nothing of the air any more."""
    if one.smoke <= figures.clean:
        return False
    if (one.co or 0.0) >= _RICH_CO:
        return True
    here = points.index(one)
    if any(other.co2 >= one.co2 for other in points[here + 1:]):
        return True
    return one.smoke >= 6.0 and here == len(points) - 1 and here > 0 and points[here - 1].co2 <= one.co2 + 0.1


def _between(best: Setting, worst: Setting, figures: Figures, rich: bool) -> float:
    """CO2 at which the smoke leaves the trace, between a clean and a smoky setting, %.

    The curve bends upward, so its chord crosses too early, and a line as steep as usual, run down from the smoky
    reading, a little late. The line is taken, less a little on the safe side.
    """
    if rich or worst.co2 <= best.co2:
        return min(figures.ceiling, best.co2 + (0.75 * _AFTER_TRACE if best.smoke >= _TRACE else 1.0))
    gap = worst.co2 - best.co2
    if worst.smoke <= figures.clean:  # short by its CO alone
        low, high = best.co or 0.0, worst.co or figures.co_limit
        return best.co2 + gap * min(1.0, max(0.0, (figures.co_limit - low) / max(1.0, high - low)))
    chord = best.co2 + gap * (figures.clean - best.smoke) / (worst.smoke - best.smoke)
    steep = worst.co2 - (worst.smoke - figures.clean) / STEEPNESS
    out = max(best.co2, chord, steep - min(_SAFE_SIDE, 0.5 * max(0.0, steep - chord)))
    return min(out, best.co2 + _AFTER_TRACE) if best.smoke >= _TRACE else out


def _cleanest(points: list[Setting], figures: Figures) -> Setting:
    """The setting to leave it at when none is good: the least smoke, then the least CO, then the most CO2."""
    return min(points, key=lambda one: (one.smoke if one.smoke > figures.clean else 0.0,
                                        max(0.0, (one.co or 0.0) - figures.co_limit), -one.co2))


def _co2_by_place(points: list[Setting], figures: Figures) -> list[tuple[float, float]]:
    """Place and CO2 of the readings on which CO2 falls with more air."""
    sound = [one for one in points if not _rich(one, points, figures)]
    return [(_open(one, figures), one.co2) for one in sound or points]
