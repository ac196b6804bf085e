"""What engine.py promises, of both evaluators."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.reasoning.engine import (
    CHOICE,
    DURABLE,
    PLAIN,
    Engine,
    EngineError,
    EngineRule,
    Fact,
    Firing,
    compile_rules,
    conclusions,
    evaluator_named,
)
from tests.reasoning import reference_engine

DROP = EngineRule(
    "drop-shows-restriction",
    (("draft_drop", ("high", "very-high")), ("smoke", ("some", "heavy"))),
    (("gas_passages", "restricted"),),
)
HOT = EngineRule("restricted-and-hot", (("gas_passages", ("restricted",)), ("stack", ("high",))))
COUGH = EngineRule("heavy-smoke", (("smoke", ("heavy",)),), (("flame", "starved"),))
RULES = (DROP, HOT, COUGH)
CASE: list[Fact] = [("draft_drop", "high"), ("smoke", "some")]


@pytest.fixture(params=[DURABLE, PLAIN])
def evaluator(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Each evaluator in turn, where it can be had."""
    if request.param == DURABLE and evaluator_named() != DURABLE:
        pytest.skip("durable_rules cannot be imported on this Python")
    monkeypatch.setenv(CHOICE, request.param)
    return str(request.param)


@pytest.fixture
def engine(evaluator: str) -> Engine:
    return compile_rules(RULES)


def test_chains_through_conclusions(engine: Engine) -> None:
    assert engine.run([*CASE, ("stack", "high")]) == (
        Firing("drop-shows-restriction", (("draft_drop", "high"), ("smoke", "some"))),
        Firing("restricted-and-hot", (("gas_passages", "restricted"), ("stack", "high"))),
    )


def test_two_symbols_of_one_name_fire_each_combination(engine: Engine) -> None:
    fired = engine.run([("draft_drop", "high"), ("draft_drop", "very-high"), ("smoke", "some"), ("smoke", "heavy")])
    assert [firing.facts for firing in fired if firing.rule == DROP.name] == [
        (("draft_drop", drop), ("smoke", smoke)) for drop in ("high", "very-high") for smoke in ("heavy", "some")
    ]


@pytest.mark.usefixtures("evaluator")
def test_two_rules_may_conclude_different_symbols_of_one_condition() -> None:
    rules = (
        EngineRule("a", (("x", ("1",)),), (("state", "lean"), ("state", "rich"))),
        EngineRule("b", (("state", ("lean", "rich")),)),
    )
    fired = compile_rules(rules).run([("x", "1")])
    assert [firing.facts for firing in fired if firing.rule == "b"] == [
        (("state", "lean"),),
        (("state", "rich"),),
    ]


@pytest.mark.usefixtures("evaluator")
def test_no_rules_no_facts() -> None:
    empty = compile_rules([])
    assert empty.run([("smoke", "heavy")]) == ()
    with empty.session([]) as session:
        assert session.ahead([("smoke", "heavy")]) == ()
    assert compile_rules(RULES).run([]) == ()


def test_a_fact_given_twice_or_concluded_twice_is_one_fact(engine: Engine) -> None:
    """durable_rules would raise MessageObservedException."""
    assert engine.run([*CASE, *CASE, ("gas_passages", "restricted")]) == engine.run(CASE)
    same = (("gas_passages", "restricted"),)
    rules = (EngineRule("one", (("a", ("x",)),), same), EngineRule("two", (("a", ("x",)),), same), HOT)
    fired = compile_rules(rules).run([("a", "x"), ("stack", "high")])
    assert [firing.rule for firing in fired] == ["one", "restricted-and-hot", "two"]


def test_facts_and_conclusions_that_no_rule_tests_do_no_harm(engine: Engine) -> None:
    """durable_rules would raise MessageNotHandledException; COUGH concludes what nothing tests."""
    assert engine.run([("smoke", "heavy"), ("weather", "cold"), ("smoke", "purple")]) == (
        Firing("heavy-smoke", (("smoke", "heavy"),)),
    )


@pytest.mark.usefixtures("evaluator")
def test_rules_that_conclude_each_other_come_to_an_end() -> None:
    rules = (
        EngineRule("there", (("a", ("x",)),), (("b", "y"),)),
        EngineRule("back", (("b", ("y",)),), (("a", "x"), ("b", "y"))),
    )
    assert [firing.rule for firing in compile_rules(rules).run([("b", "y")])] == ["back", "there"]


@pytest.mark.usefixtures("evaluator")
@pytest.mark.parametrize(
    "word", ["sid", "id", "$s", "$m", "m", "run", "all", "is", 'a"b', "1e-06", "größe", "a\\", "\n"]
)
def test_no_word_collides_with_the_engines_own(word: str) -> None:
    rules = (
        EngineRule(word, ((word, (word, "other")),), (("next", word),)),
        EngineRule("n", (("next", (word,)),)),
    )
    assert compile_rules(rules).run([(word, word)]) == reference_engine.run(rules, [(word, word)]) != ()


def test_ahead_gives_only_what_is_new_and_leaves_no_trace(engine: Engine) -> None:
    with engine.session(CASE) as session:
        hot = (Firing("restricted-and-hot", (("gas_passages", "restricted"), ("stack", "high"))),)
        for _ in range(3):
            assert session.ahead([("stack", "high")]) == hot
            assert session.ahead([("stack", "low")]) == ()
            assert session.ahead(CASE) == ()
        assert session.firings == engine.run(CASE)


def test_ahead_takes_back_what_was_derived(engine: Engine) -> None:
    with engine.session([("smoke", "some")]) as session:
        both = session.ahead([("draft_drop", "high"), ("stack", "high")])
        assert [firing.rule for firing in both] == ["drop-shows-restriction", "restricted-and-hot"]
        assert session.ahead([("stack", "high")]) == ()  # the passages are no longer concluded restricted


def test_two_sessions_do_not_mix(engine: Engine) -> None:
    with engine.session(CASE) as one, engine.session([("stack", "high")]) as other:
        assert len(one.ahead([("stack", "high")])) == 1
        assert other.ahead([("smoke", "some")]) == ()
        assert [firing.rule for firing in other.ahead([("gas_passages", "restricted")])] == [HOT.name]


def test_a_session_ends_with_its_block(engine: Engine) -> None:
    with engine.session(CASE) as session:
        pass
    with pytest.raises(EngineError, match="has ended"):
        session.ahead([("stack", "high")])


def test_the_same_rules_give_the_same_engine(engine: Engine) -> None:
    assert compile_rules(list(RULES)) is engine
    assert compile_rules(iter(RULES[:2])) is not engine
    assert engine.rules == RULES


@pytest.mark.parametrize(
    "fact", [("o2", 5.5), ("o2", 1e-06), ("o2",), ["o2", "low"], "o2", ("", "low"), None, ("a", "")]
)
def test_a_fact_that_is_not_two_strings_is_refused(engine: Engine, fact: Any) -> None:
    """Numbers in exponent form break durable_rules' reader; the text '4' would pass for a number."""
    with pytest.raises(EngineError, match="two strings"):
        engine.run([fact])
    with engine.session(CASE) as session:
        with pytest.raises(EngineError, match="two strings"):
            session.ahead([("stack", "high"), fact])
        assert len(session.ahead([("stack", "high")])) == 1  # a refused call leaves no trace


WHEN = (("smoke", ("heavy",)),)


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        ([EngineRule("", WHEN)], "non-empty string"),
        ([EngineRule(7, WHEN)], "non-empty string"),  # type: ignore[arg-type]
        ([EngineRule("a", WHEN), EngineRule("a", WHEN)], "used twice"),
        ([EngineRule("a", ())], "at least one name"),
        ([EngineRule("a", [("smoke", ("heavy",))])], "must be a tuple"),  # type: ignore[arg-type]
        ([EngineRule("a", (("smoke", ("heavy",)), ("smoke", ("some",))))], "stands twice"),
        ([EngineRule("a", (("smoke", ()),))], "symbols of 'smoke'"),
        ([EngineRule("a", (("smoke", "heavy"),))], "symbols of 'smoke'"),  # type: ignore[arg-type]
        ([EngineRule("a", (("o2", (5.5,)),))], "symbols of 'o2'"),  # type: ignore[arg-type]
        ([EngineRule("a", ((3, ("x",)),))], "(name, symbols)"),  # type: ignore[arg-type]
        ([EngineRule("a", WHEN, (("x",),))], "a conclusion"),  # type: ignore[arg-type]
        ([EngineRule("a", WHEN, (("x", 3),))], "a conclusion"),  # type: ignore[arg-type]
    ],
)
def test_wrong_rules_are_refused(rules: list[EngineRule], message: str) -> None:
    with pytest.raises(EngineError) as caught:
        compile_rules(rules)
    assert message in str(caught.value)


def test_conclusions() -> None:
    fired = [Firing(DROP.name, (("draft_drop", "high"), ("smoke", "some"))), Firing(HOT.name, ())]
    assert conclusions(RULES, fired) == {("gas_passages", "restricted")}
    assert conclusions(RULES, []) == frozenset()


def test_the_evaluator_is_chosen_by_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CHOICE, PLAIN)
    assert type(compile_rules(RULES)).__name__ == "PlainEngine"
    assert evaluator_named(PLAIN) == PLAIN
    with pytest.raises(EngineError, match="'fast' is no evaluator; there are durable_rules and plain"):
        compile_rules(RULES, "fast")


def test_where_durable_rules_cannot_be_imported_the_plain_evaluator_is_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("advisor.reasoning.engine._durable_works", lambda: False)
    assert type(compile_rules(RULES)).__name__ == "PlainEngine"
    with pytest.raises(EngineError, match="durable_rules cannot be imported here"):
        compile_rules(RULES, DURABLE)


def test_a_look_ahead_cut_short_ends_the_session(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(self: Any, fact: Fact) -> None:
        raise KeyboardInterrupt

    engine = compile_rules(RULES, PLAIN)
    with engine.session(CASE) as session:
        with monkeypatch.context() as patch:
            patch.setattr("advisor.reasoning.plainrules.PlainSession._put_in", interrupt)
            with pytest.raises(KeyboardInterrupt):
                session.ahead([("stack", "high")])
        with pytest.raises(EngineError, match="has ended"):
            session.ahead([("stack", "high")])
    assert engine.open_sessions == 0
