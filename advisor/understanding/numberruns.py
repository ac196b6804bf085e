"""Runs of numbers that say more together: a nozzle, two drafts; and words that mean a number."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

from advisor.reasoning.case import Entry
from advisor.reasoning.entries import EntryError, read_entry
from advisor.understanding.facts import ASKED, NUMBER, Fact
from advisor.understanding.layout import Line, Named, between
from advisor.understanding.measures import made, spelled
from advisor.understanding.numbers import Number

_ANGLES: Final = (30.0, 45.0, 60.0, 70.0, 80.0, 90.0)
_PATTERNS: Final = frozenset((
    "a", "b", "w", "h", "s", "r", "p", "q", "es", "ss", "ns", "pl", "pls", "hollow", "solid", "semi", "semisolid"))


def nozzles(line: Line) -> Iterator[Fact]:
    """`.85 80B`, `1.00 60 A @ 140`: size, angle and pattern of a nozzle, perhaps the pump's pressure behind it."""
    sized = [name for name in ("nozzle_size", "pump_pressure") if name in line.base.quantities]
    for size, angle in pairwise(line.numbers):
        between = [token.low for token in line.tokens[size.end:angle.first]]
        if len(sized) < 2 or angle.value not in _ANGLES or size.to is not None:
            continue
        if not set(between) <= {"gph", "-", "/", "x", "by", ",", "at", "gal", "gallon", "gallons", "a"}:
            continue
        behind = angle.end
        while behind < len(line.tokens) and line.tokens[behind].low in ("°", "deg", "degree", "degrees", "-", "/"):
            behind += 1
        pattern = behind < len(line.tokens) and line.tokens[behind].low in _PATTERNS
        named = [one for one in line.named if "nozzle_size" in one.name.items]
        if not pattern and not named:
            continue
        value = size.value if size.value < 10 else size.value / 100
        try:
            entry = read_entry(line.base, "nozzle_size", Number(value, 0, 0).typed + " gph")
        except EntryError:
            continue
        tokens = set(range(size.first, behind + (1 if pattern else 0)))
        tokens |= {at for one in named[:1] for at in one.at}
        yield Fact((entry,), frozenset(tokens), 0.2, NUMBER)
        for pressure in line.numbers:
            lead = {token.low for token in line.tokens[behind + bool(pattern):pressure.first]}
            if pressure.first > angle.first and lead & {"@", "at"} and len(lead) < 4:
                for fact in made(line, "pump_pressure", pressure, {pressure.first - 1}, 0.4):
                    yield Fact((entry, *fact.entries), frozenset(tokens) | fact.tokens, 0.3, NUMBER)


def lists(line: Line) -> Iterator[Fact]:
    """`draft -.02 -.06`, `over fire and breech -.02 and -.06`: names first, then as many numbers."""
    numbers = [one for one in line.numbers if one.to is None]
    for size in (2, 3):
        for at in range(len(numbers) - size + 1):
            run = numbers[at:at + size]
            if any(not _beside(line, one.end, other.first, {"and", ",", "/", "over", "&", "by", "-"})
                   for one, other in pairwise(run)):
                continue
            for named in line.named:  # one name of several things
                quantities = [name for name in named.name.items if name in line.base.quantities]
                if len(quantities) >= size and _beside(line, named.last + 1, run[0].first, {"of", "both", ":", "="}):
                    yield from _pairs(line, quantities[:size], run, set(named.at), 0.1)
            singles = [one for one in line.named if one.last < run[0].first
                       and not line.base.quantities.keys().isdisjoint(one.name.items)]
            for first in singles:
                row = _row(line, first, singles, size)
                if row and _beside(line, row[-1].last + 1, run[0].first, {":", "=", ",", "are", "were"}):
                    names = [_fitting(line, one, number) for one, number in zip(row, run, strict=True)]
                    if all(names):
                        yield from _pairs(line, names, run, {at for one in row for at in one.at}, 0.3)


def _fitting(line: Line, named: Named, number: Number) -> str:
    """Of the quantities that a name has the first that a number can be of; empty where it can be of none."""
    return next((name for name in named.name.items
                 if name in line.base.quantities and any(made(line, name, number, set(), 1.0))), "")


def _row(line: Line, first: Named, singles: list[Named], size: int) -> list[Named]:
    row = [first]
    while len(row) < size:
        behind = [one for one in singles if one.first > row[-1].last
                  and _beside(line, row[-1].last + 1, one.first, {"and", ",", "/", "&"}, must=True)]
        if not behind:
            return []
        row.append(max(behind, key=lambda one: (-one.first, len(one.at))))
    return row


def _beside(line: Line, start: int, end: int, allowed: set[str], must: bool = False) -> bool:
    """Whether nothing that tells anything stands between two tokens, but for some words and units."""
    tokens = line.tokens[start:end]
    if must and not any(token.low in allowed for token in tokens):
        return False
    return start <= end and all(token.low in allowed or token.small or spelled(token.text) for token in tokens)


def _pairs(line: Line, names: Sequence[str], numbers: Sequence[Number], spot: set[int], cost: float) -> Iterator[Fact]:
    facts = [fact for name, number in zip(names, numbers, strict=True)
             for fact in made(line, name, number, set(), 1.0)]
    if len(facts) == len(names):
        yield Fact(tuple(entry for fact in facts for entry in fact.entries),
                   frozenset(spot).union(*(fact.tokens for fact in facts)), cost, NUMBER)


def words_for_numbers(line: Line, asked: str) -> Iterator[Fact]:
    """`smoke trace`, `a trace of smoke`, `10 over trace`: words that mean a number of one quantity."""
    for at, token in enumerate(line.tokens):
        for name, _ in line.lexicon.numbers.get(token.stem, ()):
            word = next((one for one in line.base.quantities[name].words if one == token.low), token.low)
            if word not in line.base.quantities[name].words:
                continue
            entry = read_entry(line.base, name, word)
            if asked == name:
                yield Fact((entry,), frozenset((at,)), 0.5, ASKED)
            for named in line.named:
                if name not in named.name.items or at in named.at:
                    continue
                if line.tokens[named.first].stretch != token.stretch:
                    continue
                cost = between(line, named.last if at > named.last else named.first, at, set(named.at))
                if cost <= 1.0:
                    yield Fact((entry,), frozenset({at, *named.at}), cost + 0.1, NUMBER)
            own = token.stem not in line.lexicon.spoken
            if own and token.kind == "word" and not token.stem.isdigit():
                yield Fact((entry,), frozenset((at,)), 0.6, NUMBER)
            if "co2" in line.base.quantities:
                yield from _beside_smoke(line, entry, at)
            if "co2" in line.base.quantities and at > 1 and line.tokens[at - 1].low in ("over", "a", "an"):
                over = at - 1 if line.tokens[at - 1].low == "over" else at - 2
                number = next((one for one in line.numbers if one.end == over), None)
                if number is not None and line.tokens[over].low == "over":
                    for fact in made(line, "co2", number, {over}, 0.3):
                        yield Fact((*fact.entries, entry), fact.tokens | {at, at - 1}, 0.3, NUMBER)


def _beside_smoke(line: Line, smoke: Entry, at: int) -> Iterator[Fact]:
    """`trace at 12.2`, `11.5 on a trace`: a percentage said with the smoke is the CO2."""
    for number in line.numbers:
        first, last = (number.end, at) if number.end <= at else (at + 1, number.first)
        between = {token.low for token in line.tokens[first:last]}
        if number.to is None and number.value > 3 and between & {"at", "on", "with"} \
                and between <= {"at", "on", "with", "a", "an", "smoke", "%", "percent"}:
            for fact in made(line, "co2", number, set(), 0.5):
                yield Fact((*fact.entries, smoke), fact.tokens | {at}, 0.5, NUMBER)
