"""The advisor consulted about the physical burner: it asks, the burner answers, until it has no more to ask.

Nothing here knows the faults of the burner but the judge at the end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Any, Protocol, cast

from advisor.library.base import Base
from advisor.library.items import Quantity
from advisor.physics.units import format_value
from advisor.plant.burner import Plant, PlantError
from advisor.plant.visit import Visit
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import RECHECKED, UNCHECKED, Case, Entry
from advisor.reasoning.choice import minutes_of
from advisor.reasoning.derive import derive
from advisor.reasoning.entries import EntryError, read_entry
from advisor.reasoning.gate import HOUSE_ENTRY

MOST_CHECKS = 40
INTAKE = ("appliance", "heat_medium", "burner_type", "burner_fit", "draft_kind", "air_supply", "fuel", "flue_sharing",
           "chimney_place", "tank_place", "tank_level", "piping", "ignition_kind", "flame_sensing", "appliance_age",
           "years_since_service", "nozzle_size", "pump_pressure_required", "firing_rate_rated", "complaint")

TEXTBOOK = (
    "ask-people", "look-round-oil", "look-round", "look-into-chamber", "check-safety-devices", "look-at-boiler",
    "measure-room-co", "watch-start", "spillage-test",
    "watch-house-fan", "check-venter", "watch-flame", "ask-and-look", "measure-stack", "measure-drafts",
    "measure-house-pressure", "measure-smoke", "measure-co2", "measure-co",
    "measure-chimney-draft", "inspect-regulator", "measure-pump-pressure", "test-cut-off",
    "inspect-filter-and-strainer",
    "bleed-pump", "measure-vacuum", "inspect-nozzle", "read-nozzle", "inspect-electrodes", "inspect-air-side",
    "inspect-head", "air-trial", "inspect-chamber", "check-motor", "inspect-sensor", "measure-sensor",
    "check-control",
    "inspect-wiring", "ask-lockouts", "watch-cycling", "inspect-oil-line", "inspect-connector", "inspect-chimney",
    "inspect-gas-passages", "smoke-pencil-joints", "inspect-water-side", "inspect-air-side-of-furnace",
    "inspect-exchanger", "fan-test", "window-test", "stick-tank", "test-spark",
)
"""The order of a common check list: safety, the fire as it runs, the readings, then part after part."""

_NOBODY = Entry("", "", None)
Strategy = Callable[[Base, Assessment, list[str], Random], str | None]


@dataclass(frozen=True)
class Outcome:
    """How a consultation ended: the last assessment, the checks made, their minutes."""

    assessment: Assessment
    checks: tuple[str, ...]
    minutes: float
    firsts: tuple[str, ...]
    """The leading cause after each check."""


def entry_for(base: Base, name: str, answer: str | float | None) -> Entry:
    """An answer of the burner as somebody would type it."""
    if answer is None:
        return Entry(name, "cannot", None, UNCHECKED)
    if isinstance(answer, float | int):
        item = base.quantities[name]
        typed = format_value(float(answer), item.kind)
        if item.suction and answer > 0:
            typed = "+" + typed
        try:
            return read_entry(base, name, typed)
        except EntryError:
            return Entry(name, typed, None, UNCHECKED)
    return read_entry(base, name, answer)


def answers(base: Base, visit: Answering, names: Iterable[str]) -> tuple[Entry, ...]:
    """The burner's answers to these names, as entries."""
    out = []
    for name in names:
        item = base.named[name]
        if isinstance(item, Quantity) and item.derived:
            continue
        try:
            out.append(entry_for(base, name, visit.ask(name)))
        except PlantError:
            out.append(unknown(base, name))
    return tuple(out)


def unknown(base: Base, name: str) -> Entry:
    """What the burner model knows nothing of is in order there; what has no answer for that cannot be had."""
    item = base.observations.get(name)
    order = item and (item.clear or item.sound)
    return read_entry(base, name, order) if order else Entry(name, "cannot", None, UNCHECKED)


def as_advised(base: Base, assessment: Assessment, made: list[str], rng: Random) -> str | None:
    """The advisor's own next check."""
    first = assessment.checks.first
    return first.check if first else None


def by_the_book(base: Base, assessment: Assessment, made: list[str], rng: Random) -> str | None:
    """The check list in its order, until a cause is confirmed."""
    if any(one.confirmed for one in assessment.causes):
        return None
    return next(iter(_of_the_list(base, assessment, made)), None)


def at_random(base: Base, assessment: Assessment, made: list[str], rng: Random) -> str | None:
    """Any check of the list, until a cause is confirmed."""
    if any(one.confirmed for one in assessment.causes):
        return None
    left = _of_the_list(base, assessment, made)
    return rng.choice(left) if left else None


def _of_the_list(base: Base, assessment: Assessment, made: list[str]) -> list[str]:
    """What is left of the list, less what is of no use on this unit."""
    latest, known = assessment.case.latest, assessment.known
    return [check for check in TEXTBOOK if check not in made and base.checks[check].can_tell(known, latest)
            and base.asked_by(base.checks[check], known)]


class Answering(Protocol):
    """What answers for a unit: the physical burner, or a call that was told; `PlantError` for what it knows nothing of.
    """

    @property
    def seed(self) -> int: ...

    def ask(self, name: str) -> str | float | None: ...


def consult(
    base: Base, visit: Answering, strategy: Strategy = as_advised, seed: int = 0, told: tuple[Entry, ...] = ()
) -> Outcome:
    """Ask until the strategy has nothing more to ask; what was `told` at first stands beside the intake."""
    rng = Random(seed)
    known = {entry.name for entry in told}
    case = Case((*told, *answers(base, visit, (name for name in INTAKE if name not in known))))
    made: list[str] = []
    firsts: list[str] = []
    minutes, used = 0.0, set[str]()
    ahead = strategy is as_advised
    assessment = assess(case, base, ahead)
    while len(made) < MOST_CHECKS:
        if assessment.gate.emergency:  # the house is cleared, and a meter or the fire service lets the technician in
            ends = base.hazards[assessment.gate.emergency[0]].ends[-1]
            case = case.having(read_entry(base, HOUSE_ENTRY, ends))
            assessment = assess(case, base, ahead)
            continue
        if assessment.case.latest.get("oil_in_chamber", _NOBODY).value == "none" and any(
                found.name == "resets-unproven" for found in assessment.hazards):  # a pad is pressed
            case = case.having(read_entry(base, "oil_in_chamber", "probed-dry"))
            assessment = assess(case, base, ahead)
            continue
        name = strategy(base, assessment, made, rng)
        if name is None:
            break
        if name in made:  # a recheck that finds the same again: the person stands by the readings
            again = _looked_again(base, case, assessment, visit)
            if again is case:
                break
            minutes += base.checks[name].minutes
            case, assessment = again, assess(again, base, ahead)
            continue
        check = base.checks[name]
        case = case.having(*answers(base, visit, (one for one in check.gives if one not in case.latest)))
        minutes += minutes_of(base, check, used)
        used.update(check.takes_once)
        made.append(name)
        assessment = assess(case, base, ahead)
        firsts.append(assessment.causes[0].name)
    return Outcome(assessment, tuple(made), minutes, tuple(firsts))


def _looked_again(base: Base, case: Case, assessment: Assessment, visit: Answering) -> Case:
    """The doubted readings taken again, with errors of their own; the person then stands by them, unless two looks
    disagree, which asks for a third.
    """
    numbers = assessment.findings.numbers
    looks = Counter(entry.name for entry in case.entries)
    doubted = {reading for doubt in assessment.doubts if doubt.open for reading in doubt.readings}
    doubted |= {entry for reading in doubted if reading in numbers for entry in numbers[reading].grounds}
    disagree = {reading for doubt in assessment.doubts if doubt.open and doubt.counts for reading in doubt.readings}
    names = [name for name in sorted(doubted) if name in case.latest
             and (name in disagree or case.latest[name].how != RECHECKED)]
    entries = tuple(replace(entry, how=RECHECKED) for name in names
                    for entry in answers(base, _at_another_look(visit, looks[name]), [name]))
    return case.having(*entries) if entries else case


def _at_another_look(visit: Answering, looks: int) -> Answering:
    """The same unit, with errors of their own in what is read again."""
    again: Answering = replace(cast(Any, visit), seed=visit.seed + 1_000_000 * looks)
    return again


def truth(base: Base, visit: Visit) -> Case:
    """What a look at everything would find if nobody and no instrument erred by chance."""
    entries: list[Entry] = []
    for item in base.entered:
        name = item.name
        if isinstance(item, Quantity):
            entries += answers(base, visit, [name])
        else:
            try:
                answer = entry_for(base, name, visit.truth(name))
            except PlantError:
                answer = unknown(base, name)
            entries.append(replace(answer, how=RECHECKED))
    return Case(tuple(entries))


def true_hazards(really: Assessment) -> frozenset[str]:
    """The hazards that are really there: those that the assessment of the truth finds."""
    return frozenset(found.name for found in really.hazards if not found.borderline)


def shows(base: Base, really: Case, sound: Case) -> bool:
    """Whether a fault leaves any sign at all: one answer, or the band of one reading, other than on the sound unit."""
    return dict(derive(really, base).symbols) != dict(derive(sound, base).symbols)


def brought_about(base: Base, really: Assessment, faults: Iterable[str]) -> frozenset[str]:
    """What the faults truly bring about: a chamber soaked by an igniter that failed, a pressure low by a slow motor.

    These are causes behind which knowledge puts the faults, and whose confirming sign is really there.
    """
    there = set(faults)
    return frozenset(one.name for one in really.causes if one.confirmed and there & set(base.causes[one.name].behind))


def call(base: Base, plant: Plant, faults: Mapping[str, float | str], seed: int) -> Visit:
    """A call on a plant with faults."""
    from advisor.plant.visit import visit

    return visit(plant, faults, seed)
