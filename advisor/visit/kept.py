"""What the record keeps, as frozen values, and the rows that its entries make."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from advisor.library.plaintext import plain_text
from advisor.reasoning.case import Case, Entry
from advisor.visit.schema import RecordError

Key = tuple[object, ...]

CONFIRMED: Final = "confirmed"
NOTHING_WRONG: Final = "nothing-wrong"
NOT_FOUND: Final = "not-found"
OUTCOMES: Final[Mapping[str, str]] = {
    CONFIRMED: "a cause was confirmed",
    NOTHING_WRONG: "nothing was wrong",
    NOT_FOUND: "something was wrong, and what it was was not found",
}
"""How a visit came out; where nobody said it is empty."""
TECHNICIAN: Final = "BURNER_ADVISOR_TECHNICIAN"
"""The variable of the environment that names the technician of this machine."""
YEARLY: Final = "yearly-service"
KINDS: Final = ("repair", YEARLY, "callback", "installation", "inspection")
"""What kind of call a visit was; where nobody said it is empty."""
MERGED: Final = "merged"
CHANGED_UNIT: Final = "changed"
TRACED: Final[Mapping[str, str]] = {
    "voided": "voided: it counts for nothing", "restored": "counts again", "corrected": "corrected", MERGED: "merged",
    CHANGED_UNIT: "the unit was changed",
}
"""What can be mended in a record, in words."""


CHANGED: Final[Mapping[str, bool]] = {
    "appliance": True, "burner": True, "nozzle": False, "head": False, "pump": False, "controls": False,
    "chimney": False, "tank": False, "other": False,
}
"""What of a unit can be changed, and whether a new one starts a new history: no trend runs across it."""


@dataclass(frozen=True, slots=True)
class Change:
    """What of a unit was changed on a day: one of `CHANGED`, with a note."""

    day: date
    what: str
    note: str = ""
    uid: str = ""

    @property
    def starts_anew(self) -> bool:
        """Whether a new history begins with it."""
        return CHANGED.get(self.what, False)


@dataclass(frozen=True, slots=True)
class Unit:
    """A customer's unit. `label` is how the shop calls it; `equipment` is what is known of it at any visit.

    `uid` is the same on every machine; an empty one is given when the unit is added. `measured_in` tells the unit
    of measure in which the numbers of `equipment` stand; `installed` is the year, where it is known; `changes` are what
    of it was changed, from the first to the last.
    """

    label: str
    customer: str = ""
    address: str = ""
    equipment: tuple[Entry, ...] = ()
    measured_in: Mapping[str, str] = field(default_factory=dict)
    uid: str = ""
    installed: int | None = None
    changes: tuple[Change, ...] = ()

    @property
    def began(self) -> date | None:
        """The day from which its history is its own: that of its last new burner or appliance."""
        return max((one.day for one in self.changes if one.starts_anew), default=None)


@dataclass(frozen=True, slots=True)
class Visit:
    """A visit to a unit: the case as found, the case as left, the causes confirmed and the remedies done.

    `unit` is the uid of the unit. `number` counts the visits of this file and is 0 for one not kept yet.
    `measured_in` tells the unit of measure in which the numbers of either case stand; `rules` are those by which it was
    advised (`Base.rules_used`), where that is known. `outcome` is one of `OUTCOMES`, `kind` one of `KINDS`, or empty;
    `parts` says how many of each were fitted or used up, `minutes` how long each check took, where that is known. Where
    `void` says why, the visit counts for nothing.
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
    outcome: str = ""
    technician: str = ""
    kind: str = ""
    parts: Mapping[str, float] = field(default_factory=dict)
    minutes: Mapping[str, float] = field(default_factory=dict)
    void: str = ""


@dataclass(frozen=True, slots=True)
class Trace:
    """What was mended in the record: `what` of `TRACED`, of the visit or unit with the uid `subject`, why, and what was
    there before, as a document in JSON. `into` is the uid of the unit that another was merged into.
    """

    what: str
    subject: str
    reason: str
    at: datetime
    was: str
    into: str = ""
    uid: str = ""


def outcome_of(told: str, confirmed: Collection[str]) -> str:
    """The outcome of a visit: as told, or that a cause was confirmed. Errors: `RecordError` where the two do not agree.

    >>> outcome_of("", ["sooted-gas-passages"]), outcome_of("nothing-wrong", [])
    ('confirmed', 'nothing-wrong')
    """
    if told and told not in OUTCOMES:
        raise RecordError(f"{told[:40]!r} is no outcome of a visit; it is one of {', '.join(OUTCOMES)}")
    if confirmed and told not in ("", CONFIRMED):
        raise RecordError(f"a cause was confirmed, so the outcome cannot be {told}; leave one of them out")
    if told == CONFIRMED and not confirmed:
        raise RecordError("the outcome is that a cause was confirmed; name it too")
    return CONFIRMED if confirmed else told


def parts_in(words: Iterable[str]) -> dict[str, float]:
    """How many of each part, from texts such as `2 x filter cartridge`. Errors: `RecordError`.

    >>> parts_in(["nozzle 0.85 80B", "2 x filter cartridge", "filter cartridge"])
    {'nozzle 0.85 80B': 1.0, 'filter cartridge': 3.0}
    """
    out: dict[str, float] = {}
    for text in words:
        said = " ".join(plain_text(text).split())
        found = re.fullmatch(r"(?:(\d{1,4}(?:\.\d{1,3})?) ?[x×] ?)?(.+)", said)
        count = float(found[1] or 1) if found else 0.0
        if found is None or count == 0:
            raise RecordError(f"{said[:40]!r} names no part; write it as 'nozzle 0.85 80B' or '2 x filter cartridge'")
        out[found[2]] = out.get(found[2], 0.0) + count
    return out


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
