"""The commands on hazards and on entries made twice: put right, measured again, or mistyped."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from advisor.call.conclude import changed
from advisor.call.phrases import read_entries
from advisor.call.turn import Heard, Turn
from advisor.library.base import Base
from advisor.pages.wording import wrapped
from advisor.reasoning.case import CORRECTED, CURED, Entry
from advisor.reasoning.entries import EntryError, normal
from advisor.reasoning.hazards import OPEN


def cured(turn: Turn, rest: str, now: datetime) -> Heard:
    """`cured HAZARD WHAT WAS DONE`: its source was found and put right; what is left is the proof."""
    base = turn.base
    standing = [one for one in turn.assessment.hazards if one.state == OPEN] if turn.assessment else []
    if not standing:
        raise EntryError("no hazard is open, so there is none to be cured")
    if turn.assessment and turn.assessment.gate.emergency:
        raise EntryError("people must be out first; say who is out, and who says that the house may be entered")
    name, what = _named(base, [one.name for one in standing], rest)
    if len(what.split()) < 2:
        raise EntryError(f"say what put it right, such as: cured {name.replace('-', ' ')} new flare at the filter")
    entry = Entry(name, what, None, CURED, at=now)
    proof = ", ".join(base.title(one) for one in base.hazards[name].proof)
    return changed(turn, turn.case.having(entry), (),
                   f"{base.title(name)}: put right ({what}). To be proven by: {proof}. Until then it allows only what "
                   "the proof takes.")


def _named(base: Base, names: list[str], text: str) -> tuple[str, str]:
    """The hazard that a text begins with, and the words behind it; the only open one where it names none."""
    words = text.split()
    for count in range(len(words), 0, -1):
        said = normal(" ".join(words[:count]))
        for name in names:
            if said in (normal(name), normal(base.title(name))):
                return name, " ".join(words[count:]).strip(" :-,")
    if len(names) == 1:
        return names[0], text.strip()
    titles = " or ".join(name.replace("-", " ") for name in names)
    raise EntryError(f"which hazard was put right? write its name and what was done: {titles}")


def correct(turn: Turn, rest: str, now: datetime) -> Heard:
    """`correct NAME VALUE`: the entry before was mistyped and never so. Alone: of the last entry made twice."""
    entries = read_entries(turn.base, rest) if rest else _made_again(turn)
    latest = turn.case.latest
    for entry in entries:
        if entry.name not in latest:
            raise EntryError(f"{turn.base.title(entry.name)} was not entered yet, so nothing of it is mistyped")
    stamped = [replace(entry, how=CORRECTED, at=now) for entry in entries]
    case = turn.case if rest else replace(turn.case, entries=tuple(
        entry for entry in turn.case.entries if entry is not entries[0]))
    return changed(turn, case.having(*stamped), stamped)


def again(turn: Turn, rest: str, now: datetime) -> Heard:
    """`again NAME VALUE`: measured or looked at once more; what was found before was so. Alone: nothing to change."""
    if not rest:
        return changed(turn, turn.case, (), "It stands as measured again.")
    stamped = [replace(entry, at=now) for entry in read_entries(turn.base, rest)]
    return changed(turn, turn.case.having(*stamped), stamped)


def _made_again(turn: Turn) -> tuple[Entry, ...]:
    """The last entry, where it gives a name another value than it had."""
    entries = turn.case.entries
    if entries and entries[-1].value is not None and not entries[-1].is_cure:
        last = entries[-1]
        if any(entry.name == last.name and entry.value not in (None, last.value) for entry in entries[:-1]):
            return (last,)
    raise EntryError("correct what? write the name and the right value, such as: correct co room 8")


def changed_under_a_hazard(turn: Turn, entries: Iterable[Entry]) -> list[str]:
    """A question where an entry changes what an open hazard rests on: was the earlier one mistyped?

    It counts as measured again until somebody says that it was mistyped, since that is the safer of the two.
    """
    if turn.assessment is None:
        return []
    behind = {name: one.name for one in turn.assessment.hazards if one.state == OPEN for name in one.shown_by}
    latest = turn.case.latest
    out: list[str] = []
    for entry in entries:
        was = latest.get(entry.name)
        if entry.how or entry.value is None or entry.name not in behind or was is None or was.value == entry.value:
            continue
        title = turn.base.title(entry.name)
        out += wrapped(f"{title} was {was.typed} and is {entry.typed} now. Taken as measured again, which cures "
                       f"nothing: {turn.base.title(behind[entry.name])} stays open. If {was.typed} was mistyped and "
                       "never so, type: correct", 0, 2, first="? ")
    return out
