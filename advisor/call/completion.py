"""What may come next on the line being typed, each with its meaning; and what is wrong with the line so far."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final

from advisor.call.commands import COMMANDS
from advisor.call.guiding import STEADY
from advisor.call.phrases import INSTRUMENTS, LONGEST, name_at, read_phrase
from advisor.call.turn import Turn
from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.physics import units
from advisor.reasoning.entries import EntryError, normal

_MOST: Final = 60
_KINDS: Final[dict[str, tuple[str, ...]]] = {
    "why": ("causes", "checks", "hazards", "conditions"), "figure": ("quantities",),
    "steps": ("checks", "quantities", "observations", "remedies"), "trust": ("quantities", "observations"),
    "explain": ("causes", "checks", "quantities", "observations", "conditions", "hazards", "remedies", "limits"),
    "remedy": ("causes",), "manufacturer": ("limits",), "skip": ("quantities", "observations"),
    "cannot": ("quantities", "observations"), "instruments": ("instruments",),
}
_LAST = re.compile(r".*[;,]\s+|\s*", re.DOTALL)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A text that may stand in place of the last `back` characters, and what it means."""

    text: str
    back: int
    meaning: str


def candidates(turn: Turn, text: str) -> Iterator[Candidate]:
    """What may come next.

    Parameters
    ----------
    text : str
        The line up to the cursor.

    Examples
    --------
    >>> from advisor.call.conclude import begin
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Case
    >>> next(candidates(begin(load(), Case()), "lock")).meaning
    'goes off on safety; somebody has to push the reset'
    """
    if len(text) > LONGEST:
        return
    if turn.choosing:
        yield from (Candidate(str(number), len(text), one.text)
                    for number, one in enumerate(turn.choosing[0].choices, 1) if str(number).startswith(text.strip()))
    start = _LAST.match(text)
    part = text[start.end() if start else 0:]
    found = list(dict.fromkeys(_of_part(turn, part, first=start is None or not start.group().strip())))
    yield from found[:_MOST]


def _of_part(turn: Turn, part: str, first: bool) -> Iterable[Candidate]:
    base = turn.base
    words = part.split()
    if part.lower().startswith("if "):
        return _of_part(turn, part[3:], first=False)
    for command, shelves in _KINDS.items():
        if first and part.lower().startswith(command + " "):
            return _items(base, shelves, part[len(command) + 1:])
    if first and turn.question.name == INSTRUMENTS:
        return [*_items(base, ("instruments",), part), *_commands(part)]
    named = name_at(base, words)
    if named and len(part) > len(" ".join(words[:named[1]])):
        after = part.split(maxsplit=named[1])[named[1]] if len(words) > named[1] else ""
        return [*_values(base, named[0], after), *([] if after else _names(base, part.strip()))]
    asked = list(_values(base, turn.question.name, part)) if first and turn.question.name in base.named else []
    return [*asked, *(_commands(part) if first and part else []), *(_names(base, part) if part else [])]


def _values(base: Base, name: str, typed: str) -> Iterator[Candidate]:
    item = base.named[name]
    said = normal(typed)
    if isinstance(item, Observation):
        for answer in item.answers:
            if normal(answer).startswith(said):
                yield Candidate(answer, len(typed), item.means.get(answer, ""))
    elif isinstance(item, Quantity):
        for word, value in item.words.items():
            if word.startswith(said):
                yield Candidate(word, len(typed), units.format_value(value, item.kind))


def _commands(typed: str) -> Iterator[Candidate]:
    for command, what in COMMANDS.items():
        if command.startswith(typed.lower()):
            yield Candidate(command, len(typed), what.replace("`", ""))


def _names(base: Base, typed: str) -> Iterator[Candidate]:
    """Each reading once, by the first of its words that begins as typed."""
    said = normal(typed)
    for item in base.entered:
        if isinstance(item, Quantity) and item.derived:
            continue
        words = sorted((normal(word) for word in (item.name, item.title, *item.aliases)), key=len)
        word = next((word for word in words if word.startswith(said)), None)
        if word is not None:
            unit = units.symbol(item.kind) if isinstance(item, Quantity) else ""
            yield Candidate(word, len(typed), f"{item.title}, {unit}" if unit else item.title)


def _items(base: Base, shelves: Iterable[str], typed: str) -> Iterator[Candidate]:
    said = normal(typed)
    for shelf in shelves:
        items: dict[str, Any] = getattr(base, shelf)
        for item in items.values():
            words = normal(f"{item.name} {item.title}")
            if words.startswith(said) or f" {said}" in words:
                meaning = "" if normal(item.title) == normal(item.name) else item.title
                yield Candidate(item.name, len(typed), meaning)


def problem(turn: Turn, text: str) -> str:
    """What is wrong with a line so far, in one line; empty where nothing is, or where it is too early to say.

    >>> from advisor.call.conclude import begin
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Case
    >>> problem(begin(load(), Case()), "stack 500 psi")
    "stack temperature: '500 psi': psi is a pressure unit; a temperature wants degF or degC"
    """
    typed = text.strip()
    if not typed or len(typed) > LONGEST or turn.question.name in (INSTRUMENTS, STEADY) or turn.choosing:
        return ""
    if any(True for _ in candidates(turn, text)) and not any(letter.isdigit() for letter in typed):
        return ""
    try:
        read_phrase(turn.base, typed, turn.question.name, turn.case.values)
    except EntryError as error:
        return str(error)
    return ""


def state(turn: Turn) -> str:
    """The state of the call in one line: file, entries, the leading cause, hazards.

    >>> from advisor.call.conclude import begin
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Case
    >>> state(begin(load(), Case()))
    'no entries'
    """
    count = len(turn.case.entries)
    file = f"{turn.path.name}, after the work" if turn.retesting else turn.path.name
    parts = [*([file] if file else []), f"{count} entr{'y' if count == 1 else 'ies'}" if count else "no entries"]
    if turn.guide is not None:
        parts.append("setting the air" if turn.guide.air else "guided test")
    now = turn.assessment
    if now is not None:
        if turn.work.closed is not None:
            parts.append("closed")
        if now.hazards:
            parts.insert(0, f"HAZARD: {turn.base.title(now.hazards[0].name)}")
        elif now.causes and turn.question.check and now.causes[0].word not in (
                ("unlikely", "possible") if turn.retesting else ("unlikely",)):
            parts.append(f"{now.causes[0].word}: {turn.base.title(now.causes[0].name)}")
        doubted = sum(one.open for one in now.doubts)
        if doubted:
            parts.append(f"{doubted} in doubt")
    if turn.behind:
        parts.insert(0, "NOT ON DISK")
    if turn.more:
        parts.append(f"more: {len(turn.more)} lines")
    return " | ".join(parts)
