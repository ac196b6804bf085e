"""Whatever asks somebody to do something, in lines: only what the gate allows; what it holds back is named with why."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Check, Step
from advisor.pages.wording import wrapped
from advisor.reasoning.gate import Gate, Stop

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
    said: set[tuple[str, str, str]] = set()
    same: list[int] = []  # steps in a row that are held back by what was said already
    for number, step in enumerate(steps, 1):
        stops = gate.stops_step(step, gives) if number not in done else ()
        new = [stop for stop in stops if _reason(stop) not in said]
        said.update(map(_reason, stops))
        if stops and not new:
            same.append(number)
            continue
        out += _held_back_too(same, indent)
        same = []
        text = f"held back: {stops_text(gate.base, new)}" if new else step.text
        out += wrapped(f"{'[done] ' if number in done else ''}{text}", indent, first=f"{number}. ")
    return out + _held_back_too(same, indent)


def how_lines(gate: Gate, check: Check, indent: int = 4) -> list[str]:
    """How a check is made: its steps, then its cautions.

    >>> from advisor.library.base import load
    >>> how_lines(Gate(load()), load().checks["mark-shutter"])[0][:7]
    '    1. '
    """
    return [*step_lines(gate, check.how, indent, gives=check.gives),
            *(line for caution in check.cautions for line in wrapped(caution, indent, first="! "))]


def _held_back_too(numbers: Sequence[int], indent: int) -> list[str]:
    if not numbers:
        return []
    span = f"{numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else f"{numbers[0]}"
    return wrapped(f"held back{' too' if numbers[0] > 1 else ''}", indent, first=f"{span}. ")


def advice_lines(gate: Gate, advice: Step, rule: str, indent: int = 2) -> list[str]:
    """A rule's advice; nothing where it is held back."""
    return wrapped(advice.text, indent, first="> ") if gate.allows(advice) else []


def stops_text(base: Base, stops: Iterable[Stop]) -> str:
    """Why something is held back, and what would release it. Several looks are named together; one alone says why.

    >>> from advisor.library.base import load
    >>> stops_text(load(), [Stop("reset", "raw oil in the chamber", "it is taken up", hazard="flooded-chamber")])
    'not to press the reset while this stands: raw oil in the chamber (until it is taken up)'
    """
    first = {_reason(stop): stop for stop in reversed(list(stops))}
    kept = list(first.values())[::-1]
    acts = dict.fromkeys(stop.act for stop in kept)
    return "; ".join(part for act in acts for part in _parts(base, act, [stop for stop in kept if stop.act == act],
                                                            alone=len(kept) == 1))


def _reason(stop: Stop) -> tuple[str, str, str]:
    """What stops, whichever act."""
    return stop.hazard, stop.look, stop.because


def _parts(base: Base, act: str, stops: Sequence[Stop], alone: bool) -> Iterator[str]:
    """What stops one act: hazards, looks, readings."""
    to = f"not to {base.title(act)}"
    if hazards := [f"{stop.because} (until {stop.release})" for stop in stops if stop.hazard]:
        yield f"{to} while this stands: {', '.join(hazards)}"
    looks = [stop for stop in stops if stop.look]
    if looks and not alone:
        yield f"{to} before these were looked at and found clear: {', '.join(base.title(stop.look) for stop in looks)}"
    for stop in stops:
        if not stop.hazard and (alone or not stop.look):
            yield f"{to}: {stop.because} It waits for: {stop.release}"


def emergency_lines(base: Base, gate: Gate) -> list[str]:
    """The orders of the most pressing emergency, and nothing else; empty where there is none.

    In at most ten lines of 40 columns (tested for every hazard), so that they are read at a glance.
    """
    if not gate.emergency:
        return []
    hazard = base.hazards[gate.emergency[0]]
    others = [base.hazards[name] for name in gate.emergency[1:]]
    out = wrapped(f"! {hazard.title.upper()}", 0, 2, width=SMALL)
    orders = [step for step in hazard.emergency if not any(base.forbids(other, step.acts) for other in others)]
    for number, step in enumerate(orders, 1):
        out += wrapped(step.text, 0, first=f"{number}. ", width=SMALL)
    return out
