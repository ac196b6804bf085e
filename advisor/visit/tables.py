"""The record as a folder of CSV files that hold all of it, and back."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

from advisor.reasoning.casefile import STALE, sweep
from advisor.visit.documents import (
    Document,
    read_trace,
    read_unit,
    read_visit,
    trace_document,
    unit_document,
    visit_document,
)
from advisor.visit.mend import traces
from advisor.visit.record import Record
from advisor.visit.schema import RecordError
from advisor.visit.strict import Fault
from advisor.visit.transfer import Check, Found, Imported, add_all, cannot, everything, json_value, noted, read_whole

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

_ADDED: Final = (("installed",), ("void",), ("outcome", "technician", "call"), ("said", "rules"))
"""Columns that exports before version 6 lack, before version 5 too, and so on before 4 and 2."""
_ADDED_FILES: Final = {"parts": "call", "minutes": "call", "traces": "void", "changes": "installed"}
"""Files that exports lack whose visits or units have not this column."""
_OLDER: Final = {"manufacturer_figures": "maker_figures"}
"""What a file was called in exports before version 3."""


def export_csv(record: Record, to: Path, names: bool = True) -> int:
    """Write all units and visits as CSV files (RFC 4180, UTF-8) in a new folder; returns how many. Without `names`, as
    `nameless` has them.

    Errors: `RecordError`, and no folder, where it cannot be written or there is something at its place.
    """
    tables: dict[str, list[Document]] = {name: [] for name in COLUMNS}
    count = 0
    kept, seen = everything(record, names)
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
             for column in read_whole(folder / f"{name}.csv").partition("\n")[0].strip().split(",")]
    tables = {name: list(_rows_of(_file_of(folder, name), columns)) for name, columns in COLUMNS.items()
              if _ADDED_FILES.get(name) in (None, *there) or (folder / f"{name}.csv").exists()}
    equipment, entries = (_by_key(tables[name], 1 if name == "equipment" else 2) for name in ("equipment", "entries"))
    figures, cases = _by_key(tables["manufacturer_figures"], 2), _by_key(tables["cases"], 2)
    lists = {name: _by_key(tables.get(name, ()), 1)
             for name in ("confirmed", "remedies", "parts", "minutes", "changes")}
    for place, row in tables["units"]:
        with noted(problems):
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
            with noted(problems):
                document[name] = {line[column]: _float(line[number], where)
                                  for where, line in lists[name].pop((row["uid"],), [])}
        for moment in ("before", "after"):
            key = (row["uid"], moment)
            for case_place, case in cases.pop(key, []):
                of_case, of_manufacturer = entries.pop(key, []), figures.pop(key, [])
                with noted(problems):
                    document[moment] = {
                        "title": case["title"],
                        "instruments": json_value(case["instruments"], case_place) if case["instruments"] else None,
                        "manufacturer": {line["limit"]: _float(line["value"], where)
                                         for where, line in of_manufacturer},
                        "entries": _entries_of(of_case),
                    }
        with noted(problems):
            found.append((place, read_visit(document, place)))
    for place, row in tables.get("traces", ()):
        with noted(problems):
            found.append((place, read_trace({**row, "was": json_value(row["was"], place)}, place)))
    problems += [f"{lines[0][0]}: belongs to no unit or visit of the folder"
                 for left in (equipment, entries, figures, cases, *lists.values()) for lines in left.values()]
    return add_all(record, found, problems, check)


_Row = tuple[str, dict[str, str]]


def _file_of(folder: Path, name: str) -> Path:
    """The file of a table; an export before version 3 may have it under another name."""
    file, older = folder / f"{name}.csv", folder / f"{_OLDER.get(name, name)}.csv"
    return older if older.exists() and not file.exists() else file


def _rows_of(path: Path, columns: tuple[str, ...]) -> Iterator[_Row]:
    reader = csv.DictReader(io.StringIO(read_whole(path), newline=""), strict=True)
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
            raise cannot(to, "written", error) from error
        raise


def _for_its_owner(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)
