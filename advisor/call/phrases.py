"""From a typed line to what it means: entries for one or several names, an answer to the question, or a command."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from advisor.call.commands import ALONE, COMMANDS, PHRASES
from advisor.library.base import Base
from advisor.library.items import MAYBE, WHOLE
from advisor.library.plaintext import plain_text
from advisor.library.yamlfiles import near, shorten
from advisor.reasoning.case import Entry
from advisor.reasoning.entries import EntryError, normal, read_entry
from advisor.understanding.understand import Asked, Left, Understood, understand

LONGEST: Final = 2_000
"""Characters that one line may have; a longer one is a paste that went wrong."""

INSTRUMENTS: Final = "instruments"
"""The question about the instruments at hand; it is no entry, so no name of the base."""

@dataclass(frozen=True, slots=True)
class Phrase:
    """What a line means: a command with the words after it, entries, or the name of a question to be asked.

    Beside entries there may be short `questions` back, `remarks` to be kept, and parts `left` that were not understood.
    """

    command: str = ""
    rest: str = ""
    entries: tuple[Entry, ...] = ()
    ask: str = ""
    left: tuple[Left, ...] = ()
    questions: tuple[Asked, ...] = ()
    remarks: tuple[str, ...] = ()


def clean(line: str) -> str:
    """A line without control characters, its blanks made single.

    >>> clean("  stack\\t520\\x1b ")
    'stack 520'
    """
    return " ".join(plain_text(line).split())


def read_phrase(base: Base, line: str, asked: str = "", known: Mapping[str, object] | None = None) -> Phrase:
    """What a line means.

    Parameters
    ----------
    line : str
        One line as typed, at most `LONGEST` characters.
    asked : str
        The name that was asked for, which a bare number or answer then belongs to; empty where none was.
    known : mapping, optional
        What is entered already, by name.

    Raises
    ------
    EntryError
        One line that says what is wrong with it, and what would be right; only where nothing of it is understood.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> [(one.name, one.value) for one in read_phrase(load(), "stack 520 F, o2 5.5; smoke trace").entries]
    [('stack_temperature', 520.0), ('o2', 5.5), ('smoke', 0.5)]
    >>> [(one.name, one.value) for one in read_phrase(load(), "draft -.02 -.06").entries]
    [('draft_over_fire', -0.02), ('draft_breech', -0.06)]
    >>> read_phrase(load(), "if smoke were 0").command
    'if'
    """
    if len(line) > LONGEST:
        raise EntryError(f"a line of {len(line):,} characters is more than a line holds ({LONGEST:,}); nothing of it "
                         "was taken: enter a few readings at a time, such as stack 520, o2 5.5")
    line = clean(line)
    if not line:
        return Phrase()
    if asked in base.observations and normal(line) in {normal(one) for one in base.observations[asked].answers}:
        return Phrase(entries=(read_entry(base, asked, line),))
    command = _command(base, line, asked)
    if command is not None:
        return command
    said = understand(base, line, asked, known)
    if said.ask or said.heard or said.questions or said.remarks:
        return Phrase(entries=said.entries, ask=said.ask, left=said.left, questions=said.questions,
                      remarks=said.remarks)
    raise _refused(base, line, asked, said)


_BETWEEN: Final = frozenset(("a", "an", "the", "on", "with", "and", "it", "is", "its", "of", "in", "into", "hot"))
"""Words that may stand between what is told of a unit."""


def of_the_unit(base: Base, names: Collection[str], line: str) -> tuple[Entry, ...]:
    """The answers to several open questions, where a line is nothing but such answers, in any order.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> told = of_the_unit(load(), ["appliance", "heat_medium", "burner_type", "draft_kind"], "steam boiler, old style")
    >>> [(one.name, one.value) for one in told]
    [('heat_medium', 'steam'), ('burner_type', 'old-style'), ('appliance', 'boiler')]
    """
    meant: dict[str, set[tuple[str, str]]] = {}
    for name in names:
        for answer in base.observations[name].answers:
            for said in (answer, *base.observations[name].said.get(answer, ())):
                meant.setdefault(normal(said.lstrip(WHOLE)), set()).add((name, answer))
    words = normal(re.sub(r"[,;/.]", " ", line)).split()
    found: dict[str, Entry] = {}
    at = 0
    while at < len(words):
        for count in range(min(4, len(words) - at), 0, -1):
            part = " ".join(words[at:at + count])
            own = meant.get(part, set())
            if len(own) == 1:
                (name, answer), = own
                if name in found and found[name].value != answer:
                    return ()
                found[name] = Entry(name, part, answer)
                at += count
                break
        else:
            if words[at] not in _BETWEEN:
                return ()
            at += 1
    for entry in tuple(found.values()):  # what is asked of one kind of unit alone names that kind: steam, a boiler
        for name, allowed in base.observations[entry.name].only.items():
            if name in names and len(allowed) == 1:
                found.setdefault(name, Entry(name, entry.typed, allowed[0]))
    return tuple(found.values())


def answering(base: Base, phrase: Phrase, names: Iterable[str], known: Mapping[str, object], line: str) -> Phrase:
    """A line, where what it left open answers one of several questions that are open together: `boiler, retention,
    chimney` says of a chimney what no single word of it could.

    Parameters
    ----------
    names : iterable of str
        The observations asked for.
    line : str
        The line that was read.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> base, line = load(), "furnace, retention, chimney"
    >>> names = ["appliance", "burner_type", "draft_kind"]
    >>> found = answering(base, read_phrase(base, line, "appliance"), names, {}, line)
    >>> {one.name: one.value for one in found.entries}
    {'appliance': 'furnace', 'burner_type': 'retention-head', 'draft_kind': 'natural'}
    """
    still_open = [name for name in names if name not in {one.name for one in phrase.entries}]

    def outright(part: str) -> list[Entry]:
        """The open questions of which these words are an answer as it stands."""
        return [replace(read_entry(base, name, answer), said=part) for name in still_open if name in base.observations
                for answer in base.observations[name].answers
                if normal(part) in {normal(word.lstrip(WHOLE + MAYBE)) for word in
                                    (answer, *base.observations[name].said.get(answer, ()))}]

    def taken(words: str) -> list[Entry]:
        """The answers to open questions, where every part of these words is one, of one question."""
        found: list[Entry] = []
        for part in filter(None, (one.strip() for one in re.split(r",| on | with | and ", words))):
            answers = outright(part) or [entry for name in still_open
                                         for entry in understand(base, part, name, known).entries if entry.name == name]
            if len(answers) != 1:
                return []
            found += answers
        return found

    def said_outright(entry: Entry) -> bool:
        """Whether a phrase of that answer stands in the line word for word."""
        return any(f" {normal(word.lstrip(WHOLE + MAYBE))} " in f" {normal(line)} " for word in
                   (str(entry.value), *base.observations[entry.name].said.get(str(entry.value), ())))

    # In a line that names the unit, words that only resemble a complaint are none: `furnace on a chimney`.
    complaints = [one for one in phrase.entries
                  if one.name in base.observations and base.observations[one.name].part == "complaint"]
    of_unit = not base.equipment.isdisjoint(one.name for one in phrase.entries)
    told = {one.name for one in understand(base, line, "", known).entries} if complaints else set()
    alike = [one for one in complaints if one.said and one.name not in told and not said_outright(one)
             and (of_unit or taken(one.said))]
    beside = [part for one in complaints for part in one.said.split("; ")[1:]]
    open_words = [*(one.words for one in phrase.questions), *phrase.remarks, *(one.said for one in alike), *beside]
    answers = {words: taken(words) for words in open_words}
    kept = [one for one in phrase.entries if one not in alike]
    entries = {one.name: one for one in (*kept, *(one for some in answers.values() for one in some))}
    return replace(phrase, entries=tuple(entries.values()),
                   questions=tuple(one for one in phrase.questions if not answers[one.words]),
                   remarks=tuple(words for words in (*phrase.remarks, *(one.said for one in alike))
                                 if not answers[words]))


def read_entries(base: Base, line: str, known: Mapping[str, object] | None = None) -> tuple[Entry, ...]:
    """The entries of a line that holds nothing else; errors: `EntryError`."""
    said = understand(base, clean(line), "", known)
    if said.questions:
        raise EntryError(asked_text(said.questions[0]))
    if said.left:
        raise _refused(base, line, "", said)
    if not said.heard or said.remarks:
        what = said.remarks[0] if said.remarks else line
        raise EntryError(f"{shorten(what)!r} has no reading in it; write a name and a value, such as o2 6.5")
    return said.entries


def asked_text(question: Asked) -> str:
    """A question back on one line, its choices numbered.

    >>> from advisor.understanding.understand import Choice
    >>> asked_text(Asked("Which is meant?", "x", (Choice("this", ()), Choice("that", ()))))
    'Which is meant?  1 this; 2 that'
    """
    return "  ".join((question.text, "; ".join(f"{number} {one.text}" for number, one in
                                               enumerate(question.choices, 1)))).strip()


def _refused(base: Base, line: str, asked: str, said: Understood) -> EntryError:
    """Why nothing of a line was understood, and which name or command may be meant."""
    left = said.left[0] if said.left else Left(line)
    meant = near(line.lower(), COMMANDS, 1, 0.75)
    command = f" (or the command {meant[0]}?)" if meant else ""
    if asked in base.quantities and left.words[:1].isdigit():  # a number that cannot be this one: why not
        try:
            read_entry(base, asked, left.words)
        except EntryError as error:
            return error
    if left.why:
        return EntryError(left.why if left.words.split()[0] in left.why else f"{shorten(left.words)!r}: {left.why}")
    if asked in base.named and asked not in base.conditions:
        try:
            read_entry(base, asked, left.words)
        except EntryError as error:
            return EntryError(f"{error}{command}")
    close = near(left.words.lower(), [*base.words, *COMMANDS], 1, 0.7)
    if close:
        return EntryError(f"{shorten(left.words)!r} is not known here; did you mean {close[0]}?")
    return EntryError(f"{shorten(left.words)!r} is neither a reading nor a command; write a name and a value, such as "
                      "stack 520, or help")


def _command(base: Base, line: str, asked: str) -> Phrase | None:
    """The command at the beginning of a line; None where there is none, or where the line names a reading."""
    words = line.split()
    for count in range(min(4, len(words)), 0, -1):
        said = " ".join(words[:count]).lower().rstrip("?:").replace("’", "'") or "?"
        command = PHRASES.get(said)
        if command is None:
            continue
        rest = " ".join(words[count:]).rstrip("?").strip()
        if rest.endswith((" computed", " calculated", " done", " measured", " worked out")):
            rest = rest.removesuffix(" worked out").removesuffix(" computed").removesuffix(" calculated")
            rest = rest.removesuffix(" done").removesuffix(" measured")
        named = name_at(base, words)
        if named and named[1] > count:  # such as the alias `last service`
            return None
        if named and rest and normal(rest) in {normal(one) for one in base.named[named[0]].symbols}:
            return None  # `unit boiler` names the kind of unit
        if rest and not _goes_with(base, command, rest, count):
            continue
        if command in ALONE and rest and normal(rest) not in ("now", "please"):
            if command in ("next", "regulator") or said in base.words:
                return None
            raise EntryError(f"{said} stands alone; {shorten(rest)!r} after it has no meaning")
        return Phrase(command, rest)
    return None


_ALL: Final = frozenset(("all", "the rest", "rest", "intake", "these", "check", "this check", "it", "this", "that"))


def _goes_with(base: Base, command: str, rest: str, count: int) -> bool:
    """Whether what stands behind a command can belong to it, so that the line is no sentence that begins with a word
    of that spelling: "air in the oil line", "can't get it to fire"."""
    words = rest.split()
    if command in ("skip", "cannot"):
        named = name_at(base, words)
        return normal(rest) in _ALL or len(words) == 1 or (named is not None and named[1] == len(words))
    if command in ("air", "done"):
        return sum(word.isalpha() and len(word) > 2 for word in words) < 2
    if command == "test":
        return len(words) < 3
    return not (command in ALONE and len(words) > 2)


@lru_cache(maxsize=8)
def _openings(base: Base) -> dict[str, str]:
    """Every word that a reading can begin with, as it is compared."""
    return {normal(word): name for word, name in base.words.items()}


@lru_cache(maxsize=8)
def _longest(base: Base) -> int:
    return max(len(word.split()) for word in _openings(base))


def name_at(base: Base, words: Sequence[str]) -> tuple[str, int] | None:
    """The name that the longest alias at the beginning of words means, and how many words it takes."""
    openings = _openings(base)
    for count in range(min(_longest(base), len(words)), 0, -1):
        name = openings.get(normal(" ".join(words[:count])))
        if name is not None:
            return name, count
    return None
