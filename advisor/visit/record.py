"""The record: customers' units, and the visits to them, kept in one SQLite file.

What is kept is what was entered; everything else is computed anew from it. Every visit is one transaction: a kill
at any moment leaves it kept whole or not at all. Numbers are kept as typed and as understood, with their unit.
"""

from __future__ import annotations

import json
import sqlite3
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from types import TracebackType
from typing import Final

from advisor.library.plaintext import plain_text
from advisor.library.yamlfiles import shorten
from advisor.reasoning.case import YEARS, Case
from advisor.visit import finding
from advisor.visit.kept import CHANGED, Change, Key, Unit, Visit, entry_rows, finite, gather, outcome_of
from advisor.visit.schema import RecordError, connect, damaged, default_place, in_words

__all__ = ["Record", "RecordError", "Unit", "Visit", "add_unit", "default_place", "find_unit", "find_visit",
           "last_visits", "open_record", "put_unit", "put_visit", "replace_unit", "save_visit", "units", "verify",
           "visits"]

MOMENTS: Final = ("before", "after")


@dataclass(frozen=True, slots=True)
class Record:
    """An open record. Use it in a `with` statement, which closes it."""

    path: Path
    connection: sqlite3.Connection

    def __enter__(self) -> Record:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
                 ) -> None:
        self.connection.close()

    @contextmanager
    def transaction(self, writing: bool = False) -> Iterator[sqlite3.Connection]:
        """All or nothing for what is written, one moment for what is read; errors of SQLite become `RecordError`."""
        try:
            self.connection.execute("BEGIN IMMEDIATE" if writing else "BEGIN")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise in_words(error, self.path) from error
        except UnicodeEncodeError as error:
            raise RecordError(f"{error.object!r} holds a character that cannot be kept; type it anew") from error
        except ValueError as error:
            if isinstance(error, RecordError) or (writing and not isinstance(error, UnicodeDecodeError)):
                raise
            raise damaged(self.path, str(error)) from error  # a time or a list that we never wrote like that


LONGEST_LABEL: Final = 100
"""Characters of a label; longer is a paste that went wrong."""


def open_record(path: Path | None = None, make: bool = True) -> Record:
    """Open a record, and make it where there is none.

    Parameters
    ----------
    path : Path, optional
        The file; by default `default_place()`.
    make : bool
        Whether to make it where it is missing.

    Raises
    ------
    RecordError
        A newer version, a damaged file or another program's, no permission, a full disk, no file.

    Examples
    --------
    >>> import tempfile
    >>> from advisor.reasoning.case import Entry
    >>> with tempfile.TemporaryDirectory() as folder, open_record(Path(folder) / "record.sqlite3") as record:
    ...     mill = add_unit(record, Unit("Mill Lane boiler", address="1 Mill Lane"))
    ...     visit = save_visit(record, mill, Case((Entry("smoke", "4", 4.0),)), confirmed=("sooted-gas-passages",))
    ...     [kept.before.latest["smoke"].value for kept in visits(record, mill)], visit.number
    ([4.0], 1)
    """
    place = default_place() if path is None else path
    return Record(place, connect(place, make))


def add_unit(record: Record, unit: Unit) -> Unit:
    """Add a unit; returned with its uid. Errors: `RecordError` for an empty label, a long one, or one that is taken."""
    unit = replace(unit, label=as_label(unit.label))
    with record.transaction(writing=True):
        return put_unit(record, unit)


def as_label(words: str) -> str:
    """What a unit may be called; errors: `RecordError` for none, or a paste that went wrong.

    >>> as_label(" Mill  Lane boiler ")
    'Mill Lane boiler'
    """
    label = " ".join(plain_text(words).split())
    if not label:
        raise RecordError("a unit needs a label, such as 'Mill Lane boiler'")
    if len(label) > LONGEST_LABEL:
        raise RecordError(f"that label has {len(label)} characters, and may have {LONGEST_LABEL}; customer and address "
                          "have places of their own")
    return label


def put_unit(record: Record, unit: Unit) -> Unit:
    """Add a unit within a transaction that is open."""
    unit = replace(_plain(unit), uid=unit.uid or uuid.uuid4().hex)
    if not unit.label:
        raise RecordError("a unit needs a label, such as 'Mill Lane boiler'")
    if record.connection.execute("SELECT 1 FROM units WHERE label = ?", (unit.label,)).fetchone():
        raise RecordError(f"there is a unit called {unit.label!r} already; give this one another label")
    made = record.connection.execute(
        "INSERT INTO units (uid, label, customer, address, installed) VALUES (?, ?, ?, ?, ?)",
        (unit.uid, unit.label, unit.customer, unit.address, _year(unit)))
    put_equipment(record, made.lastrowid or 0, unit)
    return replace(unit, changes=tuple(put_change(record, unit, change) for change in unit.changes))


def _year(unit: Unit) -> int | None:
    if unit.installed is not None and unit.installed not in YEARS:
        raise RecordError(f"{unit.label}: the year {unit.installed} cannot be; write one from {YEARS[0]} to "
                          f"{YEARS[-1]}")
    return unit.installed


def put_change(record: Record, unit: Unit, change: Change) -> Change:
    """Add a change of a unit within a transaction that is open. Errors: `RecordError` for one that cannot be."""
    if change.what not in CHANGED:
        raise RecordError(f"{change.what[:40]!r} is nothing that is changed; it is one of {', '.join(CHANGED)}")
    change = replace(change, uid=change.uid or uuid.uuid4().hex, note=plain_text(change.note))
    record.connection.execute("INSERT INTO changes (uid, unit_id, day, what, note) VALUES (?, ?, ?, ?, ?)",
                              (change.uid, row_of(record, unit), change.day.isoformat(), change.what, change.note))
    return change


def _plain(unit: Unit) -> Unit:
    """The unit in nothing but text; a record of an earlier version may hold other characters."""
    return replace(unit, label=" ".join(plain_text(unit.label).split()), customer=plain_text(unit.customer),
                   address=plain_text(unit.address))


def replace_unit(record: Record, unit: Unit) -> None:
    """Put another label, customer, address and equipment in place of those of the unit with this uid."""
    with record.transaction(writing=True):
        put_over(record, unit)


def put_over(record: Record, unit: Unit) -> None:
    """Replace a unit within a transaction that is open."""
    unit = _plain(unit)
    row = row_of(record, unit)
    record.connection.execute("UPDATE units SET label = ?, customer = ?, address = ?, installed = ? WHERE id = ?",
                              (unit.label, unit.customer, unit.address, _year(unit), row))
    record.connection.execute("DELETE FROM equipment WHERE unit_id = ?", (row,))
    put_equipment(record, row, unit)


def put_equipment(record: Record, row: int, unit: Unit) -> None:
    """The rows of what is known of a unit, within a transaction that is open."""
    record.connection.executemany("INSERT INTO equipment VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                                  [(row, *values) for values in entry_rows(unit.equipment, unit.measured_in)])


def row_of(record: Record, unit: Unit) -> int:
    """The number of a unit in the file; errors: `RecordError` where it is not there."""
    row = record.connection.execute("SELECT id FROM units WHERE uid = ?", (unit.uid,)).fetchone()
    if row is None:
        raise RecordError(f"{unit.label!r} is not a unit of this record; add it first")
    return int(row[0])


def units(record: Record) -> tuple[Unit, ...]:
    """All units, by label."""
    with record.transaction() as connection:
        rows = connection.execute(
            "SELECT id, uid, label, customer, address, installed FROM units ORDER BY label").fetchall()
        changes: dict[int, tuple[Change, ...]] = {}
        for row, day, what, note, uid in connection.execute(
                "SELECT unit_id, day, what, note, uid FROM changes ORDER BY day, id"):
            changes[row] = (*changes.get(row, ()), Change(date.fromisoformat(day), what, plain_text(note), uid))
        kept = gather(connection.execute("SELECT * FROM equipment ORDER BY unit_id, position"), 1)
    out = []
    for row, uid, label, customer, address, installed in rows:
        entries, measured_in = kept.get((row,), ((), {}))
        out.append(_plain(Unit(label, customer, address, entries, measured_in, uid, installed,
                               changes.get(row, ()))))
    return tuple(out)


def find_unit(record: Record, words: str) -> Unit:
    """The unit that is meant: by its label, its uid, or parts of words that only its label, customer and address hold.

    Errors: `RecordError`, with the units that may be meant, or that are called nearly so: a misspelled name is asked
    back, since the wrong unit would be kept for good.
    """
    everything = units(record)
    said = words.casefold().split()
    exact = [unit for unit in everything if unit.label.casefold().split() == said or unit.uid == words]
    fit = finding.found(everything, words)
    found = exact or [unit for unit in fit if finding.likeness(unit, words) == 100.0]
    if len(found) == 1:
        return found[0]
    if not found and fit:
        raise RecordError(f"there is no unit {shorten(words)!r}; did you mean "
                          f"{' or '.join(repr(unit.label) for unit in fit[:3])}?")
    if found:
        raise RecordError(f"{shorten(words)!r} may be {' or '.join(repr(unit.label) for unit in found[:5])}"
                          f"{' or others' if len(found) > 5 else ''}; say which")
    known = ", ".join(repr(unit.label) for unit in everything[:5]) + (", ..." if len(everything) > 5 else "")
    there = f"there are {known}" if known else "there is none at all"
    raise RecordError(f"there is no unit {shorten(words)!r}; {there}; `record add-unit` adds one")


def save_visit(
    record: Record, unit: Unit, before: Case, after: Case | None = None, *, confirmed: Sequence[str] = (),
    remedies: Sequence[str] = (), note: str = "", at: datetime | None = None,
    measured_in: Mapping[str, str] | None = None, rules: str = "", outcome: str = "", technician: str = "",
    kind: str = "", parts: Mapping[str, float] | None = None, minutes: Mapping[str, float] | None = None,
) -> Visit:
    """Keep a visit, in one transaction. When this returns, it is on the disk.

    Parameters
    ----------
    before, after : Case
        As found and, after the remedy, as left.
    confirmed, remedies : sequence of str
        Names of causes that were confirmed and of remedies that were done.
    at : datetime, optional
        When; now by default. Without a time zone it is local time.
    measured_in : mapping, optional
        The unit of measure of the numbers of each quantity (`trend.measures` gives them).
    rules : str
        Those by which it was advised (`Base.rules_used`).
    outcome : str
        One of `kept.OUTCOMES`; without it, `confirmed` where a cause was.
    technician, kind : str
        Who made it, and one of `kept.KINDS`.
    parts, minutes : mapping, optional
        How many of each part, and how many minutes for each check.

    Returns
    -------
    Visit
        As it was kept, with its number and uid.

    Raises
    ------
    RecordError
        Nothing was kept then: a full disk, no permission, another process that does not let go.
    """
    visit = Visit(unit.uid, at or datetime.now(UTC), before, after, tuple(dict.fromkeys(confirmed)),
                  tuple(dict.fromkeys(remedies)), note, measured_in or {}, rules=rules,
                  outcome=outcome_of(outcome, confirmed), technician=technician, kind=kind, parts=parts or {},
                  minutes=minutes or {})
    with record.transaction(writing=True):
        return put_visit(record, visit)


def put_visit(record: Record, visit: Visit) -> Visit:
    """Add a visit within a transaction that is open."""
    connection = record.connection
    row = row_of(record, Unit("this unit", uid=visit.unit))
    if visit.at.year not in YEARS:
        raise RecordError(f"a visit in the year {visit.at.year} cannot be kept; look at the clock of this machine")
    at, note = visit.at.astimezone(UTC), plain_text(visit.note)
    uid = visit.uid or uuid.uuid4().hex
    made = connection.execute(
        "INSERT INTO visits (uid, unit_id, at, note, rules, outcome, technician, kind, void) "
        "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (uid, row, at.isoformat(), note, plain_text(visit.rules), visit.outcome, plain_text(visit.technician),
         visit.kind, plain_text(visit.void)))
    number = made.lastrowid or 0
    put_content(connection, number, visit)
    return replace(visit, uid=uid, at=at, note=note, number=number)


def put_content(connection: sqlite3.Connection, number: int, visit: Visit) -> None:
    """The rows of a visit in all other tables."""
    for moment, case in zip(MOMENTS, (visit.before, visit.after), strict=True):
        if case is None:
            continue
        instruments = None if case.instruments is None else json.dumps(case.instruments)
        connection.execute("INSERT INTO cases VALUES (?, ?, ?, ?)",
                           (number, moment, plain_text(case.title), instruments))
        connection.executemany("INSERT INTO entries VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                               [(number, moment, *values) for values in entry_rows(case.entries, visit.measured_in)])
        connection.executemany("INSERT INTO maker_figures VALUES (?, ?, ?, ?)",
                               [(number, moment, name, finite(name, value))
                                for name, value in case.manufacturer.items()])
    connection.executemany("INSERT INTO confirmed VALUES (?, ?, ?)",
                           [(number, position, cause) for position, cause in enumerate(visit.confirmed)])
    connection.executemany("INSERT INTO remedies VALUES (?, ?, ?)",
                           [(number, position, remedy) for position, remedy in enumerate(visit.remedies)])
    connection.executemany("INSERT INTO parts VALUES (?, ?, ?)",
                           [(number, plain_text(part), finite(part, count)) for part, count in visit.parts.items()])
    connection.executemany("INSERT INTO minutes VALUES (?, ?, ?)",
                           [(number, check, finite(check, took)) for check, took in visit.minutes.items()])


def visits(record: Record, unit: Unit | None = None, void: bool = False) -> tuple[Visit, ...]:
    """The visits to a unit, or all of them, from the first to the last; those that are void only where asked for."""
    counting = "1" if void else "void = ''"
    if unit is None:
        return _visits(record, counting, ())
    return _visits(record, f"{counting} AND unit_id = (SELECT id FROM units WHERE uid = ?)", (unit.uid,))


def last_visits(record: Record) -> dict[str, tuple[int, datetime]]:
    """How many visits each unit (by its uid) has had, and when the last was; units without any are left out."""
    with record.transaction() as connection:
        rows = connection.execute("SELECT units.uid, count(*), max(at) FROM visits JOIN units ON units.id = unit_id "
                                  "WHERE void = '' GROUP BY units.uid")
        return {uid: (count, datetime.fromisoformat(at)) for uid, count, at in rows}


def find_visit(record: Record, word: str) -> Visit:
    """The visit with this number or uid; errors: `RecordError`."""
    number = int(word) if word.isascii() and word.isdigit() and len(word) < 19 else 0
    found = _visits(record, "id = ? OR uid = ?", (number, word))
    if not found:
        raise RecordError(f"there is no visit {shorten(word)!r}; `record visits UNIT` lists their numbers")
    return found[0]


def _visits(record: Record, where: str, values: tuple[object, ...]) -> tuple[Visit, ...]:
    chosen = f"SELECT id FROM visits WHERE {where}"
    with record.transaction() as connection:
        def of(table: str, order: str) -> list[Key]:
            return connection.execute(f"SELECT * FROM {table} WHERE visit_id IN ({chosen}) ORDER BY {order}",
                                      values).fetchall()

        rows = connection.execute(
            "SELECT visits.id, visits.uid, units.uid, at, note, rules, outcome, technician, kind, void "
            "FROM visits JOIN units ON units.id = unit_id "
            f"WHERE visits.id IN ({chosen}) ORDER BY at, visits.id", values).fetchall()
        kept = gather(of("entries", "visit_id, moment, position"), 2)
        figures: dict[Key, dict[str, float]] = {}
        for visit, moment, name, value in of("maker_figures", "visit_id"):
            figures.setdefault((visit, moment), {})[str(name)] = float(str(value))
        cases = {
            row[:2]: Case(kept.get(row[:2], ((), {}))[0], figures.get(row[:2], {}),
                          None if row[3] is None else tuple(json.loads(str(row[3]))), plain_text(str(row[2])))
            for row in of("cases", "visit_id")
        }
        confirmed, remedies = (_lists(of(table, "visit_id, position")) for table in ("confirmed", "remedies"))
        parts, minutes = (_counts(of(table, "visit_id")) for table in ("parts", "minutes"))
        out = []
        for number, uid, unit, at, note, rules, outcome, technician, kind, void in rows:
            if (number, "before") not in cases:
                raise damaged(record.path, f"visit {number} has no entries")
            measured_in = {name: measure for moment in MOMENTS
                           for name, measure in kept.get((number, moment), ((), {}))[1].items()}
            out.append(Visit(unit, datetime.fromisoformat(at), cases[number, "before"], cases.get((number, "after")),
                             confirmed.get(number, ()), remedies.get(number, ()), plain_text(note), measured_in, uid,
                             number, plain_text(rules), outcome, plain_text(technician), kind,
                             parts.get(number, {}), minutes.get(number, {}), plain_text(void)))
    return tuple(out)


def _counts(rows: Iterable[Key]) -> dict[object, dict[str, float]]:
    out: dict[object, dict[str, float]] = {}
    for visit, name, number in rows:
        out.setdefault(visit, {})[plain_text(str(name))] = float(str(number))
    return out


def _lists(rows: Iterable[Key]) -> dict[object, tuple[str, ...]]:
    out: dict[object, tuple[str, ...]] = {}
    for visit, _, name in rows:
        out[visit] = (*out.get(visit, ()), str(name))
    return out


def verify(record: Record) -> tuple[str, ...]:
    """What is wrong with the file, as SQLite tells it; empty for a sound one."""
    with record.transaction() as connection:
        found = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
        stray = connection.execute("PRAGMA foreign_key_check").fetchall()
    return (*(text for text in found if text != "ok"), *(f"a row of {row[0]} belongs to nothing" for row in stray))
