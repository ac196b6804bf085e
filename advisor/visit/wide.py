"""The record as one wide table: a row a call, for a spreadsheet. It is a summary; `export` alone keeps everything."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from advisor.library.base import Base
from advisor.physics import units as measure
from advisor.reasoning.case import Case, local_time
from advisor.visit.kept import Unit, Visit
from advisor.visit.tables import harmless
from advisor.visit.transfer import write_over
from advisor.visit.trend import TRENDED, in_our_units, moment_of

OF_THE_CALL: Final = ("visit", "unit", "customer", "address", "installed", "date", "time", "technician", "call",
                      "outcome", "confirmed", "remedies", "parts", "minutes", "note")
LEFT: Final = " as left"
COMPUTED: Final = " computed"
_BEGINS: Final = b"visit,unit,customer,address,installed,date"


def wide_rows(units: Iterable[Unit], visits: Sequence[Visit], base: Base) -> list[dict[str, str]]:
    """A row for each visit: of the call, then the last entry of each name as found and as left, in our units, and the
    figures computed from them.

    >>> from datetime import UTC, datetime
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.case import Entry
    >>> seen = Visit("7", datetime(2026, 1, 5, tzinfo=UTC), Case((Entry("stack_temperature", "520 F", 520.0),)))
    >>> wide_rows([Unit("Mill Lane boiler", uid="7")], [seen], load())[0]["stack_temperature (degF)"]
    '520'
    """
    by_uid = {unit.uid: unit for unit in units}
    return [{**_of_the_call(by_uid[visit.unit], visit),
             **_of_the_case(visit.before, visit, base, ""),
             **(_of_the_case(visit.after, visit, base, LEFT) if visit.after is not None else {})} for visit in visits]


def _of_the_call(unit: Unit, visit: Visit) -> dict[str, str]:
    at = local_time(visit.at)
    said = [entry.typed for case in (visit.before, visit.after) if case is not None for entry in case.remarks]
    return {
        "visit": str(visit.number), "unit": unit.label, "customer": unit.customer, "address": unit.address,
        "installed": str(unit.installed or ""), "date": f"{at:%Y-%m-%d}", "time": f"{at:%H:%M}",
        "technician": visit.technician, "call": visit.kind, "outcome": visit.outcome,
        "confirmed": "; ".join(visit.confirmed), "remedies": "; ".join(visit.remedies),
        "parts": "; ".join(f"{count:g} x {part}" for part, count in visit.parts.items()),
        "minutes": f"{sum(visit.minutes.values()):g}" if visit.minutes else "",
        "note": "; ".join(filter(None, (visit.note, *dict.fromkeys(said)))),
    }


def _of_the_case(case: Case, visit: Visit, base: Base, left: str) -> dict[str, str]:
    case = replace(case, entries=in_our_units(case.entries, visit.measured_in, base))
    out = {}
    for name, entry in case.latest.items():
        value = f"{entry.value:.6g}" if isinstance(entry.value, float) else entry.value or entry.status
        out[header(base, name, left)] = value
    numbers = moment_of(case, base, visit.at).numbers
    computed = {f"{header(base, name, left)}{COMPUTED}": f"{numbers[name]:.6g}" for name in TRENDED
                if name in numbers and base.quantities[name].derived}
    return {**out, **computed}


def header(base: Base, name: str, left: str = "") -> str:
    """What a column is called: the name and, of a quantity, the unit in which it stands.

    >>> from advisor.library.base import load
    >>> header(load(), "co2", LEFT)
    'co2 as left (%)'
    """
    unit = measure.symbol(base.quantities[name].kind) if name in base.quantities else ""
    return f"{name}{left}{f' ({unit})' if unit else ''}"


def export_wide(units: Iterable[Unit], visits: Sequence[Visit], base: Base, to: Path) -> int:
    """Write the table as CSV (RFC 4180, UTF-8); returns how many rows. Errors: `RecordError` where it cannot be
    written, or something else than an older such table stands there.
    """
    rows = wide_rows(units, visits, base)
    there = {name for row in rows for name in row}
    names = [header(base, item.name, left) for item in base.entered for left in ("", LEFT)]
    names += [f"{header(base, name, left)}{COMPUTED}" for name in TRENDED for left in ("", LEFT)]
    text = io.StringIO()
    writer = csv.DictWriter(text, [*OF_THE_CALL, *(name for name in names if name in there)], restval="")
    writer.writeheader()
    writer.writerows(_harmless(row) for row in rows)
    write_over(to, (_BEGINS,), "an older table of calls", text.getvalue())
    return len(rows)


def _harmless(row: Mapping[str, str]) -> dict[str, str]:
    return {name: harmless(cell) for name, cell in row.items()}
