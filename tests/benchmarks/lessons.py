"""Whether the lessons hold on the physical burner: each chain that says a cause moves a reading or a look is tried with
the cause moderate and gross on every kind of unit that can have it. Run by hand:

    python tests/benchmarks/lessons.py [CAUSE ...]

It prints how many lessons hold, and lists those that do not. A disagreement is settled by mechanism, in the lesson or
in the plant, and never by fitting one to the other; where the lesson stands though the plant says otherwise,
lessons_settled.yaml gives the reason.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import yaml

sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.bench.knobs import readings
from advisor.bench.sweep import Point, equipment_of, point_of
from advisor.library.base import Base, load
from advisor.library.items import Link, Observation, fits
from advisor.plant import FAULTS, KINDS, OBSERVED, SEVERITY, Plant, PlantError, healthy, visit, with_faults
from advisor.reasoning.derive import band_of

SETTLED = Path(__file__).with_name("lessons_settled.yaml")
OUTDOORS = 30.0
HOLDS, SIZE, STILL, OTHER, AGAINST = "holds", "right way, other size", "not moved", "another answer", "the other way"
SIZES = ("moderate", "gross")
"""How far gone the causes are: at its worst a fault may turn a reading round, as CO2 falls again past full burning."""

ORDER = (HOLDS, SIZE, OTHER, STILL, AGAINST)


@dataclass(frozen=True)
class Lesson:
    """One link of a chain, tried: how often each outcome was met over the units."""

    cause: str
    moves: str
    to: tuple[str, ...]
    outcomes: Counter[str]

    @property
    def outcome(self) -> str:
        """What speaks loudest: it holds where it does on half of the units, else what most of the others say."""
        if self.outcomes[AGAINST] > self.outcomes[HOLDS] + self.outcomes[SIZE]:
            return AGAINST
        if 2 * self.outcomes[HOLDS] >= self.outcomes.total():
            return HOLDS
        return max((SIZE, OTHER, STILL), key=lambda word: self.outcomes[word])


def tried(base: Base, causes: Iterable[str]) -> Iterator[Lesson]:
    """Every lesson of the causes that the plant can tell of."""
    units = [healthy(kind, outdoor_degf=OUTDOORS) for kind in KINDS]
    for name in causes:
        cause, fault = base.causes[name], FAULTS[name]
        fit = [unit for unit in units if fault.fits(unit) and fits(cause.only, equipment_of(unit))]
        for link in cause.chain:
            found: Counter[str] = Counter()
            for unit in fit:
                outcomes = [one for one in (_outcome(base, name, link, unit, SEVERITY[size]) for size in SIZES) if one]
                if outcomes:
                    found[min(outcomes, key=ORDER.index)] += 1
            if found:
                yield Lesson(name, link.moves, link.to, found)


def _outcome(base: Base, cause: str, link: Link, unit: Plant, size: float) -> str:
    """What one unit says with the cause so far gone; empty where it cannot tell."""
    item = base.named[link.moves]
    try:
        if isinstance(item, Observation):
            if link.moves not in OBSERVED:
                return ""
            before = visit(unit, {}, 1).truth(link.moves)
            after = visit(unit, {cause: size}, 1).truth(link.moves)
            if after is None:
                return ""
            return HOLDS if after in link.to else STILL if after == before else OTHER
        shown = readings(base)
        if link.moves not in shown or not shown[link.moves].state:
            return ""
        before_it, after_it = point_of(unit, 0.0, shown), point_of(with_faults(unit, {cause: size}), 0.0, shown)
    except PlantError:
        return ""
    if not (before_it.runs and after_it.runs):
        return ""
    bands = list(item.symbols)
    was, now = (_band(base, unit, point, link.moves) for point in (before_it, after_it))
    if not was or not now:
        return ""
    if now in link.to and now != was:
        return HOLDS
    moved = after_it.numbers[link.moves] - before_it.numbers[link.moves]
    ways = {(bands.index(one) > bands.index(was)) - (bands.index(one) < bands.index(was)) for one in link.to}
    least = max(getattr(item, "accuracy", 0.0), shown[link.moves].moved_by)
    if abs(moved) < least:
        return HOLDS if ways == {0} else STILL
    way = 1 if moved > 0 else -1
    if way in ways:
        return HOLDS if now in link.to else SIZE
    return AGAINST if ways - {0} else SIZE


def _band(base: Base, unit: Plant, point: Point, name: str) -> str:
    band = band_of(base, name, point.numbers[name], 0.0, equipment_of(unit), {})
    return band.symbol if band else ""


def settled() -> dict[tuple[str, str], str]:
    """For a cause and a reading why the lesson stands though the plant says otherwise."""
    return {(one["cause"], one["moves"]): one["because"] for one in yaml.safe_load(SETTLED.read_text()) or ()}


def main() -> None:
    base = load()
    asked = sys.argv[1:] or [name for name in base.causes if name in FAULTS]
    lessons, known = list(tried(base, asked)), settled()
    counts = Counter(one.outcome for one in lessons)
    print(f"{len(lessons)} lessons of {len({one.cause for one in lessons})} causes on {len(KINDS)} kinds of unit: "
          + ", ".join(f"{counts[word]} {word}" for word in ORDER))
    for word in reversed(ORDER[1:]):
        print(f"\n{word.upper()}")
        for one in lessons:
            if one.outcome == word:
                tally = ", ".join(f"{times} {outcome}" for outcome, times in one.outcomes.most_common())
                print(f"  {one.cause}: {one.moves} {' or '.join(one.to)}: {tally}"
                      + (f"; settled: {known[one.cause, one.moves]}" if (one.cause, one.moves) in known else ""))


if __name__ == "__main__":
    main()
