"""Cases written as a technician types them, on one line."""

from __future__ import annotations

from functools import lru_cache

from advisor.library.base import Base, load
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import Case
from advisor.reasoning.casefile import parse_case

COMMON = "common practice"


@lru_cache(maxsize=1)
def base() -> Base:
    """The knowledge and rules as shipped, read once."""
    return load()


def case_of(typed: str, manufacturer: str = "") -> Case:
    """The case of entries typed as `name: value, name: value`, with the manufacturer's figures typed likewise."""
    return parse_case(f"manufacturer: {{{manufacturer}}}\nentries: {{{typed}}}", "as typed", base())


def assessed(typed: str, manufacturer: str = "") -> Assessment:
    """What is said about entries typed on one line."""
    return assess(case_of(typed, manufacturer), base(), look_ahead=False)


def doubted(assessment: Assessment) -> frozenset[str]:
    """The names of all readings in doubt."""
    return frozenset(name for doubt in assessment.doubts for name in doubt.readings)
