"""A unit over the years: its numbers at every visit, and what is known of it on the day of one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Observation, Quantity
from advisor.physics import units
from advisor.physics.units import PhysicsError
from advisor.reasoning.assess import lean_engine_of
from advisor.reasoning.case import Case, Entry, local_time
from advisor.reasoning.derive import derive
from advisor.reasoning.hazards import RELEASED, hazards_of
from advisor.reasoning.turnout import COMPLAINT, ROUTINE
from advisor.visit.airfigures import MILD_DAY, co2_in_other_air
from advisor.visit.kept import YEARLY, Unit, Visit
from advisor.visit.remedy import causes_of, put_right

TRENDED: Final = ("stack_temperature", "net_stack", "co2", "o2", "smoke", "co", "draft_over_fire", "draft_breech",
                  "draft_drop", "efficiency")
"""The quantities whose course over the visits is shown."""

_BLOCKS: Final = "▁▂▃▄▅▆▇█"
_PLAIN: Final = "_.-~=+*#"


@dataclass(frozen=True, slots=True)
class Moment:
    """The numbers of a unit at one moment, entered and computed, in our own units. `left` says: after the remedy.

    `fair` are those from which a law takes the weather out: the CO2 of a burner with ducted outdoor air, as it would be
    with air of 60 degF.
    """

    at: datetime
    numbers: Mapping[str, float]
    left: bool = False
    visit: int = 0
    fair: Mapping[str, float] = field(default_factory=dict)


def measures(base: Base) -> dict[str, str]:
    """The unit of measure in which the numbers of each quantity stand, for `save_visit`.

    >>> from advisor.library.base import load
    >>> measures(load())["draft_over_fire"]
    'in. w.c.'
    """
    return {name: units.symbol(quantity.kind) for name, quantity in base.quantities.items()}


def in_our_units(entries: Iterable[Entry], measured_in: Mapping[str, str], base: Base) -> tuple[Entry, ...]:
    """Entries with their numbers in the units of the base, should an earlier version have kept them in others.

    What the base does not know (a rules folder of the shop's own that is not read now, an answer of another version) is
    left out.

    >>> from advisor.library.base import load
    >>> in_our_units([Entry("stack_temperature", "271 C", 271.0)], {"stack_temperature": "degC"}, load())[0].value
    519.8
    """
    out = []
    for entry in entries:
        item = base.named.get(entry.name)
        if entry.is_remark:
            out.append(entry)
            continue
        if item is None and not (entry.is_cure and entry.name in base.hazards):
            continue
        if not _is_known(item, entry):
            continue
        if isinstance(entry.value, float) and isinstance(item, Quantity):
            stands_in, ours = measured_in.get(entry.name, ""), units.symbol(item.kind)
            if stands_in and stands_in != ours:
                try:
                    entry = replace(entry, value=units.convert(entry.value, stands_in, ours, item.kind))
                except PhysicsError:
                    continue
        out.append(entry)
    return tuple(out)


def _is_known(item: object, entry: Entry) -> bool:
    """Whether the value of a kept entry is a number of a quantity, or an answer that its observation takes."""
    if isinstance(entry.value, str):
        return isinstance(item, Observation) and entry.value in item.answers
    return entry.value is None or isinstance(item, Quantity)


def as_left(visit: Visit, base: Base) -> Case:
    """The case as it was left, with the entries of the arrival, from which its hazards stay until the remedies that
    were done put them right; as found where no work was done.
    """
    def ours(case: Case) -> Case:
        return replace(case, entries=in_our_units(case.entries, visit.measured_in, base))

    before = ours(visit.before)
    if visit.after is None:
        return before
    found = [one for one in hazards_of(base, lean_engine_of(base), before) if one.state != RELEASED]
    done = put_right(base, found, causes_of(base, visit.remedies))
    return replace(ours(visit.after), earlier=(*before.entries, *done))


def completed(case: Case, unit: Unit, base: Base, at: datetime | None = None) -> Case:
    """The case, with what is known of its unit wherever the case says nothing itself, and with its age on the day of
    the visit (today by default).

    >>> from advisor.library.base import load
    >>> unit = Unit("Mill Lane boiler", installed=2004)
    >>> completed(Case(), unit, load(), datetime(2026, 11, 25, tzinfo=UTC)).latest["appliance_age"].value
    22.0
    """
    grows = _ages(base)
    known = tuple(entry for entry in in_our_units(unit.equipment, unit.measured_in, base) if entry.name not in grows)
    if unit.installed is not None:
        age = float(max(0, local_time(at or datetime.now(UTC)).year - unit.installed))
        known = (*known, *(Entry(name, f"{age:g} years", age) for name, item in grows.items()
                           if item.since == "installed"))
    said = {name for name, entry in case.latest.items() if entry.value is not None}
    more = tuple(entry for entry in known if entry.name not in said)
    return replace(case, entries=(*more, *case.entries))


def moment_of(
    case: Case, base: Base, at: datetime, *, measured_in: Mapping[str, str] | None = None, left: bool = False,
    visit: int = 0,
) -> Moment:
    """The numbers of a case at a moment; for example of the case in hand, to be put behind a history."""
    found = derive(replace(case, entries=in_our_units(case.entries, measured_in or {}, base)), base)
    numbers = {name: one.value for name, one in found.numbers.items()}
    fair: dict[str, float] = {}
    if found.symbols.get("air_supply") == "ducted-outdoor" and {"co2", "outdoor_temperature"} <= numbers.keys():
        with suppress(PhysicsError):
            fair["co2"] = co2_in_other_air(found.fuel, numbers["co2"], numbers["outdoor_temperature"], MILD_DAY)
    return Moment(at if at.tzinfo else at.astimezone(UTC), numbers, left, visit, fair)


def history(visits: Iterable[Visit], base: Base) -> tuple[Moment, ...]:
    """The numbers of a unit at every visit, as found and as left, from the first to the last."""
    out = []
    for visit in sorted(visits, key=lambda visit: visit.at):
        for case, left in ((visit.before, False), (visit.after, True)):
            if case is not None:
                out.append(moment_of(case, base, visit.at, measured_in=visit.measured_in, left=left,
                                     visit=visit.number))
    return tuple(out)


def of_the_unit(case: Case, base: Base) -> tuple[Entry, ...]:
    """What a case knows of the equipment itself, to be kept with the unit: not how the last service left it, which the
    visits tell.
    """
    last = {item.name for item in _last_readings(base)}
    return tuple(entry for entry in case.latest.values()
                 if entry.name in base.equipment - last and entry.name not in _ages(base))


def year_installed(case: Case, base: Base, at: datetime) -> int | None:
    """The year in which the unit of a case was installed, by the age that it tells on a day; none where it tells none.

    >>> from advisor.library.base import load
    >>> year_installed(Case((Entry("appliance_age", "22 years", 22.0),)), load(), datetime(2026, 11, 25, tzinfo=UTC))
    2004
    """
    for name, item in _ages(base).items():
        entry = case.latest.get(name)
        if item.since == "installed" and entry is not None and isinstance(entry.value, float):
            return local_time(entry.at or at).year - round(entry.value)
    return None


def _ages(base: Base) -> dict[str, Quantity]:
    """The quantities that grow by a year every year."""
    return {name: item for name, item in base.quantities.items() if item.since != "nothing"}


def own_visits(visits: Iterable[Visit], unit: Unit) -> tuple[Visit, ...]:
    """The visits of the history that is the unit's own: since its last new burner or appliance. Of a visit on that very
    day only how it was left belongs to it.

    >>> from datetime import date
    >>> from advisor.visit.kept import Change
    >>> new = Unit("A", changes=(Change(date(2026, 3, 1), "burner"),))
    >>> first, last = (Visit("u", datetime(2026, month, 2, 12, tzinfo=UTC), Case()) for month in (1, 5))
    >>> own_visits([first, last], new) == (last,)
    True
    """
    out = []
    for visit in visits:
        day = local_time(visit.at).date()
        if unit.began is None or day > unit.began:
            out.append(visit)
        elif day == unit.began and visit.after is not None:
            out.append(replace(visit, before=visit.after, after=None))
    return tuple(out)


def _last_readings(base: Base) -> tuple[Quantity, ...]:
    """The quantities that say how the last service left a reading."""
    return tuple(item for item in base.quantities.values() if item.last_of)


def as_last_left(moments: Sequence[Moment], case: Case, base: Base) -> tuple[Entry, ...]:
    """How the last visit left the unit, as entries, so that what has changed since counts; what a case says itself is
    left as it is.

    Parameters
    ----------
    moments : sequence of Moment
        The unit at its earlier visits, from the first to the last.
    """
    if not moments:
        return ()
    return tuple(Entry(item.name, units.format_value(moments[-1].numbers[item.last_of], item.kind),
                       moments[-1].numbers[item.last_of])
                 for item in _last_readings(base)
                 if item.last_of in moments[-1].numbers and item.name not in case.latest)


def served_on(visits: Iterable[Visit]) -> datetime | None:
    """When a unit had its last yearly service, by the kind of call or by what the call was about; none where no visit
    was one.

    >>> visit = Visit("u", datetime(2026, 1, 5, tzinfo=UTC), Case(), kind=YEARLY)
    >>> served_on([visit]).year
    2026
    """
    return max((visit.at for visit in visits
                if visit.kind == YEARLY or visit.before.values.get(COMPLAINT) == ROUTINE), default=None)


def since_service(visits: Iterable[Visit], case: Case, base: Base, at: datetime) -> tuple[Entry, ...]:
    """How many years ago the last yearly service was, as an entry, where the record tells of one and the case says
    nothing itself.
    """
    last = served_on(visits)
    if last is None or last > local_time(at):
        return ()
    years = round((local_time(at) - last).days / 365.25, 1)
    return tuple(Entry(name, f"{years:g} years", years) for name, item in _ages(base).items()
                 if item.since == "service" and name not in case.latest)


def sparkline(values: Sequence[float | None], plain: bool = False) -> str:
    """Numbers as a line of small bars, from the lowest to the highest; a blank where there is none.

    `plain` uses ASCII only.

    >>> sparkline([500, 510, None, 580]), sparkline([500, 510, None, 580], plain=True), sparkline([4, 4])
    ('▁▂ █', '_. #', '▄▄')
    """
    marks = _PLAIN if plain else _BLOCKS
    known = [value for value in values if value is not None and math.isfinite(value)]
    if not known:
        return " " * len(values)
    low, high = min(known), max(known)
    if high == low:
        return "".join(" " if value is None or not math.isfinite(value) else marks[3] for value in values)
    return "".join(
        " " if value is None or not math.isfinite(value) else marks[round((value - low) / (high - low) * 7)]
        for value in values
    )
