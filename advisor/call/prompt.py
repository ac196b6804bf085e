"""The call as a user meets it: at a terminal, or line by line from standard input."""

from __future__ import annotations

import shlex
import shutil
import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Final

from advisor.call import recording
from advisor.call.autosave import CaseFile, new_path, open_calls
from advisor.call.changes import cause_lines, leading, standing
from advisor.call.conclude import begin, conclude, emergency_of, hazards_standing
from advisor.call.hear import hear
from advisor.call.parts import TEXT, Screen, fit, part
from advisor.call.phrases import LONGEST, clean
from advisor.call.put import put
from advisor.call.repair import status_lines
from advisor.call.turn import Change, Turn
from advisor.library.base import Base
from advisor.pages import screen as pages
from advisor.pages.wording import IN_SHORT, at_width, wrapped
from advisor.reasoning.case import Case, remark
from advisor.reasoning.casefile import alone_on, read_case, write_whole, written_with_others
from advisor.visit.airsetting import settings_of
from advisor.visit.curve import svg
from advisor.visit.remedy import NOTHING_DONE
from advisor.visit.workfile import read_work

SOUND: Final = 0
HAZARD: Final = 1
MOST_LINES: Final = 100
"""Lines that one paste may have."""
_MOST: Final = 1_000_000
"""Characters that are read of one line of standard input."""
BESIDE: Final = 6
"""Rows that the line being typed, what was typed before it, the words offered below and the state of the case take."""

Reader = Callable[[Turn | None, str], str]


def run(base: Base, path: Path | None) -> int:
    """Hold a call; returns 0, or 1 where a hazard stands at the end.

    Parameters
    ----------
    path : Path or None
        The case file to keep, or to go on with; None offers the open calls of the current folder, or makes a new one.

    Raises
    ------
    LibraryError
        Where the case file is there and cannot be read as a case.
    """
    at_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    read = _terminal() if at_terminal else _from_input
    first = ""
    if path is None:
        path, first = _offered(read)
    path, fresh = (path, False) if path is not None else _new(datetime.now())
    with alone_on(path):
        return _held(base, path, fresh, read, at_terminal, first)


def _offered(read: Reader) -> tuple[Path | None, str]:
    """The open call that is to be gone on with, or None for a new one; and what was typed instead of a choice."""
    calls = open_calls(Path.cwd())
    if not calls:
        return None, ""
    _show([f"{len(calls)} call{'s' if len(calls) > 1 else ''} open here:",
           *(f"  {number}  {told}" for number, (_, told) in enumerate(calls, 1)),
           "Its number goes on with it; Enter begins a new call."])
    try:
        line = read(None, "call> ")
    except (EOFError, KeyboardInterrupt):
        return None, "quit"
    said = line.strip().rstrip(".)")
    if said.isdigit() and 1 <= int(said) <= len(calls):
        return calls[int(said) - 1][0], ""
    return None, line.strip()


def _held(base: Base, path: Path, fresh: bool, read: Reader, at_terminal: bool, first: str) -> int:
    """The call itself, on a file that nobody else writes."""
    file, case, trouble = _open(base, path, fresh)
    earlier, missing = recording.earlier_visits(base, file.work.unit)
    with at_width(_size()[0]):
        turn = replace(begin(base, case, work=file.work, earlier=earlier), path=file.path)
        turn = _shown(turn, (*part("trouble", [*trouble, *missing]), *opening(turn, file)))
    return _talk(turn, file, read, at_terminal, first)


def opening(turn: Turn, file: CaseFile) -> Screen:
    """What is shown first: where the call is kept, what is in it, the cautions, the question; where people must be out,
    that alone.
    """
    if emergency_of(turn):
        return put(turn)
    if not turn.found.entries:
        return (*part("said", wrapped(IN_SHORT, 0, 2)), *put(turn))
    out = wrapped(turn.found.title) if turn.found.title else []
    out += wrapped(f"Going on with {file.path}: {len(turn.found.entries)} entries.", 0, 2)
    others = written_with_others(turn.base, turn.found)
    out += wrapped(others, 0, 2) if others else []
    if turn.retesting:
        out += wrapped(f"What is entered now is of the unit after the work, kept in {file.after}.", 0, 2)
    found: Screen = part("said", [*out, *wrapped(IN_SHORT, 0, 2), *status_lines(turn)])
    if turn.assessment is not None:
        full = pages.hazards(turn.base, turn.assessment)
        brief = standing(turn.base, turn.assessment, hazards_standing(turn))
        found = (*found, *part("hazard", full, brief), *part("doubt", pages.doubts(turn.base, turn.assessment), []),
                 *part("causes", cause_lines(turn.base, leading(turn.base, turn.assessment), turn.assessment), []))
    return (*found, *put(turn))


def _talk(turn: Turn, file: CaseFile, read: Reader, at_terminal: bool, first: str) -> int:
    stopped = False
    waiting = [first] if first else []
    while not turn.over:
        try:
            line = waiting.pop(0) if waiting else read(turn, "")
        except EOFError:
            break
        except KeyboardInterrupt:
            if stopped or not at_terminal:
                _show([""])
                break
            stopped = True
            _show(["(line cleared, all before it is saved; Ctrl-C again or Ctrl-D stops)"])
            continue
        stopped = False
        with at_width(_size()[0]):
            try:
                turn = _shown(*pasted(turn, line, file))
            except KeyboardInterrupt:  # while it was thinking; what was kept stays
                turn = replace(begin(turn.base, file.case, turn.past, work=file.work, earlier=turn.earlier),
                               path=file.path)
                _show(["(stopped; what was entered is kept)"])
    with at_width(_size()[0]):
        _show(closing(turn, file))
    file.close()
    return HAZARD if hazards_standing(turn) else SOUND


def pasted(turn: Turn, text: str, file: CaseFile) -> tuple[Turn, Screen]:
    """The turn after a line, or the lines of a paste one after the other, and its screen."""
    lines = text.split("\n") if len(text) <= MOST_LINES * LONGEST else [text]
    if len(lines) > MOST_LINES:
        what = f"{len(lines):,} lines at once are more than the {MOST_LINES} of one paste; nothing was taken"
        return turn, part("said", wrapped(what, 0, 2))
    lines = [line for line in lines if line.strip()] or [""]
    if len(lines) == 1:
        return step(turn, lines[0], file)
    out: list[str] = []
    for line in lines:
        if not turn.over:
            turn, screen = step(turn, line, file)
            out += [f"> {clean(line)[:70]}", *(text for one in screen if one.kind not in ("check", "question")
                                               for text in one.forms[0])]
    return turn, (*part(TEXT, out), *put(turn))


def step(turn: Turn, line: str, file: CaseFile) -> tuple[Turn, Screen]:
    """The next turn and its screen; what the line changes is on disk before anything is concluded from it.

    Should anything go wrong within, the line stands in the case as a remark.
    """
    try:
        heard = hear(turn, line)
        if isinstance(heard, Change):
            trouble = part("trouble", [line for text in file.keep(heard.found, heard.work)
                                       for line in wrapped(text, 0, 2)])
            new, screen = conclude(replace(heard, turn=replace(heard.turn, path=file.path)))
        else:
            (new, screen), trouble = heard, ()
    except Exception:
        file.keep(turn.found.having(remark(clean(line)[:LONGEST])), turn.work)
        raise
    if new.copy:
        screen, new = (*part("said", _copied(new, file)), *screen), replace(new, copy="")
    return replace(new, path=file.path, behind=file.behind), (*trouble, *screen)


def _copied(turn: Turn, file: CaseFile) -> list[str]:
    """What `save FILE` did: a copy of the case, or the curve of the air as a picture."""
    if not turn.copy.endswith(".svg"):
        return [line for text in file.copy(turn.case, turn.copy) for line in wrapped(text, 0, 2)]
    settings = settings_of(turn.case, turn.base)
    if not settings:
        return ["No setting of the air was read, so there is no curve to draw; air begins one."]
    path = Path(turn.copy).expanduser()
    try:
        if path.exists():
            return wrapped(f"{path} is there already; save under another name", 0, 2)
        write_whole(path, svg(settings, None, None, max(one.co2 for one in settings) + 1.0))
    except OSError as error:
        return wrapped(f"not saved to {path}: {error.strerror or error}", 0, 2)
    return wrapped(f"saved to {path}", 0, 2)


def closing(turn: Turn, file: CaseFile) -> list[str]:
    """What is shown at the end: the hazards that still stand, and where the case is kept."""
    out: list[str] = []
    left = hazards_standing(turn)
    if left:
        names = ", ".join(turn.base.title(name) for name in left)
        order = "Nobody goes back in before it is allowed." if emergency_of(turn) else "Do not leave it running."
        out += wrapped(f"HAZARD still standing: {names}. {order}", 0, 2)
    out += status_lines(turn)
    trouble = [line for text in file.keep(file.case, file.work) for line in wrapped(text, 0, 2)] if file.behind else []
    if file.behind:
        return [*out, *trouble]
    if file.fresh and turn.found == Case() and turn.work == NOTHING_DONE:
        return [*out, "Nothing was entered; no file is kept."]
    rules = f" --rules {shlex.quote(str(turn.base.own_rules))}" if turn.base.own_rules else ""
    return [*out, *wrapped(f"Everything is in {file.path}; go on with: burner-advisor call "
                           f"{shlex.quote(str(file.path))}{rules}", 0, 2)]


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


def _terminal() -> Reader:
    from advisor.call.terminal import Terminal  # it imports prompt_toolkit, which takes its time

    return Terminal().read


def _from_input(turn: Turn | None, label: str) -> str:
    """One line of standard input, shown as it is taken; errors: `EOFError` at its end."""
    print(label or "> ", end="", flush=True)
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


def _size() -> tuple[int, int]:
    """Columns and rows of the screen; 80 and 24 where there is none."""
    size = shutil.get_terminal_size((80, 24))
    return size.columns, size.lines


def _shown(turn: Turn, screen: Screen) -> Turn:
    """The turn once its screen was shown, as far as there is room; the rest is kept for `more`."""
    shown, left = fit(screen, _size()[1] - BESIDE)
    _show(shown)
    return replace(turn, more=tuple(left))


def _show(lines: Iterable[str]) -> None:
    for line in lines:
        print(line)
    sys.stdout.flush()
