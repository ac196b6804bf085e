"""The verb `tomorrow`: whom to call, what is due, what is getting worse, and what to carry."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.library.plaintext import json_text
from advisor.pages.wording import at_width
from advisor.visit import record
from advisor.visit.kept import Unit, Visit
from advisor.visit.opencalls import calls_in
from advisor.visit.schema import RecordError
from advisor.visit.tomorrow import MOST, day_list
from advisor.visit.tomorrowitems import DayList
from advisor.visit.tomorrowlines import list_document, list_lines
from advisor.visit.tomorrowpage import list_page
from advisor.visit.transfer import write_over

SOUND: Final = 0
BAD_INPUT: Final = 2


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the words that may follow `tomorrow`."""
    parser.add_argument("folder", metavar="FOLDER", nargs="?", default=".",
                        help="where the calls lie as files; by default the folder that you are in")
    parser.add_argument("--file", metavar="FILE",
                        help="the record; by default that of BURNER_ADVISOR_RECORD, or the usual place")
    parser.add_argument("--day", metavar="YYYY-MM-DD", help="the day that the list is for; by default tomorrow")
    parser.add_argument("--most", metavar="LINES", type=int, default=MOST,
                        help="lines of a section at most (default %(default)s); those to call first are all there")
    parser.add_argument("--html", metavar="PAGE", help="write a page to print instead; it names customers")
    parser.add_argument("--json", action="store_true", help="print one JSON document")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Make the list; returns the exit status: 0 done, 2 bad input (said in one line on standard error)."""
    try:
        if arguments.html is not None and arguments.json:
            raise RecordError("--html and --json are two forms of the list; ask for one at a time")
        if arguments.most < 1:
            raise RecordError(f"--most {arguments.most} leaves nothing; write 1 or more")
        path = Path(os.path.expanduser(arguments.file)) if arguments.file else record.default_place()
        found = _found(base, path, Path(os.path.expanduser(arguments.folder)), _day(arguments.day),
                       arguments.most)
    except RecordError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    told = (found, str(path), str(Path(arguments.folder).absolute()))
    if arguments.json:
        print(json_text(list_document(*told)))
    elif arguments.html is not None:
        try:
            write_over(Path(arguments.html), (b"<!DOCTYPE html>",), "a page", list_page(*told))
        except RecordError as error:
            print(error, file=sys.stderr)
            return BAD_INPUT
        print(f"written to {arguments.html}; it names customers")
    else:
        with at_width(shutil.get_terminal_size((80, 24)).columns):
            print("\n".join(list_lines(*told)))
    return SOUND


def _day(typed: str | None) -> date:
    if typed is None:
        return date.today() + timedelta(days=1)
    try:
        return date.fromisoformat(typed)
    except ValueError:
        raise RecordError(f"--day {typed[:40]!r} is not a day such as 2026-11-28") from None


def _found(base: Base, path: Path, folder: Path, day: date, most: int) -> DayList:
    """The list from a record, which need not be there yet, and a folder of calls; errors: `RecordError`."""
    try:
        calls, problems = calls_in(folder, base)
    except OSError as error:
        raise RecordError(f"{folder}: cannot be read ({error.strerror or error}); name the folder of the calls"
                          ) from None
    units: tuple[Unit, ...] = ()
    visits: tuple[Visit, ...] = ()
    if path.exists():
        with record.open_record(path, make=False) as kept:
            units, visits = record.units(kept), record.visits(kept)
    unread = [f"NOT READ, so look into it yourself: {problem}" for problem in problems]
    return day_list(base, units, visits, calls, day, unread, most)
