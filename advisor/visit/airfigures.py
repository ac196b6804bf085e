"""The figures that a setting of the air has to keep, and the scale of the shutter."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.library.base import Base
from advisor.physics import combustion
from advisor.reasoning.case import Case
from advisor.reasoning.derive import derive, limit_value
from advisor.visit.curve import SettingError


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


def figures_for(case: Case, base: Base, scale: Scale = Scale(), margin: float = 0.75) -> Figures:
    """The figures for the unit of a case: the manufacturer's own where entered, else those for its kind of burner.

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
    return Figures(ceiling, min(value("co2-low"), ceiling - margin), value("co-flue"), clean,
                   smoke if old else clean, margin, scale.shut, scale.wide, scale.step)
