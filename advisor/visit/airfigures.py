"""The figures that a setting of the air has to keep, and the scale of the shutter.

References
----------
.. [1] Margin below the knee: 1 to 2 points of CO2, more where the burner is set on a very cold or a mild day or takes
   outdoor air (common practice). EPA-600/2-75-069-a left 0.5 to 1 point with the burners of 1975 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.physics import atmosphere, combustion
from advisor.physics.combustion import Fuel
from advisor.reasoning.case import Case
from advisor.reasoning.derive import derive, limit_value
from advisor.visit.curve import SettingError

ORDINARY_MARGIN: Final = 1.0
"""Points of CO2 to stay below the knee with the burner room's own air on an ordinary day [1]_."""
OTHER_DAY_MARGIN: Final = 1.5
"""The same in frost or in mild weather, when the chimney pulls as it will not for most of the season [1]_."""
WIDEST_MARGIN: Final = 2.0
"""More than that wastes what the margin is for [1]_."""
MILD_DAY, _USUAL_CO2, _OTHER = 60.0, 12.0, 0.4  # degF; %; points for draft, dirt and oil beside the air


@dataclass(frozen=True, slots=True)
class Scale:
    """The marks of the shutter where it is shut and wide open, and the smallest move, in marks."""

    shut: float = 0.0
    wide: float = 10.0
    step: float | None = None


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
        Points of CO2 to stay below the knee, 0.5 to 2 [1]_; :func:`margin_for` gives it for a case.
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
    margin: float = ORDINARY_MARGIN
    shut: float = 0.0
    wide: float = 10.0
    step: float | None = None

    def __post_init__(self) -> None:
        if not 0.5 <= self.margin <= WIDEST_MARGIN:
            raise SettingError(f"margin {self.margin:g}: wants 0.5 to 2 points of CO2")
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


def margin_for(case: Case, base: Base) -> float:
    """Points of CO2 to stay below the knee, by the day and by where the burner takes its air.

    Ducted outdoor air of a cold day holds more oxygen than that of a mild one by the law of gases: as much as that
    moves the CO2, and a little for the rest, is left.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> cold = Entry("outdoor_temperature", "10 F", 10.0)
    >>> ducted = Entry("air_supply", "ducted-outdoor", "ducted-outdoor")
    >>> margin_for(Case(()), load()), margin_for(Case((cold,)), load()), margin_for(Case((cold, ducted)), load())
    (1.0, 1.5, 1.8)
    """
    found = derive(case, base)
    number = found.numbers.get("outdoor_temperature")
    if number is None:
        return ORDINARY_MARGIN
    if found.symbols.get("air_supply") == "ducted-outdoor":
        shift = co2_in_other_air(found.fuel, _USUAL_CO2, number.value, MILD_DAY) - _USUAL_CO2
        return round(min(WIDEST_MARGIN, max(ORDINARY_MARGIN, shift + _OTHER)), 1)
    return OTHER_DAY_MARGIN if found.symbols.get("outdoor_temperature") in ("freezing", "warm") else ORDINARY_MARGIN


def co2_in_other_air(fuel: Fuel, co2: float, degf: float, other: float) -> float:
    """The CO2 that a reading made with air of one temperature would be with air of another: the blower moves the same
    volume, which weighs less the warmer it is (the law of ideal gases).

    Parameters
    ----------
    co2 : float
        As read, %.
    degf, other : float
        Temperature of the air at the burner then, and of the day to compare with, degF; -60 to 150.

    Raises
    ------
    PhysicsError
        A figure outside its range.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> round(co2_in_other_air(load().fuels["no-2-oil"], 12.0, 10.0, 60.0), 2)
    13.35
    """
    excess = combustion.excess_air_from_co2(fuel, co2)
    return combustion.co2_from_excess_air(fuel, max(0.0, atmosphere.excess_air_at(excess, degf, other)))


def figures_for(
    case: Case, base: Base, scale: Scale = Scale(), margin: float | None = None,
) -> Figures:
    """The figures for the unit of a case: the manufacturer's own where entered, else those for its kind of burner.

    Without a margin it is that of the day, :func:`margin_for`.

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
        return limit_value(base.limits[limit], answers, case.manufacturer)[0]

    ceiling = value("co2-high")
    if "o2-low" in case.manufacturer:
        ceiling = min(ceiling, combustion.co2_from_o2(found.fuel, case.manufacturer["o2-low"]))
    smoke = value("smoke-clean")
    clean = min(1.0, smoke)
    old = answers.get("burner_type") == "old-style"
    margin = margin_for(case, base) if margin is None else margin
    return Figures(ceiling, min(value("co2-low"), ceiling - margin), value("co-flue"), clean,
                   smoke if old else clean, margin, scale.shut, scale.wide, scale.step)
