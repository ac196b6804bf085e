"""A guided conversation in plain lines: read, understand, keep on disk, answer; with or without a terminal."""

from __future__ import annotations

import sys
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.library.yamlfiles import shorten
from advisor.pages import screen
from advisor.pages.instructions import stops_text
from advisor.pages.wording import wrapped
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import UNCHECKED, Case, Entry, remark
from advisor.reasoning.casefile import mark_of, moved_beside, save_case
from advisor.reasoning.entries import EntryError, normal, read_entry, wanted
from advisor.understanding.understand import understand
from advisor.visit.meaning import meaning
from advisor.visit.procedure import Progress, counting

LONGEST: Final = 500
"""Characters that a line may have; a longer one is a paste that went wrong."""


class Left(Exception):  # noqa: N818  (a way out, not an error)
    """The person leaves; all is kept. `interrupted` where it was by Ctrl-C, `emergency` where people must be out."""

    def __init__(self, interrupted: bool = False, emergency: bool = False) -> None:
        super().__init__()
        self.interrupted = interrupted
        self.emergency = emergency


@dataclass
class Desk:
    """Where a guided test stands and where it is kept. The state itself is the value `progress`."""

    base: Base
    path: Path
    progress: Progress
    told: set[str] = field(default_factory=set)
    """Hazards and doubts that were shown already."""
    mark: tuple[int, int, int] | None = field(init=False)
    """Of the file as it was read or written last."""

    def __post_init__(self) -> None:
        self.mark = mark_of(self.path)

    @property
    def case(self) -> Case:
        return self.progress.case

    def say(self, lines: Iterable[str] | str, indent: int = 0) -> None:
        """Print lines, or a text wrapped to 80 columns."""
        for line in wrapped(lines, indent) if isinstance(lines, str) else lines:
            print(line)

    def read(self, label: str) -> str:
        """One line without control characters; errors: `Left` for Ctrl-C and Ctrl-D."""
        try:
            line = input(f"{label}> ")
        except EOFError:
            print()
            raise Left from None
        except KeyboardInterrupt:
            print()
            raise Left(interrupted=True) from None
        if not sys.stdin.isatty():
            print(line[:LONGEST])  # no terminal has shown it
        return " ".join(plain_text(line).split())

    def keep(self, progress: Progress) -> None:
        """Take a new state, on disk before anything else; told in a line where the disk refuses."""
        self.progress = progress
        if mark_of(self.path) != self.mark:
            self.path, moved = moved_beside(self.path)
            self.say(moved)
        try:
            save_case(progress.case, self.path, self.base)
            self.mark = mark_of(self.path)
        except OSError as error:
            self.say(f"NOT ON DISK: {error.strerror or error} ({self.path}). It is kept in memory; every further "
                     "line tries again.")

    def enter(self, *entries: Entry) -> None:
        """Keep entries, say what each means, and what hazards and doubts are new."""
        stamped = tuple(entry if entry.at else _now(entry) for entry in entries)
        progress = self.progress
        self.keep(Progress(progress.kit, progress.case.having(*stamped), progress.passed))
        for entry in stamped:
            if entry.note:
                self.say(entry.note, 2)
            self.say(f"kept as a remark: {entry.typed}" if entry.is_remark else
                     meaning(self.base, self.case, entry.name), 2 if entry.is_remark else 0)
        self.alarms()

    def now(self) -> Assessment:
        """What the entries say now; readings to be taken again do not count, but the hazards that they showed do."""
        return assess(counting(self.case), self.base, look_ahead=False)

    def alarms(self) -> Assessment:
        """Show hazards and doubts that were not shown yet."""
        found = self.now()
        fresh = {hazard.name for hazard in found.hazards} - self.told
        if found.gate.emergency:
            raise Left(emergency=True)
        if fresh:
            self.say(screen.hazards(self.base, found))
        doubts = {doubt.firing.rule for doubt in found.doubts} - self.told
        if doubts:
            self.say(screen.doubts(self.base, found))
        self.told |= fresh | doubts
        return found

    def understand(self, name: str, line: str) -> tuple[Entry, ...]:
        """The entries that a line means, among them what answers the name asked; errors: `EntryError`."""
        if len(line) > LONGEST:
            raise EntryError(f"that line has {len(line)} characters; a line has at most {LONGEST}")
        said = understand(self.base, line, name, self.case.values)
        if not said.heard and not said.remarks:
            if said.questions:
                choices = " or ".join(one.text for one in said.questions[0].choices)
                raise EntryError(f"{said.questions[0].text} Write {choices}")
            return (read_entry(self.base, name, line),)
        for left in said.left:
            self.refuse(f"{shorten(left.words)} ({left.why})" if left.why else shorten(left.words))
        return (*said.entries, *map(remark, (*said.remarks, *(one.words for one in said.questions))))

    def look_first(self, acts: Iterable[str], halt: str, gives: Collection[str] = ()) -> str:
        """The look that has to be made before acts, told with why; empty where they may be done.

        Errors: `Left` where they may not, told with `halt`, such as "The test stops before smoke", and why.
        """
        stops = self.now().gate.stops(acts, gives)
        for stop in stops:
            if stop.missing and stop.look not in self.case.latest:
                self.say(f"First: {stops_text(self.base, [stop])}", 2)
                return stop.look
        if stops:
            self.say(f"{halt}: {stops_text(self.base, stops)}.", 2)
            raise Left
        return ""

    def question(self, name: str) -> None:
        """Say what is asked for, and what would be right."""
        if name in self.base.observations:
            one = self.base.observations[name]
            self.say(f"{one.question} [{', '.join(one.answers)}]", 2)
        else:
            self.say(f"{self.base.title(name)}: {wanted(self.base, name)}", 2)

    def refuse(self, error: object) -> None:
        """Say why a line cannot be taken."""
        self.say(f"Not taken: {error}", 2)

    def undo(self) -> None:
        """Take back the last entry."""
        if not self.case.entries:
            self.say("Nothing to take back.", 2)
            return
        last = self.case.entries[-1]
        progress = self.progress
        self.keep(Progress(progress.kit, progress.case.without_last(), progress.passed))
        self.say(f"Taken back: {self.base.title(last.name)} {shorten(last.typed)}", 2)


def _now(entry: Entry) -> Entry:
    return replace(entry, at=datetime.now().replace(microsecond=0))


def cannot(name: str) -> Entry:
    """The entry for what could not be checked."""
    return Entry(name, UNCHECKED, None, UNCHECKED)


def is_command(line: str, *words: str) -> bool:
    """Whether a line is one of some words."""
    return normal(line) in words


__all__ = ["Desk", "Left", "cannot", "is_command"]
