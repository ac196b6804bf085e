"""What a line may say: an entry that some of its words could make, with how far-fetched it is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.reasoning.case import Entry

FAR: Final = 2.0
"""A reading that is more far-fetched than this is not taken."""

NUMBER, LOOK, ALONE, ASKED, COMPUTED = "number", "look", "alone", "asked", "computed"


@dataclass(frozen=True, slots=True)
class Fact:
    """Entries that some tokens of a line may mean; several sets of them in `options` where a choice has to be made."""

    entries: tuple[Entry, ...]
    tokens: frozenset[int]
    cost: float
    kind: str
    options: tuple[tuple[Entry, ...], ...] = ()
    of: str = ""
    """The quantity of a number that is computed, not entered."""
    denied: bool = False
    """Something stands before it that denies it, and what then is so cannot be told."""
    by_denial: bool = False
    """Its entries are what is so because something else was denied."""

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(one.name for one in self.entries or [each for some in self.options for each in some]) or (
            (self.of,) if self.of else ())


def is_of_this_unit(base: Base, name: str, known: Mapping[str, object]) -> bool:
    """Whether a thing is one that all units can have, or somebody has said that this unit is one of those that can.

    >>> from advisor.library.base import load
    >>> steam = {"appliance": "boiler", "heat_medium": "steam"}
    >>> is_of_this_unit(load(), "makeup_water", steam), is_of_this_unit(load(), "makeup_water", {})
    (True, False)
    """
    only = base.observations[name].only
    return all(known.get(one) in any_of for one, any_of in only.items() if one in base.equipment)


def is_by_the_way(base: Base, name: str, answer: str, known: Mapping[str, object], asked: str) -> bool:
    """Whether it says otherwise what the call is about, which was told: by the way that makes no other call of it.

    >>> from advisor.library.base import load
    >>> is_by_the_way(load(), "complaint", "lockout", {"complaint": "soot"}, "smoke")
    True
    """
    return name != asked and base.observations[name].part == "complaint" and known.get(name) not in (None, answer)
