"""What the columns of somebody's own table of calls mean: a proposal from their headers, seen before it is used."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from advisor.arguments import words_for
from advisor.library.base import Base
from advisor.library.items import Quantity
from advisor.library.yamlfiles import near, shorten
from advisor.physics import units
from advisor.physics.units import PhysicsError
from advisor.visit.schema import RecordError

NOTE: Final = "note"
NOTHING: Final = "nothing"
FIELDS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "unit": ("the unit's label", ("unit", "label", "unit name", "equipment", "system", "appliance name")),
    "customer": ("the customer", ("customer", "customer name", "name", "client", "owner")),
    "address": ("the address", ("address", "street", "street address", "location", "site")),
    "installed": ("the year it was installed", ("installed", "year installed", "install year")),
    "date": ("the day of the visit (month first)", ("date", "visit date", "service date", "call date", "day")),
    "day-first": ("the day of the visit, day before month", ()),
    "time": ("the time of the visit", ("time", "visit time", "hour")),
    "technician": ("the technician", ("technician", "tech", "mechanic", "serviceman", "employee")),
    "call": ("the kind of call", ("call", "call type", "type of call", "job type")),
    "outcome": ("how it came out", ("outcome",)),
    "confirmed": ("causes confirmed", ("confirmed", "cause", "fault", "fault found", "diagnosis")),
    "remedies": ("remedies done", ("remedies", "remedy")),
    "parts": ("parts fitted", ("parts", "parts used", "materials")),
    NOTE: ("kept in the note", ("note", "notes", "comment", "comments", "remarks", "work done")),
    NOTHING: ("left out", ("visit", "minutes")),
}
"""What a column may mean beside a reading or an observation: in words, and what its header is called then."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: what its header says, and what it is taken for: one of `FIELDS`, or a quantity or
    observation with its unit, as found or as `left`. `why` tells why a header was not understood.
    """

    header: str
    meaning: str
    unit: str = ""
    left: bool = False
    why: str = ""


def proposed(base: Base, headers: Sequence[str], given: Iterable[str] = ()) -> tuple[Column, ...]:
    """The meaning of each column, by its header or as `given` (each `HEADER=MEANING`).

    What no meaning is found for is kept in the note, so that nothing is lost.

    Errors: `RecordError` for a `given` that names no column, or means nothing here.

    >>> from advisor.library.base import load
    >>> [(one.meaning, one.unit) for one in proposed(load(), ["Date", "Stack Temp (F)", "Dog"])]
    [('date', ''), ('stack_temperature', 'F'), ('note', '')]
    """
    chosen: dict[str, Column] = {}
    for text in given:
        header, equals, meaning = text.rpartition("=")
        if not equals or header.strip() not in headers:
            raise RecordError(f"--map {shorten(text)!r}: write it as 'COLUMN=MEANING', with a column of the table: "
                              f"{', '.join(map(repr, headers))}")
        column = _meant(base, header.strip(), meaning.strip())
        if column.why:
            raise RecordError(f"--map {shorten(text)!r}: {column.why}; a column means {', '.join(FIELDS)}, or a "
                              "reading with its unit, such as stack_temperature degC, perhaps 'as left'")
        chosen[header.strip()] = column
    return tuple(chosen.get(header) or _meant(base, header, header) for header in headers)


_FORM: Final = re.compile(r"(?P<name>.*?)(?: ?[(\[](?P<unit>[^)\]]*)[)\]])?(?P<computed> computed)?")
_LEFT: Final = re.compile(r"\b(?:as left|after)\b")


def _meant(base: Base, header: str, words: str) -> Column:
    """What words mean, such as `stack temp as left (F)` or `stack_temperature degC`."""
    found = _FORM.fullmatch(" ".join(words.split()))
    assert found is not None  # the name takes whatever is there
    name, unit = found["name"].casefold(), found["unit"] or ""
    if found["computed"]:
        return Column(header, NOTHING)
    left = bool(_LEFT.search(name))
    name = " ".join(_LEFT.sub(" ", name).replace("as found", " ").split())
    for field, (_, said) in FIELDS.items():
        if name == field or name in said:
            return Column(header, field)
    return replace(_reading(base, header, name, unit), left=left)


def _reading(base: Base, header: str, name: str, unit: str) -> Column:
    known = words_for({item.name: item for item in base.entered})
    for quantity in base.quantities.values():
        for phrase in quantity.said:
            known.setdefault(phrase.casefold(), quantity.name)
    name = re.sub(r"\btemp\b\.?", "temperature", name)
    meant = known.get(name) or known.get(name.replace("_", " "))
    if meant is None and not unit and " " in name:  # with the unit behind it, and no brackets
        first, _, last = name.rpartition(" ")
        meant, unit = known.get(first), last
    if meant is None:
        close = near(name, known, 1, 0.75)
        hint = f"; perhaps {known[close[0]]}" if close else ""
        return Column(header, NOTE, why=f"no reading is called {shorten(name)!r}{hint}")
    item = base.named[meant]
    if unit and isinstance(item, Quantity):
        try:
            units.parse(f"1 {unit}", item.kind)
        except PhysicsError as error:
            return Column(header, NOTE, why=f"{item.title}: {error}")
    if unit and not isinstance(item, Quantity):
        return Column(header, NOTE, why=f"{item.title} has no unit")
    return Column(header, meant, unit)


def in_words(base: Base, column: Column) -> str:
    """What a column is taken for, in words.

    >>> from advisor.library.base import load
    >>> in_words(load(), Column("Stk", "stack_temperature", "F", left=True))
    'stack temperature, in F, as left'
    """
    if column.meaning in FIELDS:
        return FIELDS[column.meaning][0] + (f", with its header ({column.why})" if column.why else "")
    item = base.named[column.meaning]
    unit = column.unit or (units.symbol(item.kind) if isinstance(item, Quantity) else "")
    return f"{item.title}{f', in {unit}' if unit else ''}{', as left' if column.left else ''}"
