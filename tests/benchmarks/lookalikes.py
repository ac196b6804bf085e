"""Which causes the advisor takes for one another on the physical burner. Run by hand; it prints the file that
`tell-apart` offers first, advisor/bench/data/lookalikes.yaml:

    python tests/benchmarks/lookalikes.py [CASES] > advisor/bench/data/lookalikes.yaml

A pair counts once for each call on a unit with one fault where the advisor still believed at the end, by one in ten or
more, in a cause that was not there; and twice where it named that one first. It tells what to learn next; no rule and
no share of any cause comes from it.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable
from itertools import count, islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.benchmarks.accuracy import Result, judged, scenario

LEAST = 2
"""From this count on a pair is told: one may be chance."""
DOUBTED = 0.1


def taken_for_another(results: Iterable[Result]) -> Counter[tuple[str, str]]:
    """How often each cause was there and another was believed in; the pair in the order of the alphabet."""
    found: Counter[tuple[str, str]] = Counter()
    for one in results:
        if len(one.faults) != 1:
            continue
        for place, (name, belief) in enumerate(zip(one.ranking, one.beliefs, strict=True)):
            if not one.true(name) and (belief >= DOUBTED or place == 0):
                low, high = sorted((one.faults[0], name))
                found[low, high] += 2 if place == 0 else 1
    return found


def main() -> None:
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    seeds = list(islice((seed for seed in count() if len(scenario(seed)[2]) == 1), cases))
    print(f"# Pairs of causes that the advisor took for one another on {cases} calls to the physical burner;\n"
          "# written by tests/benchmarks/lookalikes.py. They say what is worth learning, and nothing to any rule.\n")
    for (one, other), times in taken_for_another(judged((seed, "as advised")) for seed in seeds).most_common():
        if times >= LEAST:
            print(f"- pair: {one}\n  with: {other}\n  times: {times}")


if __name__ == "__main__":
    main()
