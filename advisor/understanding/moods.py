"""How a part of a line is meant: told, asked, supposed, doubted, or of another time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from advisor.understanding.tokens import Token

TOLD, ASKS, IF, DOUBTS, PAST, TARGET = "told", "asks", "if", "doubts", "past", "target"
TRIAL, ELSEWHERE = "trial", "elsewhere"

_ASKING: Final = frozenset(("what", "whats", "why", "how", "hows", "where", "wheres", "which", "who", "whos", "should",
                            "shall", "whatd"))
_BEFORE: Final = frozenset(("is", "are", "was", "were", "does", "do", "did", "can", "could", "would", "will", "has",
                            "have", "isnt", "arent", "doesnt", "dont"))
_BEHIND: Final = frozenset(("the", "it", "this", "that", "these", "those", "there", "a", "an", "any", "my", "your", "i",
                            "we", "you", "he", "she", "they", "co", "everything"))
_IF: Final = frozenset(("if", "unless", "whether", "suppose", "supposing", "wish", "hopefully"))
_DOUBT: Final = frozenset(("maybe", "perhaps", "might", "possibly", "probably", "guess", "guessing", "think", "thinks",
                           "thinking", "suspect", "suspects", "unsure", "wonder", "wondering", "assume", "assuming",
                           "supposedly", "likely", "believe", "apparently", "presumably"))
_DOUBTS: Final = (("could", "be"), ("may", "be"), ("cant", "be"), ("cannot", "be"), ("must", "be"), ("has", "to", "be"),
                  ("not", "sure"), ("no", "idea"), ("dont", "know"), ("not", "certain"),
                  ("hard", "to", "say"), ("hard", "to", "tell"), ("cant", "tell"), ("cannot", "tell"),
                  ("may", "have"), ("should", "have", "been"))
_TIMES: Final = frozenset(("year", "years", "time", "visit", "season", "winter", "fall", "spring", "summer", "month",
                           "months", "service", "cleaning", "tuneup", "fill", "test", "reading", "readings", "tech",
                           "guy", "call"))
_PAST: Final = frozenset(("ago", "previous", "previously", "originally", "formerly", "yesterday"))
_TRIALS: Final = (("at", "first"), ("for", "the", "first"), ("at", "the", "start"), ("at", "start"), ("on", "startup"),
                  ("at", "startup"), ("on", "start"), ("at", "light", "off"), ("right", "after", "it", "lights"))
"""What is read then is not yet, or no longer, what the unit does."""
_HELD: Final = frozenset(("held", "holding"))
_ELSEWHERE: Final = frozenset(("cousin", "cousins", "uncle", "aunt", "neighbor", "neighbors", "friend", "friends",
                        "truck", "van", "car", "phone", "dog", "cat"))
"""Of whom or what else it is told."""
_PLACES: Final = (("next", "town"), ("next", "door"), ("down", "the", "street"), ("across", "the", "street"),
                  ("other", "house"), ("on", "tv"), ("years", "ago"), ("last", "winter"), ("last", "year"),
                  ("last", "season"))
_TARGETS: Final = (("should", "be"), ("supposed", "to"), ("needs", "to", "be"), ("want", "it"), ("aim", "for"),
                   ("aiming", "for"), ("target", "is"), ("will", "set"), ("going", "to"), ("gonna",), ("spec", "is"),
                   ("calls", "for"), ("ought", "to"), ("would", "like"), ("shooting", "for"), ("need", "to"),
                   ("shoot", "for"), ("trying", "to"), ("try", "to"), ("tried", "to"), ("looking", "for"),
                   ("book", "says"),
                   ("want", "to"), ("wants", "to"), ("hoping", "for"), ("goal", "is"))


def moods_of(tokens: Sequence[Token], text: str) -> tuple[frozenset[str], ...]:
    """For each token how the part that it stands in is meant; `told` alone where it is simply told.

    >>> from advisor.understanding.tokens import tokens_of
    >>> def mood(line):
    ...     return sorted(moods_of(tokens_of(line), line)[0])
    >>> mood("is the co high"), mood("was 400 last year"), mood("i think it is plugged"), mood("if it smokes")
    (['asks'], ['elsewhere', 'past'], ['doubts'], ['if'])
    >>> mood("won't start when it is cold")
    ['told']
    """
    parts: dict[int, set[str]] = {token.part: set() for token in tokens}
    stretches: dict[int, set[str]] = {token.stretch: set() for token in tokens}
    words = [token.low.replace("'", "") for token in tokens]
    for at, token in enumerate(tokens):
        word = words[at]
        mine, all_of = parts[token.part], stretches[token.stretch]
        first = at == 0 or tokens[at - 1].stretch != token.stretch or (tokens[at - 1].breaks and at < 2)
        begins = first or tokens[at - 1].breaks or (at > 1 and tokens[at - 2].breaks)
        if word == "?":
            stretches[tokens[at - 1].stretch if at else token.stretch].add(ASKS)
        if begins and (word in _ASKING or (word in _BEFORE and words[at + 1:at + 2]
                                           and words[at + 1] in _BEHIND)):
            (all_of if first else mine).add(ASKS)
        if word in _IF:
            mine.add(IF)
            all_of.add(IF)
        if (word in _DOUBT and not _numbered(tokens, at)) or any(_at(words, at, run) for run in _DOUBTS):
            (all_of if first or word in ("think", "guess", "suspect", "believe") else mine).add(DOUBTS)
        if word in _PAST or (word in ("last", "past", "prior") and set(words[at + 1:at + 3]) & _TIMES):
            mine.add(PAST)
        if _at(words, at, ("used", "to")) and words[at + 2:at + 3] not in (["light"],):
            mine.add(PAST)
        if any(_at(words, at, run) for run in _TARGETS):
            mine.add(TARGET)
        if any(_at(words, at, run) for run in _TRIALS):
            mine.add(TRIAL)
        if word in _HELD and {"shut", "closed", "open"} & set(words[at + 1:at + 6]):
            all_of.add(TRIAL)
        if (word in _ELSEWHERE and words[at + 1:at + 2] not in (["hair"], ["see"])) or any(
                _at(words, at, run) for run in _PLACES):
            all_of.add(ELSEWHERE)
    return tuple(frozenset(parts[token.part] | stretches[token.stretch]) or frozenset((TOLD,)) for token in tokens)


def _at(words: Sequence[str], at: int, run: Sequence[str]) -> bool:
    return tuple(words[at:at + len(run)]) == tuple(run)


def _numbered(tokens: Sequence[Token], at: int) -> bool:
    """Whether a word says of a number that it is about right: "maybe 6 feet", "probably a 3"."""
    return any(token.kind == "number" for token in tokens[at + 1:at + 3])
