"""A unit over the years: its numbers at every visit, and what has drifted since."""

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
from advisor.visit.airfigures import MILD_DAY, co2_in_other_air
from advisor.visit.kept import Unit, Visit
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
        known = (*known, *(Entry(name, f"{age:g} years (installed {unit.installed})", age)
                           for name, item in grows.items() if item.since == "installed"))
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


@dataclass(frozen=True, slots=True)
class DriftRule:
    """What has moved (by at least so much, up where above zero) while what has not (by more than so much).

    `moved` and `steady` must be known at both moments; `like` counts only where it is. Units are those of the base.
    """

    name: str
    moved: Mapping[str, float]
    steady: Mapping[str, float]
    says: str
    because: str
    like: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Drift:
    """A rule that holds between an earlier moment and the last one; all of them are common practice."""

    rule: DriftRule
    then: Moment
    now: Moment
    source: str = "common practice"


_SAME_WEATHER: Final = {"outdoor_temperature": 20.0}
_SAME_FIRE: Final = {"nozzle_size": 0.02, "pump_pressure": 10.0, "room_temperature": 20.0, **_SAME_WEATHER}

DRIFT_RULES: Final = (
    DriftRule(
        "stack-up-at-the-same-co2", {"stack_temperature": 50.0}, {"co2": 0.5},
        "heat stays in the flue gas that the appliance used to take up: look for soot or scale on its surfaces",
        "with the same fire and the same excess air only a poorer passage of heat raises the stack temperature",
        _SAME_FIRE,
    ),
    DriftRule(
        "stack-up-with-less-co2", {"stack_temperature": 50.0, "co2": -1.0}, {},
        "more air goes through the fire than before: look at the air setting, the draft and the joints",
        "more excess air carries the heat past the surfaces faster, and thins the CO2",
        _SAME_FIRE,
    ),
    DriftRule(
        "less-co2", {"co2": -1.0}, {"stack_temperature": 49.0},
        "more air reaches the flue gas than before: look at the air setting, the draft and the joints",
        "air added to the fire or leaking in behind it thins the CO2",
        _SAME_WEATHER,
    ),
    DriftRule(
        "more-co2-and-smoke", {"co2": 1.0, "smoke": 1.0}, {},
        "the flame gets less air for its oil than before: look at blower wheel, air inlet, pump pressure and nozzle",
        "less air for the same oil raises CO2, and below what the head needs the smoke with it",
        _SAME_WEATHER,
    ),
    DriftRule(
        "more-smoke-at-the-same-co2", {"smoke": 1.0}, {"co2": 0.5},
        "air and oil mix less well than before: look at nozzle, head, pump pressure and oil",
        "the air is the same, so the spray or its mixing with the air has become worse",
        _SAME_WEATHER,
    ),
    DriftRule(
        "draft-drop-up", {"draft_drop": 0.02}, {},
        "the flue gas passes with more loss than before: look for soot in the flue passages",
        "narrower passages use up more of the chimney's pull between the fire and the breech",
        {},
    ),
    DriftRule(
        "draft-at-the-breech-weaker", {"draft_breech": 0.02}, {},
        "the chimney pulls less than before: look at connector, regulator, chimney and house air",
        "in like weather the pull of the same chimney stays the same",
        _SAME_WEATHER,
    ),
    DriftRule(
        "more-co", {"co": 50.0}, {},
        "the oil burns less completely than before: find the reason before the unit is left running",
        "carbon monoxide rises where the flame lacks air, is chilled, or touches a surface",
        {},
    ),
    DriftRule(
        "efficiency-down", {"efficiency": -2.0}, {},
        "more of the oil's heat leaves by the flue than before",
        "combustion efficiency is what is left after the losses in the flue gas",
        _SAME_WEATHER,
    ),
)
"""The rules of drift: common practice; their thresholds are our own and lie beyond what two readings can miss by."""


def drift(moments: Sequence[Moment]) -> tuple[Drift, ...]:
    """What has drifted by the last moment at which the unit was found, against an earlier visit.

    Each earlier visit counts with its last moment (as left, where that was measured). The latest of them for which
    a rule holds is told, so that what creeps a little every year is noticed as well. No rule compares across
    another nozzle, pump pressure or weather where these bear on it and are known: the temperature outdoors may differ
    by 20 degF where it was read at both, unless a law takes it out of what moved (`Moment.fair`); see `weather_text`.

    >>> year = [datetime(year, 10, 1, tzinfo=UTC) for year in (2025, 2026)]
    >>> moments = [Moment(year[0], {"stack_temperature": 480.0, "co2": 12.0}),
    ...            Moment(year[1], {"stack_temperature": 535.0, "co2": 11.8})]
    >>> [one.rule.name for one in drift(moments)]
    ['stack-up-at-the-same-co2']
    """
    found = [moment for moment in moments if not moment.left]
    if not found:
        return ()
    now = max(found, key=lambda moment: moment.at)
    earlier: dict[datetime, Moment] = {}
    for moment in moments:
        if moment.at < now.at and (moment.left or moment.at not in earlier or not earlier[moment.at].left):
            earlier[moment.at] = moment
    out = []
    for rule in DRIFT_RULES:
        then = next((earlier[at] for at in sorted(earlier, reverse=True) if _holds(rule, earlier[at], now)), None)
        if then is not None:
            out.append(Drift(rule, then, now))
    return tuple(out)


def _holds(rule: DriftRule, then: Moment, now: Moment) -> bool:
    if any(name not in moment.numbers for name in (*rule.moved, *rule.steady) for moment in (then, now)):
        return False
    moved = {name: after - before for name, (before, after) in _both(then, now).items()}
    if rule.moved.keys() <= then.fair.keys() & now.fair.keys():
        moved.pop("outdoor_temperature", None)
    tiny = 1e-9  # 0.3 - 0.1 is less than 0.2 in binary
    return (
        all(moved[name] * math.copysign(1.0, least) >= abs(least) - tiny for name, least in rule.moved.items())
        and all(abs(moved[name]) <= most + tiny for name, most in rule.steady.items())
        and all(abs(moved.get(name, 0.0)) <= most + tiny for name, most in rule.like.items())
    )


def _both(then: Moment, now: Moment) -> dict[str, tuple[float, float]]:
    """What is known at both moments; without the weather where it can be taken out of both."""
    fair = then.fair.keys() & now.fair.keys()
    return {name: (then.fair[name], now.fair[name]) if name in fair else (then.numbers[name], now.numbers[name])
            for name in now.numbers if name in then.numbers}


def weather_text(one: Drift, base: Base) -> str:
    """How the weather was taken out of a drift, or that it could not be.

    >>> from advisor.library.base import load
    >>> year = [datetime(year, 10, 1, 12, tzinfo=UTC) for year in (2025, 2026)]
    >>> moments = [Moment(year[0], {"smoke": 0.0, "co2": 12.0, "outdoor_temperature": 40.0}),
    ...            Moment(year[1], {"smoke": 2.0, "co2": 12.0})]
    >>> weather_text(drift(moments)[0], load())
    'weather not taken out: the temperature outdoors was not read on 2026-10-01'
    """
    sides = (one.then, one.now)
    kind = base.quantities["outdoor_temperature"].kind
    missing = [f"{local_time(side.at):%Y-%m-%d}" for side in sides if "outdoor_temperature" not in side.numbers]
    if missing:
        return f"weather not taken out: the temperature outdoors was not read on {' and '.join(missing)}"
    then, now = (units.format_value(side.numbers["outdoor_temperature"], kind) for side in sides)
    if set(one.rule.moved) & one.then.fair.keys() & one.now.fair.keys():
        return f"weather taken out: CO2 as it would be with outdoor air of {MILD_DAY:g} degF (it was {then}, now {now})"
    return (f"weather taken out: outdoors it was {then} then and {now} now; only days within "
            f"{_SAME_WEATHER['outdoor_temperature']:g} degF are compared")


def drift_text(one: Drift, base: Base) -> str:
    """A drift in words.

    >>> from advisor.library.base import load
    >>> year = [datetime(year, 10, 1, 12, tzinfo=UTC) for year in (2025, 2026)]
    >>> moments = [Moment(year[0], {"smoke": 0.0, "co2": 12.0}), Moment(year[1], {"smoke": 2.0, "co2": 12.0})]
    >>> print(drift_text(drift(moments)[0], load()))
    since 2025-10-01 smoke spot number up by 2 (0 to 2), with about the same carbon dioxide in the flue gas: air and \
oil mix less well than before: look at nozzle, head, pump pressure and oil
    """
    parts = []
    both = _both(one.then, one.now)
    for name, least in one.rule.moved.items():
        kind = base.quantities[name].kind
        then, now = both[name]
        # a temperature moves by a difference, which has no offset and no absolute zero
        by = units.format_value(abs(now - then), "temperature_difference" if kind == "temperature" else kind)
        way = "up" if least > 0 else "down"
        if base.quantities[name].suction:
            way = "weaker" if least > 0 else "stronger"
        parts.append(f"{base.title(name)} {way} by {by} ({units.format_value(then, kind)} to "
                     f"{units.format_value(now, kind)})")
    same = " and ".join(base.title(name) for name in one.rule.steady)
    return (f"since {local_time(one.then.at):%Y-%m-%d} {' and '.join(parts)}"
            f"{f', with about the same {same}' if same else ''}: {one.rule.says}")
