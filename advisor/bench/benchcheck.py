"""What is wrong with the bench's own files, for `check-rules`: they name causes, checks, remedies and limits."""

from __future__ import annotations

from advisor.bench.callfiles import our_calls
from advisor.bench.callitems import practice_data
from advisor.bench.knobs import knobs
from advisor.bench.likeness import confused
from advisor.bench.units import units
from advisor.library.base import Base
from advisor.library.yamlfiles import LibraryError, Problem


def bench_problems(base: Base) -> list[Problem]:
    """All problems of all files in data/.

    >>> from advisor.library.base import load
    >>> bench_problems(load())
    []
    """
    out: list[Problem] = []
    for read in (units, lambda: knobs(base), lambda: practice_data(base), lambda: our_calls(base),
                 lambda: confused(base)):
        try:
            read()
        except LibraryError as error:
            out += [problem for problem in error.problems if problem not in out]
    return out
