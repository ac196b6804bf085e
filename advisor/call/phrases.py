"""From a typed line to what it means: entries for one or several names, an answer to the question, or a command."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

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

COMMANDS: Final = {
    "why": "why this question; `why CAUSE`, `why CHECK` for anything else",
    "why not": "why a cause is not on the list, or not higher: `why not CAUSE`",
    "how": "how to do this check; `how NAME` for another, or how a number was computed",
    "what if": "what other readings would change, without entering them: `what if o2 6.5`",
    "undo": "take back the last line that entered something",
    "skip": "pass over this question; `skip all` for all of this group",
    "cannot": "cannot be checked; `cannot all` for all of this check",
    "next": "ask me: the next check in full",
    "entries": "everything entered so far",
    "numbers": "every number, measured and computed, with its level",
    "causes": "the causes, with what speaks for and against each",
    "all": "everything that there is to say",
    "explain": "the page of anything that has a name: `explain NAME`",
    "cured": "an open hazard was put right: `cured HAZARD WHAT WAS DONE`; then its proof is asked",
    "correct": "an entry was mistyped and never so: `correct NAME VALUE`",
    "again": "measured or looked at once more, now with another result: `again NAME VALUE`",
    "trust": "stand by a reading that is in doubt: `trust NAME`",
    "remedy": "the remedy of a cause, its steps and cautions: `remedy CAUSE`",
    "done": "a step of the remedy is done: `done`, `done 3`, `done 2-5`, `done all`",
    "retest": "the readings that prove the remedy, one after the other; again for a new round",
    "compare": "before and after side by side, and what it saves in a year",
    "close": "close the case, where the retest proves it; else it says what is left",
    "test": "the guided combustion test: `test`, `test wet` or `test analyzer`",
    "air": "the guided setting of the air; `air 1 8` where the shutter is shut at 1, wide open at 8",
    "unit": "tie the case to a unit of the record and show its history: `unit LABEL`",
    "keep": "put this visit into the record; words after it are kept as a note",
    "manufacturer": "put in the manufacturer's own figure for a limit: `manufacturer LIMIT VALUE`",
    "instruments": "say which instruments are at hand: `instruments LIST`, or `instruments all`",
    "save": "`save FILE` writes a copy; the case itself is saved after every line",
    "help": "this list",
    "quit": "stop; everything is kept in the case file",
}

_SAID: Final = {
    "h": "help", "?": "help", "commands": "help",
    "q": "quit", "exit": "quit", "bye": "quit", "stop": "quit", "end": "quit",
    "why is it not": "why not", "why isn't it": "why not", "what speaks against": "why", "what speaks for": "why",
    "how do i": "how", "how to": "how", "how was": "how", "how is": "how", "how come": "why",
    "whatif": "what if", "suppose": "what if",
    "u": "undo", "back": "undo", "take back": "undo",
    "s": "skip", "pass": "skip", "not checked": "skip", "pass over": "skip",
    "cannot check": "cannot", "can't check": "cannot", "cant check": "cannot", "can't": "cannot", "cant": "cannot",
    "could not check": "cannot", "can not check": "cannot", "can not": "cannot", "unknown": "cannot",
    "don't know": "cannot", "dont know": "cannot", "no idea": "cannot",
    "ask me": "next", "ask": "next", "what next": "next", "next check": "next", "question": "next",
    "list": "entries", "list of entries": "entries", "show entries": "entries", "show": "entries",
    "list causes": "causes", "show causes": "causes",
    "values": "numbers", "show numbers": "numbers", "report": "all", "everything": "all", "show all": "all",
    "what is": "explain", "what are": "explain", "stand by": "trust", "at hand": "instruments",
    "manufacturer's": "manufacturer", "maker": "manufacturer", "maker's": "manufacturer",
    "save as": "save", "write": "save", "repair": "remedy", "fix": "remedy", "finished": "done",
    "re-test": "retest", "test again": "retest", "before and after": "compare", "savings": "compare",
    "close case": "close", "close the case": "close", "guided test": "test", "set the air": "air", "set air": "air",
    "history": "unit", "mistyped": "correct", "correction": "correct", "measured again": "again",
    "re-measured": "again", "put right": "cured",
}
_ALONE: Final = frozenset({"undo", "next", "entries", "numbers", "causes", "all", "help", "quit", "retest", "compare",
                               "close"})
_PHRASES: Final = {**{word: word for word in COMMANDS}, **_SAID}


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
    >>> read_phrase(load(), "what if smoke 0").command
    'what if'
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
        return [replace(read_entry(base, name, answer), said=part) for name in still_open
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

    # In a line that names the unit, words that only resemble a complaint are none: `furnace on a chimney`.
    complaints = [one for one in phrase.entries
                  if one.name in base.observations and base.observations[one.name].part == "complaint"]
    of_unit = not base.equipment.isdisjoint(one.name for one in phrase.entries)
    told = {one.name for one in understand(base, line, "", known).entries} if complaints else set()
    alike = [one for one in complaints if one.said and one.name not in told and (of_unit or taken(one.said))]
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
        command = _PHRASES.get(said)
        if command is None:
            continue
        rest = " ".join(words[count:]).rstrip("?").strip()
        if command == "how" and rest.endswith((" computed", " calculated", " done", " measured")):
            rest = rest.rpartition(" ")[0]
        named = name_at(base, words)
        if named and named[1] > count:  # such as the alias `last service`
            return None
        if named and rest and normal(rest) in {normal(one) for one in base.named[named[0]].symbols}:
            return None  # `unit boiler` names the kind of unit
        if rest and not _goes_with(base, command, rest, count):
            continue
        if command in _ALONE and rest and normal(rest) not in ("now", "please"):
            if command == "next" or said in base.words:
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
    return not (command in _ALONE and len(words) > 2)


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
