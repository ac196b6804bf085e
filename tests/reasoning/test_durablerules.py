"""Each property of durable_rules 2.0.28 that durablerules.py relies on, as measured."""

from __future__ import annotations

import subprocess
import sys
import threading
from typing import TYPE_CHECKING, Any

import pytest

from advisor.reasoning import engine as engine_module
from advisor.reasoning.engine import DURABLE, Engine, EngineError, EngineRule, compile_rules
from tests.reasoning import reference_engine
from tests.reasoning.test_engine import CASE, RULES, WHEN

if TYPE_CHECKING:
    from durable import engine as durable

    from advisor.reasoning import durablerules
else:
    durable = pytest.importorskip("durable.engine", reason="durable_rules cannot be had here", exc_type=ImportError)
    durablerules = pytest.importorskip("advisor.reasoning.durablerules")

MOST_NAMES, MOST_TESTS = durablerules.MOST_NAMES, durablerules.MOST_TESTS
MOST_RULES_A_FACT, MOST_OPEN_SESSIONS = durablerules.MOST_RULES_A_FACT, durablerules.MOST_OPEN_SESSIONS


@pytest.fixture
def engine() -> Engine:
    return compile_rules(RULES, DURABLE)


@pytest.mark.parametrize(
    ("rules", "message"),
    [
        ([EngineRule("a", tuple((f"n{i}", ("x",)) for i in range(MOST_TESTS + 1)))], "names in one `when`"),
        ([EngineRule(f"r{i}", ((f"n{i}", ("x",)),)) for i in range(MOST_NAMES + 1)], "names tested"),
        ([EngineRule("a", (("n", tuple(map(str, range(MOST_NAMES + 1)))),))], "symbols of one name"),
        ([EngineRule(f"r{i}", WHEN) for i in range(MOST_RULES_A_FACT + 1)], "rules that test one fact"),
    ],
)
def test_more_than_it_holds_is_refused_where_it_was_asked_for_and_else_taken_by_the_other(
    rules: list[EngineRule], message: str
) -> None:
    with pytest.raises(EngineError, match=f"{message}: durable_rules takes at most"):
        compile_rules(rules, DURABLE)
    facts = list(dict.fromkeys((name, symbol) for rule in rules for name, any_of in rule.when for symbol in any_of))
    assert compile_rules(rules).run(facts) == reference_engine.run(rules, facts)


def test_a_case_on_which_nothing_fires_can_be_deleted() -> None:
    """Upstream, a state in which no action ever ran frees unset pointers when deleted, and the process dies.

    In a process of its own, with freed and fresh memory filled with garbage (glibc's MALLOC_PERTURB_).
    """
    program = (
        "from advisor.reasoning.engine import EngineRule, compile_rules\n"
        "rules = [EngineRule(f'r{i}', (('a', ('x',)), (f'b{i}', ('y',)))) for i in range(20)]\n"
        "engine = compile_rules(rules, 'durable_rules')\n"
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


def states_held(engine: Any) -> list[str]:
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
    assert compile_rules(rules, DURABLE).run(facts) == reference_engine.run(rules, facts)


def test_more_facts_than_tests_side_by_side() -> None:
    """1,000 different facts are tested: with one property a fact, durable_rules would never return."""
    rules = tuple(EngineRule(f"r{n}-{s}", ((f"n{n}", (f"s{s}",)),)) for n in range(200) for s in range(5))
    facts = [(f"n{n}", f"s{n % 5}") for n in range(200)]
    assert compile_rules(rules).run(facts) == reference_engine.run(rules, facts)


def test_too_many_open_sessions_are_refused() -> None:
    """durable_rules fails with MemoryError near 1,000 states."""
    small = compile_rules([EngineRule("a", WHEN)], DURABLE)
    sessions = [small.session([]) for _ in range(MOST_OPEN_SESSIONS)]
    for session in sessions:
        session.__enter__()
    with pytest.raises(EngineError, match="open already"), small.session([]):
        pass
    for session in sessions:
        session.__exit__(None, None, None)
    assert small.open_sessions == 0
    assert len(small.run([("smoke", "heavy")])) == 1


def test_only_this_module_imports_durable_rules() -> None:
    from pathlib import Path

    advisor = Path(engine_module.__file__).parents[1]
    importers = [path.name for path in advisor.rglob("*.py") if "from durable" in path.read_text(encoding="utf-8")]
    assert importers == ["durablerules.py"]
