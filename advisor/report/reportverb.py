"""The verb `report`: what a visit found and brought, as a page or as text."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Final

from advisor.arguments import words_for
from advisor.library.base import Base
from advisor.library.items import Item
from advisor.library.yamlfiles import near
from advisor.reasoning.assess import assess
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import read_case, write_whole
from advisor.report.report import report_of
from advisor.visit.remedy import causes_of, put_right

SOUND: Final = 0
HAZARD: Final = 1
BAD_INPUT: Final = 2


class ReportError(ValueError):
    """Words of the command line that make no report; says what would be right."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the words that may follow `report`."""
    parser.add_argument("before", metavar="BEFORE.yaml", help="the case as found")
    parser.add_argument("after", metavar="AFTER.yaml", nargs="?", help="the case as left, after the work")
    parser.add_argument("--confirmed", metavar="CAUSE", action="append", default=[],
                        help="a cause that was found true; may be repeated")
    parser.add_argument("--remedy", metavar="REMEDY", action="append", default=[],
                        help="what was done; may be repeated")
    parser.add_argument("--note", metavar="TEXT", action="append", default=[], help="a note; may be given again")
    parser.add_argument("--unit", metavar="TEXT", help="what the unit is called; by default the title of the case")
    parser.add_argument("--technician", metavar="TEXT", default="", help="who made the visit")
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="day of the visit; by default that of the last entry "
                        "that has a time, else today")
    parser.add_argument("--coming", metavar="TEXT", help="who comes next, and when, where the unit is left off")
    parser.add_argument("--html", metavar="FILE", help="write a page to print or to send; without it, print text")


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Run the verb.

    Parameters
    ----------
    arguments : argparse.Namespace
        As :func:`add_arguments` makes them.
    base : Base

    Returns
    -------
    int
        0 sound, 1 a hazard is open, 2 bad input.

    Raises
    ------
    LibraryError
        A case file that cannot be read.
    """
    from advisor.report.render import report_html, report_text

    before = read_case(Path(arguments.before), base)
    after = read_case(Path(arguments.after), base) if arguments.after else None
    try:
        confirmed = tuple(_named(word, base.causes, "cause") for word in arguments.confirmed)
        remedies = tuple(_named(word, base.remedies, "remedy") for word in arguments.remedy)
        on = _day(arguments.date, after, before)
        to = Path(arguments.html) if arguments.html else None
        for typed in (arguments.unit or "", arguments.technician, arguments.coming or "", *arguments.note):
            if any("\ud800" <= letter <= "\udfff" for letter in typed):  # bytes that are no UTF-8
                raise ReportError(f"{typed!a}: is not readable text; type it as UTF-8")
        for case in (arguments.before, arguments.after):
            if to is not None and case is not None and os.path.realpath(to) == os.path.realpath(case):
                raise ReportError(f"--html {to}: is a case file of this report; name another file")
    except ReportError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    if after is not None:
        found = assess(before, base, look_ahead=False).hazards
        after = replace(after, earlier=(*before.entries, *put_right(base, found, causes_of(base, remedies))))
    unit = arguments.unit or before.title or (after.title if after else "") or _readable(Path(arguments.before).stem)
    report = report_of(base, before, after, unit, on, technician=arguments.technician, remedies=remedies,
                       confirmed=confirmed, notes=arguments.note, coming=arguments.coming or "")
    if to is None:
        print("\n".join(report_text(base, report)))
    else:
        try:
            write_whole(to, report_html(base, report))
        except OSError as error:
            print(f"{to}: cannot be written ({error.strerror or error})", file=sys.stderr)
            return BAD_INPUT
        print(f"written to {to}")
    return HAZARD if report.last.hazards else SOUND


def _readable(name: str) -> str:
    """The name of a file; a byte of it that is no text becomes a question mark."""
    return name.encode("utf-8", "replace").decode()


def _named(typed: str, shelf: Mapping[str, Item], what: str) -> str:
    """The name of an item by its name, title or alias; errors: ReportError with what is near."""
    words = words_for(shelf)
    found = words.get(" ".join(typed.casefold().split()))
    if found is None:
        close = dict.fromkeys(words[word] for word in near(typed.casefold(), words, 4, 0.5))
        hint = f"did you mean {', '.join(close)}?" if close else f"`explain` shows each {what} with its name"
        raise ReportError(f"{typed!r} is not a {what}; {hint}")
    return found


def _day(typed: str | None, *cases: Case | None) -> date:
    if typed is not None:
        try:
            return date.fromisoformat(typed)
        except ValueError as error:
            raise ReportError(f"--date {typed}: is not a day such as 2026-11-25") from error
    times: Iterable[date] = [entry.at.date() for case in cases if case for entry in case.entries if entry.at]
    return max(times, default=date.today())
