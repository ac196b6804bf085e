"""An evaluator in plain Python: indexed, incremental, with undo.

Each test of a rule is a slot that holds the facts which match it; each rule counts its empty slots. A fact touches
only the slots that test it, and a rule fires once no slot of it is empty, for each combination with the new fact. What
was filled is noted on a trail, so that a look-ahead is taken back by emptying the same slots again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import product
from typing import Final

from advisor.reasoning.engine import Engine, EngineError, EngineRule, Fact, Firing, Session, checked_fact, in_order


class PlainEngine(Engine):
    """Rules by the facts that they test."""

    def __init__(self, rules: tuple[EngineRule, ...]) -> None:
        super().__init__(rules)
        self._tests: Final[dict[Fact, list[tuple[int, int]]]] = {}
        """For each fact the places that test it: the number of the rule, the place in its `when`."""
        for number, rule in enumerate(rules):
            for place, (name, any_of) in enumerate(rule.when):
                for symbol in dict.fromkeys(any_of):
                    self._tests.setdefault((name, symbol), []).append((number, place))
        self._open = 0

    @property
    def open_sessions(self) -> int:
        return self._open

    @contextmanager
    def session(self, facts: Iterable[Fact]) -> Iterator[PlainSession]:
        session = PlainSession(self)
        self._open += 1
        try:
            session.firings = session._enter(facts)
            yield session
        finally:
            self._open -= 1
            session._ended = True


class PlainSession(Session):
    """The slots of one case."""

    def __init__(self, engine: PlainEngine) -> None:
        self._engine = engine
        self._held: set[Fact] = set()
        self._trail: list[Fact] = []
        self._slots: dict[int, tuple[list[Fact], ...]] = {}  # made where a fact touches the rule
        self._empty: dict[int, int] = {}
        self._ended = False

    def ahead(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        if self._ended:
            raise EngineError("this session has ended: look ahead inside its `with` block")
        checked = [checked_fact(fact) for fact in facts]
        before = len(self._trail)
        self._ended = True  # what is cut short, by Ctrl-C, leaves slots half filled and is not used again
        firings = self._enter(checked)
        while len(self._trail) > before:
            self._take_out(self._trail.pop())
        self._ended = False
        return firings

    def _enter(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """Take in these facts and all that follows from them; what fired."""
        waiting = [checked_fact(fact) for fact in facts]  # all of them first, so a bad one leaves no trace
        fired: list[Firing] = []
        while waiting:
            fact = waiting.pop()
            if fact in self._held or fact not in self._engine._tests:
                continue
            for rule, facts_of_rule in self._put_in(fact):
                fired.append(Firing(rule.name, facts_of_rule))
                waiting += rule.concludes
        return in_order(fired)

    def _put_in(self, fact: Fact) -> Iterator[tuple[EngineRule, tuple[Fact, ...]]]:
        """Fill the slots that test a fact; each rule that fires by it, with each combination of facts."""
        self._held.add(fact)
        self._trail.append(fact)
        for number, place in self._engine._tests[fact]:
            slots = self._slots.get(number)
            if slots is None:
                slots = self._slots[number] = tuple([] for _ in self._engine.rules[number].when)
                self._empty[number] = len(slots)
            if not slots[place]:
                self._empty[number] -= 1
            slots[place].append(fact)
            if not self._empty[number]:
                rule = self._engine.rules[number]
                choices = [[fact] if at == place else slot for at, slot in enumerate(slots)]
                for facts in product(*choices):
                    yield rule, facts

    def _take_out(self, fact: Fact) -> None:
        self._held.discard(fact)
        for number, place in self._engine._tests[fact]:
            slot = self._slots[number][place]
            slot.pop()  # the newest: facts are taken out in the opposite order
            if not slot:
                self._empty[number] += 1
