"""What people call things and how they say each answer, drawn from the knowledge and laid out for finding."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import MAYBE, WHOLE, Observation, Quantity
from advisor.understanding.everyday import is_everyday
from advisor.understanding.synonyms import alike
from advisor.understanding.tokens import NO, NOT, SMALL, Token, phrase_stems, plain_line, stem_of, tokens_of

FINE: Final = ("ok", "okay", "fine", "good", "all good", "all right", "alright", "normal", "great", "perfect", "clear",
               "no problem", "no problems", "no issue", "no issues", "as it should", "like it should", "nothing wrong",
               "looks right", "is right", "checks out")
"""Words that say of anything that nothing is wrong with it."""

BAD: Final = ("bad", "wrong", "no good", "shot", "junk", "trouble", "poor", "lousy", "terrible", "not right", "funny")
"""Words that say that something is wrong, and not what."""

ABSENT: Final = ("none", "no", "none-fitted", "missing", "not-used", "not-sealed", "not-ducted", "dry")
"""The answers that denying a thing itself may give, the first that it has: no leak, no low-water cutoff."""


@dataclass(frozen=True, slots=True)
class Name:
    """A way of naming things: one item, or several where `said` of several have it."""

    stems: tuple[str, ...]
    items: tuple[str, ...]
    whole: bool
    """Its words have to stand together in their order."""


@dataclass(frozen=True, slots=True)
class Saying:
    """A way of saying an answer of an observation."""

    of: str
    answer: str
    stems: tuple[str, ...]
    alone: bool
    """It means the answer without the name of the thing."""
    generic: bool = False
    maybe: bool = False
    """Whether it means the answer is asked."""
    urgent: bool = False
    """It is heard by itself (`entries.heard`); here it counts only where it is denied."""


@dataclass(frozen=True, eq=False)
class Lexicon:
    """All of it, for one base. `words` are all words that any of it is made of, each with its stem: a misspelled one is
    known by them."""

    base: Base
    names: tuple[Name, ...]
    sayings: Mapping[str, tuple[Saying, ...]]
    alone: tuple[Saying, ...]
    words: Mapping[str, str]
    stems: frozenset[str]
    spoken: frozenset[str]
    """The words by which answers are said."""
    used: Mapping[tuple[str, str], frozenset[str]]
    """The words that are used of each answer of each observation."""
    hints: Mapping[str, Mapping[str, str]]
    """For each observation the words that are used of one of its answers alone, and which."""
    numbers: Mapping[str, tuple[tuple[str, float], ...]]
    """Words that mean a number of some quantities, such as `trace`: for each, the quantities and their numbers."""


@lru_cache(maxsize=4)
def lexicon_of(base: Base) -> Lexicon:
    """The lexicon of a base, made when the first line is typed."""
    primary: dict[tuple[str, ...], list[str]] = {}
    more: dict[tuple[str, ...], list[str]] = {}
    spelled: dict[str, str] = {}
    whole: set[tuple[str, ...]] = set()

    def learn(phrase: str) -> tuple[str, ...]:
        stems = phrase_stems(phrase)
        for token in tokens_of(plain_line(phrase)):
            if token.kind == "word":
                spelled.setdefault(token.low, token.stem)
        if len(stems) > 1 and (stems[0] in SMALL or (len(stems[0]) < 2 and stems[0] not in (NOT, NO))):
            whole.add(stems)
        return stems

    for item in base.entered:
        for word in (item.name.replace("_", " "), item.title, *item.aliases):
            primary.setdefault(learn(word), []).append(item.name)
        for word in item.said if isinstance(item, Quantity) else ():
            more.setdefault(learn(word), []).append(item.name)
    for names_of in (primary, more):
        for stems in list(names_of):
            for other in _other_words(stems):
                if other not in primary:
                    more.setdefault(other, []).extend(names_of[stems])
    names = [Name(stems, tuple(dict.fromkeys((*primary.get(stems, ()), *more.get(stems, ())))), stems in whole)
             for stems in dict.fromkeys((*primary, *more)) if stems]
    called: dict[str, list[tuple[str, ...]]] = {}
    for name in names:
        for one in name.items:
            called.setdefault(one, []).append(name.stems)
    sayings = {item.name: _sayings(item, called.get(item.name, ()), learn) for item in base.observations.values()}
    for phrase in (*FINE, *BAD):
        learn(phrase)
    for word, first in alike().items():
        learn(word) if first in spelled else None
    numbers: dict[str, list[tuple[str, float]]] = {}
    for quantity in base.quantities.values():
        for word, value in quantity.words.items():
            learn(word)
            numbers.setdefault(stem_of(word), []).append((quantity.name, value))
    return Lexicon(base, tuple(names), sayings,
                   tuple(one for some in sayings.values() for one in some if one.alone), spelled,
                   frozenset(spelled.values()),
                   frozenset(stem for some in sayings.values() for one in some for stem in one.stems),
                   {(item.name, answer): frozenset(
                       stem for one in sayings[item.name] if one.answer == answer and not one.generic
                       for stem in one.stems) for item in base.observations.values() for answer in item.answers},
                   {item.name: _hints(item, sayings[item.name], called.get(item.name, ()))
                    for item in base.observations.values()},
                   {word: tuple(some) for word, some in numbers.items()})


_SAME: Final = {"co": ("carbon monoxide", "monoxide"), "co2": ("carbon dioxide",), "o2": ("oxygen",)}


def _other_words(stems: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """A name with the gas in it written out."""
    for gas, words in _SAME.items():
        if gas in stems:
            for word in words:
                at = stems.index(gas)
                yield (*stems[:at], *phrase_stems(word), *stems[at + 1:])


def _sayings(item: Observation, called: Iterable[tuple[str, ...]], learn: object) -> tuple[Saying, ...]:
    """The ways of saying each answer: its own words first."""
    out: dict[tuple[str, tuple[str, ...]], Saying] = {}
    assert callable(learn)

    def add(answer: str, phrase: str, alone: bool, generic: bool = False, maybe: bool = False, urgent: bool = False,
            ) -> None:
        stems = learn(phrase)
        if set(stems) <= {NOT, NO, "yes", "noth"}:
            return  # too little to be found in a sentence; right behind the name it is an answer (`answers.py`)
        alone = alone or maybe or any(set(name) < set(stems) for name in called)
        key = (answer, stems)
        if key not in out or (alone and not out[key].alone):
            out[key] = Saying(item.name, answer, stems, alone, generic, maybe, urgent)

    for answer in item.answers:
        add(answer, answer.replace("-", " "), False)
        for phrase in item.said.get(answer, ()):
            add(answer, phrase.lstrip(WHOLE + MAYBE), phrase.startswith(WHOLE), maybe=phrase.startswith(MAYBE))
        for phrase in item.urgent.get(answer, ()):
            add(answer, phrase, True, urgent=True)
    taken = {stems for _, stems in out}
    if item.sound and not (item.urgent or item.clear):  # a CO alarm that is "good" has sounded or has not
        for phrase in FINE:
            if learn(phrase) not in taken:
                add(item.sound, phrase, False, True)
    return tuple(out.values())


def _hints(item: Observation, sayings: Iterable[Saying], called: Iterable[tuple[str, ...]]) -> dict[str, str]:
    """The words by which one answer is told from the others: of how it is said, and of what it means."""
    used: dict[str, set[str]] = {}
    for saying in sayings:
        for stem in saying.stems if not saying.generic else ():
            used.setdefault(stem, set()).add(saying.answer)
    for answer in item.answers:
        for token in tokens_of(plain_line(item.means.get(answer, ""))):
            if token.kind == "word" and not token.small and not token.denies and len(token.low) > 3:
                used.setdefault(token.stem, set()).add(answer)
    own = {stem for name in called for stem in name}
    return {stem: next(iter(answers)) for stem, answers in used.items()
            if len(answers) == 1 and stem not in own and stem not in SMALL and stem not in (NOT, NO) and len(stem) > 2}


def spelled_right(lexicon: Lexicon, tokens: Sequence[Token]) -> tuple[Token, ...]:
    """The tokens, those that are near to one known word alone taken for it.

    >>> from advisor.library.base import load
    >>> [one.stem for one in spelled_right(lexicon_of(load()), tokens_of("stak temp, smok, chimny"))][:2]
    ['stack', 'temperatur']
    """
    return tuple(replace(one, stem=_nearest(lexicon, one.low) or one.stem)
                 if one.kind == "word" and len(one.low) > 3 and one.stem not in lexicon.stems and not one.small
                 and not one.denies and not is_everyday(one.low) else one for one in tokens)


@lru_cache(maxsize=4_000)
def _nearest(lexicon: Lexicon, word: str) -> str:
    """The stem of the one known word of which a word is a misspelling; empty where there is none or more than one.

    A letter left out, doubled or two changed over are slips in any word of four letters; another letter only in a
    longer one, where it makes no other word of it. A word is no misspelling of its opposite (unlined, lined).
    """
    from rapidfuzz.distance import OSA  # a slip of the fingers changes two letters over, too

    best: dict[int, set[str]] = {}
    for known, stem in lexicon.words.items():
        if len(known) < 4 or known[0] != word[0] or abs(len(known) - len(word)) > 2:
            continue
        distance = OSA.distance(word, known, score_cutoff=2)
        if distance > 2 or (distance == 2 and min(len(word), len(known)) < 8):
            continue
        if distance == 1 and len(word) < 7 and not _slip(word, known):
            continue
        if _opposite(word, known):
            continue
        best.setdefault(distance, set()).add(stem)
    nearest = best[min(best)] if best else set()
    return next(iter(nearest)) if len(nearest) == 1 else ""


def _slip(word: str, known: str) -> bool:
    """Whether a letter was left out or doubled, or two were changed over: no letter is there that was not meant."""
    if len(word) == len(known):
        return sorted(word) == sorted(known)
    if len(word) < len(known):
        return True
    return any(word[at] == word[at + 1] and word[:at] + word[at + 1:] == known for at in range(len(word) - 1))


_AGAINST: Final = ("un", "in", "im", "non", "dis", "mis", "ir", "de")


def _opposite(word: str, known: str) -> bool:
    longer, shorter = sorted((word, known), key=len, reverse=True)
    return any(longer.startswith(prefix) and longer.removeprefix(prefix)[:3] == shorter[:3] for prefix in _AGAINST)
