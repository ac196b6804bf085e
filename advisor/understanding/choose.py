"""The best reading of a line: the facts that leave least of it unexplained and are least far-fetched together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from advisor.understanding.facts import ALONE, ASKED, NUMBER, Fact
from advisor.understanding.layout import Line

_NUMBER: Final = 3.0
_WEAK: Final = 0.1
_NAME: Final = 0.5
_WORD: Final = 0.4
_SMALL: Final = 0.05
_CHOICE: Final = 0.05
"""What is told outright comes before what has to be asked."""

_MOST: Final = 4_000
"""Readings of one line that are compared; the first found of a line with more are good ones."""


def chosen(line: Line, facts: Sequence[Fact]) -> tuple[Fact, ...]:
    """The facts of the best reading.

    What a line leaves unexplained costs: a number most, then the name of something, then a word that answers. A fact
    costs as far-fetched as it is. Two facts do not share words, but for what is said of two things at once by phrases
    that need no name: "steam boiler".
    """
    worth = _worth(line)
    for fact in facts:
        if fact.kind == ASKED:  # what answers the question is worth an answer, however small the word
            first = min(fact.tokens)
            worth[first] = max(worth.get(first, 0.0), 0.9)
    facts = sorted(_unlike(facts), key=lambda fact: (fact.cost - sum(worth.get(at, 0.0) for at in fact.tokens)))
    facts = [fact for fact in facts if fact.cost < sum(worth.get(at, 0.0) for at in fact.tokens) + 0.4]
    by_token: dict[int, list[Fact]] = {}
    for fact in facts:
        for at in fact.tokens:
            by_token.setdefault(at, []).append(fact)
    order = sorted(by_token, key=lambda at: (-worth.get(at, 0.0), at))
    best: tuple[float, tuple[Fact, ...]] = (sum(worth.values()), ())
    looked = 0

    def go(at: int, taken: tuple[Fact, ...], covered: frozenset[int], cost: float) -> None:
        nonlocal best, looked
        looked += 1
        while at < len(order) and order[at] in covered:
            at += 1
        if at == len(order) or looked > _MOST:
            whole = cost + sum(value for token, value in worth.items() if token not in covered)
            if whole < best[0] - 1e-9:
                best = (whole, taken)
            return
        if cost >= best[0]:
            return
        for fact in by_token[order[at]]:
            if not any(_clash(line, fact, one) for one in taken):
                far = fact.cost + (0.0 if fact.entries else _CHOICE)
                go(at + 1, (*taken, fact), covered | fact.tokens, cost + far)
        go(at + 1, taken, covered, cost)

    go(0, (), frozenset(), 0.0)
    taken = list(best[1])
    for fact in facts:  # what shares all its words with others costs nothing more to say
        if fact.kind == ASKED and any(_says_less(line, fact, one) for one in taken):
            continue
        if fact.kind in (ALONE, ASKED) and fact not in taken and not any(_clash(line, fact, one) for one in taken):
            taken.append(fact)
    return tuple(taken)


def _unlike(facts: Sequence[Fact]) -> list[Fact]:
    """Of facts that say the same by the same words, the least far-fetched."""
    best: dict[object, Fact] = {}
    for fact in facts:
        key = (tuple((one.name, one.value, one.status) for one in fact.entries), fact.options, fact.tokens,
               fact.kind == ASKED)
        if key not in best or fact.cost < best[key].cost:
            best[key] = fact
    return list(best.values())


def _worth(line: Line) -> dict[int, float]:
    """What it costs to leave each token unexplained."""
    worth: dict[int, float] = {}
    spoken = line.lexicon.spoken
    for at, token in enumerate(line.tokens):
        if token.kind == "word":
            worth[at] = _SMALL
        if token.kind == "word" and not token.small and (token.denies or token.stem in spoken):
            worth[at] = _WORD
        if token.kind == "word" and token.stem in line.lexicon.numbers and token.stem not in spoken:
            worth[at] = 2 * _NAME
    for named in line.named:
        for at in named.at:
            if not line.tokens[at].small:
                worth[at] = max(worth.get(at, 0.0), _NAME)
    for number in line.numbers:
        for at in range(number.first, number.end):
            worth[at] = 0.0
        worth[number.first] = _WEAK if number.weak else _NUMBER
    return worth


def _clash(line: Line, one: Fact, other: Fact) -> bool:
    shared = one.tokens & other.tokens
    if not shared:
        return False
    if _is_kind_of_unit(line, one) != _is_kind_of_unit(line, other):
        return False  # "the boiler kettles" says that it is a boiler, too
    if _adds_to_the_complaint(line, one, other) or _adds_to_the_complaint(line, other, one):
        return False  # "pushed the red button twice" says that it locks out, and how often it was reset
    if one.kind == other.kind == ALONE and one.entries and other.entries:
        if one.names == other.names:
            return True
        safety = line.base.safety_looks
        if safety.isdisjoint(one.names) != safety.isdisjoint(other.names):
            # whatever else the words say, they say what somebody's safety hangs on
            weighty, light = (other, one) if safety.isdisjoint(one.names) else (one, other)
            return light.tokens <= weighty.tokens and light.tokens != weighty.tokens
        equipment = line.base.equipment.issuperset((*one.names, *other.names))
        return not equipment and (one.tokens <= other.tokens or other.tokens <= one.tokens or len(shared) > 1)
    if NUMBER in (one.kind, other.kind) and one.kind != other.kind:
        # a thing may have a number and a look: "motor hums at 1690"
        return one.tokens <= other.tokens or other.tokens <= one.tokens or not all(
            line.tokens[at].kind == "word" and any(at in named.at for named in line.named) for at in shared)
    return True


def _says_less(line: Line, one: Fact, other: Fact) -> bool:
    """Whether one fact leaves telling words out that stand with its own in the other: "hot water ... is scalding"."""
    return one.tokens <= other.tokens and any(not line.tokens[at].small for at in other.tokens - one.tokens)


def _adds_to_the_complaint(line: Line, one: Fact, other: Fact) -> bool:
    """Whether one fact is what the call is about, and the other says more with some of the same words; where it is
    asked what the call is about, with the same words.
    """
    looks = line.base.observations
    return (bool(one.entries and other.entries) and len(one.names) == len(other.names) == 1
            and all(name in looks for name in (*one.names, *other.names))
            and looks[one.names[0]].part == "complaint" and looks[other.names[0]].part == "reading"
            and (one.kind == ASKED or not other.tokens <= one.tokens))


def _is_kind_of_unit(line: Line, fact: Fact) -> bool:
    """Whether it is one word that says what is installed: boiler, kerosene."""
    return fact.kind == ALONE and len(fact.tokens) == 1 and bool(fact.entries) \
        and line.base.equipment.issuperset(fact.names)
