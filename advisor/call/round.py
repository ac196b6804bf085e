"""The first look round as one list on one screen: each line looked at and clear, not clear, or not looked at."""

from __future__ import annotations

import re
from typing import Final

from advisor.library.base import Base
from advisor.pages.wording import columns, wrapped
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import SKIPPED, Case, Entry
from advisor.reasoning.casefile import as_told
from advisor.reasoning.entries import EntryError, normal, read_entry

ROUND: Final = "look round"
"""The question of the look round; it is no entry, so no name of the base."""


class NotOfTheListError(EntryError):
    """Words that are no answer to the list at all; they may be a reading or a command."""


_CLEAR: Final = ("clear", "all clear", "ok", "okay", "all ok", "all good", "good", "fine", "all fine")
_NOT_LOOKED: Final = ("not looked", "not looked at", "not checked", "skip", "not seen", "rest not looked", "rest skip")
_NUMBERS: Final = re.compile(r"\d{1,2}(?:\s*-\s*\d{1,2})?")


def round_names(base: Base, case: Case, assessment: Assessment | None = None) -> tuple[str, ...]:
    """What is on the list: what this unit can have, can be looked at now, and nobody has answered yet."""
    known = case.values
    checks = [check for check in sorted(base.checks.values(), key=lambda check: check.round) if check.round and (
        assessment is None or all(stop.missing for stop in assessment.gate.stops_check(check)))]
    return tuple(dict.fromkeys(name for check in checks for name in base.asked_by(check, known)
                               if name not in known and name in base.observations and base.observations[name].clear))


def round_lines(base: Base, names: tuple[str, ...], packed: bool = False) -> list[str]:
    """The list as it is asked, in two columns where there is room; `packed` where there is hardly any.

    >>> from advisor.library.base import load
    >>> base = load()
    >>> round_lines(base, round_names(base, Case()))[0]
    'LOOK ROUND: looked at and clear?  (clear; clear but 3; 3 not looked)'
    """
    head = wrapped("LOOK ROUND: looked at and clear?  (clear; clear but 3; 3 not looked)", 0, 2)
    items = [f"{number:>2}. {base.observations[name].line}" for number, name in enumerate(names, 1)]
    if packed:
        return [*head, *wrapped("; ".join(item.strip() for item in items), 0, 2)]
    half = (len(items) + 1) // 2
    left = max(map(len, items[:half]), default=0)
    if left + 1 + max(map(len, items[half:]), default=0) > columns():
        return [*head, *(line for item in items for line in wrapped(item.strip(), 0, 4))]
    return [*head, *(f"{one:<{left}} {other}".rstrip()
                     for one, other in zip(items[:half], [*items[half:], ""], strict=False))]


def read_round(base: Base, names: tuple[str, ...], line: str) -> tuple[tuple[Entry, ...], str]:
    """The entries that an answer to the list makes, and the name that it wants to be asked, or none.

    Parameters
    ----------
    names : tuple of str
        As they are numbered on the list, from 1.
    line : str
        Such as `clear`, `clear but 3 5`, `clear 1-4`, `3 dripping`, `5 not looked`, `not looked`, or `3`.

    Raises
    ------
    EntryError
        Where a part of the line is none of these; nothing of the line is taken then.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> [(one.name, one.value) for one in read_round(load(), ("oil_leak", "room_smoke"), "clear but 1, 1 seep")[0]]
    [('room_smoke', 'no'), ('oil_leak', 'seep')]
    """
    entries: dict[str, Entry] = {}
    ask = ""
    for part in [part.strip() for part in re.split(r"[,;]", line) if part.strip()]:
        found, asked = _part(base, names, part, entries)
        entries.update({one.name: one for one in found})
        ask = ask or asked
    if ask in entries:
        ask = ""
    return tuple(entries.values()), ask


def _part(
    base: Base, names: tuple[str, ...], part: str, before: dict[str, Entry]
) -> tuple[list[Entry], str]:
    said = normal(part)
    left = [name for name in names if name not in before]
    if said in _CLEAR:
        return [_clear(base, name) for name in left], ""
    if said in _NOT_LOOKED:
        return [_not_looked(name) for name in left], ""
    words = part.lower().replace(" and ", " ").split()
    if words[0] in ("clear", "all") and len(words) > 1:
        if words[0] == "all" and words[1] == "clear":
            words = words[1:]
        if words[1:] and words[1] in ("but", "except", "without"):
            spared = _numbered(names, " ".join(words[2:]), part)
            return [_clear(base, name) for name in left if name not in spared], spared[0] if spared else ""
        return [_clear(base, name) for name in _numbered(names, " ".join(words[1:]), part)], ""
    if said.startswith("not looked") or said.startswith("skip "):
        return [_not_looked(name) for name in _numbered(names, re.sub(r"^(not looked( at)?|skip)", "", said), part)], ""
    match = re.match(r"(\d{1,2})[.:)]?(?:\s+(.*))?$", part)
    if not match:
        raise NotOfTheListError(f"{part!r}: answer the list with clear, clear but 3, 3 not looked, or 3 and what was "
                                "found")
    name = _numbered(names, match[1], part)[0]
    rest = (match[2] or "").strip()
    if not rest or (normal(rest) in ("not clear", "no", "bad") and normal(rest) not in base.observations[name].answers):
        return [], name
    if normal(rest) in _NOT_LOOKED or rest == "?":
        return [_not_looked(name)], ""
    if normal(rest) in _CLEAR:
        return [_clear(base, name)], ""
    try:
        return [read_entry(base, name, rest)], ""
    except EntryError:
        told = as_told(base, "", rest, name)
        if told is None:
            raise
        return [told], ""


def _numbered(names: tuple[str, ...], text: str, part: str) -> list[str]:
    out: list[str] = []
    left = text
    for found in _NUMBERS.findall(text):
        left = left.replace(found, "", 1)
        low, _, high = found.replace(" ", "").partition("-")
        for number in range(int(low), int(high or low) + 1):
            if not 1 <= number <= len(names):
                raise EntryError(f"{part!r}: the list has the numbers 1 to {len(names)}, not {number}")
            out.append(names[number - 1])
    if left.strip(" .") or not out:
        raise EntryError(f"{part!r}: write the numbers of the lines, such as clear but 3 5")
    return out


def _clear(base: Base, name: str) -> Entry:
    answer = base.observations[name].clear
    return Entry(name, answer, answer)


def _not_looked(name: str) -> Entry:
    return Entry(name, SKIPPED, None, SKIPPED)
