"""The words `import` and `export` of the verb `record`, with one's own tables of calls beside our own files."""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.library.yamlfiles import capped
from advisor.pages.wording import wrapped
from advisor.visit import record, tables, transfer
from advisor.visit.kept import Unit, Visit
from advisor.visit.nameless import nameless
from advisor.visit.recordwords import print_lines
from advisor.visit.schema import RecordError
from advisor.visit.sheetmap import in_words, proposed
from advisor.visit.sheetrows import Table, counted, read_rows, read_table, sample
from advisor.visit.strict import unreadable
from advisor.visit.wide import export_wide

_BAD_INPUT: Final = 2


def take_in(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record import`: an export of ours at once; a table of one's own after its columns were shown."""
    source = Path(arguments.source)
    if source.suffix.lower() in (".csv", ".tsv", ".txt") and not source.is_dir():
        return _own_table(arguments, base, path, source)
    if arguments.map or arguments.yes:
        raise RecordError("--map and --yes belong to a CSV table of your own; an export of ours needs neither")
    read = tables.import_csv if source.is_dir() else transfer.import_jsonl
    with record.open_record(path) as kept:
        done = read(kept, source, partial(unreadable, base))
    return _told(done)


def _told(done: transfer.Imported) -> int:
    lines = wrapped(f"added {_count(done.units, 'unit')} and {_count(done.visits, 'visit')}; {done.known} were here "
                    "already and were left as they are")
    return print_lines([*lines, *(line for note in done.notes for line in wrapped(note, 2))])


def _own_table(arguments: argparse.Namespace, base: Base, path: Path, source: Path) -> int:
    table = read_table(source)
    columns = proposed(base, table.headers, arguments.map or ())
    known: tuple[Unit, ...] = ()
    if path.exists():
        with record.open_record(path, make=False) as kept:
            known = record.units(kept)
    found, problems = read_rows(base, table, columns, known)
    problems += [str(fault.at(place)) for place, one in found if isinstance(one, Unit | Visit)
                 for fault in unreadable(base, one)]
    if not arguments.yes:
        shown = [(column.header, in_words(base, column), sample(column, table.rows, place))
                 for place, column in enumerate(columns)]
        lines = _mapping(source, table, shown)
        numbers = counted(found)
        new = ", ".join(one.label for _, one in found if isinstance(one, Unit))
        lines += wrapped(f"It would add {_count(numbers[Unit], 'unit')}{f' ({new})' if new else ''} and "
                         f"{_count(numbers[Visit], 'visit')}.") if not problems else []
        print_lines(lines)
    if problems:
        print("\n".join([*map(str, capped(problems)), "Nothing was added. --map 'COLUMN=MEANING' takes a column for "
                         "something else, such as --map 'Stk=stack_temperature degF' or --map 'Stk=note'"]),
              file=sys.stderr)
        return _BAD_INPUT
    if not arguments.yes and not _agreed():
        return print_lines(wrapped("Nothing was added. Where the columns are right, add --yes; else "
                                   "--map 'COLUMN=MEANING', such as --map 'Stk=stack_temperature degF' or "
                                   "--map 'Stk=nothing'."))
    with record.open_record(path) as kept:
        return _told(transfer.add_all(kept, found, [], partial(unreadable, base)))


def _mapping(source: Path, table: Table, columns: list[tuple[str, str, str]]) -> list[str]:
    lines = wrapped(f"{source}: {_count(len(table.rows), 'row')}, {table.how}. Its columns are taken for:")
    for header, meaning, shown in columns:
        lines += wrapped(f"{header}: {meaning}{f', such as {shown}' if shown else ''}", 2, 4)
    return lines


def _agreed() -> bool:
    """Whether somebody at the keyboard says yes; without one, nobody has."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    try:
        return input("Are the columns right, and is all of it to be added? (yes or no) ").strip().casefold() == "yes"
    except EOFError:
        return False


def give_out(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record export`."""
    to, names = Path(arguments.to), not arguments.without_names
    if arguments.csv and arguments.wide:
        raise RecordError("--csv and --wide are two forms of the export; ask for one at a time")
    with record.open_record(path, make=False) as kept:
        if arguments.wide:
            whole = record.units(kept), record.visits(kept)
            count = export_wide(*(whole if names else nameless(*whole)), base, to)
            return print_lines([f"written to {to}: {_count(count, 'call')}, one a row"])
        write = tables.export_csv if arguments.csv else transfer.export_jsonl
        count = write(kept, to, names=names)
    return print_lines([f"written to {to}: {_count(count, 'line')} of units and visits"])


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
