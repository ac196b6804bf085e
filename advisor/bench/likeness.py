"""Look-alikes: what each of a few causes does to every reading, look and complaint, and which of them tells best which
of the causes it is. From the knowledge of the advisor, not from the model unit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.bench.benchfiles import DATA, BenchError, items
from advisor.library.base import Base
from advisor.library.items import IN_ORDER, Cause, Check, fits
from advisor.library.yamlfiles import LibraryError, Problem
from advisor.reasoning.signatures import chart_of, telling_panel
from advisor.reasoning.stages import INCIPIENT_SHARE
from advisor.reasoning.tables import scale_of
from advisor.reasoning.turnout import COMPLAINT

MOST: Final = 3
"""Causes side by side."""
_TELLS: Final = 0.02
"""Bits from which on a row is worth showing."""
Shares = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Row:
    """One reading, look or complaint over the causes.

    `bits` is what its answer tells of which cause it is, all being as likely beforehand; `shares` has for each cause
    how often each answer is met, `because` the mechanism; None where the cause leaves it alone.
    """

    name: str
    bits: float
    check: Check | None
    shares: tuple[Shares, ...]
    because: tuple[str | None, ...]


def side_by_side(base: Base, causes: Sequence[Cause]) -> list[Row]:
    """The rows of a few causes, what tells them apart best first.

    Parameters
    ----------
    causes : sequence of Cause
        Two or three, all different.

    Raises
    ------
    BenchError
        Fewer or more, or one cause twice.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> base = load()
    >>> rows = side_by_side(base, [base.causes["sooted-gas-passages"], base.causes["blocked-flue"]])
    >>> rows[0].bits >= rows[1].bits
    True
    """
    if not 2 <= len(causes) <= MOST or len({one.name for one in causes}) != len(causes):
        raise BenchError(f"{', '.join(one.title for one in causes) or 'nothing'}: to tell apart it takes two or three "
                         "causes, each once")
    met = [_met(base, one.name) for one in causes]
    only: dict[str, tuple[str, ...]] = {name: any_of for one in causes for name, any_of in one.only.items()}
    rows = []
    for name in dict.fromkeys(name for one in met for name in one):
        known = {one: any_of[0] for one, any_of in only.items() if len(any_of) == 1}
        if not fits(getattr(base.named[name], "only", {}), known):
            continue
        shares = tuple(one.get(name) or _usual(base, name) for one in met)
        bits = information(shares)
        if bits >= _TELLS:
            check = next(iter(base.checks_giving.get(name, ())), None)
            because = tuple(_because(base, one, name) if name in own else None
                            for one, own in zip(causes, met, strict=True))
            rows.append(Row(name, bits, check, shares, because))
    return sorted(rows, key=lambda row: (-round(row.bits, 6), row.check.minutes if row.check else 0.0, row.name))


def information(shares: Sequence[Shares]) -> float:
    """What an answer tells, in bits, of which of some equally likely causes it is: the fall of their entropy, expected.

    Reference: C. E. Shannon, A Mathematical Theory of Communication, 1948 (mutual information).

    >>> information([{"yes": 1.0}, {"no": 1.0}]), information([{"yes": 0.5, "no": 0.5}] * 2)
    (1.0, 0.0)
    """
    out = 0.0
    for symbol in {symbol for one in shares for symbol in one}:
        mean = sum(one.get(symbol, 0.0) for one in shares) / len(shares)
        out += sum(one[symbol] * math.log2(one[symbol] / mean) for one in shares if one.get(symbol, 0.0) > 0.0)
    return out / len(shares)


@lru_cache(maxsize=256)
def _met(base: Base, named: str) -> Mapping[str, Shares]:
    """For everything that a cause moves how often each answer is met with it, far gone and begun mixed."""
    cause = base.causes[named]
    out: dict[str, Shares] = {}
    chart = chart_of(base, {name: any_of[0] for name, any_of in cause.only.items() if len(any_of) == 1})
    for panel in chart.panels:
        rows = {level: chart.rows[panel, level, ""] for level in chart.levels[panel]}
        own = {level: _mixed(*row[cause.name]) for level, row in rows.items()}
        if any(abs(own[level] - _mixed(*rows[level][IN_ORDER])) > 1e-6 for level in own):
            out[panel] = _scaled(own)
    scale = scale_of(base)
    asked = {item.name for item in base.entered}
    for group in scale.groups[cause.name]:
        for at, name in enumerate(group.names):
            if group.given[at] or name not in asked or name in telling_panel(base):
                continue
            found: dict[str, float] = {}
            for cell, share in group.with_.items():
                found[cell[at]] = found.get(cell[at], 0.0) + _mixed(share, group.early[cell])
            if name not in out or _off(base, name, found) > _off(base, name, out[name]):
                out[name] = _scaled(found)
    if cause.calls:
        usual = base.usual[COMPLAINT]
        calls = {one: share * usual.get(one, 0.0) for one, share in cause.calls.items()}
        if sum(calls.values()) > 0.0:
            out[COMPLAINT] = _scaled(calls)
    return out


def _mixed(gone: float, begun: float) -> float:
    return (1.0 - INCIPIENT_SHARE) * gone + INCIPIENT_SHARE * begun


def _scaled(shares: Shares) -> Shares:
    whole = sum(shares.values())
    return {name: share / whole for name, share in shares.items()}


def _off(base: Base, name: str, shares: Shares) -> float:
    """How far shares are from the usual ones."""
    return sum(abs(shares.get(one, 0.0) - share) for one, share in base.usual[name].items())


def _usual(base: Base, name: str) -> Shares:
    """As with a cause that leaves it alone: as on a unit in order, or on any call."""
    if name in base.panels:
        chart = chart_of(base, {})
        return _scaled({level: _mixed(*chart.rows[name, level, ""][IN_ORDER]) for level in chart.levels[name]})
    return base.usual[name]


def _because(base: Base, cause: Cause, name: str) -> str:
    """The mechanism by which a cause moves a reading: of its chain, else of the rule that reads it back."""
    news = {name, *(base.panels[name].also if name in base.panels else ())}
    links = [link.because for link in cause.chain if link.moves in news]
    rules = [rule.because for rule in base.rules_about[cause.name]
             if news & set(rule.when) and (cause.name in rule.confirms or rule.weighs.get(cause.name, 0.0) > 0.0)]
    return next(iter((*links, *rules)), "")


@dataclass(frozen=True, slots=True)
class Pair:
    """Two causes that the advisor took for one another on the physical burner, and how often."""

    causes: tuple[str, str]
    times: int


@lru_cache(maxsize=4)
def confused(base: Base) -> tuple[Pair, ...]:
    """The pairs that the advisor confuses most, by its accuracy benchmark, the most frequent first;
    of those as frequent, what is akin.

    Raises
    ------
    LibraryError
        All that is wrong with their file.
    """
    problems: list[Problem] = []
    out = []
    for _, first, fields in items(DATA / "lookalikes.yaml", ("pair",), problems, again=True):
        other, times = fields.text("with"), int(fields.number("times"))
        for name in (first, other):
            if name not in base.causes:
                fields.wrong(f"pair {first}: no cause is called {name!r}")
        out.append(Pair((first, other), times))
    if problems:
        raise LibraryError(problems)
    return tuple(sorted(out, key=lambda pair: (-pair.times, not _akin(base, *pair.causes))))


def _akin(base: Base, one: str, other: str) -> bool:
    """Whether two causes do the same to flame, draft or oil, or lie in the same field."""
    return base.causes[one].subject == base.causes[other].subject or any(
        {one, other} <= set(family.members) for family in base.families.values())
