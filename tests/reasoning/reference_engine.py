"""A naive evaluator for the tests: tries every rule on every combination of facts until nothing is new."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import product

from advisor.reasoning.engine import EngineRule, Fact, Firing


def run(rules: Iterable[EngineRule], facts: Iterable[Fact]) -> tuple[Firing, ...]:
    """What `Engine.run` should return, the slow and obvious way."""
    rules = list(rules)
    known = set(facts)
    while True:
        fired = {
            Firing(rule.name, match)
            for rule in rules
            for match in product(
                *([(name, symbol) for symbol in set(any_of) if (name, symbol) in known] for name, any_of in rule.when)
            )
        }
        names = {firing.rule for firing in fired}
        after = known | {fact for rule in rules if rule.name in names for fact in rule.concludes}
        if after == known:
            return tuple(sorted(fired))
        known = after


def ahead(rules: Iterable[EngineRule], facts: Iterable[Fact], further: Iterable[Fact]) -> tuple[Firing, ...]:
    """What `Session.ahead` should return: with the further facts, less without them."""
    rules, facts = list(rules), list(facts)
    return tuple(sorted(set(run(rules, [*facts, *further])) - set(run(rules, facts))))
