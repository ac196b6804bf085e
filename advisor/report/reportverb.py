"""The verb `report`: what a visit found and brought, as a page, a PDF or text; from its files or from the record."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Final

from advisor.arguments import words_for
from advisor.library.base import Base
from advisor.library.items import Item
from advisor.library.yamlfiles import near
from advisor.pages.wording import at_width, columns
from advisor.report.gather import Given, last_service, of_files, of_visit, visit_meant
from advisor.report.report import Report
from advisor.report.shop import read_shop
from advisor.visit.kept import parts_in
from advisor.visit.record import RecordError, default_place, open_record, visits
from advisor.visit.transfer import write_over

SOUND: Final = 0
HAZARD: Final = 1
BAD_INPUT: Final = 2

_SHEETS: Final = ("customer", "office", "tag", "hand-over")
_CASE: Final = (".yaml", ".yml")
_OURS: Final = {"html": ((b"<!DOCTYPE html",), "a page"), "pdf": ((b"%PDF-",), "a PDF")}
"""How each kind of file begins, and what it is: nothing else is written over, be it a case, the record or a letter."""


class ReportError(ValueError):
    """Words of the command line that make no report; says what would be right."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the words that may follow `report`."""
    parser.add_argument("what", metavar="CASE.yaml|UNIT", nargs="+",
                        help="a case file as found, and behind it, where that is another than the one that a call "
                        "wrote beside it, the case as left; or the label of a unit of the record, or words that only "
                        "it has")
    parser.add_argument("--visit", metavar="NUMBER", help="of a unit, which visit; by default the last")
    parser.add_argument("--file", metavar="FILE", help="the record; by default that of BURNER_ADVISOR_RECORD, or the "
                        "usual place")
    parser.add_argument("--for", dest="sheets", metavar="SHEET", action="append", default=[], choices=_SHEETS,
                        help=f"only this sheet: {', '.join(_SHEETS)}; may be repeated; by default all")
    parser.add_argument("--html", metavar="FILE", help="write a page to print or to send; without it, print text")
    parser.add_argument("--pdf", metavar="FILE", help="write the same as a PDF on letter paper")
    parser.add_argument("--shop", metavar="FILE", help="the settings file with the letterhead")
    parser.add_argument("--confirmed", metavar="CAUSE", action="append", default=[],
                        help="a cause that was found true, beside those known; may be repeated")
    parser.add_argument("--remedy", metavar="REMEDY", action="append", default=[],
                        help="what was done, beside what is known; may be repeated")
    parser.add_argument("--part", metavar="PART", action="append", default=[], help="a part that was put in, such as "
                        "'2 x filter cartridge', beside those known; may be repeated")
    parser.add_argument("--note", metavar="TEXT", action="append", default=[], help="a note; may be given again")
    parser.add_argument("--unit", metavar="TEXT", help="what the unit is called; by default its label in the record, "
                        "or the title of the case")
    parser.add_argument("--technician", metavar="TEXT", default="", help="who made the visit; by default that of the "
                        "settings file")
    parser.add_argument("--date", metavar="YYYY-MM-DD", help="day of the visit; by default that of the record, or of "
                        "the last entry that has a time, else today")
    parser.add_argument("--coming", metavar="TEXT", help="who comes next, and when, where the unit is left off")
    parser.epilog = (
        "The letterhead is a small YAML file: name, address (a text or a list of lines), telephone, license, "
        "technician, and service every (months from one yearly service to the next, 12 by default). It is shop.yaml in "
        "the folder burner-advisor of the user's settings (Linux: ~/.config/burner-advisor/shop.yaml), or what "
        "BURNER_ADVISOR_SHOP or --shop names. Without one the sheets have no letterhead.")


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
        A case file or a settings file that cannot be read.
    """
    try:
        targets = _targets(arguments)
        report = _report(arguments, base)
    except (ReportError, RecordError) as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    if not targets:
        from advisor.report.render import report_text

        wide = shutil.get_terminal_size().columns if sys.stdout.isatty() else columns()
        with at_width(wide):
            print("\n".join(report_text(base, report, arguments.sheets)))
    for kind, to in targets.items():
        begins, what = _OURS[kind]
        try:
            write_over(to, begins, what, _document(kind, base, report, arguments.sheets))
        except RecordError as error:
            print(error, file=sys.stderr)
            return BAD_INPUT
        print(f"written to {to}")
    return HAZARD if report.last.hazards else SOUND


def _document(kind: str, base: Base, report: Report, sheets: list[str]) -> str | bytes:
    if kind == "html":
        from advisor.report.render import report_html

        return report_html(base, report, sheets)
    from advisor.report.pdf import report_pdf

    return report_pdf(base, report, sheets)


def _targets(arguments: argparse.Namespace) -> dict[str, Path]:
    """The files to write, by their kind; errors: ReportError where both are one."""
    out = {kind: Path(name) for kind in _OURS if (name := getattr(arguments, kind))}
    if len({os.path.realpath(to) for to in out.values()}) < len(out):
        raise ReportError("--html and --pdf name the same file; name two")
    return out


def _is_files(words: list[str]) -> bool:
    """Whether the words name case files rather than a unit."""
    return words[0].casefold().endswith(_CASE) or os.path.isfile(words[0])


def _report(arguments: argparse.Namespace, base: Base) -> Report:
    """The report that is asked for."""
    for typed in (arguments.unit or "", arguments.technician, arguments.coming or "", *arguments.note, *arguments.part):
        if any("\ud800" <= letter <= "\udfff" for letter in typed):  # bytes that are no UTF-8
            raise ReportError(f"{typed!a}: is not readable text; type it as UTF-8")
    given = Given(
        arguments.unit or "", arguments.technician,
        tuple(_named(word, base.remedies, "remedy") for word in arguments.remedy),
        tuple(_named(word, base.causes, "cause") for word in arguments.confirmed),
        tuple(arguments.note), arguments.coming or "", _day(arguments.date), parts_in(arguments.part))
    shop = read_shop(Path(os.path.expanduser(arguments.shop)) if arguments.shop else None)
    if not _is_files(arguments.what):
        place = Path(os.path.expanduser(arguments.file)) if arguments.file else default_place()
        try:
            with open_record(place, make=False) as record:
                unit, visit = visit_meant(record, " ".join(arguments.what), arguments.visit or "")
                served = last_service(visits(record, unit), visit.at)
        except RecordError as error:
            if arguments.visit or arguments.file:
                raise
            raise RecordError(f"{error} (a case file is named with its ending, such as case.yaml)") from None
        return of_visit(base, unit, visit, given, shop, served)
    if len(arguments.what) > 2:
        raise ReportError(f"{arguments.what[2]!r}: a report takes one case as found and one as left")
    if arguments.visit:
        raise ReportError("--visit goes with a unit of the record, and not with a case file")
    before, *after = map(Path, arguments.what)
    return of_files(base, before, after[0] if after else None, given, shop)


def _named(typed: str, shelf: Mapping[str, Item], what: str) -> str:
    """The name of an item by its name, title or alias; errors: ReportError with what is near."""
    words = words_for(shelf)
    found = words.get(" ".join(typed.casefold().split()))
    if found is None:
        close = dict.fromkeys(words[word] for word in near(typed.casefold(), words, 4, 0.5))
        hint = f"did you mean {', '.join(close)}?" if close else f"`explain` shows each {what} with its name"
        raise ReportError(f"{typed!r} is not a {what}; {hint}")
    return found


def _day(typed: str | None) -> date | None:
    if typed is None:
        return None
    try:
        return date.fromisoformat(typed)
    except ValueError as error:
        raise ReportError(f"--date {typed}: is not a day such as 2026-11-25") from error
