"""The verb `record`: the shop's units and visits, on the command line."""

from __future__ import annotations

import argparse
import os
import shutil
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from advisor.arguments import add_rules
from advisor.library.base import Base
from advisor.library.yamlfiles import shorten
from advisor.pages.wording import at_width, wrapped
from advisor.reasoning.case import Entry, local_time
from advisor.reasoning.casefile import read_case
from advisor.visit import drift, finding, learning, mend, record, recordcourse, recordmend, recordsheet, transfer, trend
from advisor.visit.documents import trace_document, unit_document, visit_document
from advisor.visit.kept import CHANGED, KINDS, OUTCOMES, TECHNICIAN, parts_in
from advisor.visit.minutes import minutes_by_check
from advisor.visit.record import RecordError, Unit, Visit, open_record
from advisor.visit.recordlines import (
    case_lines,
    change_lines,
    drift_lines,
    hazard_lines,
    visit_lines,
    visit_words,
)
from advisor.visit.recordwords import names_of, print_json, print_lines, time_of

SOUND: Final = 0
BAD_INPUT: Final = 2


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the words that may follow `record`."""
    _add_file(parser, None)
    words = parser.add_subparsers(title="what to do", metavar="WHAT", dest="what", required=True)

    def word(name: str, do: Callable[[argparse.Namespace, Base, Path], int], what: str, as_json: bool = True
             ) -> argparse.ArgumentParser:
        one = words.add_parser(name, help=what, description=what[:1].upper() + what[1:] + ".")
        one.set_defaults(do=do)
        _add_file(one, argparse.SUPPRESS)
        add_rules(one, argparse.SUPPRESS)
        if as_json:
            one.add_argument("--json", action="store_true", help="print one JSON document")
        return one

    word("where", _where, "tell where the record stands")
    word("units", _units, "list the units")
    word("find", _units, "find units by part of a name or an address, also a misspelled one").add_argument(
        "words", nargs="+", help="what is remembered of label, customer or address")
    add = word("add-unit", _add_unit, "add a unit", as_json=False)
    add.add_argument("label", help="what the shop calls the unit")
    add.add_argument("--customer", metavar="NAME")
    add.add_argument("--address", metavar="WORDS")
    add.add_argument("--case", metavar="CASE.yaml", help="take what is known of the unit from this case file")
    add.add_argument("--installed", metavar="YEAR", type=int, help="the year in which it was installed")
    add.add_argument("--replace", action="store_true", help="change the unit of this label instead")
    for name, do, what in (
            ("visits", _visits, "list the visits to a unit"),
            ("trend", recordcourse.trend_of, "show a unit's numbers over the visits, and what has drifted")):
        one = word(name, do, what)
        one.add_argument("unit", nargs="+", help="label of the unit, or words that only it has")
        if name == "trend":
            one.add_argument("--svg", metavar="PICTURE", help="draw the course of the numbers too, into this file")
    word("show", _show, "show a visit").add_argument("visit", help="number of the visit")
    keep = word("keep", _keep, "keep a visit")
    keep.add_argument("case", metavar="CASE.yaml", help="the case as found")
    keep.add_argument("--unit", required=True, help="label of the unit, or words that only it has")
    _add_told(keep)
    keep.add_argument("--technician", metavar="NAME", default=os.environ.get(TECHNICIAN, ""),
                      help=f"who made the visit; by default {TECHNICIAN}")
    keep.add_argument("--note", default="", help="anything else worth keeping")
    correct = word("correct", recordmend.correct, "correct a visit; what was there stays as a trace", False)
    correct.add_argument("visit", help="number of the visit")
    correct.add_argument("--case", metavar="CASE.yaml", help="the case as found, in place of the one kept")
    correct.add_argument("--unit", help="the unit that it was to")
    correct.add_argument("--note", help="in place of the note kept")
    correct.add_argument("--technician", metavar="NAME", help="who made the visit")
    _add_told(correct)
    change = word("change", recordmend.change, "tell what of a unit was changed; a new burner starts a new history",
                  as_json=False)
    change.add_argument("unit", help="label of the unit, or words that only it has")
    change.add_argument("what", choices=tuple(CHANGED), help="what was changed: %(choices)s")
    change.add_argument("--on", required=True, metavar="YYYY-MM-DD", help="the day of the change")
    change.add_argument("--note", default="", help="what is there now, and why")
    change.add_argument("--case", metavar="CASE.yaml", help="take what is known of the unit from now on from this file")
    for name, do, what in (("void", recordmend.void, "let a visit count for nothing; it stays in the file"),
                           ("restore", recordmend.restore, "let a void visit count again")):
        word(name, do, what, as_json=False).add_argument("visit", help="number of the visit")
    merge = word("merge", recordmend.merge, "give the visits of a unit to another that was the same all along",
                 as_json=False)
    merge.add_argument("unit", help="the unit that goes: its label, or words that only it has")
    merge.add_argument("--into", required=True, metavar="UNIT", help="the unit that stays")
    for one in (words.choices[name] for name in ("correct", "void", "restore", "merge")):
        one.add_argument("--because", required=True, metavar="WORDS", help="why, for the trace")
    word("traces", recordmend.show, "list what was voided, corrected and merged, with what was there before")
    export = word("export", recordsheet.give_out, "write everything as JSON Lines or CSV, or a table of calls",
                  as_json=False)
    export.add_argument("to", metavar="FILE")
    export.add_argument("--without-names", action="store_true",
                        help="leave out who and where: labels, customers, addresses, technicians, whatever was said")
    export.add_argument("--wide", action="store_true", help="FILE is one CSV table, with a row a call")
    export.add_argument("--csv", action="store_true", help="FILE is a new folder, for CSV files")
    take = word("import", recordsheet.take_in, "add what an export, or a table of your own, holds and is not there yet",
                as_json=False)
    take.add_argument("source", metavar="FILE", help="a JSON Lines file, a folder of CSV files, or a table of calls of "
                      "your own (FILE.csv), whose columns are shown before anything is added")
    take.add_argument("--map", metavar="COLUMN=MEANING", action="append", help="what a column of your own table means")
    take.add_argument("--yes", action="store_true", help="the columns were seen and are right: add it")
    word("back-up", _back_up, "copy the record to a new file, while it is in use", as_json=False).add_argument(
        "to", metavar="FILE")
    word("check", _check, "check that the file is sound")
    learned = word("learned", recordcourse.learned_of,
                   "show how the causes confirmed here change how common each is taken to be")
    learned.add_argument("--strength", metavar="VISITS", type=_number_of_visits, default=learning.STRENGTH,
                         help="for how many visits the share taken beforehand counts (default %(default)g)")
    learned.add_argument("--all", action="store_true", help="also the causes never confirmed here")


def _add_told(parser: argparse.ArgumentParser) -> None:
    """What is told of a visit beside its case, when it is kept and when it is corrected."""
    parser.add_argument("--after", metavar="CASE.yaml", help="the case as left, after the remedy")
    parser.add_argument("--confirmed", metavar="CAUSE", action="append", help="a cause confirmed; may be repeated")
    parser.add_argument("--remedy", metavar="REMEDY", action="append", help="a remedy done; may be repeated")
    parser.add_argument("--outcome", choices=tuple(OUTCOMES), help="how it came out; `confirmed` where a cause is")
    parser.add_argument("--call", choices=KINDS, help="what kind of call it was")
    parser.add_argument("--part", metavar="PART", action="append",
                        help="a part fitted or used up, such as '2 x filter cartridge'; may be repeated")
    parser.add_argument("--at", metavar="TIME", help="when it was, such as 2026-11-25T10:30")


def _add_file(parser: argparse.ArgumentParser, default: object) -> None:
    """`--file`, before the word or behind it; behind it, `default` leaves what stood before alone."""
    parser.add_argument("--file", metavar="FILE", default=default,
                        help="the record; by default that of BURNER_ADVISOR_RECORD, or the usual place")


def _number_of_visits(word: str) -> float:
    try:
        return float(word)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{shorten(word)!r} is not a number of visits such as 200") from None


def run(arguments: argparse.Namespace, base: Base) -> int:
    """Do what was asked; returns the exit status: 0 done, 2 bad input (said in one line on standard error)."""
    do: Callable[[argparse.Namespace, Base, Path], int] = arguments.do
    try:
        for what in ("file", "case", "after", "at", "to", "source", "svg"):
            if getattr(arguments, what, None) == "":  # by a script in which it was never set
                shown = {"to": "FILE", "source": "FILE", "case": "CASE.yaml"}.get(what, f"--{what}")
                raise RecordError(f"{shown} is empty; fill it in, or leave it out")
        path = Path(os.path.expanduser(arguments.file)) if arguments.file else record.default_place()
        with at_width(shutil.get_terminal_size((80, 24)).columns):
            return do(arguments, base, path)
    except RecordError as error:
        print(error, file=sys.stderr)
        return BAD_INPUT


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _day(at: datetime) -> str:
    return f"{local_time(at):%Y-%m-%d}"


def _where(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    why = ("--file" if arguments.file else
           "BURNER_ADVISOR_RECORD" if os.environ.get("BURNER_ADVISOR_RECORD") else "the usual place")
    if arguments.json:
        return print_json({"file": str(path), "chosen_by": why, "exists": path.exists()})
    state = f"{path.stat().st_size / 1000:,.0f} kB" if path.exists() else "not there yet; `record add-unit` begins it"
    return print_lines([str(path), f"  chosen by: {why}", f"  {state}"])


def _units(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    with open_record(path, make=False) as kept:
        found, seen = record.units(kept), record.last_visits(kept)
    words = " ".join(getattr(arguments, "words", ()))
    if words:
        found = finding.found(found, words)
    if arguments.json:
        return print_json({"units": [
            {**unit_document(unit), "visits": seen[unit.uid][0] if unit.uid in seen else 0,
             "last": seen[unit.uid][1].isoformat() if unit.uid in seen else None} for unit in found
        ]})
    lines = []
    for unit in found:
        count, last = seen.get(unit.uid, (0, None))
        said = f"{_count(count, 'visit')}, the last on {_day(last)}" if last else "no visit yet"
        lines += wrapped(unit.label, hang=2)
        year = f"installed {unit.installed}" if unit.installed else ""
        lines += wrapped("; ".join(words for words in (said, unit.customer, unit.address, year) if words), 4)
        lines += [line for change in unit.changes for line in change_lines(change)]
    return print_lines(lines or [f"no unit is called like {shorten(words)!r}" if words else
                            "no unit yet; `record add-unit` adds one"])


def _add_unit(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    equipment: tuple[Entry, ...] | None = None
    installed: int | None = arguments.installed
    label = arguments.label if arguments.replace else record.as_label(arguments.label)  # before a file is made
    if arguments.case:
        case = read_case(Path(arguments.case), base)
        equipment = trend.of_the_unit(case, base)
        installed = installed or trend.year_installed(case, base, datetime.now(UTC))
    with open_record(path) as kept:
        old = record.find_unit(kept, label) if arguments.replace else Unit(label)
        unit = replace(
            old,
            customer=old.customer if arguments.customer is None else arguments.customer,
            address=old.address if arguments.address is None else arguments.address,
            equipment=old.equipment if equipment is None else equipment,
            measured_in=old.measured_in if equipment is None else trend.measures(base),
            installed=installed or old.installed,
        )
        if arguments.replace:
            mend.replace_known(kept, old, unit, "add-unit --replace")
        else:
            unit = record.add_unit(kept, unit)
    known = f", with {len(unit.equipment)} things known of it" if unit.equipment else ""
    return print_lines(wrapped(f"{'changed' if arguments.replace else 'added'}: {unit.label}{known}"))


def _keep(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    before = read_case(Path(arguments.case), base)
    after = read_case(Path(arguments.after), base) if arguments.after else None
    confirmed = names_of(base.causes, arguments.confirmed or (), "cause")
    remedies = names_of(base.remedies, arguments.remedy or (), "remedy")
    at = time_of(arguments.at) or datetime.now(UTC)
    with open_record(path, make=False) as kept:
        unit = record.find_unit(kept, arguments.unit)
        visit = record.save_visit(
            kept, unit, trend.completed(before, unit, base, at),
            trend.completed(after, unit, base, at) if after else None,
            confirmed=confirmed, remedies=remedies, note=arguments.note, at=at, measured_in=trend.measures(base),
            rules=base.rules_used, outcome=arguments.outcome or "", technician=arguments.technician,
            kind=arguments.call or "", parts=parts_in(arguments.part or ()),
            minutes=minutes_by_check(base, (*before.entries, *(after.entries if after else ()))),
        )
        seen = trend.own_visits((one for one in record.visits(kept, unit) if one.at <= visit.at), unit)
        drifts = drift.drift(trend.history(seen, base))
    if arguments.json:
        return print_json({"visit": _visit_json(visit),
                           "drift": [recordcourse.drift_document(one, base) for one in drifts]})
    lines = wrapped(f"kept as visit {visit.number}: {unit.label}, {_day(visit.at)}")
    return print_lines([*lines, *drift_lines(drifts, base)])


def _visit_json(visit: Visit) -> dict[str, object]:
    return {"number": visit.number, **visit_document(visit)}


def _visits(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    with open_record(path, make=False) as kept:
        unit = record.find_unit(kept, " ".join(arguments.unit))
        found = record.visits(kept, unit, void=True)
    if arguments.json:
        return print_json({"unit": unit_document(unit), "visits": [_visit_json(visit) for visit in found]})
    lines = wrapped(unit.label)
    lines += [line for visit in found for line in visit_lines(visit, base)]
    return print_lines(lines if found else [*lines, "  no visit yet; `record keep` keeps one"])


def _show(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    with open_record(path, make=False) as kept:
        visit = record.find_visit(kept, arguments.visit)
        mended = mend.traces(kept, visit.uid)
        label = next(unit.label for unit in record.units(kept) if unit.uid == visit.unit)
    if arguments.json:
        return print_json({"visit": _visit_json(visit), "traces": [trace_document(trace) for trace in mended]})
    lines = wrapped(f"visit {visit.number}: {label}, {local_time(visit.at):%Y-%m-%d %H:%M}")
    for word, said in visit_words(visit, base):
        lines += wrapped(said, 2, first=f"{word}: ") if said else []
    lines += wrapped(f"VOID, it counts for nothing: {visit.void}", 2) if visit.void else []
    for case, title in ((visit.before, "as found"), (visit.after, "as left")):
        lines += ["", f"{title}:", *case_lines(case, visit.measured_in, base)] if case is not None else []
    lines += [line for trace in mended for line in recordmend.trace_lines(trace, base)]
    return print_lines([*lines, *hazard_lines(visit, base)])


def _back_up(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    with open_record(path, make=False) as kept:
        transfer.back_up(kept, Path(arguments.to))
    return print_lines([f"backed up to {arguments.to}"])


def _check(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    with open_record(path, make=False) as kept:
        problems = record.verify(kept)
        counts = {"units": len(record.units(kept)), "visits": len(record.visits(kept))}
    if arguments.json:
        print_json({"file": str(path), "sound": not problems, "problems": list(problems), **counts})
    else:
        print_lines(problems or [f"sound: {_count(counts['units'], 'unit')}, {_count(counts['visits'], 'visit')}"])
    return BAD_INPUT if problems else SOUND
