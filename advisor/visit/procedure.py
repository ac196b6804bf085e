"""The full test of a burner as steps, for the manual wet kit and for the electronic analyzer.

How a step is done, its cautions and mistakes are those of the checks of the knowledge. Here stand the order, the
reason for it, and what is lost where a step is passed by. Order is kept by reason, not by force. Where a test
stands follows from the entries of its case alone, so that it can be left and taken up again.

References
----------
.. [1] Order of a test: stack, draft at breech and over the fire, smoke, CO2, stack again, efficiency; smoke again
   after any change of the regulator; a first zero smoke is not a finish: common practice.
.. [2] EPA-600/2-75-069-a, October 1975: five to ten minutes of running before measuring (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from advisor.reasoning.case import SKIPPED, UNCHECKED, Case, Entry
from advisor.visit.steady import Steady, SteadyError, projection

__all__ = [
    "Kit",
    "Progress",
    "Steady",
    "SteadyError",
    "Step",
    "air_moved",
    "counting",
    "is_done",
    "missing",
    "next_step",
    "passed_by",
    "projection",
    "regulator_moved",
    "steps",
]

Kit = Literal["wet", "analyzer"]

ZERO: Final = 0.25
"""Smoke spots under this are read as zero."""

TRACE_ENDS: Final = 1.0
"""Smoke spots up to this are a trace or the lightest spot: clean enough for an analyzer to be put in."""

_OF_THE_AIR: Final = ("smoke", "spot_look", "co2", "o2", "co")
_OF_THE_DRAFT: Final = ("draft_breech", "draft_over_fire", *_OF_THE_AIR)


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the test.

    `checks` are those of the knowledge that say how; `gives` the names to enter; `reason` why at this place;
    `lost` what is lost by passing it by. Its entries count only where they are newer than those of `after`. `acts` are
    what doing it does besides what its checks do.
    """

    name: str
    title: str
    checks: tuple[str, ...]
    gives: tuple[str, ...]
    reason: str
    lost: str
    after: tuple[str, ...] = ()
    acts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a test stands: the kit, the case, and the steps passed by or only to be read."""

    kit: Kit
    case: Case = Case()  # noqa: RUF009  (a frozen value)
    passed: frozenset[str] = frozenset()


_PREPARE = Step(
    "prepare", "the unit before the start",
    ("look-round-oil", "look-round", "look-into-chamber", "measure-room-co", "measure-room-and-outdoor"),
    ("appliance", "burner_type", "draft_kind", "oil_in_chamber", "oil_leak", "vent_disconnected", "co_room",
     "room_temperature"),
    "What the limits are depends on the unit, and some units must not be started at all.",
    "Without it a pool of oil or an open flue is found by starting the burner, and limits are those of an unknown "
    "unit. Without the air temperature there is no efficiency.",
)
_HOLE = Step(
    "hole", "the test hole", ("probe-check",), ("probe_place", "test_hole"),
    "Every reading of the flue comes through it, so it comes before all of them.",
    "Air drawn in at the hole or beyond the regulator makes stack and CO2 too low, and nothing later shows it.",
)
_STEADY = Step(
    "steady", "steady state and first stack temperature", ("steady-state-check", "measure-stack"), ("warmed_up",),
    "Cold metal and a cold chimney change draft, flame and stack while one reads; five to ten minutes of running.",
    "Readings of a warming unit belong to no setting: they cannot be compared with each other or with a retest.",
)
_DRAFT = Step(
    "draft", "draft at the breech and over the fire", ("measure-drafts",), ("draft_breech", "draft_over_fire"),
    "Draft moves the air of the flame, so it is read and put right before smoke and CO2.",
    "Smoke and CO2 then hold for a draft that nobody knows, and soot in the passages stays unseen.",
)
_SMOKE = Step(
    "smoke", "smoke", ("measure-smoke",), ("smoke", "spot_look"),
    "Smoke tells whether it burns clean; CO2 tells with how much air. The first says whether the second is worth "
    "reading, and soot ruins an analyzer.",
    "Without smoke a CO2 means little: 12 % with smoke is worse than 10 % without.",
)
_GAS_WET = Step(
    "gas", "CO2 with the wet kit", ("measure-co2", "fluid-check"), ("fluid_state", "co2"),
    "It has to be the CO2 of the setting whose smoke was just read.",
    "Without CO2 neither excess air nor efficiency is known.", ("smoke",),
)
_GAS_ANALYZER = Step(
    "gas", "O2 with the analyzer", ("measure-oxygen",), ("o2",),
    "It has to be the O2 of the setting whose smoke was just read, and the smoke has to be down first: soot harms "
    "the cells.",
    "Without O2 or CO2 neither excess air nor efficiency is known.", ("smoke",),
)
_STACK = Step(
    "stack", "last stack temperature", ("measure-stack",), ("stack_temperature",),
    "Read beside CO2 it belongs to the same gas; if it differs much from the first, the unit was not steady.",
    "The efficiency then rests on a stack temperature of another moment.", ("co2", "o2"),
)
_CO = Step(
    "co", "CO in the flue", ("measure-co",), ("co",),
    "A clean spot does not rule out CO: a chilled flame makes it without smoke.",
    "A flame that makes CO with white paper goes unnoticed. Without a meter say `cannot`.", ("smoke",),
)
_EFFICIENCY = Step(
    "efficiency", "efficiency", (), (), "It follows from stack, air temperature and CO2 or O2 of one setting.",
    "Nothing to compare with next year.",
)
_CLOSE = Step(
    "close", "leaving the unit", ("watch-stop",), (),
    "What was opened is closed again: holes plugged, shutter and regulator locked, area clean, one copy of the "
    "results for the owner, explained.",
    "An open hole thins the draft; an unlocked shutter creeps.",
)
_CLOSE_TO_TRACE = Step(
    "trace", "close the air to a trace", ("measure-smoke",), ("smoke",),
    "A first zero is not a finish: it may be a little spare air or a great deal. Close the air a little, wait two "
    "minutes, take smoke again, until a trace shows.",
    "Excess air stays unknown: lower CO2, a cooler flame, a hotter stack, more CO.",
    acts=("less-air",),
)
_BACK_TO_ZERO = Step(
    "back", "open just enough to return to zero", ("measure-smoke",), ("smoke",),
    "The trace marks the knee. Open the air a little, wait two minutes, take smoke again, until it is just zero.",
    "Left at the trace, the next change of draft or oil makes smoke.",
)
_CLEAR = Step(
    "clear", "bring the smoke down before the analyzer goes in", ("air-trial",), ("smoke",),
    "Soot plugs the filter and harms the cells. Open the air until a trace is left, or say `air` for the guided "
    "setting; where no air helps, go on to the causes.",
    "The analyzer draws soot: filter and cells suffer, and its CO2 is that of a burner that will be changed anyway.",
)


def steps(kit: Kit) -> tuple[Step, ...]:
    """The steps of a test in their order.

    Parameters
    ----------
    kit : "wet" or "analyzer"

    Examples
    --------
    >>> [step.name for step in steps("wet")][3:7]
    ['steady', 'draft', 'smoke', 'gas']
    """
    checks: tuple[str, ...] = ("gauge-check", "smoke-tester-check")
    gives: tuple[str, ...] = ("gauge_zero", "smoke_tester")
    if kit == "analyzer":
        checks += ("analyzer-check",)
        gives += ("analyzer_warm", "analyzer_fuel", "o2_fresh_air", "co_fresh_air", "sample_line")
    instruments = Step(
        "instruments", "the instruments", checks, gives,
        "A wrong zero found at the end costs the whole test; warm-up runs while the unit is looked at.",
        "A gauge off by one hundredth turns the verdict on draft; a leaking tester makes black smoke gray.",
    )
    gas = _GAS_WET if kit == "wet" else _GAS_ANALYZER
    return instruments, _HOLE, _PREPARE, _STEADY, _DRAFT, _SMOKE, gas, _STACK, _CO, _EFFICIENCY, _CLOSE


def next_step(test: Progress) -> Step | None:
    """The step that is due; None where all are done or passed by.

    Examples
    --------
    >>> from advisor.reasoning.case import Entry
    >>> next_step(Progress("wet")).name
    'instruments'
    >>> zero = Case((Entry("smoke", "0", 0.0), Entry("spot_look", "clean", "clean")))
    >>> next_step(Progress("wet", zero, frozenset({"instruments", "hole", "prepare", "steady", "draft"}))).name
    'trace'
    """
    for step in steps(test.kit):
        if not is_done(step, test):
            return step
        if step.name == "smoke":
            extra = _after_smoke(test)
            if extra is not None:
                return extra
    return None


def is_done(step: Step, test: Progress) -> bool:
    """Whether a step was passed by, or all that it gives is entered, newer than what it must follow."""
    return step.name in test.passed or (bool(step.gives) and not missing(step, test))


def missing(step: Step, test: Progress) -> tuple[str, ...]:
    """What a step still has to give.

    >>> missing(steps("wet")[4], Progress("wet", Case((Entry("draft_breech", "-.05", -0.05),))))
    ('draft_over_fire',)
    """
    entries = test.case.entries
    follows = max((at for at, entry in enumerate(entries) if entry.name in step.after and entry.value is not None),
                  default=-1)
    last = {entry.name: at for at, entry in enumerate(entries)}
    return tuple(name for name in step.gives if name not in last or last[name] < follows or not _counts(
        entries[last[name]]))


def passed_by(test: Progress, step: Step) -> Progress:
    """The test with a step passed by, or read."""
    return replace(test, passed=test.passed | {step.name})


def regulator_moved(test: Progress) -> Progress:
    """The test after a change of the draft regulator: drafts, smoke and all that follows have to be read again.

    The old readings stay in the case but count no more.

    >>> case = Case((Entry("smoke", "1", 1.0),))
    >>> counting(regulator_moved(Progress("wet", case)).case).latest
    {}
    """
    return _read_again(test, _OF_THE_DRAFT, {"draft", "smoke", "trace", "back", "clear", "gas", "stack", "co",
                                             "efficiency"})


def air_moved(test: Progress) -> Progress:
    """The test after a change of the air: smoke and all that follows have to be read again."""
    return _read_again(test, _OF_THE_AIR, {"smoke", "gas", "stack", "co", "efficiency"})


def _read_again(test: Progress, names: tuple[str, ...], due: set[str]) -> Progress:
    latest = test.case.latest
    old = [name for name in names if name in latest and latest[name].value is not None]
    case = test.case.having(*(Entry(name, SKIPPED, None, SKIPPED) for name in old))
    return replace(test, case=case, passed=test.passed - due)


def counting(case: Case) -> Case:
    """The case in which the readings that have to be taken again, since something was moved, do not count."""
    due = {entry.name for entry in case.entries if entry.status == SKIPPED}
    last = {entry.name: entry for entry in case.entries}
    due = {name for name in due if last[name].status == SKIPPED}
    return replace(case, aside=frozenset(due))


def _counts(entry: Entry) -> bool:
    return entry.value is not None or entry.status == UNCHECKED


def _after_smoke(test: Progress) -> Step | None:
    """What the smoke just read asks for, before CO2."""
    read = [entry.value for entry in test.case.entries if entry.name == "smoke" and isinstance(entry.value, float)]
    if not read:
        return None
    now, wanted = read[-1], _which(read)
    if wanted is not None and wanted.name not in test.passed:
        return wanted
    if test.kit == "analyzer" and now > TRACE_ENDS and "clear" not in test.passed:
        return _CLEAR
    return None


def _which(read: list[float]) -> Step | None:
    if read[-1] < ZERO and all(spot < ZERO for spot in read):
        return _CLOSE_TO_TRACE
    if read[-1] >= ZERO and read[0] < ZERO:
        return _BACK_TO_ZERO
    return None
