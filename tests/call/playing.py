"""Playing a call line by line."""

from __future__ import annotations

from dataclasses import replace

from advisor.call.autosave import CaseFile
from advisor.call.conclude import begin
from advisor.call.parts import entire
from advisor.call.prompt import step
from advisor.call.turn import Turn
from advisor.library.base import load
from advisor.reasoning.case import Case


def say(turn: Turn, line: str, file: CaseFile) -> tuple[Turn, list[str]]:
    """The turn after a line, and all that its screen has to say."""
    turn, screen = step(replace(turn, path=file.path), line, file)
    return turn, entire(screen)


def play(file: CaseFile, *lines: str, turn: Turn | None = None) -> tuple[Turn, str]:
    """The turn after some lines, and what was shown after the last of them."""
    turn = turn or replace(begin(load(), Case()), path=file.path)
    shown: list[str] = []
    for line in lines:
        turn, shown = say(turn, line, file)
        assert all(len(one) <= 80 for one in shown), shown
    return turn, " ".join(" ".join(shown).split())
