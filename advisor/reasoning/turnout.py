"""What calls turn out to be: of the calls about each complaint the share of every cause, and of none that is known.

Every cause states in its `calls` of how many such calls it is found to be the reason, and on how many yearly services
it is found. That is where all weighing starts. A shop that has learned how often a cause is met there has all the odds
of that cause raised or lowered alike.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from advisor.library.base import Base
from advisor.library.items import COMMON, NONE_OF_THESE
from advisor.reasoning.odds import belief, decibans

COMPLAINT: Final = "complaint"
"""What the call is about."""
ROUTINE: Final = "routine"
"""The answer that there is no complaint."""
UNLISTED: Final = 0.0001
"""Of the calls about a complaint, the share of a cause that does not list it: people call a thing by another's name
(our own estimate).
"""
BEHIND_A_CALL: Final = 0.005
"""From this share of such calls on, a cause is one that the complaint may be about: one call in 200."""
NONE_AT_LEAST: Final = 0.01
"""Of the calls about a complaint, the least share that is left for causes that nobody here knows (our own estimate)."""
NONE_ON_SERVICE: Final = 0.02
"""On how many yearly services something wrong is found that is not known here (our own estimate)."""


@dataclass(frozen=True, eq=False)
class Turnout:
    """The shares of calls that turn out to be each cause: `service` of the yearly ones, where nobody complains; `about`
    of those about a complaint, for the causes that tell.
    """

    service: Mapping[str, float]
    about: Mapping[str, Mapping[str, float]]
    named: Mapping[tuple[str, str], tuple[str, ...]]
    """For a cause and a complaint the rules on that complaint alone: what the share says in words."""
    only: Mapping[str, Mapping[str, float]]
    """For a cause that only some units can have: for each answer on the equipment that it takes, by how many decibans
    it is likelier on such units than on all. The shares are of the calls to all units.
    """

    def share(self, cause: str, complaint: str | None) -> float:
        """Of the calls about a complaint, the share that turns out to be this, or none of the causes known; without
        one, of yearly services.
        """
        if cause == NONE_OF_THESE:
            return self.none(complaint)
        return self.about.get(complaint or "", {}).get(cause, self.service[cause])

    def shift(self, cause: str, complaint: str | None) -> float:
        """By how many decibans a complaint moves a cause: to its share of such calls, and no further."""
        return decibans(self.share(cause, complaint)) - decibans(self.service[cause])

    def here(self, cause: str, known: Mapping[str, str]) -> tuple[tuple[str, ...], float]:
        """What is known of the equipment that a cause takes, and how many decibans likelier it is for that.

        >>> from advisor.library.base import load
        >>> steam = {"appliance": "boiler", "heat_medium": "steam"}
        >>> names, gain = turnout_of(load()).here("steam-vents-dead", steam)
        >>> names, round(gain, 1)
        (('appliance', 'heat_medium'), 12.2)
        """
        gains = self.only.get(cause, {})
        names = tuple(name for name in gains if name in known)
        return names, sum(gains[name] for name in names)

    def none(self, complaint: str | None) -> float:
        """Of the calls about a complaint, the share that is none of the causes known."""
        found = self.about.get(complaint or "")
        return max(NONE_AT_LEAST, 1.0 - sum(found.values())) if found else NONE_ON_SERVICE

    def must(self, complaint: str | None) -> frozenset[str]:
        """Of which one must be there, since somebody called: the causes that tell, and none of these. Empty where no
        complaint is known.
        """
        listed = self.about.get(complaint or "")
        return frozenset((*listed, NONE_OF_THESE)) if listed else frozenset()


@lru_cache(maxsize=8)
def turnout_of(base: Base) -> Turnout:
    """The shares of a base, with what the shop has learned.

    >>> from advisor.library.base import load
    >>> turnout, cause = turnout_of(load()), "tank-empty-or-valve-shut"
    >>> turnout.share(cause, "no-heat") == load().causes[cause].calls["no-heat"], turnout.shift(cause, "routine")
    (True, 0.0)
    """
    learned = {name: decibans(base.common[name]) - decibans(COMMON[cause.common])
               for name, cause in base.causes.items()}
    service = {name: _moved(cause.calls.get(ROUTINE, COMMON[cause.common]), learned[name])
               for name, cause in base.causes.items()}
    about: dict[str, Mapping[str, float]] = {}
    for complaint in base.observations[COMPLAINT].answers if COMPLAINT in base.observations else ():
        if complaint != ROUTINE and any(complaint in cause.calls for cause in base.causes.values()):
            shares = {name: _moved(cause.calls.get(complaint, UNLISTED), learned[name])
                      for name, cause in base.causes.items() if cause.calls}
            whole = sum(shares.values()) / (1.0 - NONE_AT_LEAST)
            about[complaint] = {name: share / max(1.0, whole) for name, share in shares.items()}
    named: dict[tuple[str, str], tuple[str, ...]] = {}
    for rule in base.rules.values():
        if rule.when.keys() == {COMPLAINT}:
            for complaint in rule.when[COMPLAINT]:
                for cause in rule.causes:
                    named[cause, complaint] = (*named.get((cause, complaint), ()), rule.name)
    only = {name: {other: -10.0 * math.log10(_usual_share(base, other, any_of)) for other, any_of in cause.only.items()}
            for name, cause in base.causes.items() if cause.only}
    return Turnout(service, about, named, only)


def _usual_share(base: Base, name: str, any_of: Collection[str]) -> float:
    """The share of calls on which one of these answers is met."""
    usual = base.usual[name]
    return sum(usual[symbol] for symbol in any_of) / sum(usual.values())


def _moved(share: float, by: float) -> float:
    """A share whose odds are so many decibans up; as it is where they are not."""
    return belief(decibans(share) + by) if by else share


@lru_cache(maxsize=64)
def explaining(base: Base, complaint: str | None) -> frozenset[str]:
    """The causes that a complaint may be about; none where there is no complaint. Those that tell no shares of calls
    are taken from the rules on the complaint.

    >>> from advisor.library.base import load
    >>> "tank-empty-or-valve-shut" in explaining(load(), "no-heat"), explaining(load(), "routine")
    (True, frozenset())
    """
    if complaint is None or complaint == ROUTINE:
        return frozenset()
    listed = turnout_of(base).about.get(complaint, {})
    out = {cause for cause, share in listed.items() if share >= BEHIND_A_CALL}
    return frozenset(out.union(cause for rule in base.rules.values() if complaint in rule.when.get(COMPLAINT, ())
                               for cause, weight in rule.weighs.items() if weight > 0 and cause not in listed))


def share_the_call(
    shares: Mapping[str, float], weights: Mapping[str, float], must: Collection[str]
) -> dict[str, float]:
    """How likely each cause is, where they share a call: hardly ever are two of them there at once.

    Each weight is a share times how much likelier the evidence is with that cause than on the whole. With nothing but
    shares each is as likely as its share; what speaks for one is taken from the others; and where one of them must be
    there, what is ruled out is left to the others. That is Bayes' rule for causes of which one is there; without a
    complaint none need be, so that nothing is gained by what is ruled out.

    Parameters
    ----------
    shares : mapping of float
        Each cause's share of such calls before any evidence, over 0 and under 1; `none-of-these` among them.
    weights : mapping of float
        The same with the evidence, 0 or more; a cause that is left out cannot be here.
    must : collection of str
        Those of which one must be there, since somebody called; none without a complaint. Their shares sum to 1.

    Examples
    --------
    >>> shares = {"a": 0.2, "b": 0.3, "none-of-these": 0.5}
    >>> {name: round(share, 3) for name, share in share_the_call(shares, shares, shares).items()}
    {'a': 0.2, 'b': 0.3, 'none-of-these': 0.5}
    >>> {name: round(share, 3) for name, share in share_the_call(shares, {**shares, "b": 0.0}, shares).items()}
    {'a': 0.286, 'b': 0.0, 'none-of-these': 0.714}
    """
    more = {name: max(-share if name in must else 0.0, weights.get(name, 0.0) - share)
            for name, share in shares.items()}
    whole = sum(more.values())
    return {name: weight / max(1.0 - shares[name] + weight + whole - more[name], weight, 1e-12)
            for name, weight in weights.items()}
