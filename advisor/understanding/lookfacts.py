"""What a line may say of things seen, heard and known: each with what denies it."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from itertools import pairwise, permutations
from typing import Final

from advisor.reasoning.case import SKIPPED, UNCHECKED, Entry
from advisor.reasoning.entries import read_entry
from advisor.understanding.facts import ALONE, ASKED, FAR, LOOK, Fact, is_by_the_way, is_of_this_unit
from advisor.understanding.layout import Line, Named, between, places_of
from advisor.understanding.lexicon import ABSENT, BAD, Saying
from advisor.understanding.tokens import HOW_MUCH, NO, NOT, phrase_stems, reaches


def look_facts(line: Line, asked: str, known: Mapping[str, object]) -> Iterator[Fact]:
    """What a line may say of things seen, heard and known; `known` is what is entered already."""
    there = {token.stem for token in line.tokens}
    doubtful: dict[frozenset[int], list[Entry]] = {}
    told: dict[frozenset[int], list[Fact]] = {}
    for saying in line.lexicon.alone:
        if is_by_the_way(line.base, saying.of, saying.answer, known, asked):
            continue  # "sprays but won't light"
        if there.issuperset(saying.stems):
            for cost, spot in _spots(line, saying, known):
                if not saying.maybe:
                    for fact in _look(line, saying, spot, spot, cost, ALONE):
                        if fact.by_denial or not saying.urgent:
                            told.setdefault(fact.tokens, []).append(fact)
                elif _denied(line, spot, spot) is None:
                    doubtful.setdefault(frozenset(spot), []).append(_entry(saying.of, saying.answer))
    for facts in told.values():
        yield from _told_apart(line, facts, known)
    for tokens, entries in doubtful.items():
        yield Fact((), tokens, 0.1, ALONE, tuple((entry,) for entry in entries))
    for named in line.named:
        if any(set(named.at) < set(other.at) for other in line.named if other.last - other.first < len(other.at)):
            continue  # "strainer" of a nozzle strainer
        for name in named.name.items:
            if name in line.base.observations:
                yield from _of_thing(line, name, named, there)
    if asked in line.base.observations:
        least = 2 if line.base.observations[asked].part == "complaint" and line.telling > _FEW else 1
        for saying in line.lexicon.sayings[asked]:
            if len(saying.stems) >= least and there.issuperset(saying.stems):
                for spot in places_of(saying.stems, line.tokens, 1, False):
                    yield from _look(line, saying, spot, spot, 0.5 + _spread(line, spot), ASKED)


_FEW: Final = 4
"""In more telling words than these one word of them does not answer what the call is about: "water" of a long story."""



def _told_apart(line: Line, facts: Sequence[Fact], known: Container[str]) -> Iterator[Fact]:
    """What the same words say of several things: of what the call is about first, until that is known; all that
    somebody's safety hangs on; of the rest it is asked which.
    """
    base = line.base
    rest: list[Fact] = []
    for fact in facts:
        parts = {base.observations[name].part for name in fact.names}
        if "complaint" in parts and "complaint" not in known:
            rest = [fact]
            break
        if not fact.entries or "equipment" in parts or not base.safety_looks.isdisjoint(fact.names):
            yield fact
        elif "complaint" not in parts or len(facts) == 1:
            rest.append(fact)
    meanings = list(dict.fromkeys(fact.entries for fact in rest))
    if len(meanings) < 2:
        yield from rest
    else:
        yield Fact((), rest[0].tokens, min(fact.cost for fact in rest), ALONE, tuple(meanings))


def _spots(line: Line, saying: Saying, known: Mapping[str, object]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Where a phrase that needs no name stands, and how far-fetched that is; two or three words in any order, but not
    of what only some units have, as long as nobody has said that this is one.
    """
    size = len(saying.stems)
    free = line.lexicon.used[saying.of, saying.answer]
    spots = [(0.1, spot) for spot in places_of(saying.stems, line.tokens, 0 if size == 2 else size - 1, size > 2,
                                               free)]
    here = is_of_this_unit(line.base, saying.of, known)
    if here and size in (2, 3) and not _DENIALS & set(saying.stems):  # "single line", "line single"
        spots += [(0.3, tuple(sorted(spot))) for stems in permutations(saying.stems) if stems != saying.stems
                  for spot in places_of(stems, line.tokens, 0, False, free)]
    for cost, spot in spots:
        cost += _spread(line, spot)
        if any(set(spot) < set(named.at) and saying.of not in named.name.items and not any(
                line.tokens[at].breaks for at in range(named.first, named.last)) for named in line.named) \
                and saying.of not in line.base.equipment:
            continue  # "low water" of a low water cutoff
        room = any(line.tokens[at + 1].low == "room" for at in spot if at + 1 < len(line.tokens))
        if cost <= FAR and not room and not (size < 3 and _only_when(line, spot[0])):
            yield cost, spot


_DENIALS: Final = frozenset((NOT, NO, "noth", "nobod"))
_WHEN: Final = frozenset(("after", "until", "till", "before", "once", "when", "whenever", "while", "til",
                          "with"))


def _only_when(line: Line, at: int) -> bool:
    """Whether what begins at a token tells only when something else is so: "after she shuts down"."""
    while at > 0:
        at -= 1
        if line.tokens[at].low in _WHEN:
            return line.tokens[at].low != "with" or line.tokens[at + 1].low not in ("a", "an", "no", "some")
        if not line.tokens[at].small or line.tokens[at].breaks:
            return False
    return False


def _of_another(line: Line, at: int, things: set[int], generic: bool) -> bool:
    """Whether a word such as good stands before what it is said of, and that is another thing: "with a good fire"."""
    behind = line.tokens[at + 1] if at + 1 < len(line.tokens) else None
    if behind is None or at + 1 in things or behind.kind != "word" or behind.breaks or behind.small:
        return False
    named = any(at + 1 in one.at for one in line.named)
    return named or (generic and behind.low not in HOW_MUCH)


_IT: Final = frozenset(("it", "its", "they", "theyre", "them", "both"))


def _goes_on(line: Line, named: Named, at: int) -> bool:
    """Whether the next part goes on to tell of a thing that was named: "cell reads 2500 ohms and it's filthy"."""
    part = line.tokens[at].part
    first = next(token for token in line.tokens if token.part == part and not token.breaks)
    return part == line.tokens[named.last].part + 1 and first.low.replace("'", "") in _IT


def _spread(line: Line, spot: Sequence[int]) -> float:
    return sum(between(line, low, high, set(spot)) for low, high in pairwise(spot))


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
            far = between(line, low, high, things | set(spot))
            if len(spot) == 1 and _of_another(line, spot[0], things, saying.generic):
                continue
            cost = 0.15 + _spread(line, spot) + (min(far, 0.8) if _goes_on(line, named, spot[0]) else far)
            cost += 0.1 if saying.generic else 0.0
            cost += 0.0 if spot[0] > named.last else 0.05
            if cost <= FAR and not _only_when(line, min(named.first, spot[0])):
                yield from _look(line, saying, tuple(sorted(things | set(spot))), spot, cost, LOOK)
    for said in BAD:
        stems = phrase_stems(said)
        for spot in places_of(stems, line.tokens, 0, False) if there.issuperset(stems) else ():
            far = between(line, named.last, spot[0], things | set(spot))
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
        far = between(line, named.last, min(spots), things | spots)
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
                    far = between(line, named.last, spot[0], things | set(spot))
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
        low, high = quantity.plausible
        if quantity.part != "reading" or quantity.kind == "temperature" or not low <= 0 <= high:
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
    sound = item.sound or item.clear
    if sound and saying.answer != sound:
        yield Fact((_entry(item.name, sound),), covered, cost, kind, by_denial=True)
    elif len(others) == 1:
        yield Fact((_entry(item.name, others[0]),), covered, cost, kind, by_denial=True)
    elif sound and kind != ALONE:
        yield Fact((), covered, cost, kind, tuple((_entry(item.name, answer),) for answer in others[:6]))
    else:
        yield Fact((), covered, cost + 0.2, kind, denied=True)


def _denied(line: Line, tokens: Sequence[int], spot: Sequence[int]) -> int | None:
    """The token that denies what stands at some tokens, in its own part of the line; None where none does."""
    inside = set(tokens)
    for at in range(min(spot[0], min(tokens)), max(tokens) + 1):
        if line.tokens[at].denies and at not in inside and at < max(spot) and reaches(line.tokens, at, max(spot)):
            return at
    passed = 0
    for at in range(min(tokens) - 1, -1, -1):
        token = line.tokens[at]
        if token.denies:
            return at if reaches(line.tokens, at, min(tokens)) else None
        if token.breaks and token.low not in ("or", "nor"):
            return None
        passed += not token.small
        if passed > 1 or (passed and any(at in one.at for one in line.named)):
            return None
    return None
