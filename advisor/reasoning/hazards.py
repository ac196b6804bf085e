"""Hazards over the time of a call: open from the entry that shows one, until it is cured and its proof is made.

To measure again is not to cure. So a hazard is looked for at every moment at which something was entered anew, not
only in what holds last. Once somebody says what put it right, only what is entered from then on counts: it is *cured*,
and to be proven, until all that its proof expects was found; then it is *released*. Where it shows again, or the proof
fails, it is *open* again. A mistyped entry that was corrected was never so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from typing import Final, Literal

from advisor.library.base import Base
from advisor.library.items import Hazard, fits
from advisor.reasoning.case import Case, Entry
from advisor.reasoning.derive import derive
from advisor.reasoning.engine import Engine, Fact, Firing

State = Literal["open", "cured", "released"]
OPEN: Final[State] = "open"
CURED_STATE: Final[State] = "cured"
RELEASED: Final[State] = "released"


@dataclass(frozen=True, slots=True)
class HazardFound:
    """A hazard and where it stands.

    `firings` are those of the last moment at which it showed, with its facts as they were then; `borderline` whether
    only a borderline reading showed it. `shown_by` are the entries behind it, `since` the time of the first of them;
    `at` is the place, in all that was told, of the last entry with which it showed. `cures` are the words of what put
    it right. `proven` and `unproven` are the names of its proof that were found as they must be, and those that were
    not yet.
    """

    name: str
    state: State
    firings: tuple[Firing, ...]
    borderline: bool
    shown_by: tuple[str, ...] = ()
    since: datetime | None = None
    at: int = 0
    cures: tuple[str, ...] = ()
    proven: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Showing:
    """What showed a hazard at one moment: the firings, whether only a borderline reading did, and how much was told."""

    firings: tuple[Firing, ...]
    borderline: bool
    told: int
    grounds: frozenset[str]


def hazards_of(base: Base, engine: Engine, case: Case) -> tuple[HazardFound, ...]:
    """Every hazard that a case shows or has shown, the most pressing first.

    Parameters
    ----------
    engine : Engine
        With all rules that conclude a condition or show a hazard.
    case : Case
        With its `earlier` entries, where it is that of the unit after the work.

    Examples
    --------
    >>> from advisor.library.base import load
    >>> from advisor.reasoning.assess import lean_engine_of
    >>> case = Case((Entry("vent_disconnected", "yes", "yes"), Entry("vent_disconnected", "no", "no")))
    >>> [(one.name, one.state) for one in hazards_of(load(), lean_engine_of(load()), case)]
    [('vent-open', 'open')]
    """
    told = case.told
    manufacturer = tuple(sorted(case.manufacturer.items()))
    cured = {entry.name: at for at, entry in enumerate(told) if entry.is_cure}  # the last cure of each
    whole = _showings(base, engine, told, manufacturer, 0)
    out = []
    for name in dict.fromkeys([*whole, *cured]):
        hazard = base.hazards.get(name)
        if hazard is not None and name in whole:
            out.append(_standing(base, engine, told, manufacturer, hazard, whole[name], cured.get(name)))
    return tuple(sorted(out, key=lambda one: (base.hazards[one.name].rank, one.name)))


def _standing(
    base: Base, engine: Engine, told: tuple[Entry, ...], manufacturer: tuple[tuple[str, float], ...], hazard: Hazard,
    shown: tuple[_Showing, ...], cure: int | None,
) -> HazardFound:
    """Where a hazard stands that has shown at some time."""
    last, cures = shown[-1], tuple(entry.typed for entry in told if entry.is_cure and entry.name == hazard.name)
    proven: list[str] = []
    unproven: list[str] = []
    state: State = OPEN
    if cure is not None:
        again = _showings(base, engine, told, manufacturer, cure).get(hazard.name, ())
        if again:
            last = again[-1]
        elif not _proof(base, told, manufacturer, cure, hazard, proven, unproven):
            state = CURED_STATE if unproven else RELEASED
    elif hazard.seen:  # to see it gone is its cure: what holds last decides
        failed = _proof(base, told, manufacturer, 0, hazard, proven, unproven)
        state = OPEN if failed or unproven else RELEASED
    before = told[:last.told]
    behind = [entry for entry in before if entry.name in last.grounds and entry.value is not None]
    first = next((entry.at for entry in behind if entry.at is not None), None)
    return HazardFound(hazard.name, state, last.firings, last.borderline, tuple(dict.fromkeys(
        entry.name for entry in behind)), first, max((at for at, entry in enumerate(before)
                                                      if entry.name in last.grounds), default=0),
        cures, tuple(proven), tuple(unproven))


def _proof(
    base: Base, told: tuple[Entry, ...], manufacturer: tuple[tuple[str, float], ...], start: int, hazard: Hazard,
    proven: list[str], unproven: list[str],
) -> bool:
    """What of the proof was found since the cure, and what was not yet; whether it has failed."""
    findings = derive(_case(_since(base, told, start), manufacturer), base)
    here = dict(derive(_case(told, manufacturer), base).symbols)
    failed = False
    for name, wanted in hazard.proof.items():
        if not fits(getattr(base.named[name], "only", {}), here):
            continue
        symbol = findings.symbols.get(name)
        if symbol is None:
            unproven.append(name)
        elif symbol in wanted:
            proven.append(name)
        else:
            unproven.append(name)
            failed = True
    return failed


def _since(base: Base, told: tuple[Entry, ...], start: int) -> tuple[Entry, ...]:
    """What is known of the equipment, and what was told from a place on."""
    if not start:
        return told
    kept = tuple(entry for entry in told[:start] if entry.name in base.equipment)
    return (*kept, *told[start:])


def _showings(
    base: Base, engine: Engine, told: tuple[Entry, ...], manufacturer: tuple[tuple[str, float], ...], start: int
) -> dict[str, tuple[_Showing, ...]]:
    """The moments at which each hazard showed, from a place in what was told on."""
    window = _since(base, told, start)
    gone = len(told) - len(window)  # entries of the beginning that do not count
    out: dict[str, list[_Showing]] = {}
    for length in _moments(window):
        for name, firings, borderline, grounds in _shown(base, engine, window[:length], manufacturer):
            out.setdefault(name, []).append(_Showing(firings, borderline, length + gone, grounds))
    return {name: tuple(showings) for name, showings in out.items()}


def _moments(entries: tuple[Entry, ...]) -> Iterator[int]:
    """How much was told each time before something was told anew with another value; then all.

    Between two such moments nothing that holds is lost, so whatever showed shows at the later one.
    """
    values: dict[str, float | str] = {}
    for at, entry in enumerate(entries):
        if entry.is_cure or entry.value is None:
            continue
        if values.get(entry.name, entry.value) != entry.value:
            yield at
        values[entry.name] = entry.value
    yield len(entries)


def _case(entries: tuple[Entry, ...], manufacturer: Iterable[tuple[str, float]]) -> Case:
    return Case(entries, dict(manufacturer))


@lru_cache(maxsize=1024)  # each turn looks at the moments of the turns before it again
def _shown(
    base: Base, engine: Engine, entries: tuple[Entry, ...], manufacturer: tuple[tuple[str, float], ...]
) -> tuple[tuple[str, tuple[Firing, ...], bool, frozenset[str]], ...]:
    """The hazards that show at a moment, a borderline reading counting with both its bands, so that none slips through.
    """
    findings = derive(_case(entries, manufacturer), base)
    fired = engine.run(findings.symbols.items())
    found = _by_hazard(base, fired)
    out = [(name, tuple(firings), False, fired) for name, firings in found.items()]
    both: list[Fact] = list(findings.symbols.items())
    both += [(name, band.neighbor) for name, band in findings.bands.items() if band.neighbor]
    if len(both) > len(findings.symbols):
        fired = engine.run(both)
        out += [(name, tuple(firings), True, fired) for name, firings in _by_hazard(base, fired).items()
                if name not in found]
    return tuple((name, firings, borderline, _grounds(base, findings.grounds, firings, behind))
                 for name, firings, borderline, behind in out)


def _by_hazard(base: Base, firings: Iterable[Firing]) -> dict[str, list[Firing]]:
    out: dict[str, list[Firing]] = {}
    for firing in firings:
        hazard = base.rules[firing.rule].hazard
        if hazard:
            out.setdefault(hazard, []).append(firing)
    return out


def _grounds(
    base: Base, grounds: Mapping[str, frozenset[str]], firings: Iterable[Firing], fired: Iterable[Firing]
) -> frozenset[str]:
    """The entries that firings rest on, also by way of conditions."""
    concluding: dict[str, list[Firing]] = {}
    for firing in fired:
        for name in base.rules[firing.rule].concludes:
            concluding.setdefault(name, []).append(firing)
    out: set[str] = set()
    left = {name for firing in firings for name, _ in firing.facts}
    seen: set[str] = set()
    while left:
        name = left.pop()
        seen.add(name)
        if name in base.conditions:
            left |= {fact for firing in concluding.get(name, ()) for fact, _ in firing.facts} - seen
        else:
            out |= grounds.get(name, frozenset({name}))
    return frozenset(out)
