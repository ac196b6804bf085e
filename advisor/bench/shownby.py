"""What a cause shows that the model unit cannot play, drawn from its own knowledge: its confirming rule and its chain.

What its knowledge does not speak of is as on the sound model unit, so that the readings of a call fit each other.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

from advisor.bench.callitems import Given
from advisor.library.base import Base
from advisor.library.items import Cause, Observation, Quantity, fits
from advisor.physics import units
from advisor.reasoning.derive import limit_value


def shown_by(base: Base, cause: Cause, equipment: Mapping[str, str], seed: int) -> tuple[Given, ...]:
    """What looks and readings give where a cause is there and far gone.

    Parameters
    ----------
    equipment : mapping of str to str
        What is installed, by name.
    seed : int
        The same gives the same.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> cause = load().causes["blower-belt-slack-or-broken"]
    >>> any(one.cause == cause.name for one in shown_by(load(), cause, {"appliance": "furnace"}, 1))
    True
    """
    rng = random.Random(f"{cause.name} {seed}")
    symbols: dict[str, str] = {}
    confirming = [rule for rule in base.rules_about[cause.name] if cause.name in rule.confirms
                  and fits({name: allowed for name, allowed in rule.when.items() if name in base.equipment}, equipment)]
    if confirming:
        for name, allowed in rng.choice(confirming).when.items():
            symbols[name] = rng.choice(allowed)
    for link in cause.chain:
        # The first level is the one that is met most; a normal one after it is that of a fault that has only begun.
        symbols.setdefault(link.moves, link.to[0] if len(link.to) < 2 or rng.random() < 0.7 else rng.choice(link.to))
    complaint = _complaint(cause, rng)
    if complaint:
        symbols["complaint"] = complaint
    out = []
    for name, symbol in symbols.items():
        item = base.named.get(name)
        if name in base.equipment or not isinstance(item, Quantity | Observation) or not fits(item.only, equipment):
            continue
        typed = symbol if isinstance(item, Observation) else value_in(base, item, symbol, equipment, rng)
        if typed:
            out.append(Given(name, typed, cause.name))
    return tuple(out)


def _complaint(cause: Cause, rng: random.Random) -> str:
    """What a customer calls about, by how much of the calls about it the cause is; not the yearly service where there
    is anything else."""
    shares = {name: share for name, share in cause.calls.items() if name != "routine"} or dict(cause.calls)
    return rng.choices(list(shares), list(shares.values()))[0] if shares else ""


def value_in(base: Base, item: Quantity, band: str, equipment: Mapping[str, str], rng: random.Random) -> str:
    """A value within a band of a reading, as it is typed; empty for what is computed, or has no such band.

    >>> from advisor.library.base import load
    >>> value_in(load(), load().quantities["smoke"], "heavy", {}, random.Random(1))
    '4.5'
    """
    if item.derived or band not in item.bands:
        return ""
    low, high = item.plausible
    for limit in base.limits_of[item.name]:
        edge, _ = limit_value(limit, equipment, {})
        if limit.below == band:
            high = edge
        if limit.above == band:
            low = edge
    middle, reach = 0.5 * (low + high), 0.2 * (high - low)
    # A band that has no end but what is plausible at all is met near the limit where it begins.
    order = list(item.bands)
    if band == order[-1] and len(order) > 1:
        middle, reach = low + 0.25 * (high - low), 0.1 * (high - low)
    elif band == order[0] and len(order) > 1:
        middle, reach = high - 0.25 * (high - low), 0.1 * (high - low)
    value = middle + reach * (2.0 * rng.random() - 1.0)
    text = units.format_value(value, item.kind)
    return f"+{text}" if item.suction and value > 0 else text
