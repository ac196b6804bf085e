"""Before and after side by side, and what the difference is worth: oil, money and CO2 a year.

References
----------
.. [1] Fuel for the same heat goes with 1 / efficiency: definition of the efficiency.
.. [2] Independent errors add as the root of the sum of their squares, each times what it does to the figure:
   JCGM 100:2008, 5.1.2 (see :mod:`advisor.physics.accuracy`). What was read twice with one instrument, before and
   after, is taken as independent; where its error stays the same it cancels in part, so the true one is the smaller.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import error_text, plain
from advisor.physics import accuracy, combustion, units
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import RECHECKED
from advisor.reasoning.derive import Number

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

    `way` is `same` (they differ by less than their joint error), `better`, `worse`, `as good` (both as they should be)
    or empty where that has no meaning. `doubted` says that a rule casts doubt on one of the two. The errors are texts,
    empty where nothing was computed; `change_error` is the joint one.
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
    before_error: str = ""
    after_error: str = ""
    change_error: str = ""


@dataclass(frozen=True, slots=True)
class Savings:
    """What a change of the efficiency is worth.

    `percent` is the oil saved in per cent of the oil burned before, `either_way` how far it may be off (95 times in
    100 no more). The others are for a year and None where gallons or price were not entered: gallons, the customer's
    own money, each with how far it may be off, lb of CO2.
    """

    percent: float
    either_way: float
    gallons: float | None
    saved: float | None
    saved_error: float | None
    price: float | None
    money: float | None
    money_error: float | None
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
        texts, errors = zip(*(_texts(base, number) for number in sides), strict=True)
        bands = [_band(one, name) for one in (before, after)]
        change = way = off = ""
        unsure = any(one is not None and is_doubted(one, name) for one in (before, after))
        if after and sides[0] and sides[1]:
            digits = max(len(text.split(" ")[0].partition(".")[2]) for text in texts) if any(errors) else None
            change = _difference(_shown(texts[1]) - _shown(texts[0]), quantity.kind, digits)
            error = _joint_error(sides[0], sides[1], _unchanged(base, before, after))
            way = "" if unsure else _way(name, sides[1].value - sides[0].value, error, bands)
            off = error_text(error, quantity.kind) if any(errors) else ""
        out.append(Row(name, quantity.title, first, last, texts[0], texts[1], change, bands[0], bands[1], way, unsure,
                       errors[0], errors[1], off))
    return tuple(out)


def _texts(base: Base, number: Number | None) -> tuple[str, str]:
    """A number as it is written, and its error where it was computed."""
    if number is None:
        return "not read", ""
    kind = base.quantities[number.name].kind
    if number.formula:
        return accuracy.rounded(number.value, number.error, kind)[0], error_text(number.error, kind)
    return units.format_value(number.value, kind), ""


def _unchanged(base: Base, before: Assessment, after: Assessment) -> frozenset[str]:
    """What is the same thing before and after, with the same error: the equipment, where it was not changed. All else
    was read anew.
    """
    then, now = before.case.latest, after.case.latest
    return frozenset(name for name in base.equipment & base.quantities.keys() & then.keys() & now.keys()
                     if then[name].value == now[name].value)


def _joint_error(first: Number, last: Number, unchanged: frozenset[str]) -> float:
    """The error of a difference of two numbers; what stands behind both counts once [2]_."""
    once = [share for number in (first, last) for source, share in number.shares.items() if source not in unchanged]
    both = [last.shares.get(source, 0.0) - first.shares.get(source, 0.0) for source in unchanged]
    return accuracy.joint((*once, *both))


def _band(assessment: Assessment | None, name: str) -> str:
    """The band in words; with its neighbor where the value lies on the limit between them."""
    band = assessment.findings.bands.get(name) if assessment else None
    if band is None:
        return ""
    return f"{plain(band.symbol)} or {plain(band.neighbor)}" if band.neighbor else plain(band.symbol)


def _shown(text: str) -> float:
    """The number as it is written, so that a change agrees with the two figures beside it."""
    return float(text.split(" ")[0].replace(",", ""))


def _difference(difference: float, kind: str, digits: int | None) -> str:
    text = units.format_value(difference, "temperature_difference" if kind == "temperature" else kind, digits)
    if kind == "percent":
        text = text.replace("%", "points")
    number = text.split(" ")[0].strip("+-0.,")
    return "no change" if not number else text if difference < 0 else f"+{text}"


def _way(name: str, difference: float, error: float, bands: list[str]) -> str:
    if abs(difference) < error:
        return "same"
    if name in _BETTER_UP | _BETTER_DOWN:
        return "better" if (difference > 0) == (name in _BETTER_UP) else "worse"
    if not all(bands):
        return ""
    then, now = (band in _AIM for band in bands)
    if then == now:
        return "as good" if now else ""
    return "better" if now else "worse"


def savings(base: Base, before: Assessment, after: Assessment) -> Savings:
    """What the change of the efficiency is worth in a year, for the same heat.

    Parameters
    ----------
    base : Base
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
    found: list[Number] = []
    for one, when in ((before, "on arrival"), (after, "after the work")):
        number = one.findings.numbers.get("efficiency")
        if number is None:
            raise ComparisonError(f"the efficiency {when} is not known: it wants stack temperature, air temperature, "
                                  "and CO2 or O2")
        if is_doubted(one, "efficiency"):
            raise ComparisonError(f"a reading behind the efficiency {when} is in doubt")
        found.append(number)
    fuel = after.findings.fuel
    if before.findings.fuel.name != fuel.name:
        raise ComparisonError(f"the fuel was {before.findings.fuel.title} on arrival and {fuel.title} after the work")
    tickets, cost = (_entered(name, after, before) for name in ("yearly_gallons", "oil_price"))
    try:
        percent, either_way = _with_error(combustion.fuel_saved, *found)
        saved, saved_error = _with_error(_saved, *found, tickets) if tickets else (None, None)
        money, money_error = _with_error(_saved, *found, tickets, cost) if tickets and cost else (None, None)
    except units.PhysicsError as error:
        raise ComparisonError(str(error)) from error
    gallons, price = (one.value if one else None for one in (tickets, cost))
    emitted = combustion.co2_emitted_lb_per_gal(fuel)
    first, last = (one.value for one in found)
    formula = f"oil saved = 1 - efficiency before / efficiency after = 1 - {first:.1f} / {last:.1f} = {percent:.1f} %"
    off = [error_text(error, "percent") for error in (*(one.error for one in found), either_way)]
    assumptions = (
        "The house asks for the same heat, and the unit stays as it was left.",
        "Combustion efficiency alone counts, by the higher heating value; heat lost by the jacket, by pipes and while "
        "the burner stands still is left out.",
        f"The efficiency may be off by {off[0]} before and {off[1]} after, the share saved by {off[2]}: "
        "what the instruments' accuracy makes of it, 95 times in 100 no more.",
        f"A gallon of {fuel.title} gives off {emitted:.1f} lb of CO2, all its carbon burned"
        + ("; the fuel was not entered and is assumed." if after.findings.fuel_assumed else "."),
    )
    return Savings(percent, either_way, gallons, saved, saved_error, price, money, money_error,
                   None if gallons is None else gallons * emitted,
                   None if gallons is None or saved is None else (gallons - saved) * emitted, formula, assumptions)


def _entered(name: str, *assessments: Assessment) -> Number | None:
    return next((one.findings.numbers[name] for one in assessments if name in one.findings.numbers), None)


def _saved(before: float, after: float, gallons: float, price: float = 1.0) -> float:
    """Gallons that a change of the efficiency saves, or their price."""
    return combustion.fuel_saved(before, after) / 100.0 * gallons * price


def _with_error(function: Callable[..., float], *numbers: Number) -> tuple[float, float]:
    """What follows from numbers that are independent of each other, and its error [2]_."""
    values, errors = [one.value for one in numbers], [one.error for one in numbers]
    slopes = accuracy.sensitivities(function, values, errors)
    return function(*values), accuracy.joint(slope * error for slope, error in zip(slopes, errors, strict=True))
