"""Which answer some words are most like, where no phrase for it stands among them: by the words that they share.

Every answer of every observation is a bag of words: of how it is said and what it means, and, counting less, of what
the thing is called and asked. A word that few answers use says more than one that many do (inverse document frequency,
K. Spärck Jones, 1972). Words are the likest to the answer whose bag holds most of what they say.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import MAYBE, WHOLE, Observation
from advisor.understanding.tokens import NOT, Token, plain_line, tokens_of

SAYS: Final = 1.0
MEANS: Final = 0.7
THING: Final = 0.5
_UNKNOWN: Final = 3.0
"""What a word that no bag holds leaves unsaid."""

_DENIES: Final = 2
"""So many telling words behind a denial are denied."""

_SURE: Final = (12.0, 0.5, 4.0)
_NEAR: Final = (8.0, 0.45, 0.0)
"""Of the likest answer: how much it says, the share of the words that this is, and how far the next one is behind."""


@dataclass(frozen=True, slots=True)
class Like:
    """The likest answers of some words, the first `sure` where nothing else comes near."""

    answers: tuple[tuple[str, str], ...]
    sure: bool


@dataclass(frozen=True, eq=False)
class Bags:
    """The bags: for each word the answers that use it, each with how much."""

    uses: Mapping[str, Mapping[tuple[str, str], float]]
    weight: Mapping[str, float]


@lru_cache(maxsize=4)
def bags_of(base: Base) -> Bags:
    """The bags of a base."""
    uses: dict[str, dict[tuple[str, str], float]] = {}
    count = 0
    for item in base.observations.values():
        for answer in item.answers:
            count += 1
            for text, much in _texts(item, answer):
                for stem in _stems(tokens_of(plain_line(text))):
                    bag = uses.setdefault(stem, {})
                    bag[item.name, answer] = max(bag.get((item.name, answer), 0.0), much)
    weight = {stem: math.log(count / len({name if much == THING else (name, answer)
                                          for (name, answer), much in bag.items()})) for stem, bag in uses.items()}
    return Bags(uses, weight)


def _texts(item: Observation, answer: str) -> Iterable[tuple[str, float]]:
    yield from ((text, THING) for text in (item.title, item.question, item.line, *item.aliases))
    yield item.means.get(answer, ""), MEANS
    for text in (answer.replace("-", " "), *item.said.get(answer, ()), *item.urgent.get(answer, ())):
        yield text.lstrip(WHOLE + MAYBE), SAYS


def _stems(tokens: Iterable[Token]) -> set[str]:
    """The words of a text; what stands behind a denial in its part is another word than what is told."""
    out: set[str] = set()
    denied, left = -1, 0
    for token in tokens:
        if token.denies:
            denied, left = token.part, _DENIES
        elif token.kind == "word" and not token.small:
            out.add(f"{NOT}{token.stem}" if token.part == denied and left > 0 else token.stem)
            left -= 1
    return out


def likest(base: Base, tokens: Sequence[Token], asked: str = "") -> Like | None:
    """The answers that words are like; None where they are like none.

    For what somebody's safety hangs on, and for what the call is about, likeness never suffices: it is asked.

    >>> from advisor.library.base import load
    >>> likest(load(), tokens_of("the carpenter was here")) is None
    True
    """
    bags = bags_of(base)
    stems = _stems(tokens)
    score: dict[tuple[str, str], float] = {}
    for stem in stems:
        for key, much in bags.uses.get(stem, {}).items():
            score[key] = score.get(key, 0.0) + much * bags.weight[stem]
    for key in score:
        if key[0] == asked:
            score[key] += 4.0
    order = sorted(score, key=lambda key: (-score[key], key))
    if not order or len(stems) < 2:
        return None
    whole = sum(bags.weight.get(stem, _UNKNOWN) for stem in stems)
    best = score[order[0]]
    behind = best - score[order[1]] if len(order) > 1 else best

    def reaches(limits: tuple[float, float, float]) -> bool:
        return best >= limits[0] and best / whole >= limits[1] and behind >= limits[2]

    if not reaches(_NEAR):
        return None
    name = order[0][0]
    item = base.observations[name]
    told = any(order[0] in bags.uses.get(stem, {}) for stem in stems if not stem.startswith(NOT))
    weighty = name != asked and (name in base.safety_looks or item.part == "complaint")
    near = tuple(key for key in order[:3] if score[key] > 0.75 * best)
    return Like(near, reaches(_SURE) and told and not weighty)
