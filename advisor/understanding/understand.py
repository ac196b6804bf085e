"""From a typed line to what it says: entries, questions where two meanings are near, remarks, and what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import heard, normal
from advisor.understanding.answers import answer_facts, meant_by, named_facts
from advisor.understanding.choose import chosen
from advisor.understanding.facts import ALONE, Fact
from advisor.understanding.layout import Line, named_in, places_of
from advisor.understanding.lexicon import lexicon_of, spelled_right
from advisor.understanding.lookfacts import look_facts, none_facts, status_facts
from advisor.understanding.numberfacts import number_facts
from advisor.understanding.numbers import numbers_of
from advisor.understanding.report import Report
from advisor.understanding.tokens import plain_line, tokens_of
from advisor.understanding.understood import Asked, Choice, Heard, Left, Understood, entry_words

__all__ = ["Asked", "Choice", "Heard", "Left", "Understood", "entry_words", "understand"]


_STORY: Final = 8
"""In a line of more telling words no words answer what the call is about but those that say it by themselves, not the
"shuts off" or "water" of a whole story.
"""


def understand(base: Base, line: str, asked: str = "", known: Mapping[str, object] | None = None) -> Understood:
    """What a line says.

    Parameters
    ----------
    line : str
        As it was typed; a line of some hundred words at most.
    asked : str
        The name that was asked for, to which a bare number or answer belongs first; empty where none was.
    known : mapping, optional
        What is entered already, by name: a net stack temperature needs the room's.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> def said(line, asked=""):
    ...     return [(one.name, one.value) for one in understand(load(), line, asked).entries]
    >>> said("stack temp was running five twenty, oxygen 5.5 and a trace of smoke")
    [('stack_temperature', 520.0), ('o2', 5.5), ('smoke', 0.5)]
    >>> said("over fire minus point oh two, breech -.06")
    [('draft_over_fire', -0.02), ('draft_breech', -0.06)]
    >>> understand(load(), "the carpenter was here yesterday").remarks
    ('the carpenter was here yesterday',)
    """
    text = plain_line(line)
    if not text:
        return Understood()
    named = base.words.get(text.lower()) or base.words.get(line.strip().lower())
    if named and not (asked in base.observations and asked != named and meant_by(base.observations[asked], text)):
        return Understood(ask=named)
    lexicon = lexicon_of(base)
    tokens = spelled_right(lexicon, tokens_of(text))
    numbers = numbers_of(tokens)
    laid = Line(text, lexicon, tokens, numbers, named_in(lexicon, tokens, numbers))
    if _is_complaint(base, asked) and laid.telling > _STORY:
        asked = ""
    facts = [*number_facts(laid, asked), *look_facts(laid, asked, known or {}), *status_facts(laid), *none_facts(laid),
             *answer_facts(laid, asked), *named_facts(laid)]
    urgent = [_said_fuller(laid, entry, facts) for entry in heard(base, text) if not _of_more(laid, entry, facts)]
    alarmed = _alarm_tokens(laid, urgent)
    alarms = {one.name for one in urgent}
    taken = chosen(laid, [fact for fact in facts if not (set(fact.names) & alarms)
                          and (not fact.tokens <= alarmed or (fact.names == (asked,) and _is_complaint(base, asked)))
                          and not (fact.kind == ALONE and alarmed & fact.tokens
                                   and not base.safety_looks.isdisjoint(fact.names))])
    return Report(laid, asked, known or {}, urgent, alarmed, taken).made()


def _is_complaint(base: Base, name: str) -> bool:
    """Whether it is what the call is about: where that is asked, it may be the emergency itself, in the same words."""
    return name in base.observations and base.observations[name].part == "complaint"


def _of_more(line: Line, entry: Entry, facts: Sequence[Fact]) -> bool:
    """Whether the words of an emergency are part of what says another one: a puddle of oil, in the chamber."""
    safety, words = line.base.safety_looks, _alarm_tokens(line, [entry])
    return any(fact.kind == ALONE and fact.entries and words and words < _around(fact) and fact.names != (entry.name,)
               and not fact.by_denial and not safety.isdisjoint(fact.names)
               and fact.entries[0].value not in ("none", "no") for fact in facts)


def _around(fact: Fact) -> frozenset[int]:
    return frozenset(range(min(fact.tokens), max(fact.tokens) + 1))


def _said_fuller(line: Line, entry: Entry, facts: Sequence[Fact]) -> Entry:
    """An emergency as it was heard, or as more words of the line tell it: a headache that goes away outdoors."""
    item = line.base.observations[entry.name]
    heard_in = [len(phrase.split()) for phrase in item.urgent[str(entry.value)] if phrase in normal(line.text)]
    fuller = [fact for fact in facts if fact.kind == ALONE and fact.names == (entry.name,) and fact.entries
              and fact.entries[0].value not in (item.sound, item.clear) and not fact.by_denial
              and len(fact.tokens) > max(heard_in, default=2)]
    best = max(fuller, key=lambda fact: len(fact.tokens), default=None)
    return replace(best.entries[0], said=entry.said) if best else entry


def _alarm_tokens(line: Line, urgent: Sequence[Entry]) -> frozenset[int]:
    """The tokens by which an emergency was heard."""
    out: set[int] = set()
    for entry in urgent:
        for phrases in line.base.observations[entry.name].urgent.values():
            for phrase in phrases:
                stems = tuple(token.stem for token in tokens_of(plain_line(phrase)))
                for spot in places_of(stems, line.tokens, 0, True):
                    out |= set(range(spot[0], spot[-1] + 1))
    return frozenset(out)
