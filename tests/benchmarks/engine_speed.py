"""Speed of the rule engine against CLIPS and a naive loop, as ratios within one run. Run by hand:

    python -m tests.benchmarks.engine_speed

A random base of 300 rules; cases of 30 facts; 200 look-aheads of one further fact from one case. In CLIPS a
look-ahead asserts the fact, runs, and retracts what is new; in the naive loop it is a whole run with one fact
more. All three must give the same firings.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from statistics import median
from time import perf_counter

from advisor.reasoning.engine import Fact, Firing, compile_rules
from tests.reasoning import reference_engine
from tests.reasoning.clips_engine import ClipsEngine
from tests.reasoning.test_engine_agrees import facts_of, random_rules

RULES, FACTS, CASES, AHEAD = 300, 30, 50, 200
Firings = list[tuple[Firing, ...]]


def timed(work: Callable[[], Firings], rounds: int = 5) -> tuple[float, Firings]:
    """The median time of a few rounds, in seconds, and the result."""
    seconds = []
    for _ in range(rounds):
        start = perf_counter()
        result = work()
        seconds.append(perf_counter() - start)
    return median(seconds), result


def one_symbol_a_name(rng: Random, possible: list[Fact]) -> list[Fact]:
    """A usual case: each name with one symbol."""
    return list({fact[0]: fact for fact in rng.sample(possible, len(possible))}.values())[:FACTS]


def main() -> None:
    rng = Random(1)
    rules = random_rules(1, how_many=RULES)
    possible = facts_of(rules)
    cases = [one_symbol_a_name(rng, possible) for _ in range(CASES)]
    base = cases[0]
    further = rng.sample([fact for fact in possible if fact not in base], AHEAD)

    start = perf_counter()
    engine = compile_rules(rules)
    print(f"compile {RULES} rules: {(perf_counter() - start) * 1e3:.1f} ms")
    clips = ClipsEngine(rules)

    def ours_ahead() -> Firings:
        with engine.session(base) as session:
            return [session.ahead([fact]) for fact in further]

    def clips_ahead() -> Firings:
        clips.run(base)
        return [clips.ahead([fact]) for fact in further]

    def naive_ahead() -> Firings:
        before = set(reference_engine.run(rules, base))
        runs = (reference_engine.run(rules, [*base, fact]) for fact in further)
        return [tuple(firing for firing in fired if firing not in before) for fired in runs]

    compare(
        f"forward chaining, a case of {FACTS} facts",
        CASES,
        {
            "ours": lambda: [engine.run(case) for case in cases],
            "CLIPS": lambda: [clips.run(case) for case in cases],
            "naive": lambda: [reference_engine.run(rules, case) for case in cases],
        },
    )
    compare("one look-ahead", AHEAD, {"ours": ours_ahead, "CLIPS": clips_ahead, "naive": naive_ahead})


def compare(what: str, times: int, ways: dict[str, Callable[[], Firings]]) -> None:
    """Print the time of each way and its ratio to the first."""
    measured = {name: timed(work) for name, work in ways.items()}
    first, expected = measured["ours"]
    print(f"{what} ({sum(map(len, expected)) / times:.1f} firings on average):")
    for name, (seconds, result) in measured.items():
        assert result == expected, f"{name} does not agree"
        print(f"  {name:6} {seconds / times * 1e6:8.0f} us   x {seconds / first:.2f}")


if __name__ == "__main__":
    main()
