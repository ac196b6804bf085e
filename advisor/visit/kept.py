"""What the record keeps, as frozen values, and the rows that its entries make."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from advisor.library.plaintext import plain_text
from advisor.reasoning.case import Case, Entry
from advisor.visit.schema import RecordError

Key = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Unit:
    """A customer's unit. `label` is how the shop calls it; `equipment` is what is known of it at any visit.

    `uid` is the same on every machine; an empty one is given when the unit is added. `measured_in` tells the unit
    of measure in which the numbers of `equipment` stand.
    """

    label: str
    customer: str = ""
    address: str = ""
    equipment: tuple[Entry, ...] = ()
    measured_in: Mapping[str, str] = field(default_factory=dict)
    uid: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """A visit to a unit: the case as found, the case as left, the causes confirmed and the remedies done.

    `unit` is the uid of the unit. `number` counts the visits of this file and is 0 for one not kept yet.
    `measured_in` tells the unit of measure in which the numbers of either case stand; `rules` are those by which it was
    advised (`Base.rules_used`), where that is known.
    """

    unit: str
    at: datetime
    before: Case
    after: Case | None = None
    confirmed: tuple[str, ...] = ()
    remedies: tuple[str, ...] = ()
    note: str = ""
    measured_in: Mapping[str, str] = field(default_factory=dict)
    uid: str = ""
    number: int = 0
    rules: str = ""


def finite(name: str, value: float) -> float:
    """The number, where it is one; SQLite would keep any other as none at all. Errors: `RecordError`."""
    if not math.isfinite(value):
        raise RecordError(f"{name}: {value} is not a number that can be kept; enter it anew")
    return value


def entry_rows(entries: Iterable[Entry], measured_in: Mapping[str, str]) -> Iterator[Key]:
    """The rows of entries, from `position` on: as typed, and as understood with the unit of measure."""
    for position, entry in enumerate(entries):
        number = finite(entry.name, float(entry.value)) if isinstance(entry.value, float | int) else None
        answer = entry.value if isinstance(entry.value, str) else None
        measure = "" if number is None else measured_in.get(entry.name, "")
        yield (position, entry.name, plain_text(entry.typed), number, measure, answer, entry.status,
               plain_text(entry.note), entry.how,
               entry.at.isoformat() if entry.at else None, plain_text(entry.said))


def gather(rows: Iterable[Sequence[object]], key_length: int) -> dict[Key, tuple[tuple[Entry, ...], dict[str, str]]]:
    """Entries with their units of measure, by the first columns of their rows; errors: ValueError for a time."""
    out: dict[Key, tuple[list[Entry], dict[str, str]]] = {}
    for row in rows:
        _, name, typed, number, measure, answer, status, note, how, at, told = row[key_length:]
        entries, measures = out.setdefault(tuple(row[:key_length]), ([], {}))
        value = number if isinstance(number, float) else None if answer is None else str(answer)
        entries.append(Entry(str(name), plain_text(str(typed)), value, str(status), plain_text(str(note)), str(how),
                             None if at is None else datetime.fromisoformat(str(at)), plain_text(str(told))))
        if measure:
            measures[str(name)] = str(measure)
    return {key: (tuple(entries), measures) for key, (entries, measures) in out.items()}
