"""Both evaluators against two others: a naive loop to a fixed point, and CLIPS.

Each registration of rules costs memory for good, so a fixed pool of random rule bases is built once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.reasoning.engine import PLAIN, Engine, EngineRule, Fact, compile_rules, conclusions
from tests.reasoning import reference_engine
from tests.reasoning.clips_engine import ClipsEngine

SYMBOLS = ("very-low", "low", "normal", "high", "very-high", "oily")
POOL = range(12)


def random_rules(seed: int, how_many: int | None = None) -> tuple[EngineRule, ...]:
    """A rule base of 5 to 60 rules; some chain, some conclude what is also entered, some circle."""
    rng = Random(seed)
    how_many = how_many or rng.randint(5, 60)
    names = [f"reading_{i}" for i in range(max(5, how_many // 3))] + [f"state_{i}" for i in range(5)]
    rules = []
    for number in range(how_many):
        chosen = rng.sample(names, rng.choice([1, 1, 2, 2, 3, 4]))
        when = tuple((name, tuple(rng.sample(SYMBOLS, rng.choice([1, 1, 2, 3])))) for name in chosen)
        outcome = [(rng.choice(names[-7:]), rng.choice(SYMBOLS)) for _ in range(rng.choice([0, 0, 1, 1, 2]))]
        rules.append(EngineRule(f"rule-{number}", when, tuple(dict.fromkeys(outcome))))
    return tuple(rules)


def facts_of(rules: Iterable[EngineRule]) -> list[Fact]:
    """Every fact that a case for these rules could hold, and a few that no rule tests."""
    names = dict.fromkeys(name for rule in rules for name, _ in rule.when)
    return [(name, symbol) for name in (*names, "untested") for symbol in SYMBOLS]


@cache
def engines(seed: int) -> tuple[tuple[EngineRule, ...], Engine, ClipsEngine]:
    rules = random_rules(seed)
    return rules, compile_rules(rules), ClipsEngine(rules)


def check_case(
    rules: Sequence[EngineRule],
    engine: Engine,
    clips: ClipsEngine,
    facts: list[Fact],
    further: list[list[Fact]],
) -> None:
    """One case: all four engines agree on it, and on every look-ahead from it. For any rule base."""
    expected = reference_engine.run(rules, facts)
    assert clips.run(facts) == expected
    assert [clips.ahead(more) for more in further] == [reference_engine.ahead(rules, facts, more) for more in further]
    for one in (engine, compile_rules(rules, PLAIN)):
        with one.session(facts) as session:
            assert session.firings == expected
            for more in further:
                assert session.ahead(more) == reference_engine.ahead(rules, facts, more)
            for more in reversed(further):  # again, in another order: the first round left no trace
                assert session.ahead(more) == reference_engine.ahead(rules, facts, more)
        assert one.open_sessions == 0


def test_both_evaluators_fire_alike_on_many_cases() -> None:
    """Firing by firing, with a look-ahead each. Where durable_rules cannot be had, the naive loop stands for it."""
    rng = Random(15)
    for number in range(1_500):
        rules, engine, _ = engines(rng.choice(POOL))
        possible = facts_of(rules)
        facts, more = rng.sample(possible, rng.randint(0, min(25, len(possible)))), rng.sample(possible, 2)
        with engine.session(facts) as one, compile_rules(rules, PLAIN).session(facts) as other:
            assert other.firings == one.firings, number
            assert other.ahead(more) == one.ahead(more), number
            if type(one) is type(other):
                assert other.firings == reference_engine.run(rules, facts), number


@st.composite
def cases(draw: st.DrawFn) -> tuple[int, list[Fact], list[list[Fact]]]:
    """A rule base, facts (sometimes two symbols for a name, sometimes one fact twice) and further facts."""
    seed = draw(st.sampled_from(POOL))
    possible = st.sampled_from(facts_of(engines(seed)[0]))
    facts = draw(st.lists(possible, max_size=25))
    further = draw(st.lists(st.lists(possible, min_size=1, max_size=4), max_size=6))
    return seed, facts, further


@settings(max_examples=50, deadline=None)
@given(cases())
def test_agrees_with_the_naive_loop_and_with_clips(case: tuple[int, list[Fact], list[list[Fact]]]) -> None:
    seed, facts, further = case
    check_case(*engines(seed), facts, further)


@settings(max_examples=25, deadline=None)
@given(cases(), st.randoms(use_true_random=False))
def test_order_of_entry_changes_nothing(case: tuple[int, list[Fact], list[list[Fact]]], rng: Random) -> None:
    seed, facts, _ = case
    _, engine, _ = engines(seed)
    shuffled = rng.sample(facts, len(facts))
    assert engine.run(shuffled) == engine.run(facts)


@settings(max_examples=25, deadline=None)
@given(cases(), st.integers(min_value=0))
def test_entering_one_by_one_or_at_once_gives_the_same(
    case: tuple[int, list[Fact], list[list[Fact]]], cut: int
) -> None:
    seed, facts, _ = case
    _, engine, _ = engines(seed)
    cut %= len(facts) + 1
    with engine.session(facts[:cut]) as session:
        both = {*session.firings, *session.ahead(facts[cut:])}
    assert tuple(sorted(both)) == engine.run(facts)


@settings(max_examples=25, deadline=None)
@given(cases())
def test_conclusions_are_the_fixed_point(case: tuple[int, list[Fact], list[list[Fact]]]) -> None:
    """Asserting what was concluded adds nothing."""
    seed, facts, _ = case
    rules, engine, _ = engines(seed)
    firings = engine.run(facts)
    concluded = conclusions(rules, firings)
    assert engine.run([*facts, *sorted(concluded)]) == firings


@pytest.mark.parametrize("seed", [0])
def test_a_large_base_on_many_cases(seed: int) -> None:
    """300 rules, full cases of about 30 facts: the size of real use."""
    rules = random_rules(1000 + seed, how_many=300)
    engine, clips = compile_rules(rules), ClipsEngine(rules)
    rng, possible = Random(seed), facts_of(rules)
    chained = 0
    for _ in range(25):
        facts = rng.sample(possible, 30)
        chained += len(conclusions(rules, engine.run(facts)))
        check_case(rules, engine, clips, facts, [rng.sample(possible, rng.choice([1, 2])) for _ in range(10)])
    assert chained > 100  # the cases do exercise chaining
