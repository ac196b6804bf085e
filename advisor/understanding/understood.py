"""What is made of a line: entries heard, questions back, and what is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.physics import units
from advisor.reasoning.case import Entry

MOST_CHOICES: Final = 6


@dataclass(frozen=True, slots=True)
class Heard:
    """An entry, and the words that it was taken from."""

    entry: Entry
    words: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question: in words, and the entries that it makes."""

    text: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """A short question back: what words are meant, with choices; without them it asks for the value of `name`, and
    `then` is the line that is understood once that is known.
    """

    text: str
    words: str
    choices: tuple[Choice, ...] = ()
    name: str = ""
    then: str = ""


@dataclass(frozen=True, slots=True)
class Left:
    """Words that were not understood, with why, where that can be told."""

    words: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Understood:
    """What a line says. Every word of it stands in the words of one of these.

    `ask` is the name of a reading that the line names and says nothing of.
    """

    heard: tuple[Heard, ...] = ()
    questions: tuple[Asked, ...] = ()
    remarks: tuple[str, ...] = ()
    left: tuple[Left, ...] = ()
    ask: str = ""

    @property
    def entries(self) -> tuple[Entry, ...]:
        return tuple(one.entry for one in self.heard)


def entry_words(base: Base, entry: Entry) -> str:
    """An entry in words.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.entries import read_entry
    >>> entry_words(load(), read_entry(load(), "stack_temperature", "520"))
    'stack temperature 520 degF'
    """
    title = base.title(entry.name)
    if entry.value is None:
        return f"{title}: {entry.status}"
    if isinstance(entry.value, float):
        return f"{title} {units.format_value(entry.value, base.quantities[entry.name].kind)}"
    item = base.observations[entry.name]
    means = item.means.get(entry.value, "")
    shown = entry.value.replace("-", " ")
    return f"{title}: {shown} ({means})" if means and entry.value in ("yes", "no") else f"{title}: {shown}"
