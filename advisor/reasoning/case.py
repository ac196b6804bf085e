"""A case: a list of entries, and nothing else. Every answer is computed from it anew."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

UNCHECKED = "could not check"
SKIPPED = "not checked"
RECHECKED = "rechecked"
CORRECTED = "corrected"
CURED = "cured"
REMARK = "remark"
YEARS = range(1900, 2200)
"""In which an entry or a visit may lie; further off, a time cannot be told in every zone."""


def read_time(text: str) -> datetime:
    """A time as it is written (ISO 8601); without a zone it is local. Errors: ValueError, in words.

    >>> read_time("2026-11-25T10:30").minute
    30
    >>> read_time("0026-11-25")
    Traceback (most recent call last):
    ValueError: '0026-11-25' is not a time such as 2026-11-25T10:30, in the years 1900 to 2199
    """
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        at = datetime.min
    if at.year in YEARS:
        return at
    when = "" if at == datetime.min else f", in the years {YEARS[0]} to {YEARS[-1]}"
    raise ValueError(f"{text[:40]!r} is not a time such as 2026-11-25T10:30{when}")


def local_time(at: datetime) -> datetime:
    """A time in the zone of this machine, as it stands where that cannot be told; none without a zone comes of it.

    >>> local_time(datetime(2026, 1, 5)).tzinfo is None
    False
    """
    try:
        return at.astimezone()
    except (OverflowError, ValueError):  # in the first year or the last
        return at if at.tzinfo else at.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Entry:
    """One quantity or observation, as it was typed and as it was understood.

    `value` is a number in the quantity's own unit, the answer of an observation, or None where `status` says
    that it could not be, or was not, checked. `how` is empty, `rechecked` where the person stands by it, or
    `corrected` where the entry of that name before it was mistyped and was never so. An entry with the status `cured`
    names a hazard, and says in `typed` what put it right; one with the status `remark` has that name too, and keeps in
    `typed` what somebody said that no other entry holds. `said` is the line in which it was heard, where somebody told
    it in words of their own.
    """

    name: str
    typed: str
    value: float | str | None
    status: str = ""
    note: str = ""
    how: str = ""
    at: datetime | None = None
    said: str = ""

    @property
    def is_cure(self) -> bool:
        """Whether it says of a hazard that its source was put right."""
        return self.status == CURED

    @property
    def is_remark(self) -> bool:
        """Whether it keeps words, and is of no reading or observation."""
        return self.status == REMARK


def remark(words: str, at: datetime | None = None) -> Entry:
    """The entry that keeps what somebody said.

    >>> Case().having(remark("carpenter was here")).remarks[0].typed
    'carpenter was here'
    """
    return Entry(REMARK, words, None, REMARK, at=at)


@dataclass(frozen=True, slots=True)
class Case:
    """Entries in the order in which they came; the latest of a name counts.

    `manufacturer` holds the manufacturer's own figures: the limit that each replaces, in the unit of its quantity.
    `instruments` are those at hand; None where nobody has said. `earlier` are the entries of the unit as it was found,
    where this is the case as it was left: hazards stay open from there, and nothing else is taken from them. `aside`
    are names that do not count until they are read again, since something was moved; the hazards that they showed stay.
    `rules` are those by which it was advised when it was written (`Base.rules_used`); they change nothing.

    >>> case = Case().having(Entry("smoke", "4", 4.0)).having(Entry("smoke", "2", 2.0))
    >>> case.latest["smoke"].value, len(case.without_last().entries)
    (2.0, 1)
    """

    entries: tuple[Entry, ...] = ()
    manufacturer: Mapping[str, float] = field(default_factory=dict)
    instruments: tuple[str, ...] | None = None
    title: str = ""
    earlier: tuple[Entry, ...] = ()
    aside: frozenset[str] = frozenset()
    rules: str = field(default="", compare=False)

    @property
    def latest(self) -> dict[str, Entry]:
        """The entry that counts for each name: the last one that says something, else the last.

        That a thing could not be checked again does not take back what was found before.
        """
        out: dict[str, Entry] = {}
        for entry in self.entries:
            if entry.is_cure or entry.is_remark or entry.name in self.aside:
                continue
            if entry.value is not None or entry.name not in out or out[entry.name].value is None:
                out[entry.name] = entry
        return out

    @property
    def told(self) -> tuple[Entry, ...]:
        """All entries from arrival on, without those that were mistyped.

        >>> Case((Entry("co_room", "800", 800.0), Entry("co_room", "8", 8.0, how=CORRECTED))).told[0].typed
        '8'
        """
        out: list[Entry] = []
        for entry in (*self.earlier, *self.entries):
            if entry.how == CORRECTED:
                wrong = next((at for at in range(len(out) - 1, -1, -1) if out[at].name == entry.name), None)
                if wrong is not None:
                    del out[wrong]
            out.append(entry)
        return tuple(out)

    @property
    def values(self) -> dict[str, str | float | None]:
        """What counts for each name: an answer or a number, or None where it was passed over."""
        return {name: entry.value for name, entry in self.latest.items()}

    @property
    def remarks(self) -> tuple[Entry, ...]:
        """What was said that no other entry holds, in its order."""
        return tuple(entry for entry in self.entries if entry.is_remark)

    def having(self, *entries: Entry) -> Case:
        """The case with further entries."""
        return replace(self, entries=(*self.entries, *entries))

    def without_last(self) -> Case:
        """The case without its last entry; itself where it has none."""
        return replace(self, entries=self.entries[:-1])

    def with_manufacturer(self, limit: str, value: float | None) -> Case:
        """The case with a manufacturer's figure for a limit; None takes it out again."""
        kept = {name: figure for name, figure in self.manufacturer.items() if name != limit}
        return replace(self, manufacturer=kept if value is None else {**kept, limit: value})

    def with_instruments(self, names: Iterable[str] | None) -> Case:
        """The case with these instruments at hand."""
        return replace(self, instruments=None if names is None else tuple(dict.fromkeys(names)))
