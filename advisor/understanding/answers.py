"""The question owns the answer: what a bare word or number means to the question that was asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from advisor.library.items import Observation
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import normal
from advisor.understanding.facts import ASKED, LOOK, Fact
from advisor.understanding.layout import Line
from advisor.understanding.lexicon import FINE
from advisor.understanding.tokens import phrase_stems

YES: Final = frozenset(("yes", "y", "yep", "yeah", "yup", "ya", "sure", "correct", "affirmative", "it is", "it does",
                        "they are", "they do", "it did", "it has", "yes it is", "yes it does", "there is", "it was"))
NO: Final = frozenset(("no", "n", "nope", "nah", "negative", "not at all", "it isnt", "it doesnt", "it is not",
                       "it does not", "they arent", "they are not", "no it isnt", "no it doesnt", "it did not",
                       "it didnt", "there isnt", "no sir", "it hasnt", "it has not", "not"))
NONE: Final = frozenset(("none", "nothing", "none at all", "nothing there", "nothing wrong", "nothing seen",
                         "all clear", "no sign", "nothing at all", "nobody", "never", "nowhere", "not any",
                         "all ok", "its fine", "its ok", "its good", "looks good", "looks ok", "looks fine",
                         "all fine", "clean"))
_SHORT: Final = frozenset(("is", "are", "does", "do", "did", "has", "have", "was", "were", "can", "will", "may"))


def answer_facts(line: Line, asked: str) -> Iterator[Fact]:
    """What each part of a line, taken by itself, answers to the question asked."""
    item = line.base.observations.get(asked)
    if item is None:
        return
    parts = {token.part for token in line.tokens}
    runs = [{part} for part in parts] + ([parts] if len(parts) > 1 else [])
    for run in runs:
        spots = [at for at, token in enumerate(line.tokens) if token.part in run and not (
            token.breaks and token.kind == "mark")]
        if not spots or len(spots) > 8:
            continue
        text = line.text[line.tokens[spots[0]].start:line.tokens[spots[-1]].end]
        meant = meant_by(item, text)
        if len(meant) == 1:
            yield Fact((Entry(asked, meant[0], meant[0]),), frozenset(spots), 0.45, ASKED)
        elif meant:
            options = tuple((Entry(asked, answer, answer),) for answer in meant)
            yield Fact((), frozenset(spots), 0.45, ASKED, options)


def named_facts(line: Line) -> Iterator[Fact]:
    """The name of a thing and an answer, or how one begins, and nothing else: `spot look oily`."""
    for named in line.named:
        spots = [at for at, token in enumerate(line.tokens) if token.part == line.tokens[named.first].part
                 and not (token.breaks and token.kind == "mark")]
        rest = [at for at in spots if at > named.last]
        if not rest or spots[0] != named.first:
            continue
        if line.tokens[rest[0]].low in ("is", "was", "at", "reads", ":", "=") and len(rest) > 1:
            rest = rest[1:]
        text = line.text[line.tokens[rest[0]].start:line.tokens[rest[-1]].end]
        for name in named.name.items:
            item = line.base.observations.get(name)
            meant = meant_by(item, text) if item is not None and len(rest) < 5 else ()
            if len(meant) == 1:
                yield Fact((Entry(name, meant[0], meant[0]),), frozenset({*named.at, *rest}), 0.12, LOOK)
            elif 1 < len(meant) < 7 and normal(text) not in YES and normal(text) not in NO:
                options = tuple((Entry(name, answer, answer),) for answer in meant)
                yield Fact((), frozenset({*named.at, *rest}), 0.2, LOOK, options)


def meant_by(item: Observation, text: str) -> tuple[str, ...]:
    """The answers that a bare word or two may mean to the question of an observation; empty where they are none.

    >>> from advisor.library.base import load
    >>> seen = load().observations
    >>> meant_by(seen["oil_leak"], "no"), meant_by(seen["oil_leak"], "ok"), meant_by(seen["appliance"], "2")
    (('none',), ('none',), ('furnace',))
    >>> meant_by(seen["complaint"], "smoke")
    ('smoke-at-start', 'smoke-while-running', 'smoke-at-stop')
    """
    said = normal(text.replace("'", "")).strip(" .!?")
    answers = {normal(answer): answer for answer in item.answers}
    if said in answers:
        return (answers[said],)
    sound = item.sound or item.clear
    if said in YES or said in NO:
        return _yes_or_no(item, said in YES, sound)
    if said.isdecimal() and countable(item) and 1 <= int(said) <= len(item.answers):
        return (tuple(item.answers)[int(said) - 1],)
    found = tuple(answer for words, answer in answers.items() if said in words.split())
    if len(found) != 1:
        found = tuple(answer for words, answer in answers.items() if words.startswith(said)) or found
    if not found and len(said) > 2:
        found = tuple(answer for words, answer in answers.items() if said in words)
    if not found and sound and (said in NONE or said in FINE):
        return (sound,)
    return found if said else ()


def countable(item: Observation) -> bool:
    """Whether its answers may be told by their place on the list: none has a number in its name.

    >>> from advisor.library.base import load
    >>> countable(load().observations["fuel"]), countable(load().observations["appliance"])
    (False, True)
    """
    return not any(letter.isdigit() for answer in item.answers for letter in answer)


def _yes_or_no(item: Observation, yes: bool, sound: str) -> tuple[str, ...]:
    """Yes or no to a question that takes other answers: by which of them the question names."""
    answers = tuple(item.answers)
    if "yes" in answers or "no" in answers:
        own = "yes" if yes else "no"
        if own in answers:
            return (own,)
        return tuple(answer for answer in answers if answer not in ("yes", "no"))
    first = item.question.split(maxsplit=1)[0].lower()
    if first not in _SHORT and not any(f", {word} " in item.question for word in _SHORT):
        return answers if len(answers) <= 6 else ()
    question = set(phrase_stems(item.question))
    named = [answer for answer in answers if set(phrase_stems(answer.replace("-", " "))) <= question]
    unsound = tuple(answer for answer in answers if answer != sound)
    if len(named) == 1 and (named[0] == sound or not sound):
        return (named[0],) if yes else tuple(answer for answer in answers if answer != named[0])
    if named and sound:
        return unsound if yes else (sound,)
    if named or not sound:
        return answers if len(answers) <= 8 else ()
    return unsound if yes else (sound,)
