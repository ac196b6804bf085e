"""Forward chaining over symbols: facts in, firings out.

Facts are a name and a symbol, a rule is a conjunction of tests on different names, and nothing is negated. Rules
without negation are monotone, so the order in which facts come in never changes what fires, and two evaluators give the
same firings, one by one (tested): that of durable_rules (durablerules.py), and one in plain Python (plainrules.py) for
where durable_rules cannot be had, holds too little, or is not wanted (`BURNER_ADVISOR_ENGINE=plain`).
"""

from __future__ import annotations

import os
from abc import ABC, abstractmethod
from collections.abc import Iterable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import lru_cache
from importlib.util import find_spec
from operator import attrgetter
from typing import Final

Fact = tuple[str, str]
"""A name and a symbol, for example `("draft_drop", "high")`."""

DURABLE: Final = "durable_rules"
PLAIN: Final = "plain"
CHOICE: Final = "BURNER_ADVISOR_ENGINE"
"""The environment variable that chooses the evaluator; without it, durable_rules where it works."""

_BY_RULE_AND_FACTS: Final = attrgetter("rule", "facts")


class EngineError(RuntimeError):
    """Rules or facts that the engine cannot take, or a run that did not come to its end."""


@dataclass(frozen=True, slots=True)
class EngineRule:
    """A rule as the engine sees it.

    `when` holds each name once, with the symbols of which any one will do; all names must match.
    `concludes` are the facts that hold once the rule has fired, for other rules to build on.
    """

    name: str
    when: tuple[tuple[str, tuple[str, ...]], ...]
    concludes: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Firing:
    """A rule that fired, and the facts that made it fire, in the order of the rule's `when`."""

    rule: str
    facts: tuple[Fact, ...]


class Session(ABC):
    """One case in an engine: what fired on its facts, and what would fire on further ones.

    Made by `Engine.session`; of no use once that has ended.
    """

    firings: tuple[Firing, ...] = ()

    @abstractmethod
    def ahead(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """The new firings that these further facts would cause, chained ones included: sorted, each once.

        The session is afterwards as it was before. A fact that holds already causes nothing.
        Errors: `EngineError` for a fact that is not a pair of strings, and in a session that has ended.
        """


class Engine(ABC):
    """Compiled rules. Made by `compile_rules`; holds nothing of any case between runs."""

    def __init__(self, rules: tuple[EngineRule, ...]) -> None:
        self.rules: Final = rules

    @property
    @abstractmethod
    def open_sessions(self) -> int:
        """How many sessions are open now; 0 between runs."""

    @abstractmethod
    def session(self, facts: Iterable[Fact]) -> AbstractContextManager[Session]:
        """A case held open, so that many further facts can be tried on it; see `Session.ahead`.

        Errors: `EngineError` for a fact that is not a pair of strings, or with too many sessions open.

        >>> engine = compile_rules([EngineRule("smoky", (("smoke", ("heavy",)),))])
        >>> with engine.session([("oil", "clear")]) as session:
        ...     session.firings, session.ahead([("smoke", "heavy")])
        ((), (Firing(rule='smoky', facts=(('smoke', 'heavy'),)),))
        """

    def run(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """Everything that fires on these facts and on what they lead to: sorted, each firing once.

        Errors: `EngineError` for a fact that is not a pair of strings.

        >>> engine = compile_rules([
        ...     EngineRule("drop-shows-restriction", (("draft_drop", ("high", "very-high")),),
        ...                (("gas_passages", "restricted"),)),
        ...     EngineRule("restricted-and-smoky",
        ...                (("gas_passages", ("restricted",)), ("smoke", ("heavy",)))),
        ... ])
        >>> for firing in engine.run([("smoke", "heavy"), ("draft_drop", "high")]):
        ...     print(firing.rule, firing.facts)
        drop-shows-restriction (('draft_drop', 'high'),)
        restricted-and-smoky (('gas_passages', 'restricted'), ('smoke', 'heavy'))
        """
        with self.session(facts) as session:
            return session.firings


_compiled: dict[tuple[str, tuple[EngineRule, ...]], Engine] = {}


def compile_rules(rules: Iterable[EngineRule], evaluator: str = "") -> Engine:
    """Compile rules into an engine; the same rules give the same engine for as long as the process lives.

    Parameters
    ----------
    evaluator : str
        `durable_rules` or `plain`; without it, what `evaluator_named` says, and the plain one for more rules than
        durable_rules can hold.

    Errors: `EngineError` for a rule without a name or with a name used before, for an empty `when`, a name
    twice in one `when`, a name without symbols, anything that is not a string where one belongs, and, where
    durable_rules was asked for, for more than it can hold.

    >>> compile_rules([EngineRule("a", (("smoke", ("heavy",)), ("smoke", ("some",))))])
    Traceback (most recent call last):
        ...
    advisor.reasoning.engine.EngineError: rule 'a': 'smoke' stands twice in `when`: give its symbols together
    """
    key = tuple(rules)
    seen: set[str] = set()
    for rule in key:
        _check_rule(rule)
        if rule.name in seen:
            raise EngineError(f"rule {rule.name!r}: the name is used twice: give each rule its own")
        seen.add(rule.name)
    wanted = evaluator or os.environ.get(CHOICE, "")
    chosen = evaluator_named(wanted)
    if (chosen, key) not in _compiled:
        _compiled[chosen, key] = _made(key, chosen, bool(wanted))
    return _compiled[chosen, key]


def evaluator_named(wanted: str = "") -> str:
    """Which evaluator is used: the one that is wanted, else durable_rules where it can be imported.

    Errors: `EngineError` for one that is not known, or not to be had here.

    >>> evaluator_named("plain")
    'plain'
    """
    if wanted not in ("", DURABLE, PLAIN):
        raise EngineError(f"{CHOICE}: {wanted!r} is no evaluator; there are {DURABLE} and {PLAIN}")
    if wanted == DURABLE and not _durable_works():
        raise EngineError(f"{DURABLE} cannot be imported here; install it, or take the other one: {CHOICE}={PLAIN}")
    return wanted or (DURABLE if _durable_works() else PLAIN)


@lru_cache(maxsize=1)
def _durable_works() -> bool:
    """Whether durable_rules can be imported: on Python 3.13 it can be built and not be loaded."""
    if find_spec("durable") is None:
        return False
    try:
        import advisor.reasoning.durablerules  # noqa: F401
    except ImportError:
        return False
    return True


def _made(rules: tuple[EngineRule, ...], evaluator: str, wanted: bool) -> Engine:
    """A new engine; each evaluator is imported where it is used, for durable_rules may be missing."""
    from advisor.reasoning.plainrules import PlainEngine

    if evaluator == DURABLE:
        from advisor.reasoning.durablerules import DurableEngine, too_large

        large = too_large(rules)
        if large and wanted:
            raise EngineError(f"{large}; split the rules, or take the other evaluator: {CHOICE}={PLAIN}")
        if not large:
            return DurableEngine(rules, f"rules{len(_compiled)}")
    return PlainEngine(rules)


def in_order(firings: Iterable[Firing]) -> tuple[Firing, ...]:
    """Firings by rule and facts, as every evaluator gives them."""
    return tuple(sorted(firings, key=_BY_RULE_AND_FACTS))


def conclusions(rules: Iterable[EngineRule], firings: Iterable[Firing]) -> frozenset[Fact]:
    """The facts that these firings of these rules conclude.

    >>> rule = EngineRule("drop", (("draft_drop", ("high",)),), (("gas_passages", "restricted"),))
    >>> conclusions([rule], [Firing("drop", (("draft_drop", "high"),))])
    frozenset({('gas_passages', 'restricted')})
    """
    fired = {firing.rule for firing in firings}
    return frozenset(fact for rule in rules if rule.name in fired for fact in rule.concludes)


def _check_rule(rule: EngineRule) -> None:
    if not _is_text(rule.name):
        raise EngineError(f"rule {rule.name!r}: the name must be a non-empty string")
    where = f"rule {rule.name!r}"
    if not (isinstance(rule.when, tuple) and rule.when):
        raise EngineError(f"{where}: `when` must be a tuple with at least one name, not {rule.when!r}")
    names: set[str] = set()
    for test in rule.when:
        if not (isinstance(test, tuple) and len(test) == 2 and _is_text(test[0])):
            raise EngineError(f"{where}: each test in `when` must be (name, symbols), not {test!r}")
        name, any_of = test
        if name in names:
            raise EngineError(f"{where}: {name!r} stands twice in `when`: give its symbols together")
        names.add(name)
        if not (isinstance(any_of, tuple) and any_of and all(map(_is_text, any_of))):
            raise EngineError(f"{where}: the symbols of {name!r} must be a tuple of strings, not {any_of!r}")
    if not isinstance(rule.concludes, tuple):
        raise EngineError(f"{where}: `concludes` must be a tuple of facts, not {rule.concludes!r}")
    for fact in rule.concludes:
        if not _is_fact(fact):
            raise EngineError(f"{where}: a conclusion must be (name, symbol), two strings, not {fact!r}")


def checked_fact(fact: Fact) -> Fact:
    """The fact itself; `EngineError` where it is none."""
    if not _is_fact(fact):
        raise EngineError(f"a fact must be (name, symbol), two strings, not {fact!r}: use bands for numbers")
    return fact


def _is_fact(fact: object) -> bool:
    return isinstance(fact, tuple) and len(fact) == 2 and all(map(_is_text, fact))


def _is_text(value: object) -> bool:
    return isinstance(value, str) and value != ""
