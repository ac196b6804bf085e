"""The record to and from other places: JSON Lines, and a back-up taken while it is in use."""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from advisor.library.yamlfiles import capped
from advisor.reasoning.case import local_time
from advisor.reasoning.casefile import STALE, sweep, write_whole
from advisor.visit.documents import (
    VERSION,
    Document,
    read_trace,
    read_unit,
    read_visit,
    trace_document,
    unit_document,
    visit_document,
)
from advisor.visit.kept import Trace, Unit, Visit
from advisor.visit.mend import merged_into, put_trace, traces
from advisor.visit.nameless import nameless
from advisor.visit.record import Record, put_unit, put_visit, units, visits
from advisor.visit.schema import AGE, RecordError, in_words
from advisor.visit.strict import Fault

KIND: Final = "burner-advisor-record"
_HEAD: Final = f'{{"kind": "{KIND}"'
Check = Callable[[Unit | Visit], Iterable[Fault]]
"""What is wrong with a unit or a visit, beyond its form (`strict.unreadable`)."""
Found = list[tuple[str, Unit | Visit | Trace]]
"""Units, visits and traces, each with the file and line where it stands."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import added, what was there already (and was left as it is), and what else there is to say."""

    units: int
    visits: int
    known: int
    notes: tuple[str, ...]


def export_jsonl(record: Record, to: Path, names: bool = True) -> int:
    """Write all units and visits, one JSON document a line; returns how many. Without `names`, as `nameless` has them.

    Errors: `RecordError` where it cannot be written, or something else than an older export stands there.
    """
    kept, seen = everything(record, names)
    mended = traces(record) if names else ()  # they tell who was whom
    lines = [*map(unit_document, kept), *map(visit_document, seen), *map(trace_document, mended)]
    head: Document = {"kind": KIND, "version": VERSION}
    text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in (head, *lines))
    write_over(to, (_HEAD.encode(),), "an older export", text)
    return len(lines)


def everything(record: Record, names: bool) -> tuple[tuple[Unit, ...], tuple[Visit, ...]]:
    """All units, and all visits with those that are void; without `names`, as `nameless` has them."""
    whole = units(record), visits(record, void=True)
    return whole if names else nameless(*whole)


def import_jsonl(record: Record, source: Path, check: Check) -> Imported:
    """Add what an export holds and the record does not, all or nothing; a second time it adds nothing.

    Parameters
    ----------
    check : Check
        What is wrong with a unit or a visit beyond its form.

    Errors: `RecordError`, every problem as `file:line: what`; nothing was added then.
    """
    found: Found = []
    problems: list[str | Fault] = []
    whole = read_whole(source)
    lines = [(f"{source}:{count}", line) for count, line in enumerate(whole.split("\n"), 1) if line.strip()]
    if not lines:
        raise RecordError(f"{source}: is empty; nothing was added")
    place, head = lines[0]
    _begins(json_value(head, place), place)
    for place, line in lines[1:]:
        with noted(problems):
            found.append((place, _line(json_value(line, place), place)))
    return add_all(record, found, problems, check)


def _begins(document: object, place: str) -> None:
    """Whether this is the first line of an export that is known here."""
    if not isinstance(document, dict) or document.get("kind") != KIND:
        raise RecordError(f"{place}: is not an export of a record; its first line begins with {_HEAD}")
    version = document.get("version")
    if type(version) is not int or not 1 <= version <= VERSION:  # `true` equals 1
        raise RecordError(f"{place}: version {version!r} of the export is not known here (this one reads 1 to "
                          f"{VERSION}); update burner-advisor")


_READ: Final[Mapping[str, Callable[[Document, str], Unit | Visit | Trace]]] = {
    "unit": read_unit, "visit": read_visit, "trace": read_trace}


def _line(document: object, place: str) -> Unit | Visit | Trace:
    kind = document.get("kind") if isinstance(document, dict) else None
    if not isinstance(document, dict) or not isinstance(kind, str) or kind not in _READ:
        raise RecordError(f"{place}: `kind` must be unit, visit or trace")
    return _READ[kind](document, place)


def add_all(record: Record, found: Found, problems: list[str | Fault], check: Check) -> Imported:
    """Add what was found and is not there, unless something is wrong: then all that is, is told."""
    added, known, notes = {Unit: 0, Visit: 0, Trace: 0}, 0, []
    problems += [fault.at(place) for place, one in found if not isinstance(one, Trace) for fault in check(one)]
    merged = merged_into(record)
    found = [(place, _with_year(one, found) if isinstance(one, Unit) else
              replace(one, unit=merged.get(one.unit, one.unit)) if isinstance(one, Visit) else one)
             for place, one in found]
    with record.transaction(writing=True) as connection:
        there = {uid for (uid,) in connection.execute("SELECT uid FROM units")}
        there |= {one.uid for _, one in found if isinstance(one, Unit)}
        problems += [f"{place}: visit {one.uid} is to a unit {one.unit} that stands neither there nor in the record"
                     for place, one in found if isinstance(one, Visit) and one.unit not in there]
        uids = Counter((type(one), one.uid) for _, one in found)
        problems += [f"{place}: {one.uid} stands twice; keep one"
                     for place, one in found if uids[type(one), one.uid] > 1]
        if problems:
            raise RecordError(_told(problems))
        for _, one in sorted(found, key=lambda pair: isinstance(pair[1], Visit)):
            table = {Unit: "units", Visit: "visits", Trace: "traces"}[type(one)]
            if one.uid in merged or connection.execute(f"SELECT 1 FROM {table} WHERE uid = ?", (one.uid,)).fetchone():
                known += 1
                continue
            if isinstance(one, Unit):
                label = _free_label(connection, one.label)
                if label != one.label:
                    notes.append(f"{one.label!r} is the label of another unit here; it was added as {label!r}")
                put_unit(record, replace(one, label=label))
            elif isinstance(one, Visit):
                put_visit(record, one)
            else:
                put_trace(connection, one)
            added[type(one)] += 1
    return Imported(added[Unit], added[Visit], known, tuple(notes))


def _with_year(unit: Unit, found: Found) -> Unit:
    """A unit of an export before version 6, which kept its age instead of the year of its installation: the age is of
    the day when it was entered, else of the first visit; where neither is known, the year stays unknown.
    """
    age = next((entry for entry in unit.equipment if entry.name == AGE and isinstance(entry.value, float)), None)
    if unit.installed is not None or age is None or not isinstance(age.value, float):
        return unit
    first = min((one.at for _, one in found if isinstance(one, Visit) and one.unit == unit.uid), default=None)
    at = age.at or first
    return unit if at is None else replace(unit, installed=local_time(at).year - round(age.value))


def _told(problems: list[str | Fault]) -> str:
    shown = capped(problems)
    unknown = any("known here" in problem for problem in shown)
    hint = ["Names of rules of your own are known where they are given: --rules FOLDER"] if unknown else []
    return "\n".join([*shown, *hint, "Nothing was added."])


def _free_label(connection: sqlite3.Connection, label: str) -> str:
    plain, tried, count = " ".join(label.split()), " ".join(label.split()), 1
    while connection.execute("SELECT 1 FROM units WHERE label = ?", (tried,)).fetchone():
        count += 1
        tried = f"{plain} ({count})"
    return tried


@contextmanager
def noted(problems: list[str | Fault]) -> Iterator[None]:
    """What is wrong in one place is noted, and the rest is read on."""
    try:
        yield
    except RecordError as error:
        problems.append(str(error))


def json_value(text: str, place: str) -> object:
    """A JSON value with no key twice, no NUL, and no number that is none; errors: `RecordError`."""
    try:
        value = json.loads(text, object_pairs_hook=_once, parse_constant=_no_number)
        if _holds_nul(value):
            raise ValueError("holds a NUL, which no text has")
        return value
    except (ValueError, RecursionError) as error:
        raise RecordError(f"{place}: is not JSON ({error})") from error


def _holds_nul(value: object) -> bool:
    if isinstance(value, dict):
        return any(_holds_nul(one) for pair in value.items() for one in pair)
    return any(map(_holds_nul, value)) if isinstance(value, list) else isinstance(value, str) and "\0" in value


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    out = dict(pairs)
    if len(out) < len(pairs):
        twice = next(key for key, number in Counter(key for key, _ in pairs).items() if number > 1)
        raise ValueError(f"{twice!r} stands twice in one object")
    return out


def _no_number(word: str) -> object:
    raise ValueError(f"{word} is not a number")


def back_up(record: Record, to: Path) -> None:
    """Copy the record to a new file while it is in use, by anyone: one moment of it, checked, or nothing.

    Errors: `RecordError` for a place that is taken or cannot be written.
    """
    made = None
    try:
        if to.exists():
            raise RecordError(f"{to}: is there already and was left as it is; name a new file for the back-up")
        sweep(to.absolute(), STALE)
        handle, made = tempfile.mkstemp(prefix=f".{to.name}.", suffix=".new", dir=to.absolute().parent)
        os.close(handle)
        with closing(sqlite3.connect(made)) as copy:
            record.connection.backup(copy, pages=-1)  # all pages at once: one moment, and no writer waits for it
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, to be carried away
            (found,) = copy.execute("PRAGMA integrity_check(1)").fetchone()
            if found != "ok":
                raise RecordError(f"{record.path}: is damaged ({found}); no back-up was made")
        os.replace(made, to)
    except BaseException as error:
        if made is not None:
            Path(made).unlink(missing_ok=True)
        if isinstance(error, sqlite3.Error):
            raise in_words(error, to) from error
        if isinstance(error, OSError):
            raise cannot(to, "written", error) from error
        raise


def write_over(to: Path, begins: tuple[bytes, ...], what: str, text: str | bytes) -> None:
    """Write a text, or bytes, to a file that is new, empty, or begins as one that may be replaced (`what` says so
    in words).

    Errors: `RecordError`; what stands there stays then: the record itself, a case.
    """
    try:
        free = not to.exists()
        if to.is_file():
            with to.open("rb") as stream:
                there = stream.read(max(map(len, begins)))
            free = not there or there.startswith(begins)
        if free:
            if to.exists():
                to.chmod(0o600)  # for whomever the older one was: it names customers
            write_whole(to, text)
    except (OSError, ValueError) as error:
        raise cannot(to, "written", error) from error
    if not free:
        raise RecordError(f"{to}: is there already, and is not {what}; it was left as it is. Name a new file")


def read_whole(path: Path) -> str:
    """The text of a file; errors: `RecordError`."""
    try:
        if path.is_char_device():  # some have no end
            raise OSError("a device, no file")
        with open(path, encoding="utf-8-sig", newline="") as stream:
            return stream.read()
    except (OSError, ValueError) as error:
        raise cannot(path, "read", error) from error


def cannot(path: Path, what: str, error: Exception) -> RecordError:
    """What to say where a file cannot be read or written."""
    why = "not UTF-8 text" if isinstance(error, UnicodeError) else getattr(error, "strerror", None) or error
    return RecordError(f"{path}: cannot be {what} ({why})")
