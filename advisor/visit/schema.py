"""The file behind the record: its tables, its versions, how it is opened, and what its errors mean in words."""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing, suppress
from pathlib import Path
from typing import Final

APPLICATION_ID: Final = 0x4F426172
"""Marks a SQLite file as a record of ours, so that no other program's file is taken for one."""

PATIENCE: Final = 10.0
"""Seconds to wait for another process that is writing."""

_ENTRY: Final = """
    position INTEGER NOT NULL,
    name TEXT NOT NULL,
    typed TEXT NOT NULL,
    number REAL,
    measure TEXT NOT NULL,
    answer TEXT,
    status TEXT NOT NULL,
    note TEXT NOT NULL,
    how TEXT NOT NULL,
    at TEXT,
    CHECK (number IS NULL OR answer IS NULL),"""

AGE: Final = "appliance_age"
"""What the age of a unit was called where a record kept it instead of the year of its installation."""

MIGRATIONS: Final[tuple[tuple[str, ...], ...]] = (
    (
        """CREATE TABLE units (
            id INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            label TEXT NOT NULL UNIQUE COLLATE NOCASE,
            customer TEXT NOT NULL,
            address TEXT NOT NULL)""",
        f"""CREATE TABLE equipment (
            unit_id INTEGER NOT NULL REFERENCES units (id),{_ENTRY}
            PRIMARY KEY (unit_id, position)) WITHOUT ROWID""",
        """CREATE TABLE visits (
            id INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            unit_id INTEGER NOT NULL REFERENCES units (id),
            at TEXT NOT NULL,
            note TEXT NOT NULL)""",
        "CREATE INDEX visits_of_unit ON visits (unit_id, at)",
        """CREATE TABLE cases (
            visit_id INTEGER NOT NULL REFERENCES visits (id),
            moment TEXT NOT NULL CHECK (moment IN ('before', 'after')),
            title TEXT NOT NULL,
            instruments TEXT,
            PRIMARY KEY (visit_id, moment)) WITHOUT ROWID""",
        f"""CREATE TABLE entries (
            visit_id INTEGER NOT NULL,
            moment TEXT NOT NULL,{_ENTRY}
            PRIMARY KEY (visit_id, moment, position),
            FOREIGN KEY (visit_id, moment) REFERENCES cases (visit_id, moment)) WITHOUT ROWID""",
        """CREATE TABLE maker_figures (
            visit_id INTEGER NOT NULL,
            moment TEXT NOT NULL,
            limit_name TEXT NOT NULL,
            value REAL NOT NULL,
            PRIMARY KEY (visit_id, moment, limit_name),
            FOREIGN KEY (visit_id, moment) REFERENCES cases (visit_id, moment)) WITHOUT ROWID""",
        """CREATE TABLE confirmed (
            visit_id INTEGER NOT NULL REFERENCES visits (id),
            position INTEGER NOT NULL,
            cause TEXT NOT NULL,
            PRIMARY KEY (visit_id, position),
            UNIQUE (visit_id, cause)) WITHOUT ROWID""",
        """CREATE TABLE remedies (
            visit_id INTEGER NOT NULL REFERENCES visits (id),
            position INTEGER NOT NULL,
            remedy TEXT NOT NULL,
            PRIMARY KEY (visit_id, position),
            UNIQUE (visit_id, remedy)) WITHOUT ROWID""",
    ),
    (  # the words in which something was told, and the rules that a visit was advised by
        "ALTER TABLE equipment ADD COLUMN said TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE entries ADD COLUMN said TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE visits ADD COLUMN rules TEXT NOT NULL DEFAULT ''",
    ),
    (  # how a visit came out, who made it, what kind of call it was, what it took
        "ALTER TABLE visits ADD COLUMN outcome TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE visits ADD COLUMN technician TEXT NOT NULL DEFAULT ''",
        "ALTER TABLE visits ADD COLUMN kind TEXT NOT NULL DEFAULT ''",
        "UPDATE visits SET outcome = 'confirmed' WHERE id IN (SELECT visit_id FROM confirmed)",
        """CREATE TABLE parts (
            visit_id INTEGER NOT NULL REFERENCES visits (id),
            part TEXT NOT NULL,
            count REAL NOT NULL CHECK (count > 0),
            PRIMARY KEY (visit_id, part)) WITHOUT ROWID""",
        """CREATE TABLE minutes (
            visit_id INTEGER NOT NULL REFERENCES visits (id),
            check_name TEXT NOT NULL,
            minutes REAL NOT NULL CHECK (minutes >= 0),
            PRIMARY KEY (visit_id, check_name)) WITHOUT ROWID""",
    ),
    (  # what was mended in the record: why a visit does not count, and for each change what was there before
        "ALTER TABLE visits ADD COLUMN void TEXT NOT NULL DEFAULT ''",
        """CREATE TABLE traces (
            id INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            at TEXT NOT NULL,
            what TEXT NOT NULL,
            subject TEXT NOT NULL,
            reason TEXT NOT NULL,
            goes_to TEXT NOT NULL,
            was TEXT NOT NULL)""",
        "CREATE INDEX traces_of_subject ON traces (subject)",
    ),
    (  # the year a unit was installed, from the age that was kept (its row stays as it was typed), and its changes
        "ALTER TABLE units ADD COLUMN installed INTEGER",
        f"""UPDATE units SET installed = (
            SELECT CAST(substr(coalesce(equipment.at, (SELECT min(visits.at) FROM visits WHERE unit_id = units.id),
                               date('now')), 1, 4) AS INTEGER) - CAST(round(number) AS INTEGER)
            FROM equipment WHERE unit_id = units.id AND name = '{AGE}' AND number IS NOT NULL
            ORDER BY position DESC LIMIT 1)""",
        """CREATE TABLE changes (
            id INTEGER PRIMARY KEY,
            uid TEXT NOT NULL UNIQUE,
            unit_id INTEGER NOT NULL REFERENCES units (id),
            day TEXT NOT NULL,
            what TEXT NOT NULL,
            note TEXT NOT NULL)""",
        "CREATE INDEX changes_of_unit ON changes (unit_id, day)",
    ),
)
"""The statements that lead from each version to the next; never changed once released, only added to."""


_FOLDER: Final = "burner-advisor"
_NAME: Final = "record.sqlite3"


class RecordError(ValueError):
    """The record cannot do what was asked; one line that says why, and what to do."""


def default_place() -> Path:
    """Where the record stands when nobody names a file.

    `BURNER_ADVISOR_RECORD` where it is set, else the user's data folder as the system has it; but where a record of an
    earlier version, which took the same folder on all systems, is the only one, that one.

    Errors: `RecordError` where the user has no home folder.
    """
    chosen = os.environ.get("BURNER_ADVISOR_RECORD", "")
    if chosen:
        return Path(os.path.expanduser(chosen))
    import platformdirs  # only here: most consultations never ask for it

    try:
        usual = platformdirs.user_data_path(_FOLDER, appauthor=False) / _NAME
    except RuntimeError as error:
        raise RecordError("the record: this user has no home folder to keep it in; name a file with --file or "
                          "BURNER_ADVISOR_RECORD") from error
    data = os.environ.get("XDG_DATA_HOME", "")
    former = Path(data if os.path.isabs(data) else os.path.expanduser("~/.local/share")) / _FOLDER / _NAME
    return former if os.path.isfile(former) and not os.path.exists(usual) else usual


def in_words(error: sqlite3.Error, path: Path) -> RecordError:
    """What an error of SQLite means for the person at the keyboard."""
    text = str(error)
    code = getattr(error, "sqlite_errorcode", None)
    kind = code & 0xFF if isinstance(code, int) else None
    elsewhere = "choose another place with --file or BURNER_ADVISOR_RECORD"
    if kind == sqlite3.SQLITE_FULL or "disk is full" in text:
        what = f"the disk is full, so this was not kept; what was there is whole. Free some space, or {elsewhere}"
    elif kind == sqlite3.SQLITE_READONLY or "readonly" in text:
        what = f"may be read but not written, so nothing can be kept in it. Ask for the permission, or {elsewhere}"
    elif kind == sqlite3.SQLITE_CANTOPEN or "unable to open" in text:
        what = f"cannot be opened; is it a file, in a folder that you may write to? Or {elsewhere}"
    elif kind in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) or "locked" in text:
        what = f"another program has held it for {PATIENCE:.0f} s, so this was not done. Try again in a moment"
    elif kind in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB) or "decode to UTF-8" in text:
        return damaged(path, text)
    elif kind == sqlite3.SQLITE_IOERR:
        what = f"the disk gave an error ({text}), so this was not kept. Look after the disk, or {elsewhere}"
    else:
        what = text
    return RecordError(f"{path}: {what}")


def damaged(path: Path, detail: str) -> RecordError:
    """What to say of a file that is damaged, or is no record at all."""
    return RecordError(f"{path}: is damaged, or is not a record ({' '.join(detail.split())}). It was left as it is: "
                       "set it aside and bring a back-up to its place, or name another file with --file")


def connect(path: Path, make: bool = True) -> sqlite3.Connection:
    """Open the file of a record, bring it to this version, and make sure that it is sound.

    Parameters
    ----------
    path : Path
        The file; with `make`, it and its folders are made where they are missing, for this user's eyes only.

    Raises
    ------
    RecordError
        A newer version, a damaged file or another program's, no permission, a full disk.
    """
    if not make and not path.exists():
        raise RecordError(f"{path}: there is no record here yet; `record add-unit` begins one, --file names another")
    try:
        if path.exists() and not path.is_file():  # to open a pipe would wait for a writer
            raise OSError("it is a folder" if path.is_dir() else "it is no file")
        for folder in [one for one in reversed(path.parents) if not one.exists()]:
            folder.mkdir(mode=0o700, exist_ok=True)  # `parents` would make those above for all to read
        with open(os.open(path, os.O_RDWR | os.O_CREAT, 0o600), "rb") as file:
            begins = file.read(16)
        _for_its_owner(path)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise RecordError(f"{path}: cannot be opened for writing ({why}); choose another place "
                          "with --file or BURNER_ADVISOR_RECORD") from error
    if begins and begins != b"SQLite format 3\x00":  # SQLite takes a file of some bytes for an empty one
        raise damaged(path, "it does not begin as one")
    _examine_unchanged(path)
    connection: sqlite3.Connection | None = None
    try:
        connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
        version_of(connection, path)
        _use_write_ahead_log(connection)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        _migrate(connection, path)
        return connection
    except BaseException as error:
        if connection is not None:
            connection.close()
        if isinstance(error, sqlite3.Error):
            raise in_words(error, path) from error
        raise


def _for_its_owner(path: Path) -> None:
    """Take the right to read customers' data from all but the owner, of the file and of the journals beside it; those
    that SQLite makes later get the mode of the file. The file of somebody else is left as its owner has it.
    """
    for one in (path, *(Path(f"{path}{journal}") for journal in ("-wal", "-shm", "-journal"))):
        with suppress(OSError):  # not there, or not ours
            if one.stat().st_mode & 0o077:
                one.chmod(0o600)


def version_of(connection: sqlite3.Connection, path: Path) -> int:
    """The version of a record; 0 for an empty file. Errors: `RecordError` for a newer one or another program's."""
    alone = not connection.in_transaction
    if alone:
        connection.execute("BEGIN")  # one moment for all three: another process may be making the tables just now
    try:
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        (application,) = connection.execute("PRAGMA application_id").fetchone()
        (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    finally:
        if alone and connection.in_transaction:
            connection.execute("ROLLBACK")
    if application != APPLICATION_ID and (application or version or tables):
        raise RecordError(f"{path}: is another program's file; it was left as it is. Name another file with --file")
    if version > len(MIGRATIONS):
        raise RecordError(f"{path}: was written by a newer burner-advisor (version {version} of the record; this one "
                          f"knows up to {len(MIGRATIONS)}). It was left as it is: update burner-advisor, or name "
                          "another file with --file")
    return int(version)


def _examine_unchanged(path: Path) -> None:
    """Refuse a file that is damaged or not ours through a connection that cannot write.

    A writable one, when closed, moves the write-ahead log into the file, be it damaged or not.
    """
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=PATIENCE,
                                     isolation_level=None)) as looking:
            version_of(looking, path)
            (found,) = looking.execute("PRAGMA quick_check(1)").fetchone()
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN):
            return  # a process was killed and left a journal, which only a writer may put back
        raise in_words(error, path) from error
    except UnicodeDecodeError as error:  # the words of SQLite's own error quote what is damaged
        raise damaged(path, "its tables cannot be read") from error
    if found != "ok":
        raise damaged(path, found)


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Turn the write-ahead log on; where two processes do so at once, SQLite refuses one without waiting.

    Where the file system cannot do it SQLite keeps its rollback journal, which is as safe and only slower.
    """
    until = time.monotonic() + PATIENCE
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL").fetchone()
            return
        except sqlite3.OperationalError as error:
            if getattr(error, "sqlite_errorcode", 0) & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.01)


def _migrate(connection: sqlite3.Connection, path: Path) -> None:
    """Bring the file to this version, each step in one transaction; another process may have done it just now."""
    while version_of(connection, path) < len(MIGRATIONS):
        connection.execute("BEGIN IMMEDIATE")
        try:
            version = version_of(connection, path)
            if version < len(MIGRATIONS):
                for statement in MIGRATIONS[version]:
                    connection.execute(statement)
                connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
                connection.execute(f"PRAGMA user_version = {version + 1}")
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise
