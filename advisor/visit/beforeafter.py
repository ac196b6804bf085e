"""Before and after side by side, and what the difference is worth: oil, money and CO2 a year.

References
----------
.. [1] Fuel for the same heat goes with 1 / efficiency: definition of the efficiency.
.. [2] Independent errors add as the root of the sum of their squares: JCGM 100, Guide to the Expression of
   Uncertainty in Measurement (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.physics import combustion, units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import RECHECKED

COMPARED: Final = (
    "efficiency", "excess_air", "co2", "o2", "stack_temperature", "net_stack", "co", "co_air_free", "smoke",
    "draft_over_fire", "draft_breech", "draft_drop", "pump_pressure", "co_room",
)
"""The quantities that are set side by side, in this order."""

_BETTER_UP: Final = {"efficiency"}
_BETTER_DOWN: Final = {"co", "co_air_free", "co_room", "smoke"}
_AIM: Final = {"normal", "good", "zero", "trace"}  # bands that a unit is set to; others lie beside them


class ComparisonError(ValueError):
    """What cannot be compared, and why."""


@dataclass(frozen=True, slots=True)
class Row:
    """One quantity before and after; a value is None where it is not known, its texts are then `not read`.

    `way` is `better`, `worse`, `same` (by less than the instrument can tell) or empty where that has no meaning.
    `doubted` says that a rule casts doubt on one of the two.
    """

    name: str
    title: str
    before: float | None
    after: float | None
    before_text: str
    after_text: str
    change_text: str
    before_band: str
    after_band: str
    way: str
    doubted: bool


@dataclass(frozen=True, slots=True)
class Savings:
    """What a change of the efficiency is worth.

    `percent` is the oil saved in per cent of the oil burned before, `either_way` how far instruments may be off
    in that. The others are for a year and None where gallons or price were not entered: gallons, the customer's
    own money, lb of CO2.
    """

    percent: float
    either_way: float
    gallons: float | None
    saved: float | None
    price: float | None
    money: float | None
    co2_before: float | None
    co2_after: float | None
    formula: str
    assumptions: tuple[str, ...]

    @property
    def told(self) -> bool:
        """Whether the change is more than the instruments may be off."""
        return abs(self.percent) > self.either_way


def doubted(assessment: Assessment) -> frozenset[str]:
    """The entries that rules cast doubt on and nobody stands by; what is computed from them is in doubt as well.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case
    >>> doubted(assess(Case(), load(), look_ahead=False))
    frozenset()
    """
    latest, numbers = assessment.case.latest, assessment.findings.numbers
    out: set[str] = set()
    for doubt in assessment.doubts:
        if doubt.open and doubt.counts:
            out.update(doubt.readings)
        elif doubt.open:
            behind = {one for name in doubt.readings
                      for one in (name, *(numbers[name].grounds if name in numbers else ()))}
            out |= {name for name in behind if name not in latest or latest[name].how != RECHECKED}
    return frozenset(out)


def is_doubted(assessment: Assessment, name: str) -> bool:
    """Whether the number of a quantity rests on a doubted entry."""
    number = assessment.findings.numbers.get(name)
    return number is not None and not doubted(assessment).isdisjoint({name, *number.grounds})


def compare(
    base: Base, before: Assessment, after: Assessment | None, names: Iterable[str] = COMPARED
) -> tuple[Row, ...]:
    """The quantities before and after, those known on at least one side.

    Parameters
    ----------
    base : Base
    before : Assessment
        As found.
    after : Assessment or None
        As left; None where nothing was measured after the work.
    names : iterable of str
        Quantities, in the order of the rows.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> found, left = (assess(Case((Entry("smoke", "", spot),)), load(), False) for spot in (4.0, 0.0))
    >>> [(row.before_text, row.after_text, row.change_text, row.way) for row in compare(load(), found, left)]
    [('4', '0', '-4', 'better')]
    """
    out = []
    for name in names:
        quantity = base.quantities[name]
        sides = [one.findings.numbers.get(name) if one else None for one in (before, after)]
        if sides == [None, None]:
            continue
        first, last = (number.value if number else None for number in sides)
        texts = ["not read" if value is None else units.format_value(value, quantity.kind) for value in (first, last)]
        bands = [_band(one, name) for one in (before, after)]
        change = way = ""
        unsure = any(one is not None and is_doubted(one, name) for one in (before, after))
        if first is not None and last is not None:
            change = _difference(_shown(texts[1]) - _shown(texts[0]), quantity.kind)
            way = "" if unsure else _way(name, last - first, quantity.accuracy, bands)
        out.append(Row(name, quantity.title, first, last, texts[0], texts[1], change, bands[0], bands[1], way, unsure))
    return tuple(out)


def _band(assessment: Assessment | None, name: str) -> str:
    """The band in words; with its neighbor where the value lies on the limit between them."""
    band = assessment.findings.bands.get(name) if assessment else None
    if band is None:
        return ""
    return f"{plain(band.symbol)} or {plain(band.neighbor)}" if band.neighbor else plain(band.symbol)


def _shown(text: str) -> float:
    """The number as it is written, so that a change agrees with the two figures beside it."""
    return float(text.split(" ")[0].replace(",", ""))


def _difference(difference: float, kind: str) -> str:
    text = units.format_value(difference, "temperature_difference" if kind == "temperature" else kind)
    if kind == "percent":
        text = text.replace("%", "points")
    number = text.split(" ")[0].strip("+-0.,")
    return "no change" if not number else text if difference < 0 else f"+{text}"


def _way(name: str, difference: float, accuracy: float, bands: list[str]) -> str:
    least = math.hypot(accuracy, accuracy)  # [2]_
    if name in _BETTER_UP | _BETTER_DOWN:
        if abs(difference) < least:
            return "same"
        return "better" if (difference > 0) == (name in _BETTER_UP) else "worse"
    if not all(bands):
        return ""
    then, now = (band in _AIM for band in bands)
    if then == now:
        return "same" if now else ""
    return "better" if now else "worse"


def savings(base: Base, before: Assessment, after: Assessment) -> Savings:
    """What the change of the efficiency is worth in a year, for the same heat.

    Parameters
    ----------
    base : Base
        Its accuracy of the efficiency counts.
    before, after : Assessment
        As found and as left. `yearly_gallons` and `oil_price` are taken from the second, else from the first.

    Raises
    ------
    ComparisonError
        An efficiency that is not known or in doubt, or two fuels.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> def at(**readings):
    ...     return assess(Case(tuple(Entry(name, "", value) for name, value in readings.items())), load(), False)
    >>> found = at(co2=9.0, stack_temperature=600.0, room_temperature=70.0, yearly_gallons=900.0, oil_price=4.0)
    >>> left = at(co2=12.0, stack_temperature=500.0, room_temperature=70.0)
    >>> worth = savings(load(), found, left)
    >>> round(worth.percent, 1), round(worth.saved), round(worth.money)
    (7.9, 71, 283)
    """
    found = []
    for one, when in ((before, "on arrival"), (after, "after the work")):
        number = one.findings.numbers.get("efficiency")
        if number is None:
            raise ComparisonError(f"the efficiency {when} is not known: it wants stack temperature, air temperature, "
                                  "and CO2 or O2")
        if is_doubted(one, "efficiency"):
            raise ComparisonError(f"a reading behind the efficiency {when} is in doubt")
        found.append(number.value)
    fuel = after.findings.fuel
    if before.findings.fuel.name != fuel.name:
        raise ComparisonError(f"the fuel was {before.findings.fuel.title} on arrival and {fuel.title} after the work")
    first, last = found
    try:
        percent = combustion.fuel_saved(first, last)
    except units.PhysicsError as error:
        raise ComparisonError(str(error)) from error
    off = base.quantities["efficiency"].accuracy
    either_way = math.hypot(off / last, first * off / last**2) * 100.0  # of 1 - before / after, each off by `off` [2]_
    gallons, price = (_entered(name, after, before) for name in ("yearly_gallons", "oil_price"))
    saved = None if gallons is None else gallons * percent / 100.0
    money = None if saved is None or price is None else saved * price
    emitted = combustion.co2_emitted_lb_per_gal(fuel)
    formula = f"oil saved = 1 - efficiency before / efficiency after = 1 - {first:.1f} / {last:.1f} = {percent:.1f} %"
    assumptions = (
        "The house asks for the same heat, and the unit stays as it was left.",
        "Combustion efficiency alone counts, by the higher heating value; heat lost by the jacket, by pipes and while "
        "the burner stands still is left out.",
        f"Each efficiency may be off by {off:g} points, the share saved by {either_way:.1f} points.",
        f"A gallon of {fuel.title} gives off {emitted:.1f} lb of CO2, all its carbon burned"
        + ("; the fuel was not entered and is assumed." if after.findings.fuel_assumed else "."),
    )
    return Savings(percent, either_way, gallons, saved, price, money,
                   None if gallons is None else gallons * emitted,
                   None if gallons is None or saved is None else (gallons - saved) * emitted, formula, assumptions)


def _entered(name: str, *assessments: Assessment) -> float | None:
    for one in assessments:
        if name in one.findings.numbers:
            return one.findings.numbers[name].value
    return None
