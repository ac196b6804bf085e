"""From the ranking of causes to the families that they belong to: what readings can tell before any member leads."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.ranking import Ranked
from advisor.reasoning.weighing import LIKELY, word_for

MOST: Final = 0.99
"""No family is surer than this."""
NAMED: Final = 0.4
"""From this probability on, a family is named."""


@dataclass(frozen=True, slots=True)
class FamilyFound:
    """A family with the probability that at least one of its members is there, and its members, the likeliest first."""

    name: str
    belief: float
    word: str
    members: tuple[str, ...]


def families_of(base: Base, ranked: Sequence[Ranked]) -> tuple[FamilyFound, ...]:
    """The families, the likeliest first.

    >>> from advisor.library.base import load
    >>> families_of(load(), [])
    ()
    """
    if not ranked:
        return ()
    out = []
    for family in base.families.values():
        members = [one for one in ranked if one.name in family.members]
        belief = min(MOST, sum(one.belief for one in members))  # they share the call: hardly ever are two there
        out.append(FamilyFound(family.name, belief, word_for(belief), tuple(one.name for one in members)))
    return tuple(sorted(out, key=lambda one: (-one.belief, one.name)))


def leading_family(families: Sequence[FamilyFound], ranked: Sequence[Ranked]) -> FamilyFound | None:
    """The family to be named: the likeliest, as long as no member of it leads by itself.

    Once a cause is likely, it is named, and its family says no more.
    """
    if not families or not ranked or ranked[0].belief >= LIKELY or families[0].belief < NAMED:
        return None
    return families[0]
