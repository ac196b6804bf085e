"""How often the advisor is right about the physical burner, and in how many minutes. Run by hand:

    python tests/benchmarks/accuracy.py [CASES [STRATEGY ...]]

1,000 cases and all strategies unless said otherwise; seeds make it repeatable.

A tenth of the cases runs in tests/test_accuracy.py with thresholds.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.library.base import load
from advisor.plant.builders import KINDS, healthy
from advisor.plant.burner import Plant
from advisor.plant.faults import SEVERITY, applicable
from advisor.reasoning.assess import assess
from advisor.reasoning.turnout import ROUTINE, turnout_of
from advisor.reasoning.weighing import word_for
from tests.closed_loop import (
    as_advised,
    at_random,
    brought_about,
    by_the_book,
    call,
    consult,
    shows,
    true_hazards,
    truth,
)

BY_THE_NOZZLE = {"over-fired": "nozzle-wrong-size", "under-fired": "nozzle-wrong-size"}
"""The burner model over- and under-fires by nothing but a nozzle of another size: who names that, names the fault."""

STRATEGIES = {"as advised": as_advised, "check list": by_the_book, "at random": at_random}


@dataclass(frozen=True)
class Result:
    """One consultation, judged."""

    seed: int
    kind: str
    faults: tuple[str, ...]
    severities: tuple[str, ...]
    ranking: tuple[str, ...]
    beliefs: tuple[float, ...]
    confirmed: tuple[str, ...]
    checks: tuple[str, ...]
    minutes: float
    hazards_missed: tuple[str, ...]
    stopped: bool
    """Whether a hazard that was found forbids the fire, so that nothing could be measured any more."""
    shows: bool
    """Whether a look at everything, without any error, would find a single thing other than on the sound unit."""
    complaint: str
    """What the customer complains of, `routine` where nothing."""
    brought_about: frozenset[str] = frozenset()
    """Causes that are truly there because the faults bring them about."""
    then: Result | None = None
    """Of several faults: the consultation after the one that was named first is mended, if it was one of them."""

    @property
    def unseen(self) -> tuple[str, ...]:
        """The hazards that stay unseen on a burner in use: none lights it before what stopped it is mended, and then
        the unit is gone over again.
        """
        if not self.stopped or place(self.ranking[:1], *self.faults) > 0:
            return self.hazards_missed
        return self.then.unseen if self.then else ()

    def place(self, *faults: str) -> int:
        """Where the first of these faults stands among the causes, 0 at their head."""
        return place(self.ranking, *faults)

    def true(self, name: str) -> bool:
        """Whether a cause is there: a fault, or what the faults bring about."""
        return name in {*self.faults, *self.brought_about, *(BY_THE_NOZZLE.get(fault) for fault in self.faults)}


def place(ranking: Sequence[str], *faults: str) -> int:
    """Where the first of these faults stands in a ranking, 0 at its head."""
    names = [name for fault in faults for name in (fault, BY_THE_NOZZLE.get(fault, fault))]
    return min((ranking.index(name) for name in names if name in ranking), default=len(ranking))


def scenario(seed: int) -> tuple[Plant, str, dict[str, float], tuple[str, ...]]:
    """A unit and its faults: one in ten healthy, two in ten with two faults, the others with one."""
    rng = Random(seed)
    kind = rng.choice(KINDS)
    changes = {"outdoor_degf": rng.choice([10.0, 30.0, 45.0, 60.0])}
    plant = healthy(kind, **changes)
    draw = rng.random()
    number = 0 if draw < 0.1 else 2 if draw > 0.8 else 1
    possible = [name for name in applicable(plant) if name in load().causes]
    faults = rng.sample(possible, number)
    words = tuple(rng.choice(list(SEVERITY)) for _ in faults)
    return plant, kind, {name: SEVERITY[word] for name, word in zip(faults, words, strict=True)}, words


def judged(task: tuple[int, str]) -> Result:
    """One consultation from its seed."""
    seed, strategy = task
    plant, kind, faults, words = scenario(seed)
    return consulted(plant, kind, faults, words, seed, strategy)


def consulted(
    plant: Plant, kind: str, faults: Mapping[str, float], words: tuple[str, ...], seed: int, strategy: str
) -> Result:
    """A consultation about a unit with these faults; where one of several is named first, it is mended, and the unit
    gone over again.
    """
    base = load()
    visit = call(base, plant, faults, seed)
    outcome = consult(base, visit, STRATEGIES[strategy], seed)
    really = assess(truth(base, visit), base, look_ahead=False)
    found = {one.name for one in (*outcome.assessment.hazards, *outcome.assessment.released)}
    ranked = outcome.assessment.causes
    ranking = tuple(one.name for one in ranked)
    left = {name: word for name, word in zip(faults, words, strict=True) if place(ranking[:1], name)}
    then = None
    if 0 < len(left) < len(faults):
        again = {name: faults[name] for name in left}
        then = consulted(plant, kind, again, tuple(left.values()), seed + 500_000, strategy)
    return Result(
        seed, kind, tuple(faults), words, ranking, tuple(one.belief for one in ranked),
        tuple(one.name for one in ranked if one.confirmed), outcome.checks, outcome.minutes,
        tuple(sorted(true_hazards(really) - found)),
        not all(base.hazards[one.name].may["start"] == "yes" for one in outcome.assessment.hazards),
        shows(base, really.case, truth(base, call(base, plant, {}, seed))), str(visit.truth("complaint")),
        brought_about(base, really, faults), then,
    )


def run(seeds: Iterable[int], strategy: str, workers: int = 2) -> list[Result]:
    """Consultations from their seeds."""
    tasks = [(seed, strategy) for seed in seeds]
    if workers == 1:
        return [judged(task) for task in tasks]
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(judged, tasks, chunksize=8))


def share(part: Sequence[object], whole: Sequence[object]) -> float:
    return 100.0 * len(part) / len(whole) if whole else float("nan")


def first_right(results: Sequence[Result], among: int) -> float:
    """Per cent of the single-fault cases with the fault among the first so many causes."""
    single = [one for one in results if len(one.faults) == 1]
    return share([one for one in single if one.place(one.faults[0]) < among], single)


def as_often_as_met(results: Sequence[Result]) -> float:
    """Per cent of the single-fault cases with the fault named first, each by how often such a call turns out to be it.
    """
    turnout = turnout_of(load())
    single = [(turnout.share(one.faults[0], one.complaint), one) for one in results if len(one.faults) == 1]
    whole = sum(share for share, _ in single)
    return 100.0 * sum(share for share, one in single if one.place(one.faults[0]) == 0) / whole if whole else 0.0


def both_right(results: Sequence[Result]) -> float:
    double = [one for one in results if len(one.faults) == 2]
    return share([one for one in double if all(one.place(fault) < 4 for fault in one.faults)], double)


def both_in_turn(results: Sequence[Result]) -> float:
    """Per cent of the double faults of which one was named first, and the other once that one was mended."""
    double = [one for one in results if len(one.faults) == 2]
    return share([one for one in double if one.then and one.then.place(*one.then.faults) == 0], double)


def accused(results: Sequence[Result]) -> float:
    healthy_ones = [one for one in results if not one.faults]
    return share([one for one in healthy_ones if one.beliefs[0] >= 0.6], healthy_ones)


def calibration(results: Sequence[Result]) -> dict[str, tuple[float, float, int]]:
    """For each word: the mean probability behind it, the share that was true, and how many."""
    rows: dict[str, list[tuple[float, bool]]] = {}
    for one in results:
        for name, belief in zip(one.ranking, one.beliefs, strict=True):
            rows.setdefault(word_for(belief), []).append((belief, one.true(name)))
    return {word: (100 * sum(b for b, _ in row) / len(row), 100 * sum(t for _, t in row) / len(row), len(row))
            for word, row in rows.items()}


def mean_minutes(results: Sequence[Result]) -> float:
    return sum(one.minutes for one in results) / len(results) if results else float("nan")


def report(results: Sequence[Result], strategy: str) -> None:
    print(f"\n{strategy}: {len(results)} cases")
    print(f"  one fault: first {first_right(results, 1):.1f} %, among three {first_right(results, 3):.1f} %; "
          f"two faults, both among four {both_right(results):.1f} %, "
          f"one first and, with that mended, the other {both_in_turn(results):.1f} %")
    seen = [one for one in results if one.shows]
    faulty = [one for one in results if one.faults]
    print(f"  of those that leave a sign ({share([one for one in seen if one.faults], faulty):.0f} % of faulty units): "
          f"first {first_right(seen, 1):.1f} %, among three {first_right(seen, 3):.1f} %; "
          f"both among four {both_right(seen):.1f} %")
    for word in SEVERITY:
        some = [one for one in results if one.severities == (word,)]
        print(f"  {word}: first {first_right(some, 1):.1f} %, among three {first_right(some, 3):.1f} % of {len(some)}")
    for called, some in (("a complaint", [one for one in results if one.complaint != ROUTINE]),
                         ("a routine call", [one for one in results if one.complaint == ROUTINE])):
        single = [one for one in some if len(one.faults) == 1]
        print(f"  {called}: first {first_right(some, 1):.1f} %, among three {first_right(some, 3):.1f} % "
              f"of {len(single)}, in {mean_minutes(single):.0f} minutes")
    print(f"  each fault by how often such a call turns out to be it: first {as_often_as_met(results):.1f} %")
    minutes = sorted(one.minutes for one in faulty)
    print(f"  minutes of checks: median {minutes[len(minutes) // 2]:.0f}, mean {mean_minutes(faulty):.0f}; "
          f"checks: mean {sum(len(one.checks) for one in results) / len(results):.1f}")
    print(f"  hazards missed {sum(len(one.hazards_missed) for one in results)}, on burners that no other hazard had "
          f"stopped {sum(len(one.hazards_missed) for one in results if not one.stopped)}, on burners in use once what "
          f"had stopped them is mended {sum(len(one.unseen) for one in results)}; "
          f"healthy burners accused {accused(results):.1f} %")
    for word, (claimed, true, number) in calibration(results).items():
        print(f"  {word:<9} claims {claimed:5.1f} %, is true {true:5.1f} % of {number}")


def misses(results: Sequence[Result], most: int = 25) -> None:
    """Which faults are missed most, and what is named instead."""
    single = [one for one in results if len(one.faults) == 1]
    missed = [one for one in single if one.place(one.faults[0]) > 0]
    for fault, count in Counter(one.faults[0] for one in missed).most_common(most):
        of = sum(one.faults[0] == fault for one in single)
        instead = Counter(one.ranking[0] for one in missed if one.faults[0] == fault).most_common(2)
        words = Counter(one.severities[0] for one in missed if one.faults[0] == fault)
        print(f"  {fault} {count}/{of} {dict(words)} instead {instead}")


def main() -> None:
    number = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for strategy in sys.argv[2:] or STRATEGIES:
        results = run(range(number), strategy)
        report(results, strategy)
        if strategy == "as advised":
            misses(results)


if __name__ == "__main__":
    main()
