"""What was not checked: what nobody could or wanted to check, and the basic checks that were never made."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.library.base import Base
from advisor.reasoning.assess import Assessment
from advisor.reasoning.case import UNCHECKED, Case

ALWAYS = (
    "This is a test of the burner on one day. The inside of the chimney, the tank and the pipes in walls and ground, "
    "and what the house loses are not part of it.",
)
"""What no visit of this kind covers: common practice."""


@dataclass(frozen=True, slots=True)
class Unchecked:
    """Readings and observations that could not be or were not checked, basic checks never made, and those not
    repeated after the work."""

    could_not: tuple[str, ...]
    passed_by: tuple[str, ...]
    never: tuple[str, ...]
    not_again: tuple[str, ...]
    always: tuple[str, ...] = ALWAYS


def unchecked(base: Base, before: Assessment, after: Assessment | None) -> Unchecked:
    """What was not checked on a visit, in words.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Entry
    >>> case = Case((Entry("smoke", "4", 4.0), Entry("relief_valve", "", None, UNCHECKED)))
    >>> found = unchecked(load(), assess(case, load(), look_ahead=False), None)
    >>> found.could_not, "smoke spot test" in found.never, "spillage test" in found.never
    (('relief valve and pressure',), False, True)
    """
    sides = [one for one in (before, after) if one is not None]
    known = {name for one in sides for name in _known(one)}
    tried = {}
    for one, when in zip(sides, ("", " (after the work)"), strict=False):
        for name, entry in one.case.latest.items():
            if entry.value is None and name not in _known(one):
                tried[name] = (entry.status, f"{base.title(name)}{when if name in known else ''}")
            else:
                tried.pop(name, None)  # done on the later side
    could_not = [words for status, words in tried.values() if status == UNCHECKED]
    passed_by = [words for status, words in tried.values() if status != UNCHECKED]
    never, not_again = [], []
    for check in base.checks.values():
        asked = base.asked_by(check, sides[-1].known)
        if not (check.safety or check.basic) or not asked or not check.can_tell(sides[-1].known, known):
            continue
        missing = [name for name in asked if name not in known]
        open_ones = [name for name in missing if name not in tried]
        if open_ones:
            whole = len(missing) == len(asked)
            never.append(check.title if whole else
                         f"{check.title} (without {', '.join(base.title(name) for name in open_ones)})")
        if after is not None and not missing and _known(after).isdisjoint(asked):
            not_again.append(check.title)
    return Unchecked(tuple(could_not), tuple(passed_by), tuple(never), tuple(not_again))


def _known(assessment: Assessment) -> set[str]:
    """All that a value is known of, entered or computed (oxygen from CO2, say)."""
    case: Case = assessment.case
    return {*assessment.findings.numbers, *(name for name, entry in case.latest.items() if entry.value is not None)}
