"""What the numbers of a line may mean: beside a name, before or after it, by their unit, as the answer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from advisor.physics import units
from advisor.reasoning.case import Entry
from advisor.understanding.facts import ASKED, COMPUTED, FAR, NUMBER, Fact
from advisor.understanding.layout import Line, Named, between
from advisor.understanding.measures import made, units_behind
from advisor.understanding.numberruns import lists, nozzles, words_for_numbers
from advisor.understanding.numbers import Number


def number_facts(line: Line, asked: str) -> Iterator[Fact]:
    """What the numbers of a line may mean."""
    quantities = line.base.quantities
    for number in line.numbers:
        behind = line.tokens[number.end].low if number.end < len(line.tokens) else ""
        if _of_the_clock(line, number) or behind in ("solid", "hollow", "semi"):
            continue  # the time of day; the angle of a nozzle
        if number.to is not None:
            yield from _range_facts(line, number)
            continue
        for named in line.named:
            yield from _named_number(line, named, number)
        if asked in quantities:
            yield from made(line, asked, number, set(), 0.7, ASKED)
        if not number.weak:
            yield from _by_unit(line, number)
        if number.hashed and not asked and _bare(line, number):
            yield from _hashed(line, number)
    yield from nozzles(line)
    yield from lists(line)
    yield from words_for_numbers(line, asked)


def _named_number(line: Line, named: Named, number: Number) -> Iterator[Fact]:
    quantities = [name for name in named.name.items if name in line.base.quantities]
    spot = set(named.at)
    span = set(range(number.first, number.end))
    if not quantities or spot & {at for at in span if line.tokens[at].kind == "number"}:
        return
    if line.tokens[named.first].stretch != line.tokens[number.first].stretch:
        return
    if number.first > named.last:
        cost = between(line, named.last, number.first, spot)
    elif number.end <= named.first:
        unit_end = max(units_behind(line, number), default=number.end - 1) + 1
        if any(line.tokens[at].breaks for at in range(unit_end, named.first)) or _counts(line, number, spot):
            return
        cost = 0.3 + between(line, number.end - 1, named.first, spot | units_behind(line, number))
    else:
        cost = 0.25
    if number.weak:
        cost += 0.8
    if spot <= units_behind(line, number):
        if not _bare(line, number):
            return
        cost += 0.7  # a unit that names a reading too, such as psi, gives way to what is asked
    if cost > FAR:
        return
    found = [fact for name in quantities for fact in made(line, name, number, spot, cost)]
    if len(found) < 2 or any(fact.kind == COMPUTED for fact in found):
        yield from found
    else:
        tokens = frozenset().union(*(fact.tokens for fact in found))
        yield Fact((), tokens, cost + 0.2, NUMBER, tuple(fact.entries for fact in found[:5]))


def _bare(line: Line, number: Number) -> bool:
    """Whether a number and its unit are all that their part of the line tells."""
    mine = {*range(number.first, number.end), *units_behind(line, number)}
    return all(at in mine or token.small or token.part != line.tokens[number.first].part
               for at, token in enumerate(line.tokens))


def _counts(line: Line, number: Number, spot: set[int]) -> bool:
    """Whether a small number in words says how many there are of what stands behind it: "two louvers"."""
    word = line.tokens[number.first].kind == "word" and number.value in range(13) and not number.hashed
    behind = line.tokens[number.end] if number.end < len(line.tokens) else None
    return word and behind is not None and number.end not in spot and behind.kind == "word" and not (
        behind.small or units.spelled(behind.text) or behind.stem in line.lexicon.numbers)


def _range_facts(line: Line, number: Number) -> Iterator[Fact]:
    """`500 to 520`: which of the two is asked."""
    assert number.to is not None
    ends = [Number(value, number.first, number.end, number.sign) for value in (number.value, number.to)]
    for named in line.named:
        facts = [fact for end in ends for fact in _named_number(line, named, end) if fact.entries]
        if len(facts) == 2:
            either = tuple(fact.entries for fact in facts)
            yield Fact((), facts[0].tokens | facts[1].tokens, facts[0].cost, NUMBER, either)


def _hashed(line: Line, number: Number) -> Iterator[Fact]:
    """`#2` alone: the fuel, or the smoke; which is asked."""
    stems = ("#", str(int(number.value)))
    named = [(Entry(one.of, one.answer, one.answer),) for some in line.lexicon.sayings.values() for one in some
             if one.stems == stems]
    spots = [(entry,) for one in line.base.quantities.values() if one.kind == "smoke" and one.part == "reading"
             and not one.derived for fact in made(line, one.name, number, set(), 0.9) for entry in fact.entries]
    if named or spots:
        yield Fact((), frozenset(range(number.first, number.end)), 0.9, NUMBER, (*spots, *named))


def _of_the_clock(line: Line, number: Number) -> bool:
    """Whether it tells the time: "at 3 in the morning", "7 am"."""
    behind = " ".join(token.low for token in line.tokens[number.end:number.end + 3])
    return behind.startswith(("in the morning", "in the afternoon", "at night", "am", "pm", "a m", "p m", "oclock",
                              "o'clock")) and not behind.startswith("ambient")


_OF_MANY: Final = frozenset(("length", "time_s", "time_min"))
"""What many things are measured by that are no reading: of a bare number with such a unit it is asked what it is."""


def _by_unit(line: Line, number: Number) -> Iterator[Fact]:
    """A number with a unit and no name: of the one reading that has such a unit, or a choice."""
    text_end = max(units_behind(line, number), default=-1) + 1
    if not text_end:
        return
    text = line.text[line.tokens[number.end].start:line.tokens[text_end - 1].end]
    kinds = {kind for kind, (_, open_) in units.spelled(text).items() if not open_}
    meant = [one for one in line.base.quantities.values() if one.kind in kinds and not one.derived]
    if (len(text) < 2 and text != "%") or not (
            _bare(line, number) or (len(meant) == 1 and (meant[0].part == "reading" or re.search(r"[ /]", text)))):
        return
    bare = _bare(line, number) or meant[0].part != "reading"
    meant = [one for one in meant if one.part == "reading"] or meant
    found = [fact for one in meant for fact in made(line, one.name, number, set(), 1.3)]
    of_many = bool(kinds & _OF_MANY)
    if len(found) == 1 and (_bare(line, number) if of_many else not bare):
        yield Fact((), found[0].tokens, 1.6, NUMBER, (found[0].entries,))
    elif len(found) == 1 and bare and not of_many:
        yield found[0]
    elif 1 < len(found) < 7:
        yield Fact((), found[0].tokens, 1.6, NUMBER, tuple(one.entries for one in found))
