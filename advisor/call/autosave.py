"""The files of a consultation: saved after every line, told in one line where that fails."""

from __future__ import annotations

import contextlib
import os
import re
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import beside, mark_of, moved_beside, save_case, write_whole
from advisor.visit.remedy import NOTHING_DONE, Work
from advisor.visit.workfile import write_work

_MOST_TRIES: Final = 1000
_STEM: Final = "burner-case-"


class CaseFile:
    """Where a case and the work on it are kept, and what of it is not on disk yet."""

    def __init__(self, path: Path, base: Base, fresh: bool = False, work: Work = NOTHING_DONE) -> None:
        self.path = path
        self.base = base
        self.fresh = fresh
        """The file was made by this session; it goes again where nothing was entered."""
        self.behind = 0
        """Changes that are not on disk."""
        self.case = Case()
        """The last case that was given to be kept."""
        self.work = work
        """The last work that was given to be kept."""
        self._work_there = work
        self._marks = self._marks_now()

    @property
    def after(self) -> Path:
        """Where the case as left is kept."""
        return beside(self.path, "after")

    def keep(self, case: Case, work: Work | None = None) -> list[str]:
        """Put a case, and the work on it, on disk; lines to show where that fails, or works again."""
        self.case = case
        self.work = self.work if work is None else work
        moved = self._out_of_the_way()
        try:
            save_case(case, self.path, self.base)
            self._keep_work()
        except OSError as error:
            self.behind += 1
            since = "this line is" if self.behind == 1 else f"the last {self.behind} lines are"
            return [*moved, f"NOT ON DISK: {_reason(error)} ({self.path}); {since} kept in memory only. Go on: every "
                    "line tries again, and `save FILE` writes elsewhere."]
        finally:
            self.seen()
        if self.behind:
            self.behind = 0
            return [*moved, f"On disk again, nothing is missing: {self.path}"]
        return moved

    def seen(self) -> None:
        """What stands on disk now is ours: we wrote it, or a guided test did."""
        self._marks = self._marks_now()

    def _marks_now(self) -> tuple[tuple[int, int, int] | None, ...]:
        return tuple(map(mark_of, (self.path, self.after, beside(self.path, "work"))))

    def _out_of_the_way(self) -> list[str]:
        """Where somebody else has changed the files, ours go on under another name; nothing is written over."""
        if self._marks_now() == self._marks:
            return []
        self.path, moved = moved_beside(self.path)
        self._work_there = NOTHING_DONE
        return [moved]

    def _keep_work(self) -> None:
        """The case as left before the steps that begin it, so that a kill in between leaves both readable."""
        work = self.work
        if work.after.entries:  # hazards found on arrival stay open until they are released, in this file too
            work = replace(work, after=replace(work.after, earlier=self.case.entries))
        there = self._work_there
        if work.after != there.after:
            save_case(work.after, self.after, self.base)
        if write_work(work) != write_work(there):
            write_whole(beside(self.path, "work"), write_work(work))
        self._work_there = work

    def copy(self, case: Case, name: str) -> list[str]:
        """Write a case to a further file, which must not be there yet."""
        path = Path(os.path.expanduser(name))
        if path.suffix not in (".yaml", ".yml"):
            path = path.with_name(path.name + ".yaml")
        try:
            if path.exists() and not (self.path.exists() and path.samefile(self.path)):
                return [f"{path} is there already; save under another name"]
            save_case(case, path, self.base)
        except (OSError, ValueError) as error:
            return [f"not saved to {path}: {_reason(error)}"]
        return [f"saved to {path}"]

    def close(self) -> None:
        """Take away a file of our own in which nothing was entered."""
        if self.fresh and not self.behind and self.case == Case() and self.work == NOTHING_DONE:
            self.path.unlink(missing_ok=True)


def new_path(folder: Path, now: datetime) -> Path:
    """A case file that is not there yet, claimed by making it: `burner-case-20260105-1030.yaml`.

    Errors: `OSError` where the folder takes no file.
    """
    stem = f"{_STEM}{now:%Y%m%d-%H%M}"
    for number in range(1, _MOST_TRIES):
        path = folder / (f"{stem}.yaml" if number == 1 else f"{stem}-{number}.yaml")
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        except FileExistsError:
            continue
        return path
    raise FileExistsError(f"{folder} holds {_MOST_TRIES} case files of this minute")


def open_calls(folder: Path, most: int = 5) -> list[tuple[Path, str]]:
    """The calls begun in a folder and not closed, the latest first, each with a few words on it."""
    found: list[tuple[Path, str]] = []
    for path in sorted(folder.glob(f"{_STEM}*.yaml"), reverse=True):
        if path.stem.endswith((".after", ".work")) or len(found) == most:
            continue
        with contextlib.suppress(OSError, UnicodeDecodeError):  # what cannot be read is not offered
            told = _told(path)
            if told:
                found.append((path, told))
    return found


def _told(path: Path) -> str:
    """A call in a few words, by a glance at its text, which is not read as a case yet; empty where it is closed or
    holds nothing.
    """
    work = beside(path, "work")
    if work.exists() and re.search(r"^closed:", work.read_text(encoding="utf-8"), re.MULTILINE):
        return ""
    text = path.read_text(encoding="utf-8")
    entries = re.findall(r"^\s*-?\s*(?:complaint|appliance):\s*\{?\s*(?:value:\s*)?['\"]?([\w -]+)", text, re.MULTILINE)
    return f"{path.name}: {', '.join(entries[:2]) or 'readings'}" if "entries" in text else ""


def _reason(error: Exception) -> str:
    words = getattr(error, "strerror", None) or str(error)
    return words[:1].lower() + words[1:]
