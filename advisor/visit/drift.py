"""What has drifted at a unit: rules between an earlier moment and the last one, with the weather taken out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from advisor.library.base import Base
from advisor.physics import units
from advisor.reasoning.case import local_time
from advisor.visit.airfigures import MILD_DAY
from advisor.visit.trend import Moment


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

    >>> from datetime import UTC, datetime
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
    >>> from datetime import UTC, datetime
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
    >>> from datetime import UTC, datetime
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
