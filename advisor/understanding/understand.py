"""From a typed line to what it says: entries, questions where two meanings are near, remarks, and what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.library.base import Base
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import heard
from advisor.understanding.answers import answer_facts, meant_by, named_facts
from advisor.understanding.choose import chosen
from advisor.understanding.layout import Line, named_in, places_of
from advisor.understanding.lexicon import lexicon_of, spelled_right
from advisor.understanding.lookfacts import look_facts, none_facts, status_facts
from advisor.understanding.numberfacts import number_facts
from advisor.understanding.numbers import numbers_of
from advisor.understanding.report import Report
from advisor.understanding.tokens import plain_line, tokens_of
from advisor.understanding.understood import Asked, Choice, Heard, Left, Understood, entry_words

__all__ = ["Asked", "Choice", "Heard", "Left", "Understood", "entry_words", "understand"]


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
    >>> understand(load(), "carpenter was here").remarks
    ('carpenter was here',)
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
    urgent = heard(base, text)
    alarmed = _alarm_tokens(laid, urgent)
    facts = [fact for fact in (*number_facts(laid, asked), *look_facts(laid, asked), *status_facts(laid),
                                *none_facts(laid), *answer_facts(laid, asked), *named_facts(laid))
             if not (set(fact.names) & {one.name for one in urgent}) and not fact.tokens <= alarmed]
    taken = chosen(laid, facts)
    return Report(laid, asked, known or {}, urgent, alarmed, taken).made()


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
