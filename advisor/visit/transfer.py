"""The record to and from other places: JSON Lines, CSV, and a back-up taken while it is in use."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from advisor.library.yamlfiles import capped
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
from advisor.visit.schema import RecordError, in_words
from advisor.visit.strict import Fault

_ENTRY: Final = ("position", "name", "typed", "number", "measure", "answer", "status", "note", "how", "at", "said")
COLUMNS: Final[Mapping[str, tuple[str, ...]]] = {
    "units": ("uid", "label", "customer", "address", "installed"),
    "equipment": ("unit", *_ENTRY),
    "visits": ("uid", "unit", "at", "note", "rules", "outcome", "technician", "call", "void"),
    "cases": ("visit", "moment", "title", "instruments"),
    "entries": ("visit", "moment", *_ENTRY),
    "manufacturer_figures": ("visit", "moment", "limit", "value"),
    "confirmed": ("visit", "position", "cause"),
    "remedies": ("visit", "position", "remedy"),
    "parts": ("visit", "part", "count"),
    "minutes": ("visit", "check", "minutes"),
    "changes": ("unit", "uid", "day", "what", "note"),
    "traces": ("uid", "at", "what", "subject", "reason", "into", "was"),
}
"""The files of a CSV export and the columns of each. `instruments` is a JSON list, or empty where nobody said;
`was` is a JSON document.
"""

KIND: Final = "burner-advisor-record"
_HEAD: Final = f'{{"kind": "{KIND}"'
_ADDED: Final = (("installed",), ("void",), ("outcome", "technician", "call"), ("said", "rules"))
"""Columns that exports before version 6 lack, before version 5 too, and so on before 4 and 2."""
_ADDED_FILES: Final = {"parts": "call", "minutes": "call", "traces": "void", "changes": "installed"}
"""Files that exports lack whose visits or units have not this column."""
_OLDER: Final = {"manufacturer_figures": "maker_figures"}
"""What a file was called in exports before version 3."""

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
    kept, seen = _everything(record, names)
    mended = traces(record) if names else ()  # they tell who was whom
    everything = [*map(unit_document, kept), *map(visit_document, seen), *map(trace_document, mended)]
    head: Document = {"kind": KIND, "version": VERSION}
    text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in (head, *everything))
    write_over(to, (_HEAD.encode(),), "an older export", text)
    return len(everything)


def _everything(record: Record, names: bool) -> tuple[tuple[Unit, ...], tuple[Visit, ...]]:
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
    lines = [(f"{source}:{count}", line) for count, line in enumerate(_read(source).split("\n"), 1) if line.strip()]
    if not lines:
        raise RecordError(f"{source}: is empty; nothing was added")
    place, head = lines[0]
    _begins(_json(head, place), place)
    for place, line in lines[1:]:
        with _noted(problems):
            found.append((place, _line(_json(line, place), place)))
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
    found = [(place, replace(one, unit=merged.get(one.unit, one.unit)) if isinstance(one, Visit) else one)
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


def export_csv(record: Record, to: Path, names: bool = True) -> int:
    """Write all units and visits as CSV files (RFC 4180, UTF-8) in a new folder; returns how many. Without `names`, as
    `nameless` has them.

    Errors: `RecordError`, and no folder, where it cannot be written or there is something at its place.
    """
    tables: dict[str, list[Document]] = {name: [] for name in COLUMNS}
    count = 0
    kept, seen = _everything(record, names)
    for unit in kept:
        count += 1
        document = unit_document(unit)
        tables["equipment"] += _entry_rows(document.pop("equipment"), {"unit": unit.uid})
        tables["changes"] += [{"unit": unit.uid, "uid": one.uid, "day": one.day.isoformat(), "what": one.what,
                               "note": one.note} for one in unit.changes]
        tables["units"].append(document)
    for visit in seen:
        count += 1
        document = visit_document(visit)
        for moment in ("before", "after"):
            case = document.pop(moment)
            if isinstance(case, dict):
                key: Document = {"visit": visit.uid, "moment": moment}
                said = None if case["instruments"] is None else json.dumps(case["instruments"])
                tables["cases"].append({**key, "title": case["title"], "instruments": said})
                tables["manufacturer_figures"] += [{**key, "limit": limit, "value": repr(value)}
                                            for limit, value in case["manufacturer"].items()]
                tables["entries"] += _entry_rows(case["entries"], key)
        tables["confirmed"] += [{"visit": visit.uid, "position": place, "cause": cause}
                                for place, cause in enumerate(visit.confirmed)]
        tables["remedies"] += [{"visit": visit.uid, "position": place, "remedy": remedy}
                               for place, remedy in enumerate(visit.remedies)]
        tables["parts"] += [{"visit": visit.uid, "part": part, "count": repr(count)}
                            for part, count in visit.parts.items()]
        tables["minutes"] += [{"visit": visit.uid, "check": check, "minutes": repr(took)}
                              for check, took in visit.minutes.items()]
        tables["visits"].append(document)
    tables["traces"] = [{**trace_document(trace), "was": trace.was} for trace in (traces(record) if names else ())]
    _write_folder(to, {f"{name}.csv": _csv(COLUMNS[name], rows) for name, rows in tables.items()})
    return count


def _entry_rows(entries: object, key: Document) -> Iterator[Document]:
    for position, entry in enumerate(entries if isinstance(entries, list) else ()):
        value = entry.pop("value")
        number, answer = (repr(value), None) if isinstance(value, float) else (None, value)
        yield {**key, "position": position, "number": number, "answer": answer, **entry}


def _csv(columns: tuple[str, ...], rows: Iterable[Document]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, restval="", extrasaction="ignore")
    writer.writeheader()
    writer.writerows({key: harmless(value) if isinstance(value, str) else value for key, value in row.items()}
                     for row in rows)
    return text.getvalue()


_NUMBER: Final = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?")
_COMPUTED: Final = re.compile(r"'?[=+\-@\t\r]")


def harmless(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before what begins like one. Numbers stay.

    As OWASP advises on CSV injection. `as_written` takes the apostrophe away again.

    >>> harmless("=1+1"), harmless("-0.02"), harmless("'=1"), harmless("Miller's")
    ("'=1+1", '-0.02', "''=1", "Miller's")
    """
    return f"'{cell}" if _COMPUTED.match(cell) and not _NUMBER.fullmatch(cell) else cell


def as_written(cell: str) -> str:
    """The cell that `harmless` was given.

    >>> [as_written(harmless(cell)) for cell in ("=1+1", "-0.02", "'=1", "Miller's")]
    ['=1+1', '-0.02', "'=1", "Miller's"]
    """
    return cell[1:] if cell.startswith("'") and _COMPUTED.match(cell[1:]) else cell


def import_csv(record: Record, folder: Path, check: Check) -> Imported:
    """Add what a folder of `export_csv` holds and the record does not, all or nothing.

    Errors: `RecordError`, every problem as `file:line: what`; nothing was added then.
    """
    found: Found = []
    problems: list[str | Fault] = []
    there = [column for name in ("units", "visits")
             for column in _read(folder / f"{name}.csv").partition("\n")[0].strip().split(",")]
    tables = {name: list(_rows_of(_file_of(folder, name), columns)) for name, columns in COLUMNS.items()
              if _ADDED_FILES.get(name) in (None, *there) or (folder / f"{name}.csv").exists()}
    equipment, entries = (_by_key(tables[name], 1 if name == "equipment" else 2) for name in ("equipment", "entries"))
    figures, cases = _by_key(tables["manufacturer_figures"], 2), _by_key(tables["cases"], 2)
    lists = {name: _by_key(tables.get(name, ()), 1)
             for name in ("confirmed", "remedies", "parts", "minutes", "changes")}
    for place, row in tables["units"]:
        with _noted(problems):
            changes = [{key: value for key, value in change.items() if key != "unit"}
                       for _, change in lists["changes"].pop((row["uid"],), [])]
            found.append((place, read_unit({
                **row, "equipment": _entries_of(equipment.pop((row["uid"],), [])), "changes": changes,
                "installed": _whole(row["installed"], place) if row["installed"] else None}, place)))
    for place, row in tables["visits"]:
        document: Document = dict(row)
        for name, column in (("confirmed", "cause"), ("remedies", "remedy")):
            document[name] = [line[column] for _, line in _in_order(lists[name].pop((row["uid"],), []))]
        for name, column, number in (("parts", "part", "count"), ("minutes", "check", "minutes")):
            with _noted(problems):
                document[name] = {line[column]: _float(line[number], where)
                                  for where, line in lists[name].pop((row["uid"],), [])}
        for moment in ("before", "after"):
            key = (row["uid"], moment)
            for case_place, case in cases.pop(key, []):
                of_case, of_manufacturer = entries.pop(key, []), figures.pop(key, [])
                with _noted(problems):
                    document[moment] = {
                        "title": case["title"],
                        "instruments": _json(case["instruments"], case_place) if case["instruments"] else None,
                        "manufacturer": {line["limit"]: _float(line["value"], where)
                                         for where, line in of_manufacturer},
                        "entries": _entries_of(of_case),
                    }
        with _noted(problems):
            found.append((place, read_visit(document, place)))
    for place, row in tables.get("traces", ()):
        with _noted(problems):
            found.append((place, read_trace({**row, "was": _json(row["was"], place)}, place)))
    problems += [f"{lines[0][0]}: belongs to no unit or visit of the folder"
                 for left in (equipment, entries, figures, cases, *lists.values()) for lines in left.values()]
    return add_all(record, found, problems, check)


@contextmanager
def _noted(problems: list[str | Fault]) -> Iterator[None]:
    """What is wrong in one place is noted, and the rest is read on."""
    try:
        yield
    except RecordError as error:
        problems.append(str(error))


_Row = tuple[str, dict[str, str]]


def _file_of(folder: Path, name: str) -> Path:
    """The file of a table; an export before version 3 may have it under another name."""
    file, older = folder / f"{name}.csv", folder / f"{_OLDER.get(name, name)}.csv"
    return older if older.exists() and not file.exists() else file


def _rows_of(path: Path, columns: tuple[str, ...]) -> Iterator[_Row]:
    reader = csv.DictReader(io.StringIO(_read(path), newline=""), strict=True)
    most = csv.field_size_limit(2**31 - 1)  # a note may be longer than what the module takes by default
    try:
        there = tuple(reader.fieldnames or ())
        older = [tuple(column for column in columns if not any(column in more for more in _ADDED[:count]))
                 for count in range(len(_ADDED) + 1)]
        if there not in older:
            raise RecordError(f"{path}:1: the columns must be {','.join(columns)}")
        for row in reader:
            if None in row or None in row.values():
                raise RecordError(f"{path}:{reader.line_num}: must have {len(there)} columns")
            if any("\0" in cell for cell in row.values()):
                raise RecordError(f"{path}:{reader.line_num}: holds a NUL, which no text has; nothing was added")
            yield f"{path}:{reader.line_num}", {**dict.fromkeys(columns, ""),
                                                **{key: as_written(cell) for key, cell in row.items()}}
    except csv.Error as error:
        raise RecordError(f"{path}:{reader.line_num}: is not CSV ({error}); nothing was added") from error
    finally:
        csv.field_size_limit(most)


def _by_key(rows: Iterable[_Row], length: int) -> dict[tuple[str, ...], list[_Row]]:
    out: dict[tuple[str, ...], list[_Row]] = {}
    for place, row in rows:
        out.setdefault(tuple(row.values())[:length], []).append((place, row))
    return out


def _in_order(rows: Iterable[_Row]) -> list[_Row]:
    return sorted(rows, key=lambda one: _float(one[1]["position"], one[0]))


def _entries_of(rows: Iterable[_Row]) -> list[Document]:
    out: list[Document] = []
    for place, row in _in_order(rows):
        value = _float(row["number"], place) if row["number"] else row["answer"] or None
        kept = ("name", "typed", "measure", "status", "note", "how", "at", "said")
        out.append({**{key: row[key] for key in kept}, "value": value})
    return out


def _whole(text: str, place: str) -> int:
    number = _float(text, place)
    if number != int(number):
        raise RecordError(f"{place}: {text!r} is not a whole number; nothing was added")
    return int(number)


def _float(text: str, place: str) -> float:
    try:
        return float(text)
    except ValueError as error:
        raise RecordError(f"{place}: {text!r} is not a number; nothing was added") from error


def _json(text: str, place: str) -> object:
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
            raise _cannot(to, "written", error) from error
        raise


def write_over(to: Path, begins: tuple[bytes, ...], what: str, text: str) -> None:
    """Write a text to a file that is new, empty, or begins as one that may be replaced (`what` says so in words).

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
        raise _cannot(to, "written", error) from error
    if not free:
        raise RecordError(f"{to}: is there already, and is not {what}; it was left as it is. Name a new file")


def _write_folder(to: Path, files: Mapping[str, str]) -> None:
    made = None
    try:
        if to.exists() and (not to.is_dir() or any(to.iterdir())):
            raise RecordError(f"{to}: is there already and was left as it is; name a new folder")
        sweep(to.absolute(), STALE)
        made = tempfile.mkdtemp(prefix=f".{to.name}.", suffix=".new", dir=to.absolute().parent)
        for name, text in files.items():
            with open(Path(made) / name, "w", encoding="utf-8", newline="", opener=_for_its_owner) as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
        os.replace(made, to)
    except BaseException as error:
        if made is not None:
            shutil.rmtree(made, ignore_errors=True)
        if isinstance(error, OSError):
            raise _cannot(to, "written", error) from error
        raise


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _read(path: Path) -> str:
    try:
        if path.is_char_device():  # some have no end
            raise OSError("a device, no file")
        with open(path, encoding="utf-8-sig", newline="") as stream:
            return stream.read()
    except (OSError, ValueError) as error:
        raise _cannot(path, "read", error) from error


def _cannot(path: Path, what: str, error: Exception) -> RecordError:
    why = "not UTF-8 text" if isinstance(error, UnicodeError) else getattr(error, "strerror", None) or error
    return RecordError(f"{path}: cannot be {what} ({why})")
