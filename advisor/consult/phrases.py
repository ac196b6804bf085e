"""From a typed line to what it means: entries for one or several names, an answer to the question, or a command."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.library.yamlfiles import near, shorten
from advisor.reasoning.case import SKIPPED, UNCHECKED, Entry
from advisor.reasoning.entries import EntryError, besides, heard, normal, read_entry

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
    "maker": "put in the maker's own figure for a limit: `maker LIMIT VALUE`",
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
    "what is": "explain", "what are": "explain", "stand by": "trust", "maker's": "maker", "at hand": "instruments",
    "save as": "save", "write": "save", "repair": "remedy", "fix": "remedy", "finished": "done",
    "re-test": "retest", "test again": "retest", "before and after": "compare", "savings": "compare",
    "close case": "close", "close the case": "close", "guided test": "test", "set the air": "air", "set air": "air",
    "history": "unit", "mistyped": "correct", "correction": "correct", "measured again": "again",
    "re-measured": "again", "put right": "cured",
}
_ALONE: Final = frozenset({"undo", "next", "entries", "numbers", "causes", "all", "help", "quit", "retest", "compare",
                               "close"})
_PHRASES: Final = {**{word: word for word in COMMANDS}, **_SAID}
_DRAFT: Final = ("draft_over_fire", "draft_breech")
_PART = re.compile(r"\s*;\s*|\s*,(?!\d)\s*|(?<!\d),\s*")
_BETWEEN = re.compile(r"(?<=\S)\s*=\s*|(?<=[^\W\d]):(?=\s|\d|[-+.])\s*")


@dataclass(frozen=True, slots=True)
class Phrase:
    """What a line means: a command with the words after it, entries, or the name of a question to be asked.

    `left` are parts that were not understood, where others tell of an emergency and cannot wait for them.
    """

    command: str = ""
    rest: str = ""
    entries: tuple[Entry, ...] = ()
    ask: str = ""
    left: tuple[str, ...] = ()


def clean(line: str) -> str:
    """A line without control characters, its blanks made single.

    >>> clean("  stack\\t520\\x1b ")
    'stack 520'
    """
    return " ".join(plain_text(line).split())


def read_phrase(base: Base, line: str, asked: str = "") -> Phrase:
    """What a line means.

    Parameters
    ----------
    line : str
        One line as typed, at most `LONGEST` characters.
    asked : str
        The name that was asked for, which a bare number or answer then belongs to; empty where none was.

    Raises
    ------
    EntryError
        One line that says what is wrong with it, and what would be right.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> [(one.name, one.value) for one in read_phrase(load(), "stack 520 F, o2 5.5; smoke trace").entries]
    [('stack_temperature', 520.0), ('o2', 5.5), ('smoke', 0.5)]
    >>> [(one.name, one.value) for one in read_phrase(load(), "draft -.02 -.06").entries]
    [('draft_over_fire', -0.02), ('draft_breech', -0.06)]
    >>> read_phrase(load(), "what if smoke 0")
    Phrase(command='what if', rest='smoke 0', entries=(), ask='', left=())
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
    alarming = heard(base, line) if line.lower() not in base.words else ()  # a name alone asks its question
    if alarming:
        return _alarmed(base, line, alarming)
    words = line.split()
    if name_at(base, words) is None and words[0].lower() != "draft" and asked in base.named:
        return _answer(base, line, asked)
    phrase = _entries(base, line)
    if phrase.ask and asked in base.observations and phrase.ask != asked:
        try:  # the name of a reading may be the beginning of an answer too, such as `smoke` of a complaint
            return Phrase(entries=(read_entry(base, asked, line),))
        except EntryError as error:
            if "may be" in str(error):
                raise
    return phrase


def _alarmed(base: Base, line: str, alarming: tuple[Entry, ...]) -> Phrase:
    """What a line tells of an emergency, and of the rest of it whatever is understood."""
    entries = list(alarming)
    left = []
    for part in besides(base, line):
        try:
            found = _entries(base, part).entries
        except EntryError:
            found = ()
        entries += found
        if not found:
            left.append(part)
    return Phrase(entries=tuple(entries), left=tuple(left))


def read_entries(base: Base, line: str) -> tuple[Entry, ...]:
    """The entries of a line that holds nothing else; errors: `EntryError`."""
    entries = _entries(base, clean(line)).entries
    if not entries:
        raise EntryError(f"{shorten(line)!r} has no reading in it; write a name and a value, such as o2 6.5")
    return entries


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
        if command in _ALONE and rest and normal(rest) not in ("now", "please"):
            if command == "next" or said in base.words:
                return None
            raise EntryError(f"{said} stands alone; {shorten(rest)!r} after it has no meaning")
        return Phrase(command, rest)
    return None


def _answer(base: Base, line: str, asked: str) -> Phrase:
    """A bare answer to the question asked, perhaps with further readings behind it."""
    parts = _parts(line)
    try:
        first = read_entry(base, asked, parts[0])
    except EntryError as error:
        raise _better(base, line, error) from None
    rest = "; ".join(parts[1:])
    return Phrase(entries=(first, *(_entries(base, rest).entries if rest else ())))


def _better(base: Base, line: str, error: EntryError) -> EntryError:
    """For a line that begins like a misspelled name or command: which one may be meant."""
    words = line.split()
    letters = words[0][0].isalpha() if words else False
    if not letters or "may be" in str(error):
        return error
    if len(words) > 1 and re.match(r"[-+.#]?\d|[-+]?\.\d", words[-1]):
        close = near(" ".join(words[:-1]).lower(), _openings(base), 1, 0.75)
        if close:
            return EntryError(f"{shorten(line)!r}: did you mean {close[0]}?")
    command = near(line.lower(), COMMANDS, 1, 0.75)
    if command:
        return EntryError(f"{error} (or the command {command[0]}?)")
    said = normal(line)
    inside = min((word for word in _openings(base) if len(said) > 3 and said in word), key=len, default="")
    return EntryError(f"{error} (or the reading {inside}?)") if inside else error


def _entries(base: Base, line: str) -> Phrase:
    whole = name_at(base, line.split())
    if whole and whole[1] == len(line.split()):
        return Phrase(ask=whole[0])
    entries: list[Entry] = []
    for part in _parts(line):
        words = part.split()
        named = name_at(base, words)
        if words[0].lower() == "draft" and (named is None or named[1] == 1):
            entries += _drafts(base, words[1:])
            continue
        if named is None:
            raise _not_known(base, part)
        name, count = named
        rest = words[count:]
        if rest and rest[0].lower() in ("is", "was", "at", "reads") and len(rest) > 1:
            rest = rest[1:]
        if not rest:
            if entries or ";" in line:
                read_entry(base, name, "")
            return Phrase(ask=name)
        entries += _run(base, name, rest)
    return Phrase(entries=tuple(entries))


def _run(base: Base, name: str, words: list[str]) -> list[Entry]:
    """The entry for a name, and those of further names in the words behind its value."""
    try:
        return [_one(base, name, " ".join(words))]
    except EntryError as error:
        problem = error
    for at in range(1, len(words)):
        named = name_at(base, words[at:])
        if named is None or len(words) <= at + named[1]:
            continue
        try:
            first = _one(base, name, " ".join(words[:at]))
        except EntryError as error:
            problem = error
            continue
        return [first, *_run(base, named[0], words[at + named[1]:])]
    raise problem


def _one(base: Base, name: str, typed: str) -> Entry:
    command = _PHRASES.get(typed.lower())
    symbols = {normal(symbol) for symbol in base.named[name].symbols}
    if command in ("skip", "cannot") and normal(typed) not in symbols:
        return Entry(name, typed, None, SKIPPED if command == "skip" else UNCHECKED)
    return read_entry(base, name, typed)


def _drafts(base: Base, words: list[str]) -> list[Entry]:
    """`draft` alone: a reading over the fire, then one at the breech."""
    text = " ".join(words)
    spots = [at for at, word in enumerate(words) if _is_number(word)]
    if len(spots) == 2 and spots[0] == 0:
        halves = (words[: spots[1]], words[spots[1]:])
        return [read_entry(base, name, " ".join(half)) for name, half in zip(_DRAFT, halves, strict=True)]
    if len(spots) == 1 and spots[0] == 0:
        read_entry(base, _DRAFT[0], text)
        raise EntryError(f"draft {shorten(text)}: say where it was taken, over fire {shorten(text)} or "
                         f"breech {shorten(text)}; or give both, over the fire first")
    raise EntryError("draft takes a number over the fire and one at the breech, such as draft -.02 -.06; "
                     "or write over fire -.02, breech -.06")


def _is_number(word: str) -> bool:
    return re.match(r"[-+−–]?(\d|\.\d)", word) is not None


def _parts(line: str) -> list[str]:
    parts: list[str] = []
    for part in _PART.split(_BETWEEN.sub(" ", line)):
        part = part.strip(" ,;")
        if part and parts and _is_number(part) and parts[-1].lower().startswith("draft ") and len(part.split()) < 4:
            parts[-1] += f" {part}"  # `draft -.02, -.06`
        elif part:
            parts.append(part)
    return parts or [line]


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


def _not_known(base: Base, part: str) -> EntryError:
    words = part.split()
    head = [word for word in words[:4] if not _is_number(word)] or words[:1]
    close = [match for count in range(len(head), 0, -1)
             for match in near(" ".join(head[:count]).lower(), [*_openings(base), *COMMANDS], 1, 0.7)]
    if close:
        return EntryError(f"{shorten(part)!r} begins with no name known here; did you mean {close[0]}?")
    if _is_number(part):
        return EntryError(f"{shorten(part)!r}: a number of what? write its name first, such as stack 520")
    return EntryError(f"{shorten(part)!r} is neither a reading nor a command; write a name and a value, such as "
                      "stack 520, or help")
