"""The consultation as a user meets it: at a terminal, or line by line from standard input."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import Final

from advisor.call import guided, shop
from advisor.call.disk import CaseFile, new_path
from advisor.call.follow import Turn
from advisor.call.phrases import clean
from advisor.call.session import begin, closing, opening, reply
from advisor.call.turning import hazards_standing
from advisor.call.workfile import read_work
from advisor.library.base import Base
from advisor.pages.wording import wrapped
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import alone_on, read_case

SOUND: Final = 0
HAZARD: Final = 1
_MOST: Final = 1_000_000
"""Characters that are read of one line of standard input."""

Reader = Callable[[Turn], str]


def run(base: Base, path: Path | None) -> int:
    """Hold a consultation; returns 0, or 1 where a hazard stands at the end.

    Parameters
    ----------
    path : Path or None
        The case file to keep, or to go on with; None makes a new one in the current folder.

    Raises
    ------
    LibraryError
        Where the case file is there and cannot be read as a case.
    """
    at_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    path, fresh = (path, False) if path is not None else _new(datetime.now())
    with alone_on(path):
        return _held(base, path, fresh, at_terminal)


def _held(base: Base, path: Path, fresh: bool, at_terminal: bool) -> int:
    """The consultation itself, on a file that nobody else writes."""
    file, case, trouble = _open(base, path, fresh)
    earlier, missing = shop.earlier_visits(base, file.work.unit)
    turn = begin(base, case, work=file.work, earlier=earlier)
    _show([*trouble, *missing, *opening(turn, file)])
    return _talk(turn, file, _terminal(file) if at_terminal else _from_input, at_terminal)


def _talk(turn: Turn, file: CaseFile, read: Reader, at_terminal: bool) -> int:
    stopped = False
    while not turn.over:
        try:
            line = read(turn)
        except EOFError:
            _show(closing(turn, file))
            break
        except KeyboardInterrupt:
            if stopped or not at_terminal:
                _show(["", *closing(turn, file)])
                break
            stopped = True
            _show(["(line cleared, all before it is saved; Ctrl-C again or Ctrl-D stops)"])
            continue
        stopped = False
        try:
            turn, lines = reply(turn, line, file)
            if turn.guide:
                _show(lines)
                turn, lines = guided.run(turn, file)
        except KeyboardInterrupt:  # while it was thinking; what was kept stays
            turn = begin(turn.base, file.case, turn.past, work=file.work, earlier=turn.earlier)
            lines = ["(stopped; what was entered is kept)"]
        _show(lines)
    file.close()
    return HAZARD if hazards_standing(turn) else SOUND


def _new(now: datetime) -> tuple[Path, bool]:
    """A case file that is not there yet, and whether it could be made."""
    try:
        return new_path(Path.cwd(), now), True
    except OSError:
        return Path.cwd() / f"burner-case-{now:%Y%m%d-%H%M}.yaml", False


def _open(base: Base, path: Path, fresh: bool) -> tuple[CaseFile, Case, list[str]]:
    """The case file with its case, and lines on what went wrong; errors: `LibraryError`."""
    there = path.exists() and not (path.is_file() and path.stat().st_size == 0)
    file = CaseFile(path, base, fresh or not there, read_work(path, base))
    if there:
        file.case = read_case(path, base)
        return file, file.case, []
    return file, Case(), [line for text in file.keep(Case()) for line in wrapped(text, 0, 2)]


def _terminal(file: CaseFile) -> Reader:
    from advisor.call.terminal import Terminal  # it imports prompt_toolkit, which takes its time

    return Terminal(file).read


def _from_input(turn: Turn) -> str:
    """One line of standard input, shown as it is taken; errors: `EOFError` at its end."""
    print("> ", end="", flush=True)
    line = sys.stdin.readline(_MOST)
    if not line:
        print()
        raise EOFError
    if not line.endswith("\n"):
        while True:  # the rest of a line without end
            rest = sys.stdin.readline(_MOST)
            if not rest or rest.endswith("\n"):
                break
    line = line.rstrip("\r\n")
    print(clean(line)[:76], flush=True)
    return line


def _show(lines: Iterable[str]) -> None:
    for line in lines:
        print(line)
    sys.stdout.flush()
