"""Calls told by people who have not read the rules, and what the advisor makes of them. Run by hand for the figures:

    python tests/trust/season.py [FILE]

Each call (`calls.yaml`) has what was told, the unit, the truth, the checks that a master would make first, and what
each thing would show; what is not stated there is in order on that unit, or cannot be had. The person who wrote it knew
the names of things, causes and checks, and none of the rules: common practice, or from memory where it says so.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[2]))

from advisor.library.base import load
from advisor.plant.burner import PlantError
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.entries import read_entry
from advisor.reasoning.turnout import COMPLAINT
from advisor.understanding.understand import understand
from tests.closed_loop import as_advised, consult

FILE = Path(__file__).with_name("calls.yaml")
AMONG = 3
SEEN_TO = ("symptoms", "co_alarm", "room_smoke", "vapor_smell", "oil_leak", "puffback", "wiring_state", "cellar_water",
           "vent_disconnected", "vent_terminal", "heat_damage", "lagging", "combustibles_near", "safety_bypassed",
           "oil_in_chamber", "relief_valve", "water_low", "resets_pressed", "co_room", "changed_lately",
           "house_changed")
"""What has been seen to before the first check is chosen: people, the room, the look round, what was changed."""


@dataclass(frozen=True)
class Told:
    """A unit that answers as its call states; nothing of it errs, and a second look shows the same."""

    finds: Mapping[str, str | None]
    seed: int = 0

    def ask(self, name: str) -> str | None:
        if name not in self.finds:
            raise PlantError(name)
        return self.finds[name]


@dataclass(frozen=True)
class Outcome:
    """What came of a call: where the truth stood as told, whether a master's check was proposed, and the end."""

    call: str
    truth: tuple[str, ...]
    as_told: int
    proposed: bool
    end: int
    named: str
    minutes: float
    first: tuple[str, ...]


def calls(file: Path = FILE) -> list[dict[str, Any]]:
    return list(yaml.load(file.read_text(encoding="utf-8"), Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader)))


def place(assessment: Assessment, truth: Iterable[str]) -> int:
    """Where the first of these causes stands, 0 at the head."""
    names = [one.name for one in assessment.causes]
    return min((names.index(one) for one in truth if one in names), default=len(names))


def told(call: Mapping[str, Any]) -> tuple[Entry, ...]:
    """What is entered of a call at first: the unit, what it is about, and what was understood of the words."""
    base = load()
    unit = [read_entry(base, name, value) for name, value in ({**call["unit"], COMPLAINT: call["about"]}).items()]
    known = {entry.name: entry.value for entry in unit}
    heard = understand(base, call["told"], "complaint", known).entries
    return (*unit, *(entry for entry in heard if entry.name not in known))


def clear(name: str) -> str:
    """The answer that all is well."""
    item = load().observations.get(name)
    return item.clear or item.sound or next(iter(item.answers)) if item else "0 ppm"


def moved(truth: Iterable[str]) -> frozenset[str]:
    """What the truth moves: where its call states nothing of that, nobody could look, and it is not in order."""
    base = load()
    by_rules = {name for rule in base.rules.values() for name in rule.when
                if any(rule.weighs.get(cause, 0.0) > 0 or cause in rule.confirms for cause in truth)}
    return frozenset({link.moves for cause in truth for link in base.causes[cause].chain} | by_rules) - base.equipment


def outcome(call: Mapping[str, Any]) -> Outcome:
    """One call from its first words to its end."""
    base = load()
    truth = tuple(call["truth"])
    first_words = told(call)
    at_first = assess(Case(first_words), base, look_ahead=False)
    heard = {entry.name for entry in first_words}
    finds = {**dict.fromkeys(moved(truth)), **{name: clear(name) for name in SEEN_TO},
             **{entry.name: entry.typed for entry in first_words if entry.value is not None}, **call["finds"]}
    unit = Told(finds)
    seen = [read_entry(base, name, finds[name]) for name in SEEN_TO if name not in heard and finds.get(name)]
    looked = assess(Case((*first_words, *seen)), base)
    offered = [one.check for one in (*((looked.checks.first,) if looked.checks.first else ()), *looked.checks.others)]
    ended = consult(base, unit, as_advised, told=first_words)
    return Outcome(call["call"], truth, place(at_first, truth),
                   not offered or not set(offered[:AMONG]).isdisjoint(call["first_checks"]),
                   place(ended.assessment, truth), ended.assessment.causes[0].name, ended.minutes,
                   tuple(offered[:AMONG]))


def run(some: Sequence[Mapping[str, Any]], workers: int = 2) -> list[Outcome]:
    with ProcessPoolExecutor(workers) as pool:
        return list(pool.map(outcome, some, chunksize=4))


def share(found: Sequence[Outcome], holds: Iterable[bool]) -> float:
    return 100.0 * sum(holds) / len(found)


def figures(found: Sequence[Outcome]) -> dict[str, float]:
    """Per cent of the calls, and the mean minutes of checks to the end."""
    return {
        "as told, first": share(found, (one.as_told == 0 for one in found)),
        "as told, among three": share(found, (one.as_told < AMONG for one in found)),
        "a master's check among the first three proposed": share(found, (one.proposed for one in found)),
        "at the end, first": share(found, (one.end == 0 for one in found)),
        "at the end, among three": share(found, (one.end < AMONG for one in found)),
        "minutes of checks": sum(one.minutes for one in found) / len(found),
    }


def main() -> None:
    found = run(calls(Path(sys.argv[1]) if len(sys.argv) > 1 else FILE))
    for one in found:
        if one.end or one.as_told >= AMONG or not one.proposed:
            print(f"{one.call}: truth {'/'.join(one.truth)}: as told {one.as_told + 1}, at the end {one.end + 1} "
                  f"(named {one.named}), {one.minutes:.0f} min; proposed {', '.join(one.first)}"
                  f"{'' if one.proposed else ' - none a master would make'}")
    print(f"{len(found)} calls")
    for what, value in figures(found).items():
        print(f"  {what}: {value:.0f}")


if __name__ == "__main__":
    main()
