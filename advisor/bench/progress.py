"""What learners have done, in a SQLite file: their calls, every line typed, how each ended, and what comes again when.

A call is taken up again by typing its lines anew: a turn is a pure function, so it stands where it stood. What was
missed comes again at growing intervals by the plain box method: named right, a cause moves one box up; missed, it goes
back to the first. The boxes wait 1, 2, 4, 8, 16 and 32 days (S. Leitner, So lernt man lernen, 1972; the method from
memory, the days are our own).
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Final

from advisor.bench.benchfiles import BenchError
from advisor.library.plaintext import plain_text
from advisor.visit.schema import PATIENCE

APPLICATION_ID: Final = 0x4F42656E
"""Marks the file as one of the bench's, so that no other program's is taken for it."""
BOXES: Final = (1, 2, 4, 8, 16, 32)
"""Days that a cause waits in each box."""
_ENV: Final = "BURNER_ADVISOR_PRACTICE"

MIGRATIONS: Final[tuple[tuple[str, ...], ...]] = (
    (
        "CREATE TABLE learners (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE)",
        """CREATE TABLE calls (
            id INTEGER PRIMARY KEY,
            learner_id INTEGER NOT NULL REFERENCES learners (id),
            source TEXT NOT NULL,
            seed INTEGER NOT NULL,
            level INTEGER NOT NULL,
            subject TEXT NOT NULL,
            cause TEXT NOT NULL,
            begun TEXT NOT NULL,
            closed TEXT,
            verdict TEXT NOT NULL DEFAULT '',
            hidden TEXT NOT NULL DEFAULT '',
            said TEXT NOT NULL DEFAULT '',
            minutes REAL NOT NULL DEFAULT 0,
            cost REAL NOT NULL DEFAULT 0,
            unsafe INTEGER NOT NULL DEFAULT 0,
            ended INTEGER NOT NULL DEFAULT 0,
            needless INTEGER NOT NULL DEFAULT 0)""",
        """CREATE TABLE lines (
            call_id INTEGER NOT NULL REFERENCES calls (id),
            position INTEGER NOT NULL,
            line TEXT NOT NULL,
            PRIMARY KEY (call_id, position)) WITHOUT ROWID""",
        """CREATE TABLE boxes (
            learner_id INTEGER NOT NULL REFERENCES learners (id),
            cause TEXT NOT NULL,
            box INTEGER NOT NULL,
            due TEXT NOT NULL,
            PRIMARY KEY (learner_id, cause)) WITHOUT ROWID""",
    ),
)
"""The statements that lead from each version to the next; never changed once released, only added to."""


@dataclass(frozen=True, slots=True)
class Played:
    """A call in the record. `source` is `drawn`, or the name of a written call; `hidden` and `said` are causes."""

    number: int
    learner: str
    source: str
    seed: int
    level: int
    subject: str
    cause: str
    begun: datetime
    closed: datetime | None = None
    verdict: str = ""
    hidden: tuple[str, ...] = ()
    said: tuple[str, ...] = ()
    minutes: float = 0.0
    cost: float = 0.0
    unsafe: int = 0
    ended: bool = False
    needless: int = 0


def default_place() -> Path:
    """Where the record of practice stands when nobody names a file: as `BURNER_ADVISOR_PRACTICE` says, else the user's
    data folder.
    """
    chosen = os.environ.get(_ENV, "")
    if chosen:
        return Path(os.path.expanduser(chosen))
    import platformdirs

    return platformdirs.user_data_path("burner-advisor", appauthor=False) / "practice.sqlite3"


class Progress:
    """The record of practice, open; closes at the end of a `with`."""

    def __init__(self, path: Path) -> None:
        """Open it, made where it is missing; errors: BenchError in one line."""
        self.path = path
        with self._told():
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            self._db = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
        try:
            with self._told():
                self._migrate()
        except BaseException:
            self._db.close()
            raise

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *_: object) -> None:
        self._db.close()

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Within, errors of file and database become one line."""
        try:
            yield
        except (OSError, sqlite3.Error) as error:
            what = getattr(error, "strerror", None) or str(error)
            raise BenchError(f"{self.path}: the record of practice cannot be used ({what}); name another file with "
                             f"--file or {_ENV}") from error

    def _migrate(self) -> None:
        self._db.execute("BEGIN IMMEDIATE")
        try:
            (version,) = self._db.execute("PRAGMA user_version").fetchone()
            (application,) = self._db.execute("PRAGMA application_id").fetchone()
            (tables,) = self._db.execute("SELECT count(*) FROM sqlite_master").fetchone()
            if application != APPLICATION_ID and (application or version or tables):
                raise BenchError(f"{self.path}: is another program's file; it was left as it is. Name another with "
                                 "--file")
            if version > len(MIGRATIONS):
                raise BenchError(f"{self.path}: was written by a newer burner-advisor; update it, or name another file "
                                 "with --file")
            for step in MIGRATIONS[version:]:
                for statement in step:
                    self._db.execute(statement)
            self._db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            self._db.execute(f"PRAGMA user_version = {len(MIGRATIONS)}")
            self._db.execute("COMMIT")
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("PRAGMA foreign_keys = ON")

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        with self._told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                self._db.execute("ROLLBACK")
                raise

    def begin(self, learner: str, source: str, seed: int, level: int, subject: str, cause: str, now: datetime) -> int:
        """Note that a learner has begun a call; returns its number."""
        name = plain_text(" ".join(learner.split()))
        if not name:
            raise BenchError("a learner needs a name: --learner NAME")
        with self._writing() as db:
            db.execute("INSERT INTO learners (name) VALUES (?) ON CONFLICT DO NOTHING", (name,))
            (row,) = db.execute("SELECT id FROM learners WHERE name = ?", (name,)).fetchone()
            done = db.execute(
                "INSERT INTO calls (learner_id, source, seed, level, subject, cause, begun) "
                "VALUES (?, ?, ?, ?, ?, ?, ?)", (row, source, seed, level, subject, cause, now.isoformat()))
            return int(done.lastrowid or 0)

    def keep(self, call: int, position: int, line: str) -> None:
        """Keep a line that was typed."""
        with self._writing() as db:
            db.execute("INSERT INTO lines VALUES (?, ?, ?)", (call, position, plain_text(line)))

    def lines(self, call: int) -> tuple[str, ...]:
        """The lines of a call, in their order."""
        with self._told():
            return tuple(line for (line,) in self._db.execute(
                "SELECT line FROM lines WHERE call_id = ? ORDER BY position", (call,)))

    def close(self, played: Played, right: Iterable[str], today: date) -> None:
        """Note how a call ended; of what was hidden, what was named `right` goes a box up, the rest back."""
        right = set(right)
        with self._writing() as db:
            db.execute("UPDATE calls SET closed = ?, verdict = ?, hidden = ?, said = ?, minutes = ?, cost = ?, "
                       "unsafe = ?, ended = ?, needless = ? WHERE id = ?",
                       (played.closed.isoformat() if played.closed else None, played.verdict, " ".join(played.hidden),
                        " ".join(played.said), played.minutes, played.cost, played.unsafe, int(played.ended),
                        played.needless, played.number))
            (learner,) = db.execute("SELECT learner_id FROM calls WHERE id = ?", (played.number,)).fetchone()
            for cause in played.hidden:
                found = db.execute("SELECT box FROM boxes WHERE learner_id = ? AND cause = ?",
                                   (learner, cause)).fetchone()
                box = next_box(found[0] if found else None, cause in right)
                due = (today + timedelta(days=BOXES[box])).isoformat()
                db.execute("INSERT INTO boxes VALUES (?, ?, ?, ?) ON CONFLICT (learner_id, cause) DO UPDATE SET "
                           "box = excluded.box, due = excluded.due", (learner, cause, box, due))

    def due(self, learner: str, today: date) -> tuple[str, ...]:
        """The causes that come again for a learner, the longest overdue first."""
        with self._told():
            return tuple(cause for (cause,) in self._db.execute(
                "SELECT cause FROM boxes JOIN learners ON learners.id = learner_id WHERE name = ? AND due <= ? "
                "ORDER BY due, cause", (learner, today.isoformat())))

    def played(self, learner: str = "") -> tuple[Played, ...]:
        """All calls, or those of a learner, in the order in which they were begun."""
        with self._told():
            rows = self._db.execute(
                "SELECT calls.id, name, source, seed, level, subject, cause, begun, closed, verdict, hidden, said, "
                "minutes, cost, unsafe, ended, needless FROM calls JOIN learners ON learners.id = learner_id "
                "WHERE ? = '' OR name = ? ORDER BY calls.id", (learner, learner)).fetchall()
        return tuple(Played(number, name, source, seed, level, subject, cause, datetime.fromisoformat(begun),
                            datetime.fromisoformat(closed) if closed else None, verdict, tuple(hidden.split()),
                            tuple(said.split()), minutes, cost, unsafe, bool(ended), needless)
                     for (number, name, source, seed, level, subject, cause, begun, closed, verdict, hidden, said,
                          minutes, cost, unsafe, ended, needless) in rows)

    def open_call(self, learner: str) -> Played | None:
        """The call that a learner has not closed yet; the last of them."""
        return next((one for one in reversed(self.played(learner)) if one.closed is None), None)


def next_box(box: int | None, right: bool) -> int:
    """The box in which a cause goes, by the one in which it was (None: in none).

    >>> next_box(None, True), next_box(3, True), next_box(5, True), next_box(4, False)
    (1, 4, 5, 0)
    """
    return min(len(BOXES) - 1, (0 if box is None else box) + 1) if right else 0
