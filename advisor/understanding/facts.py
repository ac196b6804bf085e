"""What a line may say: every way in which its words could make an entry, each with how far-fetched it is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, permutations
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Quantity
from advisor.physics import units
from advisor.reasoning.case import SKIPPED, UNCHECKED, Entry
from advisor.reasoning.entries import EntryError, read_entry
from advisor.understanding.lexicon import ABSENT, BAD, Lexicon, Name, Saying
from advisor.understanding.numbers import Number
from advisor.understanding.tokens import NO, NOT, Token, phrase_stems

FAR: Final = 2.0
"""A reading that is more far-fetched than this is not taken."""

NUMBER, LOOK, ALONE, ASKED, COMPUTED = "number", "look", "alone", "asked", "computed"


@dataclass(frozen=True, slots=True)
class Fact:
    """Entries that some tokens of a line may mean; several sets of them in `options` where a choice has to be made."""

    entries: tuple[Entry, ...]
    tokens: frozenset[int]
    cost: float
    kind: str
    options: tuple[tuple[Entry, ...], ...] = ()
    of: str = ""
    """The quantity of a number that is computed, not entered."""
    denied: bool = False
    """Something stands before it that denies it, and what then is so cannot be told."""
    by_denial: bool = False
    """Its entries are what is so because something else was denied."""

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(one.name for one in self.entries or [each for some in self.options for each in some]) or (
            (self.of,) if self.of else ())


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


def places_of(stems: Sequence[str], tokens: Sequence[Token], gap: int, across: bool) -> Iterator[tuple[int, ...]]:
    """Where words stand in their order, with up to `gap` telling words between two of them; `across` commas too."""
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
                    found.append(other)
                    break
                elif not one.small or one.denies:
                    passed += 1
                if passed > gap or one.denies:
                    break
            if found[-1] == at:
                break
            at = found[-1]
        if len(found) == len(stems):
            yield tuple(found)


def _between(line: Line, one: int, other: int, besides: frozenset[int] | set[int]) -> float:
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


# --- numbers --------------------------------------------------------------------------------------------------------


def _spelled(text: str) -> dict[str, tuple[str, bool]]:
    """The kinds that a text is a unit of; a number is no unit of smoke, whose name the word is too."""
    return {} if text.lower() in ("smoke", "#") else units.spelled(text)


def unit_behind(line: Line, number: Number, kind: str) -> tuple[str, int] | None:
    """The longest unit of a kind behind a number, as typed, and the token behind it; None where there is none."""
    best: tuple[str, int] | None = None
    for end in range(number.end + 1, min(number.end + 6, len(line.tokens) + 1)):
        text = line.text[line.tokens[number.end].start:line.tokens[end - 1].end]
        if kind in _spelled(text):
            best = (text, end)
    return best


def _other_unit(line: Line, number: Number, kind: str) -> str:
    """A unit of other kinds alone, right behind a number."""
    for end in range(min(number.end + 5, len(line.tokens)), number.end, -1):
        text = line.text[line.tokens[number.end].start:line.tokens[end - 1].end]
        kinds = {name: open_ for name, (_, open_) in _spelled(text).items()}
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
    if not unit and quantity.kind == "length" and number.value < quantity.plausible[0]:
        unit = "ft"  # what is too little in inches was said in feet: a chimney of 30
    return read_entry(line.base, quantity.name, _typed(line, number, unit)), end


def number_facts(line: Line, asked: str) -> Iterator[Fact]:
    """What the numbers of a line may mean."""
    quantities = line.base.quantities
    for number in line.numbers:
        if number.to is not None:
            yield from _range_facts(line, number)
            continue
        for named in line.named:
            yield from _named_number(line, named, number)
        if asked in quantities:
            yield from _made(line, asked, number, set(), 0.7, ASKED)
        if not number.weak:
            yield from _by_unit(line, number)
    yield from _nozzles(line)
    yield from _lists(line)
    yield from _words_for_numbers(line, asked)


def _made(line: Line, name: str, number: Number, more: set[int], cost: float, kind: str = NUMBER) -> Iterator[Fact]:
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
    return any(not _other_unit(line, one, "") and not _units_behind(line, one) and abs(one.value) < 10
               and abs(here.value) < 10 and one.value == int(one.value) and here.value == int(here.value)
               for one in beside)


def _named_number(line: Line, named: Named, number: Number) -> Iterator[Fact]:
    quantities = [name for name in named.name.items if name in line.base.quantities]
    spot = set(named.at)
    span = set(range(number.first, number.end))
    if not quantities or spot & {at for at in span if line.tokens[at].kind == "number"}:
        return
    if line.tokens[named.first].stretch != line.tokens[number.first].stretch:
        return
    if number.first > named.last:
        cost = _between(line, named.last, number.first, spot)
    elif number.end <= named.first:
        if any(line.tokens[at].breaks for at in range(number.end, named.first)) or _counts(line, number, spot):
            return
        cost = 0.3 + _between(line, number.end - 1, named.first, spot | _units_behind(line, number))
    else:
        cost = 0.25
    if number.weak:
        cost += 0.8
    if spot <= _units_behind(line, number):
        if not _bare(line, number):
            return
        cost += 0.7  # a unit that names a reading too, such as psi, gives way to what is asked
    if cost > FAR:
        return
    found = [fact for name in quantities for fact in _made(line, name, number, spot, cost)]
    if len(found) < 2 or any(fact.kind == COMPUTED for fact in found):
        yield from found
    else:
        tokens = frozenset().union(*(fact.tokens for fact in found))
        yield Fact((), tokens, cost + 0.2, NUMBER, tuple(fact.entries for fact in found[:5]))


def _bare(line: Line, number: Number) -> bool:
    """Whether a number and its unit are all that their part of the line tells."""
    mine = {*range(number.first, number.end), *_units_behind(line, number)}
    return all(at in mine or token.small or token.part != line.tokens[number.first].part
               for at, token in enumerate(line.tokens))


def _counts(line: Line, number: Number, spot: set[int]) -> bool:
    """Whether a small number in words says how many there are of what stands behind it: "two louvers"."""
    word = line.tokens[number.first].kind == "word" and number.value in range(13) and not number.hashed
    behind = line.tokens[number.end] if number.end < len(line.tokens) else None
    return word and behind is not None and number.end not in spot and behind.kind == "word" and not (
        behind.small or units.spelled(behind.text) or behind.stem in line.lexicon.numbers)


def _units_behind(line: Line, number: Number) -> set[int]:
    out: set[int] = set()
    for end in range(number.end + 1, min(number.end + 6, len(line.tokens) + 1)):
        if _spelled(line.text[line.tokens[number.end].start:line.tokens[end - 1].end]):
            out = set(range(number.end, end))
    return out


def _range_facts(line: Line, number: Number) -> Iterator[Fact]:
    """`500 to 520`: which of the two is asked."""
    assert number.to is not None
    ends = [Number(value, number.first, number.end, number.sign) for value in (number.value, number.to)]
    for named in line.named:
        facts = [fact for end in ends for fact in _named_number(line, named, end) if fact.entries]
        if len(facts) == 2:
            either = tuple(fact.entries for fact in facts)
            yield Fact((), facts[0].tokens | facts[1].tokens, facts[0].cost, NUMBER, either)


def _by_unit(line: Line, number: Number) -> Iterator[Fact]:
    """A number with a unit and no name: of the one reading that has such a unit, or a choice."""
    text_end = max(_units_behind(line, number), default=-1) + 1
    if not text_end:
        return
    text = line.text[line.tokens[number.end].start:line.tokens[text_end - 1].end]
    kinds = {kind for kind, (_, open_) in units.spelled(text).items() if not open_}
    meant = [one for one in line.base.quantities.values() if one.kind in kinds and not one.derived]
    if (len(text) < 2 and text != "%") or not (
            _bare(line, number) or (len(meant) == 1 and meant[0].part != "reading" and re.search(r"[ /]", text))):
        return
    meant = [one for one in meant if one.part == "reading"] or meant
    found = [fact for one in meant for fact in _made(line, one.name, number, set(), 1.3)]
    if len(found) == 1 and found[0].entries[0].name not in ("ignition_delay",):
        yield found[0]
    elif 1 < len(found) < 7:
        yield Fact((), found[0].tokens, 1.6, NUMBER, tuple(one.entries for one in found))


_ANGLES: Final = (30.0, 45.0, 60.0, 70.0, 80.0, 90.0)
_PATTERNS: Final = frozenset((
    "a", "b", "w", "h", "s", "r", "p", "q", "es", "ss", "ns", "pl", "pls", "hollow", "solid", "semi", "semisolid"))


def _nozzles(line: Line) -> Iterator[Fact]:
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
                for fact in _made(line, "pump_pressure", pressure, {pressure.first - 1}, 0.4):
                    yield Fact((entry, *fact.entries), frozenset(tokens) | fact.tokens, 0.3, NUMBER)


def _lists(line: Line) -> Iterator[Fact]:
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
            singles = [one for one in line.named if len(one.name.items) == 1
                       and one.name.items[0] in line.base.quantities and one.last < run[0].first]
            for first in singles:
                row = _row(line, first, singles, size)
                if row and _beside(line, row[-1].last + 1, run[0].first, {":", "=", ",", "are", "were"}):
                    yield from _pairs(line, [one.name.items[0] for one in row], run,
                                      {at for one in row for at in one.at}, 0.3)


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
    return start <= end and all(token.low in allowed or token.small or _spelled(token.text) for token in tokens)


def _pairs(line: Line, names: Sequence[str], numbers: Sequence[Number], spot: set[int], cost: float) -> Iterator[Fact]:
    facts = [fact for name, number in zip(names, numbers, strict=True)
             for fact in _made(line, name, number, set(), 1.0)]
    if len(facts) == len(names):
        yield Fact(tuple(entry for fact in facts for entry in fact.entries),
                   frozenset(spot).union(*(fact.tokens for fact in facts)), cost, NUMBER)


def _words_for_numbers(line: Line, asked: str) -> Iterator[Fact]:
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
                cost = _between(line, named.last if at > named.last else named.first, at, set(named.at))
                if cost <= 1.0:
                    yield Fact((entry,), frozenset({at, *named.at}), cost + 0.1, NUMBER)
            own = not any(token.stem in saying.stems for some in line.lexicon.sayings.values() for saying in some)
            if own and token.kind == "word" and not token.stem.isdigit():
                yield Fact((entry,), frozenset((at,)), 0.6, NUMBER)
            if "co2" in line.base.quantities and at > 1 and line.tokens[at - 1].low in ("over", "a", "an"):
                over = at - 1 if line.tokens[at - 1].low == "over" else at - 2
                number = next((one for one in line.numbers if one.end == over), None)
                if number is not None and line.tokens[over].low == "over":
                    for fact in _made(line, "co2", number, {over}, 0.3):
                        yield Fact((*fact.entries, entry), fact.tokens | {at, at - 1}, 0.3, NUMBER)


# --- looks ----------------------------------------------------------------------------------------------------------


def look_facts(line: Line, asked: str) -> Iterator[Fact]:
    """What a line may say of things seen, heard and known."""
    there = {token.stem for token in line.tokens}
    for saying in line.lexicon.alone:
        if there.issuperset(saying.stems):
            gap = 1 if len(saying.stems) < 3 else 2
            spots = [(0.1, spot) for spot in places_of(saying.stems, line.tokens, gap, True)]
            if len(saying.stems) in (2, 3) and not _DENIALS & set(saying.stems):  # "single line", "line single"
                spots += [(0.3, tuple(sorted(spot))) for stems in permutations(saying.stems) if stems != saying.stems
                          for spot in places_of(stems, line.tokens, 1, False)]
            for cost, spot in spots:
                cost += _spread(line, spot)
                if cost <= FAR and not any(line.tokens[at + 1].low == "room" for at in spot if at + 1 < len(
                        line.tokens)) and not (len(spot) < 3 and _only_when(line, spot[0])):
                    yield from _look(line, saying, spot, spot, cost, ALONE)
    for named in line.named:
        for name in named.name.items:
            if name in line.base.observations:
                yield from _of_thing(line, name, named, there)
    if asked in line.base.observations:
        for saying in line.lexicon.sayings[asked]:
            if there.issuperset(saying.stems):
                for spot in places_of(saying.stems, line.tokens, 1, False):
                    yield from _look(line, saying, spot, spot, 0.5 + _spread(line, spot), ASKED)


_DENIALS: Final = frozenset((NOT, NO, "noth", "nobod"))
_WHEN: Final = frozenset(("after", "until", "till", "before", "once", "when", "whenever", "while", "til",
                          "with"))


def _only_when(line: Line, at: int) -> bool:
    """Whether what begins at a token tells only when something else is so: "after she shuts down"."""
    while at > 0:
        at -= 1
        if line.tokens[at].low in _WHEN:
            return True
        if not line.tokens[at].small or line.tokens[at].breaks:
            return False
    return False


def _spread(line: Line, spot: Sequence[int]) -> float:
    return sum(_between(line, low, high, set(spot)) for low, high in pairwise(spot))


def _of_thing(line: Line, name: str, named: Named, there: set[str]) -> Iterator[Fact]:
    item = line.base.observations[name]
    things = set(named.at)
    for saying in line.lexicon.sayings[name]:
        if not there.issuperset(saying.stems):
            continue
        for spot in places_of(saying.stems, line.tokens, 1, False):
            if things >= set(spot) or line.tokens[spot[0]].stretch != line.tokens[named.first].stretch:
                continue
            low, high = (named.last, spot[0]) if spot[0] > named.last else (spot[-1], named.first)
            if all(stem.isdigit() for stem in saying.stems) and high - low > 1:
                continue  # a number further on is one of its own: "oil coming in at 2 C"
            cost = 0.15 + _spread(line, spot) + _between(line, low, high, things | set(spot))
            cost += 0.1 if saying.generic else 0.0
            cost += 0.0 if spot[0] > named.last else 0.05
            if cost <= FAR and not _only_when(line, min(named.first, spot[0])):
                yield from _look(line, saying, tuple(sorted(things | set(spot))), spot, cost, LOOK)
    for said in BAD:
        stems = phrase_stems(said)
        for spot in places_of(stems, line.tokens, 0, False) if there.issuperset(stems) else ():
            far = _between(line, named.last, spot[0], things | set(spot))
            wrong = [answer for answer in item.answers if answer != item.sound]
            if item.sound and far < 0.6 and line.tokens[spot[0]].part == line.tokens[named.first].part:
                yield Fact((), frozenset(things | set(spot)), 0.4 + far, LOOK,
                           tuple((_entry(name, answer),) for answer in wrong[:6]))
    deny = next((at for at in range(named.first - 1, max(-1, named.first - 3), -1)
                 if line.tokens[at].denies or not line.tokens[at].small), None)
    absent = next((answer for answer in ABSENT if answer in item.answers), "")
    if deny is not None and line.tokens[deny].denies and absent and line.tokens[deny].low in ("no", "without", "never"):
        yield Fact((_entry(name, absent),), frozenset(things | {deny}), 0.1, LOOK, by_denial=True)
    yield from _status(line, name, named)
    yield from _hinted(line, name, named)


def _hinted(line: Line, name: str, named: Named) -> Iterator[Fact]:
    """A thing, and near it words that are used of one of its answers alone: whether that is meant is asked."""
    things, hints = set(named.at), line.lexicon.hints[name]
    near: dict[str, set[int]] = {}
    for at, token in enumerate(line.tokens):
        if at not in things and token.stem in hints and token.part == line.tokens[named.first].part:
            near.setdefault(hints[token.stem], set()).add(at)
    if len(near) == 1:
        answer, spots = next(iter(near.items()))
        far = _between(line, named.last, min(spots), things | spots)
        denied = any(token.denies and token.part == line.tokens[named.first].part for token in line.tokens)
        if far <= FAR and not denied:
            yield Fact((), frozenset(things | spots), 0.75 + 0.2 * far, LOOK, ((_entry(name, answer),),))


_STATUS: Final = {
    UNCHECKED: ("could not check", "cannot check", "unable to check", "could not get to", "no access",
                "could not reach", "could not test", "could not measure"),
    SKIPPED: ("skip", "skipped", "skipping", "did not check", "was not checked", "not checked"),
}
"""What is said of a thing that nobody looked at: that it could not be done, or was not."""


def _status(line: Line, name: str, named: Named) -> Iterator[Fact]:
    things = set(named.at)
    for status, words in _STATUS.items():
        for said in words:
            for spot in places_of(phrase_stems(said), line.tokens, 0, False):
                if line.tokens[spot[0]].part == line.tokens[named.first].part:
                    far = _between(line, named.last, spot[0], things | set(spot))
                    if far < 0.4:
                        yield Fact((Entry(name, status, None, status),), frozenset(things | set(spot)), 0.1 + far, LOOK)


def none_facts(line: Line) -> Iterator[Fact]:
    """`no draft at the breech`, `no water in the tank`: a reading of nothing, asked back where it may mean less.

    Of a gas that harms it is asked: nobody reads by a look that there is none.
    """
    for named in line.named:
        deny = next((at for at in range(named.first - 1, max(-1, named.first - 3), -1)
                     if not line.tokens[at].small or line.tokens[at].denies), None)
        quantities = [line.base.quantities[name] for name in named.name.items if name in line.base.quantities]
        if deny is None or line.tokens[deny].stem != NO or len(quantities) != 1 or quantities[0].derived:
            continue
        quantity = quantities[0]
        if quantity.part != "reading" or not quantity.plausible[0] <= 0 <= quantity.plausible[1]:
            continue
        entry = read_entry(line.base, quantity.name, "0")
        told = len(named.at) > 1 and quantity.kind not in ("concentration", "temperature")
        yield Fact((entry,) if told else (), frozenset({*named.at, deny}), 0.3, LOOK, () if told else ((entry,),))


def status_facts(line: Line) -> Iterator[Fact]:
    """`o2 cannot check`, `skip the smoke`: said of a reading."""
    for named in line.named:
        for name in named.name.items:
            quantity = line.base.quantities.get(name)
            if quantity is not None and not quantity.derived and len(named.name.items) == 1:
                yield from _status(line, name, named)


def _entry(name: str, answer: str) -> Entry:
    return Entry(name, answer, answer)


def _look(line: Line, saying: Saying, tokens: Sequence[int], spot: Sequence[int], cost: float, kind: str,
          ) -> Iterator[Fact]:
    """The fact of a saying where it stands; where it is denied, what that says instead."""
    item = line.base.observations[saying.of]
    deny = _denied(line, tokens, spot)
    if deny is None:
        yield Fact((_entry(item.name, saying.answer),), frozenset(tokens), cost, kind)
        return
    covered = frozenset({*tokens, deny})
    others = [answer for answer in item.answers if answer != saying.answer]
    if item.sound and saying.answer != item.sound:
        yield Fact((_entry(item.name, item.sound),), covered, cost, kind, by_denial=True)
    elif len(others) == 1:
        yield Fact((_entry(item.name, others[0]),), covered, cost, kind, by_denial=True)
    elif item.sound and kind != ALONE:
        yield Fact((), covered, cost, kind, tuple((_entry(item.name, answer),) for answer in others[:6]))
    else:
        yield Fact((), covered, cost + 0.2, kind, denied=True)


def _denied(line: Line, tokens: Sequence[int], spot: Sequence[int]) -> int | None:
    """The token that denies what stands at some tokens, in its own part of the line; None where none does."""
    inside = set(tokens)
    for at in range(min(spot[0], min(tokens)), max(tokens) + 1):
        if line.tokens[at].denies and at not in inside and at < max(spot):
            return at
    passed = 0
    for at in range(min(tokens) - 1, -1, -1):
        token = line.tokens[at]
        if token.denies:
            return at
        if token.breaks and token.low not in ("or", "nor"):
            return None
        passed += not token.small
        if passed > 1 or (passed and any(at in one.at for one in line.named)):
            return None
    return None
