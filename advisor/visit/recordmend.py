"""The words of the verb `record` that mend what is kept: void, restore, correct, merge, and the traces of it."""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

from advisor.library.base import Base
from advisor.pages.wording import wrapped
from advisor.reasoning.case import local_time
from advisor.reasoning.casefile import read_case
from advisor.visit import mend, record, trend
from advisor.visit.documents import read_unit, read_visit, trace_document
from advisor.visit.kept import CHANGED_UNIT, CONFIRMED, MERGED, TRACED, Change, Trace, Visit, parts_in
from advisor.visit.minutes import minutes_by_check
from advisor.visit.recordlines import change_lines, visit_words
from advisor.visit.recordwords import names_of, print_json, print_lines, time_of
from advisor.visit.schema import RecordError


def void(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record void`."""
    with record.open_record(path, make=False) as kept:
        visit = record.find_visit(kept, arguments.visit)
        mend.void_visit(kept, visit, arguments.because)
    return print_lines(wrapped(f"visit {visit.number} is void and counts for nothing; `record restore {visit.number}` "
                               "lets it count again"))


def restore(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record restore`."""
    with record.open_record(path, make=False) as kept:
        visit = record.find_visit(kept, arguments.visit)
        mend.restore_visit(kept, visit, arguments.because)
    return print_lines([f"visit {visit.number} counts again"])


def correct(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record correct`: what is given takes the place of what is kept, and all else stays."""
    with record.open_record(path, make=False) as kept:
        old = record.find_visit(kept, arguments.visit)
        new = _corrected(arguments, base, kept, old)
        mend.correct_visit(kept, old, new, arguments.because)
        new = record.find_visit(kept, old.uid)
    before, now = dict(visit_words(old, base)), dict(visit_words(new, base))
    changed = [f"{what}: {before.get(what, 'nothing')} -> {now.get(what, 'nothing')}"
               for what in dict.fromkeys((*before, *now)) if before.get(what) != now.get(what)]
    lines = wrapped(f"visit {new.number} is corrected; what was there: `record show {new.number}`")
    return print_lines([*lines, *(line for text in changed for line in wrapped(text, 2, 4))])


def _corrected(arguments: argparse.Namespace, base: Base, kept: record.Record, old: Visit) -> Visit:
    new, cases, ours = old, {}, trend.measures(base)
    unit = record.find_unit(kept, arguments.unit) if arguments.unit is not None else next(
        unit for unit in record.units(kept) if unit.uid == old.unit)
    for moment, file in (("before", arguments.case), ("after", arguments.after)):
        if file is not None:
            cases[moment] = trend.completed(read_case(Path(file), base), unit, base, old.at)
    new = replace(new, unit=unit.uid, before=cases.get("before", old.before), after=cases.get("after", old.after))
    if cases:
        both = (("before", old.before), ("after", old.after))
        stays = [case for moment, case in both if case is not None and moment not in cases]
        for entry in (entry for case in stays for entry in case.entries):
            if isinstance(entry.value, float) and old.measured_in.get(entry.name, "") != ours.get(entry.name, ""):
                raise RecordError(f"{entry.name} stands in {old.measured_in.get(entry.name)} in the case that stays; "
                                  "give both cases anew, with --case and --after")
        entries = (*new.before.entries, *(new.after.entries if new.after else ()))
        new = replace(new, measured_in=ours, minutes=minutes_by_check(base, entries), rules=base.rules_used)
    if arguments.confirmed is not None:
        new = replace(new, confirmed=names_of(base.causes, arguments.confirmed, "cause"), outcome="")
    if arguments.outcome is not None:
        new = replace(new, outcome=arguments.outcome)
        if arguments.confirmed is None and arguments.outcome != CONFIRMED:
            new = replace(new, confirmed=())
    if arguments.remedy is not None:
        new = replace(new, remedies=names_of(base.remedies, arguments.remedy, "remedy"))
    if arguments.part is not None:
        new = replace(new, parts=parts_in(arguments.part))
    def given(words: str | None, there: str) -> str:
        return there if words is None else words

    return replace(new, note=given(arguments.note, old.note), technician=given(arguments.technician, old.technician),
                   kind=given(arguments.call, old.kind), at=time_of(arguments.at) or old.at)


def change(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record change`: something of a unit was changed; with a case, what is known of it from then on."""
    try:
        day = date.fromisoformat(arguments.on)
    except ValueError:
        raise RecordError(f"--on {arguments.on[:40]!r} is not a day such as 2026-11-25") from None
    if day > date.today():
        raise RecordError(f"--on {day} is still to come; tell a change once it is made")
    made = Change(day, arguments.what, arguments.note)
    case = read_case(Path(arguments.case), base) if arguments.case else None
    with record.open_record(path, make=False) as kept:
        unit = record.find_unit(kept, arguments.unit)
        now = replace(unit, installed=day.year) if arguments.what == "appliance" else unit
        if case is not None:
            now = replace(now, equipment=trend.of_the_unit(case, base), measured_in=trend.measures(base))
        mend.change_unit(kept, unit, made, now)
    anew = " Its trends begin anew with that day." if made.starts_anew else ""
    return print_lines([*wrapped(f"kept: {unit.label}.{anew}"), *change_lines(made)])


def merge(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record merge`."""
    with record.open_record(path, make=False) as kept:
        gone, into = (record.find_unit(kept, words) for words in (arguments.unit, arguments.into))
        count = len(record.visits(kept, gone, void=True))
        mend.merge_units(kept, gone, into, arguments.because)
    visits = "1 visit is" if count == 1 else f"{count} visits are"
    return print_lines(wrapped(f"merged: {gone.label} is {into.label} from now on; its {visits} there"))


def show(arguments: argparse.Namespace, base: Base, path: Path) -> int:
    """`record traces`."""
    with record.open_record(path, make=False) as kept:
        found = mend.traces(kept)
    if arguments.json:
        return print_json({"traces": [trace_document(trace) for trace in found]})
    lines = [line for trace in found for line in trace_lines(trace, base)]
    return print_lines(lines or ["nothing was voided, corrected or merged"])


def trace_lines(trace: Trace, base: Base) -> list[str]:
    """A trace in lines: when, what and why, and what was there before."""
    was = json.loads(trace.was)
    lines = wrapped(f"{local_time(trace.at):%Y-%m-%d %H:%M} {TRACED[trace.what]}, because {trace.reason}", 2, 4)
    return [*lines, *wrapped(f"it was: {_was(trace, was, base)}", 4, 6)]


def _was(trace: Trace, was: Mapping[str, object], base: Base) -> str:
    if trace.what == MERGED:
        gone, into, visits = was.get("gone"), was.get("into"), was.get("visits")
        labels = [str(one.get("label", "")) for one in (gone, into) if isinstance(one, dict)]
        return f"{' and '.join(labels)}, {len(visits) if isinstance(visits, list) else 0} visits of the first"
    if trace.what == CHANGED_UNIT:
        unit = read_unit(was, "the trace")
        place = "; ".join(filter(None, (unit.label, unit.customer, unit.address)))
        known = ", ".join(f"{entry.name} {entry.typed}" for entry in unit.equipment)
        return f"{place}: {known or 'nothing was known of it'}"
    visit = read_visit(was, "the trace")
    said = [f"{what}: {words}" for what, words in visit_words(visit, base) if what != "rules"]
    readings = [f"{entry.name} {entry.typed}" for entry in visit.before.entries]
    left = [f"{entry.name} {entry.typed}" for entry in (visit.after.entries if visit.after else ())]
    said += [f"as found {', '.join(readings) or 'nothing'}", *([f"as left {', '.join(left)}"] if left else [])]
    return "; ".join([f"visit of {local_time(visit.at):%Y-%m-%d}", *said])
