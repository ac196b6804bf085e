"""Playing a consultation line by line."""

from __future__ import annotations

from advisor.call.disk import CaseFile
from advisor.call.follow import Turn
from advisor.call.session import begin, reply
from advisor.library.base import load
from advisor.reasoning.case import Case


def play(file: CaseFile, *lines: str, turn: Turn | None = None) -> tuple[Turn, str]:
    """The turn after some lines, and what was shown after the last of them."""
    turn = turn or begin(load(), Case())
    shown: list[str] = []
    for line in lines:
        turn, shown = reply(turn, line, file)
        assert all(len(one) <= 80 for one in shown), shown
    return turn, " ".join(" ".join(shown).split())
