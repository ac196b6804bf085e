"""A number with its unit, and the entry that it makes for a quantity."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from advisor.library.items import Quantity
from advisor.physics import units
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import EntryError, read_entry
from advisor.understanding.facts import ASKED, COMPUTED, NUMBER, Fact
from advisor.understanding.layout import Line
from advisor.understanding.numbers import Number


def spelled(text: str) -> dict[str, tuple[str, bool]]:
    """The kinds that a text is a unit of; a number is no unit of smoke, whose name the word is too."""
    return {} if text.lower() in ("smoke", "#") else units.spelled(text)


def unit_behind(line: Line, number: Number, kind: str) -> tuple[str, int] | None:
    """The longest unit of a kind behind a number, as typed, and the token behind it; None where there is none."""
    best: tuple[str, int] | None = None
    for end in range(number.end + 1, min(number.end + 6, len(line.tokens) + 1)):
        text = line.text[line.tokens[number.end].start:line.tokens[end - 1].end]
        if kind in spelled(text):
            best = (text, end)
    return best


def _other_unit(line: Line, number: Number, kind: str) -> str:
    """A unit of other kinds alone, right behind a number."""
    for end in range(min(number.end + 5, len(line.tokens)), number.end, -1):
        text = line.text[line.tokens[number.end].start:line.tokens[end - 1].end]
        kinds = {name: open_ for name, (_, open_) in spelled(text).items()}
        if kinds and kind not in kinds and text.lower() not in ("in", "a", "m", "k", "y", "at", "lb", "w"):
            return text
    return ""


def _typed(line: Line, number: Number, unit: str) -> str:
    """A number with its unit as an entry takes it: as it was written, where that is read again as the same."""
    first, last = line.tokens[number.first], line.tokens[number.end - 1]
    written = line.text[first.start:last.end]
    digits = written if number.end == number.first + 1 and first.kind == "number" and "/" not in written \
        and "," not in written else number.typed
    return f"{digits} {unit}".strip()


_MASS: Final = {"kg/h": 1 / 0.45359237, "kg/hr": 1 / 0.45359237, "kgh": 1 / 0.45359237, "lb/h": 1.0, "lb/hr": 1.0,
                "lbs/h": 1.0, "lbs/hr": 1.0, "kilos an hour": 1 / 0.45359237}


def _of_mass(line: Line, number: Number) -> tuple[str, int] | None:
    """A flow given by weight, as one by volume of No. 2 oil."""
    for end in range(min(number.end + 4, len(line.tokens)), number.end, -1):
        text = line.text[line.tokens[number.end].start:line.tokens[end - 1].end].lower()
        if text in _MASS and "no-2-oil" in line.base.fuels:
            gallons = number.value * _MASS[text] / line.base.fuels["no-2-oil"].density_lb_per_gal
            return f"{gallons:.3f} gph", end
    return None


def _celsius(line: Line, number: Number) -> str:
    """The unit of a temperature without one, where another one before it is in degrees Celsius."""
    for one in line.numbers:
        found = unit_behind(line, one, "temperature") if one.first < number.first else None
        if found and units.parse(f"100 {found[0]}", "temperature").value > 200:
            return found[0]
    return ""


def valued(line: Line, quantity: Quantity, number: Number) -> tuple[Entry, int]:
    """The entry that a number makes for a quantity, and the token behind it with its unit; errors: `EntryError`."""
    by_mass = _of_mass(line, number) if quantity.kind == "flow" else None
    if by_mass:
        return read_entry(line.base, quantity.name, by_mass[0]), by_mass[1]
    found = unit_behind(line, number, quantity.kind)
    other = "" if found else _other_unit(line, number, quantity.kind)
    if other:
        return read_entry(line.base, quantity.name, _typed(line, number, other)), number.end
    unit, end = found or ("", number.end)
    if not unit and quantity.kind == "temperature":
        unit = _celsius(line, number)
    if not unit and quantity.kind == "length" and number.value < quantity.plausible[0]:
        unit = "ft"  # what is too little in inches was said in feet: a chimney of 30
    return read_entry(line.base, quantity.name, _typed(line, number, unit)), end


def units_behind(line: Line, number: Number) -> set[int]:
    out: set[int] = set()
    for end in range(number.end + 1, min(number.end + 6, len(line.tokens) + 1)):
        if spelled(line.text[line.tokens[number.end].start:line.tokens[end - 1].end]):
            out = set(range(number.end, end))
    return out


def made(line: Line, name: str, number: Number, more: set[int], cost: float, kind: str = NUMBER) -> Iterator[Fact]:
    if line.base.quantities[name].derived:
        found = unit_behind(line, number, line.base.quantities[name].kind)
        tokens = frozenset({*more, *range(number.first, found[1] if found else number.end)})
        low, high = line.base.quantities[name].plausible
        if kind == NUMBER and not number.weak and low <= number.value <= high:
            yield Fact((), tokens, cost, COMPUTED, of=name)
        return
    try:
        entry, end = valued(line, line.base.quantities[name], number)
        if quantity_needs_unit(line.base.quantities[name]) and kind != ASKED and end == number.end:
            return
        if kind != ASKED and _crowded(line, number.first, end):
            raise EntryError(f"{line.base.title(name)}: more than one number; write one, such as 5.5")
    except EntryError as error:
        if kind == NUMBER and cost < 1:
            line.refused.append((number, len(more), str(error)))
        return
    yield Fact((entry,), frozenset({*more, *range(number.first, end)}), cost, kind)


def quantity_needs_unit(quantity: Quantity) -> bool:
    """Whether a bare number beside its name is more often a count: "two louvers"."""
    return quantity.kind == "area"


def _crowded(line: Line, first: int, end: int) -> bool:
    """Whether another number stands right beside one, with nothing between, as in `o2 5 5`, that is of nothing else."""
    here = next(one for one in line.numbers if one.first == first)
    beside = [one for one in line.numbers if one.to is None and one is not here and (one.first == end or (
        one.end == first))]
    return any(not _other_unit(line, one, "") and not units_behind(line, one) and abs(one.value) < 10
               and abs(here.value) < 10 and one.value == int(one.value) and here.value == int(here.value)
               for one in beside)
