"""Short questions back where two meanings of what was typed are near: put, and answered by a number or a word."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Final

from advisor.call.conclude import changed
from advisor.call.parts import part
from advisor.call.put import put, question_back
from advisor.call.turn import Heard, Turn
from advisor.pages.wording import wrapped
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.entries import EntryError, normal
from advisor.understanding.answers import NO, YES
from advisor.understanding.understand import Asked, understand

_NEITHER: Final = NO | {"neither", "none", "none of them", "not sure", "skip", "dont know", "don't know", "cannot", "?"}


def chosen(turn: Turn, line: str, now: datetime) -> Heard | None:
    """What follows from the answer to the first open question; None where the line is no answer to it.

    Until then its words stand in the case as a remark, so that nothing is lost; where it is answered they go with the
    entries instead.
    """
    question = turn.choosing[0]
    entries = _entries(turn, question, line)
    if entries is None:
        return None
    left = turn.choosing[1:]
    if entries:
        stamped = [replace(entry, at=now) for entry in entries]
        case = _without_remark(turn.case, question.words).having(*stamped)
        return replace(changed(replace(turn, choosing=()), case, stamped), questions=left)
    new = replace(turn, choosing=left)
    said = part("noted", wrapped(f"kept as a remark: {question.words}", 2, 4))
    return new, (*said, *(question_back(left[0]) if left else put(new, new)))


def _entries(turn: Turn, question: Asked, line: str) -> tuple[Entry, ...] | None:
    said = normal(line.replace("'", "")).strip(" .!")
    if question.name:
        value = [one for one in understand(turn.base, line, question.name).entries if one.name == question.name]
        if len(value) != 1 or value[0].value is None:
            return () if said in _NEITHER else None
        known = {**turn.case.values, question.name: value[0].value}
        return (value[0], *understand(turn.base, question.then, "", known).entries)
    choices = question.choices
    if said.isdigit():
        if not 1 <= int(said) <= len(choices):
            raise EntryError(f"{said} is none of the choices: 1 to {len(choices)}, or none of it")
        return choices[int(said) - 1].entries
    if said in YES and not choices[-1].entries:
        return choices[0].entries
    if said in _NEITHER:
        return ()
    near = [one for one in choices if len(said) > 2 and said in normal(one.text)]
    return near[0].entries if len(near) == 1 else None


def _without_remark(case: Case, words: str) -> Case:
    at = next((at for at in range(len(case.entries) - 1, -1, -1)
               if case.entries[at].is_remark and case.entries[at].typed == words), None)
    return case if at is None else replace(case, entries=(*case.entries[:at], *case.entries[at + 1:]))
