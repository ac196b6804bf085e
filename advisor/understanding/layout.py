"""A line laid out for reading: its tokens and numbers, where things are named, and how far apart two words stand."""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, field

from advisor.library.base import Base
from advisor.physics import units
from advisor.understanding.lexicon import Lexicon, Name
from advisor.understanding.numbers import Number
from advisor.understanding.tokens import HOW_MUCH, Token, reaches


@dataclass(frozen=True, eq=False)
class Line:
    """A line laid out for reading: its tokens, numbers, and where things are named."""

    text: str
    lexicon: Lexicon
    tokens: tuple[Token, ...]
    numbers: tuple[Number, ...]
    named: tuple[Named, ...] = ()
    refused: list[tuple[Number, int, str]] = field(default_factory=list)
    """Numbers that stand beside a name and cannot be of it, with how many words it has, and why."""

    @property
    def base(self) -> Base:
        return self.lexicon.base

    @property
    def telling(self) -> int:
        """How many of its words say something by themselves."""
        return sum(one.kind == "word" and not one.small and one.low not in HOW_MUCH for one in self.tokens)


@dataclass(frozen=True, slots=True)
class Named:
    """Where a name stands."""

    name: Name
    at: tuple[int, ...]

    @property
    def first(self) -> int:
        return min(self.at)

    @property
    def last(self) -> int:
        return max(self.at)


def named_in(lexicon: Lexicon, tokens: Sequence[Token], numbers: Sequence[Number]) -> tuple[Named, ...]:
    """Everywhere that a line names something: the words of a name together, in any order, small words and numbers
    between them."""
    there = {token.stem for token in tokens}
    in_number = {at for one in numbers for at in range(one.first, one.end)}
    out: list[Named] = []
    for name in lexicon.names:
        if not there.issuperset(name.stems):
            continue
        for start, token in enumerate(tokens):
            if token.stem not in name.stems or (start in in_number and token.kind == "number"):
                continue
            found = _together(name, tokens, start, in_number)
            if found and not any(set(found) == set(one.at) and one.name.items == name.items for one in out):
                out.append(Named(name, found))
    return tuple(out)


def _together(name: Name, tokens: Sequence[Token], start: int, in_number: set[int]) -> tuple[int, ...]:
    if name.whole:
        found = tuple(range(start, start + len(name.stems)))
        return found if tuple(token.stem for token in tokens[start:start + len(name.stems)]) == name.stems else ()
    left, found_at, past = list(name.stems), [], 0
    for at in range(start, len(tokens)):
        token = tokens[at]
        if token.stretch != tokens[start].stretch:
            break
        if token.stem in left:
            left.remove(token.stem)
            found_at.append(at)
            if not left:
                return tuple(found_at)
        elif at in in_number or units.spelled(token.text):
            past += 1
            if past > 5:
                break
        elif not token.small or token.breaks:
            break
    return ()


def places_of(
    stems: Sequence[str], tokens: Sequence[Token], gap: int, across: bool, free: Container[str] = (),
) -> Iterator[tuple[int, ...]]:
    """Where words stand in their order, with up to `gap` telling words between two of them, those that are `free` not
    counted; `across` commas too."""
    for start, token in enumerate(tokens):
        if token.stem != stems[0]:
            continue
        at, found = start, [start]
        for stem in stems[1:]:
            passed = 0
            for other in range(at + 1, len(tokens)):
                one = tokens[other]
                if one.stretch != token.stretch or (one.part != token.part and not across):
                    passed = gap + 1
                elif one.stem == stem:
                    if token.denies and not reaches(tokens, start, other):
                        passed = gap + 1
                        break
                    found.append(other)
                    break
                elif one.denies or not (
                        one.small or one.kind == "number" or one.low in HOW_MUCH or one.stem in free):
                    passed += 1
                if passed > gap or one.denies:
                    break
            if found[-1] == at:
                break
            at = found[-1]
        if len(found) == len(stems):
            yield tuple(found)


def between(line: Line, one: int, other: int, besides: frozenset[int] | set[int]) -> float:
    """How far apart two tokens are: by the telling words, names, numbers and commas that stand between them."""
    low, high = sorted((one, other))
    cost = 0.0
    spent = {at for one in line.numbers for at in range(one.first, one.end)}
    for at in range(low + 1, high):
        token = line.tokens[at]
        if at in besides:
            continue
        if at in spent:
            cost += 1.2
        elif token.breaks:
            cost += 1.2 if token.low in (",", "(", ")") else 0.6
        elif not token.small:
            cost += 0.35
    names = {one.at for one in line.named if low < one.first and one.last < high and besides.isdisjoint(one.at)}
    return cost + 0.5 * len(names)


def words_of(line: Line, parts: set[int]) -> str:
    """The text of some parts of the line, from the first to the last of them."""
    tokens = [token for token in line.tokens if min(parts) <= token.part <= max(parts)]
    while tokens and tokens[0].breaks:
        tokens = tokens[1:]
    while tokens and tokens[-1].kind == "mark" and tokens[-1].breaks:
        tokens = tokens[:-1]
    return line.text[tokens[0].start:tokens[-1].end].strip() if tokens else ""
