"""The engine on our own rules: the same firings as a naive evaluator and as CLIPS, look-aheads included."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.library.base import load
from advisor.reasoning.assess import engine_of
from advisor.reasoning.engine import DURABLE, Engine, Fact, compile_rules
from tests.reasoning.clips_engine import ClipsEngine
from tests.reasoning.test_engine_agrees import check_case


@cache
def engines() -> tuple[Engine, ClipsEngine]:
    engine = engine_of(load())
    return engine, ClipsEngine(engine.rules)


@cache
def possible_facts() -> list[Fact]:
    base = load()
    return [(name, symbol) for name, item in base.named.items() for symbol in item.symbols]


@settings(max_examples=20, deadline=None)
@given(st.lists(st.sampled_from(possible_facts()), max_size=40),
       st.lists(st.lists(st.sampled_from(possible_facts()), min_size=1, max_size=3), max_size=4))
def test_our_rules_fire_as_elsewhere(facts: list[Fact], further: list[list[Fact]]) -> None:
    engine, clips = engines()
    check_case(engine.rules, engine, clips, facts, further)


def test_no_two_facts_are_taken_for_one() -> None:
    """durable_rules tells messages apart by 32 bits: of an id where there is one, else of all that they hold with the
    session's name. Without ids an air shutter as tagged and a dry chamber were one fact in the 89,333rd session.
    """
    pytest.importorskip("durable.engine", exc_type=ImportError)
    from advisor.reasoning import durablerules

    engine = compile_rules(engine_of(load()).rules, DURABLE)
    assert isinstance(engine, durablerules.DurableEngine)
    with engine.session(engine._contents) as session:
        assert len(session._asserted) == len(engine._contents)
    ids = [content["id"] for content in engine._contents.values()]
    assert len(set(ids)) == len(ids)
