"""What comes back: causes that were put right while nothing that brings them about was found."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta
from typing import Final, NamedTuple

from advisor.library.base import Base

READ_AGAIN: Final = "smoke, CO2, CO, drafts and stack"
"""What tells whether it holds."""
_NAMED: Final = 3


class Again(NamedTuple):
    """A cause that may come back, what may lie behind it (what is found there most often first), and the day by which
    the unit is looked at again.
    """

    cause: str
    roots: tuple[str, ...]
    by: date

    def behind(self, base: Base) -> str:
        """What may lie behind it, in words."""
        return ", ".join((*map(base.title, self.roots[:_NAMED]), "or another"))


def look_again(base: Base, mended: Collection[str], on: date) -> tuple[Again, ...]:
    """What is looked at again after a visit; the soonest first.

    Parameters
    ----------
    mended : collection of str
        The causes that were found and put right, roots among them.
    on : date
        The day of the visit.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> [(one.cause, str(one.by)) for one in look_again(load(), ["sooted-gas-passages"], date(2026, 11, 27))]
    [('sooted-gas-passages', '2026-12-11')]
    >>> look_again(load(), ["sooted-gas-passages", "air-shutter-too-closed"], date(2026, 11, 27))
    ()
    """
    out = []
    for name in mended:
        cause = base.causes.get(name)
        if cause and cause.again_within and not set(cause.behind) & set(mended):
            roots = sorted(cause.behind, key=lambda root: (-base.common[root], root))
            out.append(Again(name, tuple(roots), on + timedelta(days=cause.again_within)))
    return tuple(sorted(out, key=lambda one: (one.by, one.cause)))
