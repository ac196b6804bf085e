"""The function tests of a visit: passed, failed, or not done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from advisor.library.base import Base
from advisor.library.items import Check
from advisor.pages.wording import plain
from advisor.reasoning.assess import Assessment

PASSED: Final = "passed"
FAILED: Final = "failed"
NOT_DONE: Final = "not done"


@dataclass(frozen=True, slots=True)
class Tested:
    """A function test: what it is called, how it went, what was found, and whether that was before the work."""

    title: str
    result: str
    found: str = ""
    earlier: bool = False


def function_tests(base: Base, before: Assessment, after: Assessment | None = None) -> tuple[Tested, ...]:
    """The function tests that this unit can be put to, each with its result; the later one counts.

    What is not fitted on the unit is left out. One of which a part is missing is not done, unless what was read of it
    fails already.

    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import assess
    >>> from advisor.reasoning.case import Case, Entry
    >>> case = Case((Entry("lockout_time", "late", "late"), Entry("stops_on_call", "all", "all")))
    >>> {one.title: one.result for one in function_tests(load(), assess(case, load(), look_ahead=False))
    ...  if one.result != "not done"}
    {'time the lockout': 'failed', 'see that thermostat, limit and switch shut it off': 'passed'}
    """
    last = after or before
    out = []
    for check in base.checks.values():
        if not check.passes or not set(check.passes) & set(base.asked_by(check, last.known)):
            continue
        if any(last.known.get(name, before.known.get(name)) in none for name, none in check.not_fitted.items()):
            continue
        now = _result(base, check, last)
        then = _result(base, check, before) if after is not None and now.result == NOT_DONE else now
        out.append(Tested(then.title, then.result, then.found, then is not now and then.result != NOT_DONE))
    return tuple(out)


def _result(base: Base, check: Check, assessment: Assessment) -> Tested:
    found = {name: assessment.known.get(name, assessment.findings.symbols.get(name)) for name in check.passes}
    failed = [name for name, symbol in found.items() if symbol is not None and symbol not in check.passes[name]]
    words = ", ".join(f"{base.title(name)}: {plain(symbol)}" for name, symbol in found.items() if symbol is not None)
    if failed:
        return Tested(check.title, FAILED, words)
    return Tested(check.title, NOT_DONE if None in found.values() else PASSED, words)
