"""A practice call as turns: a state and a typed line give the next state and the lines to show; nothing else changes.

Nothing is told that a look would not tell: what was unsafe, and what was right, is said when the call is closed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Final

from advisor.bench.callitems import AIR_SET, DRIED, PracticeCall, practice_data
from advisor.bench.deeds import HELP, Deed, deeds
from advisor.bench.harm import Harm, harm_of, missed, second_reset
from advisor.bench.world import World, answer, equipment, equipment_entries
from advisor.library.base import Base
from advisor.library.items import Observation
from advisor.pages.wording import plain, wrapped
from advisor.physics.units import format_value
from advisor.plant import SOUND
from advisor.reasoning.assess import Assessment, assess
from advisor.reasoning.case import CURED, RECHECKED, Case, Entry
from advisor.reasoning.choice import minutes_of
from advisor.reasoning.entries import EntryError, read_entry
from advisor.reasoning.gate import HOUSE_ENTRY

_START, _SPRAY, _RUNNING = "start_behavior", "spray-no-flame", "running"
_CLEARING: Final = 25.0
"""Minutes until a house is cleared and may be entered again (our own estimate)."""
_TURNING: Final = 2.0
"""Minutes to turn the shutter and let the fire settle a little."""


@dataclass(frozen=True, slots=True)
class Done:
    """One thing that was done: what, in how many minutes, and what was known before it and after."""

    kind: str
    name: str
    minutes: float
    before: Case
    after: Case


@dataclass(frozen=True, slots=True)
class State:
    """A call in the middle of it."""

    call: PracticeCall
    world: World
    case: Case
    mine: Assessment
    minutes: float = 0.0
    cost: float = 0.0
    used: frozenset[str] = frozenset()
    asked: tuple[tuple[str, int], ...] = ()
    done: tuple[Done, ...] = ()
    unsafe: tuple[str, ...] = ()
    over: bool = False
    stopped: bool = False
    """The learner left for now; the call goes on when it is taken up again."""
    verdict: tuple[str, ...] = ()
    """The causes that were named; none where it was closed as in order, or given up."""
    gave_up: bool = False
    ended: str = ""
    """What would have happened; it ended the call."""
    known: dict[str, str] = field(default_factory=dict)
    """What is installed."""

    def times(self, name: str) -> int:
        """How often a check was made."""
        return dict(self.asked).get(name, 0)


def begin(base: Base, call: PracticeCall) -> State:
    """A call at its beginning: what is known is what stands on the plates, and what the customer said.

    >>> from advisor.bench.drawcall import draw
    >>> from advisor.library.base import load
    >>> state = begin(load(), draw(load(), 1, cause="nozzle-plugged"))
    >>> state.minutes, "complaint" in state.case.latest
    (0.0, True)
    """
    case = Case(equipment_entries(base, call))
    return State(call, World(call), case, assess(case, base, look_ahead=False), known=dict(equipment(base, call)))


def turn(base: Base, state: State, line: str) -> tuple[State, list[str]]:
    """What a line does on a call.

    Parameters
    ----------
    line : str
        As typed.

    Returns
    -------
    State, list of str
        The next state, and lines of at most 80 columns. The state given is left as it was.

    Examples
    --------
    >>> from advisor.bench.drawcall import draw
    >>> from advisor.library.base import load
    >>> state = begin(load(), draw(load(), 1, cause="nozzle-plugged"))
    >>> turn(load(), state, "tank")[0].minutes > 0
    True
    """
    if state.over:
        return state, ["This call is closed."]
    try:
        asked = deeds(base, line, state.known)
    except EntryError as error:
        return state, wrapped(str(error))
    out: list[str] = []
    for deed in asked:
        state, lines = _DOES[deed.kind](base, state, deed)
        out += lines
        if not state.over and deed.kind not in ("help", "order", "notes", "quit", "close", "give-up", "out"):
            state, more = _harmed(state, missed(base, state.world, state.mine, state.minutes))
            out += more
        if state.over or state.stopped:
            break
    return state, out


def work_order(base: Base, state: State) -> list[str]:
    """The work order: what the office wrote down, and what stands on the plates."""
    call = state.call
    out = [f"WORK ORDER  {call.title}".rstrip(), *wrapped(f'"{call.says}"', 2), ""]
    out += wrapped(f"House: {call.house}", 0, 2) + wrapped(f"Weather: {call.weather}", 0, 2)
    out += wrapped(f"History: {call.history}", 0, 2)
    plates = [f"{base.title(one.name)}: {plain(one.value) if isinstance(one.value, str) else value_text(base, one)}"
              for one in state.case.entries if one.name in base.equipment]
    return [*out, *wrapped(f"On plates and papers: {'; '.join(plates)}.", 0, 2)]


def value_text(base: Base, entry: Entry) -> str:
    """A finding in words, without its name."""
    if entry.value is None:
        return "could not be had"
    item = base.named[entry.name]
    if isinstance(item, Observation):
        return item.means.get(str(entry.value), plain(str(entry.value)))
    return format_value(float(entry.value), base.quantities[entry.name].kind)


def _harmed(state: State, harm: Harm) -> tuple[State, list[str]]:
    """The state with what was unsafe noted; a call that ends by it is over."""
    state = replace(state, unsafe=tuple(dict.fromkeys((*state.unsafe, *harm.unsafe))))
    if not harm.ended:
        return state, []
    return replace(state, over=True, ended=harm.ended), ["", *wrapped("THE CALL ENDS HERE. " + harm.ended)]


def _look(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    """A check: what it gives is found, with its minutes."""
    check = base.checks[deed.name]
    gives = base.asked_by(check, {**state.known, **state.mine.known})
    if not gives:
        return state, wrapped(f"There is nothing of the kind on this unit: {check.title}.")
    acts = base.acts_of_check(check)
    state, ends = _harmed(state, harm_of(base, state.world, state.mine, acts, check.gives))
    if ends:
        return state, ends
    return _found(base, state, deed, gives)


def _found(base: Base, state: State, deed: Deed, gives: Iterable[str]) -> tuple[State, list[str]]:
    check, nth = base.checks[deed.name], state.times(deed.name)
    entries = []
    for name in gives:
        entry = answer(base, state.world, name, nth)
        again = nth and entry.value is not None and name in state.case.latest
        entries.append(replace(entry, how=RECHECKED) if again else entry)
    had = any(entry.value is not None for entry in entries)
    minutes = minutes_of(base, check, state.used) if had else 1.0
    counts = {**dict(state.asked), deed.name: nth + 1}
    before = state.case
    case = replace(before.having(*entries), aside=before.aside - {entry.name for entry in entries})
    world = state.world
    if any(entry.name == _START and entry.value == _SPRAY for entry in entries):
        world = replace(world, sprayed=True, dried=False)
    state = replace(
        state, world=world, case=case, mine=assess(case, base, look_ahead=False), minutes=state.minutes + minutes,
        used=state.used | set(check.takes_once) if had else state.used, asked=tuple(counts.items()),
        done=(*state.done, Done("check", deed.name, minutes, before, case)))
    if not had:
        why = "the burner does not stay lit" if check.state == _RUNNING else "it cannot be had now"
        return state, wrapped(f"{check.title}: nothing to be read, {why}. [{state.minutes:.0f} min]", 0, 2)
    out = [f"{check.title} [{state.minutes:.0f} min]"]
    for entry in entries:
        out += wrapped(f"{base.title(entry.name)}: {value_text(base, entry)}", 2, 6)
    return state, out


def _reset(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    if state.world.resets:
        return _harmed(state, second_reset(base))
    state, ends = _harmed(state, harm_of(base, state.world, state.mine, ("reset",)))
    if ends:
        return state, ends
    state = replace(state, world=replace(state.world, resets=1))
    return _found(base, state, Deed("check", "watch-start"), (_START, "ignition_delay", "flame_rollout"))


def _mend(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    """A remedy: what it puts right is gone; what was read before it counts no more."""
    remedy = base.remedies[deed.name]
    acts = {act for step in remedy.steps for act in step.acts if "start" not in base.acts_of((act,))}
    state, ends = _harmed(state, harm_of(base, state.world, state.mine, acts))
    if ends:
        return state, ends
    cured = frozenset(cause.name for cause in base.causes.values() if cause.remedy == deed.name)
    data = practice_data(base)
    world = state.world.mended(cured, deed.name in data.effects[AIR_SET])
    if deed.name in data.effects[DRIED]:
        world = replace(world, sprayed=False, dried=True)
    parts = [part for part in data.parts.values() if deed.name in part.remedies]
    cost = sum(part.price for part in parts)
    told = [*state.case.earlier, *state.case.entries]
    told += [Entry(one.name, remedy.title, None, CURED) for one in state.mine.hazards
             if cured & set(base.hazards[one.name].sources)]
    after = Case(equipment_entries(base, state.call), earlier=tuple(told))
    state = replace(
        state, world=world, case=after, mine=assess(after, base, look_ahead=False),
        minutes=state.minutes + remedy.minutes, cost=state.cost + cost,
        done=(*state.done, Done("mend", deed.name, remedy.minutes, state.case, after)))
    what = "; parts: " + ", ".join(f"{part.title} ${part.price:.0f}" for part in parts) if parts else ""
    by = "" if remedy.who == "technician" else f"; by: {plain(remedy.who)}"
    return state, wrapped(f"Done: {remedy.title}{by}{what}. [{state.minutes:.0f} min] What was read before it counts "
                          "no more: read again what shall prove it.", 0, 2)


def _air(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    act = "less-air" if deed.amount < 0 else "run"
    state, ends = _harmed(state, harm_of(base, state.world, state.mine, (act,)))
    if ends:
        return state, ends
    was = state.world.plant.shutter
    now = min(1.0, max(0.05, was + deed.amount / 100.0))
    if abs(now - was) < 0.005:
        return state, ["The shutter is at its stop."]
    moved = frozenset(name for check in base.checks.values() if check.state == _RUNNING for name in check.gives)
    case = replace(state.case, aside=state.case.aside | moved)
    state = replace(state, world=replace(state.world, shutter=now), case=case,
                    mine=assess(case, base, look_ahead=False), minutes=state.minutes + _TURNING,
                    done=(*state.done, Done("air", f"{100 * (now - was):+.0f}", _TURNING, state.case, case)))
    word = "opened" if now > was else "closed"
    told = f"The shutter is {word} by {100 * abs(now - was):.0f} %, and stands at {100 * now:.0f} % open."
    told += f" [{state.minutes:.0f} min] What was read with the burner running counts no more."
    return state, wrapped(told, 0, 2)


def _put_right(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    proving = practice_data(base).proving[deed.name]
    kit = replace(state.world.instruments, **{name: getattr(SOUND, name) for name in proving.fields})
    done = Done("put-right", deed.name, proving.minutes, state.case, state.case)
    state = replace(state, world=replace(state.world, kit=kit), minutes=state.minutes + proving.minutes,
                    done=(*state.done, done))
    return state, wrapped(f"Done ({base.checks[deed.name].title}): it is as it should be now. "
                          f"[{state.minutes:.0f} min] Read again what was read with it.", 0, 2)


def _out(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    emergency = state.mine.gate.emergency
    ends = base.hazards[emergency[0]].ends[-1] if emergency else "meter"
    case = state.case.having(read_entry(base, HOUSE_ENTRY, ends))
    state = replace(state, case=case, mine=assess(case, base, look_ahead=False), minutes=state.minutes + _CLEARING,
                    done=(*state.done, Done("out", "", _CLEARING, state.case, case)))
    return state, wrapped(f"Everyone is out and counted; {value_text(base, case.latest[HOUSE_ENTRY])}. "
                          f"[{state.minutes:.0f} min]", 0, 2)


def _wait(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    state = replace(state, minutes=state.minutes + deed.amount)
    return state, [f"[{state.minutes:.0f} min]"]


def _close(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    return replace(state, over=True, verdict=deed.causes), []


def _give_up(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    return replace(state, over=True, gave_up=True), []


def _help(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    return state, [line for word, what in HELP for line in wrapped(f"{word:<30} {what}", 0, 31)]


def _order(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    return state, work_order(base, state)


def _notes(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    found = [entry for entry in state.case.latest.values() if entry.name not in base.equipment]
    out = [f"{state.minutes:.0f} minutes, parts ${state.cost:.0f}"]
    return state, out + [line for entry in found
                         for line in wrapped(f"{base.title(entry.name)}: {value_text(base, entry)}", 2, 6)]


def _quit(base: Base, state: State, deed: Deed) -> tuple[State, list[str]]:
    return replace(state, stopped=True), []


_DOES: Final[dict[str, Callable[[Base, State, Deed], tuple[State, list[str]]]]] = {
    "check": _look, "mend": _mend, "air": _air, "reset": _reset, "put-right": _put_right, "out": _out, "wait": _wait,
    "close": _close, "give-up": _give_up, "help": _help, "order": _order, "notes": _notes, "quit": _quit,
}
