"""What engine.py promises, and each property of durable_rules 2.0.28 that it relies on (as measured)."""

from __future__ import annotations

import subprocess
import sys
import threading
from typing import Any

import pytest
from durable import engine as durable

from advisor.reasoning import engine as engine_module
from advisor.reasoning.engine import (
    MOST_NAMES,
    MOST_OPEN_SESSIONS,
    MOST_RULES_A_FACT,
    MOST_TESTS,
    Engine,
    EngineError,
    EngineRule,
    Fact,
    Firing,
    compile_rules,
    conclusions,
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


@pytest.fixture
def engine() -> Engine:
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


def test_no_rules_no_facts() -> None:
    empty = compile_rules([])
    assert empty.run([("smoke", "heavy")]) == ()
    with empty.session([]) as session:
        assert session.ahead([("smoke", "heavy")]) == ()
    assert compile_rules(RULES).run([]) == ()


def test_a_case_on_which_nothing_fires_can_be_deleted() -> None:
    """Upstream, a state in which no action ever ran frees unset pointers when deleted, and the process dies.

    In a process of its own, with freed and fresh memory filled with garbage (glibc's MALLOC_PERTURB_).
    """
    program = (
        "from advisor.reasoning.engine import EngineRule, compile_rules\n"
        "rules = [EngineRule(f'r{i}', (('a', ('x',)), (f'b{i}', ('y',)))) for i in range(20)]\n"
        "engine = compile_rules(rules)\n"
        "print([engine.run([('a', 'x')]) for _ in range(3)])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program],
        capture_output=True,
        text=True,
        check=False,
        env={"MALLOC_PERTURB_": "165", "PYTHONPATH": ":".join(filter(None, sys.path)) or "."},
    )
    assert (done.returncode, done.stdout) == (0, "[(), (), ()]\n"), done.stderr


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


def test_rules_that_conclude_each_other_come_to_an_end() -> None:
    rules = (
        EngineRule("there", (("a", ("x",)),), (("b", "y"),)),
        EngineRule("back", (("b", ("y",)),), (("a", "x"), ("b", "y"))),
    )
    assert [firing.rule for firing in compile_rules(rules).run([("b", "y")])] == ["back", "there"]


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


def test_the_host_starts_no_timer_threads(engine: Engine) -> None:
    assert not [thread for thread in threading.enumerate() if isinstance(thread, threading.Timer)]


def resident_megabytes() -> float:
    with open("/proc/self/statm", encoding="ascii") as statm:
        return int(statm.read().split()[1]) * 4096 / 1e6


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads the resident memory from /proc")
def test_two_thousand_runs_leave_no_state_behind(engine: Engine) -> None:
    """A state left behind takes over 50 kB even with three rules: 2,000 of them would show."""
    for _ in range(50):
        engine.run(CASE)
    before = resident_megabytes()
    for _ in range(2000):
        engine.run([*CASE, ("stack", "high")])
    assert resident_megabytes() - before < 30
    assert engine.open_sessions == 0
    assert states_held(engine) == []


def states_held(engine: Engine) -> list[str]:
    """Ids among the last 2,100 whose state durable_rules still holds."""
    newest = int(next(engine._sids))
    held = []
    for number in range(max(0, newest - 2100), newest):
        try:
            engine._host.get_state(engine._ruleset, f"c{number}")
        except Exception:  # error 309, no such sid
            continue
        held.append(f"c{number}")
    return held


class BoomError(Exception):
    pass


@pytest.fixture
def failing_action(monkeypatch: pytest.MonkeyPatch) -> type[BaseException]:
    def fail(self: Any, *args: Any) -> None:
        raise BoomError("from inside an action")

    monkeypatch.setattr(durable.Closure, "assert_fact", fail)
    return BoomError


def test_an_exception_inside_an_action_is_raised_after_the_run(
    engine: Engine, failing_action: type[BaseException]
) -> None:
    """durable_rules swallows it."""
    with pytest.raises(failing_action, match="inside an action"):
        engine.run(CASE)
    assert engine.open_sessions == 0
    assert states_held(engine) == []


def test_after_an_error_the_session_is_over_and_the_engine_goes_on(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = engine.run(CASE)
    with engine.session([("smoke", "some")]) as session:
        with monkeypatch.context() as patch:
            patch.setattr(durable.Closure, "assert_fact", lambda self, fact: 1 / 0)
            with pytest.raises(ZeroDivisionError):
                session.ahead([("draft_drop", "high")])
        with pytest.raises(EngineError, match="has ended"):
            session.ahead([("draft_drop", "high")])
    assert engine.run(CASE) == expected
    assert states_held(engine) == []


def test_an_interrupt_inside_an_action_is_raised(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupt(self: Any, fact: Any) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(durable.Closure, "assert_fact", interrupt)
    with pytest.raises(KeyboardInterrupt):
        engine.run(CASE)


def test_an_interrupt_inside_durable_rules_leaves_its_state_alone(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Touching a state with actions still to run can crash the process."""

    def interrupt(self: Any, *args: Any) -> None:
        raise KeyboardInterrupt

    expected = engine.run(CASE)
    with monkeypatch.context() as patch:
        patch.setattr(durable.Ruleset, "_flush_actions", interrupt)
        with pytest.raises(KeyboardInterrupt):
            engine.run(CASE)
    assert engine.open_sessions == 0
    assert engine.run(CASE) == expected


def test_a_stall_is_an_error_not_a_short_answer(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    """durable_rules drops an action that took over 10 s, and all that would follow, without a word."""
    clock = iter(range(0, 10_000, 11))
    with monkeypatch.context() as patch:
        patch.setattr(durable, "_unix_now", lambda: next(clock))
        with pytest.raises(EngineError, match="stalled"):
            engine.run(CASE)


def test_an_action_with_two_parameters_would_be_taken_for_asynchronous() -> None:
    """Why an action here is a closure with one parameter."""
    assert durable.Promise(lambda c: None)._sync
    assert not durable.Promise(lambda c, i=0: None)._sync


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
        ([EngineRule("a", tuple((f"n{i}", ("x",)) for i in range(MOST_TESTS + 1)))], "names in one `when`"),
        ([EngineRule(f"r{i}", ((f"n{i}", ("x",)),)) for i in range(MOST_NAMES + 1)], "names tested"),
        ([EngineRule("a", (("n", tuple(map(str, range(MOST_NAMES + 1)))),))], "symbols of one name"),
        ([EngineRule(f"r{i}", WHEN) for i in range(MOST_RULES_A_FACT + 1)], "rules that test one fact"),
    ],
)
def test_wrong_rules_are_refused(rules: list[EngineRule], message: str) -> None:
    with pytest.raises(EngineError) as caught:
        compile_rules(rules)
    assert message in str(caught.value)


@pytest.mark.parametrize(
    "rules",
    [
        (EngineRule("a", tuple((f"n{i}", ("x",)) for i in range(MOST_TESTS))),),
        tuple(EngineRule(f"r{i}", ((f"n{i}", ("x",)),)) for i in range(MOST_NAMES)),
        (EngineRule("a", (("n", tuple(map(str, range(MOST_NAMES)))),)),),
        tuple(EngineRule(f"r{i}", WHEN) for i in range(MOST_RULES_A_FACT)),
    ],
    ids=["names in one `when`", "names tested", "symbols of one name", "rules that test one fact"],
)
def test_rules_at_the_limits_run_right(rules: tuple[EngineRule, ...]) -> None:
    facts = list(dict.fromkeys((name, symbol) for rule in rules for name, any_of in rule.when for symbol in any_of))
    assert compile_rules(rules).run(facts) == reference_engine.run(rules, facts)


def test_more_facts_than_tests_side_by_side() -> None:
    """1,000 different facts are tested: with one property a fact, durable_rules would never return."""
    rules = tuple(EngineRule(f"r{n}-{s}", ((f"n{n}", (f"s{s}",)),)) for n in range(200) for s in range(5))
    facts = [(f"n{n}", f"s{n % 5}") for n in range(200)]
    assert compile_rules(rules).run(facts) == reference_engine.run(rules, facts)


def test_too_many_open_sessions_are_refused() -> None:
    """durable_rules fails with MemoryError near 1,000 states."""
    small = compile_rules([EngineRule("a", WHEN)])
    sessions = [small.session([]) for _ in range(MOST_OPEN_SESSIONS)]
    for session in sessions:
        session.__enter__()
    with pytest.raises(EngineError, match="open already"), small.session([]):
        pass
    for session in sessions:
        session.__exit__(None, None, None)
    assert small.open_sessions == 0
    assert len(small.run([("smoke", "heavy")])) == 1


def test_conclusions() -> None:
    fired = [Firing(DROP.name, (("draft_drop", "high"), ("smoke", "some"))), Firing(HOT.name, ())]
    assert conclusions(RULES, fired) == {("gas_passages", "restricted")}
    assert conclusions(RULES, []) == frozenset()


def test_only_this_module_imports_durable_rules() -> None:
    from pathlib import Path

    advisor = Path(engine_module.__file__).parents[1]
    importers = [path.name for path in advisor.rglob("*.py") if "from durable" in path.read_text(encoding="utf-8")]
    assert importers == ["engine.py"]
