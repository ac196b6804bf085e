"""The evaluator of durable_rules, and all that is known of how to use it without harm.

This is the only module that knows durable_rules. It uses the part of that engine which never gave a wrong
firing when measured against two other evaluators: facts are a name and a symbol, a pattern tests one fact
against constants, a rule is a conjunction of patterns on different names, and nothing is negated.

Inside the engine, names and symbols are replaced by short codes (`n3`, `s7`), so no text from a rule file
can collide with a word that the engine keeps for itself (`sid`, `id`, anything with `$`).

Registering rules costs memory that durable_rules never gives back; `engine.compile_rules` therefore registers the
same rules once a process. Not safe for threads: one process, one caller at a time.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from itertools import count
from typing import Any, Final

from durable import engine as durable

from advisor.reasoning.engine import Engine, EngineError, EngineRule, Fact, Firing, Session, checked_fact, in_order

MOST_OPEN_SESSIONS: Final = 100
"""Sessions of one engine open at once. Each holds about 1.4 MB; durable_rules fails near 1,000."""

# What durable_rules 2.0.28 can hold; beyond, it fails, or never returns.
MOST_NAMES: Final = 500  # tested by all rules together, and symbols of one name
MOST_TESTS: Final = 16  # names in the `when` of one rule
MOST_RULES_A_FACT: Final = 256  # rules that test one fact

_BEGIN: Final = {"id": "begin", "begin": "begin"}


class DurableEngine(Engine):
    """Compiled rules. Made by `compile_rules`; holds nothing of any case between runs."""

    def __init__(self, rules: tuple[EngineRule, ...], ruleset: str) -> None:
        super().__init__(rules)
        self._ruleset = ruleset
        self._host = _Host()
        self._sids = count()
        self._live: dict[str, DurableSession] = {}
        # Only facts that some rule tests ever enter the engine: the others could not match anything.
        tested = [(name, symbol) for rule in rules for name, any_of in rule.when for symbol in any_of]
        names = {name: f"n{i}" for i, name in enumerate(dict.fromkeys(name for name, _ in tested))}
        symbols = {text: f"s{i}" for i, text in enumerate(dict.fromkeys(text for _, text in tested))}
        # Two properties a fact, because durable_rules holds at most 511 different tests side by side (with
        # more it fails or never returns): first the name, then, under each name, its symbols.
        # An id of its own for each, because durable_rules else tells messages apart by a hash of 32 bits of all that
        # they hold: one session in millions would take two different facts for one.
        self._contents = {(name, text): {"id": f"i{i}", names[name]: "", "is": symbols[text]}
                          for i, (name, text) in enumerate(dict.fromkeys(tested))}
        if rules:
            definition = {f"r{number}": self._definition(rule) for number, rule in enumerate(rules)}
            definition["begin"] = {"all": [{"f0": {"begin": _BEGIN["begin"]}}], "run": _do_nothing}
            self._host.register_rulesets({ruleset: definition})

    @property
    def open_sessions(self) -> int:
        """How many sessions are open now; 0 between runs."""
        return len(self._live)

    @contextmanager
    def session(self, facts: Iterable[Fact]) -> Iterator[DurableSession]:
        """A state of durable_rules; errors: `EngineError` with `MOST_OPEN_SESSIONS` open."""
        if len(self._live) >= MOST_OPEN_SESSIONS:
            raise EngineError(f"{MOST_OPEN_SESSIONS} sessions are open already: close some first")
        sid = f"c{next(self._sids)}"  # never used twice, so nothing of an earlier run is met
        session = DurableSession(self, sid)
        self._live[sid] = session
        try:
            if self.rules:
                session._begin()
            session.firings = session._enter(facts)
            yield session
        finally:
            del self._live[sid]
            session._close()

    def _definition(self, rule: EngineRule) -> dict[str, Any]:
        """The rule in durable_rules' own words: one pattern a name, alternatives inside the pattern."""
        patterns = []
        for place, (name, any_of) in enumerate(rule.when):
            contents = [self._contents[name, symbol] for symbol in dict.fromkeys(any_of)]
            of_name = {key: "" for key in contents[0] if key not in ("id", "is")}
            any_symbol = [{"is": content["is"]} for content in contents]
            of_symbol = any_symbol[0] if len(any_symbol) == 1 else {"$or": any_symbol}
            patterns.append({f"f{place}": {"$and": [of_name, of_symbol]}})
        return {"all": patterns, "run": self._action(rule)}

    def _action(self, rule: EngineRule) -> Callable[[Any], None]:
        """What durable_rules calls when the rule fires.

        It must have exactly one parameter: two would mark it as asynchronous.
        """
        patterns = [
            (f"f{place}", {self._contents[name, symbol]["is"]: (name, symbol) for symbol in any_of})
            for place, (name, any_of) in enumerate(rule.when)
        ]

        def fire(closure: Any) -> None:
            session = self._live[closure.s.sid]
            if session._error is not None:
                return
            try:
                matched = tuple(facts[getattr(closure, key)["is"]] for key, facts in patterns)
                session._fired.append(Firing(rule.name, matched))
                for fact in rule.concludes:
                    if session._is_news(fact):
                        closure.assert_fact(session._message(self._contents[fact]))
            except BaseException as error:  # durable_rules would swallow it, even Ctrl-C; `_tell` raises it
                session._error = error

        return fire


class DurableSession(Session):
    """One case in the engine: what fired on its facts, and what would fire on further ones.

    Made by `Engine.session`; of no use once that has ended.
    """

    def __init__(self, engine: DurableEngine, sid: str) -> None:
        self.firings: tuple[Firing, ...] = ()
        self._engine = engine
        self._sid = sid
        self._asserted: dict[Fact, None] = {}  # in the order of assertion: retracted from its end
        self._fired: list[Firing] = []
        self._error: BaseException | None = None
        self._began = False  # durable_rules makes a state at the first fact; before, it has none to delete
        self._idle = True  # false while durable_rules works for us, and after it was cut short

    def ahead(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """The new firings that these further facts would cause, chained ones included: sorted, each once.

        The session is afterwards as it was before. A fact that holds already causes nothing.
        Errors: `EngineError` for a fact that is not a pair of strings, and in a session that has ended.
        """
        if self._engine._live.get(self._sid) is not self or self._error or not self._idle:
            raise EngineError("this session has ended: look ahead inside its `with` block")
        before = len(self._asserted)
        firings = self._enter(facts)
        while len(self._asserted) > before:
            fact, _ = self._asserted.popitem()
            self._tell(self._engine._host.retract_fact, self._engine._contents[fact])
        return firings

    def _begin(self) -> None:
        """Make one action run before anything else.

        durable_rules 2.0.28 leaves two pointers of a new state unset until its first action has run, and
        frees whatever they hold when the state is deleted: a case on which no rule fires would crash.
        """
        self._tell(self._engine._host.assert_fact, _BEGIN)

    def _enter(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """Assert these facts from outside, let everything fire, and return what did."""
        checked = [checked_fact(fact) for fact in facts]  # all of them first, so a bad one leaves no trace
        self._fired.clear()
        host = self._engine._host
        for fact in checked:
            if self._is_news(fact):
                self._tell(host.assert_fact, self._engine._contents[fact])
        return in_order(self._fired)

    def _is_news(self, fact: Fact) -> bool:
        """Note a fact as asserted; false if it holds already or if no rule tests it.

        For either, durable_rules would raise an exception (message observed, message not handled).
        """
        if fact in self._asserted or fact not in self._engine._contents:
            return False
        self._asserted[fact] = None
        return True

    def _tell(self, verb: Callable[[str, dict[str, str]], Any], content: dict[str, str]) -> None:
        """Assert or retract from outside; durable_rules returns when every action that follows has run."""
        self._began = True
        self._idle = False
        state = verb(self._engine._ruleset, self._message(content))
        if state == 0:  # durable_rules gives up on an action that took over 10 s, and says so only like this
            raise EngineError("the engine stalled for over 10 s: run the case again")
        self._idle = True
        if self._error is None and state and "exception" in state:  # swallowed outside of our own `try`
            self._error = EngineError(f"the engine failed: {state['exception']}")
        if self._error is not None:
            raise self._error

    def _message(self, content: dict[str, str]) -> dict[str, str]:
        return {**content, "sid": self._sid}

    def _close(self) -> None:
        """Delete the case's state, if it has one.

        A run cut short inside durable_rules (Ctrl-C at that moment) has actions still to run. Touching its
        state again can crash the process, so it stays behind: 1.4 MB, once.
        """
        if self._began and self._idle:
            self._engine._host.delete_state(self._engine._ruleset, self._sid)


class _Host(durable.Host):  # type: ignore[misc]  # durable_rules has no types
    """A host without the two timer threads, which would race with the caller; no rule here uses timers."""

    def _run(self) -> None:
        pass


def _do_nothing(closure: Any) -> None:
    pass


def too_large(rules: tuple[EngineRule, ...]) -> str:
    """What durable_rules cannot hold of these rules, in words; empty where it can hold all."""
    facts = Counter((name, symbol) for rule in rules for name, any_of in rule.when for symbol in set(any_of))
    symbols = Counter(name for name, _ in facts)
    largest = [
        ("names in one `when`", MOST_TESTS, max((len(rule.when) for rule in rules), default=0)),
        ("names tested", MOST_NAMES, len(symbols)),
        ("symbols of one name", MOST_NAMES, max(symbols.values(), default=0)),
        ("rules that test one fact", MOST_RULES_A_FACT, max(facts.values(), default=0)),
    ]
    for what, most, found in largest:
        if found > most:
            return f"{found} {what}: durable_rules takes at most {most}"
    return ""
