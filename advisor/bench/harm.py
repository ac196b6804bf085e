"""What is unsafe about something done on a practice call, and what would have happened.

It is judged twice by the advisor's own gate: by what the learner has found (a look that was left out, a hazard that was
seen and gone against), and by what is really there. Nobody is blamed for what could only be found by the act itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final

from advisor.bench.callitems import MISSED, SECOND_RESET, practice_data
from advisor.bench.world import World, truth
from advisor.library.base import Base
from advisor.pages.wording import plain
from advisor.reasoning.assess import Assessment
from advisor.reasoning.gate import INSIDE
from advisor.reasoning.hazards import HazardFound

LIGHTS: Final = frozenset(("start", "run", "reset", "power"))
"""Acts that bring fire or may."""
PATIENCE: Final = 15.0
"""Minutes in a house after which a danger to its people, that a look at the start of a call would have told, counts as
missed (our own estimate)."""


@dataclass(frozen=True, slots=True)
class Harm:
    """What was unsafe, a line each, and what ended the call; empty where nothing did."""

    unsafe: tuple[str, ...] = ()
    ended: str = ""


def harm_of(base: Base, world: World, mine: Assessment, acts: Collection[str], gives: Collection[str] = ()) -> Harm:
    """What is unsafe about some acts.

    Parameters
    ----------
    mine : Assessment
        Of what the learner has found so far.
    acts : collection of str
        What is done, without what the acts include.
    gives : collection of str
        What is looked at by doing it.

    Examples
    --------
    >>> from advisor.bench.drawcall import draw
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case
    >>> call = draw(load(), 1, cause="nozzle-plugged")
    >>> harm_of(load(), World(call), assess(Case(), load(), False), ["oil-close"]).unsafe
    ()
    """
    whole = base.acts_of(acts)
    for wrong in world.call.wrong:
        missing = [name for name in wrong.before if name not in mine.case.latest]
        if whole & set(wrong.acts) and (missing or not wrong.before):
            return Harm((_before(base, wrong.acts, missing),), wrong.then)
    unsafe, ended = [], ""
    for stop in mine.gate.stops(acts, gives):
        if stop.hazard:
            unsafe.append(f"{base.title(stop.act)}, though you had found: {stop.because}")
            ended = ended or _happens(base, stop.hazard)
        elif stop.missing:
            unsafe.append(f"{base.title(stop.act)} - {stop.because}")
        else:
            unsafe.append(f"{base.title(stop.act)} - {stop.because}")
    if INSIDE in whole and mine.gate.emergency and not ended:
        ended = _happens(base, mine.gate.emergency[0]) or base.hazards[mine.gate.emergency[0]].because
    really = truth(base, world)
    for found in really.hazards:
        hazard = base.hazards[found.name]
        forbidden = [act for act in sorted(whole) if hazard.may.get(act) == "no"]
        if forbidden and not ended and found.name not in {one.name for one in mine.hazards} and _could_be_found(
                base, really, found, frozenset(forbidden), gives):
            unsafe.append(f"{base.title(forbidden[-1])}, and nobody had looked for this: {hazard.title}")
            ended = _happens(base, found.name)
    return Harm(tuple(dict.fromkeys(unsafe)), ended)


def second_reset(base: Base) -> Harm:
    """What a second press of the reset does."""
    return Harm(("pressed the reset a second time",), practice_data(base).happens[SECOND_RESET].text)


def missed(base: Base, world: World, mine: Assessment, minutes: float) -> Harm:
    """Whether people stayed over a danger that nobody has looked for, for longer than a round takes."""
    really = truth(base, world)
    if minutes < PATIENCE or not really.gate.emergency or mine.gate.emergency:
        return Harm()
    found = next(one for one in really.hazards if one.name == really.gate.emergency[0])
    seen = {one.name for one in (*mine.hazards, *mine.released)}
    if found.name in seen or not _could_be_found(base, really, found, LIGHTS, ()):
        return Harm()
    hazard = base.hazards[found.name]
    looks = ", ".join(dict.fromkeys(base.title(name) for name in _names(really, [found])))
    text = f"{practice_data(base).happens[MISSED].text} It was: {hazard.title}. {hazard.because} It shows in: {looks}."
    return Harm((f"missed for {minutes:.0f} minutes: {hazard.title}",), text)


def _names(really: Assessment, found: Iterable[HazardFound]) -> list[str]:
    """What was entered behind hazards."""
    return [name for one in found for firing in one.firings for fact, _ in firing.facts
            for name in sorted(really.grounds.get(fact, frozenset((fact,))))]


def _could_be_found(
    base: Base, really: Assessment, found: HazardFound, forbidden: Collection[str], gives: Collection[str]
) -> bool:
    """Whether every fact of one of its rules is told by a check that does nothing of what it forbids."""
    for firing in found.firings:
        names = {name for fact, _ in firing.facts for name in really.grounds.get(fact, frozenset((fact,)))}
        names -= base.equipment
        if names and not names & set(gives) and all(
                any(not base.acts_of_check(check) & (LIGHTS | set(forbidden) - {INSIDE})
                    for check in base.checks_giving.get(name, ())) for name in names):
            return True
    return False


def _happens(base: Base, hazard: str) -> str:
    """What would have happened, where it is told of this hazard; else the call goes on, and the act is noted."""
    found = practice_data(base).happens.get(hazard)
    return found.text if found else ""


def _before(base: Base, acts: Iterable[str], missing: Iterable[str]) -> str:
    looks = ", ".join(base.title(name) for name in missing)
    said = " or ".join(plain(base.title(act)) for act in acts)
    return f"{said}, before looking at: {looks}" if looks else said


