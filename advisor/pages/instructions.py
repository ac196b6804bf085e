"""Whatever asks somebody to do something, in lines: only what the gate allows; what it holds back is named with why."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Hazard, Step
from advisor.pages.wording import wrapped
from advisor.reasoning.gate import INSIDE, Gate, Stop

SMALL: Final = 40
"""Columns of the smallest screen that is read in an emergency: a phone held in one hand."""


def step_lines(
    gate: Gate, steps: Sequence[Step], indent: int = 4, done: Collection[int] = (), gives: Collection[str] = (),
) -> list[str]:
    """Steps with their numbers; in the place of one that is held back stands why, once for each reason.

    Parameters
    ----------
    done : collection of int
        Numbers of the steps that are done, from 1.
    gives : collection of str
        What the steps look at: no look is held back for want of itself.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> step_lines(Gate(load()), [Step("Look at the filter.")])
    ['    1. Look at the filter.']
    """
    out: list[str] = []
    said: set[Stop] = set()
    for number, step in enumerate(steps, 1):
        stops = gate.stops((*step.acts, INSIDE), gives)
        if stops and number not in done:
            out += wrapped(f"held back{'' if said.issuperset(stops) else ': ' + stops_text(gate.base, stops)}",
                           indent, first=f"{number}. ")
            said.update(stops)
        else:
            out += wrapped(f"{'[done] ' if number in done else ''}{step.text}", indent, first=f"{number}. ")
    return out


def advice_lines(gate: Gate, advice: Step, rule: str, indent: int = 2) -> list[str]:
    """A rule's advice; nothing where it is held back."""
    return wrapped(f"{advice.text} [{rule}]", indent, first="> ") if gate.allows(advice) else []


def stops_text(base: Base, stops: Iterable[Stop]) -> str:
    """Why something is held back, and what would release it.

    >>> from advisor.library.base import load
    >>> stops_text(load(), [Stop("reset", "raw oil in the chamber", "it is taken up", hazard="flooded-chamber")])
    'not to press the reset while this stands: raw oil in the chamber, until it is taken up'
    """
    parts: dict[str, None] = {}
    shown: set[tuple[str, str, str]] = set()
    for stop in stops:
        key = (stop.hazard, stop.look, stop.because)
        if key in shown:
            continue
        shown.add(key)
        act = base.title(stop.act)
        if stop.hazard:
            parts[f"not to {act} while this stands: {stop.because}, until {stop.release}"] = None
        else:
            parts[f"not to {act}: {stop.because} It waits for: {stop.release}"] = None
    return "; ".join(parts)


def emergency_lines(base: Base, gate: Gate) -> list[str]:
    """The orders of the most pressing emergency, and nothing else; empty where there is none.

    In at most ten lines of 40 columns (tested for every hazard), so that they are read at a glance.
    """
    if not gate.emergency:
        return []
    hazard = base.hazards[gate.emergency[0]]
    others = [base.hazards[name] for name in gate.emergency[1:]]
    out = wrapped(f"! {hazard.title.upper()}", 0, 2, width=SMALL)
    orders = [step for step in hazard.emergency if not any(_forbids(base, other, step) for other in others)]
    for number, step in enumerate(orders, 1):
        out += wrapped(step.text, 0, first=f"{number}. ", width=SMALL)
    return out


def _forbids(base: Base, hazard: Hazard, step: Step) -> bool:
    return any(hazard.may.get(act) == "no" for act in base.acts_of(step.acts))
