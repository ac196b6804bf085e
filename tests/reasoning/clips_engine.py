"""CLIPS, a public-domain rule engine (through clipspy), as a second opinion; for the tests only.

The rules are written as CLIPS text: facts are ordered facts `(f N S)` with integer codes, and each rule calls
back with its own number and the codes of the facts it matched.
"""

from __future__ import annotations

from collections.abc import Iterable

import clips

from advisor.reasoning.engine import EngineRule, Fact, Firing


class ClipsEngine:
    """The same rules in CLIPS, with the same `run` as our engine."""

    def __init__(self, rules: Iterable[EngineRule]) -> None:
        self._rules = list(rules)
        self._codes: dict[str, int] = {}
        self._texts: list[str] = []
        self._fired: list[tuple[int, ...]] = []
        self._environment = clips.Environment()
        self._environment.define_function(self._fire, name="fire")
        for number, rule in enumerate(self._rules):
            self._environment.build(self._construct(number, rule))

    def run(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """All firings on these facts, sorted."""
        self._environment.reset()
        self._fired.clear()
        for name, symbol in dict.fromkeys(facts):
            self._environment.assert_string(f"(f {self._code(name)} {self._code(symbol)})")
        self._environment.run()
        return tuple(sorted(map(self._firing, self._fired)))

    def ahead(self, facts: Iterable[Fact]) -> tuple[Firing, ...]:
        """The new firings that further facts cause after `run`, by asserting and then retracting what is new."""
        before = {fact.index for fact in self._environment.facts()}
        self._fired.clear()
        for name, symbol in dict.fromkeys(facts):
            self._environment.assert_string(f"(f {self._code(name)} {self._code(symbol)})")
        self._environment.run()
        for fact in [fact for fact in self._environment.facts() if fact.index not in before]:
            fact.retract()
        return tuple(sorted(map(self._firing, self._fired)))

    def _fire(self, number: int, *symbols: int) -> None:
        self._fired.append((number, *symbols))

    def _firing(self, fired: tuple[int, ...]) -> Firing:
        rule = self._rules[fired[0]]
        names = (name for name, _ in rule.when)
        return Firing(
            rule.name, tuple((name, self._texts[code]) for name, code in zip(names, fired[1:], strict=True))
        )

    def _construct(self, number: int, rule: EngineRule) -> str:
        patterns = [
            f"(f {self._code(name)} ?s{place}&{'|'.join(str(self._code(symbol)) for symbol in any_of)})"
            for place, (name, any_of) in enumerate(rule.when)
        ]
        matched = " ".join(f"?s{place}" for place in range(len(rule.when)))
        conclusions = " ".join(f"(assert (f {self._code(n)} {self._code(s)}))" for n, s in rule.concludes)
        return f"(defrule r{number} {' '.join(patterns)} => (fire {number} {matched}) {conclusions})"

    def _code(self, text: str) -> int:
        if text not in self._codes:
            self._codes[text] = len(self._texts)
            self._texts.append(text)
        return self._codes[text]
