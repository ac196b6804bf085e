"""The rows of somebody's own table of calls, read strictly into units and visits."""

from __future__ import annotations

import csv
import io
import re
import uuid
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.library.plaintext import plain_text
from advisor.library.yamlfiles import shorten
from advisor.reasoning.case import YEARS, Case, Entry
from advisor.reasoning.entries import EntryError, read_entry
from advisor.visit.kept import Unit, Visit, outcome_of, parts_in
from advisor.visit.recordwords import names_of
from advisor.visit.schema import RecordError
from advisor.visit.sheetmap import FIELDS, NOTE, NOTHING, Column
from advisor.visit.tables import as_written
from advisor.visit.transfer import Found
from advisor.visit.trend import measures

MOST_ROWS: Final = 100_000
_SPACE: Final = uuid.UUID("6f6aa4a2-5e0c-4d0a-9b51-1c6d6b1f3b0e")
"""Of our own making: a row makes the same visit every time, so that a table read twice adds nothing."""
_DAY: Final = re.compile(r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{2}|\d{4})")


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it was read: its headers, its rows with the file and line of each, and how it was read in words."""

    headers: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]
    how: str


def read_table(path: Path) -> Table:
    """A CSV file with any of the usual separators, in UTF-8 or the letters of older spreadsheets (Windows-1252).

    Errors: `RecordError` for a file that cannot be read, is no table, or has a header twice.
    """
    try:
        raw = path.read_bytes()
        text, how = raw.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        text, how = raw.decode("cp1252", errors="replace"), "not UTF-8, so read as Windows-1252"
    except (OSError, ValueError) as error:
        raise RecordError(f"{path}: cannot be read ({getattr(error, 'strerror', None) or error})") from error
    first = text.partition("\n")[0]
    mark = max(",;\t|", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    rows: list[tuple[str, tuple[str, ...]]] = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((f"{path}:{reader.line_num}",
                             tuple(plain_text(as_written(cell)).strip() for cell in row)))
            if len(rows) > MOST_ROWS:
                raise RecordError(f"{path}: has more than {MOST_ROWS:,} rows; split it")
    except csv.Error as error:
        raise RecordError(f"{path}:{reader.line_num}: is not CSV ({error}); nothing was added") from error
    if len(rows) < 2:
        raise RecordError(f"{path}: has no row below its header; nothing was added")
    headers = rows[0][1]
    twice = [header for header in dict.fromkeys(headers) if headers.count(header) > 1]
    if twice or "" in headers:
        what = f"the header {twice[0]!r} stands twice" if twice else "a column has no header"
        raise RecordError(f"{path}:1: {what}; give each column a header of its own")
    for place, cells in rows[1:]:
        if len(cells) != len(headers):
            raise RecordError(f"{place}: has {len(cells)} cells and the header {len(headers)}; nothing was added")
    said = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}[mark]
    return Table(headers, tuple(rows[1:]), f"{how}, {said} between the cells")


def read_rows(
    base: Base, table: Table, columns: Sequence[Column], known: Iterable[Unit]
) -> tuple[Found, list[str]]:
    """Units that are not `known` and a visit for each row, each with its place; and all that is wrong, as
    `file:line: what`.
    """
    there = {unit.label.casefold(): unit for unit in known}
    found: Found = []
    problems: list[str] = []
    for place, row in table.rows:
        wrong: list[str] = []
        unit = _unit(row, columns, wrong)
        label = unit.label.casefold()
        if unit.label and label not in there:
            there[label] = unit
            found.append((place, unit))
        visit = _visit(base, row, columns, there.get(label, unit), wrong)
        if visit is not None and not wrong:
            found.append((place, visit))
        problems += [f"{place}: {what}" for what in wrong]
    return found, problems


def _cells(row: Sequence[str], columns: Sequence[Column], meaning: str) -> list[str]:
    return [cell for cell, column in zip(row, columns, strict=True) if column.meaning == meaning and cell]


def _unit(row: Sequence[str], columns: Sequence[Column], wrong: list[str]) -> Unit:
    """The unit of a row: by its label, else its address, else its customer."""
    said = {field: " ".join(_cells(row, columns, field)) for field in ("unit", "customer", "address", "installed")}
    label = said["unit"] or said["address"] or said["customer"]
    if not label:
        wrong.append("tells no unit, address or customer, so nobody knows whose visit it is")
    year = None
    if said["installed"]:
        year = int(said["installed"]) if re.fullmatch(r"\d{4}", said["installed"]) else 0
        if year not in YEARS:
            wrong.append(f"installed: {said['installed']!r} is not a year such as 2004")
    return Unit(" ".join(label.split()), said["customer"], said["address"], installed=year,
                uid=uuid.uuid5(_SPACE, label.casefold()).hex)


def _visit(base: Base, row: Sequence[str], columns: Sequence[Column], unit: Unit, wrong: list[str]) -> Visit | None:
    cases = {False: list[Entry](), True: list[Entry]()}
    notes = []
    for cell, column in zip(row, columns, strict=True):
        if column.meaning == NOTE and cell:
            notes.append(cell if not column.why else f"{column.header}: {cell}")
        elif column.meaning not in FIELDS and cell:
            try:
                typed = f"{cell} {column.unit}" if column.unit and re.fullmatch(r"[-+.,\d]+", cell) else cell
                cases[column.left].append(read_entry(base, column.meaning, typed))
            except EntryError as error:
                wrong.append(f"{column.header!r}: {error}")
    at = _at(row, columns, wrong)
    told = {field: "; ".join(_cells(row, columns, field))
            for field in ("technician", "call", "outcome", "confirmed", "remedies", "parts")}
    try:
        confirmed = names_of(base.causes, _listed(told["confirmed"]), "cause")
        remedies = names_of(base.remedies, _listed(told["remedies"]), "remedy")
        outcome = outcome_of(_hyphened(told["outcome"]), confirmed)
        parts = parts_in(_listed(told["parts"]))
    except RecordError as error:
        wrong.append(str(error))
        return None
    if at is None:
        return None
    return Visit(unit.uid, at, Case(tuple(cases[False])), Case(tuple(cases[True])) if cases[True] else None, confirmed,
                 remedies, "; ".join(notes), measures(base), uuid.uuid5(_SPACE, "\0".join((unit.uid, *row))).hex,
                 outcome=outcome, technician=told["technician"], kind=_hyphened(told["call"]), parts=parts)


def _listed(cell: str) -> list[str]:
    return [one.strip() for one in cell.split(";") if one.strip()]


def _hyphened(words: str) -> str:
    return "-".join(words.casefold().split())


def _at(row: Sequence[str], columns: Sequence[Column], wrong: list[str]) -> datetime | None:
    """When a visit was, in local time; noon where only the day is told."""
    day_first = _cells(row, columns, "day-first")
    days = day_first or _cells(row, columns, "date")
    if not days:
        wrong.append("tells no date")
        return None
    try:
        day = _day(days[0], bool(day_first))
        times = _cells(row, columns, "time")
        hours, minutes = _clock(times[0]) if times else (day.hour, day.minute) if day.hour or day.minute else (12, 0)
        at = day.replace(hour=hours, minute=minutes, second=0, microsecond=0)
        return at if at.tzinfo else at.astimezone()
    except ValueError as error:
        wrong.append(str(error))
        return None


def _day(typed: str, day_first: bool) -> datetime:
    found = _DAY.fullmatch(typed)
    with suppress(ValueError):
        at = datetime.fromisoformat(typed) if found is None else _numbered(found, day_first)
        if at.year in YEARS:
            return at
    form = "25/11/2026" if day_first else "11/25/2026"
    raise ValueError(f"{shorten(typed)!r} is not a day such as 2026-11-25 or {form}")


def _numbered(found: re.Match[str], day_first: bool) -> datetime:
    first, second, year = (int(number) for number in found.groups())
    month, day = (second, first) if day_first else (first, second)
    return datetime(year if year > 99 else 2000 + year, month, day)


def _clock(typed: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,2}):(\d{2})(?::\d{2})? ?([ap])?\.?m?\.?", typed.casefold())
    if found:
        hours, minutes = int(found[1]), int(found[2])
        if found[3] and 1 <= hours <= 12:
            hours = hours % 12 + (12 if found[3] == "p" else 0)
        elif found[3]:
            hours = 99
        if hours < 24 and minutes < 60:
            return hours, minutes
    raise ValueError(f"{shorten(typed)!r} is not a time such as 14:30 or 2:30 PM")


def sample(column: Column, rows: Sequence[tuple[str, tuple[str, ...]]], place: int) -> str:
    """The first cell of a column that says something, as it is understood; empty where none does."""
    cell = next((row[place] for _, row in rows if row[place]), "")
    if column.meaning in ("date", "day-first") and cell:
        try:
            return f"{cell} is {_day(cell, column.meaning == 'day-first'):%Y-%m-%d}"
        except ValueError:
            return cell
    return "" if column.meaning == NOTHING else shorten(cell)


def counted(found: Found) -> Mapping[type, int]:
    """How many units and how many visits were read."""
    return {kind: sum(isinstance(one, kind) for _, one in found) for kind in (Unit, Visit)}

