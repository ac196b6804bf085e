"""What is lost without each constant of the heart. Run by hand:

    python tests/benchmarks/ablation.py [CASES [SEED]]

200 cases and a fresh seed unless said otherwise (it is printed). Each line leaves one thing out, on the same cases: how
many single faults are named first, how many pairs one after the other, the minutes, and what `likely` claims and is.
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import SystemRandom

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.benchmarks.accuracy import (
    Result,
    as_often_as_met,
    both_in_turn,
    calibration,
    first_right,
    judged,
    mean_minutes,
)


def _each_by_itself(
    shares: Mapping[str, float], weights: Mapping[str, float], must: Collection[str]
) -> dict[str, float]:
    """How likely each cause is, as if all could be there at once."""
    return {name: weight / (1.0 - shares[name] + weight) for name, weight in weights.items()}


LEFT_OUT: dict[str, tuple[tuple[str, object], ...]] = {
    "all as it is": (),
    "roots of a confirmed cause first (ROOT_COMES_FIRST)": (("ranking.ROOT_COMES_FIRST", 2.0),),
    "what nobody here knows moves readings (UNKNOWN_MOVES)": (("signatures.UNKNOWN_MOVES", 0.0),
                                                              ("ranking.UNKNOWN_MOVES", 0.0)),
    "causes out of scope count less (OUT_OF_SCOPE)": (("choice.OUT_OF_SCOPE", 1.0),),
    "the look that confirms a leader first (CONFIRM_FROM)": (("nextcheck.CONFIRM_FROM", 2.0),),
    "second looks at lone signs (MISREADING_RATE)": (("assess.MISREADING_RATE", 0.0),),
    "causes share the call (share_the_call)": (("ranking.share_the_call", _each_by_itself),),
    "no searching on a service for what nothing hints at (UNHINTED)": (("choice.UNHINTED", 0.3),),
    "faults that have only begun (INCIPIENT_SHARE)": (
        ("stages.INCIPIENT_SHARE", 1e-6), ("tables.INCIPIENT_SHARE", 1e-6), ("signatures.INCIPIENT_SHARE", 1e-6)),
    "a price of a minute (BITS_A_MINUTE)": (("choice.BITS_A_MINUTE", 0.0),),
    "the readings valued together": (("nextcheck._readings_together", lambda choice: None),),
}


def without(task: tuple[int, str]) -> Result:
    """One consultation with something left out; in a process of its own, since it is put back by nobody."""
    seed, left_out = task
    for where, value in LEFT_OUT[left_out]:
        module, _, name = where.partition(".")
        setattr(importlib.import_module(f"advisor.reasoning.{module}"), name, value)
    return judged((seed, "as advised"))


def line(title: str, results: Sequence[Result]) -> str:
    """One line of the table."""
    claimed, true, _ = calibration(results).get("likely", (0.0, 0.0, 0))
    missed = sum(len(one.unseen) for one in results)
    likely = as_often_as_met(results)
    return (f"{title:<58} first {first_right(results, 1):5.1f} % ({likely:5.1f} as met), "
            f"pairs in turn {both_in_turn(results):5.1f} %, {mean_minutes(results):4.0f} min, "
            f"likely {claimed:3.0f}/{true:3.0f}, unseen {missed}")


def main() -> None:
    """Print the table."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SystemRandom().randrange(10_000, 900_000)
    print(f"{cases} cases from seed {seed}; without ...", flush=True)
    for left_out in LEFT_OUT:
        with ProcessPoolExecutor(2) as pool:
            tasks = [(one, left_out) for one in range(seed, seed + cases)]
            print(line(left_out, list(pool.map(without, tasks, chunksize=4))), flush=True)


if __name__ == "__main__":
    main()
