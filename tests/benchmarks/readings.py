"""What the advisor knows at each stage of a call: after the start, after the readings, at the end. Run by hand:

    python tests/benchmarks/readings.py [CALLS [SEED]]

Single faults that show, on calls with a complaint; 200 calls and a fresh seed unless said otherwise (it is printed).
The shares are over faults drawn alike, and over faults as often as they are met. `likely` is what the first cause is
called at 0.6 or more; it is as good as its claim.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import SystemRandom

sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.library.base import Base, load
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from advisor.reasoning.turnout import ROUTINE
from advisor.reasoning.weighing import LIKELY
from tests.benchmarks.accuracy import place, scenario
from tests.closed_loop import INTAKE, answers, call, shows, truth

START = ("start_behavior",)
READINGS = ("stack_temperature", "room_temperature", "smoke", "smoke_strokes", "spot_look", "o2", "co2", "co",
            "draft_over_fire", "draft_breech", "flame_look")


@dataclass(frozen=True)
class Stage:
    """Where the truth stands at one stage: its place, its family's, its belief; and the first cause's belief."""

    place: int
    family: bool
    belief: float
    first: float
    first_right: bool


def families_of(base: Base, cause: str) -> set[str]:
    """The families that a cause belongs to."""
    return {name for name, one in base.families.items() if cause in one.members}


def stage(base: Base, found: Assessment, fault: str) -> Stage:
    """Where the truth stands."""
    ranking = [one.name for one in found.causes]
    beliefs = {one.name: one.belief for one in found.causes}
    right = place(ranking, fault)
    shares = {name: sum(beliefs.get(cause, 0.0) for cause in one.members) for name, one in base.families.items()}
    leading = max(shares, key=lambda name: shares[name], default="")
    first = found.causes[0]
    return Stage(right, leading in families_of(base, fault), beliefs.get(fault, 0.0), first.belief, right == 0)


def staged(seed: int) -> tuple[str, list[Stage]] | None:
    """The stages of one call; None where it is no complaint about one fault that shows."""
    base = load()
    plant, _, faults, _ = scenario(seed)
    if len(faults) != 1:
        return None
    visit = call(base, plant, faults, seed)
    if visit.truth("complaint") == ROUTINE:
        return None
    if not shows(base, truth(base, visit), truth(base, call(base, plant, {}, seed))):
        return None
    case = Case(answers(base, visit, INTAKE))
    out = []
    for names in ((), START, READINGS):
        case = case.having(*answers(base, visit, (name for name in names if name not in case.latest)))
        out.append(stage(base, assess(case, base, False), next(iter(faults))))
    return next(iter(faults)), out


def run(seeds: Iterable[int], calls: int, workers: int = 2) -> list[tuple[str, list[Stage]]]:
    """So many calls from these seeds on."""
    out: list[tuple[str, list[Stage]]] = []
    with ProcessPoolExecutor(workers) as pool:
        waiting = iter(seeds)
        while len(out) < calls:
            batch = [next(waiting) for _ in range(64)]
            out += [one for one in pool.map(staged, batch, chunksize=4) if one]
    return out[:calls]


def line(title: str, rows: Sequence[tuple[float, Stage]]) -> str:
    """One line of the table; each stage with its weight."""
    whole = sum(weight for weight, _ in rows)

    def mean(values: Iterable[tuple[float, float]]) -> float:
        return sum(weight * value for weight, value in values) / whole

    likely = [(weight, one) for weight, one in rows if one.first >= LIKELY]
    said = sum(weight for weight, _ in likely)
    claims = 100 * sum(weight * one.first for weight, one in likely) / said if said else 0.0
    right = 100 * sum(weight * one.first_right for weight, one in likely) / said if said else 0.0
    return (f"  {title:<15} family first {100 * mean((w, s.family) for w, s in rows):4.0f} %, cause first "
            f"{100 * mean((w, s.place == 0) for w, s in rows):4.0f} %, among three "
            f"{100 * mean((w, s.place < 3) for w, s in rows):4.0f} %, "
            f"belief {mean((w, s.belief) for w, s in rows):.3f}; "
            f"likely right {right:3.0f} % where it claims {claims:3.0f} % ({len(likely)} calls)")


def main() -> None:
    """Print the table."""
    calls = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SystemRandom().randrange(10_000, 900_000)
    found = run(range(seed, seed + 100 * calls), calls)
    print(f"{len(found)} calls from seed {seed}")
    common = load().common
    for at, title in enumerate(("complaint", "after the start", "after the readings")):
        print(line(title, [(1.0, stages[at]) for _, stages in found]))
        print(line("  as often met", [(common[fault], stages[at]) for fault, stages in found]))


if __name__ == "__main__":
    main()
