"""Mending the record: a visit voided, restored or corrected, two units merged; what was there stays as a trace."""

from __future__ import annotations

import json
import sqlite3
import uuid
from dataclasses import replace
from datetime import UTC, datetime

from advisor.library.plaintext import plain_text
from advisor.visit.documents import unit_document, visit_document
from advisor.visit.kept import CHANGED_UNIT, MERGED, Change, Trace, Unit, Visit, outcome_of
from advisor.visit.record import Record, put_change, put_content, put_equipment, put_over, row_of
from advisor.visit.schema import RecordError

_CONTENT = ("entries", "maker_figures", "cases", "confirmed", "remedies", "parts", "minutes")


def void_visit(record: Record, visit: Visit, reason: str) -> Trace:
    """Let a visit count for nothing; it stays in the file. Errors: `RecordError` for no reason, or a void one."""
    if visit.void:
        raise RecordError(f"visit {visit.number} is void already: {visit.void}")
    return _set_void(record, visit, "voided", reason, _reason(reason))


def restore_visit(record: Record, visit: Visit, reason: str) -> Trace:
    """Let a void visit count again. Errors: `RecordError` for no reason, or a visit that counts."""
    if not visit.void:
        raise RecordError(f"visit {visit.number} is not void")
    return _set_void(record, visit, "restored", reason, "")


def _set_void(record: Record, visit: Visit, what: str, reason: str, void: str) -> Trace:
    with record.transaction(writing=True) as connection:
        connection.execute("UPDATE visits SET void = ? WHERE id = ?", (void, visit.number))
        return _traced(record, what, visit.uid, reason, visit_document(visit))


def correct_visit(record: Record, old: Visit, new: Visit, reason: str) -> Trace:
    """Put another content in place of that of a visit; it keeps its number and uid. Errors: `RecordError`."""
    new = replace(new, uid=old.uid, number=old.number, outcome=outcome_of(new.outcome, new.confirmed))
    if visit_document(new) == visit_document(old):
        raise RecordError(f"nothing would change in visit {old.number}; say what is to be corrected")
    with record.transaction(writing=True) as connection:
        row = row_of(record, Unit("the unit of the correction", uid=new.unit))
        for table in _CONTENT:
            connection.execute(f"DELETE FROM {table} WHERE visit_id = ?", (old.number,))
        connection.execute(
            "UPDATE visits SET unit_id = ?, at = ?, note = ?, rules = ?, outcome = ?, technician = ?, kind = ? "
            "WHERE id = ?",
            (row, new.at.astimezone(UTC).isoformat(), plain_text(new.note), plain_text(new.rules), new.outcome,
             plain_text(new.technician), new.kind, old.number))
        put_content(connection, old.number, new)
        return _traced(record, "corrected", old.uid, reason, visit_document(old))


def merge_units(record: Record, gone: Unit, into: Unit, reason: str) -> Trace:
    """Give the visits of one unit to another, which was the same all along; what the other does not know of itself
    (customer, address, equipment) it takes over. Errors: `RecordError`.
    """
    if gone.uid == into.uid:
        raise RecordError(f"{gone.label!r} cannot be merged into itself; name two units")
    known = {entry.name for entry in into.equipment}
    both = replace(into, customer=into.customer or gone.customer, address=into.address or gone.address,
                   installed=into.installed or gone.installed,
                   equipment=(*into.equipment, *(entry for entry in gone.equipment if entry.name not in known)),
                   measured_in={**gone.measured_in, **into.measured_in})
    with record.transaction(writing=True) as connection:
        left, right = row_of(record, gone), row_of(record, into)
        moved = [uid for (uid,) in connection.execute("SELECT uid FROM visits WHERE unit_id = ? ORDER BY id", (left,))]
        was: dict[str, object] = {"gone": unit_document(gone), "into": unit_document(into), "visits": moved}
        connection.execute("UPDATE visits SET unit_id = ? WHERE unit_id = ?", (right, left))
        connection.execute("UPDATE changes SET unit_id = ? WHERE unit_id = ?", (right, left))
        connection.execute("DELETE FROM equipment WHERE unit_id IN (?, ?)", (left, right))
        connection.execute("DELETE FROM units WHERE id = ?", (left,))
        connection.execute("UPDATE units SET customer = ?, address = ?, installed = ? WHERE id = ?",
                           (both.customer, both.address, both.installed, right))
        put_equipment(record, right, both)
        return _traced(record, MERGED, gone.uid, reason, was, into.uid)


def change_unit(record: Record, unit: Unit, change: Change, now: Unit) -> Trace:
    """Keep what of a unit was changed, and put what is known of it from then on (`now`) in the place of what was known.

    Errors: `RecordError` for a change that cannot be.
    """
    with record.transaction(writing=True):
        put_change(record, unit, change)
        put_over(record, now)
        return _traced(record, CHANGED_UNIT, unit.uid, change.note or f"new {change.what}", unit_document(unit))


def replace_known(record: Record, old: Unit, new: Unit, reason: str) -> Trace:
    """Put what is known of a unit in the place of what was known."""
    with record.transaction(writing=True):
        put_over(record, new)
        return _traced(record, CHANGED_UNIT, old.uid, reason, unit_document(old))


def _reason(words: str) -> str:
    reason = " ".join(plain_text(words).split())
    if not reason:
        raise RecordError("say why, in a few words: --because 'typed into the wrong unit'")
    return reason


def _traced(record: Record, what: str, subject: str, reason: str, was: dict[str, object], into: str = "") -> Trace:
    trace = Trace(what, subject, _reason(reason), datetime.now(UTC), json.dumps(was, ensure_ascii=False), into,
                  uuid.uuid4().hex)
    put_trace(record.connection, trace)
    return trace


def put_trace(connection: sqlite3.Connection, trace: Trace) -> None:
    """Add a trace within a transaction that is open."""
    connection.execute(
        "INSERT INTO traces (uid, at, what, subject, reason, goes_to, was) VALUES (?, ?, ?, ?, ?, ?, ?)",
        (trace.uid, trace.at.astimezone(UTC).isoformat(), trace.what, trace.subject, plain_text(trace.reason),
         trace.into, trace.was))


def traces(record: Record, subject: str = "") -> tuple[Trace, ...]:
    """The traces of a visit or a unit by its uid, of those merged into it too; or all of them, from the first on."""
    with record.transaction() as connection:
        rows = connection.execute("SELECT what, subject, reason, at, was, goes_to, uid FROM traces "
                                  "WHERE ? IN ('', subject, goes_to) ORDER BY id", (subject,)).fetchall()
    return tuple(Trace(what, of, plain_text(reason), datetime.fromisoformat(at), was, into, uid)
                 for what, of, reason, at, was, into, uid in rows)


def merged_into(record: Record) -> dict[str, str]:
    """The uid of each unit that was merged into another, and of where its visits are now."""
    to = {trace.subject: trace.into for trace in traces(record) if trace.what == MERGED}
    out = {}
    for gone in to:
        at, seen = to[gone], {gone}
        while at in to and at not in seen:  # merged further since
            seen.add(at)
            at = to[at]
        out[gone] = at
    return out
