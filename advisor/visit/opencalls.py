"""Calls that lie in a folder as files: begun and not closed, or closed and not in the record yet."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from advisor.library.base import Base
from advisor.library.yamlfiles import LibraryError
from advisor.reasoning.case import Case, local_time
from advisor.reasoning.casefile import beside, read_case
from advisor.visit.remedy import Work, under_retest
from advisor.visit.workfile import read_work

_PARTS = (".after", ".work")


@dataclass(frozen=True, slots=True)
class CallFile:
    """A call in a file: as found, and the work on it."""

    path: Path
    found: Case
    work: Work

    def at_hand(self, base: Base) -> Case:
        """The case as it stands: as found or, once a remedy is done, as left."""
        return replace(self.work.after, earlier=self.found.entries) if under_retest(base, self.work) else self.found

    def since(self) -> datetime | None:
        """The time of its first entry that has one."""
        return min((local_time(entry.at) for entry in self.found.entries if entry.at), default=None)


def calls_in(folder: Path, base: Base) -> tuple[tuple[CallFile, ...], tuple[str, ...]]:
    """The calls in a folder that hold an entry, and a line for each file of a call that cannot be read.

    A file is one of a call where it says by which rules it was advised, as the call writes it, or has a work file.
    Errors: OSError where the folder cannot be read.
    """
    found: list[CallFile] = []
    problems: list[str] = []
    for path in _files(folder):
        try:
            call = CallFile(path, read_case(path, base), read_work(path, base))
        except LibraryError as error:
            problems.append(str(error).splitlines()[0])
            continue
        if call.found.entries:
            found.append(call)
    return tuple(found), tuple(problems)


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(one for one in folder.iterdir() if one.suffix in (".yaml", ".yml")):
        if path.stem.endswith(_PARTS) or not path.is_file() or not path.stat().st_size:
            continue
        if beside(path, "work").exists() or _is_of_a_call(path):
            yield path


def _is_of_a_call(path: Path) -> bool:
    """By a glance at its end, where the call writes its rules."""
    with path.open("rb") as stream:
        stream.seek(max(0, path.stat().st_size - 400))
        return any(line.startswith(b"rules:") for line in stream.read().splitlines())
